"""How fast a folder is sifted, against the least that reading its files costs and against the plain way.

Three ways are run in turn over the same 20 MP files, both cores in use in each: (a) the floor: read each file, decode
it once at full size to grey, nothing else; (b) the whole of ``sift``: listing, worker processes started, measuring,
field book, choosing; (c) the plain way: OpenCV decodes each frame fully to grey and takes the variance of the
Laplacian. The workers of (a) and (c) are started before the clock. Then the peak of memory over all processes for 200
and 2,000 frames.

    python benchmarks/speed.py [--quick] [--json FILE] [--folder FOLDER]
"""

import argparse
import json
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from speed_files import FileSet, write_files
from speed_work import decode_only, plain_sharpness
from stillwing import SiftRun, sift
from stillwing.frames.sift import n_cores
from stillwing.frames.workers import WorkerPool

FILES_AT_ONCE = 8
SAMPLE_EVERY_S = 0.05
SIZE_PX = (5184, 3888)
SMALL_SIZE_PX = (1024, 768)
STOPPED = 130
SHARP_FOR = "print 30 cm at 240 ppi"


@dataclass(frozen=True, slots=True)
class Plan:
    """How much is run."""

    n_frames: int
    n_rounds: int
    memory_size_px: tuple[int, int]
    memory_megabytes: float
    watch_memory_s: float
    """A run is stopped after this time: all frames are listed at once, and after some chunks memory stays."""


QUICK = Plan(n_frames=48, n_rounds=1, memory_size_px=SMALL_SIZE_PX, memory_megabytes=0.12, watch_memory_s=8)
FULL = Plan(n_frames=240, n_rounds=3, memory_size_px=(2592, 1944), memory_megabytes=1.1, watch_memory_s=1800)


@dataclass(frozen=True, slots=True)
class Timing:
    """Medians over the rounds, per frame."""

    files: FileSet
    floor_ms: float
    sift_ms: float
    plain_ms: float
    sift_over_floor: float
    plain_over_sift: float


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="few frames, one round, small pictures for memory")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    parser.add_argument("--folder", type=Path, help="where the files are written; a temporary folder otherwise")
    asked = parser.parse_args()
    plan = QUICK if asked.quick else FULL
    with tempfile.TemporaryDirectory(dir=asked.folder, prefix="speed-") as folder:
        figures = measure(Path(folder), plan)
    print(table(figures, plan))
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def measure(folder: Path, plan: Plan) -> dict[str, Any]:
    """Return the figures under the names of the table."""
    light = FileSet(*SIZE_PX, 4.5, plan.n_frames)
    figures: dict[str, Any] = {}
    for files in (light, replace(light, megabytes=9.0)):
        timing = time_three_ways(folder, files, plan.n_rounds)
        kind = f"{files.megabytes:g}mb".replace(".", "_")
        figures |= {
            f"floor_{kind}_ms": timing.floor_ms,
            f"sift_{kind}_ms": timing.sift_ms,
            f"plain_{kind}_ms": timing.plain_ms,
            f"sift_over_floor_{kind}": timing.sift_over_floor,
            f"plain_over_sift_{kind}": timing.plain_over_sift,
        }
    figures["sift_over_floor"] = max(figures["sift_over_floor_4_5mb"], figures["sift_over_floor_9mb"])
    figures["plain_over_sift"] = min(figures["plain_over_sift_4_5mb"], figures["plain_over_sift_9mb"])
    figures |= measure_previews(folder, replace(light, has_preview=True), plan.n_rounds)
    for n_frames in (200, 2000):
        small = FileSet(*plan.memory_size_px, plan.memory_megabytes, n_frames)
        figures[f"peak_mib_{n_frames}"] = peak_mib(folder, small, plan.watch_memory_s)
    return figures


def time_three_ways(folder: Path, files: FileSet, n_rounds: int) -> Timing:
    """Return what each way costs over the same files, the ways in turn within each round."""
    place = folder / "files"
    paths = write_files(place, files)
    ways: tuple[Callable[[], float], ...] = (
        lambda: time_pool(decode_only, paths),
        lambda: time_sift(place, folder / "book.sqlite")[0],
        lambda: time_pool(plain_sharpness, paths),
    )
    rounds = [[1000 * way() / len(paths) for way in ways] for _ in range(n_rounds)]
    shutil.rmtree(place)
    floor_ms, sift_ms, plain_ms = (statistics.median(way) for way in zip(*rounds, strict=True))
    return Timing(
        files=files,
        floor_ms=floor_ms,
        sift_ms=sift_ms,
        plain_ms=plain_ms,
        sift_over_floor=statistics.median(b / a for a, b, _ in rounds),
        plain_over_sift=statistics.median(c / b for _, b, c in rounds),
    )


