"""The main job: a folder of burst frames in, proposed keepers with their reasons out, all of it in the field book."""

import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from stillwing.errors import InputError, UnreadableFrame
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.boxes import draw_box, drawn_boxes
from stillwing.fieldbook.choices import StandingChoice, standing_choices, store_proposals
from stillwing.fieldbook.frames import StoredBurst, measured_bursts, store_chunk
from stillwing.fieldbook.listing import known_frame_ids, store_listing, to_measure
from stillwing.fieldbook.outings import Outing, failures, open_outing, outing, outings
from stillwing.fieldbook.paths import stored_path
from stillwing.fieldbook.traces import BurstSummary, burst_summaries
from stillwing.frames.bursts import group_bursts
from stillwing.frames.choose import choose
from stillwing.frames.chosen import Choice
from stillwing.frames.chunk import MEASURED_BY
from stillwing.frames.frame import Burst, Frame
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import Blur, Box, MeasuredFrame
from stillwing.frames.merit import ChoosingRules, best_animal
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR, SharpFor, parse_sharp_for
from stillwing.frames.sift import Workplace, measure_bursts, open_workplace

__all__ = ["SiftProgress", "SiftRun", "Sifted", "SiftedBurst", "measure_again", "sift"]

ALL_BURSTS = 1_000_000


@dataclass(frozen=True, slots=True)
class SiftProgress:
    """How far a run has come; frames that could not be read count as done."""

    n_done: int
    n_to_measure: int
    n_known: int
    """Frames unchanged since an earlier run, which are not measured again."""
    elapsed_s: float

    @property
    def frames_per_s(self) -> float:
        """Mean speed of this run so far."""
        return self.n_done / self.elapsed_s if self.elapsed_s > 0 else 0.0

    @property
    def time_left_s(self) -> float | None:
        """Time until the last frame at that speed; ``None`` before the first is done."""
        return (self.n_to_measure - self.n_done) / self.frames_per_s if self.n_done else None


@dataclass(frozen=True, slots=True)
class SiftRun:
    """How to measure: what may differ between two runs without a frame's figures coming out differently."""

    workers: int | None = None
    """Processes; as many as there are cores when not given."""
    scheduler: str | None = None
    """Address of a Dask scheduler to measure on instead of this machine."""
    use_previews: bool = True
    """Leave out the full decode where the embedded preview rules the frame out."""
    again: bool = False
    """Measure unchanged frames too."""
    on_progress: Callable[[SiftProgress], None] | None = None
    """Called when measuring begins and after each chunk."""


@dataclass(frozen=True, slots=True)
class SiftedBurst:
    """One burst of the table at the end."""

    name: str
    n_frames: int
    n_found: int
    n_keep: int
    n_spare: int
    best: StandingChoice | None
    """The first to keep, or else the sharpest; ``None`` where nothing was measured."""
    best_blur: Blur | None


@dataclass(frozen=True, slots=True)
class Sifted:
    """What a run gave: the outing as it stands in the field book."""

    outing: Outing
    book_path: Path
    n_measured: int
    """Frames measured by this run."""
    n_known: int
    bursts: tuple[SiftedBurst, ...]
    choices: tuple[StandingChoice, ...]
    failed: tuple[UnreadableFrame, ...]
    elapsed_s: float

    @property
    def keepers(self) -> tuple[StandingChoice, ...]:
        """The frames to keep, in order of time."""
        return tuple(one for one in self.choices if one.choice is Choice.KEEP)


