"""Names that people write, and which records go into a file."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from fieldbook.sightingstrategies import HAWKER
from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Where
from stillwing.fieldbook.sightings import KeptSighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Verification
from stillwing.records.filing import (
    KnownNames,
    Selection,
    is_scientific,
    known_names,
    last_recorders,
    n_coarsened,
    picture_name,
    selected,
)

NAMES = known_names(Path("none"))
NOW = datetime(2026, 7, 6, tzinfo=UTC)


def kept(outing_id: int | None = 1, days: int = 0, **told: object) -> KeptSighting:
    return KeptSighting(replace(HAWKER, **told), outing_id, (), NOW + timedelta(days=days))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["Brown Hawker", "  brown   HAWKER ", "aeshna grandis"])
def test_any_name_of_a_pack_leads_to_the_scientific_one(name: str) -> None:
    assert NAMES.scientific(name) == "Aeshna grandis"
    assert NAMES.english("Aeshna grandis") == "Brown Hawker"


def test_a_name_that_no_pack_holds_stays_as_it_is() -> None:
    assert NAMES.scientific("Aeshna molaris") == "Aeshna molaris"
    assert NAMES.english("Aeshna molaris") == ""


def test_a_name_of_two_species_is_not_guessed() -> None:
    names = KnownNames({}, {}, {"blue one": ("Aeshna una", "Aeshna duae")})
    with pytest.raises(InputError, match="is a name of Aeshna una and of Aeshna duae; write the scientific one"):
        names.scientific("Blue one")


def test_a_pack_with_mistakes_is_told_and_the_others_serve(tmp_path: Path) -> None:
    (tmp_path / "mill-pond").mkdir()
    (tmp_path / "mill-pond" / "region.csv").write_text("name\n")
    names = known_names(tmp_path)
    (trouble,) = names.troubles
    assert trouble.startswith("the names of the pack mill-pond are left out, since")
    assert names.scientific("Brown Hawker") == "Aeshna grandis"


def test_a_rare_species_is_sensitive_where_the_pack_tells_of_the_area() -> None:
    # The pack's status of Leucorrhinia dubia is for Great Britain alone.
    assert NAMES.why_sensitive("Leucorrhinia dubia", Where(57.2, -3.8)) == "White-faced Darter is rare in Great Britain"
    assert NAMES.why_sensitive("Aeshna grandis", Where(52.2, 0.1)) is None
    assert NAMES.why_sensitive("Aeshna molaris", Where(52.2, 0.1)) is None


def test_a_record_is_marked_where_a_pack_tells_a_reason_and_else_left() -> None:
    rare = replace(HAWKER, scientific_name="Leucorrhinia dubia", sensitive=False)
    common = replace(HAWKER, scientific_name="Aeshna grandis")
    assert NAMES.marked(rare) == replace(rare, sensitive=True)
    assert NAMES.marked(common) is common
    assert NAMES.marked(replace(common, sensitive=True)).sensitive


@pytest.mark.parametrize(
    "name",
    [
        "Odonata",
        "Aeshna",
        "Aeshna grandis",
        "Aeshna grandis (Linnaeus, 1758)",
        "Coenagrion (Agrion) puella",
        "Sympetrum vulgatum ibericum",
        "Lestes sp.",
        "Anax × hybridus",
        "Bombus terrestris-group",
    ],
)
def test_names_written_as_scientific_ones_are_known_as_such(name: str) -> None:
    assert is_scientific(name)


@pytest.mark.parametrize("name", ["", "aeshna", "Big Blue Hawker", "Aeshna  grandis", "Brown Hawker", "?", "Aeshna 2"])
def test_other_names_are_not(name: str) -> None:
    assert not is_scientific(name)


def test_records_are_selected_by_outing_year_name_and_verification() -> None:
    spanning = kept(when=When(date(2023, 12, 30), date(2024, 1, 2)))
    verified = kept(2, verification=Verification.VERIFIED, identified_by=("A Person",))
    other = kept(None, scientific_name="Aeshna grandis", when=When(date(2022, 7, 1)))
    all_three = (spanning, verified, other)
    assert selected(all_three, Selection()) == all_three
    assert selected(all_three, Selection(outing_id=2)) == (verified,)
    assert selected(all_three, Selection(year=2023)) == (spanning,)
    assert selected(all_three, Selection(year=2024)) == (spanning, verified)
    assert selected(all_three, Selection(scientific_name="Aeshna grandis")) == (other,)
    assert selected(all_three, Selection(only_verified=True)) == (verified,)


def test_only_sensitive_records_are_coarsened_and_none_where_exact_places_go() -> None:
    some = [kept(), kept(sensitive=True), kept(sensitive=True, where=Where(name="Long Pond"))]
    assert [n_coarsened(some, side) for side in (1000, 10_000, None)] == [2, 2, 0]


def test_the_recorders_are_those_of_the_record_kept_last() -> None:
    some = [kept(days=1, recorded_by=("B Person",)), kept(days=2, recorded_by=()), kept(days=0)]
    assert last_recorders(some) == ("B Person",)
    assert last_recorders([]) == ()


def test_a_picture_is_named_from_its_outing_on() -> None:
    assert picture_name(Path("/pond/card/0042.jpg"), Path("/pond")) == "card/0042.jpg"
