"""What the labels of the shared real pictures allow: found or not, overlap, the order by blur, and blur added by us.

The folder is the one that ``STILLWING_DATA`` names, or ``../shared/data`` beside the repository.
"""

import csv
import math
import os
import tempfile
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import simplejpeg
from numpy.typing import NDArray

from accuracy_scores import IOU_FOUND, median, share
from stillwing.frames.chunk import measure_chunk
from stillwing.frames.frame import Burst, Frame
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import Animal, Box, MeasuredFrame
from stillwing.frames.tags import read_tags

CLOSE_PX = 20.0
"""The clips' boxes run a frame or two ahead or behind: a find counts when its centre lies this close."""
STILLS = ("stills/dragonfly.jpg", "stills/nuthatch.jpg", "exif/05.jpg", "exif/08.jpg")
SHARP_STILLS = ("stills/dragonfly.jpg", "stills/nuthatch.jpg", "exif/05.jpg")
ADDED_SIGMAS_PX = (1.0, 2.0, 4.0)
WITHIN = 0.10
GAMMA = 2.2
AROUND_SHARE = 0.5
FOCUS_PAIRS = {
    # (sharper, softer), from the labels: which frame has something in focus, and how far past it the others are.
    "focus/board": [(1, 0), (2, 0), (2, 1), (3, 1), (6, 7), (7, 8), (8, 9), (7, 9), (5, 8), (3, 0), (4, 9)],
    "focus/arachnid": [(3, 1), (7, 1), (3, 11), (7, 11)],
}
FOCUS_SUFFIX = {"focus/board": ".jpg", "focus/arachnid": ".png"}
FOCUS_BOX_SHARE = 0.7


@dataclass(frozen=True, slots=True)
class StillScore:
    """One labelled picture: overlap of the first find, blur of it, and blur inside the labelled box."""

    file: str
    overlap: float
    n_found: int
    found: Animal | None
    in_label: Animal


@dataclass(frozen=True, slots=True)
class AddedScore:
    """A sharp picture blurred further: what should be measured, and what was."""

    file: str
    added_px: float
    predicted_px: float
    measured_px: float

    @property
    def is_right(self) -> bool:
        """Whether the figure lies within a tenth of the prediction."""
        return abs(self.measured_px - self.predicted_px) <= WITHIN * self.predicted_px


def shared_data(repository: Path) -> Path | None:
    """Return the folder of real pictures, or None where it is absent."""
    folder = Path(os.environ.get("STILLWING_DATA", repository.parent / "shared" / "data"))
    return folder if (folder / "labels.csv").is_file() else None


def labelled_boxes(data: Path) -> dict[str, list[Box]]:
    """Return the boxes of whole animals by file; clips have loose ones and, in two of them, tight ones too."""
    boxes: dict[str, list[Box]] = defaultdict(list)
    with (data / "labels.csv").open(newline="") as lines:
        for row in csv.DictReader(lines):
            if row["x"] and row["part"].startswith("animal"):
                boxes[row["file"]].append(Box(*(float(row[key]) for key in ("x", "y", "w", "h"))))
    return dict(boxes)


def clip_scores(data: Path, measured: Mapping[Path, MeasuredFrame]) -> dict[str, float]:
    """Return how often a bird of the clips is found, by the first find and by any, over the frames with a box."""
    boxes = labelled_boxes(data)
    first, whichever, counts = [], [], []
    for path, frame in measured.items():
        file = str(path.relative_to(data))
        if file not in boxes:
            continue
        near = [_is_close(animal, boxes[file]) for animal in frame.animals]
        first.append(near[:1] == [True])
        whichever.append(any(near))
        counts.append(len(near))
    return {
        "clips_n_frames": float(len(first)),
        "clips_found": share(first),
        "clips_found_any": share(whichever),
        "clips_finds_per_frame": float(np.mean(counts)),
    }


def _is_close(animal: Animal, boxes: Sequence[Box]) -> bool:
    x, y = animal.box.centre_px
    return any(math.dist((x, y), box.centre_px) <= CLOSE_PX for box in boxes)


def clip_bursts(data: Path) -> list[Burst]:
    """Return the clips' bursts."""
    folders = sorted(path for path in (data / "bursts").iterdir() if path.is_dir())
    return [Burst(folder.name, list_frames(folder).frames) for folder in folders]


def measure_one(path: Path, box: Box | None = None) -> MeasuredFrame:
    """Return the measured frame of one file, with the animal found, or with ``box`` as if a person had drawn it."""
    frame = Frame((path,), read_tags(path))
    chunk = measure_chunk(Burst(path.stem, (frame,)), drawn={frame.path: box} if box else {}, use_previews=False)
    if chunk.failed:
        raise chunk.failed[0]
    return chunk.frames[0]


