"""The plane of settings: each cell is what the solver says of that pair, and the kit's ISO bounds it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.optics.answer import settings_at
from stillwing.optics.plane import plane
from stillwing.optics.question import pose
from stillwing.optics.settings import f_number_steps, solve

from .posed import CAMERA, GULL, KIT, WISH, hawker_at, questions


@settings(max_examples=30, deadline=None)
@given(questions(), st.data())
def test_every_cell_is_the_setting_of_its_pair(q, data):
    shown = plane(q)
    columns = len(shown.exposures_s)
    assert len(shown.settings) == len(shown.is_possible) == len(shown.f_numbers) * columns
    row = data.draw(st.integers(0, len(shown.f_numbers) - 1))
    column = data.draw(st.integers(0, columns - 1))
    cell = shown.settings[row * columns + column]
    assert (cell.f_number, cell.exposure_s) == (shown.f_numbers[row], shown.exposures_s[column])
    # The exposure equation (ISO 2720): S = 100 N^2 / (t 2^EV), N as it works close up.
    working = cell.f_number * float(q.bellows[0])
    assert cell.iso == pytest.approx(100 * working**2 / (cell.exposure_s * 2 ** float(q.ev100[0])))
    (alone,) = settings_at(q, *(np.array([one]) for one in (cell.f_number, cell.exposure_s, cell.iso)))
    assert cell == alone


@settings(max_examples=40, deadline=None)
@given(questions())
def test_what_is_possible_is_what_the_camera_can_be_set_to(q):
    shown = plane(q)
    sixth = 2 ** (1 / 6) * 1.03
    for cell, possible in zip(shown.settings, shown.is_possible, strict=True):
        has_iso = q.lowest_iso[0] / sixth <= cell.iso <= q.highest_iso[0] * sixth
        has_time = q.shortest_s[0] / 1.07 <= cell.exposure_s <= q.longest_s[0] * 1.07
        assert possible == (has_iso and has_time)


@settings(max_examples=40, deadline=None)
@given(questions())
def test_steps_are_those_of_the_lens_and_thirds_of_a_stop(q):
    shown = plane(q)
    steps = f_number_steps(q.widest, q.narrowest)[0]
    assert shown.f_numbers == tuple(steps[np.isfinite(steps)])
    thirds = 3 * np.log2(np.array(shown.exposures_s))
    assert thirds == pytest.approx(np.round(thirds), abs=1e-6)
    assert np.diff(thirds) == pytest.approx(1)


@settings(max_examples=40, deadline=None)
@given(questions())
def test_the_best_setting_lies_on_the_plane(q):
    found = solve(q)
    at = found.best[0]
    if not np.isfinite(found.worst_ratio[0, at]):
        return
    shown = plane(q)
    best = (found.f_number[0, at], found.exposure_s[0, at])
    if best[1] > max(1 / 30, 4 * shown.exposures_s[0]):
        return  # longer than anything that freezes what flies
    row = np.abs(np.array(shown.f_numbers) / best[0] - 1).argmin()
    column = np.abs(np.array(shown.exposures_s) / best[1] - 1).argmin()
    assert (shown.f_numbers[row], shown.exposures_s[column]) == pytest.approx(best)
    assert shown.is_possible[row * len(shown.exposures_s) + column]


@pytest.mark.parametrize("light", [-6.0, -3.0, 0.0, 6.0, 12.0, 15.0, 18.0, 20.0])
@pytest.mark.parametrize("shortest_s", [1 / 4000, 1 / 8000, 1 / 32000])
def test_the_plane_is_neither_bare_nor_endless_in_any_light(light, shortest_s):
    q = pose(replace(KIT, camera=replace(CAMERA, shortest_s=shortest_s)), GULL, replace(WISH, ev100=light), 20.0)
    shown = plane(q)
    assert 12 <= len(shown.exposures_s) <= 64
    assert len(shown.f_numbers) == 12
    assert all(np.isfinite(cell.worst_ratio) for cell in shown.settings)


def test_more_light_asks_for_less_iso_in_every_cell():
    dim, bright = (plane(hawker_at(ev100=light)) for light in (12.0, 13.0))
    one, other = ({(cell.f_number, cell.exposure_s): cell.iso for cell in of.settings} for of in (dim, bright))
    both = one.keys() & other.keys()
    assert len(both) > 100
    assert all(one[pair] == pytest.approx(2 * other[pair]) for pair in both)


def test_an_exposure_longer_than_the_camera_has_is_not_possible():
    # One that takes 1/8000 to 1/1000 s has ten exposures; the plane shows more, for the picture's sake.
    short = replace(hawker_at(), longest_s=np.array([1 / 1000]))
    shown = plane(short)
    possible = {cell.exposure_s for cell, can in zip(shown.settings, shown.is_possible, strict=True) if can}
    assert max(possible) == pytest.approx(1 / 1024)
