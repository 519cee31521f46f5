"""``stillwing sightings add`` and ``change``: one record, from a burst, from what is typed, or both."""

from dataclasses import replace
from typing import Annotated, Any

import typer

from stillwing.cli.asked import BookOption, asked_burst, asked_outing
from stillwing.cli.sightingstable import sightings_table
from stillwing.cli.sightingswords import (
    CLEARED,
    ByOption,
    CountOption,
    DateOption,
    DoingOption,
    NamedByOption,
    PlaceNameOption,
    PlaceOption,
    RemarksOption,
    SensitiveOption,
    SexOption,
    StageOption,
    TypedSighting,
    UncertaintyOption,
    VerificationOption,
    sighting_asked,
)
from stillwing.cli.terminal import print_table, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.looks import look_of
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import KeptSighting, keep_sighting
from stillwing.records.filing import KnownNames, known_names
from stillwing.records.proposedsighting import proposed_sighting

__all__ = ["add_sighting", "change_sighting"]


def add_sighting(
    name: Annotated[str, typer.Argument(help="Scientific or English name, as far as it is known.")],
    outing: Annotated[str | None, typer.Option(help="Outing that it was seen on; of a burst, the newest else.")] = None,
    burst: Annotated[
        str | None, typer.Option(help="Burst that shows it, which tells when, where and doing what.")
    ] = None,
    on: DateOption = None,
    place: PlaceOption = None,
    place_name: PlaceNameOption = None,
    uncertainty_m: UncertaintyOption = None,
    count: CountOption = None,
    sex: SexOption = None,
    stage: StageOption = None,
    doing: DoingOption = None,
    by: ByOption = None,
    identified_by: NamedByOption = None,
    verification: VerificationOption = None,
    remarks: RemarksOption = None,
    sensitive: SensitiveOption = None,
    book: BookOption = None,
) -> None:
    """Keep a sighting: what a burst tells, or what you type, which stands in its place.

    English names are turned into scientific ones by the packs. A sighting of a species that a pack tells to be
    protected or rare is marked sensitive unless you say otherwise.
    """
    typed = TypedSighting(
        on, place, place_name, uncertainty_m, count, sex, stage, doing, by, identified_by, verification, remarks
    )
    names = _names()
    with open_book(book) as opened:
        visit = None if outing is None and burst is None else asked_outing(opened, outing)
        bursts: tuple[int, ...] = ()
        if burst is not None and visit is not None:
            trace = asked_burst(opened, visit, burst)
            proposed = proposed_sighting(opened, trace, _scientific(name, names), look_of(opened, trace.id))
            for sentence in proposed.told:
                say(f"{trace.name}: {sentence}")
            sighting, bursts = _changed(proposed.sighting, typed, name, names), (trace.id,)
        else:
            sighting = _typed_alone(typed, name, names)
        sighting = _with_sensitivity(sighting, sensitive, names)
        kept = keep_sighting(opened, sighting, outing_id=None if visit is None else visit.id, bursts=bursts)
    _print(kept, names)


def change_sighting(
    sighting: Annotated[str, typer.Argument(metavar="ID", help="Identity, or its first signs as the list shows them.")],
    name: Annotated[str | None, typer.Option(help="Scientific or English name.")] = None,
    on: DateOption = None,
    place: PlaceOption = None,
    place_name: PlaceNameOption = None,
    uncertainty_m: UncertaintyOption = None,
    count: CountOption = None,
    sex: SexOption = None,
    stage: StageOption = None,
    doing: DoingOption = None,
    by: ByOption = None,
    identified_by: NamedByOption = None,
    verification: VerificationOption = None,
    remarks: RemarksOption = None,
    sensitive: SensitiveOption = None,
    clear: Annotated[list[str] | None, typer.Option(help=f"Empty a part: {', '.join(CLEARED)}. Repeatable.")] = None,
    book: BookOption = None,
) -> None:
    """Change what is typed of a sighting and leave the rest; undo brings back what stood."""
    typed = TypedSighting(
        on, place, place_name, uncertainty_m, count, sex, stage, doing, by, identified_by, verification, remarks
    )
    names = _names()
    with open_book(book) as opened:
        before = sighting_asked(opened, sighting)
        changed = _changed(before.sighting, typed, name, names, _cleared(clear or []))
        is_elsewhere = (changed.scientific_name, changed.where) != (
            before.sighting.scientific_name,
            before.sighting.where,
        )
        if sensitive is not None or is_elsewhere:
            changed = _with_sensitivity(changed, sensitive, names)
        _print(_keep(opened, before, changed), names)


def _keep(book: FieldBook, before: KeptSighting, changed: Sighting) -> KeptSighting:
    if changed == before.sighting:
        raise InputError("nothing is changed; give what shall stand, such as --count 3")
    return keep_sighting(book, changed, outing_id=before.outing_id, bursts=before.bursts)


def _typed_alone(typed: TypedSighting, name: str, names: KnownNames) -> Sighting:
    parts, where = typed.parts, typed.where(None, say)
    if "when" not in parts or where is None:
        raise InputError("a sighting has a day and a place; give --date and --place or --place-name, or name a --burst")
    return Sighting(where=where, **_name_parts(name, names), **parts)


def _changed(
    before: Sighting, typed: TypedSighting, name: str | None, names: KnownNames, cleared: dict[str, Any] | None = None
) -> Sighting:
    renamed = {} if name is None else _name_parts(name, names)
    return replace(before, **{**(cleared or {}), **typed.parts, **renamed, "where": typed.where(before.where, say)})


def _cleared(parts: list[str]) -> dict[str, Any]:
    strange = [part for part in parts if part not in CLEARED]
    if strange:
        raise InputError(f"--clear is {strange[0]!r}; it is one of {', '.join(CLEARED)}")
    return dict(CLEARED[part] for part in parts)


def _name_parts(name: str, names: KnownNames) -> dict[str, Any]:
    scientific = _scientific(name, names)
    if scientific.casefold() == name.strip().casefold():
        if scientific not in names.species:
            say(f"no pack knows {scientific}; it stands as the scientific name")
        return {"scientific_name": scientific}
    say(f"{name.strip()} is {scientific}")
    return {"scientific_name": scientific, "name_as_written": name.strip()}


def _scientific(name: str, names: KnownNames) -> str:
    return names.scientific(name.strip())


def _with_sensitivity(sighting: Sighting, typed: bool | None, names: KnownNames) -> Sighting:
    why = names.why_sensitive(sighting.scientific_name, sighting.where)
    if typed is None:
        if why is None or sighting.sensitive:
            return sighting
        say(f"marked sensitive, since {why}; --not-sensitive takes it back")
        return replace(sighting, sensitive=True)
    if not typed and why is not None:
        say(f"not sensitive, as you say, though {why}")
    return replace(sighting, sensitive=typed)


def _names() -> KnownNames:
    names = known_names()
    for trouble in names.troubles:
        say(trouble)
    return names


def _print(kept: KeptSighting, names: KnownNames) -> None:
    print_table(sightings_table((kept,), names))
