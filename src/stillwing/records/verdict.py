"""What an identification comes to, in sentences."""

from stillwing.animals.catalogue import Mark
from stillwing.records.evidencewords import listed
from stillwing.records.identify import SUBORDER, CannotTell, Identification
from stillwing.records.region import Sex, Species
from stillwing.records.seen import LINE_WRONG, Seen

__all__ = ["cautions", "chance_words", "doubt_sentence", "misfit_sentence", "set_sentence"]

MOST_PER_100, LEAST_PER_100 = 99, 1


def chance_words(chance: float) -> str:
    """Return a chance as so many in 100; never none and never all.

    Examples
    --------
    >>> chance_words(0.623), chance_words(0.9999), chance_words(0.0001)
    ('62 in 100', 'over 99 in 100', 'under 1 in 100')
    """
    if chance > MOST_PER_100 / 100:
        return f"over {MOST_PER_100} in 100"
    if chance < LEAST_PER_100 / 100:
        return f"under {LEAST_PER_100} in 100"
    return f"{100 * chance:.0f} in 100"


def set_sentence(found: Identification) -> str:
    """Return which candidates hold the animal, and with what chance."""
    names = [candidate.species.name for candidate in found.set_80]
    return f"{listed(names, 'or')}: {chance_words(found.set_chance)}, if it is on the list"


def doubt_sentence(doubt: CannotTell, sex: Sex = Sex.ANY) -> str:
    """Return which two cannot be told apart, and what would tell them apart."""
    start = f"cannot tell between {doubt.first.name} and {doubt.second.name} from this picture"
    if doubt.look_at is None:
        return f"{start}, and no character of the list tells them apart"
    key = doubt.look_at.character
    shows = "; ".join(f"{each.name}: {_states(each, key, sex)}" for each in (doubt.first, doubt.second))
    return f"{start}: look at the {key.replace('_', ' ')} ({shows})"


def misfit_sentence(found: Identification) -> str | None:
    """Return that none of the list fits well, with what speaks most against the best of them; None where one does."""
    if not found.fits_badly:
        return None
    best = found.candidates[0]
    start = f"none of the {len(found.candidates)} species of {found.region.name} fits well"
    against = "; ".join(weighed.words for weighed in found.misfits[:2])
    return f"{start}; against the best of them, {best.species.name}: {against}" if against else start


def cautions(found: Identification) -> tuple[str, ...]:
    """Return what the chances leave out, and how far the tables behind them can be trusted."""
    told = [_place_caution(found)]
    told.extend(_line_caution(found.seen))
    areas = sorted({status.area for species in found.region.species for status in species.statuses})
    if not areas or found.seen.area not in (None, *areas):
        where = f" in {found.seen.area}" if areas else ""
        told.append(f"how rare the species are{where} is not in the pack; all count alike before anything is seen")
    elif found.seen.area is None:
        told.append(f"how rare a species is holds for {listed(areas)}")
    traits = [trait for species in found.region.species for trait in species.traits]
    if found.seen.answers and any(trait.origin.mark in (Mark.MEMORY, Mark.ESTIMATE) for trait in traits):
        told.append("characters in the pack are from memory or estimated, and may be wrong")
    told.append("a specialist verifies")
    return tuple(told)


def _place_caution(found: Identification) -> str:
    known = found.seen.nearby
    if known is not None and known.is_known:
        return f"what was not recorded within {known.square_words} may live there all the same"
    if not any(species.squares for species in found.region.species):
        return "where in the region a species lives is not in the pack and does not count"
    where = "the place is not told" if known is None else f"the pack lists nothing for {known.square_words}"
    return f"where in the region a species lives does not count: {where}"


def _line_caution(seen: Seen) -> tuple[str, ...]:
    doubts = {}
    if seen.length_mm is not None:
        doubts["length"] = seen.length_wrong
    if seen.colours:
        doubts["colours"] = seen.colours_wrong
    doubted = [what for what, wrong in doubts.items() if wrong > LINE_WRONG]
    if not doubted:
        return ()
    worst = max(doubts[what] for what in doubted)
    return (
        f"nobody has confirmed the line of the body that gave {listed(doubted)}: they count as if "
        f"{100 * worst:.0f} in 100 such lines were of a wing or of something else",
    )


def _states(species: Species, key: str, sex: Sex) -> str:
    if key == SUBORDER:
        return species.family.group.value
    return listed(species.states(key, sex), "or") or "not in the pack"
