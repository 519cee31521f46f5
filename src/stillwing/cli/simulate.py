"""``stillwing simulate``: how many frames of a launch, landing, pass or hover hold the animal, before you go."""

from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.kitwords import parts_asked
from stillwing.cli.settings import BEFORE_THE_SUN
from stillwing.cli.simulatetable import simulate_json, simulate_sentences, simulate_table
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.fieldbook.attempting import AskedAttempt, try_out
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, HOW_TO_ADD
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR
from stillwing.optics.lookback import RELEASE_LAG_S
from stillwing.optics.question import HAND_HELD_DEG_S
from stillwing.optics.subject import Behaviour

__all__ = ["simulate_attempt"]

AT_THE_EDGE = "At the water's edge mind your feet, not the finder alone."
KIT_FIGURES = ("sensor", "pixels", "focal", "aperture", "closest", "magnification")
"""Options that type a kit."""


def simulate_attempt(
    context: typer.Context,
    animal: Annotated[str, typer.Argument(help='Animal, such as "azure damselfly", "75 mm hawker" or robin.')],
    doing: Annotated[
        Behaviour, typer.Option(help="What it does: take-off, landing, pass or hover.")
    ] = Behaviour.TAKE_OFF,
    distance: Annotated[float | None, typer.Option(help="Distance from the sensor, in m.")] = None,
    size: Annotated[
        float | None, typer.Option(help="Instead of a distance: its size in the frame, in percent.")
    ] = None,
    focal_length: Annotated[
        float | None, typer.Option(help="Focal length as engraved, in mm; the longest when not given.")
    ] = None,
    f_number: Annotated[str | None, typer.Option(help='F-number, such as "f/8"; that of settings otherwise.')] = None,
    exposure: Annotated[
        str | None, typer.Option(help='Exposure, such as "1/3200"; that of settings otherwise.')
    ] = None,
    iso_speed: Annotated[str | None, typer.Option("--iso", help="ISO; that for the light when not given.")] = None,
    light: Annotated[str, typer.Option(help='Light, as in settings: "sun", "EV 13" or a meter reading.')] = "sun",
    sharp_for: Annotated[
        str, typer.Option(help='What it must be sharp for, as in sift: full, "print 30 cm at 240 ppi", "screen 2560".')
    ] = DEFAULT_SHARP_FOR,
    rate: Annotated[float | None, typer.Option(help="Frames a second; the kit's when not given.")] = None,
    held: Annotated[float, typer.Option(help="How long the button is held, in s.")] = 1.0,
    buffer: Annotated[float | None, typer.Option(help="Length of the buffer in s; the kit's when not given.")] = None,
    reaction: Annotated[float | None, typer.Option(help="Your mean reaction time in s; 0.213 when not given.")] = None,
    lag: Annotated[float, typer.Option(help="From the reaction to the press that the camera takes, in s.")] = (
        RELEASE_LAG_S
    ),
    lead: Annotated[
        float, typer.Option(help="Of a pass or landing: how long before it passes or comes down you press, in s.")
    ] = 0.0,
    pre_focus: Annotated[
        float, typer.Option(help="How far in front of the perch the focus is set, in mm; below 0 behind it.")
    ] = 0.0,
    towards: Annotated[float, typer.Option(help="Chance that it flies nearer, not away, in percent.")] = 50.0,
    angle: Annotated[
        float | None, typer.Option(help="Likely angle of its way to the focal plane, in degrees; 15 when not given.")
    ] = None,
    panning_left: Annotated[
        float | None, typer.Option(help="Share of a pass's motion that panning leaves, in percent; 15 when not given.")
    ] = None,
    shake: Annotated[
        float, typer.Option(help="How fast the lens turns in the hand, in degrees a second; 0 on a tripod.")
    ] = HAND_HELD_DEG_S,
    kit: Annotated[str | None, typer.Option(help="Kit of the field book; the standing one when not given.")] = None,
    sensor: Annotated[str | None, typer.Option(help="Of a typed kit: sensor in mm, such as 17.4x13.0.")] = None,
    pixels: Annotated[str | None, typer.Option(help="Of a typed kit: picture in pixels, such as 5184x3888.")] = None,
    focal: Annotated[str | None, typer.Option(help="Of a typed kit: focal range in mm, such as 75-300.")] = None,
    aperture: Annotated[
        str | None, typer.Option(help="Of a typed kit: widest f-number at either end, such as 4.8-6.7.")
    ] = None,
    closest: Annotated[str | None, typer.Option(help="Of a typed kit: closest focus in m, such as 1.3.")] = None,
    magnification: Annotated[
        str | None, typer.Option(help="Of a typed kit: largest magnification, such as 0.25.")
    ] = None,
    book: BookOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Try out by chance how many frames of an attempt hold a flying animal sharp, and how many attempts a keeper takes.

    Without a kit in the field book, and none typed, the example kit is taken.
    """
    more = {} if angle is None else {"angle_deg": angle}
    asked = AskedAttempt(
        animal, doing, distance, size, kit, parts_asked({name: context.params[name] for name in KIT_FIGURES}),
        focal_length, light, f_number, exposure, iso_speed, sharp_for, rate, held, buffer, reaction, lag,
        pre_focus, towards, lead, panning_left_percent=panning_left, shake_deg_s=shake, **more,
    )  # fmt: skip
    with open_book(book) as opened:
        found = try_out(opened, asked)
    if kit is None and found.kit is EXAMPLE_KIT:
        say(f"no kit of your own stands, so this is for the example kit: {found.kit.words}; {HOW_TO_ADD}")
    if as_json:
        print_data(simulate_json(found))
        return
    for sentence in simulate_sentences(found):
        print_data(sentence)
    print_table(simulate_table(found))
    say(BEFORE_THE_SUN)
    say(AT_THE_EDGE)
