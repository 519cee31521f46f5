"""Build the bank of real pictures that the networks learn from, out of Debian packages.

``backgrounds.csv`` and ``animals.csv`` beside this file are the recipe: which package, which file in it,
which part of it, and for animals the hints for the cut-out, all found by looking at the pictures. With
``--fetch`` the packages come from ``apt-get download`` and are unpacked with ``dpkg -x``; without it they
have to lie unpacked under ``--packages``. Pictures of the evaluation set are cut out separately, with
``--eval-pictures``, and are never trained on.

    python training/assets.py --packages FOLDER --bank FOLDER [--fetch] [--eval-pictures FOLDER]

Written: ``backgrounds/*.jpg`` (quality 92), ``animals/*.png`` (colour and alpha), ``split.csv`` (file, kind, split,
package, member), and ``eval_backgrounds``, ``eval_animals`` likewise.
"""

import argparse
import csv
import hashlib
import subprocess
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from qt_resources import read_bundle

HERE = Path(__file__).parent
JPEG_QUALITY = 92
ANIMAL_MAX_PX = 1200
WORK_PX = 1100
MARGIN = 0.12
DEV_EVERY_BACKGROUND = 6
DEV_EVERY_ANIMAL = 5
STROKE = 0.012
SPECK_SHARE = 0.02
VEIN_MEDIAN_PX = 31
VEIN_DN = 25.0
MEMBRANE = 0.25
Colour = NDArray[np.uint8]
Hints = tuple[NDArray[np.float64], ...]


@dataclass(frozen=True, slots=True)
class Background:
    """One row of ``backgrounds.csv``: a part of a picture, as fractions of its width and height."""

    name: str
    package: str
    member: str
    box: tuple[float, float, float, float]
    long_side_px: int


@dataclass(frozen=True, slots=True)
class Animal:
    """One row of ``animals.csv``: where the animal is, and hints in fractions of the picture.

    ``box`` is None where the picture brings its own alpha. A hint of two points or more is a stroke; it is a
    filled outline where its last point repeats its first. ``veil`` outlines wings that one sees through.
    """

    name: str
    kind: str
    package: str
    member: str
    box: tuple[float, float, float, float] | None
    keep: Hints
    drop: Hints
    veil: Hints
    grab: bool


def read_backgrounds(table: Path) -> list[Background]:
    """Return the rows of ``backgrounds.csv``."""
    with table.open(newline="") as lines:
        return [
            Background(
                row["name"],
                row["package"],
                row["member"],
                (float(row["x0"]), float(row["y0"]), float(row["x1"]), float(row["y1"])),
                int(row["long_side_px"]),
            )
            for row in csv.DictReader(lines)
        ]


def read_animals(table: Path) -> list[Animal]:
    """Return the rows of ``animals.csv`` (or of ``eval_animals.csv``, which has the same columns)."""
    with table.open(newline="") as lines:
        return [
            Animal(
                row["name"],
                row["kind"],
                row["package"],
                row["member"],
                (float(row["x0"]), float(row["y0"]), float(row["x1"]), float(row["y1"])) if row["x0"] else None,
                parse_hints(row["keep"]),
                parse_hints(row["drop"]),
                parse_hints(row.get("veil", "")),
                row["grab"] != "no",
            )
            for row in csv.DictReader(lines)
        ]


def parse_hints(text: str) -> Hints:
    """Return the point lists of ``"x y x y; x y x y x y"``, each shape (n, 2)."""
    return tuple(np.array(part.split(), dtype=np.float64).reshape(-1, 2) for part in text.split(";") if part.strip())


def fetch(packages: set[str], folder: Path) -> None:
    """Download and unpack each package that ``folder`` lacks."""
    folder.mkdir(parents=True, exist_ok=True)
    for package in sorted(packages):
        if (folder / package).is_dir():
            continue
        subprocess.run(["apt-get", "download", package], cwd=folder, check=True)
        archive = next(folder.glob(f"{package}_*.deb"))
        subprocess.run(["dpkg", "-x", str(archive), str(folder / package)], check=True)
        archive.unlink()


