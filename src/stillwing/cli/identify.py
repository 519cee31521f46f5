"""``stillwing identify``: which species an animal may be, by a burst and by what is typed of it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from stillwing.animals.catalogue import Group
from stillwing.cli.asked import BookOption, asked_burst, asked_outing
from stillwing.cli.identifytable import (
    candidates_table,
    identification_json,
    questions_table,
    region_words,
    regions_json,
    regions_table,
    verdict_sentences,
)
from stillwing.cli.identifywords import answers_asked, day_asked, length_asked, region_asked
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.errors import BadTables, InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.looks import Look, keep_look, list_picked_last, look_of
from stillwing.fieldbook.sightings import KeptSighting, sightings
from stillwing.optics.subject import Range
from stillwing.records.animalseen import SIDE_ON_DEG, animal_seen
from stillwing.records.identify import Identification, identify
from stillwing.records.nearby import area_at, nearby
from stillwing.records.pack import own_packs_folder, pack_folders, read_pack
from stillwing.records.region import Region, Sex
from stillwing.records.seen import LINE_WRONG, Seen
from stillwing.records.seenwords import known_sentences
from stillwing.records.typedplace import TypedPlace, read_place
from stillwing.records.verdict import cautions

__all__ = ["identify_animal"]

NOTHING_TOLD = "nothing is told of the animal; name a burst, or what was seen with --date, --length, --group or --seen"
NOT_KEPT = "; date, place and length typed here are not"


def identify_animal(
    outing: Annotated[str | None, typer.Option(help="Outing of the burst; the newest when not given.")] = None,
    burst: Annotated[
        str | None, typer.Option(help="Name of the burst; without it, what you type counts alone.")
    ] = None,
    region: Annotated[
        str | None, typer.Option(help="Key of a list of species, or a folder of tables; see --regions.")
    ] = None,
    day: Annotated[str | None, typer.Option("--date", help="Day it was seen, such as 2024-08-10.")] = None,
    place: Annotated[str | None, typer.Option(help='Grid reference, or "latitude, longitude".')] = None,
    length: Annotated[
        str | None, typer.Option(help="Body in mm: 33-38, 35, or 33- for at least that, as where it may be turned.")
    ] = None,
    group: Annotated[Group | None, typer.Option(help="Whether it is a dragonfly or a damselfly.")] = None,
    sex: Annotated[Sex | None, typer.Option(help="Sex; any takes back what was remembered.")] = None,
    seen: Annotated[
        list[str] | None, typer.Option(help='CHARACTER=STATE[,STATE], such as "abdomen colour=red". Repeatable.')
    ] = None,
    side_on: Annotated[
        bool, typer.Option("--side-on", help="The burst shows the body side on, hardly turned.")
    ] = False,
    everyone: Annotated[bool, typer.Option("--all", help="Show all candidates and questions.")] = False,
    remember: Annotated[
        bool, typer.Option("--remember", help="Keep list, group, sex and answers with the burst.")
    ] = False,
    regions: Annotated[bool, typer.Option("--regions", help="List the lists of species, and end.")] = False,
    check_pack: Annotated[
        Path | None, typer.Option(help="Read a folder of tables of your own, tell its mistakes, and end.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    book: BookOption = None,
) -> None:
    """Tell which species an animal may be, what speaks for and against each, and what to look at next.

    It narrows down and explains. Nothing is certain; a specialist verifies.
    """
    if check_pack is not None:
        _check(check_pack)
        return
    if regions:
        _list_regions(as_json)
        return
    typed = _Typed(
        region,
        None if day is None else day_asked(day),
        None if place is None else read_place(place),
        None if length is None else length_asked(length),
        group,
        sex,
        tuple(seen or ()),
        side_on,
    )
    if burst is None and (outing is not None or remember or side_on):
        raise InputError("--outing, --side-on and --remember are about a burst; name it with --burst")
    found = _by_words(book, typed) if burst is None else _by_burst(book, (outing, burst), typed, remember=remember)
    if as_json:
        print_data(identification_json(found))
    else:
        _print(found, everyone=everyone)


@dataclass(frozen=True, slots=True)
class _Typed:
    """What was typed of the animal; ``None`` or empty where nothing was."""

    region: str | None
    on: date | None
    place: TypedPlace | None
    length_mm: Range | None
    group: Group | None
    sex: Sex | None
    answers: tuple[str, ...]
    is_side_on: bool

    @property
    def is_empty(self) -> bool:
        """Whether nothing tells of the animal; the sex alone does not."""
        return not (self.group or self.answers or self.has_passing)

    @property
    def has_passing(self) -> bool:
        """Whether anything was typed that is not kept with a burst."""
        return bool(self.on or self.place or self.length_mm)

    def look(self, before: Look, region: Region) -> Look:
        """Return what was said of a burst's animal before, with what was typed in its place."""
        look = replace(
            before,
            region=region.key,
            group=self.group or before.group,
            sex=before.sex if self.sex is None else self.sex.value,
            most_tilt_deg=SIDE_ON_DEG if self.is_side_on else before.most_tilt_deg,
        )
        for answer in answers_asked(region, self.answers):
            look = look.answered(answer.character, answer.states)
        return look

    def seen(self, before: Seen, region: Region, earlier: Iterable[KeptSighting]) -> Seen:
        """Return what is known with date, length and place as typed."""
        seen = replace(before, on=self.on or before.on)
        if self.length_mm is not None:
            seen = replace(seen, length_mm=self.length_mm, length_wrong=LINE_WRONG)
        if self.place is None:
            return seen
        at = self.place.latitude, self.place.longitude
        known = nearby(region, [kept.sighting for kept in earlier], *at)
        return replace(seen, area=area_at(region, *at), nearby=known)


