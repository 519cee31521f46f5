"""What a person types of a sighting, and the options that adding and changing one share."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated, Any
from uuid import UUID

import typer

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.sighting import Where
from stillwing.fieldbook.sightings import KeptSighting, sightings
from stillwing.fieldbook.sightingtime import read_when
from stillwing.fieldbook.sightingwords import Doing, LifeStage, SightedSex, Verification
from stillwing.records.typedplace import distance_words, read_place

__all__ = ["CLEARED", "SHORT_ID", "ByOption", "CountOption", "DateOption", "DoingOption", "NamedByOption"]
__all__ += ["PlaceNameOption", "PlaceOption", "RemarksOption", "SensitiveOption", "SexOption", "StageOption"]
__all__ += ["TypedSighting", "UncertaintyOption", "VerificationOption", "sighting_asked"]

DateOption = Annotated[
    str | None, typer.Option("--date", help="2024-07-06, 2024-07-06T14:30+01:00, or two of either with / between.")
]
PlaceOption = Annotated[str | None, typer.Option(help='Grid reference, or "latitude, longitude".')]
PlaceNameOption = Annotated[str | None, typer.Option(help="What the place is called.")]
UncertaintyOption = Annotated[
    float | None,
    typer.Option("--uncertainty-m", help="How far the place may be off, in m; a square's own when not given."),
]
CountOption = Annotated[int | None, typer.Option(help="Animals seen; 0 where it was looked for and not found.")]
SexOption = Annotated[list[SightedSex] | None, typer.Option(help="Sex that was seen. Repeatable.")]
StageOption = Annotated[LifeStage | None, typer.Option(help="Stage of life.")]
DoingOption = Annotated[list[Doing] | None, typer.Option(help="What they did. Repeatable.")]
ByOption = Annotated[list[str] | None, typer.Option("--by", help="Who saw it. Repeatable.")]
NamedByOption = Annotated[list[str] | None, typer.Option("--identified-by", help="Who named it. Repeatable.")]
VerificationOption = Annotated[Verification | None, typer.Option(help="How far others stand behind the name.")]
RemarksOption = Annotated[str | None, typer.Option(help="Remarks, in one line.")]
SensitiveOption = Annotated[
    bool | None,
    typer.Option(
        "--sensitive/--not-sensitive", help="Whether the exact place is for you alone; as the pack tells it else."
    ),
]

SHORT_ID = 8
"""Signs of an identity that are shown and that name a sighting where no other begins so."""
CLEARED: Mapping[str, tuple[str, Any]] = MappingProxyType(
    {
        "count": ("count", None),
        "sex": ("sexes", ()),
        "stage": ("stage", None),
        "doing": ("doing", ()),
        "by": ("recorded_by", ()),
        "identified-by": ("identified_by", ()),
        "remarks": ("remarks", ""),
    }
)
"""Parts that can be emptied: the field of each, and what stands where nobody knows."""
_ID = re.compile(r"[0-9a-f-]{1,36}")


@dataclass(frozen=True, slots=True)
class TypedSighting:
    """What was typed of a sighting; ``None`` where nothing was."""

    on: str | None
    place: str | None
    place_name: str | None
    uncertainty_m: float | None
    count: int | None
    sexes: list[SightedSex] | None
    stage: LifeStage | None
    doing: list[Doing] | None
    recorded_by: list[str] | None
    identified_by: list[str] | None
    verification: Verification | None
    remarks: str | None

    @property
    def parts(self) -> dict[str, Any]:
        """The fields of a sighting that were typed, without its place.

        Raises
        ------
        InputError
            If the time cannot be read.
        """
        lists = ("sexes", "doing", "recorded_by", "identified_by")
        told: dict[str, Any] = {"count": self.count, "stage": self.stage, "verification": self.verification}
        told |= {name: tuple(getattr(self, name)) for name in lists if getattr(self, name)}
        told["remarks"] = self.remarks
        told["when"] = None if self.on is None else read_when(self.on)
        return {name: value for name, value in told.items() if value is not None}

    def where(self, before: Where | None, tell: Callable[[str], None]) -> Where | None:
        """Return the place as typed, the parts not typed as before; how it was understood is told.

        Raises
        ------
        InputError
            If it is no place, or is said to be known better than it is written.
        """
        name = self.place_name if self.place_name is not None else "" if before is None else before.name
        if self.place is None:
            return self._named(before, name)
        found = read_place(self.place)
        if self.uncertainty_m is not None and self.uncertainty_m < found.least_uncertainty_m:
            least_m = found.least_uncertainty_m
            raise InputError(
                f"--uncertainty-m is {self.uncertainty_m:g}, and the place as it is written leaves "
                f"{distance_words(least_m)} open; write it finer, or give {least_m:g} or more"
            )
        tell(f"place: {found.told}")
        metres = found.uncertainty_m if self.uncertainty_m is None else self.uncertainty_m
        return Where(found.latitude, found.longitude, metres, None, name)

    def _named(self, before: Where | None, name: str) -> Where | None:
        if before is None:
            return Where(uncertainty_m=self.uncertainty_m, name=name) if name or self.uncertainty_m else None
        metres = before.uncertainty_m if self.uncertainty_m is None else self.uncertainty_m
        return Where(before.latitude, before.longitude, metres, before.precision_deg, name)


def sighting_asked(book: FieldBook, typed: str) -> KeptSighting:
    """Return the sighting whose identity begins as it was typed.

    Raises
    ------
    UnknownThing
        If none does.
    InputError
        If several do.
    """
    begins = typed.strip().lower().removeprefix("urn:uuid:")
    found = [kept for kept in sightings(book) if _ID.fullmatch(begins) and str(kept.sighting.id).startswith(begins)]
    if not found:
        raise UnknownThing(f'no sighting begins with "{typed}"; see stillwing sightings list')
    if len(found) > 1:
        names = ", ".join(_short(kept.sighting.id, len(begins)) for kept in found[:3])
        raise InputError(f'{len(found)} sightings begin with "{typed}", such as {names}; write more of it')
    return found[0]


def _short(identity: UUID, n_typed: int) -> str:
    return str(identity)[: max(SHORT_ID, n_typed + 4)]
