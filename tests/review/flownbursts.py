"""A burst of the field book that shows a flight with known truth: what the pipeline would have stored of it."""

from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np

from flight.flown import F_NUMBER, FOCAL_MM, HEIGHT, PITCH_MM, SENSOR_M, WIDTH, Noise, passing, seen
from frames.made_files import RATIONAL, SHORT, write_jpeg
from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame
from stillwing.frames.frame import Tags
from stillwing.frames.measured import Blur, BlurKind, Box, Origin, Slip
from stillwing.optics.kit import CameraBody, Kit, Lens

NOON = datetime(2026, 7, 1, 12)
EXPOSURE_S = 1 / 2000
TALL = 0.6
"""Height of the boxes over their width."""
# Its lens never shortens: at four focal lengths a thin lens draws at life size.
KIT = Kit(
    "long",
    CameraBody(WIDTH * PITCH_MM, HEIGHT * PITCH_MM, WIDTH, HEIGHT, readout_s=0.0),
    Lens(FOCAL_MM, FOCAL_MM, 4.0, 4.0, closest_focus_m=4 * FOCAL_MM / 1000, largest_magnification=1.0),
)
BOXES = Noise(centre=0.083, size=0.074)
"""As large as the errors of the tool's boxes."""


@cache
def _grey():
    return np.full((HEIGHT, WIDTH, 3), 128, np.uint8)


def picture(folder):
    """Write the one picture whose tags are read."""
    per_cm = (RATIONAL, f"{round(1e6 / PITCH_MM)}/100000")
    tags = {
        "Photo.FocalLength": (RATIONAL, f"{FOCAL_MM:.0f}/1"),
        "Photo.FNumber": (RATIONAL, f"{round(10 * F_NUMBER)}/10"),
        "Photo.SubjectDistance": (RATIONAL, f"{round(1000 * SENSOR_M)}/1000"),
        "Photo.FocalPlaneXResolution": per_cm,
        "Photo.FocalPlaneYResolution": per_cm,
        "Photo.FocalPlaneResolutionUnit": (SHORT, "3"),
    }
    return write_jpeg(folder / "000.jpg", tags, rgb=_grey())


def stored(folder, flight=None, *, seed=1, noise=BOXES, track=3, **how):
    """Return trace and tags of a burst; the first frame's picture is written, the others are only named."""
    flight = passing(speed_m_s=1.0, angle_deg=20.0) if flight is None else flight
    folder = Path(folder)
    first = picture(folder)
    frames, tags = [], {}
    for number, one in enumerate(seen(flight, np.random.default_rng(seed), noise, **how)):
        path = first if number == 0 else folder / f"{number:03}.jpg"
        blur = Blur(
            float(np.sqrt((one.minor_px**2 + one.major_px**2) / 2)),
            one.blur_low_px,
            one.blur_high_px,
            one.minor_px,
            one.major_px,
            None if np.isnan(one.direction_deg) else one.direction_deg,
            BlurKind.MIXED,
        )
        wide, high = one.size_px, TALL * one.size_px
        box = Box(one.x_px - wide / 2, one.y_px - high / 2, wide, high)
        slip = None
        if not np.isnan(one.background_x_px):
            slip = Slip(one.background_x_px, one.background_y_px, one.background_sd_px)
        animal = TraceAnimal(0, track, box, 0.9, Origin.FOUND, blur, 0.2, False)
        taken_at = NOON + timedelta(milliseconds=int(1000 * (one.time_s - 7.0)))
        frames.append(
            TraceFrame(
                100 + number,
                number,
                path,
                taken_at,
                True,
                False,
                WIDTH,
                HEIGHT,
                (animal,),
                None,
                "",
                1000.0,
                None,
                None,
                slip,
            )
        )
        tags[path] = Tags(
            taken_at=taken_at,
            has_subseconds=True,
            exposure_s=EXPOSURE_S,
            f_number=F_NUMBER,
            focal_length_mm=FOCAL_MM,
            focus_distance_m=round(SENSOR_M, 3),
        )
    return BurstTrace(1, "000", 1, NOON, tuple(frames)), tags
