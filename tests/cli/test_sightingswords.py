"""What is typed of a sighting, read."""

from datetime import date
from uuid import UUID

import pytest

from stillwing.cli.sightingswords import TypedSighting, sighting_asked
from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingtime import When

NOTHING = dict.fromkeys(TypedSighting.__slots__)
BEFORE = Where(52.2, 0.1, 30.0, name="pond")


def typed(**told):
    return TypedSighting(**(NOTHING | told))


def test_only_what_was_typed_is_a_part():
    assert typed().parts == {}
    assert typed(count=0, recorded_by=["A", "B"], remarks="").parts == {
        "count": 0,
        "recorded_by": ("A", "B"),
        "remarks": "",
    }


def test_a_square_brings_its_own_uncertainty_and_coordinates_none():
    told = []
    square = typed(place="TL 45 58").where(None, told.append)
    assert square.uncertainty_m == 713.0 and "1 km square TL 45 58" in told[0]
    assert typed(place="52.2053, 0.1218").where(None, told.append) == Where(52.2053, 0.1218)


def test_a_place_is_not_known_better_than_it_is_written():
    with pytest.raises(InputError, match="leaves 713 m open"):
        typed(place="TL 45 58", uncertainty_m=5).where(None, print)


def test_what_is_not_typed_of_a_place_stays():
    assert typed(place_name="mill pond").where(BEFORE, print) == Where(52.2, 0.1, 30.0, name="mill pond")
    assert typed(uncertainty_m=8).where(BEFORE, print) == Where(52.2, 0.1, 8, name="pond")
    assert typed(place="51.0, 0.0").where(BEFORE, print) == Where(51.0, 0.0, name="pond")
    assert typed().where(None, print) is None


def test_a_sighting_is_named_by_the_beginning_of_its_identity(book):
    ids = [UUID(f"aaaaaaaa-0000-4000-8000-00000000000{number}") for number in (1, 2)]
    ids.append(UUID("bbbbbbbb-0000-4000-8000-000000000003"))
    with open_book(book) as opened:
        for one in ids:
            keep_sighting(opened, Sighting("Odonata", When(date(2024, 7, 6)), Where(name="pond"), one))
        assert sighting_asked(opened, "BBBB").sighting.id == ids[2]
        assert sighting_asked(opened, str(ids[0])).sighting.id == ids[0]
        with pytest.raises(InputError, match='2 sightings begin with "aaaaaaaa"'):
            sighting_asked(opened, "aaaaaaaa")
        for strange in ("cccc", "", "%"):
            with pytest.raises(UnknownThing, match="no sighting begins with"):
                sighting_asked(opened, strange)