@cache
def bundle(path: Path) -> dict[str, bytes]:
    """Return the files of a resource bundle, read once."""
    return read_bundle(path)


def load(root: Path, member: str) -> Colour:
    """Return a picture as stored (BGR or BGRA, 8 bits); ``a+b`` stands side by side, ``x.rcc!/y`` lies in a bundle."""
    if "+" in member:
        return np.hstack([load(root, part) for part in member.split("+")])
    if "!" in member:
        archive, inner = member.split("!")
        raw = np.frombuffer(bundle(root / archive)[inner], np.uint8)
        picture = cv2.imdecode(raw, cv2.IMREAD_UNCHANGED)
    else:
        picture = cv2.imread(str(root / member), cv2.IMREAD_UNCHANGED)
    if picture is None:
        raise ValueError(f"{root / member} cannot be read as a picture")
    if picture.dtype == np.uint16:
        picture = (picture >> 8).astype(np.uint8)
    return picture if picture.ndim == 3 else cv2.cvtColor(picture, cv2.COLOR_GRAY2BGR)


def crop(picture: Colour, box: tuple[float, float, float, float]) -> Colour:
    """Return the part of ``picture`` that the fractions name."""
    rows, cols = picture.shape[:2]
    x0, y0, x1, y1 = box
    return picture[round(y0 * rows) : round(y1 * rows), round(x0 * cols) : round(x1 * cols)]


def shrink(picture: Colour, long_side_px: int) -> Colour:
    """Return ``picture`` with its long side at most ``long_side_px``."""
    scale = long_side_px / max(picture.shape[:2])
    if scale >= 1:
        return picture
    return cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)


def fill_sky(picture: Colour) -> Colour:
    """Return ``picture`` without alpha; what is transparent becomes an overcast sky, paler towards the horizon."""
    if picture.shape[2] == 3:
        return picture
    rows = picture.shape[0]
    pale = np.linspace(0, 1, rows)[:, None, None]
    sky = np.array([214.0, 190.0, 168.0]) * (1 - pale) + np.array([236.0, 230.0, 224.0]) * pale
    alpha = picture[..., 3:] / 255.0
    return np.round(picture[..., :3] * alpha + sky * (1 - alpha)).astype(np.uint8)


def draw_hint(mask: NDArray[np.uint8], points: NDArray[np.float64], label: int) -> None:
    """Draw a stroke or a filled outline, points in pixels, into ``mask``."""
    corners = np.round(points).astype(np.int32)
    if len(corners) > 2 and np.array_equal(corners[0], corners[-1]):
        cv2.fillPoly(mask, [corners], label)
    else:
        cv2.polylines(mask, [corners], False, label, max(2, round(STROKE * max(mask.shape))))


