"""Which perch, stand or weather pays, in sentences that claim no difference that luck may have made."""

from collections.abc import Sequence

from stillwing.review.rates import By, PlaceRate, against_best

__all__ = ["luck_figure", "place_name", "places_sentence", "rate_figure"]

BY_LUCK = 0.05
"""A difference that luck makes at most so often is told as one (common practice, no source)."""
NO_NAME = {
    By.PERCH: "a perch without a name",
    By.STAND: "a stand without a name",
    By.CONDITIONS: "weather without words",
}
ONE = {By.PERCH: "perch", By.STAND: "stand", By.CONDITIONS: "kind of weather"}


def place_name(place: PlaceRate, by: By, among: Sequence[PlaceRate]) -> str:
    """Return the name of a place; a perch with its stand where it was logged from several."""
    name = {By.PERCH: place.perch, By.STAND: place.stand, By.CONDITIONS: place.conditions}[by] or NO_NAME[by]
    if by is By.PERCH and sum(other.perch == place.perch for other in among) > 1:
        return f"{name} from {place.stand or NO_NAME[By.STAND]}"
    return name


def rate_figure(per_h: float) -> str:
    """Return a rate with two figures, whole from 10 on.

    Examples
    --------
    >>> [rate_figure(each) for each in (0.0, 0.34, 4.26, 18.4)]
    ['0', '0.34', '4.3', '18']
    """
    if per_h == 0.0:
        return "0"
    return f"{per_h:.0f}" if per_h >= 10 else f"{per_h:.1f}" if per_h >= 1 else f"{per_h:.2f}"


def luck_figure(chance: float) -> str:
    """Return the chance that luck made a difference.

    Examples
    --------
    >>> [luck_figure(each) for each in (1.0, 0.054, 0.00002)]
    ['1', '0.054', 'under 0.001']
    """
    return f"{chance:.2g}" if chance >= 0.001 else "under 0.001"


def places_sentence(places: Sequence[PlaceRate], by: By, what: str) -> str:
    """Return which place brings most, and from which others it can be told apart.

    Parameters
    ----------
    places : sequence of PlaceRate
        The highest rate first, as `rates_by` gives them.
    by : By
        What they are.
    what : str
        What was counted, such as "returns".
    """
    if not places or places[0].rate.n == 0:
        return f"no {what} were logged with a {ONE[by]}"
    best = places[0].rate
    name = _named(places[0], by, places)
    per_h = best.per_h
    told = (
        f"{name} brings {rate_figure(per_h.likely)} {what} an hour "
        f"(95 % interval {rate_figure(per_h.low)} to {rate_figure(per_h.high)})"
    )
    if len(places) == 1:
        return f"{told}, the only {ONE[by]} so far: nothing to compare it with"
    compared = list(zip(places[1:], against_best(places), strict=True))
    less = [_named(place, by, places) for place, each in compared if each.chance_by_luck < BY_LUCK]
    alike = [_named(place, by, places) for place, each in compared if each.chance_by_luck >= BY_LUCK]
    parts = [told]
    if less:
        parts.append(f"more than {_listed(less)}")
    if alike:
        parts.append(f"{_listed([name, *alike])} cannot be told apart yet")
    return "; ".join(parts)


def _named(place: PlaceRate, by: By, among: Sequence[PlaceRate]) -> str:
    # Words for the weather hold commas, and are no names.
    name = place_name(place, by, among)
    return f"'{name}'" if place.conditions else name


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
