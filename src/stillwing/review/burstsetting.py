"""How camera and lens were set for a burst, as a flight needs it: by the pictures' tags and the photographer's kit."""

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import exiv2

from stillwing.errors import OutsideModel, UnreadableFrame
from stillwing.flight.distances import likely_distance
from stillwing.flight.seen import FlightKit
from stillwing.frames.bodylength import NoLength
from stillwing.frames.exif import read_exif
from stillwing.frames.files import read_whole
from stillwing.frames.focusrange import focus_range
from stillwing.frames.frame import Tags
from stillwing.frames.kittags import read_kit
from stillwing.frames.picturescale import lens_with_converter, pixel_pitch
from stillwing.optics.kit import Kit
from stillwing.optics.scale import true_focal_length
from stillwing.optics.subject import Range

__all__ = ["BurstSetting", "Missing", "SettingUnknown", "burst_setting", "steady_focus"]

SAME_FOCUS_SHARE = 0.002
"""Focus distances that differ by no more than this are one: at five metres it is a centimetre (a choice, no source)."""
SAME_SHARE = 0.02
"""The same for focal length and f-number (a choice, no source)."""
TURNED = 5
"""Exif orientations from here on are of a camera held upright: its rows stand upright too."""


@dataclass(frozen=True, slots=True)
class Missing:
    """What is missing, and what would give it."""

    what: str
    cure: str

    @property
    def words(self) -> str:
        """Both as one sentence, without a full stop."""
        return f"{self.what}: {self.cure}"


NO_DISTANCE = Missing("the pictures do not tell the focus distance", "a lens that tells it to the camera")
NO_EXPOSURE = Missing("the pictures do not tell the exposure time", "the camera's own files do")


@dataclass(frozen=True, slots=True)
class BurstSetting:
    """Camera and lens of a burst, and what is known of them no better than this."""

    kit: FlightKit
    focus_m: Range
    """Focus distance from the sensor. [m]"""
    missing: tuple[Missing, ...]


@dataclass(frozen=True, slots=True)
class SettingUnknown:
    """Why there is none."""

    missing: tuple[Missing, ...]


def steady_focus(tags: Sequence[Tags]) -> tuple[int, int]:
    """Return first and last number, from 0, of the longest run of frames between which the focus was not moved.

    Frames that tell no distance break no run.
    """
    best, first, held = (0, 0), 0, None
    for number, one in enumerate(tags):
        distance = one.focus_distance_m
        if distance is not None and held is not None and abs(distance / held - 1) > SAME_FOCUS_SHARE:
            first, held = number, None
        held = distance if held is None else held
        if number - first > best[1] - best[0]:
            best = first, number
    return best


def burst_setting(
    path: Path, tags: Sequence[Tags], size_px: tuple[int, int], kit: Kit | None
) -> BurstSetting | SettingUnknown:
    """Return how camera and lens were set, or all that is missing for it.

    Parameters
    ----------
    path : Path
        One picture of the burst, for the tags that the field book does not hold; opened for reading only.
    tags : sequence of Tags
        Of the frames that are used.
    size_px : (int, int)
        Width and height of the upright pictures. [px]
    kit : Kit or None
        That they were taken with.
    """
    try:
        told = read_kit(path)
        focus = focus_range(read_exif(read_whole(path)))
    except UnreadableFrame as error:
        return SettingUnknown((Missing(f"the picture cannot be read, {error}", "put it back where it was"),))
    except exiv2.Exiv2Error:
        return SettingUnknown((Missing(f"the tags of {path.name} are damaged", "copy it from the card again"),))
    pitch = pixel_pitch(told, size_px, kit)
    f_number, focal = _one(tags, "f_number"), _one(tags, "focal_length_mm")
    exposures = [one.exposure_s for one in tags if one.exposure_s is not None]
    missing = [
        *([NO_DISTANCE] if focus is None else []),
        *([Missing(f"no scale, since {pitch.reason}", "no speed without it")] if isinstance(pitch, NoLength) else []),
        *_unless_one("f-number", f_number),
        *_unless_one("focal length", focal),
        *([] if exposures else [NO_EXPOSURE]),
    ]
    if missing or focus is None or isinstance(pitch, NoLength):
        return SettingUnknown(tuple(missing))
    is_turned = any(one.orientation >= TURNED for one in tags)
    row_s = 0.0 if kit is None or is_turned else kit.camera.readout_s / size_px[1]
    try:
        true_focal = true_focal_length(focal[0], 1000 * focus.likely, lens_with_converter(kit))
        exposure_s = statistics.median(exposures)
        seen_with = FlightKit(pitch.likely, true_focal, f_number[0], exposure_s, *size_px, row_s=row_s)
        likely_distance(seen_with, focus)
    except OutsideModel as error:
        words = f"distance and focal length of the tags do not go together, {error}"
        return SettingUnknown((Missing(words, "check the kit's closest focus and magnification"),))
    return BurstSetting(seen_with, focus, tuple(_doubts(kit, exposures, is_turned=is_turned)))


def _one(tags: Sequence[Tags], name: str) -> tuple[float, ...]:
    """Return the one value of a tag; nothing where none tells it, both ends where it changed."""
    values = [value for value in (getattr(one, name) for one in tags) if value is not None]
    if not values:
        return ()
    low, high = min(values), max(values)
    return (statistics.median(values),) if high <= low * (1 + SAME_SHARE) else (low, high)


def _unless_one(words: str, values: tuple[float, ...]) -> list[Missing]:
    if not values:
        return [Missing(f"the pictures do not tell the {words}", "the camera's own files do")]
    if len(values) > 1:
        change = f"the {words} went from {values[0]:g} to {values[1]:g} during the burst"
        return [Missing(change, f"a burst at one {words} can be made out")]
    return []


def _doubts(kit: Kit | None, exposures: Sequence[float], *, is_turned: bool) -> list[Missing]:
    doubts = []
    if kit is None:
        doubts.append(
            Missing(
                "no one kit in the field book fits the pictures, so how much the lens shortens nearby and when each "
                "row was read are not known",
                "keep the kit with closest focus, magnification and read-out time",
            )
        )
    elif lens_with_converter(kit) is None:
        doubts.append(
            Missing(
                "the kit does not say how large its lens draws at closest focus, so how much it shortens is not known",
                "add the largest magnification to the kit",
            )
        )
    if is_turned and kit is not None:
        doubts.append(
            Missing("the camera was held upright, and times of its rows are left out", "nothing; they change little")
        )
    if max(exposures) > 2 * min(exposures):
        doubts.append(
            Missing(
                "the exposure changed by more than a stop during the burst, and the middle one is taken",
                "a fixed exposure time",
            )
        )
    return doubts
