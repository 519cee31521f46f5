"""Where the sidecars of a shot lie.

``NAME.xmp`` stands for all files of a shot, such as ``NAME.JPG`` and its RAW. Where ``NAME.xmp`` or
``NAME.JPG.xmp`` is there already, in whatever case, what is there is used: both, if there are both. Where two
shots in a folder differ by their ending only, each gets a ``NAME.ENDING.xmp``.
"""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

__all__ = ["sidecar_paths"]


def sidecar_paths(shots: Sequence[Sequence[Path]]) -> list[tuple[Path, ...]]:
    """Return the sidecars of each shot, given the files of each; see the head of this module for how they are named."""
    names: dict[Path, dict[str, list[str]]] = {}
    claims = Counter(stem for files in shots for stem in {_stem(file) for file in files})
    return [_sidecars_of(files, claims, names) for files in shots]


def _sidecars_of(
    files: Sequence[Path], claims: Counter[tuple[Path, str]], names: dict[Path, dict[str, list[str]]]
) -> tuple[Path, ...]:
    there, usual = [], []
    for file in files:
        is_shared = claims[_stem(file)] > 1
        by_stem, by_name = f"{file.stem}.xmp", f"{file.name}.xmp"
        if file.parent not in names:
            names[file.parent] = _names_in(file.parent)
        listed = names[file.parent]
        for name in [by_name] if is_shared else [by_stem, by_name]:
            there += [file.with_name(one) for one in listed.get(name.lower(), [])]
        usual.append(file.with_name(by_name if is_shared else by_stem))
    return tuple(dict.fromkeys(there or usual))


def _stem(file: Path) -> tuple[Path, str]:
    return file.parent, file.stem.lower()


def _names_in(folder: Path) -> dict[str, list[str]]:
    """Return the sidecars in a folder by their name in lower case."""
    names: dict[str, list[str]] = {}
    try:
        for entry in sorted(folder.iterdir()):
            if entry.suffix.lower() == ".xmp":
                names.setdefault(entry.name.lower(), []).append(entry.name)
    except OSError:
        # The folder cannot be read; the attempt to write into it will say what is wrong with it.
        return {}
    return names
