"""Scenes at the solver's settings: what was predicted, what the renderer knows to be true, what is measured."""

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from stillwing.frames.chunk import measure_chunk
from stillwing.frames.frame import Burst
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import Box
from stillwing.optics.answer import Answer
from stillwing.optics.prediction import TYPICAL_OFFSET
from stillwing.optics.subject import Behaviour
from stillwing.scene.burst import render_scene
from stillwing.scene.camera import Camera
from stillwing.scene.steady import Steady, steady_scene

__all__ = ["Compared", "camera_for", "compare"]

FRAMES_APART_S = 0.1
"""Between frames, so that the exposure of one is over when the animal is set back for the next."""
BASE_ISO = 200
ROOM = 1.5
"""Width of what is rendered over the animal's."""
SMALLEST_PX = 1024


@dataclass(frozen=True, slots=True)
class Compared:
    """Blur of one answer's burst: as predicted, as rendered and as measured with the true box; medians over frames."""

    words: str
    predicted_px: float
    true_px: float
    measured_px: float
    n_measured: int

    @property
    def predicted_over_measured(self) -> float:
        """The figure that the benchmark is about."""
        return self.predicted_px / self.measured_px


def compare(answer: Answer, kind: str, seed: int, n_frames: int = 8, workers: int = 2) -> Compared:
    """Render an animal at the answer's setting, moving and missed by the focus as predicted, and measure it.

    Half of the frames have the animal before the focal plane, half behind, by the median of the focus error.
    """
    camera = camera_for(answer)
    subject = answer.subject
    offset = TYPICAL_OFFSET * subject.focus_error_mm.likely / 1000
    offsets = [offset if number % 2 else -offset for number in range(n_frames)]
    scene = steady_scene(camera, _steady(answer, kind), offsets, seed)
    with tempfile.TemporaryDirectory(prefix="settings-") as scratch:
        folder = Path(scratch) / "burst"
        truth = render_scene(scene, folder, seed, workers=workers)
        measured = _measured(folder, truth["frames"])
    true = [frame["animals"][0]["sharpest"]["blur_px"] for frame in truth["frames"] if frame["animals"]]
    return Compared(
        f"{subject.words}, {subject.behaviour}, {answer.distance_m:.2f} m, {answer.best.words}",
        answer.best.sharpest_px,
        float(np.median(true)),
        float(np.median(measured)),
        len(measured),
    )


def camera_for(answer: Answer) -> Camera:
    """Return the scene's camera set as the answer says, focused on the animal's distance."""
    body, best, subject = answer.kit.camera, answer.best, answer.subject
    focus_mm = answer.true_focal_length_mm * (1 + 1 / answer.magnification)
    # Only the middle of the sensor is rendered: what lies round the animal changes nothing, and takes its time.
    across = ROOM * max(subject.length_mm, 0.8 * subject.span_mm) * answer.magnification / body.pitch_mm
    width = min(max(round(across / 32) * 32, SMALLEST_PX), body.width_px // 32 * 32)
    height = min(width * 3 // 4, body.height_px // 8 * 8)
    return Camera(
        width_px=width,
        height_px=height,
        sensor_width_mm=width * body.pitch_mm,
        focal_length_mm=answer.true_focal_length_mm,
        f_number=best.f_number,
        exposure_s=best.exposure_s,
        iso=round(best.iso),
        focus_distance_m=focus_mm / 1000,
        frames_per_s=1 / FRAMES_APART_S,
        readout_s=body.readout_s * height / body.height_px,
        lens_sigma_px=body.own_blur_px,
        full_well_e=body.electrons_at_white * body.lowest_iso / BASE_ISO,
        read_noise_e=body.read_noise_e,
    )


def _steady(answer: Answer, kind: str) -> Steady:
    subject, wish = answer.subject, answer.wish
    across = subject.speed_m_s.likely * subject.panning_left.likely
    # The hand's turning moves the picture as an animal of that speed would.
    behind = answer.true_focal_length_mm * (1 + answer.magnification)
    shake = np.radians(wish.shake_deg_s) * behind / answer.magnification / 1000
    flies = subject.behaviour is not Behaviour.PERCH
    return Steady(
        kind,
        subject.length_mm / 1000,
        float(np.hypot(across, shake)),
        subject.angle_deg,
        subject.wingbeat_hz.likely,
        subject.stroke_deg.likely / 2 if flies else 0.0,
    )


def _measured(folder: Path, frames: Sequence[dict]) -> list[float]:
    """Return the blur measured in each frame, with the true box given."""
    listed = list_frames(folder).frames
    boxes = {frame["file"]: Box(*map(float, frame["animals"][0]["box"])) for frame in frames if frame["animals"]}
    drawn = {frame.path: boxes[frame.path.name] for frame in listed if frame.path.name in boxes}
    chunk = measure_chunk(Burst(folder.name, tuple(listed)), drawn=drawn, use_previews=False)
    return [frame.animals[0].blur.blur_px for frame in chunk.frames if frame.animals and frame.animals[0].blur]
