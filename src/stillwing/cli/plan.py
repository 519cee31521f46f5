"""``stillwing plan``: which hour, which stand, which way to face."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.plantable import plan_json, plan_lines, plan_table
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.planning import PlanAsked, plan_asked
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR
from stillwing.optics.subject import Behaviour
from stillwing.plan.question import ENCOUNTERS_AN_HOUR
from stillwing.plan.sentences import heading_words
from stillwing.review.keepersheld import read_own_share
from stillwing.share.plancopies import check_copy_path, write_copy

__all__ = ["plan_a_day"]


def plan_a_day(
    site: Annotated[
        str | None, typer.Argument(help="Site of the field book; the only one, or the example site, when not given.")
    ] = None,
    day: Annotated[str | None, typer.Option("--date", help="Day, such as 2026-07-15; tomorrow when not given.")] = None,
    animal: Annotated[str, typer.Option(help='Animal, such as "75 mm hawker" or gull.')] = "hawker",
    doing: Annotated[
        Behaviour, typer.Option(help="What it does: hover, pass, perch, take-off or landing.")
    ] = Behaviour.HOVER,
    distance: Annotated[
        float | None, typer.Option(help="Distance to the animal, in m; 3 (birds 20) when not given.")
    ] = None,
    size: Annotated[
        float | None, typer.Option(help="Instead of a distance: its size in the frame, in percent.")
    ] = None,
    weather: Annotated[
        str, typer.Option(help='The day\'s weather in words: "18 C, wind 3 m/s from SW, cloud 40 %, rain 0 mm".')
    ] = "",
    weather_file: Annotated[
        Path | None, typer.Option(help="Hourly weather: a CSV table, or a forecast that was saved as JSON.")
    ] = None,
    forecast: Annotated[
        str | None,
        typer.Option(help="Ask a service by its key, open-meteo or met-norway; it is told the place to 0.01 degrees."),
    ] = None,
    kit: Annotated[str | None, typer.Option(help="Kit of the field book; the standing one when not given.")] = None,
    focal_length: Annotated[
        float | None, typer.Option(help="Focal length as engraved, in mm; the longest when not given.")
    ] = None,
    sharp_for: Annotated[str, typer.Option(help="What it must be sharp for, as in settings.")] = DEFAULT_SHARP_FOR,
    lens_height: Annotated[
        float, typer.Option(help="Lens above the ground, in m: standing 1.5, kneeling about 0.8.")
    ] = 1.5,
    tall: Annotated[float, typer.Option(help="How tall you are, in m: for your own shadow.")] = 1.8,
    animal_height: Annotated[
        float | None, typer.Option(help="Animal above the water, in m; 0.5 (birds 3) when not given.")
    ] = None,
    side: Annotated[
        str | None, typer.Option(help="The one side that counts: face, front quarter, flank, back quarter or tail.")
    ] = None,
    encounters: Annotated[
        float, typer.Option(help="How often one comes into reach while they fly, an hour.")
    ] = ENCOUNTERS_AN_HOUR,
    every: Annotated[float, typer.Option(help="Step of the plan, in minutes.")] = 10.0,
    optics_alone: Annotated[
        bool, typer.Option("--optics-alone", help="Plan without what the bursts of your own outings tell of sharpness.")
    ] = False,
    write: Annotated[
        list[Path] | None,
        typer.Option(help="Write the plan to a file too: .pdf, .ics, .gpx or .geojson by its name. Repeatable."),
    ] = None,
    book: BookOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the plan as one JSON object.")] = False,
) -> None:
    """Plan a day at a water: which hours, which stand, which way to face, and what would spoil it.

    Without a site in the field book the example site answers, without a kit the example kit. What is not known of the
    weather is left unknown, and the plan says so.
    """
    asked = PlanAsked(
        animal, doing, site, _day(day), distance, size, kit, focal_length, sharp_for, weather, weather_file, forecast,
        lens_height, tall, animal_height, side, encounters, every,
    )  # fmt: skip
    for path in write or ():
        check_copy_path(path)
    with open_book(book) as opened:
        own = None if optics_alone else read_own_share(opened)
        told = plan_asked(opened, replace(asked, own=own))
    for path in write or ():
        write_copy(told, path, datetime.now(UTC))
        say(f"{path}: {heading_words(told)}")
    if as_json:
        print_data(plan_json(told))
        return
    for caution in told.cautions:
        say(caution)
    for line in plan_lines(told):
        print_data(line)
    print_table(plan_table(told))
    for doubt in told.doubts:
        say(doubt)
    if told.weather.credit:
        say(told.weather.credit)


def _day(words: str | None) -> date | None:
    if words is None:
        return None
    try:
        return date.fromisoformat(words.strip())
    except ValueError as error:
        raise InputError(
            f'the date is "{words.strip()}"; write it as year, month and day, such as 2026-07-15'
        ) from error
