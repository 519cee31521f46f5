"""The cut-outs that hang on a trace."""

from dataclasses import replace

import pytest

from stillwing.fieldbook.traces import BurstTrace
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.web.curve import CURVE_CUT_PX, curve_cuts, cut_box, cut_href

from .traces import burst, frame


def test_kept_frames_hang_on_the_curve_and_the_sharpest_where_none_is_kept(drawn_trace: BurstTrace) -> None:
    (cut,) = curve_cuts(1, drawn_trace)
    assert cut.is_kept
    left = replace(drawn_trace, frames=tuple(replace(one, by_hand=Choice.LEAVE) for one in drawn_trace.frames))
    (other,) = curve_cuts(1, left)
    assert other.number == cut.number
    assert not other.is_kept


def test_the_address_of_a_cut_out_changes_with_its_box() -> None:
    one = frame(0, 2.0)
    moved = replace(one.animals[0], box=Box(90, 20, 300, 200))
    assert cut_href(one, one.animals[0], "lane") != cut_href(one, moved, "lane")
    assert cut_href(one, None, "plate").startswith("/pictures/0/none/plate.jpg?v=")


@pytest.mark.parametrize(("width_px", "height_px"), [(300, 200), (120, 480), (40, 40), (900, 30)])
def test_a_cut_out_on_the_curve_has_the_shape_of_its_box(width_px: float, height_px: float) -> None:
    one = frame(0, 2.0, choice=Choice.KEEP)
    one = replace(one, animals=(replace(one.animals[0], box=Box(500, 600, width_px, height_px)),))
    (cut,) = curve_cuts(1, burst(one))
    box = cut_box(one, one.animals[0])
    assert max(cut.width, cut.height) == CURVE_CUT_PX
    wanted = max(20, CURVE_CUT_PX * min(box.width_px, box.height_px) / max(box.width_px, box.height_px))
    assert min(cut.width, cut.height) == pytest.approx(wanted, abs=0.5)


def test_a_kept_frame_without_a_blur_has_no_point_to_hang_from() -> None:
    assert curve_cuts(1, burst(frame(0, None, choice=Choice.KEEP), frame(1, 2.0, choice=Choice.LEAVE))) == ()


def test_a_cut_out_leads_to_its_frame_and_says_what_it_shows() -> None:
    (cut,) = curve_cuts(7, burst(frame(0, 3.0), frame(1, 0.9, choice=Choice.KEEP)))
    assert cut.href == "/outings/7/bursts/1?frame=2"
    assert cut.words == "frame 2, blur 0.90 px, keep proposed"