def _by_burst(book: Path | None, named: tuple[str | None, str], typed: _Typed, *, remember: bool) -> Identification:
    outing, burst = named
    with open_book(book) as opened:
        trace = asked_burst(opened, asked_outing(opened, outing), burst)
        before = look_of(opened, trace.id)
        region = region_asked(typed.region, before.region or list_picked_last(opened))
        if remember and region.key not in pack_folders():
            raise InputError(
                f"a list of species outside {own_packs_folder()} is not remembered; put its folder there first"
            )
        look = typed.look(before, region)
        known = animal_seen(opened, trace, region, look)
        earlier = (kept for kept in sightings(opened) if trace.id not in kept.bursts)
        found = identify(region, typed.seen(known.seen, region, earlier))
        if remember:
            keep_look(opened, trace.id, look)
    for sentence in known_sentences(known, region):
        say(sentence)
    if remember:
        say(f"{trace.name}: list, group, sex and answers are kept{NOT_KEPT * typed.has_passing}")
    return found


def _by_words(book: Path | None, typed: _Typed) -> Identification:
    if typed.is_empty:
        raise InputError(NOTHING_TOLD)
    region = region_asked(typed.region)
    seen = Seen(
        group=typed.group,
        sex=typed.sex or Sex.ANY,
        answers=answers_asked(region, typed.answers),
    )
    if typed.place is None:
        return identify(region, typed.seen(seen, region, ()))
    with open_book(book) as opened:
        return identify(region, typed.seen(seen, region, sightings(opened)))


def _print(found: Identification, *, everyone: bool) -> None:
    for sentence in verdict_sentences(found):
        print_data(sentence)
    print_table(candidates_table(found, everyone=everyone))
    if found.questions:
        print_table(questions_table(found, everyone=everyone))
    for caution in cautions(found):
        say(caution)


def _list_regions(as_json: bool) -> None:
    own, folders = own_packs_folder(), pack_folders()
    read: dict[str, Region | None] = {}
    for key, folder in folders.items():
        try:
            read[key] = read_pack(folder)
        except BadTables as error:
            read[key] = None
            say(str(error))
    owners = {key: "your own" if folder.parent == own else "shipped" for key, folder in folders.items()}
    if as_json:
        print_data(regions_json(read, owners))
    else:
        print_table(regions_table(read, owners))


def _check(folder: Path) -> None:
    try:
        region = read_pack(folder)
    except BadTables as error:
        for mistake in error.mistakes:
            say(mistake)
        number = len(error.mistakes)
        raise InputError(f"{folder}: {number} {'mistake' if number == 1 else 'mistakes'}; it is not used") from error
    print_data(region_words(folder, region))
