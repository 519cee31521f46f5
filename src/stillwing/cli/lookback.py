"""``stillwing look-back``: whether the camera's look-back buffer still holds the take-off."""

from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.lookbacktable import look_back_json, look_back_table
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.fieldbook.asking import kit_asked
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, HOW_TO_ADD
from stillwing.optics.lookback import RELEASE_LAG_S
from stillwing.optics.lookbacktold import look_back_sentences, look_back_told

__all__ = ["show_look_back"]


def show_look_back(
    kit: Annotated[str | None, typer.Option(help="Kit of the field book; the one that stands when not given.")] = None,
    buffer: Annotated[float | None, typer.Option(help="Length of the buffer in s; the kit's when not given.")] = None,
    lead: Annotated[float, typer.Option(help="Time before the take-off that is wanted too, in s.")] = 0.0,
    age: Annotated[float | None, typer.Option(help="Your age in years; 40 when not given.")] = None,
    lag: Annotated[float, typer.Option(help="From the reaction to the press that the camera takes, in s.")] = (
        RELEASE_LAG_S
    ),
    speed: Annotated[float, typer.Option(help="How fast the animal leaves, in m/s.")] = 2.0,
    book: BookOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Tell how likely the look-back buffer holds a take-off, and how long it would have to be."""
    with open_book(book) as opened:
        asked = kit_asked(opened, kit)
    length_s = asked.camera.look_back_s if buffer is None else buffer
    told = look_back_told(length_s, asked.camera.frames_per_s, lead, age, lag, speed)
    if kit is None and asked is EXAMPLE_KIT:
        say(f"no kit of your own stands, so this is for the example kit: {asked.words}; {HOW_TO_ADD}")
    if as_json:
        print_data(look_back_json(told))
        return
    for sentence in look_back_sentences(told):
        print_data(sentence)
    print_table(look_back_table(told))
    say("for somebody rested who watches for this one thing; after half an hour of watching reactions are slower")
