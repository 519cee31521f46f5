"""Whether advice wins the frames that it says it would: bursts rendered, sifted and advised on, then changed and again.

    python benchmarks/flight_advice.py [--quick] [--json FILE]

Each burst is rendered and sifted into a field book, and what it teaches is read from there. Then the same happening is
rendered again with one thing changed as advised, exposure, f-number, angle or distance, and sifted again. The rendered
truth is counted beside what was sifted, so that an error of the advice and one of the sifting can be told apart.
"""

import os

# Before numpy is loaded: several runs share few cores.
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import json
import math
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from flight_advice_scenes import PLANNED, Planned, changed, scene_of
from flight_stored import WIDEST_TURN_DEG
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sifting import SiftRun, sift
from stillwing.fieldbook.traces import BurstTrace, burst_summaries, traces
from stillwing.frames.sharpfor import parse_sharp_for
from stillwing.review.burstflight import BurstFlight, burst_flight
from stillwing.review.burstlesson import BurstLesson, burst_lesson
from stillwing.review.burstseen import most_followed
from stillwing.review.changes import STEPS, Change, sharp_chance
from stillwing.review.flightadvice import FlightAdvice, Verdict, flight_advice
from stillwing.review.flightadvicewords import advice_sentences
from stillwing.review.outinglesson import ChangeWon, outing_lesson
from stillwing.scene.actors import Scene
from stillwing.scene.burst import When, render_scene

SHARP_FOR = "screen 896"
"""Of pictures 1632 px wide: as much is hidden as by a print of 30 cm from 20 megapixels."""
QUICK = 3
CHANGES = (Change.EXPOSURE, Change.F_NUMBER, Change.ANGLE, Change.DISTANCE)
MOST_OF = 0.9
"""The least step is taken that wins this share of what the change can win."""
WON = ("predicted", "measured", "true")
WORTH = 1.0
"""Sharp frames to be won, below which nothing is changed."""
CLAIMS = {
    Change.EXPOSURE: "told, and measured, px:",
    Change.F_NUMBER: "told in focus, and measured sharp:",
    Change.ANGLE: "told, and true, degrees:",
}
INTERVAL_90_SD = 3.2897


@dataclass(frozen=True, slots=True)
class Tried:
    """One burst with one thing changed. Sharp and whole frames; those sifted are sums of chances."""

    burst: str
    change: str
    step: float
    now: float
    true_now: int
    predicted: float
    """Won."""
    measured: float
    true: int
    told: tuple[float, float, float, float] | None = None
    """What the burst's own sentence told, with its 90 % interval, and what came of it. Of an exposure: blur of the
    middle frame soft by motion, and the middle of what was measured of these frames then [px]. Of an f-number: frames
    won in focus, and frames won sharp. Of an angle: the angle flown, and the true one [deg]."""


@dataclass(frozen=True, slots=True)
class Together:
    """One change made in all bursts that tell their flight, as the outing's lesson advises."""

    change: str
    step: float
    predicted: float
    """More sharp and whole frames."""
    between: tuple[float, float] | None
    """Its 90 % interval."""
    measured: float
    true: int


def main() -> None:
    """Run the benchmark, print its tables and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help=f"{QUICK} bursts, not {len(PLANNED)}")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    tried, together, sentences = try_bursts(PLANNED[:QUICK] if asked.quick else PLANNED)
    figures = figures_of(tried)
    for burst, told in sentences.items():
        print(burst, *told, sep="\n    ")
    print(table(figures, tried), outing_table(together), sep="\n")
    if asked.json:
        told = {
            **figures,
            "tried": [asdict(one) for one in tried],
            "together": [asdict(one) for one in together],
            "sentences": sentences,
        }
        asked.json.write_text(json.dumps(told, indent=2) + "\n")


def advice_gains(quick: bool) -> dict[str, float]:
    """Return the benchmark's figures."""
    return figures_of(try_bursts(PLANNED[:QUICK] if quick else PLANNED)[0])


def try_bursts(planned: Sequence[Planned]) -> tuple[list[Tried], list[Together], dict[str, tuple[str, ...]]]:
    """Return what was won with each change, in one burst and in all of them, and what each burst was told."""
    with tempfile.TemporaryDirectory(prefix="advice-") as scratch:
        place = Path(scratch)
        scenes = {f"{number:02} {one.scenario}": scene_of(one) for number, one in enumerate(planned, 1)}
        seeds = {name: one.seed for name, one in zip(scenes, planned, strict=True)}
        taken = _sifted(place / "taken", scenes, seeds)
        asked = {name: told for name, told in taken.items() if not told.lesson.untold}
        again = {
            f"{name}, {change} {step:.2f}": (name, change, step, changed(scenes[name], change, step))
            for name, told in asked.items()
            for change, step in told.worth_trying()
        }
        then = _sifted(
            place / "changed",
            {words: scene for words, (*_, scene) in again.items()},
            {words: seeds[name] for words, (name, *_) in again.items()},
        )
        together = [
            _together(place / one.change, one, asked, scenes, seeds)
            for one in outing_lesson([told.lesson for told in taken.values()]).changes
            if one.change in CHANGES
        ]
    tried = [_tried(taken[name], then[words], name, change, step) for words, (name, change, step, _) in again.items()]
    return tried, together, {name: told.sentences() for name, told in taken.items()}


