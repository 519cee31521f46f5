"""``stillwing settings``: what to set for an animal, and what gives way first."""

from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.settingstable import settings_json, settings_table
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.fieldbook.asking import Asked, answer_asked
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, HOW_TO_ADD
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR
from stillwing.optics.advice import advice
from stillwing.optics.question import HAND_HELD_DEG_S
from stillwing.optics.subject import Behaviour

__all__ = ["find_settings"]

BEFORE_THE_SUN = "Never point a long lens, or look through it, at the sun or near it."


def find_settings(
    animal: Annotated[str, typer.Argument(help='Animal, such as "75 mm hawker", "Sympetrum danae" or gull.')],
    doing: Annotated[
        Behaviour, typer.Option(help="What it does: hover, pass, perch, take-off or landing.")
    ] = Behaviour.HOVER,
    distance: Annotated[float | None, typer.Option(help="Distance from the sensor, in m.")] = None,
    size: Annotated[
        float | None, typer.Option(help="Instead of a distance: its size in the frame, in percent.")
    ] = None,
    light: Annotated[
        str,
        typer.Option(help='Light in words ("sun from the side"), as EV ("EV 13") or metered ("1/1000 f/8 ISO 400").'),
    ] = "sun",
    kit: Annotated[str | None, typer.Option(help="Kit of the field book; the standing one when not given.")] = None,
    focal_length: Annotated[
        float | None, typer.Option(help="Focal length as engraved, in mm; the longest when not given.")
    ] = None,
    sharp_for: Annotated[
        str, typer.Option(help='What it must be sharp for, as in sift: full, "print 30 cm at 240 ppi", "screen 2560".')
    ] = DEFAULT_SHARP_FOR,
    wings: Annotated[
        bool, typer.Option("--wings", help="The wings shall be in focus too, not the body alone.")
    ] = False,
    angle: Annotated[
        float | None, typer.Option(help="Body, or way, off the focal plane, in degrees; 15 when not given.")
    ] = None,
    panning_left: Annotated[
        float | None, typer.Option(help="Share of a pass's motion that panning leaves, in percent; 15 when not given.")
    ] = None,
    shake: Annotated[
        float, typer.Option(help="How fast the lens turns in the hand, in degrees a second; 0 on a tripod.")
    ] = HAND_HELD_DEG_S,
    book: BookOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as one JSON object.")] = False,
) -> None:
    """Find exposure, f-number and ISO for an animal, and say what gives way first.

    Without a kit in the field book the example kit answers.
    """
    more = {} if angle is None else {"angle_deg": angle}
    asked = Asked(
        animal, doing, light, distance, size, kit, focal_length, sharp_for, wings,
        panning_left_percent=panning_left, shake_deg_s=shake, **more,
    )  # fmt: skip
    with open_book(book) as opened:
        found = answer_asked(opened, asked)
    if kit is None and found.kit is EXAMPLE_KIT:
        say(f"no kit of your own stands, so this is for the example kit: {found.kit.words}; {HOW_TO_ADD}")
    if as_json:
        print_data(settings_json(found))
        return
    for sentence in advice(found):
        print_data(sentence)
    print_table(settings_table(found))
    say(BEFORE_THE_SUN)
