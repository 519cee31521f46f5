import csv
import doctest
import re
from pathlib import Path

import pytest

import stillwing.records.darwinterms as module
from stillwing.records.darwinterms import COLUMNS, MEDIA_COLUMNS, iri, local_name

DATA = Path(__file__).parents[1] / "data"
GUIDE = Path(__file__).parents[2] / "docs" / "sightings.md"


def published(name: str) -> set[str]:
    lines = [line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return {row["iri"] for row in csv.DictReader(lines)}


@pytest.mark.parametrize(
    ("terms", "name"), [(COLUMNS, "dwc_occurrence_core.csv"), (MEDIA_COLUMNS, "audiovisual_core.csv")]
)
def test_every_term_that_is_written_is_on_the_standards_list(terms: tuple[str, ...], name: str) -> None:
    assert {iri(term) for term in terms} <= published(name)


@pytest.mark.parametrize("terms", [COLUMNS, MEDIA_COLUMNS])
def test_every_term_that_is_written_is_told_in_the_guide(terms: tuple[str, ...]) -> None:
    told = re.findall(r"`([a-zA-Z]+:?[a-zA-Z]+)`", GUIDE.read_text(encoding="utf-8"))
    assert {term.removeprefix("dwc:") for term in terms} <= set(told)


@pytest.mark.parametrize("terms", [COLUMNS, MEDIA_COLUMNS])
def test_no_two_columns_have_one_heading(terms: tuple[str, ...]) -> None:
    assert len(set(map(local_name, terms))) == len(terms)


def test_what_the_lists_require_is_written() -> None:
    # The only terms that the two lists mark as required.
    assert "dwc:basisOfRecord" in COLUMNS
    assert "dcterms:identifier" in MEDIA_COLUMNS


def test_the_examples_are_true() -> None:
    assert doctest.testmod(module).failed == 0
    ran = doctest.testfile(str(GUIDE), module_relative=False, encoding="utf-8")
    assert (ran.failed, ran.attempted > 4) == (0, True)
