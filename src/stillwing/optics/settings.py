"""The solver: exposure, f-number and ISO that leave the least blur and noise, each against what the output hides.

Settings are those that cameras have: f-numbers, exposures and ISO in thirds of a stop, exposed right for the light to a
sixth of a stop. The worst of two ratios is made as small as it can be: blur over the blur that the output hides, and
wanted over given signal to noise. A ratio below 1 is met.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.exposure import exposure_for
from stillwing.optics.prediction import (
    animal_variances,
    blur_ratio,
    camera_variance,
    diffraction_variance,
    motion_variance,
    output_snr,
)
from stillwing.optics.question import Question

__all__ = ["Frontier", "Grid", "f_number_steps", "frontier", "iso_steps", "settings_grid", "solve"]

Reals = NDArray[np.float64]
BLOCK = 1024
"""Questions worked on at once, so that memory does not grow with their number."""
IN_RANGE = 1.03
"""A setting this little beyond a limit is the limit itself, engraved with two digits."""
TIME_IN_RANGE = 1.07
"""The same for exposures, whose names are rounder: 1/20000 s is 1/20643 s, 30 s is 32 s."""


@dataclass(frozen=True, slots=True)
class Grid:
    """All settings for n questions: f-numbers (n, a), ISO (n, i), and what follows from them, (n, a, i)."""

    f_number: Reals
    iso: Reals
    exposure_s: Reals
    blur_ratio: Reals
    """Blur against its limit (`stillwing.optics.prediction.blur_ratio`); inf where the setting is out of range."""
    sharpest_ratio: Reals
    """Blur of the sharpest part alone against its limit; inf where the setting is out of range."""
    snr: Reals
    """Per pixel of the picture as shown, (n, i)."""


@dataclass(frozen=True, slots=True)
class Frontier:
    """For n questions the least blur at each ISO, (n, i); inf and NaN where no setting is within the limits."""

    iso: Reals
    f_number: Reals
    exposure_s: Reals
    blur_ratio: Reals
    snr: Reals
    worst_ratio: Reals
    """The larger of blur over its limit and wanted over given signal to noise."""

    @property
    def best(self) -> NDArray[np.intp]:
        """Index of the ISO whose worst ratio is least, of two alike the lower, for each question, (n,)."""
        return np.asarray(self.worst_ratio.argmin(1), np.intp)


def solve(question: Question) -> Frontier:
    """Return the frontier of each question; `Frontier.best` is the answer.

    Parameters
    ----------
    question : Question
        n questions (benchmarks/settings.py times ten thousand).

    Returns
    -------
    Frontier
        Of all n. Where every entry is inf, no setting within the limits exposes right.
    """
    blocks = [frontier(question.part(slice(at, at + BLOCK))) for at in range(0, len(question), BLOCK)]
    width = max(block.iso.shape[1] for block in blocks)

    def together(name: str, fill: float) -> Reals:
        parts = [getattr(block, name) for block in blocks]
        return np.concatenate([np.pad(one, ((0, 0), (0, width - one.shape[1])), constant_values=fill) for one in parts])

    fills = {"iso": np.nan, "f_number": np.nan, "exposure_s": np.nan, "blur_ratio": np.inf, "snr": np.nan}
    return Frontier(
        **{name: together(name, fill) for name, fill in fills.items()}, worst_ratio=together("worst_ratio", np.inf)
    )


def frontier(question: Question) -> Frontier:
    """Return for each ISO the f-number and exposure that leave the least blur."""
    grid = settings_grid(question)
    least = grid.blur_ratio.argmin(1)
    pick = np.take_along_axis
    blur = pick(grid.blur_ratio, least[:, None, :], 1)[:, 0]
    nothing = ~np.isfinite(blur)
    f_number = np.where(nothing, np.nan, pick(grid.f_number, least, 1))
    exposure = np.where(nothing, np.nan, pick(grid.exposure_s, least[:, None, :], 1)[:, 0])
    with np.errstate(invalid="ignore"):
        ratio = np.maximum(blur, question.snr_wanted[:, None] / grid.snr)
    return Frontier(grid.iso, f_number, exposure, blur, grid.snr, np.where(nothing, np.inf, ratio))


def settings_grid(question: Question) -> Grid:
    """Return blur and noise for every f-number and ISO that the questions' kits have."""
    q = question
    f_number, iso = f_number_steps(q.widest, q.narrowest), iso_steps(q.lowest_iso, q.highest_iso)
    wanted = exposure_for(q.ev100[:, None, None], (f_number * q.bellows[:, None])[:, :, None], iso[:, None, :])
    # A camera sets thirds of a stop.
    exposure = np.exp2(np.round(3 * np.log2(wanted)) / 3)
    motion = motion_variance(q.moving_mm_s[:, None, None], q.pitch_mm[:, None, None], exposure)
    motion += (camera_variance(q)[:, None] + diffraction_variance(q, f_number))[:, :, None]
    whole, sharpest = (np.sqrt(motion + depth[:, :, None]) for depth in animal_variances(q, f_number))
    limit = q.blur_limit_px[:, None, None]
    ratio = blur_ratio(whole, sharpest, limit)
    shortest, longest = q.shortest_s[:, None, None], q.longest_s[:, None, None]
    possible = (exposure >= shortest / TIME_IN_RANGE) & (exposure <= longest * TIME_IN_RANGE)
    possible &= np.isfinite(f_number)[:, :, None] & np.isfinite(iso)[:, None, :]
    ratio, part = (np.where(possible, one, np.inf) for one in (ratio, sharpest / limit))
    return Grid(f_number, iso, exposure, ratio, part, output_snr(q, iso))


def f_number_steps(widest: Reals, narrowest: Reals) -> Reals:
    """Return the f-numbers of lenses, shape (n, a): wide open, then thirds of a stop; NaN beyond the narrowest."""
    first = np.floor(6 * np.log2(widest * IN_RANGE) + 1)
    count = int(np.max(np.floor(6 * np.log2(narrowest * IN_RANGE)) - first)) + 2
    steps = np.exp2((first[:, None] + np.arange(count - 1)) / 6)
    steps = np.concatenate([widest[:, None], steps], 1)
    return np.where(steps <= narrowest[:, None] * IN_RANGE, steps, np.nan)


def iso_steps(lowest: Reals, highest: Reals) -> Reals:
    """Return the ISO of cameras, shape (n, i): thirds of a stop from the lowest; NaN beyond the highest.

    A camera between whose ends no third of a stop lies has its lowest ISO alone.
    """
    first = np.ceil(3 * np.log2(lowest / 100 / IN_RANGE))
    count = int(np.max(np.floor(3 * np.log2(highest / 100 * IN_RANGE)) - first)) + 1
    steps = 100 * np.exp2((first[:, None] + np.arange(max(count, 1))) / 3)
    steps[:, 0] = np.where(steps[:, 0] <= highest * IN_RANGE, steps[:, 0], lowest)
    return np.where(steps <= highest[:, None] * IN_RANGE, steps, np.nan)