def still_scores(data: Path, files: Sequence[str] = STILLS) -> list[StillScore]:
    """Return the score of each labelled single picture."""
    boxes = labelled_boxes(data)
    scores = []
    for file in files:
        frame = measure_one(data / file)
        label = boxes[file][0]
        first = frame.animals[0] if frame.animals else None
        overlap = first.box.overlap(label) if first else 0.0
        scores.append(StillScore(file, overlap, len(frame.animals), first, measure_one(data / file, label).animals[0]))
    return scores


def stills_summary(scores: Sequence[StillScore]) -> dict[str, float]:
    """Return the stills' figures for the JSON file."""
    return {
        "stills_found_iou50": share([score.overlap >= IOU_FOUND for score in scores]),
        "stills_median_iou": median([score.overlap for score in scores]),
    }


def focus_order(data: Path) -> dict[str, float]:
    """Return the share of frame pairs that blur puts in the order of the labels, per focus sequence."""
    return {f"order_{name.replace('/', '_')}": _order_of(data, name) for name in FOCUS_PAIRS}


def _order_of(data: Path, name: str) -> float:
    pairs = FOCUS_PAIRS[name]
    numbers = {number for pair in pairs for number in pair}
    with tempfile.TemporaryDirectory(prefix="stillwing-accuracy-") as scratch:
        # The arachnid's files are JPEGs named .png, which the product rightly refuses by name.
        copies = {number: Path(scratch) / f"{number:02d}.jpg" for number in numbers}
        for number, copy in copies.items():
            copy.write_bytes((data / name / f"{number:02d}{FOCUS_SUFFIX[name]}").read_bytes())
        blurs = {number: _blur_of_middle(copy) for number, copy in copies.items()}
    return share([blurs[sharper] < blurs[softer] for sharper, softer in pairs])


def _blur_of_middle(path: Path) -> float:
    rows, cols = np.asarray(cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)).shape
    margin = (1 - FOCUS_BOX_SHARE) / 2
    box = Box(cols * margin, rows * margin, cols * FOCUS_BOX_SHARE, rows * FOCUS_BOX_SHARE)
    blur = measure_one(path, box).animals[0].blur
    return blur.blur_px if blur else float("inf")


def added_blur(data: Path, files: Sequence[str] = SHARP_STILLS) -> list[AddedScore]:
    """Return measured against predicted blur of sharp pictures blurred further, in linear light, and saved again."""
    scores = []
    boxes = labelled_boxes(data)
    with tempfile.TemporaryDirectory(prefix="stillwing-accuracy-") as scratch:
        for file in files:
            colour = np.asarray(cv2.imread(str(data / file)), dtype=np.uint8)
            region, box = _around(colour, boxes[file][0])
            base = _measured_blur(region, box, 0.0, Path(scratch))
            for sigma in ADDED_SIGMAS_PX:
                figure = _measured_blur(region, box, sigma, Path(scratch))
                scores.append(AddedScore(file, sigma, math.hypot(base, sigma), figure))
    return scores


def _around(colour: NDArray[np.uint8], box: Box) -> tuple[NDArray[np.uint8], Box]:
    """Return the box's surroundings, and the box in them: blurring and saving a whole picture takes seconds."""
    wide, high = AROUND_SHARE * box.width_px, AROUND_SHARE * box.height_px
    left, top = max(round(box.x_px - wide), 0), max(round(box.y_px - high), 0)
    right, bottom = round(box.x_px + box.width_px + wide), round(box.y_px + box.height_px + high)
    return colour[top:bottom, left:right], Box(box.x_px - left, box.y_px - top, box.width_px, box.height_px)


def _measured_blur(colour: NDArray[np.uint8], box: Box, sigma: float, scratch: Path) -> float:
    shown = colour
    if sigma:
        light = (colour.astype(np.float32) / 255) ** GAMMA
        light = np.asarray(cv2.GaussianBlur(light, (0, 0), sigma), dtype=np.float32)
        shown = np.round(255 * light ** (1 / GAMMA)).astype(np.uint8)
    path = scratch / f"{len(list(scratch.iterdir())):03d}.jpg"
    path.write_bytes(simplejpeg.encode_jpeg(np.ascontiguousarray(shown), 96, "BGR", "422", False))
    blur = measure_one(path, box).animals[0].blur
    return blur.blur_px if blur else float("nan")


def added_summary(scores: Sequence[AddedScore]) -> dict[str, float]:
    """Return the figures of added blur for the JSON file."""
    return {
        "added_blur_within_10_percent": share([score.is_right for score in scores]),
        "added_blur_median_ratio": median([score.measured_px / score.predicted_px for score in scores]),
    }
