"""The plane as its plot takes it."""

import math
from dataclasses import replace

import pytest

from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.answer import Answer
from stillwing.optics.tradeoff import point_at, trade_off
from stillwing.web.plane import PlaneView, plane_view
from stillwing.web.settingsplot import SIDES

from .asked import hovering


def view_of(answer: Answer) -> PlaneView:
    return plane_view(answer, trade_off(answer), answer.best)


def test_cells_meet_without_gap_and_cover_the_plane() -> None:
    view = view_of(hovering())
    n = len(view.exposures_s)
    cells = view.cells
    assert len(cells.left_f) == len(view.f_numbers) * n
    assert cells.right_f[:-n] == cells.left_f[n:]
    assert cells.bottom_s[: n - 1] == cells.top_s[1:n]
    assert (cells.left_f[0], cells.right_f[-1]) == pytest.approx((view.f_low, view.f_high), rel=1e-4)
    assert (cells.top_s[0], cells.bottom_s[-1]) == pytest.approx((view.s_short, view.s_long), rel=1e-4)


def test_each_cell_holds_its_own_setting() -> None:
    answer = hovering()
    view = view_of(answer)
    at = view.best[0] * len(view.exposures_s) + view.best[1]
    assert view.f_numbers[view.best[0]] == pytest.approx(answer.best.f_number)
    assert view.exposures_s[view.best[1]] == pytest.approx(answer.best.exposure_s)
    assert answer.best.words.endswith(view.cells.iso[at])
    assert view.cells.blur[at] == f"{answer.best.blur_px:.1f} px"
    assert view.cells.left_f[at] < answer.best.f_number < view.cells.right_f[at]


def test_the_chosen_setting_is_marked_apart_from_the_best() -> None:
    answer = hovering()
    chosen = point_at(answer, 8, 1 / 1000).setting
    view = plane_view(answer, trade_off(answer), chosen)
    assert (view.f_words[view.chosen[0]], view.exposure_words[view.chosen[1]]) == ("f/8", "1/1000 s")
    assert view.chosen != view.best


def test_words_stand_on_the_plane_at_a_side_that_the_plot_knows() -> None:
    view = view_of(hovering())
    assert view.words
    for one in view.words:
        assert one.side in SIDES
        assert view.f_low <= one.f_number <= view.f_high
        assert view.s_short <= one.exposure_s <= view.s_long


def test_limits_come_before_lines_of_iso() -> None:
    told = [one.words for one in view_of(hovering()).words]
    first_iso = next(i for i, words in enumerate(told) if words.startswith("ISO"))
    assert "noise unseen below" in told[:first_iso]
    assert all(words.startswith("ISO") for words in told[first_iso:])


def test_the_hatched_corners_say_what_the_camera_lacks() -> None:
    told = {one.words for one in view_of(hovering(ev100=10)).words}
    assert "beyond ISO 25600" in told
    assert "too bright at ISO 200" in {one.words for one in view_of(hovering(ev100=16)).words}


def test_a_lens_with_one_aperture_has_a_plane_of_one_column() -> None:
    fixed = replace(
        EXAMPLE_KIT,
        lens=replace(EXAMPLE_KIT.lens, shortest_mm=300.0, widest_at_shortest=8.0, widest_at_longest=8.0, narrowest=8.0),
    )
    view = view_of(hovering(fixed))
    assert len(view.f_numbers) == 1
    assert math.log2(view.f_high / view.f_low) == pytest.approx(1 / 6)
