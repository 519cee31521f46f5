"""Everything stillwing raises on purpose.

StillwingError
    InputError              the caller can fix it        exit 2, HTTP 422
        UnreadableFrame     this one file; the run goes on
        OutsideModel        a number beyond a model's range
        BadTables           a folder of tables with mistakes, all of them named
        UnknownThing        a name that the field book or a catalogue does not hold   HTTP 404
    FieldBookError          the stored book is at odds   exit 3, HTTP 409
        SchemaTooNew        written by a newer stillwing
    WriteFailed             a sidecar, copy or export could not be written   exit 4, HTTP 507
    ForecastUnavailable     no forecast could be fetched, and none is kept   exit 1, HTTP 503
"""

from pathlib import Path

__all__ = [
    "BadTables",
    "FieldBookError",
    "ForecastUnavailable",
    "InputError",
    "OutsideModel",
    "SchemaTooNew",
    "StillwingError",
    "UnknownThing",
    "UnreadableFrame",
    "WriteFailed",
]


class StillwingError(Exception):
    """Any failure that stillwing can explain in one sentence."""

    exit_code = 1
    http_status = 500


class InputError(StillwingError):
    """The caller gave something that cannot be used."""

    exit_code = 2
    http_status = 422


class UnreadableFrame(InputError):
    """A file could not be read or decoded; the run records it and goes on."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path}: {reason}")
        self.path, self.reason = path, reason

    def __reduce__(self) -> tuple[type["UnreadableFrame"], tuple[Path, str]]:
        # Exceptions travel between worker processes; the default pickles only the message.
        return UnreadableFrame, (self.path, self.reason)


class OutsideModel(InputError, ValueError):
    """A value lies outside the range that a model covers."""

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        super().__init__(f"{name} is {value:g} {unit}; this model covers {low:g} to {high:g} {unit}")
        self.name, self.value, self.low, self.high = name, value, low, high


class BadTables(InputError):
    """A folder of tables holds mistakes; each is one sentence with file and line."""

    def __init__(self, folder: Path, mistakes: tuple[str, ...]) -> None:
        first = mistakes[0] if len(mistakes) == 1 else "; ".join(f"({n}) {told}" for n, told in enumerate(mistakes, 1))
        super().__init__(f"{folder} cannot be used: {first}")
        self.folder, self.mistakes = folder, mistakes


class UnknownThing(InputError):
    """A name or key that the field book or a catalogue does not hold."""

    http_status = 404


class FieldBookError(StillwingError):
    """The stored field book cannot be used as it is."""

    exit_code = 3
    http_status = 409


class SchemaTooNew(FieldBookError):
    """The field book was written by a newer stillwing."""


class ForecastUnavailable(StillwingError):
    """No forecast could be fetched, and none is kept."""

    http_status = 503


class WriteFailed(StillwingError):
    """A sidecar, a copy or an export could not be written; nothing was left half done."""

    exit_code = 4
    http_status = 507

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path}: {reason}")
        self.path, self.reason = path, reason
