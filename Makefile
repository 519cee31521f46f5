# stillwing: `make demo` shows it, `make test` runs the tests, `make check` reads the code.
# Only needed beforehand: Python 3.11 or newer with its venv module, and make.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
DEMO := demo
DEMO_SERVE ?= 1
DEMO_PORT ?= 8461
PIP := PIP_DISABLE_PIP_VERSION_CHECK=1 $(BIN)/python -m pip install --quiet --constraint constraints.txt

.PHONY: help demo test check browser clean

help:
	@echo "make demo    render a small outing, sift it, plan a day, serve the pages (DEMO_SERVE=0: end before serving)"
	@echo "make test    run all tests (slow ones and those in a browser too)"
	@echo "make check   ruff, mypy, import-linter"
	@echo "make clean   remove .venv, the demonstration and caches"

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "stillwing needs Python 3.11 or newer; name one with: make PYTHON=/path/to/python3.11 ..."; exit 1; }
	$(PYTHON) -m venv $(VENV)

# Each stamp is older than what it was made from until the packages are installed again.
$(VENV)/.installed: pyproject.toml constraints.txt | $(BIN)/python
	$(PIP) --editable .
	@touch $@

$(VENV)/.installed-dev: pyproject.toml constraints.txt | $(BIN)/python
	$(PIP) --editable '.[dev,heif,cluster]'
	@touch $@ $(VENV)/.installed

$(DEMO)/outing/.rendered: | $(VENV)/.installed
	@mkdir -p $(DEMO)
	$(BIN)/stillwing render $(DEMO)/outing
	@touch $@

demo: $(VENV)/.installed $(DEMO)/outing/.rendered
	$(BIN)/stillwing sift $(DEMO)/outing --book $(DEMO)/fieldbook.sqlite
	$(BIN)/stillwing plan --date 2026-07-15 --weather "21 C, wind 3 m/s from SW, cloud 20 %, dry" --book $(DEMO)/fieldbook.sqlite
	@if [ "$(DEMO_SERVE)" != 0 ]; then \
		$(BIN)/stillwing serve --book $(DEMO)/fieldbook.sqlite --port $(DEMO_PORT); \
	fi

# chromium draws the pages; certutil, which may be missing, puts the desk's certificate into its store.
browser:
	@command -v chromium >/dev/null && command -v certutil >/dev/null || { \
		if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then as_root=; \
		elif sudo -n true 2>/dev/null && command -v apt-get >/dev/null; then as_root=sudo; \
		elif command -v chromium >/dev/null; then exit 0; \
		else echo "the tests of the pages need the browser chromium: install it with your system's packages"; exit 1; fi; \
		$$as_root apt-get update -qq && \
			$$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium libnss3-tools || \
			command -v chromium >/dev/null; \
	}

test: $(VENV)/.installed-dev browser
	OMP_NUM_THREADS=1 $(BIN)/pytest -n auto --maxprocesses=4 --dist loadfile --hypothesis-profile=ci --doctest-modules --ignore=src/stillwing/fieldbook/migrations src tests

check: $(VENV)/.installed-dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

clean:
	rm -rf $(VENV) $(DEMO) .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache
