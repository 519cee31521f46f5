"""A small outing of our own invention: two cards, mixed scenarios, for the demonstration and for trying things out."""

import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import cv2

from stillwing.scene.burst import When, render_burst
from stillwing.scene.camera import Camera, camera_of
from stillwing.scene.scenarios import Wishes

__all__ = ["OUTING", "PlannedBurst", "render_outing"]


@dataclass(frozen=True, slots=True)
class PlannedBurst:
    """One burst of an outing: what happens, how many frames, how the camera is set, which card it is on."""

    card: str
    scenario: str
    n_frames: int
    wishes: Wishes
    iso: int
    exposure_s: float
    minutes: float
    """After the outing's start."""


OUTING = (
    PlannedBurst(
        "card-1",
        "hover",
        30,
        Wishes("dragonfly", "reeds", "front", 0.24, background_near_focus=False),
        800,
        1 / 1600,
        0,
    ),
    PlannedBurst("card-1", "pass", 22, Wishes("dragonfly", "water", "side", 0.16, 8.0), 1600, 1 / 2500, 3.4),
    PlannedBurst("card-1", "take-off", 26, Wishes("damselfly", "grass", "front", 0.22, 20.0), 640, 1 / 1250, 9.2),
    PlannedBurst(
        "card-1",
        "hover",
        28,
        Wishes("damselfly", "leaves", "side", 0.18, background_near_focus=True),
        1600,
        1 / 2000,
        14.5,
    ),
    PlannedBurst("card-1", "empty", 8, Wishes(None, "reeds", "front"), 800, 1 / 1600, 15.1),
    PlannedBurst("card-1", "perched", 12, Wishes("dragonfly", "foliage", "front", 0.30), 400, 1 / 640, 21.0),
    PlannedBurst("card-2", "bird crossing the sky", 24, Wishes("bird", "sky", "side", 0.13), 400, 1 / 2000, 34.6),
    PlannedBurst("card-2", "landing", 20, Wishes("bird", "foliage", "low", 0.20, -10.0), 3200, 1 / 2000, 41.3),
    PlannedBurst("card-2", "tandem", 16, Wishes("dragonfly", "water", "front", 0.15), 1250, 1 / 2000, 47.9),
    PlannedBurst("card-2", "several", 14, Wishes("dragonfly", "grass", "cloudy", 0.11), 6400, 1 / 1600, 55.2),
    PlannedBurst("card-2", "frame edge", 12, Wishes("dragonfly", "water", "side", 0.22), 1600, 1 / 2000, 58.0),
)
"""212 frames in eleven bursts."""


def render_outing(
    folder: Path, seed: int = 1, *, plan: tuple[PlannedBurst, ...] = OUTING, megapixels: float = 6.0, workers: int = 2
) -> list[dict[str, Any]]:
    """Render the outing into ``folder``, one subfolder per card, and return each burst's truth in the plan's order.

    The bursts of a card lie in one folder one after another, as a camera leaves them. Truth files go to
    ``folder/truth``, where no frame is.

    Parameters
    ----------
    folder : Path
        Made if missing.
    seed : int, default 1
        The same seed gives the same outing.
    plan : tuple of PlannedBurst
        What to render.
    megapixels : float, default 6
        Size of the frames, 1 to 50.
    workers : int, default 2
        Processes, each with a burst of its own.
    """
    base = replace(camera_of(megapixels), sharpening=0.4)
    start = datetime(2031, 6, 14, 10, 32, 7, 250000, tzinfo=UTC)
    jobs: list[_Job] = []
    numbers: dict[str, int] = {}
    for index, burst in enumerate(plan):
        first = numbers.get(burst.card, 1)
        numbers[burst.card] = first + burst.n_frames
        serial = "SW000001" if burst.card == "card-1" else "SW000002"
        camera = replace(base, iso=burst.iso, exposure_s=burst.exposure_s, serial=serial)
        when = When(
            start + timedelta(minutes=burst.minutes), first, "SW" if serial.endswith("1") else "SX", 51.05, -1.25, 38.0
        )
        jobs.append(_Job(burst, camera, folder, seed * 1000 + index, when))
    if workers <= 1:
        return [_render(job) for job in jobs]
    # The longest first, so that no worker is left with a long one at the end.
    order = sorted(range(len(jobs)), key=lambda i: -jobs[i].burst.n_frames)
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=cv2.setNumThreads, initargs=(1,)) as pool:
        done = dict(zip(order, pool.map(_render, [jobs[i] for i in order]), strict=True))
    return [done[i] for i in range(len(jobs))]


@dataclass(frozen=True, slots=True)
class _Job:
    burst: PlannedBurst
    camera: Camera
    folder: Path
    seed: int
    when: When


def _render(job: _Job) -> dict[str, Any]:
    return render_burst(
        job.burst.scenario,
        job.camera,
        job.folder / job.burst.card,
        job.burst.n_frames,
        job.seed,
        wishes=job.burst.wishes,
        when=job.when,
        workers=1,
        truth_file=job.folder / "truth" / f"{job.when.prefix}{job.when.first_number:05d}.truth.json",
    )
