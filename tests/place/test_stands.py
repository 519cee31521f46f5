import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError, UnknownThing
from stillwing.place.bearings import bearing_between, turn
from stillwing.place.outline import Outline, Water, water_on
from stillwing.place.position import Position
from stillwing.place.stands import BankRules, Span, Stand, proposed_stands, pruned, stand_at

from .waters import circle, outline, rectangle, ring_at


def proposed(lake, rules=None):
    return proposed_stands(lake.plane, water_on(lake.plane, lake), rules)


def test_round_a_circle_all_stands_face_its_middle():
    lake = outline(circle(80, 360))
    stands = proposed(lake)
    feet = lake.plane.to_metres([stand.position for stand in stands])
    assert len(stands) == round(2 * np.pi * 80 / 10)
    np.testing.assert_allclose(np.hypot(*feet.T), 81, atol=0.05)
    middle = [float(bearing_between(foot, (0, 0))) for foot in feet]
    assert np.abs(turn(middle, [stand.faces_deg for stand in stands])).max() < 0.6
    gaps = np.hypot(*(feet - np.roll(feet, 1, axis=0)).T)
    np.testing.assert_allclose(gaps, gaps.mean(), rtol=0.01)


def test_reach_over_a_circle_is_what_its_chords_allow():
    # From 1 m outside a circle of 80 m, a bearing at the angle a off the middle has a chord of
    # 2 sqrt(80^2 - (81 sin a)^2), and begins 81 cos a - half of that away.
    lake = outline(circle(80, 720))
    stand = proposed(lake, BankRules(longest_edge_m=3.0))[0]
    half = max(abs(float(turn(stand.faces_deg, s))) for span in stand.reach for s in (span.left_deg, span.right_deg))
    edge = [81 * np.cos(a) - np.sqrt(80**2 - (81 * np.sin(a)) ** 2) for a in np.radians([65.0, 72.0])]
    assert edge[0] < 3.0 < edge[1]
    assert 62 <= half <= 72


def test_stands_of_a_pond_are_named_after_its_banks():
    stands = proposed(outline(rectangle(100, 60)))
    names = [stand.name for stand in stands]
    assert len(set(names)) == len(names)
    assert {name.rsplit(" ", 1)[0] for name in names} >= {"north bank", "east bank", "south bank", "west bank"}
    for stand in stands:
        if stand.name.startswith("north bank"):
            assert abs(turn(180, stand.faces_deg)) <= 22.5
    easting = [s.position.longitude_deg for s in stands if s.name.startswith("north bank")]
    assert easting == sorted(easting)  # numbered clockwise


@settings(max_examples=20)
@given(st.integers(0, 3), st.booleans())
def test_names_do_not_depend_on_where_the_drawing_began(shift, backwards):
    corners = [(0, 0), (90, 10), (110, 70), (20, 60)]
    drawn = corners[shift:] + corners[:shift]
    again = proposed(outline(drawn[::-1] if backwards else drawn))
    for one, other in zip(proposed(outline(corners)), again, strict=True):
        assert one.name == other.name
        assert one.faces_deg == pytest.approx(other.faces_deg, abs=1e-3)
        assert one.position.latitude_deg == pytest.approx(other.position.latitude_deg, abs=1e-8)


def test_nobody_stands_in_water_and_everybody_looks_over_it():
    bay = [(0, 0), (100, 0), (100, 80), (50.8, 80), (50.8, 20), (50, 20), (50, 80), (0, 80)]  # a spit of 0.8 m
    lake = outline(bay)
    water = water_on(lake.plane, lake)
    stands = proposed(lake)
    feet = lake.plane.to_metres([stand.position for stand in stands])
    assert not shapely.intersects_xy(water, feet).any()
    assert all(stand.reaches(round(stand.faces_deg / 5) * 5 % 360) for stand in stands)
    fewer = proposed(lake, BankRules(spacing_m=20))
    assert len(fewer) < len(stands)


def test_a_narrow_ditch_has_no_stand_that_wants_more_water():
    assert proposed(outline(rectangle(1.5, 3)), BankRules(least_water_m=10)) == ()


def test_two_waters_are_told_apart_by_size():
    small, large = ring_at(rectangle(30, 30, 200)), ring_at(rectangle(100, 60))
    names = [stand.name for stand in proposed(Outline((Water(small), Water(large))))]
    assert sum(name.startswith("water 1, ") for name in names) > sum(name.startswith("water 2, ") for name in names) > 0


def test_a_stand_put_by_hand_faces_square_to_the_nearest_bank():
    lake = outline(rectangle(100, 60))
    water = water_on(lake.plane, lake)
    for foot, faces in (((10, -33), 0), ((10, -30), 0), ((52, 5), 270), ((10, -29), 0)):
        at = lake.plane.to_positions([foot])[0]
        stand = stand_at(lake.plane, water, at, " jetty ")
        assert abs(turn(faces, stand.faces_deg)) < 0.1
        assert stand.name == "jetty"
        assert stand.reaches(faces)
    far = stand_at(lake.plane, water, lake.plane.to_positions([(0, -200)])[0], "hill")
    assert far.reach == ()


def test_pruning_keeps_the_names_of_the_others():
    stands = proposed(outline(rectangle(100, 60)))
    left = pruned(stands, {stands[1].name, stands[3].name})
    assert [s.name for s in left] == [s.name for i, s in enumerate(stands) if i not in (1, 3)]
    with pytest.raises(UnknownThing, match="there is no stand moon bank 1; the stands are east bank 1"):
        pruned(stands, ["moon bank 1"])


@pytest.mark.parametrize(
    ("span", "inside", "outside", "width"),
    [
        (Span(350, 20), (350, 0, 20, 380), (21, 349, 180), 30),
        (Span(0, 360), (0, 123, 359), (), 360),
        (Span(90, 90), (90,), (91, 89), 0),
    ],
)
def test_spans_run_to_the_right_and_through_north(span, inside, outside, width):
    assert span.width_deg == width
    assert all(bearing in span for bearing in inside)
    assert not any(bearing in span for bearing in outside)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: BankRules(spacing_m=0), "spacing_m is 0 m; stands are 0.5 to 10000 m apart"),
        (lambda: BankRules(setback_m=-1), "setback_m is -1 m; it must be 0 to 1000 m"),
        (lambda: BankRules(setback_m=9), "setback_m is 9 m, more than longest_edge_m, 5 m"),
        (lambda: Stand(" ", Position(0, 0), 0), "has no name; give it one"),
        (lambda: Stand("a", Position(0, 0), 400), "the stand a faces 400 deg"),
        (lambda: Stand("a", Position(0, 0), 0, above_water_m=-9), "is -9 m above the water"),
    ],
)
def test_what_is_no_stand_is_told_in_one_sentence(make, told):
    with pytest.raises(InputError, match=told):
        make()
