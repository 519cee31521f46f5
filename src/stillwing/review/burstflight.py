"""How the animal of a burst flew, from what the field book holds of it: boxes, blur, background, times and setting."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.frames import measured_burst
from stillwing.fieldbook.pictureskit import kit_of_picture
from stillwing.fieldbook.traces import BurstTrace, TraceFrame
from stillwing.flight.seen import FEWEST_FRAMES, SeenFrame
from stillwing.flight.smooth import ACCELERATIONS_MM_S2
from stillwing.flight.track import Track, track
from stillwing.frames.frame import Tags
from stillwing.frames.measured import Animal
from stillwing.optics.kit import Kit
from stillwing.optics.subject import Range
from stillwing.review.burstseen import (
    NO_SHAPES,
    OTHER_FOCUS,
    LeftOut,
    is_placed,
    most_followed,
    seen_frames,
    used_frames,
)
from stillwing.review.burstsetting import BurstSetting, Missing, SettingUnknown, burst_setting, steady_focus
from stillwing.review.bursttimes import FrameTimes, NoTimes, frame_times
from stillwing.review.knownbody import KnownBody, known_body

__all__ = ["BurstFlight", "LeftOut", "burst_flight", "flight_of", "is_told"]

OPEN_SHARE = 0.5
"""A figure of which half the interval is more than this share of it is not told (a choice, no source)."""
WILDEST_M_S2 = float(ACCELERATIONS_MM_S2[-1]) / 1000
"""The largest typical acceleration that is tried."""
MOST_DOUBTED = 0.15
"""A flight of which a larger share of frames is doubted is not believed (a choice, no source)."""
HARDLY_M_S = 0.2
"""Slower is a hover or a perch: much of what it flies is along the line of sight, where little is told."""
AT_ODDS = Missing(
    "boxes and background do not go together as one flight, so speed and way are not to be believed",
    "an evener pan, or a background with more structure",
)


@dataclass(frozen=True, slots=True)
class BurstFlight:
    """What one burst of the field book tells of one animal's flight."""

    burst_id: int
    animal_track: int | None
    """Number of the animal that was followed; ``None`` where no animal was found."""
    n_frames: int
    """Of the burst."""
    numbers: tuple[int, ...]
    """Places in the burst, from 0, of the frames that ``flight`` tells of, one for each of its n figures."""
    frame_ids: tuple[int, ...]
    seen: tuple[SeenFrame, ...]
    """What the flight was made out from, one for each of them."""
    left_out: tuple[LeftOut, ...]
    setting: BurstSetting | None
    flight: Track | None
    """``None`` where too much is missing."""
    missing: tuple[Missing, ...]
    """All that is missing, the gravest first; it may be there beside a flight that is less sure for it."""
    body: KnownBody | None = None
    """What narrowed the distance; ``None`` where nothing did."""

    @property
    def is_at_odds(self) -> bool:
        """Whether boxes and background do not go together as one flight: shifts or boxes are wrong."""
        if self.flight is None:
            return False
        pull = self.flight.absolute.top_acceleration_m_s2.likely
        return pull > WILDEST_M_S2 or len(self.flight.doubted) > MOST_DOUBTED * len(self.numbers)

    @property
    def speed_m_s(self) -> Range | None:
        """Mean speed, where it may be told as a figure. [m/s]"""
        if self.flight is None or self.is_at_odds or self.keeps_place:
            return None
        mean = self.flight.absolute.mean_speed_m_s
        return mean if is_told(mean) else None

    @property
    def keeps_place(self) -> bool:
        """Whether it hovered or sat; to and fro along the line of sight it may have moved faster than is told."""
        return self.flight is not None and self.flight.absolute.mean_speed_m_s.high < HARDLY_M_S


def is_told(of: Range) -> bool:
    """Return whether a figure's interval is narrow enough to be told as one figure."""
    return of.likely > 0 and (of.high - of.low) / 2 <= OPEN_SHARE * of.likely


def burst_flight(book: FieldBook, trace: BurstTrace, *, animal_track: int | None = None) -> BurstFlight:
    """Return how an animal of a burst flew, and what is missing.

    Parameters
    ----------
    book : FieldBook
        That the trace is from.
    trace : BurstTrace
        The burst.
    animal_track : int, optional
        Which animal; the one in most frames where it is not given.

    Notes
    -----
    A body length that the field book knows of narrows a doubtful distance. Pictures are only read, and only the tags of
    one. It takes about as long as `stillwing.flight.track.track`.
    """
    stored = measured_burst(book, trace.id)
    shapes = {frame.path: frame.animals for frame in stored.frames}
    tags = {frame.path: frame.frame.tags for frame in stored.frames}
    size_px = next(((frame.width_px, frame.height_px) for frame in stored.frames), None)
    focal = next((one.focal_length_mm for one in tags.values()), None)
    kit = None if size_px is None else kit_of_picture(book, size_px, focal)
    return flight_of(trace, tags, kit, animal_track=animal_track, body=known_body(book, trace.id), shapes=shapes)


