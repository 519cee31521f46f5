"""The blur axis of the traces: where it begins and ends, and where what is sharp enough ends."""

import math
from collections.abc import Sequence

from stillwing.fieldbook.traces import BurstTrace
from stillwing.frames.sharpfor import parse_sharp_for
from stillwing.web.trace import lead

__all__ = ["SHARP_PX", "blur_limit_px", "softest_px"]

SHARP_PX = 0.35
"""Top of the blur axis: a pixel's own box alone gives 0.29 px, and diffraction adds to it."""

SOFT_PX = 16.0
"""Bottom of the blur axis where nothing asks for more; softer frames stand on the floor."""


def softest_px(traces: Sequence[BurstTrace]) -> float:
    """Return where the blur axis ends: a power of two that holds nearly all of the traces, 8 to 64. [px]"""
    blurs = sorted(
        animal.blur.blur_px
        for trace in traces
        for frame in trace.frames
        if (animal := lead(frame)) is not None and animal.blur is not None
    )
    if not blurs:
        return SOFT_PX
    # A few hopeless frames must not press the rest against the top; they stand on the floor.
    high = blurs[math.ceil(0.98 * len(blurs)) - 1]
    return float(min(max(2 ** math.ceil(math.log2(max(high * 1.1, 1.0))), 8), 64))


def blur_limit_px(sharp_for: str | None, traces: Sequence[BurstTrace]) -> float | None:
    """Return the largest blur that the outing's output hides, for the first picture; ``None`` without one. [px]"""
    widths = (frame.width_px for trace in traces for frame in trace.frames if frame.width_px)
    width_px = next(widths, None)
    if sharp_for is None or width_px is None:
        return None
    return parse_sharp_for(sharp_for).blur_limit(width_px)
