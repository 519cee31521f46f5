"""Bursts with known truth for the accuracy benchmark: rendered scenes, and composites of real pictures.

Rendered bursts are kept in a cache folder under a name made of everything they depend on: scenario, seed, camera,
wishes, number of frames, and a digest of the renderer's source.
"""

import hashlib
import json
import multiprocessing
import shutil
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import stillwing
from stillwing.frames.measured import Box
from stillwing.scene.backdrop import TUNING_FAMILIES
from stillwing.scene.burst import render_burst
from stillwing.scene.camera import Camera, camera_of
from stillwing.scene.heldout import HELD_OUT_ANIMALS, HELD_OUT_BACKGROUNDS, HELD_OUT_LIGHTS
from stillwing.scene.scenarios import SCENARIOS, Wishes
from stillwing.scene.truth import truth_path

FIRST_SEED = 900_000
"""Seeds from here on are for this benchmark alone; nothing is tuned or trained on them."""
ISOS = (400, 1600, 6400)
EXPOSURES_S = (1 / 640, 1 / 1600, 1 / 3200)
MEGAPIXELS = (4, 8, 16)
FRAMES_PER_S, N_FRAMES = 15.0, 10
QUICK_FRAMES_PER_S, QUICK_N_FRAMES, QUICK_MEGAPIXELS = 6.0, 4, 2
QUICK_SCENARIOS = (
    ("hover", False),
    ("pass", False),
    ("perched", False),
    ("empty", False),
    ("take-off", False),
    ("bird crossing the sky", False),
    ("hover", True),
    ("landing", True),
)
LEAST_SHARE = 0.3
"""An animal of which less is in the frame is neither asked for nor counted as a false find."""
CLEARLY = 2.0
"""Motion and defocus are to be told apart where one is this many times the other."""


@dataclass(frozen=True, slots=True)
class Case:
    """One burst to render."""

    scenario: str
    seed: int
    camera: Camera
    n_frames: int
    wishes: Wishes
    is_held_out: bool

    def folder_name(self, source: str) -> str:
        """Return a name that changes with all that the pictures depend on; ``source`` is the renderer's digest."""
        told = json.dumps([self.scenario, self.seed, asdict(self.camera), self.n_frames, asdict(self.wishes), source])
        return f"{self.scenario.replace(' ', '-')}-{self.seed}-{hashlib.sha256(told.encode()).hexdigest()[:12]}"


@dataclass(frozen=True, slots=True)
class TrueAnimal:
    """What is known of one animal in one frame; ``kind`` is ``motion`` or ``defocus`` where one clearly rules.

    ``cause_px`` is the larger of the two alone, without optics and pixel.
    """

    box: Box
    blur_px: float
    kind: str | None
    direction_deg: float
    cause_px: float


@dataclass(frozen=True, slots=True)
class TrueFrame:
    """A frame's file and its animals, the sharpest first; ``is_doubtful`` where only a scrap of one shows."""

    path: Path
    animals: tuple[TrueAnimal, ...]
    is_doubtful: bool


@dataclass(frozen=True, slots=True)
class TrueBurst:
    """A folder of frames and what they show."""

    folder: Path
    frames: tuple[TrueFrame, ...]


