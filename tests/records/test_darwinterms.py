import csv
import doctest
from pathlib import Path

import pytest

import stillwing.records.darwinterms as module
from stillwing.records.darwinterms import COLUMNS, MEDIA_COLUMNS, iri, local_name

DATA = Path(__file__).parents[1] / "data"


def published(name: str) -> set[str]:
    lines = [line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return {row["iri"] for row in csv.DictReader(lines)}


@pytest.mark.parametrize(
    ("terms", "name"), [(COLUMNS, "dwc_occurrence_core.csv"), (MEDIA_COLUMNS, "audiovisual_core.csv")]
)
def test_every_term_that_is_written_is_on_the_standards_list(terms: tuple[str, ...], name: str) -> None:
    assert {iri(term) for term in terms} <= published(name)


@pytest.mark.parametrize("terms", [COLUMNS, MEDIA_COLUMNS])
def test_no_two_columns_have_one_heading(terms: tuple[str, ...]) -> None:
    assert len(set(map(local_name, terms))) == len(terms)


def test_what_the_lists_require_is_written() -> None:
    # The only terms that the two lists mark as required.
    assert "dwc:basisOfRecord" in COLUMNS
    assert "dcterms:identifier" in MEDIA_COLUMNS


def test_the_examples_are_true() -> None:
    assert doctest.testmod(module).failed == 0
