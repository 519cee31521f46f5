"""Render a burst: the background once, then frames in worker processes; files as cameras write them, and the truth."""

import multiprocessing
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.actors import Scene, pan_at
from stillwing.scene.backdrop import paint_backdrop
from stillwing.scene.camera import Camera
from stillwing.scene.compose import Seen, see
from stillwing.scene.exif import Shot
from stillwing.scene.jpegfile import write_frame
from stillwing.scene.scenarios import Wishes, plan_scene
from stillwing.scene.sensor import LIGHT_UNIT, develop, expose
from stillwing.scene.truth import VISIBLE, judge, run_lengths, truth_path, write_truth

__all__ = ["When", "render_burst", "render_scene"]

METERED = 0.15
"""Mean linear light that the meter aims at."""
MASK_STEP_ABOVE_PX = 400
"""Boxes longer than this keep their mask at a quarter of the resolution."""


@dataclass(frozen=True, slots=True)
class When:
    """Clock, place and numbering of a burst."""

    start: datetime = datetime(2031, 6, 14, 10, 32, 7, 250000, tzinfo=UTC)
    first_number: int = 1
    prefix: str = "SW"
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    altitude_m: float | None = None


def render_burst(
    scenario: str,
    camera: Camera,
    out_folder: Path,
    n_frames: int,
    seed: int,
    *,
    wishes: Wishes | None = None,
    when: When | None = None,
    workers: int = 2,
    truth_file: Path | None = None,
) -> dict[str, Any]:
    """Render a named scenario into ``out_folder`` and return its truth, which is also written beside the folder.

    Parameters
    ----------
    scenario : str
        One of `stillwing.scene.scenarios.SCENARIOS`.
    camera : Camera
        Sensor, lens and settings; the focus distance is set by the scenario so that the animal gets its size.
    out_folder : Path
        Made if missing; gets one JPEG file per frame.
    n_frames : int
        1 to 2000.
    seed : int
        The same seed gives the same files.
    wishes : Wishes, optional
        Animal, background family, light, size and launch angle, where the seed is not to choose.
    when : When, optional
        Clock, place and file numbers.
    workers : int, default 2
        Processes; 1 renders in this one.
    truth_file : Path, optional
        Where the truth goes, if not beside the folder.

    Returns
    -------
    dict
        What `truth_path` holds: ``scenario``, ``camera``, ``light``, ``background`` and ``frames``.

    Raises
    ------
    UnknownThing, OutsideModel
        If a name is not known or a number is outside its range.
    """
    scene = plan_scene(scenario, camera, n_frames, seed, wishes)
    return render_scene(scene, out_folder, seed, when=when, workers=workers, truth_file=truth_file)


def render_scene(
    scene: Scene,
    out_folder: Path,
    seed: int,
    *,
    when: When | None = None,
    workers: int = 2,
    truth_file: Path | None = None,
) -> dict[str, Any]:
    """Render a scene of one's own; as `render_burst` otherwise."""
    clock = when or When()
    out_folder.mkdir(parents=True, exist_ok=True)
    starts = np.arange(scene.n_frames) / scene.camera.frames_per_s
    pan = pan_at(scene, starts)
    # The background is drawn once, as large as the camera's turning needs, and each frame cuts its piece from it.
    shift = np.round(pan).astype(int)
    low, high = shift.min(0), shift.max(0)
    margin = (max(0, -int(low[0])), max(0, -int(low[1])), max(0, int(high[0])), max(0, int(high[1])))
    drift = np.median(np.abs(pan_at(scene, starts + scene.camera.exposure_s) - pan), axis=0)
    background: NDArray[np.uint16] = paint_backdrop(
        scene.backdrop, scene.perches, scene.camera, scene.light, margin, (float(drift[0]), float(drift[1]))
    )
    gain = _exposure_gain(background)
    with tempfile.TemporaryDirectory(prefix="stillwing-scene-") as scratch:
        store = Path(scratch) / "background.npy"
        np.save(store, _brightened(background, gain))
        del background
        jobs = [
            _Job(
                scene,
                store,
                out_folder,
                number,
                float(starts[number]),
                (margin[0] + int(shift[number, 0]), margin[1] + int(shift[number, 1])),
                seed,
                clock,
                gain,
            )
            for number in range(scene.n_frames)
        ]
        if workers <= 1 or scene.n_frames == 1:
            frames = [_render_frame(job) for job in jobs]
        else:
            context = multiprocessing.get_context("spawn")
            with ProcessPoolExecutor(workers, mp_context=context, initializer=_one_thread) as pool:
                frames = list(pool.map(_render_frame, jobs))
    judge(frames, scene.camera.width_px)
    truth = {
        "scenario": scene.scenario,
        "seed": seed,
        "folder": out_folder.name,
        "camera": asdict(scene.camera),
        "light": {name: list(v) if isinstance(v, tuple) else v for name, v in asdict(scene.light).items()},
        "background": asdict(scene.backdrop) | {"disc_px": float(scene.camera.disc_px(scene.backdrop.distance_m))},
        "frames": frames,
    }
    told = truth_file or truth_path(out_folder)
    told.parent.mkdir(parents=True, exist_ok=True)
    write_truth(told, truth)
    return truth


