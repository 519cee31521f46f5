"""Where the blur axis ends, and the band of what is sharp enough."""

import pytest

from stillwing.web.blur_axis import blur_limit_px, softest_px

from .traces import burst, frame


@pytest.mark.parametrize(
    ("blurs_px", "bottom_px"), [([1.0, 2.0], 8), ([1.0, 9.0], 16), ([20.0, 30.0], 64), ([500.0], 64), ([], 16)]
)
def test_the_blur_axis_ends_at_a_power_of_two_that_holds_the_traces(blurs_px: list[float], bottom_px: float) -> None:
    assert softest_px([burst(*(frame(i, one) for i, one in enumerate(blurs_px)))]) == bottom_px


def test_a_few_hopeless_frames_do_not_press_the_others_together() -> None:
    frames = [frame(i, 1.0 + i / 100) for i in range(98)] + [frame(98, 60.0), frame(99, 60.0)]
    assert softest_px([burst(*frames)]) == 8


@pytest.mark.parametrize(
    ("sharp_for", "limit_px"),
    # A picture of 6000 px shown 3000 wide hides twice the spread: sqrt(4 (0.85^2 - 1/12) + 1/12) = 1.625.
    [("full", 0.85), ("screen 3000", 1.625), (None, None)],
)
def test_the_band_ends_at_the_blur_that_the_output_hides(sharp_for: str | None, limit_px: float | None) -> None:
    found = blur_limit_px(sharp_for, [burst(frame(0, 1.0))])
    assert found == (None if limit_px is None else pytest.approx(limit_px, abs=5e-4))


def test_without_a_known_width_there_is_no_band() -> None:
    assert blur_limit_px("full", [burst(frame(0, 1.0, width_px=None))]) is None