def _together(
    place: Path, won: ChangeWon, taken: dict[str, "_Sifted"], scenes: dict[str, Scene], seeds: dict[str, int]
) -> Together:
    then = _sifted(place, {name: changed(scenes[name], won.change, won.step) for name in taken}, seeds)
    return Together(
        str(won.change),
        won.step,
        won.won,
        won.between,
        sum(told.sharp for told in then.values()) - sum(told.sharp for told in taken.values()),
        sum(told.true_sharp for told in then.values()) - sum(told.true_sharp for told in taken.values()),
    )


@dataclass(frozen=True, slots=True)
class _Sifted:
    """One burst as the field book has it, beside its truth."""

    trace: BurstTrace
    told: BurstFlight
    lesson: BurstLesson
    advice: FlightAdvice | None
    limit_px: float
    truth: dict[str, Any]

    def sentences(self) -> tuple[str, ...]:
        if self.advice is None or self.lesson.untold:
            return (self.lesson.untold,)
        return advice_sentences(self.told, self.advice)

    def worth_trying(self) -> list[tuple[Change, float]]:
        """Return the changes that win something, with the step that the burst's own advice names, else the least."""
        out = []
        for change in CHANGES:
            won = np.array(self.lesson.won[change])
            if won.max() >= WORTH:
                least = int(np.argmax(won >= MOST_OF * won.max()))
                out.append((change, STEPS[change][self._advised(change, least)]))
        return out

    def _advised(self, change: Change, least: int) -> int:
        """Return the number of the step nearest to what the burst's own sentence advises, else ``least``."""
        if self.advice is None:
            return least
        exposure, f_number, angle = self.advice.exposure, self.advice.f_number, self.advice.angle
        asked = None
        if change is Change.EXPOSURE and exposure is not None:
            asked = math.log2(self.lesson.setting.exposure_s / exposure.exposure_s)
        elif change is Change.F_NUMBER and f_number is not None and f_number.verdict is Verdict.SURE:
            asked = 2 * math.log2(f_number.f_number / self.lesson.setting.f_number)
        elif change is Change.ANGLE and angle is not None and angle.verdict is Verdict.SURE:
            asked = angle.further_round_deg
        return least if asked is None else int(np.abs(np.subtract(STEPS[change], asked)).argmin())

    @property
    def sharp(self) -> float:
        """Sharp and whole frames to be expected, by the blur that was sifted."""
        track = most_followed(self.trace)
        found = [
            animal.blur
            for frame in self.trace.frames
            for animal in frame.animals
            if animal.track == track and not animal.edge_clipped and animal.blur is not None
        ]
        whole = np.array([blur.blur_px**2 for blur in found])
        sd = np.array([math.log(blur.blur_high_px / blur.blur_low_px) / INTERVAL_90_SD for blur in found])
        return float(sharp_chance(whole, sd, self.limit_px).sum())

    @property
    def true_sharp(self) -> int:
        """The same by the rendered truth."""
        return sum(
            any(not one["clipped"] and one["sharpest"]["blur_px"] <= self.limit_px for one in frame["animals"])
            for frame in self.truth["frames"]
        )

    @property
    def true_angle_deg(self) -> float:
        """Angle of the first animal's way to the focal plane, from the first frame of the flight to the last. [deg]

        NaN where the camera turned far: the scenes do not turn its focal plane with it.
        """
        frames = [self.truth["frames"][number]["animals"] for number in self.told.numbers]
        places = [animals[0]["position_m"] for animals in frames if animals]
        across = np.ptp(np.array(places)[:, :2], axis=0).max()
        if np.degrees(across / self.truth["camera"]["focus_distance_m"]) > WIDEST_TURN_DEG:
            return math.nan
        x, y, z = np.subtract(places[-1], places[0])
        return float(np.degrees(np.arctan2(abs(z), np.hypot(x, y))))

    def blur_px(self, number: int) -> float:
        """Return the blur of the followed animal in one frame; NaN where there is none. [px]"""
        track = most_followed(self.trace)
        found = [one.blur for one in self.trace.frames[number].animals if one.track == track and one.blur is not None]
        return found[0].blur_px if found else math.nan


