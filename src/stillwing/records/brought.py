"""Several files of sightings read at once: all of them, or none and every mistake by file and line."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.errors import BadTables, InputError
from stillwing.fieldbook.sighting import Sighting
from stillwing.records.darwinreader import read_archive, read_simple

__all__ = ["Brought", "brought"]


@dataclass(frozen=True, slots=True)
class Brought:
    """What files gave.

    Attributes
    ----------
    files : tuple of str
        Their names.
    sightings : tuple of Sighting
        In the order of the files; none where any file holds a mistake.
    told : tuple of str
        What was kept without being understood, or left; one sentence each.
    mistakes : tuple of str
        What cannot be read, one sentence each with file and line.
    """

    files: tuple[str, ...]
    sightings: tuple[Sighting, ...]
    told: tuple[str, ...]
    mistakes: tuple[str, ...]


def brought(files: Sequence[tuple[str, bytes]]) -> Brought:
    """Return what files hold, each given as its name and its bytes.

    A file whose name ends in ``.zip`` is a Darwin Core Archive, any other Simple Darwin Core.
    """
    sightings: list[Sighting] = []
    told: list[str] = []
    mistakes: list[str] = []
    for name, content in files:
        try:
            taken = (read_archive if name.lower().endswith(".zip") else read_simple)(content, name)
        except BadTables as error:
            mistakes += [f"{name}, {mistake}" for mistake in error.mistakes]
        except InputError as error:
            mistakes.append(str(error))
        else:
            sightings += taken.sightings
            told += [f"{name}: {sentence}" for sentence in taken.told]
    return Brought(tuple(name for name, _ in files), () if mistakes else tuple(sightings), tuple(told), tuple(mistakes))