def sift(
    folder: Path | str,
    *,
    book: Path | str | None = None,
    outing: str | None = None,
    sharp_for: str = DEFAULT_SHARP_FOR,
    boxes: Mapping[Path, Box] = MappingProxyType({}),
    run: SiftRun | None = None,
) -> Sifted:
    """Measure every burst frame under ``folder`` that is new or changed, and propose which to keep.

    A stopped run continues where it was; a person's choices are never changed; the pictures are only read.

    Parameters
    ----------
    folder : path
        Searched with all folders below it.
    book : path, optional
        The field book; the user's own when not given.
    outing : str, optional
        Name of the outing; the folder's name when not given.
    sharp_for : str
        What a keeper must be sharp for: ``full``, ``print 30 cm at 240 ppi`` or ``screen 2560``.
    boxes : mapping of Path to Box
        Boxes drawn by a person, by file, in pixels of the upright original; the rest of the burst follows them.
    run : SiftRun, optional
        Workers, cluster, progress.

    Raises
    ------
    InputError
        If there is no such folder or no picture in it, or an argument cannot be used.
    FieldBookError
        If the field book cannot be used.
    """
    run = run or SiftRun()
    started = time.monotonic()
    folder = stored_path(Path(folder))
    wanted = parse_sharp_for(sharp_for)
    listing = list_frames(folder)
    if not listing.frames and not listing.failed:
        raise InputError(f"{folder}: there is no picture in this folder or below it")
    bursts = group_bursts(listing.frames, root=folder)
    boxed = _boxed(boxes, listing.frames, folder)
    # The workers get ready while the book is opened and the listing stored: half a second of a short run.
    with (
        open_workplace(run.workers, run.scheduler) as place,
        open_book(None if book is None else Path(book)) as opened,
    ):
        visit = open_outing(opened, outing or _name_for(opened, folder), folder)
        store_listing(opened, visit.id, folder, bursts, listing.failed)
        _draw(opened, visit.id, boxed)
        todo = bursts if run.again else to_measure(opened, visit.id, folder, MEASURED_BY)
        n_to_measure = sum(len(burst.frames) for burst in todo)
        n_known = len(listing.frames) - n_to_measure
        n_measured = _measure(opened, visit.id, todo, n_known, run, place)
        return _close(opened, visit.id, wanted, n_measured, n_known, started)


def measure_again(book: FieldBook, outing_id: int, run: SiftRun | None = None) -> Sifted:
    """Measure what wants it in an outing already listed, such as a burst in which a box was drawn, and choose anew.

    Raises
    ------
    UnknownThing
        If there is no such outing.
    """
    run = run or SiftRun()
    started = time.monotonic()
    visit = outing(book, outing_id)
    todo = to_measure(book, outing_id, visit.folder, MEASURED_BY)
    with open_workplace(run.workers, run.scheduler) as place:
        n_measured = _measure(book, outing_id, todo, 0, run, place)
    wanted = parse_sharp_for(visit.sharp_for or DEFAULT_SHARP_FOR)
    return _close(book, outing_id, wanted, n_measured, 0, started)


def _boxed(boxes: Mapping[Path, Box], frames: Iterable[Frame], folder: Path) -> dict[Path, Box]:
    """Return the boxes by the path that is measured, whichever of the frame's files they were given for."""
    if not boxes:
        return {}
    measured = {stored_path(file): frame.path for frame in frames for file in (*frame.copies, *frame.files)}
    by_frame = {}
    for file, box in boxes.items():
        path = measured.get(stored_path(folder / file)) or measured.get(stored_path(file))
        if path is None:
            raise InputError(f"{file}: a box was given for it, but {folder} holds no such picture")
        by_frame[path] = box
    return by_frame


def _name_for(book: FieldBook, folder: Path) -> str:
    """Return the name of the outing of ``folder``, or its own name, numbered where another folder has it already."""
    known = outings(book)
    for one in known:
        if one.folder == folder:
            return one.name
    taken = {one.name for one in known}
    name = folder.name or "outing"
    numbered = (name, *(f"{name} ({i})" for i in range(2, len(taken) + 3)))
    return next(one for one in numbered if one not in taken)


