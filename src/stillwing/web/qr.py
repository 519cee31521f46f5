"""An address as a QR picture (ISO/IEC 18004): for a page, and for a terminal."""

import segno

__all__ = ["qr_svg", "qr_text"]

MODULE_PX = 5
QUIET = 4
"""Modules left light all round; ISO/IEC 18004:2015, section 6.3.8, asks for four."""
BLACK_ON_WHITE, AS_BEFORE = "\x1b[30;107m", "\x1b[0m"
HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
"""Of a character, which is twice as high as wide: dark above, dark below."""


def qr_svg(words: str, told: str) -> str:
    """Return ``words`` as an SVG drawing to stand in a page, black on white on every ground.

    Parameters
    ----------
    words : str
        What the picture says.
    told : str
        What it is, for those who hear the page.
    """
    return _code(words).svg_inline(scale=MODULE_PX, border=QUIET, light="#fff", title=told, lineclass=None)


def qr_text(words: str, *, has_colours: bool) -> str:
    """Return ``words`` as lines of blocks.

    Parameters
    ----------
    words : str
        What the picture says.
    has_colours : bool
        Set black on white by the terminal's own codes; without them dark blocks are drawn in the colour of the text,
        which cameras read on a light ground.
    """
    rows = [[value & 1 == 1 for value in row] for row in _code(words).matrix_iter(border=QUIET)]
    if len(rows) % 2:
        rows.append([False] * len(rows[0]))
    lines = ("".join(HALVES[pair] for pair in zip(above, below, strict=True)) for above, below in _pairs(rows))
    return "\n".join(f"{BLACK_ON_WHITE}{line}{AS_BEFORE}" if has_colours else line for line in lines)


def _code(words: str) -> segno.QRCode:
    return segno.make_qr(words, error="m")


def _pairs(rows: list[list[bool]]) -> list[tuple[list[bool], list[bool]]]:
    return list(zip(rows[::2], rows[1::2], strict=True))