def measure_previews(folder: Path, files: FileSet, n_rounds: int) -> dict[str, Any]:
    """Return the cost over files with embedded previews, and whether the keepers are those of a full decode."""
    place, book = folder / "files", folder / "book.sqlite"
    paths = write_files(place, files)
    ratios, with_previews = [], ()
    for _ in range(n_rounds):
        floor_s = time_pool(decode_only, paths)
        sift_s, with_previews = time_sift(place, book)
        ratios.append(sift_s / floor_s)
    _, without = time_sift(place, book, use_previews=False)
    shutil.rmtree(place)
    return {
        "preview_sift_over_floor": statistics.median(ratios),
        "preview_keepers_unchanged": with_previews == without,
        "n_keepers": len(without),
    }


def time_pool(work: Callable[[Sequence[Path]], Any], paths: Sequence[Path]) -> float:
    """Return the time that the workers take for all files, once they run. [s]"""
    parts = [paths[i : i + FILES_AT_ONCE] for i in range(0, len(paths), FILES_AT_ONCE)]
    with WorkerPool(n_cores()) as pool:
        for warm in [pool.submit(work, paths[:1]) for _ in range(2 * n_cores())]:
            warm.result()
        started = time.perf_counter()
        for answer in [pool.submit(work, part) for part in parts]:
            answer.result()
        return time.perf_counter() - started


def time_sift(folder: Path, book: Path, *, use_previews: bool = True) -> tuple[float, tuple[str, ...]]:
    """Return the time of a whole run with a new field book, and the names of the keepers. [s]"""
    for file in book.parent.glob(f"{book.name}*"):
        file.unlink()
    started = time.perf_counter()
    sifted = sift(folder, book=book, sharp_for=SHARP_FOR, run=SiftRun(use_previews=use_previews))
    elapsed_s = time.perf_counter() - started
    return elapsed_s, tuple(keeper.path.name for keeper in sifted.keepers)


def peak_mib(folder: Path, files: FileSet, watch_s: float) -> float:
    """Return the most memory that a run's processes held at one time, as the sum of their resident sets."""
    place = folder / "many"
    write_files(place, files)
    command = ["sift", str(place), "--book", str(folder / "many.sqlite"), "--json"]
    run = subprocess.Popen(
        [sys.executable, "-c", "from stillwing.cli.app import main; main()", *command],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    peak_kib, until = 0, time.monotonic() + watch_s
    while run.poll() is None and time.monotonic() < until:
        peak_kib = max(peak_kib, resident_kib(run.pid))
        time.sleep(SAMPLE_EVERY_S)
    if run.poll() is None:
        run.send_signal(signal.SIGINT)
    run.communicate()
    if run.returncode not in (0, STOPPED):
        raise SystemExit(f"the run over {files.n_frames} frames ended with exit code {run.returncode}")
    shutil.rmtree(place)
    for file in folder.glob("many.sqlite*"):
        file.unlink()
    return peak_kib / 1024


def resident_kib(pid: int) -> int:
    """Return the resident set of a process and its children; what they share counts in each."""
    proc = Path(f"/proc/{pid}")
    try:
        status = (proc / "status").read_text()
        children = [
            int(child) for task in (proc / "task").iterdir() for child in (task / "children").read_text().split()
        ]
    except (FileNotFoundError, ProcessLookupError):
        return 0
    own = next((int(line.split()[1]) for line in status.splitlines() if line.startswith("VmRSS")), 0)
    return own + sum(map(resident_kib, children))


def table(figures: dict[str, Any], plan: Plan) -> str:
    """Return the figures as text."""
    lines = [f"{plan.n_frames} frames of 20 MP, {plan.n_rounds} round(s), {n_cores()} cores; ms per frame", ""]
    lines.append(f"{'':12}{'floor':>9}{'sift':>9}{'plain':>9}{'sift/floor':>12}{'plain/sift':>12}")
    for label, kind in (("4.5 MB", "4_5mb"), ("9 MB", "9mb")):
        times = "".join(f"{figures[f'{way}_{kind}_ms']:9.1f}" for way in ("floor", "sift", "plain"))
        ratios = f"{figures[f'sift_over_floor_{kind}']:12.2f}{figures[f'plain_over_sift_{kind}']:12.2f}"
        lines.append(f"{label:12}{times}{ratios}")
    same = "unchanged" if figures["preview_keepers_unchanged"] else "CHANGED"
    lines += [
        "",
        f"with embedded previews: sift/floor {figures['preview_sift_over_floor']:.2f}, "
        f"{figures['n_keepers']} keepers, {same}",
        f"peak memory of all processes: {figures['peak_mib_200']:.0f} MiB at 200 frames, "
        f"{figures['peak_mib_2000']:.0f} MiB at 2,000 (of {plan.memory_size_px[0]} x {plan.memory_size_px[1]} px, "
        f"watched for up to {plan.watch_memory_s:.0f} s)",
        "",
        "goals: sift/floor at most 1.5, plain/sift at least 1.4, with previews sift/floor at most 1.1, memory flat",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    main()
