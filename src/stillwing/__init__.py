"""stillwing: from a folder of burst frames to the few that are sharp on the animal.

The names below are the public Python interface; each is loaded from its home when first used, so that a worker process
or a command pays only for what it needs.

Examples
--------
>>> from stillwing import sift                                      # doctest: +SKIP
>>> for keeper in sift("2024-07-14").keepers:                       # doctest: +SKIP
...     print(keeper.path.name, keeper.reason)
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stillwing.errors import FieldBookError, InputError, StillwingError, UnreadableFrame, WriteFailed
    from stillwing.fieldbook.book import open_book
    from stillwing.fieldbook.sifting import Sifted, SiftProgress, SiftRun, sift
    from stillwing.frames.chosen import Choice
    from stillwing.frames.measured import Box

__all__ = [
    "Box",
    "Choice",
    "FieldBookError",
    "InputError",
    "SiftProgress",
    "SiftRun",
    "Sifted",
    "StillwingError",
    "UnreadableFrame",
    "WriteFailed",
    "open_book",
    "sift",
]

_HOMES = {
    "Box": "stillwing.frames.measured",
    "Choice": "stillwing.frames.chosen",
    "FieldBookError": "stillwing.errors",
    "InputError": "stillwing.errors",
    "SiftProgress": "stillwing.fieldbook.sifting",
    "SiftRun": "stillwing.fieldbook.sifting",
    "Sifted": "stillwing.fieldbook.sifting",
    "StillwingError": "stillwing.errors",
    "UnreadableFrame": "stillwing.errors",
    "WriteFailed": "stillwing.errors",
    "open_book": "stillwing.fieldbook.book",
    "sift": "stillwing.fieldbook.sifting",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return [*globals(), *__all__]
