"""Sites are kept whole under names that differ in more than capitals."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sites import (
    add_site,
    change_site,
    drop_site,
    example_kept,
    site_asked,
    site_named,
    sites,
)
from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.site import Perch
from stillwing.place.stands import Span

from .write_stored_book import stored_site


def named(name):
    kept = stored_site()
    return replace(kept, site=replace(kept.site, name=name))


def test_a_site_comes_back_as_it_was_stored(book):
    for kept in (example_kept(), stored_site()):
        stored = add_site(book, kept)
        assert stored == kept
        back = site_named(book, kept.site.name)
        assert back.zone == kept.zone and back.elevation_m == kept.elevation_m
        assert back.site.stands[0].reach == kept.site.stands[0].reach
        assert back.site.horizon == kept.site.horizon
        # GeoJSON keeps a tenth of a millimetre.
        for one, other in zip(back.site.outline.waters[0].rim, kept.site.outline.waters[0].rim, strict=True):
            assert one.longitude_deg == pytest.approx(other.longitude_deg, abs=1e-9)
            assert one.latitude_deg == pytest.approx(other.latitude_deg, abs=1e-9)


bearings = st.floats(0, 359.99).map(lambda b: round(b, 3))


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(bearings, st.floats(-30, 89), st.none() | st.floats(1, 5000)), max_size=6, unique_by=lambda e: e[0]
    ),
    st.lists(st.tuples(bearings, bearings), max_size=4),
    st.floats(0, 9),
    st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=20),
)
def test_horizon_reach_heights_and_names_come_back_exactly(book, entries, spans, height, name):
    horizon = Horizon(tuple(HorizonEntry(b, a, *([] if d is None else [d])) for b, a, d in entries))
    kept = named(name)
    stand = replace(kept.site.stands[0], reach=tuple(Span(*span) for span in spans), name=name)
    perch = Perch(name, kept.site.perches[0].position, min(height, 5.0))
    kept = replace(kept, site=replace(kept.site, horizon=horizon, stands=(stand,), perches=(perch,)))
    add_site(book, kept)
    assert site_named(book, name) == kept
    drop_site(book, name)


@pytest.mark.parametrize("other", ["WEIHER", " weiher ", "Weiher"])
def test_a_name_is_taken_whatever_its_capitals(book, other):
    add_site(book, stored_site())
    with pytest.raises(InputError, match=r"holds a site called 'Weiher' already; give another name"):
        add_site(book, named(other))
    assert site_named(book, other).site.name == "Weiher"


@pytest.mark.parametrize(
    ("name", "other"),
    [("Großer See", "GROSSER SEE"), ("Étang", "E\u0301TANG"), ("Ｍｅｒｅ", "mere"), ("ΛΊΜΝΗΣ", "λίμνης")],
)
def test_a_name_in_any_script_is_kept_and_is_one_with_its_other_spellings(book, name, other):
    assert add_site(book, named(name)).site.name == name
    with pytest.raises(InputError, match=f"holds a site called '{name}' already"):
        add_site(book, named(other))
    assert site_named(book, other).site.name == name


@pytest.mark.parametrize("held", ["\0", "\x01", "\x7f", "\ud800", "\udcff", "\uffff"])
def test_a_name_that_no_file_could_hold_is_refused_before_it_is_stored(book, held):
    whole = stored_site()
    stand, perch = whole.site.stands[0], whole.site.perches[0]
    name = f"a{held}b"
    changed = [
        replace(whole.site, name=name),
        replace(whole.site, stands=(replace(stand, name=name),)),
        replace(whole.site, perches=(replace(perch, name=name),)),
    ]
    for site, kind in zip(changed, ("site", "stand", "perch"), strict=True):
        with pytest.raises(InputError, match=f"^the {kind}'s name 'a.* holds .*; leave it out$") as refused:
            add_site(book, replace(whole, site=site))
        str(refused.value).encode()
    assert sites(book) == ()


def test_of_two_that_add_one_name_at_once_one_is_refused(book):
    names = ["weiher", "WEIHER", "Weiher", " weiHER"]
    together = Barrier(len(names))

    def add(name):
        with open_book(book.path) as own:
            together.wait()
            try:
                return add_site(own, named(name)).site.name
            except InputError as refused:
                return refused

    with ThreadPoolExecutor(len(names)) as pool:
        ended = list(pool.map(add, names))
    (won,) = [one for one in ended if isinstance(one, str)]
    assert [kept.site.name for kept in sites(book)] == [won]
    for refused in ended:
        assert refused == won or f"holds a site called '{won}' already" in str(refused)


def test_a_site_can_be_renamed_but_not_over_another(book):
    add_site(book, stored_site())
    add_site(book, named("gravel pit"))
    change_site(book, "weiher", named("WEIHER"))
    assert [kept.site.name for kept in sites(book)] == ["gravel pit", "WEIHER"]
    with pytest.raises(InputError, match=r"holds a site called 'gravel pit' already"):
        change_site(book, "weiher", named("Gravel  Pit"))
    with pytest.raises(UnknownThing, match=r"holds no site called 'lake'; it holds: gravel pit, WEIHER"):
        change_site(book, "lake", named("lake"))


def test_the_only_site_needs_no_name_and_of_several_one_is_named(book):
    with pytest.raises(UnknownThing, match=r"holds no site yet; add one with: stillwing site add"):
        site_named(book)
    add_site(book, stored_site())
    assert site_named(book).site.name == "Weiher"
    add_site(book, named("gravel pit"))
    with pytest.raises(UnknownThing, match=r"several sites; name one of: gravel pit, Weiher"):
        site_named(book)


def test_the_example_answers_where_the_book_holds_no_site_and_by_its_name(book):
    assert site_asked(book) == example_kept()
    add_site(book, stored_site())
    assert site_asked(book).site.name == "Weiher"
    assert site_asked(book, "Mill Pond") == example_kept()
    with pytest.raises(UnknownThing, match=r"no site called 'puddle'"):
        site_asked(book, "puddle")
    assert sites(book) == (stored_site(),)


def test_a_zone_that_is_none_and_a_height_that_is_nowhere_are_refused():
    with pytest.raises(InputError, match=r"time zone 'Mars' is not known"):
        replace(stored_site(), zone="Mars")
    with pytest.raises(InputError, match=r"elevation"):
        replace(stored_site(), elevation_m=1e6)


def test_a_stored_site_that_is_damaged_is_named_and_can_be_dropped(book):
    add_site(book, stored_site())
    with book.writing() as connection:
        connection.exec_driver_sql('UPDATE site SET document = \'{"type": "FeatureCollection"\'')
    with pytest.raises(FieldBookError, match=r"the stored site 'Weiher' cannot be used: .*; drop it, and add it again"):
        sites(book)
    assert drop_site(book, "weiher") == "Weiher"
    assert sites(book) == ()
