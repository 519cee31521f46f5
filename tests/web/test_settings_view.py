"""The answer in words and bars."""

from dataclasses import replace

import pytest

from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.answer import Answer, answer
from stillwing.optics.tradeoff import point_at, trade_off
from stillwing.web.settings_view import AnswerView, answer_view, point_view, verdict

from .asked import HAWKER, WISH, hovering


def view_of(asked: Answer) -> AnswerView:
    point = point_at(asked, asked.best.f_number, asked.best.exposure_s)
    return answer_view(asked, trade_off(asked).lines, point)


def test_bars_are_as_long_as_their_figures_to_one_scale() -> None:
    view = view_of(hovering())
    bars = [*view.causes, view.together, view.limit]
    scale = view.together.percent / view.together.blur_px
    assert [bar.percent for bar in bars] == pytest.approx([bar.blur_px * scale for bar in bars], abs=0.1)
    assert max(bar.percent for bar in bars) <= 100


def test_the_squares_of_the_causes_add_to_the_whole() -> None:
    view = view_of(hovering())
    assert sum(cause.blur_px**2 for cause in view.causes) == pytest.approx(view.together.blur_px**2, rel=1e-6)


def test_the_frontier_marks_the_answer_and_the_whole_stops() -> None:
    asked = hovering()
    frontier = view_of(asked).frontier
    (best,) = [row for row in frontier.rows if row.is_best]
    assert asked.best.words == f"{best.f_number_words}, {best.exposure_words}, ISO {best.iso_words}"
    named = [row.iso_words for row in frontier.rows if row.is_whole_stop]
    assert named[:4] == ["200", "400", "800", "1600"]
    assert frontier.noise_iso is not None
    quiet = [row for row in frontier.rows if "unseen from" not in row.noise_words]
    assert all(row.iso <= frontier.noise_iso * 1.12 for row in quiet)


def test_the_axis_of_blur_holds_all_but_the_hopeless() -> None:
    frontier = view_of(hovering()).frontier
    assert frontier.soft_px >= max(row.blur_px for row in frontier.rows)
    fast = replace(HAWKER, speed_m_s=replace_range(40.0))
    assert view_of(answer(EXAMPLE_KIT, fast, WISH)).frontier.soft_px == 64


def replace_range(speed: float):  # type: ignore[no-untyped-def]
    return HAWKER.speed_m_s._replace(likely=speed, high=speed)


def test_a_verdict_tells_what_is_hidden() -> None:
    asked = hovering()
    best = asked.best
    limit = asked.blur_limit_px
    sharp = replace(best, blur_px=limit * 0.9, sharpest_px=limit * 0.7, snr=60.0)
    assert verdict(asked, sharp, is_possible=True) == "The whole body looks sharp; noise is not seen."
    ends = replace(sharp, blur_px=limit * 1.2)
    assert verdict(asked, ends, is_possible=True).startswith("Its sharpest part looks sharp, its ends do not")
    soft = replace(ends, sharpest_px=limit * 1.1, snr=20.0)
    assert verdict(asked, soft, is_possible=True) == "Nothing of it looks sharp; noise is seen."


def test_what_the_camera_lacks_is_told_with_its_range() -> None:
    dark = hovering(ev100=9)
    point = point_at(dark, 22, 1 / 8000)
    view = point_view(dark, point)
    assert not view.is_possible
    assert view.verdict.startswith("It would need ISO ")
    assert view.verdict.endswith("; this camera has ISO 200 to 25600.")
    assert view.frames == "none"


def test_a_point_can_be_asked_for_again_by_its_words() -> None:
    asked = hovering()
    view = point_view(asked, point_at(asked, 9, 1 / 1250))
    assert (view.f_number, view.exposure) == ("9", "1/1250")
    assert view.setting.startswith("f/9, 1/1250 s, ISO ")


def test_the_frames_of_the_point_are_those_of_the_answer() -> None:
    asked = hovering()
    told = view_of(asked).point.frames
    assert told.startswith(f"{asked.expected.sharp_share.likely:.0%}".replace("%", " %"))
    assert told.endswith("in one hover")


def test_a_caution_about_the_bank_comes_with_the_advice_to_step_back() -> None:
    near = hovering(distance_m=1.4)
    assert any("Step back" in sentence for sentence in view_of(near).told)
    assert any("banks are soft" in sentence for sentence in view_of(near).cautions)
    far = hovering(distance_m=9.0)
    assert not any("Step back" in sentence for sentence in view_of(far).told)
    assert not any("banks are soft" in sentence for sentence in view_of(far).cautions)
    for asked in (near, far):
        assert any("at the sun or near it" in sentence for sentence in view_of(asked).cautions)
        assert any("breeding sites" in sentence for sentence in view_of(asked).cautions)