def planned_cases(quick: bool) -> list[Case]:
    """Return the bursts of the benchmark: every scenario, all ISOs, tuned families and held-out ones."""
    if quick:
        camera = replace(camera_of(QUICK_MEGAPIXELS), frames_per_s=QUICK_FRAMES_PER_S)
        return [
            _case(name, i, camera, QUICK_N_FRAMES, is_held_out) for i, (name, is_held_out) in enumerate(QUICK_SCENARIOS)
        ]
    cases = []
    for number in range(3 * len(SCENARIOS)):
        scenario = SCENARIOS[number % len(SCENARIOS)]
        size = MEGAPIXELS[(number + number // len(SCENARIOS)) % len(MEGAPIXELS)]
        camera = replace(camera_of(size), frames_per_s=FRAMES_PER_S)
        cases.append(_case(scenario, 100 + number, camera, N_FRAMES, False))
        if number < 2 * len(SCENARIOS):
            cases.append(_case(scenario, 200 + number, camera, N_FRAMES, True))
    return cases


def _case(scenario: str, number: int, camera: Camera, n_frames: int, is_held_out: bool) -> Case:
    exposure_s = EXPOSURES_S[(number // 2) % len(EXPOSURES_S)]
    camera = replace(camera, iso=ISOS[number % len(ISOS)], exposure_s=exposure_s, sharpening=(0.0, 0.5)[number % 2])
    wishes = Wishes(family=TUNING_FAMILIES[number % len(TUNING_FAMILIES)])
    if scenario == "bird crossing the sky":
        wishes = Wishes()
    if is_held_out:
        # A held-out background always; the held-out animal and light each in half of the bursts that can show them.
        wishes = Wishes(
            kind=HELD_OUT_ANIMALS[0] if number % 2 and scenario != "bird crossing the sky" else None,
            family=HELD_OUT_BACKGROUNDS[number % len(HELD_OUT_BACKGROUNDS)],
            light=HELD_OUT_LIGHTS[0] if number % 4 < 2 else "any",
        )
    return Case(scenario, FIRST_SEED + number, camera, n_frames, wishes, is_held_out)


def renderer_digest() -> str:
    """Return a digest of the source that rendered pictures depend on."""
    root = Path(stillwing.__file__).parent
    digest = hashlib.sha256()
    for path in sorted([*(root / "scene").rglob("*.py"), *(root / "optics").rglob("*.py")]):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def render_cases(cases: Sequence[Case], cache: Path, workers: int) -> list[TrueBurst]:
    """Return the bursts, rendered if the cache lacks them."""
    source = renderer_digest()
    folders = [cache / case.folder_name(source) for case in cases]
    missing = [(case, folder) for case, folder in zip(cases, folders, strict=True) if not truth_path(folder).is_file()]
    if missing:
        # The costly ones first, so that the workers end together.
        missing.sort(key=lambda job: -job[0].camera.width_px * (2 if job[0].scenario in ("tandem", "several") else 1))
        with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as pool:
            for _ in pool.map(_render, missing):
                pass
    return [read_scene(folder) for folder in folders]


def _render(job: tuple[Case, Path]) -> None:
    case, folder = job
    if folder.is_dir():
        shutil.rmtree(folder)
    render_burst(case.scenario, case.camera, folder, case.n_frames, case.seed, wishes=case.wishes, workers=1)


def read_scene(folder: Path) -> TrueBurst:
    """Return what the truth beside a rendered burst tells."""
    told = json.loads(truth_path(folder).read_text(encoding="utf-8"))
    frames = []
    for frame in told["frames"]:
        shown = [animal for animal in frame["animals"] if animal["share_in_frame"] >= LEAST_SHARE]
        animals = tuple(sorted((_scene_animal(animal) for animal in shown), key=lambda animal: animal.blur_px))
        frames.append(TrueFrame(folder / frame["file"], animals, len(shown) < len(frame["animals"])))
    return TrueBurst(folder, tuple(frames))


def _scene_animal(told: dict[str, Any]) -> TrueAnimal:
    sharpest = told["sharpest"]
    kind = sharpest["kind"] if sharpest["kind"] in ("motion", "defocus") else None
    cause = max(sharpest["defocus_px"], sharpest["motion_px"])
    box = Box(*(float(v) for v in told["box"]))
    return TrueAnimal(box, sharpest["blur_px"], kind, sharpest["direction_deg"], cause)


def read_composite(folder: Path) -> TrueBurst:
    """Return what the ``truth.json`` of a composed burst tells; its blur is nominal, good for order only."""
    told = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    frames = []
    for frame in told["frames"]:
        animals: tuple[TrueAnimal, ...] = ()
        if frame["box_px"] is not None:
            defocus, motion = frame["defocus_disc_px"] / 4, frame["motion_px"] / 12**0.5
            kind = None
            if max(defocus, motion) > 0.6:
                kind = "motion" if motion >= CLEARLY * defocus else "defocus" if defocus >= CLEARLY * motion else None
            box = Box(*frame["box_px"])
            direction = frame["motion_direction_deg"]
            animals = (TrueAnimal(box, frame["blur_px"], kind, direction, max(defocus, motion)),)
        frames.append(TrueFrame(folder / frame["file"], animals, False))
    return TrueBurst(folder, tuple(frames))
