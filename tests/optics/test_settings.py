"""The solver finds what a patient search over every setting of the kit finds, at once and for many questions."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.optics import settings as solver
from stillwing.optics.exposure import ev100, exposure_for
from stillwing.optics.kit import Kit, Lens
from stillwing.optics.question import Question, join, pose
from stillwing.optics.settings import f_number_steps, frontier, iso_steps, settings_grid, solve

from .posed import CAMERA, GULL, HAWKER, KIT, WISH, hawker_at, log_floats, questions

GREEN_MM = 0.00055
THIRD, SIXTH = 2 ** (1 / 3), 2 ** (1 / 6)
NEARLY = 1 + 1e-9


# A patient search, one setting after the other, in plain numbers


def first(of):
    return float(of[0])


def own_f_numbers(q: Question) -> list[float]:
    """Return wide open, then every third of a stop that is not wide open again, to the narrowest."""
    widest, narrowest = first(q.widest), first(q.narrowest)
    thirds = [2 ** (k / 6) for k in range(-12, 60)]
    return [widest, *(n for n in thirds if n > widest * solver.IN_RANGE and n <= narrowest * solver.IN_RANGE)]


def own_isos(q: Question) -> list[float]:
    thirds = [100 * 2 ** (k / 3) for k in range(-12, 40)]
    lowest, highest = first(q.lowest_iso), first(q.highest_iso)
    inside = [iso for iso in thirds if lowest / solver.IN_RANGE <= iso <= highest * solver.IN_RANGE]
    return inside or [lowest]


def own_ratios(q: Question, n: float, iso: float) -> tuple[float, float, float] | None:
    """Return exposure, blur ratio and worst ratio of one setting; ``None`` where the camera has no such exposure."""
    working = n * first(q.bellows)
    wanted = working**2 / (2 ** first(q.ev100) * iso / 100)  # ISO 2720: N^2/t = 2^EV S/100
    exposure = 2 ** (round(3 * math.log2(wanted)) / 3)
    if not first(q.shortest_s) / solver.TIME_IN_RANGE <= exposure <= first(q.longest_s) * solver.TIME_IN_RANGE:
        return None
    pitch = first(q.pitch_mm)
    moved = math.hypot(first(q.speed_mm_s), first(q.shake_mm_s)) * exposure / pitch
    airy = math.sqrt(2) / math.pi * GREEN_MM * working / pitch
    same = 1 / 12 + 0.04 + first(q.own_blur_px) ** 2 + moved**2 / 24 + airy**2
    pupil = first(q.focal_length_mm) / n
    disc_per_mm = pupil * first(q.magnification) / first(q.focus_distance_mm) / pitch
    half, error = first(q.half_depth_mm), first(q.focus_error_mm)
    sharpest_mm = max(0.2 * half, 0.6745 * error - 0.6 * half)
    whole = math.sqrt(same + (disc_per_mm / 4) ** 2 * (half**2 + error**2))
    sharpest = math.sqrt(same + (disc_per_mm * sharpest_mm / 4) ** 2)
    # The picture as shown: variances scale with it, and its own pixel has 1/12 (optics.usable).
    shrunk = first(q.shown_width_px) / first(q.frame_width_px)
    limit = math.sqrt((0.85**2 - 1 / 12) / shrunk**2 + 1 / 12)
    blur = whole / limit if whole <= limit else max(sharpest / limit, 1) + 0.15 * (whole / limit - 1)
    electrons = min(10 / 78 * first(q.electrons_at_white) * first(q.lowest_iso) / iso, first(q.electrons_at_white))
    snr = electrons / math.sqrt(electrons + first(q.read_noise_e) ** 2) / min(shrunk, 1)
    return exposure, blur, max(blur, first(q.snr_wanted) / snr)


@settings(max_examples=40, deadline=None)
@given(questions())
def test_the_best_and_the_frontier_are_those_of_a_patient_search(q):
    found = solve(q)
    tried = {(n, iso): own_ratios(q, n, iso) for n, iso in itertools.product(own_f_numbers(q), own_isos(q))}
    possible = {key: ratios for key, ratios in tried.items() if ratios}
    if not possible:
        assert np.isinf(found.worst_ratio).all()
        return
    assert found.worst_ratio.min() == pytest.approx(min(worst for _, _, worst in possible.values()), rel=1e-9)
    assert found.iso[0][np.isfinite(found.iso[0])] == pytest.approx(own_isos(q), rel=1e-9)
    for at, iso in enumerate(own_isos(q)):
        here = [ratios for (_, other), ratios in possible.items() if other == iso]
        assert np.isfinite(found.blur_ratio[0, at]) == bool(here)
        if here:
            assert found.blur_ratio[0, at] == pytest.approx(min(blur for _, blur, _ in here), rel=1e-9)
            assert found.worst_ratio[0, at] == pytest.approx(min(worst for _, _, worst in here), rel=1e-9)


@settings(max_examples=12, deadline=None)
@given(questions())
def test_every_setting_is_on_the_camera_and_exposes_within_a_sixth_of_a_stop(q):
    found = solve(q)
    f_numbers, isos = np.array(own_f_numbers(q)), np.array(own_isos(q))
    rows = np.isfinite(found.worst_ratio[0])
    for n, t, iso in zip(found.f_number[0, rows], found.exposure_s[0, rows], found.iso[0, rows], strict=True):
        assert np.abs(f_numbers / n - 1).min() < 1e-9
        assert np.abs(isos / iso - 1).min() < 1e-9
        steps = 3 * math.log2(t)
        assert steps == pytest.approx(round(steps), abs=1e-6)
        assert abs(float(ev100(n * q.bellows[0], t, iso)) - q.ev100[0]) <= 1 / 6 + 1e-9
        assert q.shortest_s[0] / 1.07 <= t <= q.longest_s[0] * 1.07


# One question or thousands


@settings(max_examples=12, deadline=None)
@given(st.lists(questions(), min_size=2, max_size=6))
def test_many_at_once_are_many_one_by_one(many):
    together = solve(join(many))
    for number, q in enumerate(many):
        alone = solve(q)
        width = alone.iso.shape[1]
        for name in ("iso", "f_number", "exposure_s", "blur_ratio", "snr", "worst_ratio"):
            of_many = getattr(together, name)[number]
            np.testing.assert_array_equal(of_many[:width], getattr(alone, name)[0])
        assert not np.isfinite(together.iso[number, width:]).any()
        assert np.isinf(together.worst_ratio[number, width:]).all()
        assert together.best[number] == alone.best[0]


def test_more_questions_than_a_block_are_solved_alike(monkeypatch):
    at = np.geomspace(1.4, 40, 23)
    q = join([hawker_at(at), pose(replace(KIT, camera=replace(CAMERA, highest_iso=800.0)), GULL, WISH, at)])
    whole = solve(q)
    monkeypatch.setattr(solver, "BLOCK", 5)
    for name in ("iso", "f_number", "exposure_s", "worst_ratio"):
        np.testing.assert_array_equal(getattr(solve(q), name), getattr(whole, name))


# Series of settings


def steps_of(lens: Lens, converter: float = 1.0) -> list[float]:
    q = pose(Kit("k", CAMERA, lens, converter), HAWKER, WISH, 5.0)
    steps = f_number_steps(q.widest, q.narrowest)[0]
    return [round(float(n), 2) for n in steps[np.isfinite(steps)]]


@pytest.mark.parametrize(
    ("widest", "narrowest", "steps"),
    [
        (6.7, 22.0, [6.7, 7.13, 8.0, 8.98, 10.08, 11.31, 12.7, 14.25, 16.0, 17.96, 20.16, 22.63]),
        (5.6, 11.0, [5.6, 6.35, 7.13, 8.0, 8.98, 10.08, 11.31]),
        (6.3, 8.0, [6.3, 7.13, 8.0]),
        (4.8, 6.7, [4.8, 5.04, 5.66, 6.35]),
        (1.2, 2.0, [1.2, 1.26, 1.41, 1.59, 1.78, 2.0]),
        (8.0, 8.0, [8.0]),
        (6.7, 6.7, [6.7]),
    ],
)
def test_f_numbers_begin_wide_open_and_go_on_in_thirds(widest, narrowest, steps):
    # Exact values 2^(k/6) of the engraved series f/5.6, 6.3, 7.1, 8, ... (ISO 2721, from memory).
    assert steps_of(Lens(300.0, 300.0, widest, widest, narrowest=narrowest)) == steps


def test_a_converter_moves_the_whole_series():
    steps = steps_of(Lens(300.0, 300.0, 4.0, 4.0, narrowest=22.0), 2.0)
    assert (steps[0], steps[1], steps[-1]) == (8.0, 8.98, 45.25)


@pytest.mark.parametrize(
    ("lowest", "highest", "ends", "count"),
    [
        (200, 25600, (200, 25600), 22),
        (125, 51200, (126, 51200), 27),
        (64, 102400, (63, 102400), 33),
        (200, 200, (200, 200), 1),
        (100, 12800, (100, 12800), 22),
        (250, 3000, (252, 2540), 11),
        (210, 210, (210, 210), 1),
    ],
)
def test_isos_are_thirds_between_the_cameras_ends(lowest, highest, ends, count):
    steps = iso_steps(np.array([float(lowest)]), np.array([float(highest)]))[0]
    steps = steps[np.isfinite(steps)]
    assert (round(float(steps[0])), round(float(steps[-1]))) == ends
    assert len(steps) == count
    assert steps[1:] / steps[:-1] == pytest.approx(THIRD)


@given(log_floats(25, 3200), st.floats(0, 12))
def test_every_camera_has_an_iso_and_none_beyond_its_ends(lowest, stops):
    highest = lowest * 2**stops
    steps = iso_steps(np.array([lowest]), np.array([highest]))[0]
    steps = steps[np.isfinite(steps)]
    assert len(steps) >= 1
    assert steps[0] >= lowest / solver.IN_RANGE / NEARLY
    assert steps[-1] <= highest * solver.IN_RANGE * NEARLY


@given(log_floats(0.95, 32), st.floats(0, 8))
def test_every_lens_has_its_widest_and_no_two_steps_alike(widest, stops):
    narrowest = widest * 2 ** (stops / 2)
    steps = f_number_steps(np.array([widest]), np.array([narrowest]))[0]
    steps = steps[np.isfinite(steps)]
    assert steps[0] == widest
    assert steps[-1] <= narrowest * solver.IN_RANGE
    # From wide open the first step may be short, but what bears the same engraved name is left out.
    assert (steps[1:] / steps[:-1] > solver.IN_RANGE / NEARLY).all()
    assert (steps[1:] / steps[:-1] < SIXTH * solver.IN_RANGE * NEARLY).all()


# More is never worse


def best(q: Question) -> float:
    return float(solve(q).worst_ratio.min())


@settings(max_examples=20, deadline=None)
@given(questions(), st.integers(1, 12))
def test_a_slower_animal_is_never_worse(q, stops):
    slower = replace(q, speed_mm_s=q.speed_mm_s / 2**stops, shake_mm_s=q.shake_mm_s / 2)
    assert best(slower) <= best(q) * NEARLY


@settings(max_examples=20, deadline=None)
@given(questions(), st.floats(0, 1), st.floats(0, 1))
def test_a_thinner_body_and_a_better_focus_are_never_worse(q, thinner, better):
    # Not one alone: a body that reaches into the focal plane has a sharp part where a thinner one has none.
    share = min(thinner, better)
    flat = replace(q, half_depth_mm=q.half_depth_mm * share, focus_error_mm=q.focus_error_mm * share)
    assert best(flat) <= best(q) * NEARLY
    assert best(replace(q, focus_error_mm=q.focus_error_mm * better)) <= best(q) * NEARLY


@settings(max_examples=20, deadline=None)
@given(questions(), st.floats(1, 4), st.floats(1, 4))
def test_less_asked_for_is_never_worse(q, narrower, noisier):
    assert best(replace(q, shown_width_px=q.shown_width_px / narrower)) <= best(q) * NEARLY
    assert best(replace(q, snr_wanted=q.snr_wanted / noisier)) <= best(q) * NEARLY


@settings(max_examples=40, deadline=None)
@given(questions(), st.integers(1, 9))
def test_more_light_is_never_worse_while_the_camera_is_fast_enough(q, thirds):
    # In whole thirds, as exposures are rounded to them; a camera at its shortest exposure cannot use more light.
    fast = replace(q, shortest_s=q.shortest_s * 1e-6)
    brighter = replace(fast, ev100=fast.ev100 + thirds / 3)
    assert best(brighter) <= best(fast) * NEARLY


@settings(max_examples=20, deadline=None)
@given(questions())
def test_a_kit_that_can_do_more_is_never_worse(q):
    closes, sensitive = replace(q, narrowest=q.narrowest * 2), replace(q, highest_iso=q.highest_iso * 4)
    quick = replace(q, shortest_s=q.shortest_s / 4, longest_s=q.longest_s * 4)
    if q.lowest_iso[0] == q.highest_iso[0] == 210:
        sensitive = q  # an ISO between thirds is set by a camera that has no other
    for better in (closes, sensitive, quick, replace(q, read_noise_e=q.read_noise_e / 2)):
        assert best(better) <= best(q) * NEARLY


@settings(max_examples=20, deadline=None)
@given(st.sampled_from([HAWKER, GULL]), log_floats(1.4, 100), log_floats(1.01, 3), st.floats(8, 16))
def test_farther_is_never_more_blurred_at_the_same_settings(subject, distance, further, light):
    # At one f-number and ISO; the little that the lens is brighter from afar is left to the exposure.
    near, far = (settings_grid(pose(KIT, subject, replace(WISH, ev100=light), distance * by)) for by in (1, further))
    both = np.isfinite(near.blur_ratio) & np.isfinite(far.blur_ratio) & (far.exposure_s <= near.exposure_s * NEARLY)
    assert (far.blur_ratio[both] <= near.blur_ratio[both] * NEARLY).all()
    assert (far.sharpest_ratio[both] <= near.sharpest_ratio[both] * NEARLY).all()


@settings(max_examples=20, deadline=None)
@given(questions())
def test_along_the_frontier_more_iso_buys_less_blur_for_more_noise(q):
    found = frontier(replace(q, shortest_s=q.shortest_s * 1e-6, longest_s=q.longest_s * 1e6))
    blur = found.blur_ratio[0][np.isfinite(found.blur_ratio[0])]
    # A third of a stop of ISO shortens every exposure by exactly that.
    assert (blur[1:] <= blur[:-1] * NEARLY).all()
    snr = found.snr[0][np.isfinite(found.iso[0])]
    assert (snr[1:] < snr[:-1]).all()


@settings(max_examples=15, deadline=None)
@given(questions())
def test_the_grid_never_has_a_sharpest_part_softer_than_its_blur(q):
    grid = settings_grid(q)
    met = grid.blur_ratio <= 1
    assert (grid.sharpest_ratio[met] <= grid.blur_ratio[met] * NEARLY).all()
    beyond = ~met & np.isfinite(grid.blur_ratio)
    assert (grid.sharpest_ratio[beyond] <= np.maximum(grid.blur_ratio[beyond], 1) * NEARLY).all()


def test_of_two_alike_the_lower_iso_is_taken():
    # Nothing moves, nothing is deep, noise is no matter: exposure makes no difference, so the least ISO is enough.
    q = replace(
        hawker_at(20.0, shake_deg_s=0.0, snr_wanted=1.0),
        speed_mm_s=np.zeros(1),
        half_depth_mm=np.zeros(1),
        focus_error_mm=np.zeros(1),
    )
    found = solve(q)
    assert found.iso[0, found.best[0]] == 200
    assert found.f_number[0, found.best[0]] == q.widest[0]


def test_where_nothing_exposes_right_every_entry_is_inf():
    found = solve(replace(hawker_at(), longest_s=np.array([1 / 4000]), ev100=np.array([0.0])))
    assert np.isinf(found.worst_ratio).all()
    assert np.isnan(found.f_number).all()


def test_sunny_sixteen_is_among_the_settings():
    # f/16 at 1/ISO in the sun, EV 15 (common practice, no source): 16^2 x 128 is 2^15.
    assert 1 / float(exposure_for(15.0, 16.0, 100.0)) == pytest.approx(128)
    q = replace(hawker_at(200.0), ev100=np.array([15.0]))
    grid = settings_grid(q)
    at_16, at_200 = np.abs(grid.f_number[0] - 16).argmin(), np.abs(grid.iso[0] - 200).argmin()
    assert 1 / grid.exposure_s[0, at_16, at_200] == pytest.approx(256)


@pytest.mark.parametrize("shortest", [4000, 5000, 6400, 8000, 10_000, 16_000, 20_000, 25_600, 32_000])
def test_a_camera_takes_the_exposure_that_is_engraved_as_its_shortest(shortest):
    # Exactly 2^(k/3): 1/5000 s is 1/5161 s, 1/20000 s is 1/20643 s (ISO 2721 and thirds between, from memory).
    exact = 2 ** (round(3 * math.log2(shortest)) / 3)
    assert exact == pytest.approx(shortest, rel=0.035)
    q = replace(hawker_at(ev100=20.0), shortest_s=np.array([1 / shortest]))
    grid = settings_grid(q)
    taken = grid.exposure_s[np.isfinite(grid.blur_ratio)]
    assert 1 / taken.min() == pytest.approx(exact)


@pytest.mark.parametrize(("longest", "exact"), [(15.0, 16.0), (30.0, 32.0), (60.0, 64.0)])
def test_a_camera_takes_the_exposure_that_is_engraved_as_its_longest(longest, exact):
    q = replace(hawker_at(ev100=-6.0), longest_s=np.array([longest]), highest_iso=np.array([409_600.0]))
    grid = settings_grid(q)
    assert grid.exposure_s[np.isfinite(grid.blur_ratio)].max() == pytest.approx(exact)
