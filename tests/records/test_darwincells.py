import doctest
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

import stillwing.records.darwincells as module
from fieldbook.sightingstrategies import HAWKER, sightings
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightingwords import LifeStage
from stillwing.records.darwincells import guarded, media_cells, occurrence_cells, unguarded
from stillwing.records.darwinterms import COLUMNS, MEDIA_COLUMNS, local_name

NAMES = st.sampled_from([local_name(term) for term in COLUMNS])


@given(NAMES, st.text("=+-@'ab ", max_size=5))
@settings(deadline=None)
def test_a_guarded_cell_is_the_same_again(name: str, cell: str) -> None:
    assert unguarded(guarded(name, cell)) == cell or name.startswith("decimal")


@given(sightings())
@settings(deadline=None)
def test_every_column_has_a_cell(sighting: Sighting) -> None:
    assert list(occurrence_cells(sighting)) == [local_name(term) for term in COLUMNS]
    for cells in media_cells(sighting):
        assert list(cells) == [local_name(term) for term in MEDIA_COLUMNS]


def test_a_figure_is_written_without_an_exponent() -> None:
    place = replace(HAWKER.where, latitude=0.0000001, precision_deg=1e-7)
    cells = occurrence_cells(replace(HAWKER, where=place))
    assert (cells["decimalLatitude"], cells["coordinatePrecision"]) == ("0.0000001", "0.0000001")


def test_none_seen_is_an_absence() -> None:
    cells = occurrence_cells(replace(HAWKER, count=0, sexes=(), stage=None, doing=()))
    assert (cells["occurrenceStatus"], cells["individualCount"]) == ("absent", "0")


def test_a_stage_that_the_vocabulary_lacks_goes_along_beside_it() -> None:
    teneral, adult = (occurrence_cells(replace(HAWKER, stage=stage)) for stage in (LifeStage.TENERAL, LifeStage.ADULT))
    assert teneral["lifeStage"] == adult["lifeStage"] == "adult"
    assert '"stillwing:lifeStage": "teneral"' in teneral["dynamicProperties"]
    assert "stillwing" not in adult["dynamicProperties"]


def test_pictures_keep_their_identity_and_have_one_each() -> None:
    first, second = media_cells(HAWKER)
    assert first["identifier"] != second["identifier"]
    assert [first, second] == media_cells(replace(HAWKER, remarks="other"))
    assert first["associatedObservationReference"] == HAWKER.id.urn
    assert (first["accessURI"], second["accessURI"]) == ("", "https://example.org/0043.jpg")


def test_the_identifier_that_a_record_came_with_is_given_back() -> None:
    foreign = replace(HAWKER, others=(("occurrenceID", "scheme:77"),))
    assert occurrence_cells(foreign)["occurrenceID"] == "scheme:77"
    assert occurrence_cells(foreign)["dynamicProperties"] == '{"stillwing:lifeStage": "teneral"}'


def test_the_examples_are_true() -> None:
    assert doctest.testmod(module).failed == 0