def _sifted(place: Path, scenes: dict[str, Scene], seeds: dict[str, int]) -> dict[str, _Sifted]:
    """Render scenes, sift them as one outing, and return what the field book tells of each."""
    start = datetime(2031, 6, 14, 10, 0, tzinfo=UTC)
    truths = {}
    for number, (name, scene) in enumerate(scenes.items()):
        when = When(start + timedelta(minutes=5 * number), 1 + 100 * number)
        folder = place / "pictures" / f"{number:03}"
        truths[folder.name] = name, render_scene(scene, folder, seeds[name], when=when, workers=1)
        print(f"rendered {name}", file=sys.stderr)
    if not scenes:
        return {}
    book_path = place / "book.sqlite"
    sift(place / "pictures", book=book_path, sharp_for=SHARP_FOR, run=SiftRun(workers=1, use_previews=False))
    out = {}
    with open_book(book_path) as book:
        ids = [burst.id for outing in outings(book) for burst in burst_summaries(book, outing.id, limit=1000)]
        for trace in traces(book, ids):
            name, truth = truths[trace.frames[0].path.parent.name]
            limit_px = parse_sharp_for(SHARP_FOR).blur_limit(trace.frames[0].width_px)
            told = burst_flight(book, trace)
            advice = flight_advice(told, limit_px)
            out[name] = _Sifted(trace, told, burst_lesson(told, trace, limit_px), advice, limit_px, truth)
    return out


def _tried(taken: _Sifted, then: _Sifted, name: str, change: Change, step: float) -> Tried:
    won = then.sharp - taken.sharp
    return Tried(
        name,
        str(change),
        step,
        taken.sharp,
        taken.true_sharp,
        taken.lesson.won[change][STEPS[change].index(step)],
        won,
        then.true_sharp - taken.true_sharp,
        _claim(taken, then, change, won),
    )


def _claim(taken: _Sifted, then: _Sifted, change: Change, won: float) -> tuple[float, float, float, float] | None:
    """Return what the burst's own sentence told of a change, and what came of it; ``None`` where it told nothing."""
    advice = taken.advice
    if advice is None:
        return None
    if change is Change.EXPOSURE and advice.exposure is not None:
        soft = [
            number
            for number, seen in zip(taken.told.numbers, taken.told.seen, strict=True)
            if seen.blur_low_px > taken.limit_px and not math.isnan(seen.direction_deg)
        ]
        return (*advice.exposure.then_px, float(np.nanmedian([then.blur_px(number) for number in soft])))
    if change is Change.F_NUMBER and advice.f_number is not None and advice.f_number.verdict is Verdict.SURE:
        return (*advice.f_number.gain, won)
    if change is Change.ANGLE and advice.angle is not None:
        true_deg = taken.true_angle_deg
        return None if math.isnan(true_deg) else (*advice.angle.flown_deg, true_deg)
    return None


def figures_of(tried: Sequence[Tried]) -> dict[str, float]:
    """Return the benchmark's figures."""
    figures = {"n_tried": float(len(tried)), "n_bursts": float(len({one.burst for one in tried}))}
    for words, some in [("all", list(tried))] + [
        (change.value.replace("-", "_"), [one for one in tried if one.change == change]) for change in CHANGES
    ]:
        predicted, measured, true = (
            sum(getattr(one, name) for one in some) for name in ("predicted", "measured", "true")
        )
        figures |= {f"predicted_{words}": predicted, f"measured_{words}": measured, f"true_{words}": float(true)}
    if len(tried) > 1:
        columns = [[getattr(one, name) for one in tried] for name in WON]
        found = np.corrcoef(columns)
        figures |= {"likeness_predicted_measured": float(found[0, 1]), "likeness_predicted_true": float(found[0, 2])}
        figures["error_median_frames"] = float(np.median(np.abs(np.subtract(columns[0], columns[1]))))
    return figures


def table(figures: dict[str, float], tried: Sequence[Tried]) -> str:
    """Return the figures as text."""
    lines = [
        f"{'burst':26} {'change':9} {'step':>5} {'now':>5} {'true':>4}  {'predicted':>9} {'measured':>8} {'true':>5}"
    ]
    for one in tried:
        lines.append(
            f"{one.burst:26} {one.change:9} {one.step:5.2f} {one.now:5.1f} {one.true_now:4}  {one.predicted:+9.1f} "
            f"{one.measured:+8.1f} {one.true:+5}"
        )
        if one.told is not None:
            low, likely, high, came = one.told
            lines.append(f"{'':26} {CLAIMS[Change(one.change)]} {likely:.1f} ({low:.1f} to {high:.1f}), {came:.1f}")
    return "\n".join(lines + [f"{name:30} {value:8.2f}" for name, value in figures.items()])


def outing_table(together: Sequence[Together]) -> str:
    """Return what was won over all bursts as text."""
    lines = ["over all bursts: change, step, predicted (90 %), measured, true"]
    for one in together:
        low, high = one.between or (math.nan, math.nan)
        lines.append(
            f"{one.change:9} {one.step:5.2f} {one.predicted:+6.1f} ({low:.1f} to {high:.1f}) {one.measured:+6.1f} "
            f"{one.true:+4}"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    main()
