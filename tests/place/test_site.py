from dataclasses import replace

import pytest

from stillwing.errors import InputError, UnknownThing
from stillwing.place.position import Position
from stillwing.place.site import Perch, Site, with_proposed_stands, without_stands
from stillwing.place.stands import BankRules, Stand

from .waters import outline, rectangle, ring_at

POND = outline(rectangle(100, 60))
HERE = ring_at([(0, -31)])[0]


def test_stands_come_and_go_and_the_map_stays():
    site = with_proposed_stands(Site("pond", POND), BankRules(spacing_m=20))
    assert len(site.stands) == 16
    name = site.stands[2].name
    fewer = without_stands(site, frozenset({name}))
    assert len(fewer.stands) == 15
    assert fewer.plane == Site("pond", POND).plane
    assert site.stand(name) == site.stands[2]
    with pytest.raises(UnknownThing, match=f"pond has no stand {name}; its stands are north"):
        fewer.stand(name)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"name": " "}, "the site has no name; give it one"),
        ({"stands": (Stand("a", HERE, 0), Stand("a", HERE, 90))}, "2 stands are called a; names must differ"),
        ({"perches": (Perch("p", HERE), Perch("p", HERE))}, "2 perches are called p; names must differ"),
        (
            {"stands": (Stand("a", Position(52, 0.1), 0),)},
            r"the stand a lies 7,5\d\d km .* longitude and latitude swapped",
        ),
    ],
)
def test_what_does_not_belong_to_one_site_is_told(change, told):
    with pytest.raises(InputError, match=told):
        replace(Site("pond", POND), **change)


@pytest.mark.parametrize(("name", "height", "told"), [("", 1, "has no name"), ("reed", 500, "reed is 500 m above")])
def test_what_is_no_perch_is_told(name, height, told):
    with pytest.raises(InputError, match=told):
        Perch(name, HERE, height)
