import ast
import subprocess
import sys
from pathlib import Path

import pytest

import stillwing

ROOT = Path(stillwing.__file__).parent
REPOSITORY = Path(__file__).parent.parent


def imports(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def test_import_linter_keeps_the_rooms_apart():
    program = "import sys; from importlinter.cli import lint_imports_command; lint_imports_command()"
    run = subprocess.run([sys.executable, "-c", program], cwd=REPOSITORY, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    assert "0 broken" in run.stdout


def test_every_room_stands_in_a_contract():
    rooms = {path.name for path in ROOT.iterdir() if path.is_dir() and path.name != "__pycache__"}
    contracts = (REPOSITORY / "pyproject.toml").read_text()
    assert [room for room in sorted(rooms) if f"stillwing.{room}" not in contracts] == []


def test_nothing_inside_imports_the_public_interface():
    guilty = [path.name for path in ROOT.rglob("*.py") if "stillwing" in set(imports(path))]
    assert guilty == []


def test_the_public_names_are_all_there():
    for name in stillwing.__all__:
        assert getattr(stillwing, name).__name__ == name
    assert set(stillwing.__all__) <= set(dir(stillwing))
    with pytest.raises(AttributeError, match="no attribute 'sieve'"):
        _ = stillwing.sieve


def test_a_worker_imports_no_room_above_frames():
    # Start-up counts: each worker process pays for what it imports.
    program = "import sys, stillwing.frames.worker, stillwing.frames.chunk; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.split()
    above = ("fieldbook", "share", "web", "cli", "scene")
    assert [name for name in loaded if name.startswith(tuple(f"stillwing.{room}" for room in above))] == []
    assert {"pandas", "sqlalchemy", "fastapi", "altair"}.isdisjoint(loaded)