def _draw(book: FieldBook, outing_id: int, boxes: Mapping[Path, Box]) -> None:
    standing = drawn_boxes(book, outing_id)
    new = {stored_path(path): box for path, box in boxes.items() if standing.get(stored_path(path)) != box}
    with book.reading() as connection:
        ids = known_frame_ids(connection, list(new))
    for path, box in new.items():
        draw_box(book, outing_id, ids[path], box)


def _measure(
    book: FieldBook, outing_id: int, bursts: Iterable[Burst], n_known: int, run: SiftRun, place: Workplace
) -> int:
    """Measure and store chunk by chunk, and return how many frames gave figures."""
    # The longest first, so that no worker is left with a long one at the end.
    bursts = sorted(bursts, key=lambda burst: -len(burst.frames))
    n_to_measure = sum(len(burst.frames) for burst in bursts)
    drawn = drawn_boxes(book, outing_id)
    started = time.monotonic()
    n_done = n_measured = 0
    report = run.on_progress or (lambda progress: None)
    report(SiftProgress(0, n_to_measure, n_known, 0.0))
    for chunk in measure_bursts(bursts, drawn=drawn, use_previews=run.use_previews, place=place):
        store_chunk(book, outing_id, chunk.frames, chunk.failed, code_version=MEASURED_BY, drawn=drawn)
        n_measured += len(chunk.frames)
        n_done += len(chunk.frames) + len(chunk.failed)
        report(SiftProgress(n_done, n_to_measure, n_known, time.monotonic() - started))
    return n_measured


def _close(
    book: FieldBook, outing_id: int, sharp_for: SharpFor, n_measured: int, n_known: int, started: float
) -> Sifted:
    """Propose choices for the whole outing, store them, and sum up."""
    blurs: dict[Path, Blur] = {}
    proposals = choose(_noting_blurs(measured_bursts(book, outing_id, with_shapes=True), sharp_for, blurs), sharp_for)
    store_proposals(book, outing_id, proposals, sharp_for=sharp_for.text)
    standing = standing_choices(book, outing_id)
    return Sifted(
        outing=outing(book, outing_id),
        book_path=book.path,
        n_measured=n_measured,
        n_known=n_known,
        bursts=_sifted_bursts(burst_summaries(book, outing_id, limit=ALL_BURSTS), standing, blurs),
        choices=standing,
        failed=failures(book, outing_id),
        elapsed_s=time.monotonic() - started,
    )


def _noting_blurs(
    bursts: Iterable[StoredBurst], sharp_for: SharpFor, blurs: dict[Path, Blur]
) -> Iterator[tuple[str, tuple[MeasuredFrame, ...]]]:
    """Hand the bursts on one by one, and note each frame's blur on the way: one reading of the book serves both."""
    for burst in bursts:
        for measured in burst.frames:
            best = best_animal(measured, sharp_for, ChoosingRules())
            if best is not None:
                blurs[measured.path] = best[1]
        # The number keeps two bursts apart that share a name, one from each of two folders.
        yield f"{burst.id}", burst.frames


def _sifted_bursts(
    summaries: Iterable[BurstSummary], standing: Iterable[StandingChoice], blurs: Mapping[Path, Blur]
) -> tuple[SiftedBurst, ...]:
    measured: dict[int, list[StandingChoice]] = {}
    for one in standing:
        if one.path in blurs:
            measured.setdefault(one.burst_id, []).append(one)
    return tuple(_sifted_burst(summary, measured.get(summary.id, []), blurs) for summary in summaries)


def _sifted_burst(summary: BurstSummary, measured: list[StandingChoice], blurs: Mapping[Path, Blur]) -> SiftedBurst:
    order = list(Choice)
    best = min(measured, key=lambda one: (order.index(one.choice), blurs[one.path].blur_px), default=None)
    return SiftedBurst(
        name=summary.name,
        n_frames=summary.n_frames,
        n_found=summary.n_found,
        n_keep=summary.n_keep,
        n_spare=summary.n_spare,
        best=best,
        best_blur=None if best is None else blurs[best.path],
    )
