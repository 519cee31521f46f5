"""From the colours measured on a body to the colour names of a pack."""

from collections.abc import Mapping

from stillwing.frames.bodycolours import BodyColours, ColourShare
from stillwing.records.region import Region
from stillwing.records.seen import colour_names

__all__ = ["colours_left_out", "pack_colours"]

Words = Mapping[str, float]

_WORDS: Mapping[tuple[str, str], Words] = {
    ("black", "any"): {"black": 1.0},
    ("white", "any"): {"white": 1.0},
    # A black body in the light is dark grey in a picture; a lighter grey may be anything, shine above all.
    ("grey", "dark"): {"grey": 0.5, "black": 0.5},
    ("grey", "any"): {"grey": 1.0},
    ("red", "any"): {"red": 1.0},
    ("orange", "any"): {"orange": 1.0},
    ("yellow", "any"): {"yellow": 1.0},
    ("brown", "any"): {"brown": 1.0},
    # Nothing in a name tells gloss; metallic greens and blues are mostly dark ones.
    ("green", "pale"): {"green": 1.0},
    ("green", "dark"): {"green": 0.4, "metallic green": 0.6},
    ("green", "any"): {"green": 0.6, "metallic green": 0.4},
    ("blue", "pale"): {"powder blue": 0.75, "blue": 0.25},
    ("blue", "dark"): {"blue": 0.5, "metallic blue": 0.5},
    ("blue", "any"): {"blue": 0.8, "metallic blue": 0.2},
    ("purple", "any"): {"purple": 1.0},
    ("pink", "any"): {"pink": 1.0},
}
"""Colour and tone to the words of packs, each with its part (choices, no source); words that a pack has not are passed
over, and the rest take their parts."""
_ELSE: Mapping[str, Words] = {"purple": {"blue": 1.0}, "pink": {"red": 0.5, "white": 0.5}}
"""Where a pack has no such word: a camera draws many a blue as violet, shine makes red pink (choices, no source)."""
LEAST_TOLD = 0.02
"""Smaller shares are not told as left out."""


def pack_colours(region: Region, colours: BodyColours) -> Mapping[str, float]:
    """Return the share of the body by colour name of the pack, for `stillwing.records.seen.Seen.colours`.

    Shares whose colour has no name in the pack are left out, so that the rest sum to less than 1 and count for less;
    `colours_left_out` tells them. Empty where the pack tells of no colour of the body.
    """
    names = colour_names(region)
    told = dict.fromkeys(names, 0.0)
    for colour in colours.colours:
        for tone, share in _by_tone(colour):
            for word, part in _words_for(colour.name, tone, names).items():
                told[word] += share * part
    return {name: share for name, share in told.items() if share > 0}


def colours_left_out(region: Region, colours: BodyColours) -> tuple[str, ...]:
    """Return a sentence for each colour of which the pack has no name; small shares are passed over."""
    names = colour_names(region)
    sentences = []
    for colour in colours.colours:
        lost = sum(share for tone, share in _by_tone(colour) if not _words_for(colour.name, tone, names))
        if lost >= LEAST_TOLD:
            sentences.append(
                f"{100 * lost:.0f} % of the body is {colour.name}, for which the list has no word; it was left out"
            )
    return tuple(sentences)


def _by_tone(colour: ColourShare) -> tuple[tuple[str, float], ...]:
    plain = max(colour.share - colour.pale - colour.dark, 0.0)
    return (("pale", colour.pale), ("plain", plain), ("dark", colour.dark))


def _words_for(name: str, tone: str, names: tuple[str, ...]) -> Words:
    """Return the pack's words for a colour with their parts, which sum to 1; empty where it has none."""
    for words in (_WORDS.get((name, tone)), _WORDS.get((name, "any")), _ELSE.get(name)):
        known = {word: part for word, part in (words or {}).items() if word in names}
        if known:
            total = sum(known.values())
            return {word: part / total for word, part in known.items()}
    return {}
