"""Small parts of SVG pictures: tags with escaped words, the inks of page and paper, and words that are measured."""

import re
from dataclasses import dataclass
from itertools import groupby
from xml.sax.saxutils import escape, quoteattr

from reportlab.pdfbase.pdfmetrics import stringWidth

from stillwing.share.fonts import ENCODING, STRONG, TEXT
from stillwing.share.inks import LIGHT

__all__ = [
    "FONT",
    "PAGE",
    "PAPER",
    "SVG",
    "Tones",
    "cut_short",
    "figure",
    "label",
    "tag",
    "text_width",
    "wrapped",
    "xml_clean",
    "xml_text",
]

SVG = "http://www.w3.org/2000/svg"
FONT = "Helvetica, Arial, Liberation Sans, sans-serif"
"""Of the same widths, all but the last."""
NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 cannot hold, section 2.2."""
ELSE_EM = 1.3
"""Width of a character that the measured font lacks: no narrower than any script or sign has it. [em]"""
ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}


@dataclass(frozen=True, slots=True)
class Tones:
    """The colours of a picture; docs/look.md has them."""

    ground: str
    ink: str
    soft: str
    rule: str
    grid: str
    accent: str
    steps: tuple[str, ...]
    """From few keepers to many."""
    on_steps: tuple[str, ...]
    """In which marks stand out from each of the steps."""


PAGE = Tones(
    "var(--raised)",
    "var(--ink)",
    "var(--ink-soft)",
    "var(--rule)",
    "var(--grid)",
    "var(--accent)",
    ("var(--raised)", "var(--blur-6)", "var(--blur-5)", "var(--blur-4)", "var(--blur-3)", "var(--blur-2)"),
    # The middle of the scale is nearer to dark ink, whether that is the page's ink or its ground.
    (*["var(--ink)"] * 4, "light-dark(var(--ink), var(--raised))", "var(--raised)"),
)
"""Follows the page that it stands in, light or dark."""
PAPER = Tones(
    LIGHT.raised,
    LIGHT.ink,
    LIGHT.ink_soft,
    LIGHT.rule,
    LIGHT.grid,
    LIGHT.accent,
    (LIGHT.raised, "#e6eef8", "#c0d5f1", "#93b5e4", "#6191d4", "#2f6cc0"),
    (*[LIGHT.ink] * 5, LIGHT.raised),
)
"""For print, and for files that stand alone."""


def tag(name: str, *inside: str, **attributes: str | float | None) -> str:
    """Return an element.

    Parameters
    ----------
    name : str
    *inside : str
        What it holds, as SVG; words go through `label` or `xml_text` first.
    **attributes : str or float or None
        ``_`` in a name stands for ``-``, one at its end for nothing; ``None`` leaves the attribute out.

    Examples
    --------
    >>> tag("rect", x=1.25, stroke_width=2, class_="cell")
    '<rect x="1.25" stroke-width="2" class="cell"/>'
    """
    shown = {
        key: value if isinstance(value, str) else figure(value)
        for key, value in attributes.items()
        if value is not None
    }
    told = "".join(
        f" {key.rstrip('_').replace('_', '-')}={quoteattr(xml_clean(words))}" for key, words in shown.items()
    )
    return f"<{name}{told}>{''.join(inside)}</{name}>" if inside else f"<{name}{told}/>"


def label(words: str, x: float, y: float, size: float, **attributes: str | float | None) -> str:
    """Return words whose line begins at x, y; ``size`` in the units of the picture, attributes as in `tag`."""
    words = xml_clean(words)
    if all(map(_is_measured, words)):
        return tag("text", xml_text(words), x=x, y=y, font_size=size, **attributes)
    # A renderer that lacks one character may set all words up to the next position in another font, and wider.
    is_strong = attributes.get("font_weight") == "bold"
    left = x - ANCHORS[str(attributes.pop("text_anchor", None) or "start")] * text_width(
        words, size, is_strong=is_strong
    )
    runs = []
    for _, run in groupby(words, _is_measured):
        part = "".join(run)
        runs.append(tag("tspan", xml_text(part), x=left))
        left += text_width(part, size, is_strong=is_strong)
    return tag("text", *runs, y=y, font_size=size, **attributes)


def xml_text(words: str) -> str:
    """Return words as XML holds them; characters that it cannot hold become U+FFFD."""
    return escape(xml_clean(words))


def figure(value: float) -> str:
    """Return a number as short as a thousandth allows.

    Examples
    --------
    >>> figure(2.0), figure(0.12345), figure(-0.0001)
    ('2', '0.123', '0')
    """
    shown = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def text_width(words: str, size: float, *, is_strong: bool = False) -> float:
    """Return how wide words are in `FONT`, in the units of ``size``."""
    words = xml_clean(words)
    known = words.encode(ENCODING, "ignore").decode(ENCODING)
    width = stringWidth(known, STRONG if is_strong else TEXT, size)
    return float(width) + ELSE_EM * size * (len(words) - len(known))


def wrapped(words: str, width: float, size: float, *, is_strong: bool = False) -> list[str]:
    """Return words in lines no wider than ``width``; a word that is wider by itself is broken.

    Examples
    --------
    >>> wrapped("one two three", 30, 10)
    ['one', 'two', 'three']
    """
    lines: list[str] = []
    line = ""
    for word in _broken(words.split(), width, size, is_strong=is_strong):
        longer = f"{line} {word}" if line else word
        if line and text_width(longer, size, is_strong=is_strong) > width:
            lines.append(line)
            longer = word
        line = longer
    return [*lines, line] if line else lines


def cut_short(words: str, width: float, size: float, *, is_strong: bool = False) -> str:
    """Return words that fit into ``width``, what is too much left out behind "..."."""
    if text_width(words, size, is_strong=is_strong) <= width:
        return words
    kept = words
    while kept and text_width(f"{kept.rstrip()}...", size, is_strong=is_strong) > width:
        kept = kept[:-1]
    return f"{kept.rstrip()}..."


def xml_clean(words: str) -> str:
    """Return words with U+FFFD in place of what XML 1.0 cannot hold."""
    return NOT_XML.sub("\ufffd", words)


def _is_measured(character: str) -> bool:
    return bool(character.encode(ENCODING, "ignore"))


def _broken(words: list[str], width: float, size: float, *, is_strong: bool) -> list[str]:
    pieces = []
    for word in words:
        rest = word
        while len(rest) > 1 and text_width(rest, size, is_strong=is_strong) > width:
            # Of the beginnings that fit the longest, of one character at least.
            fits = next((n for n in range(len(rest) - 1, 1, -1) if text_width(rest[:n], size) <= width), 1)
            pieces.append(rest[:fits])
            rest = rest[fits:]
        pieces.append(rest)
    return pieces
