"""What each piece of evidence says of a species, in words."""

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from stillwing.animals.catalogue import Group
from stillwing.optics.subject import Range
from stillwing.records.nearby import Nearby
from stillwing.records.region import Sex, Species
from stillwing.records.seasonwords import MONTHS
from stillwing.records.seen import BODY_COLOURS, Answer
from stillwing.records.statusweights import status_told

__all__ = [
    "character_words",
    "colour_words",
    "group_words",
    "length_words",
    "listed",
    "place_words",
    "season_words",
    "sex_words",
    "status_words",
]

Words = Callable[[Species], str]


def listed(words: Sequence[str], joint: str = "and") -> str:
    """Return words as a list in a sentence."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def status_words(area: str | None) -> Words:
    """Return what to say about how often one meets a species."""

    def words(species: Species) -> str:
        told = status_told(species, area)
        if told is None:
            return "the pack does not tell how rare it is" + (f" in {area}" if area else "")
        return f"{told.word.lower()} in {told.area}"

    return words


def place_words(known: Nearby) -> Words:
    """Return what to say about the place."""
    n_all, n_kinds = known.n_records, len(known.counts)
    records = f"{n_all} record{'s' * (n_all > 1)} of {n_kinds} species"

    def words(species: Species) -> str:
        name = species.scientific_name
        n_own = known.counts.get(name, 0)
        if n_own:
            told = [f"recorded {_times(n_own)} within {known.square_words}, of {records}"]
        else:
            told = [f"not among the {records} within {known.square_words}"] if n_all else []
        if known.listed:
            where = "there" if told else known.square_words
            if name in known.listed:
                told.append(f"the pack knows it from {where}")
            elif species.squares:
                told.append(f"the pack knows it from other squares, not from {where}")
            elif not told:
                told.append("the pack does not tell from which squares it is known")
        return "; ".join(told)

    return words


def _times(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def season_words(on: date) -> Words:
    """Return what to say about the day."""
    day = f"{on.day} {MONTHS[on.month - 1]}"

    def words(species: Species) -> str:
        if species.flight is None:
            return f"{day}; the pack does not tell when it flies"
        inside = "in" if species.flight.holds(on.timetuple().tm_yday) else "outside"
        return f"{day} is {inside} its flight season, {species.flight.first_words} to {species.flight.last_words}"

    return words


def length_words(length_mm: Range) -> Words:
    """Return what to say about the length."""
    low, likely, high = length_mm
    is_least = math.isinf(high)
    seen = f"{low:.0f} mm or longer" if is_least else f"{likely:.0f} mm ({low:.0f} to {high:.0f})"

    def words(species: Species) -> str:
        own = species.body_length
        if own is None:
            return f"{seen}; the pack does not tell its length"
        if low > own.high_mm:
            fits = "too long for"
        elif high < own.low_mm:
            fits = "too short for"
        else:
            fits = "goes with"
        return f"{seen} {fits} its {own.low_mm:g} to {own.high_mm:g} mm"

    return words


def group_words(group: Group) -> Words:
    """Return what to say about the suborder."""
    return lambda species: f"it looks like a {group.value}; this species is a {species.family.group.value}"


def sex_words(sex: Sex) -> Words:
    """Return what to say about the sex: it tells which of the characters hold."""
    return lambda species: f"taken for a {sex.value}; its other traits are those of a {sex.value}"


def character_words(answer: Answer, sex: Sex) -> Words:
    """Return what to say about an answer."""
    subject, seen = answer.character.replace("_", " "), listed(answer.states)

    def words(species: Species) -> str:
        own = species.states(answer.character, sex)
        if not own:
            return f"{subject}: {seen}; the pack does not tell its own"
        if set(answer.states) <= set(own):
            return f"{subject}: {seen}, as this species can show"
        return f"{subject}: {seen}; this species shows {listed(own, 'or')}"

    return words


def colour_words(colours: Mapping[str, float], sex: Sex) -> Words:
    """Return what to say about the colours measured: the largest three."""
    largest = sorted((name for name in colours if colours[name] > 0), key=lambda name: (-colours[name], name))[:3]
    seen = listed([f"{100 * colours[name]:.0f} % {name}" for name in largest])

    def words(species: Species) -> str:
        own = tuple(dict.fromkeys(state for key in BODY_COLOURS for state in species.states(key, sex)))
        if not own:
            return f"measured {seen}; the pack does not tell its colours"
        return f"measured {seen}; its body can be {listed(own, 'or')}"

    return words
