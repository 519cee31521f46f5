"""Questions: what the lens sees of the animal, and what cannot be asked, each with the nearest that can."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.optics.answer import answer
from stillwing.optics.framing import image_distance
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.question import (
    FARTHEST_M,
    Question,
    at_distance,
    distance_for_size,
    join,
    nearest_distance_m,
    pose,
    size_at,
)
from stillwing.optics.subject import STILL

from .posed import CAMERA, GULL, HAWKER, KIT, WISH, ZOOM, asked, hawker_at, kits, log_floats

THIN = Kit("thin", CAMERA, Lens(300.0, 300.0, 4.0, 4.0))
UPRIGHT = replace(KIT, camera=CameraBody(13.0, 17.4, 3888, 5184))


def refused(kit, subject, wish):
    with pytest.raises(InputError) as said:
        answer(kit, subject, wish)
    sentence = str(said.value)
    assert "\n" not in sentence
    assert not sentence.endswith(".")
    return sentence


# The lens


@given(log_floats(1.3, 1900))
def test_a_lens_that_does_not_breathe_is_a_thin_lens(distance_m):
    # u + v = D and 1/u + 1/v = 1/f: f (2 + m + 1/m) = D (Ray, Applied Photographic Optics, 3rd ed. 2002).
    q = pose(THIN, HAWKER, WISH, distance_m)
    m = float(q.magnification[0])
    assert 300 * (2 + m + 1 / m) == pytest.approx(1000 * distance_m, rel=1e-9)
    assert float(q.focus_distance_mm[0]) == pytest.approx(300 * (1 + 1 / m), rel=1e-9)


def test_a_lens_has_its_largest_magnification_at_its_closest_focus():
    q = hawker_at(1.3)
    assert float(q.magnification[0]) == pytest.approx(0.25)
    assert float(q.focal_length_mm[0]) == pytest.approx(1300 / (2 + 0.25 + 4))


def test_a_breathing_lens_has_its_engraved_focal_length_far_away():
    assert float(hawker_at(FARTHEST_M).focal_length_mm[0]) == pytest.approx(300, rel=1e-3)


@given(kits(), st.data())
def test_the_closest_focus_is_taken_and_a_little_less_is_refused(kit, data):
    closest = nearest_distance_m(kit, WISH)
    assert len(pose(kit, HAWKER, WISH, closest)) == 1
    nearer = closest * data.draw(st.floats(0.01, 0.99))
    with pytest.raises(InputError, match=rf"this lens focuses no closer than {closest:.2f} m from the sensor"):
        pose(kit, HAWKER, WISH, nearer)


def test_a_distance_rounded_below_the_closest_focus_is_the_closest_focus():
    assert hawker_at(1.3 * 0.996).magnification == hawker_at(1.3).magnification


@given(st.sampled_from([1.4, 1.7, 2.0, 3.0]), log_floats(1.3, 100))
def test_a_converter_enlarges_the_picture_and_leaves_the_pupil(factor, distance_m):
    bare, longer = hawker_at(distance_m), hawker_at(distance_m, replace(KIT, teleconverter=factor))
    assert longer.magnification == pytest.approx(factor * bare.magnification)
    assert longer.speed_mm_s == pytest.approx(factor * bare.speed_mm_s)
    assert longer.wing_tip_mm_s == pytest.approx(factor * bare.wing_tip_mm_s)
    assert longer.focus_distance_mm == pytest.approx(bare.focus_distance_mm)
    assert longer.focal_length_mm / longer.widest == pytest.approx(bare.focal_length_mm / bare.widest)
    assert longer.narrowest == pytest.approx(factor * bare.narrowest)


def test_close_up_the_f_number_grows_by_one_and_the_magnification_over_the_pupil_ratio():
    # N (1 + m/p) (Greivenkamp, Field Guide to Geometrical Optics, SPIE FG01, 2004, 29).
    assert float(hawker_at(1.3).bellows[0]) == pytest.approx(1.25)
    tele = replace(KIT, lens=replace(ZOOM, pupil_ratio=0.5))
    assert float(hawker_at(1.3, tele).bellows[0]) == pytest.approx(1.5)


def test_a_shorter_focal_length_sees_less_and_opens_wider():
    long, short = hawker_at(3.0), hawker_at(3.0, focal_length_mm=75.0)
    assert float(short.widest[0]) == pytest.approx(4.8)
    assert float(long.widest[0]) == pytest.approx(6.7)
    assert long.focal_length_mm / short.focal_length_mm == pytest.approx(4)
    for q in (long, short):
        m = float(q.magnification[0])
        assert float(q.focal_length_mm[0]) * (2 + m + 1 / m) == pytest.approx(3000)


@given(log_floats(1.3, 1000), log_floats(1.01, 2))
def test_farther_is_smaller_and_slower_on_the_sensor(distance_m, further):
    near, far = hawker_at(distance_m), hawker_at(distance_m * further)
    assert far.magnification < near.magnification
    assert far.speed_mm_s < near.speed_mm_s
    assert far.wing_tip_mm_s < near.wing_tip_mm_s


# The animal


def test_speeds_are_those_of_the_likely_animal():
    q = pose(KIT, GULL, WISH, 20.0)
    m = float(q.magnification[0])
    assert float(q.speed_mm_s[0]) == pytest.approx(11_000 * 0.15 * m)
    # 3 beats/s through 70 deg with half a metre of wing: 2 pi f R (stroke / 2) = 5.76 m/s.
    assert float(q.wing_tip_mm_s[0]) == pytest.approx(2 * math.pi * 3 * 500 * math.radians(35) * m)


@pytest.mark.parametrize("distance_m", [3.0, 100.0])
def test_shake_moves_the_picture_by_the_turn_times_its_distance_behind_the_lens(distance_m):
    # Image distance f (1 + m): S. F. Ray, Applied Photographic Optics, 3rd ed. (2002).
    q = hawker_at(distance_m, shake_deg_s=0.4)
    behind = float(image_distance(q.focal_length_mm[0], q.focus_distance_mm[0]))
    assert float(q.shake_mm_s[0]) == pytest.approx(math.radians(0.4) * behind)


def test_wings_too_asks_for_the_depth_of_the_wings():
    assert float(hawker_at(wings_too=True).half_depth_mm[0]) == HAWKER.half_wing_depth_mm
    assert float(hawker_at(wings_too=False).half_depth_mm[0]) == HAWKER.half_depth_mm


def test_a_picture_is_never_shown_wider_than_it_is():
    for width in (None, 5184.0, 10_000.0):
        assert float(hawker_at(shown_width_px=width).shown_width_px[0]) == 5184
    assert float(hawker_at(shown_width_px=math.inf).shown_width_px[0]) == 5184


def test_many_distances_and_lights_are_many_questions():
    at = np.array([2.0, 3.0, 5.0])
    many = pose(KIT, HAWKER, WISH, at, np.array([10.0, 12.0, 14.0]))
    assert len(many) == 3
    for number, (distance, light) in enumerate(zip(at, (10.0, 12.0, 14.0), strict=True)):
        one = pose(KIT, HAWKER, replace(WISH, ev100=light), distance)
        for field in fields(Question):
            assert getattr(many, field.name)[number] == getattr(one, field.name)[0], field.name


def test_joined_questions_come_in_order():
    both = join([hawker_at(2.0), hawker_at(5.0)])
    assert both.magnification.tolist() == [*hawker_at(2.0).magnification, *hawker_at(5.0).magnification]
    assert both.part([1]).magnification == hawker_at(5.0).magnification


# Size in the frame


@settings(max_examples=60)
@given(st.sampled_from([KIT, THIN, UPRIGHT]), st.sampled_from([HAWKER, GULL]), log_floats(1.4, 300))
def test_a_size_leads_back_to_its_distance(kit, subject, distance_m):
    share = size_at(kit, subject, WISH, distance_m)
    wish = replace(WISH, distance_m=None, size_in_frame=share)
    if share > 1:
        assert "it lies above 0 % and goes to 100 %" in refused(kit, subject, wish)
    else:
        assert distance_for_size(kit, subject, wish) == pytest.approx(distance_m, rel=1e-6)
        assert at_distance(kit, subject, wish).distance_m == pytest.approx(distance_m, rel=1e-6)


def test_size_is_a_share_of_the_longest_side_however_the_sensor_stands():
    # 75 mm at m = 0.25 are 18.75 mm, on a side of 17.4 mm.
    assert size_at(KIT, HAWKER, WISH, 1.3) == pytest.approx(18.75 / 17.4)
    assert size_at(UPRIGHT, HAWKER, WISH, 1.3) == pytest.approx(18.75 / 17.4)


def test_a_size_beyond_the_closest_focus_is_answered_with_the_largest():
    small = replace(HAWKER, extent_mm=20.0)
    said = refused(KIT, small, replace(WISH, distance_m=None, size_in_frame=0.5))
    assert said.endswith("closer than this lens focuses (1.30 m); there it fills 29 %")  # 20 mm x 0.25 / 17.4 mm
    assert distance_for_size(KIT, small, replace(WISH, size_in_frame=0.287)) == pytest.approx(1.3, rel=0.01)


def test_a_size_too_small_for_any_distance_is_answered_with_the_farthest():
    assert refused(KIT, HAWKER, replace(WISH, distance_m=None, size_in_frame=1e-9)).endswith("more than 2000 m away")


# What cannot be asked


@pytest.mark.parametrize("share", [0.0, -0.1, 1.01, 1e300, math.inf, -math.inf, math.nan])
def test_a_size_that_is_no_share_is_refused(share):
    said = refused(KIT, HAWKER, replace(WISH, distance_m=None, size_in_frame=share))
    assert "it lies above 0 % and goes to 100 % of its longest side" in said


@pytest.mark.parametrize("wrong", [{}, {"distance_m": 3.0, "size_in_frame": 0.2}])
def test_either_a_distance_or_a_size_is_asked(wrong):
    wish = replace(WISH, **({"distance_m": None, "size_in_frame": None} | wrong))
    assert refused(KIT, HAWKER, wish) == "give either a distance or a size in the frame, such as 3 m or 25 %"


@pytest.mark.parametrize("distance", [0.0, -3.0, -math.inf, 1.2])
def test_a_distance_too_close_is_answered_with_the_closest(distance):
    said = refused(KIT, HAWKER, replace(WISH, distance_m=distance))
    assert said == f"the distance is {distance:g} m; this lens focuses no closer than 1.30 m from the sensor"


@pytest.mark.parametrize("distance", [math.nan, math.inf, 1e300, 2001.0])
def test_a_distance_too_far_or_none_is_answered_with_the_farthest(distance):
    said = refused(KIT, HAWKER, replace(WISH, distance_m=distance))
    assert said == f"the distance is {distance:g} m; it goes up to 2,000 m"
    with pytest.raises(InputError, match="it goes up to 2,000 m"):
        pose(KIT, HAWKER, WISH, [3.0, distance])


@pytest.mark.parametrize(
    ("name", "values", "range_told"),
    [
        ("ev100", [-6.1, 20.1, math.nan, math.inf, -math.inf], r"it lies between EV -6 \(starlight\) and EV 20"),
        ("focal_length_mm", [0.0, -300.0, 60.0, 400.0, math.nan, math.inf], "this lens has 75 to 300 mm"),
        ("shown_width_px", [0.0, -1.0, 1e-300, 0.9, math.nan, -math.inf], "it must be 1 or more"),
        ("snr_wanted", [0.0, -40.0, 1001.0, math.nan, math.inf], "it lies between 1 and 1000"),
        ("shake_deg_s", [-0.1, 91.0, math.nan, math.inf], r"it lies between 0 \(tripod\) and 90"),
    ],
)
def test_a_number_that_cannot_be_used_is_answered_with_its_range(name, values, range_told):
    for value in values:
        with pytest.raises(InputError, match=range_told) as said:
            answer(KIT, HAWKER, replace(WISH, **{name: value}))
        assert f"{value:g}" in str(said.value)


@pytest.mark.parametrize("part", ["camera", "lens"])
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, -1.0, 0.0, 1e-300, 1e300])
def test_no_figure_of_a_kit_gives_a_silent_nan(part, value):
    held = getattr(KIT, part)
    for field in fields(held):
        try:
            kit = replace(KIT, **{part: replace(held, **{field.name: value})})
            found = answer(kit, HAWKER, WISH)
        except InputError as said:
            assert "\n" not in str(said)
        else:
            told = (found.best.blur_px, found.best.snr, found.best.worst_ratio, *found.expected.sharp_frames)
            assert all(map(math.isfinite, told)), field.name


def test_a_lens_that_must_shorten_asks_for_its_magnification():
    # A thin lens of 400 mm focuses no closer than 4 f = 1.6 m.
    with pytest.raises(InputError, match=r"400 mm that focuses to 1\.3 m must grow shorter to do so; give its largest"):
        Lens(400.0, 400.0, 5.6, 5.6, closest_focus_m=1.3)
    known = Kit("k", CAMERA, Lens(400.0, 400.0, 5.6, 5.6, closest_focus_m=1.3, largest_magnification=0.31))
    found = answer(known, HAWKER, replace(WISH, distance_m=1.3))
    assert found.magnification == pytest.approx(0.31)
    assert found.true_focal_length_mm == pytest.approx(1300 / (2 + 0.31 + 1 / 0.31))


@settings(max_examples=100)
@given(asked())
def test_every_figure_of_a_question_is_a_number(drawn):
    kit, subject, wish = drawn
    q = pose(kit, subject, wish, wish.distance_m)
    for field in fields(Question):
        value = getattr(q, field.name)
        assert value.shape == (1,)
        assert np.isfinite(value).all()
        assert (value >= 0).all() or field.name == "ev100"


def test_what_does_not_move_has_no_speed():
    still = replace(HAWKER, speed_m_s=STILL, wingbeat_hz=STILL)
    q = pose(KIT, still, replace(WISH, shake_deg_s=0.0), 3.0)
    assert (q.speed_mm_s, q.shake_mm_s, q.wing_tip_mm_s) == (0.0, 0.0, 0.0)
