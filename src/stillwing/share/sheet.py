"""Contact sheets: the frames chosen from an outing on paper (PDF) or as one HTML file that needs nothing else."""

from collections.abc import Collection
from pathlib import Path

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import outing
from stillwing.frames.chosen import Choice
from stillwing.share.atomic import written_atomically
from stillwing.share.plates import plates
from stillwing.share.sheet_html import write_html_sheet
from stillwing.share.sheet_pdf import write_pdf_sheet

__all__ = ["write_sheet"]

WRITERS = {".pdf": write_pdf_sheet, ".html": write_html_sheet, ".htm": write_html_sheet}


def write_sheet(book: FieldBook, outing_id: int, path: Path, choices: Collection[Choice] = (Choice.KEEP,)) -> int:
    """Write a contact sheet of the frames that stand at one of ``choices``, and return how many it shows.

    Each frame is a cut-out of its animal with the file's name, the blur, the usable width and the reason; each burst
    is one plate at one scale, beside its trace. A frame whose file cannot be read any more leaves a sentence.

    Parameters
    ----------
    path : Path
        ``.pdf`` or ``.html``.

    Raises
    ------
    InputError
        If the name of the file ends in something else, or there is no such frame.
    WriteFailed
        If the file cannot be written; one that was there before stays as it was.
    """
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise InputError(f"{path}: a contact sheet is written as .pdf or .html, by the ending of the file's name")
    shown = outing(book, outing_id)
    words = " and ".join(choices)
    sharp_for = f", sharp for {shown.sharp_for}" if shown.sharp_for else ""
    summary = f"Frames to {words}{sharp_for}."
    with written_atomically(path) as draft:
        return writer(shown.name, summary, plates(book, outing_id, choices), draft)