def flight_of(
    trace: BurstTrace,
    tags: Mapping[Path, Tags],
    kit: Kit | None,
    *,
    animal_track: int | None = None,
    body: KnownBody | None = None,
    shapes: Mapping[Path, Sequence[Animal]] = NO_SHAPES,
) -> BurstFlight:
    """Return the same from a trace, tags and shapes of its measured frames by path, and the kit."""
    followed = most_followed(trace) if animal_track is None else animal_track
    measured = [frame for frame in trace.frames if frame.path in tags]
    if followed is None or not measured:
        nothing = Missing("no animal was found in the burst", "a box drawn on it, and another sift")
        return BurstFlight(trace.id, None, len(trace.frames), (), (), (), (), None, None, (nothing,))
    own_tags = [tags[frame.path] for frame in measured]
    times, run = frame_times(own_tags), steady_focus(own_tags)
    used, left_out = used_frames(trace, measured, followed, run)
    setting = _setting(used, tags, kit)
    seconds = (
        {} if isinstance(times, NoTimes) else dict(zip((frame.id for frame in measured), times.seconds, strict=True))
    )
    seen = seen_frames(trace, used, followed, seconds, shapes)
    missing = (*_missing(times, setting, seen, left_out), *_boxed(seen, used, shapes))
    told = BurstFlight(
        trace.id,
        followed,
        len(trace.frames),
        tuple(frame.number for frame in used),
        tuple(frame.id for frame in used),
        seen,
        left_out,
        setting if isinstance(setting, BurstSetting) else None,
        None,
        missing,
    )
    return told if isinstance(times, NoTimes) else _tracked(told, times, body)


def _setting(
    used: Sequence[TraceFrame], tags: Mapping[Path, Tags], kit: Kit | None
) -> BurstSetting | SettingUnknown | None:
    if not used:
        return None
    first = used[0]
    size_px = (first.width_px or 0, first.height_px or 0)
    return burst_setting(first.path, [tags[frame.path] for frame in used], size_px, kit)


def _missing(
    times: FrameTimes | NoTimes,
    setting: BurstSetting | SettingUnknown | None,
    seen: Sequence[SeenFrame],
    left_out: Sequence[LeftOut],
) -> tuple[Missing, ...]:
    missing = [Missing(times.reason, times.cure)] if isinstance(times, NoTimes) else []
    n = len(seen)
    if n < FEWEST_FRAMES:
        few = f"the whole animal is in {_frames(n)}, and a flight takes {FEWEST_FRAMES}"
        missing.append(Missing(few, "a longer burst, with room round the animal"))
    missing += list(setting.missing) if setting is not None else []
    moved = sum(one.why == OTHER_FOCUS for one in left_out)
    if moved:
        words = f"the focus moved during the burst; {_frames(moved)} at another distance left out"
        missing.append(Missing(words, "focus held for the burst"))
    blind = sum(math.isnan(one.background_x_px) for one in seen[1:])
    if blind:
        words = f"the background tells nothing of the panning in {blind} of {n - 1} steps between frames"
        missing.append(Missing(words, "a background with more structure, or less blurred"))
    blurless = sum(math.isnan(one.minor_px) for one in seen)
    if blurless:
        words = f"in {blurless} of {n} frames the blur was not measured"
        missing.append(Missing(words, "a larger animal in the frame"))
    return tuple(missing)


def _boxed(
    seen: Sequence[SeenFrame], used: Sequence[TraceFrame], shapes: Mapping[Path, Sequence[Animal]]
) -> tuple[Missing, ...]:
    """Return what would place the body where boxes alone tell of it in most frames."""
    boxed = sum(not is_placed(one) for one in seen)
    if 2 * boxed <= len(seen):
        return ()
    words = f"in {boxed} of {len(seen)} frames the box alone tells where the animal is, and wings move boxes"
    has_cutouts = any(animal.cutout for frame in used for animal in shapes.get(frame.path, ()))
    return (Missing(words, "the whole animal sharp in more frames" if has_cutouts else "another sift"),)


def _frames(n: int) -> str:
    return "1 frame" if n == 1 else f"{n} frames"


def _tracked(told: BurstFlight, times: FrameTimes, body: KnownBody | None) -> BurstFlight:
    """Return the same with its flight, where nothing grave is missing."""
    if told.setting is None or len(told.seen) < FEWEST_FRAMES:
        return told
    setting, seen, length_mm = told.setting, told.seen, None
    measured = dict(zip(told.frame_ids, seen, strict=True)).get(body.frame_id) if body is not None else None
    if body is not None and measured is not None and _is_of(body, measured):
        # Boxes hold the wings too: all are scaled as the one in which the body was measured.
        share, length_mm = body.shown_px / measured.size_px, body.length_mm
        seen = tuple(replace(one, size_px=share * one.size_px, size_sd_px=share * one.size_sd_px) for one in seen)
        told = replace(told, body=body)
    try:
        flight = track(seen, setting.kit, setting.focus_m, length_mm, times.error_s)
    except InputError as error:
        no_flight = Missing(f"no flight can be made out, {error}", "a burst that does not have this")
        return replace(told, missing=(no_flight, *told.missing))
    flown = replace(told, flight=flight)
    return replace(flown, missing=(AT_ODDS, *told.missing)) if flown.is_at_odds else flown


def _is_of(body: KnownBody, seen: SeenFrame) -> bool:
    """Whether a body was measured on this animal: another one of the burst is no nearer than half a box."""
    off = math.hypot(body.middle_px[0] - seen.x_px, body.middle_px[1] - seen.y_px)
    return off < max(seen.size_px, body.shown_px) / 2
