from dataclasses import replace
from datetime import date
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError, OutsideModel
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Doing, SightedSex, Verification

from .sightingstrategies import HAWKER

DAY = When(date(2024, 7, 6))


def test_two_sightings_have_an_identity_each_that_stays() -> None:
    one, two = (Sighting("Aeshna juncea", DAY, Where(52.0, 0.0)) for _ in range(2))
    assert isinstance(one.id, UUID)
    assert one.id != two.id
    assert replace(one, count=3).id == one.id


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_coordinates_are_kept_to_a_centimetre(latitude: float, longitude: float) -> None:
    place = Where(latitude, longitude)
    assert place.latitude == pytest.approx(latitude, abs=0.5e-7)
    assert place.longitude == pytest.approx(longitude, abs=0.5e-7)
    assert Where(place.latitude, place.longitude) == place


@pytest.mark.parametrize(
    ("place", "told"),
    [
        ({}, "neither coordinates nor a name"),
        ({"latitude": 52.0}, "only one of latitude and longitude"),
        ({"name": "Pond", "uncertainty_m": 5.0}, "no latitude and longitude"),
        ({"latitude": 52.0, "longitude": 0.0, "uncertainty_m": 0.0}, "uncertainty of the place is 0 m"),
        ({"latitude": 52.0, "longitude": 0.0, "uncertainty_m": float("nan")}, "uncertainty of the place is nan m"),
        ({"latitude": 52.0, "longitude": 0.0, "precision_deg": -1.0}, "precision of the coordinates is -1 deg"),
        ({"name": "Pond\nbank"}, "one line"),
    ],
)
def test_a_place_that_cannot_be_is_told_in_one_sentence(place: dict[str, object], told: str) -> None:
    with pytest.raises(InputError, match=told):
        Where(**place)  # type: ignore[arg-type]


@pytest.mark.parametrize(("latitude", "longitude"), [(90.1, 0.0), (0.0, -180.5), (float("nan"), 0.0)])
def test_coordinates_off_the_earth_are_refused(latitude: float, longitude: float) -> None:
    with pytest.raises(OutsideModel, match="this model covers"):
        Where(latitude, longitude)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"scientific_name": ""}, "scientific name is empty"),
        ({"remarks": " blank in front"}, "the remarks is"),
        ({"recorded_by": ("A|B",)}, "the recorder is"),
        ({"recorded_by": ("A", "A")}, "stands twice"),
        ({"count": -1}, "count is -1 animals"),
        ({"count": 0}, "none were seen"),
        ({"sexes": (SightedSex.MALE, SightedSex.UNDETERMINED)}, "undetermined too"),
        ({"doing": (Doing.TANDEM, Doing.TANDEM)}, "the behaviour stands twice"),
        ({"verification": Verification.VERIFIED}, "verified by nobody"),
        ({"pictures": ("/home/someone/0042.jpg",)}, "the picture is"),
        ({"pictures": ("C:\\0042.jpg",)}, "the picture is"),
        ({"licence": "CC BY"}, "the licence is"),
        ({"others": (("b", "1"), ("a", "1"))}, "out of order"),
        ({"others": (("stillwing:x", "1"),)}, "is ours"),
        ({"others": (("habitat", ""),)}, "neither is empty"),
    ],
)
def test_what_cannot_be_is_told_in_one_sentence(change: dict[str, object], told: str) -> None:
    with pytest.raises(InputError, match=told) as caught:
        replace(HAWKER, **change)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)
    assert not str(caught.value).endswith(".")
