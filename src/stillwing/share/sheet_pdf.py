"""The contact sheet as PDF, A4 upright: a margin column with each burst's trace, its cut-outs beside it."""

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader, simpleSplit
from reportlab.pdfgen.canvas import Canvas

from stillwing.share.figures import place_figure, scale_bar, trace_figure
from stillwing.share.fonts import STRONG, TEXT, TITLE, Fonts
from stillwing.share.inks import LIGHT, blur_words, choice_words, mark_radius, usable_words
from stillwing.share.plates import CELL_WIDTH, Plate, Specimen

__all__ = ["write_pdf_sheet"]

PT = 72 / 96
"""Points per 1/96 inch, the unit of plates and figures."""

PAGE_WIDTH, PAGE_HEIGHT = A4
EDGE, GAP = 11 * mm, 4 * mm
CELL = CELL_WIDTH * PT
MARGIN_COLUMN = PAGE_WIDTH - 2 * EDGE - 2 * (CELL + GAP)
FOOT = EDGE + 6 * mm

LEADING = 10.0


@dataclass(frozen=True, slots=True)
class Style:
    """How words are set."""

    font: str
    size: float
    colour: str


HEADING = Style(TITLE, 18, LIGHT.ink)
BURST = Style(TITLE, 11, LIGHT.ink)
NAME = Style(STRONG, 8.5, LIGHT.ink)
FIGURE = Style(TEXT, 8.5, LIGHT.ink)
NOTE = Style(TEXT, 7.5, LIGHT.ink_soft)
WARNING = Style(TEXT, 7.5, LIGHT.ink)

Line = tuple[str, Style]
"""One line of words, and how it is set."""


def write_pdf_sheet(title: str, summary: str, plates: Iterable[Plate], draft: Path) -> int:
    """Write the sheet to ``draft``, and return how many frames it shows."""
    with draft.open("wb") as file:
        # Invariant: the same sheet gives the same bytes, without the time of the run in them.
        canvas = Canvas(file, pagesize=A4, invariant=1, pageCompression=1)
        sheet = _Sheet(canvas, title)
        canvas.setTitle(sheet.fonts.shown(title, TITLE))
        canvas.setCreator("stillwing")
        sheet.head(summary)
        n_frames = 0
        for plate in plates:
            sheet.plate(plate)
            n_frames += len(plate.specimens)
        sheet.end_page()
        canvas.save()
    return n_frames