def cut_out(picture: Colour, animal: Animal, work_px: int = WORK_PX) -> Colour:
    """Return the animal as BGRA, trimmed, its edge's colours taken from inside the edge.

    Parameters
    ----------
    picture : ndarray of uint8, shape (rows, cols, 3)
        The whole picture.
    animal : Animal
        Its box and hints. [fractions of the picture]
    work_px : int, default 1100
        Long side of the region at which the cut is made. [px]

    Returns
    -------
    ndarray of uint8, shape (rows, cols, 4)
        Colour and alpha.

    References
    ----------
    .. [1] C. Rother, V. Kolmogorov, A. Blake, "GrabCut", ACM Trans. Graphics 23 (2004) 309.
    """
    assert animal.box is not None
    x0, y0, x1, y1 = animal.box
    dx, dy = MARGIN * (x1 - x0), MARGIN * (y1 - y0)
    around = (max(x0 - dx, 0.0), max(y0 - dy, 0.0), min(x1 + dx, 1.0), min(y1 + dy, 1.0))
    region = shrink(crop(picture, around), work_px)
    rows, cols = region.shape[:2]
    origin, size = np.array(around[:2]), np.array([around[2] - around[0], around[3] - around[1]])

    def to_px(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return (points - origin) / size * (cols, rows)

    inside = np.full((rows, cols), cv2.GC_BGD, np.uint8)
    (left, top), (right, bottom) = to_px(np.array([[x0, y0], [x1, y1]]))
    inside[max(round(top), 0) : round(bottom), max(round(left), 0) : round(right)] = (
        cv2.GC_PR_FGD if animal.grab else cv2.GC_BGD
    )
    for hint in animal.keep:
        draw_hint(inside, to_px(hint), cv2.GC_FGD)
    for hint in animal.drop:
        draw_hint(inside, to_px(hint), cv2.GC_BGD)
    if animal.grab:
        cv2.setRNGSeed(1)
        cv2.grabCut(region, inside, None, np.zeros((1, 65)), np.zeros((1, 65)), 8, cv2.GC_INIT_WITH_MASK)
    cutout = with_alpha(region, clean_mask((inside == cv2.GC_FGD) | (inside == cv2.GC_PR_FGD)))
    wings = np.zeros((rows, cols), np.uint8)
    for hint in animal.veil:
        draw_hint(wings, to_px(hint), 1)
    for hint in animal.drop:
        draw_hint(wings, to_px(hint), 0)
    return trim(with_veil(cutout, region, wings) if wings.any() else cutout)


def clean_mask(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return ``mask`` without specks (parts under 2 % of the largest) and pinholes."""
    labels, n_parts = ndimage.label(mask, structure=np.ones((3, 3)))
    if n_parts == 0:
        raise ValueError("the cut-out is empty: give it a larger box or a stroke to keep")
    areas = np.bincount(labels.ravel())[1:]
    kept = np.isin(labels, 1 + np.flatnonzero(areas >= SPECK_SHARE * areas.max()))
    holes, n_holes = ndimage.label(~kept)
    hole_areas = np.bincount(holes.ravel())[1:]
    small = 1 + np.flatnonzero(hole_areas < 0.002 * kept.sum())
    return kept | np.isin(holes, small) if n_holes else kept


def with_alpha(region: Colour, mask: NDArray[np.bool_]) -> Colour:
    """Return BGRA with a one-pixel soft edge and no colour of the old background in it."""
    alpha = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 0.9)
    core = ndimage.binary_erosion(mask, iterations=2)
    core = core if core.any() else mask
    # Thin parts (legs, feelers) vanish in the erosion; they keep their own colour.
    thin = mask & ~ndimage.binary_dilation(core, iterations=3)
    nearest = ndimage.distance_transform_edt(~(core | thin), return_distances=False, return_indices=True)
    return np.dstack([region[nearest[0], nearest[1]], np.round(alpha * 255).astype(np.uint8)])


def with_veil(cutout: Colour, region: Colour, wings: NDArray[np.uint8]) -> Colour:
    """Return the cut-out with clear wings added: their membrane a quarter opaque, veins and marks fully."""
    grey = cv2.cvtColor(region, cv2.COLOR_BGR2GRAY)
    around = cv2.medianBlur(grey, VEIN_MEDIAN_PX)
    vein = np.clip(np.abs(grey.astype(np.float32) - around) / VEIN_DN, 0, 1)
    membrane = cv2.GaussianBlur(wings.astype(np.float32), (0, 0), 0.9) * (MEMBRANE + (1 - MEMBRANE) * vein)
    body = cutout[..., 3] / 255.0
    alpha = np.maximum(body, membrane)
    colour = np.where((body >= membrane)[..., None], cutout[..., :3], region)
    return np.dstack([colour, np.round(alpha * 255).astype(np.uint8)])


def trim(cutout: Colour) -> Colour:
    """Return ``cutout`` without its empty borders, two pixels left around it."""
    seen = cutout[..., 3] > 8
    rows, cols = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
    tight = cutout[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1]
    return np.pad(tight, ((2, 2), (2, 2), (0, 0)))


def name_hash(text: str) -> str:
    """Return a digest that spreads names without regard to their order."""
    return hashlib.sha256(text.encode()).hexdigest()


def split_names(sources: dict[str, str], dev_every: int) -> dict[str, str]:
    """Return train or dev by name; every ``dev_every``-th source, ordered by digest, is dev with all its parts."""
    ordered = sorted(set(sources.values()), key=name_hash)
    dev = set(ordered[::dev_every])
    return {name: "dev" if source in dev else "train" for name, source in sources.items()}


def build_backgrounds(rows: list[Background], packages: Path, folder: Path) -> None:
    """Write every background of the recipe as JPEG."""
    folder.mkdir(parents=True, exist_ok=True)
    for row in rows:
        picture = shrink(crop(fill_sky(load(packages / row.package, row.member)), row.box), row.long_side_px)
        cv2.imwrite(str(folder / f"{row.name}.jpg"), picture, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])


def build_animals(rows: list[Animal], packages: Path, folder: Path, max_px: int, work_px: int) -> None:
    """Write every cut-out of the recipe as PNG with alpha."""
    folder.mkdir(parents=True, exist_ok=True)
    for row in rows:
        picture = load(packages / row.package, row.member)
        cutout = trim(picture) if row.box is None else cut_out(picture[..., :3], row, work_px)
        cv2.imwrite(str(folder / f"{row.name}.png"), shrink(cutout, max_px), [cv2.IMWRITE_PNG_COMPRESSION, 9])


def write_split(backgrounds: list[Background], animals: list[Animal], table: Path) -> None:
    """Write which picture trains and which is kept for development."""
    splits = split_names({row.name: f"{row.package}/{row.member}" for row in backgrounds}, DEV_EVERY_BACKGROUND)
    for kind in sorted({row.kind for row in animals}):
        of_kind = {row.name: f"{row.package}/{row.member}" for row in animals if row.kind == kind}
        splits |= {f"animal {name}": split for name, split in split_names(of_kind, DEV_EVERY_ANIMAL).items()}
    with table.open("w", newline="") as lines:
        writer = csv.writer(lines, lineterminator="\n")
        writer.writerow(["file", "kind", "split", "package", "member"])
        for row in backgrounds:
            writer.writerow([f"backgrounds/{row.name}.jpg", "background", splits[row.name], row.package, row.member])
        for animal in animals:
            split = splits[f"animal {animal.name}"]
            writer.writerow([f"animals/{animal.name}.png", animal.kind, split, animal.package, animal.member])


def main() -> None:
    """Build the bank, or the part of it that ``--only`` names."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--packages", type=Path, required=True, help="folder with the packages, one folder each")
    parser.add_argument("--bank", type=Path, required=True, help="folder to write")
    parser.add_argument("--fetch", action="store_true", help="download and unpack the packages that are missing")
    parser.add_argument("--eval-pictures", type=Path, help="folder with the pictures of eval_animals.csv")
    parser.add_argument("--only", nargs="*", default=[], help="names of cut-outs or backgrounds to build")
    options = parser.parse_args()
    backgrounds, animals = read_backgrounds(HERE / "backgrounds.csv"), read_animals(HERE / "animals.csv")
    if options.fetch:
        fetch({row.package for row in backgrounds} | {row.package for row in animals}, options.packages)
    only = set(options.only)
    some_backgrounds = [row for row in backgrounds if not only or row.name in only]
    some_animals = [row for row in animals if not only or row.name in only]
    build_backgrounds(some_backgrounds, options.packages, options.bank / "backgrounds")
    build_animals(some_animals, options.packages, options.bank / "animals", ANIMAL_MAX_PX, WORK_PX)
    write_split(backgrounds, animals, options.bank / "split.csv")
    if options.eval_pictures:
        grounds = [row for row in read_backgrounds(HERE / "eval_backgrounds.csv") if not only or row.name in only]
        build_backgrounds(grounds, options.eval_pictures, options.bank / "eval_backgrounds")
        kept = [row for row in read_animals(HERE / "eval_animals.csv") if not only or row.name in only]
        build_animals(kept, options.eval_pictures, options.bank / "eval_animals", 1 << 16, 1 << 16)


if __name__ == "__main__":
    main()
