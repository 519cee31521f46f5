"""The lists of species that one may pick from, with those that cannot be used and why."""

import threading
from dataclasses import dataclass
from pathlib import Path

from stillwing.errors import BadTables, InputError
from stillwing.records.pack import pack_folders, read_pack
from stillwing.records.region import Region

__all__ = ["RegionPick", "RegionPicks", "region_picks", "usable_region"]

FileStates = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True)
class RegionPick:
    """One list of species; ``region`` is ``None`` where its tables hold mistakes, which ``trouble`` tells."""

    key: str
    name: str
    region: Region | None
    trouble: str = ""


def region_picks(own: Path | None = None) -> tuple[RegionPick, ...]:
    """Return all lists of species.

    Parameters
    ----------
    own : Path, optional
        Where a person's own lists lie; their usual folder without it.
    """
    return tuple(_pick(key, folder) for key, folder in pack_folders(own).items())


class RegionPicks:
    """`region_picks` with a memory: a list is read again when one of its files has changed; safe with several threads.

    Parameters
    ----------
    own : Path, optional
        As of `region_picks`.
    """

    def __init__(self, own: Path | None = None) -> None:
        self._own = own
        self._lock = threading.Lock()
        self._read: dict[Path, tuple[FileStates, RegionPick]] = {}

    def picks(self) -> tuple[RegionPick, ...]:
        """Return all lists of species as they are now."""
        return tuple(self._pick(key, folder) for key, folder in pack_folders(self._own).items())

    def _pick(self, key: str, folder: Path) -> RegionPick:
        states = _states(folder)
        with self._lock:
            before, pick = self._read.get(folder, ((), None))
        if pick is None or before != states:
            pick = _pick(key, folder)
            with self._lock:
                self._read[folder] = (states, pick)
        return pick


def usable_region(picks: tuple[RegionPick, ...], key: str) -> Region | None:
    """Return the list of a key; without a key the only one there is, or ``None`` where there are several.

    Raises
    ------
    InputError
        If there is no such list, or its tables hold mistakes; the sentence says which.
    """
    if not key and len(picks) > 1:
        return None
    for pick in picks:
        if key in ("", pick.key):
            if pick.region is None:
                raise InputError(pick.trouble)
            return pick.region
    known = ", ".join(pick.key for pick in picks)
    raise InputError(f'the list of species "{key}" is not there any more; there are {known}')


def _pick(key: str, folder: Path) -> RegionPick:
    try:
        region = read_pack(folder)
    except BadTables as error:
        return RegionPick(key, key, None, str(error))
    return RegionPick(key, region.name, region)


def _states(folder: Path) -> FileStates:
    return tuple((one.name, one.stat().st_size, one.stat().st_mtime_ns) for one in sorted(folder.iterdir()))
