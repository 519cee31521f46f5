"""Fonts for paper: those that every PDF reader has, and one from the system for file names that go beyond them."""

from pathlib import Path

from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFError, TTFont

__all__ = ["STRONG", "TEXT", "TITLE", "Fonts"]

TEXT, STRONG, TITLE = "Helvetica", "Helvetica-Bold", "Times-Roman"

ENCODING = "cp1252"
"""What the fonts that every reader has can show."""

WIDE_FONTS = (
    "DejaVuSans.ttf",
    "NotoSans-Regular.ttf",
    "LiberationSans-Regular.ttf",
    "Arial.ttf",
    "arial.ttf",
)
"""Looked for, in this order, in the system's folders of fonts."""


class Fonts:
    """Finds a font for a text, looking for a wide one on the system only when a text wants it."""

    def __init__(self) -> None:
        self._wide: dict[str, TTFont] | None = None

    def for_text(self, text: str, asked: str = TEXT) -> str:
        """Return the font that is asked for, or a wide one where that cannot show ``text`` and a wide one can."""
        if _fits(text):
            return asked
        if self._wide is None:
            self._wide = dict(_wide_fonts())
        return next((name for name, wide in self._wide.items() if _covers(wide, text)), asked)

    def shown(self, text: str, font: str) -> str:
        """Return ``text`` with characters that ``font`` lacks written as escapes, so that a name stays one name."""
        if self._wide and font in self._wide:
            return text
        return text.encode(ENCODING, "backslashreplace").decode(ENCODING)


def _fits(text: str) -> bool:
    try:
        text.encode(ENCODING)
    except UnicodeEncodeError:
        return False
    return True


def _wide_fonts() -> list[tuple[str, TTFont]]:
    found = []
    for file in WIDE_FONTS:
        try:
            font = TTFont(Path(file).stem, file)
        except TTFError:
            continue
        registerFont(font)
        found.append((font.fontName, font))
    return found


def _covers(font: TTFont, text: str) -> bool:
    return all(ord(character) in font.face.charToGlyph for character in text)
