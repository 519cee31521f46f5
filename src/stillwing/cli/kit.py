"""``stillwing kit``: the cameras and lenses that the settings are found for."""

from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.kittable import kit_json, kit_table, kits_json, kits_table
from stillwing.cli.kitwords import parts_asked
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import HOW_TO_ADD, kit_named, kits, remove_kit, save_kit, use_kit
from stillwing.frames.kittags import KitFromPicture, read_kit
from stillwing.optics.kitparts import KitMade, KitParts, put_together

__all__ = ["kit_commands"]

kit_commands = typer.Typer(no_args_is_help=True, add_completion=False, rich_markup_mode=None)

NameArgument = Annotated[str, typer.Argument(help="What you call the kit; capitals do not matter.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON instead of the table.")]
ReplaceOption = Annotated[bool, typer.Option("--replace", help="Take the place of the kit of that name.")]
SensorOption = Annotated[str | None, typer.Option(help="Sensor in mm, such as 17.4x13.0.")]
PixelsOption = Annotated[str | None, typer.Option(help="Picture in pixels, such as 5184x3888.")]
FocalOption = Annotated[str | None, typer.Option(help="Focal range in mm, such as 75-300, or 300.")]
ApertureOption = Annotated[str | None, typer.Option(help="Widest f-number at either end, such as 4.8-6.7, or 4.")]
NarrowestOption = Annotated[str | None, typer.Option(help="Narrowest f-number; 22 when nothing tells.")]
ClosestOption = Annotated[str | None, typer.Option(help="Closest focus in m, from the sensor, such as 1.3.")]
MagnificationOption = Annotated[str | None, typer.Option(help="Largest magnification, such as 0.25.")]
RateOption = Annotated[str | None, typer.Option(help="Frames a second in a burst; 18 when nothing tells.")]
LookBackOption = Annotated[str | None, typer.Option(help="Look-back buffer in s; none when nothing tells.")]
ReadoutOption = Annotated[str | None, typer.Option(help="Read-out, first row to last, in s; 1/60 when nothing tells.")]
IsoOption = Annotated[str | None, typer.Option(help="Lowest and highest ISO; 200-25600 when nothing tells.")]
ShortestOption = Annotated[str | None, typer.Option(help="Shortest exposure in s; 1/8000 when nothing tells.")]
ConverterOption = Annotated[str | None, typer.Option(help="Factor of the teleconverter, such as 1.4; none otherwise.")]


@kit_commands.callback()
def kit() -> None:
    """Keep the cameras and lenses that settings are asked for; the one added or used last stands."""


@kit_commands.command("list")
def list_kits(book: BookOption = None, as_json: JsonOption = False) -> None:
    """List the kits in order of name, the standing one marked."""
    with open_book(book) as opened:
        known = kits(opened)
        standing = kit_named(opened).name if known else ""
    if as_json:
        print_data(kits_json(known, standing))
    elif known:
        print_table(kits_table(known, standing))
    else:
        say(f"no kit stored yet; {HOW_TO_ADD}")


@kit_commands.command("add")
def add_kit(
    context: typer.Context,
    name: NameArgument,
    sensor: SensorOption = None,
    pixels: PixelsOption = None,
    focal: FocalOption = None,
    aperture: ApertureOption = None,
    narrowest: NarrowestOption = None,
    closest: ClosestOption = None,
    magnification: MagnificationOption = None,
    rate: RateOption = None,
    look_back: LookBackOption = None,
    readout: ReadoutOption = None,
    iso: IsoOption = None,
    shortest: ShortestOption = None,
    converter: ConverterOption = None,
    replace: ReplaceOption = False,
    book: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Store a kit from its figures; sensor, pixels, focal range and widest aperture are needed.

    Prints every figure with what told it; typical values stand in for those not given.
    """
    given = parts_asked(context.params)
    _store(put_together(name, given), given, None, context)


@kit_commands.command("read")
def read_kit_off(
    context: typer.Context,
    name: NameArgument,
    picture: Annotated[Path, typer.Argument(help="A picture that the kit took, best as the camera wrote it.")],
    sensor: SensorOption = None,
    pixels: PixelsOption = None,
    focal: FocalOption = None,
    aperture: ApertureOption = None,
    narrowest: NarrowestOption = None,
    closest: ClosestOption = None,
    magnification: MagnificationOption = None,
    rate: RateOption = None,
    look_back: LookBackOption = None,
    readout: ReadoutOption = None,
    iso: IsoOption = None,
    shortest: ShortestOption = None,
    converter: ConverterOption = None,
    replace: ReplaceOption = False,
    book: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Store a kit as a picture's tags tell it; what you give counts before the tags.

    Prints every figure with the tag that told it and how sure it is. No tag tells closest focus, frame rate, read-out
    and look-back buffer: give them.
    """
    given, told = parts_asked(context.params), read_kit(picture)
    for remark in told.remarks:
        say(f"{picture}: {remark}")
    _store(put_together(name, given.or_else(told.parts)), given, told, context)


@kit_commands.command("use")
def use_kit_named(name: NameArgument, book: BookOption = None) -> None:
    """Make a kit the standing one, which is taken when none is named."""
    with open_book(book) as opened:
        used = use_kit(opened, name)
    say(f"{used.name} stands: {used.words}")


@kit_commands.command("remove")
def remove_kit_named(name: NameArgument, book: BookOption = None) -> None:
    """Take a kit out of the field book; the one used before it stands."""
    with open_book(book) as opened:
        removed = remove_kit(opened, name)
    say(f"{removed} removed")


def _store(made: KitMade, given: KitParts, told: KitFromPicture | None, context: typer.Context) -> None:
    """Store the kit and print it; the options that both commands share are read from ``context``."""
    asked = context.params
    with open_book(asked["book"]) as opened:
        stored = save_kit(opened, made.kit, replace=asked["replace"])
        is_standing = kit_named(opened).name == stored.name
    if asked["as_json"]:
        print_data(kit_json(made, given, told))
    else:
        print_table(kit_table(made, given, told))
    say(f"{stored.name} stored{' and stands' if is_standing else ''}: {stored.words}")
