"""``stillwing log track``, ``clock`` and ``bursts``: what the log and a track say of the bursts of an outing."""

from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption, OutingOption, asked_outing
from stillwing.cli.jsontext import json_text
from stillwing.cli.logoutingtable import burst_rows, burst_table, bursts_words, clock_row, clock_table
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.clocks import drop_offset, set_offset_by_hand
from stillwing.fieldbook.clocktaps import ClockReport, estimate_clocks
from stillwing.fieldbook.outinglog import outing_log
from stillwing.fieldbook.phones import SHORT_ID, phone_named
from stillwing.fieldbook.toldwords import track_words
from stillwing.fieldbook.tracks import drop_positions, take_track

__all__ = ["show_bursts", "show_clocks", "take_in_track"]

NOTHING_SILENT = ClockReport((), ())


def take_in_track(
    file: Annotated[Path | None, typer.Argument(help="GPX track of the outing, with times.")] = None,
    outing: OutingOption = None,
    camera_ahead_s: Annotated[
        float | None,
        typer.Option(help="Seconds that the camera is ahead of UTC; what is known of its clock when not given."),
    ] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Forget the positions of all tracks of the outing.")] = False,
    book: BookOption = None,
) -> None:
    """Take in a GPX track, which tells where each burst was taken.

    Photographs with a position of their own keep it. Nothing is written beside the pictures: stillwing sidecars
    --positions does that. Take the track again once the clocks are known better.
    """
    if forget and (file is not None or camera_ahead_s is not None):
        raise InputError("--forget goes alone: it forgets what tracks told, and takes none")
    if not forget and file is None:
        raise InputError("no track is named; name a GPX file, or --forget what earlier ones told")
    with open_book(book) as opened:
        visit = asked_outing(opened, outing)
        if file is None:
            drop_positions(opened, visit.id)
            say(f"{visit.name}: the positions of its bursts are forgotten")
            return
        taken = take_track(opened, visit.id, file, camera_minus_utc_s=camera_ahead_s)
    for line in track_words(taken, file.name):
        say(line)


def show_clocks(
    outing: OutingOption = None,
    ahead_s: Annotated[
        float | None, typer.Option(help="Set by hand: seconds that the camera is ahead of the phone.")
    ] = None,
    phone: Annotated[str | None, typer.Option(help="Id of the phone, or its beginning, as the table shows it.")] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Forget what is known of the phone's clock.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    book: BookOption = None,
) -> None:
    """Show how far the camera's clock is ahead of each phone's, estimated from the taps "burst" and stored.

    What was set by hand is left as it is.
    """
    if forget and ahead_s is not None:
        raise InputError("--forget and --ahead-s contradict one another; give one of them")
    if phone is None and (forget or ahead_s is not None):
        raise InputError("no phone is named; name one with --phone, by the beginning of its id")
    if phone is not None and not forget and ahead_s is None:
        raise InputError("--phone goes with --ahead-s, to set its clock by hand, or with --forget")
    with open_book(book) as opened:
        visit = asked_outing(opened, outing)
        report = NOTHING_SILENT
        if phone is None:
            report = estimate_clocks(opened, visit.id)
        else:
            _change(opened, visit.id, phone_named(opened, phone), ahead_s)
        log = outing_log(opened, visit.id)
    if as_json:
        print_data(json_text(clock_row(visit.name, log, report)))
    elif log.phones:
        print_table(clock_table(log))
    else:
        say(f"{visit.name}: no phone has logged anything")
    for device, reason in report.silent:
        say(f"phone {device[:SHORT_ID]}: {reason}")


def show_bursts(
    outing: OutingOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON array.")] = False,
    book: BookOption = None,
) -> None:
    """Show what the animal was doing in each burst, as the log tells it; what disagrees is shown, never guessed.

    Times are the camera's. The certainty says how sure it is that tap and burst meet, not that the tap was right.
    """
    with open_book(book) as opened:
        log = outing_log(opened, asked_outing(opened, outing).id)
    if as_json:
        print_data(json_text(burst_rows(log)))
    elif log.bursts:
        print_table(burst_table(log))
    for line in bursts_words(log):
        say(line)


def _change(book: FieldBook, outing_id: int, device: str, ahead_s: float | None) -> None:
    if ahead_s is None:
        drop_offset(book, outing_id, device)
    else:
        set_offset_by_hand(book, outing_id, device, ahead_s)