class _Sheet:
    """A canvas, and how far down its page is filled; y runs up, as PDF has it."""

    def __init__(self, canvas: Canvas, title: str) -> None:
        self.canvas, self.title = canvas, title
        self.fonts = Fonts()
        self.y = PAGE_HEIGHT - EDGE
        self.n_pages = 1

    def head(self, summary: str) -> None:
        """Draw the title and what the drawings mean."""
        words = (
            f"{summary} Beside each burst stands its trace: blur over frame number, sharper is up, lines at 1, 2 and "
            "4 px of the original. A dashed ring is a proposal, a solid one a person's decision. The small "
            "rectangle shows where the animal stands in the frame."
        )
        self.y -= 16
        self._text(EDGE, self.y, (self.title, HEADING))
        self.y -= 4
        for line in self._lines(words, PAGE_WIDTH - 2 * EDGE, NOTE):
            self.y -= LEADING
            self._text(EDGE, self.y, line)
        self.y -= GAP

    def plate(self, plate: Plate) -> None:
        """Draw one burst, on further pages where it does not fit."""
        rows = [plate.specimens[start : start + 2] for start in range(0, len(plate.specimens), 2)]
        for number, row in enumerate(rows):
            captions = [list(self._caption(one)) for one in row]
            pictures = max(_picture_height(one) for one in row)
            height = pictures + 4 + LEADING * max(map(len, captions))
            margin = list(self._margin_lines(plate)) if number == 0 else []
            needed = max(height, self._margin_height(plate, margin)) + 2 * GAP
            if self.y - needed < FOOT:
                self.end_page()
                self.canvas.showPage()
                self.n_pages += 1
                self.y = PAGE_HEIGHT - EDGE
            top = self.y - GAP
            if number == 0:
                self._line((EDGE, self.y, PAGE_WIDTH - EDGE, self.y), LIGHT.grid)
                self._draw_margin(plate, margin, top)
            x = EDGE + MARGIN_COLUMN
            self._line((x, top, x, top - needed + 2 * GAP), LIGHT.accent)
            for place, (one, caption) in enumerate(zip(row, captions, strict=True)):
                left = x + GAP + place * (CELL + GAP)
                self._draw_specimen(one, caption, left, top - pictures)
            self.y -= needed

    def end_page(self) -> None:
        """Draw the foot of the page."""
        self._text(EDGE, EDGE, (f"{self.title}, page {self.n_pages}", NOTE))

    def _margin_lines(self, plate: Plate) -> Iterator[Line]:
        taken_at = f"{plate.taken_at:%Y-%m-%d %H:%M:%S}, " if plate.taken_at else ""
        words = f"{taken_at}{len(plate.specimens)} of {len(plate.blurs_px)} frames"
        width = MARGIN_COLUMN - GAP
        yield from self._lines(plate.burst, width, BURST)
        yield from self._lines(words, width, NOTE)

    def _margin_height(self, plate: Plate, lines: list[Line]) -> float:
        return len(lines) * (LEADING + 1) + trace_figure(plate).height * PT + 8 + LEADING if lines else 0.0

    def _draw_margin(self, plate: Plate, lines: list[Line], top: float) -> None:
        y = top
        for line in lines:
            y -= LEADING + 1
            self._text(EDGE, y + 2, line)
        self._draw_trace(plate, EDGE, y - 4)
        self._draw_bar(plate, EDGE, y - 4 - trace_figure(plate).height * PT - LEADING)

    def _draw_bar(self, plate: Plate, left: float, y: float) -> None:
        bar = scale_bar(plate)
        if bar is None:
            return
        right = left + bar.length * PT
        for ends in ((left, y, right, y), (left, y - 3, left, y + 3), (right, y - 3, right, y + 3)):
            self._line(ends, LIGHT.ink)
        self._text(right + 5, y - 2.5, (bar.words, NOTE))

    def _draw_trace(self, plate: Plate, left: float, top: float) -> None:
        figure, canvas = trace_figure(plate), self.canvas
        scale = min(PT, (MARGIN_COLUMN - GAP) / figure.width)

        def at(x: float, y: float) -> tuple[float, float]:
            return left + x * scale, top - y * scale

        for line in figure.lines:
            self._line((*at(figure.left, line.y), *at(figure.width, line.y)), LIGHT.grid)
            self._text(left, at(0, line.y)[1] - 2.5, (line.words, NOTE))
        canvas.setStrokeColor(HexColor(LIGHT.ink))
        canvas.setLineWidth(1)
        canvas.setLineCap(1)
        for run in figure.runs:
            path = canvas.beginPath()
            path.moveTo(*at(*run[0]))
            for corner in run[1:] or run:
                path.lineTo(*at(*corner))
            canvas.drawPath(path)
        canvas.setLineCap(0)
        for point in figure.points:
            x, y = at(point.x, point.y)
            canvas.setFillColor(HexColor(LIGHT.ink))
            canvas.circle(x, y, 1.6, stroke=0, fill=1)
            radius = mark_radius(point.choice)
            if radius:
                canvas.setStrokeColor(HexColor(LIGHT.accent if radius > 4 else LIGHT.ink))
                canvas.setLineWidth(1.3)
                canvas.setDash([] if point.is_by_hand else [2, 1.4])
                canvas.circle(x, y, radius * PT, stroke=1, fill=0)
                canvas.setDash([])

    def _caption(self, one: Specimen) -> Iterator[Line]:
        place = place_figure(one)
        width = CELL - (place.width * PT + 5 if place else 0)
        yield from self._lines(one.file_name, width, NAME)
        blur = blur_words(one.blur) if one.box else "no animal found; whole frame"
        yield from self._lines(blur, width, FIGURE)
        if usable := usable_words(one.usable_width_px):
            yield from self._lines(usable, width, NOTE)
        reason = choice_words(one.choice, is_by_hand=one.is_by_hand) + (f": {one.reason}" if one.reason else "")
        yield from self._lines(reason, width, NOTE)

    def _draw_specimen(self, one: Specimen, caption: list[Line], left: float, bottom: float) -> None:
        canvas = self.canvas
        if one.cutout is not None:
            size = one.cutout.width * PT, one.cutout.height * PT
            canvas.drawImage(ImageReader(io.BytesIO(one.cutout.jpeg)), left, bottom, *size)
        else:
            canvas.setFillColor(HexColor(LIGHT.ink))
            height = _missing_height(one)
            canvas.rect(left, bottom, 3, height, stroke=0, fill=1)
            y = bottom + height
            for line in self._lines(one.missing, CELL - 9, WARNING):
                y -= LEADING
                self._text(left + 8, y + 2, line)
        place = place_figure(one)
        y = bottom - 4
        if place is not None:
            height = place.height * PT
            canvas.setStrokeColor(HexColor(LIGHT.rule))
            canvas.setLineWidth(0.7)
            canvas.rect(left, y - height, place.width * PT, height, stroke=1, fill=0)
            if place.box is not None:
                x_in, y_in, wide, high = (side * PT for side in place.box)
                canvas.setFillColor(HexColor(LIGHT.accent))
                canvas.rect(left + x_in, y - y_in - high, wide, high, stroke=0, fill=1)
        indent = place.width * PT + 5 if place else 0
        for line in caption:
            y -= LEADING
            self._text(left + indent, y + 2, line)

    def _lines(self, words: str, width: float, style: Style) -> Iterator[Line]:
        font = self.fonts.for_text(words, style.font)
        shown = self.fonts.shown(words, font)
        return ((line, replace(style, font=font)) for line in simpleSplit(shown, font, style.size, width))

    def _text(self, x: float, y: float, line: Line) -> None:
        words, style = line
        font = self.fonts.for_text(words, style.font)
        self.canvas.setFont(font, style.size)
        self.canvas.setFillColor(HexColor(style.colour))
        self.canvas.drawString(x, y, self.fonts.shown(words, font))

    def _line(self, ends: tuple[float, float, float, float], colour: str) -> None:
        self.canvas.setStrokeColor(HexColor(colour))
        self.canvas.setLineWidth(0.7)
        self.canvas.line(*ends)


def _picture_height(one: Specimen) -> float:
    return one.cutout.height * PT if one.cutout else _missing_height(one)


def _missing_height(one: Specimen) -> float:
    return LEADING * max(1, len(simpleSplit(one.missing, WARNING.font, WARNING.size, CELL - 9)))