@dataclass(frozen=True, slots=True)
class _Job:
    scene: Scene
    background: Path
    folder: Path
    number: int
    start_s: float
    origin: tuple[int, int]
    seed: int
    when: When
    gain: float


def _exposure_gain(background: NDArray[np.uint16]) -> float:
    """Return by how much the camera's meter brightens or darkens: towards its mid-grey, but not all the way."""
    mean = float(background[:, ::16, ::16].mean()) / LIGHT_UNIT
    return float(np.clip((METERED / max(mean, 1e-3)) ** 0.75, 0.6, 1.7))


def _brightened(background: NDArray[np.uint16], gain: float) -> NDArray[np.uint16]:
    for plane in background:
        np.copyto(plane, np.clip(plane * np.float32(gain), 0, 65535).astype(np.uint16))
    return background


def _one_thread() -> None:
    """Keep a worker to one core: there are as many workers as cores."""
    cv2.setNumThreads(1)


def _render_frame(job: _Job) -> dict[str, Any]:
    scene, camera = job.scene, job.scene.camera
    background = np.load(job.background, mmap_mode="r")
    left, top = job.origin
    view = background[:, top : top + camera.height_px, left : left + camera.width_px]
    mosaic = _mosaic(view)
    animals = sorted(
        (found for actor in scene.actors if (found := see(scene, actor, job.start_s)) is not None),
        key=lambda s: -s.distance_m,
    )
    _lay_into(mosaic, view, animals, job.gain)
    rng = np.random.default_rng([job.seed, job.number, 3])
    picture = develop(expose(mosaic, camera, rng), camera)
    clock = job.when
    number = clock.first_number + job.number
    name = f"{clock.prefix}{number:05d}.jpg"
    taken_at = clock.start + timedelta(seconds=job.start_s)
    shot = Shot(taken_at, number, clock.latitude_deg, clock.longitude_deg, clock.altitude_m)
    write_frame(job.folder / name, picture, replace(camera), shot)
    told = [entry for entry in (_entry(camera, animal) for animal in animals) if entry is not None]
    # The background moves against the camera's turning; only differences between frames mean anything.
    background_px = [-job.origin[0], -job.origin[1]]
    return {"file": name, "time_s": job.start_s, "background_px": background_px, "animals": told}


def _mosaic(view: NDArray[np.uint16]) -> NDArray[np.uint16]:
    """Return what a red-green-green-blue sensor sees of planes (3, rows, cols)."""
    out = np.empty(view.shape[1:], np.uint16)
    for i, j, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        out[i::2, j::2] = view[channel, i::2, j::2]
    return out


def _lay_into(mosaic: NDArray[np.uint16], view: NDArray[np.uint16], animals: list[Seen], gain: float) -> None:
    """Put the animals, the farthest first, over the background on the sensor."""
    if not animals:
        return
    x0, y0 = (min(getattr(a, axis) for a in animals) // 2 * 2 for axis in ("x", "y"))
    x1 = max(a.x + a.alpha.shape[1] for a in animals)
    y1 = max(a.y + a.alpha.shape[0] for a in animals)
    region = np.moveaxis(view[:, y0:y1, x0:x1].astype(np.float32), 0, 2) / np.float32(LIGHT_UNIT)
    for a in animals:
        rows, cols = a.alpha.shape
        here = np.s_[a.y - y0 : a.y - y0 + rows, a.x - x0 : a.x - x0 + cols]
        region[here] = a.rgb * np.float32(gain) + region[here] * (1 - a.alpha)[..., None]
    light = np.clip(region * LIGHT_UNIT + 0.5, 0, 65535).astype(np.uint16)
    mosaic[y0:y1, x0:x1] = _mosaic(np.moveaxis(light, 2, 0))


def _entry(camera: Camera, seen: Seen) -> dict[str, Any] | None:
    """Return the truth of one animal in one frame with its box and mask; ``None`` where too little of it shows."""
    shown = seen.cover > VISIBLE
    ys, xs = np.flatnonzero(shown.any(1)), np.flatnonzero(shown.any(0))
    if not len(ys):
        return None
    box = [seen.x + int(xs[0]), seen.y + int(ys[0]), int(xs[-1] - xs[0] + 1), int(ys[-1] - ys[0] + 1)]
    step = 4 if max(box[2:]) > MASK_STEP_ABOVE_PX else 1
    mask = shown[ys[0] : ys[-1] + 1 : step, xs[0] : xs[-1] + 1 : step]
    touches = box[0] == 0 or box[1] == 0 or box[0] + box[2] >= camera.width_px or box[1] + box[3] >= camera.height_px
    return {
        "box": box,
        "mask": {"step_px": step, "rows": mask.shape[0], "columns": mask.shape[1], "runs": run_lengths(mask)},
        "clipped": bool(touches),
        "share_in_frame": seen.share_in_frame,
        "size_in_frame": max(box[2:]) / camera.width_px,
        **seen.truth,
    }
