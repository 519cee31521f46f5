"""How each burst of an outing was taken: what its tags, the log, the sightings and the photographer tell of it."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from statistics import median_low

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstplace import site_of_outing
from stillwing.fieldbook.burstspans import BurstSpan
from stillwing.fieldbook.conditions import conditions_of
from stillwing.fieldbook.looks import groups_of_bursts
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.names import name_key
from stillwing.fieldbook.outinglog import OutingLog, outing_log
from stillwing.fieldbook.sightings import sightings_of_bursts
from stillwing.fieldbook.sites import KeptSite
from stillwing.fieldbook.takenframes import TakenBurst, TakenFrame
from stillwing.place.heading import facing_wind
from stillwing.sky.weatherwords import weather_from_words
from stillwing.sky.wind import compass_words

__all__ = ["TAG_FACTORS", "WIND_FROM", "Factors", "outing_factors"]

Factors = dict[str, str | float]

TAG_FACTORS: Mapping[str, str] = {
    "exposure_s": "exposure_s",
    "f_number": "f_number",
    "iso": "iso",
    "focal_length_mm": "focal_length_mm",
    "focus_distance_m": "distance_m",
}
"""Tags that are factors, by the factor's name."""
NUMBERS = frozenset({*TAG_FACTORS.values(), "hour", "wind_angle_deg"})
WIND_FROM = "wind from"
"""Condition that says where the wind came from, as "SW" or "225"."""
BOTH = " and "


def outing_factors(book: FieldBook, outing_id: int, bursts: Sequence[TakenBurst]) -> dict[int, Factors]:
    """Return how each burst of an outing was taken, by its number; what nothing tells is left out.

    Parameters
    ----------
    bursts : sequence of TakenBurst
        Of this outing, with their measured frames.

    Notes
    -----
    Tags count by their middle over the burst's frames, words by the commonest. The hour is the camera's own. An animal
    is named by the burst's sightings, else by the log, else by the group that a person picked. Moment, animal and stand
    of the log follow `joining.join_outing`; where the camera's clock is not known there are none. What a person typed
    of the burst stands before what they typed of the outing. Where the wind came from is what was typed, else what the
    last note of the log before the burst that tells it has, such as "wind 3 m/s from SW".
    """
    log = outing_log(book, outing_id)
    told = {burst.id: _of_tags(burst.frames) for burst in bursts}
    for burst_id, factors in _of_log(log).items():
        if burst_id in told:
            told[burst_id] |= factors
    _name_animals(book, told)
    typed = conditions_of(book, outing_id)
    site = site_of_outing(book, outing_id)
    where, winds = _where(log, site), _winds(log)
    for burst_id, factors in told.items():
        factors |= where
        words = {**typed.get(None, {}), **typed.get(burst_id, {})}
        factors |= {name: value for name, value in words.items() if name not in NUMBERS and name != WIND_FROM}
        told_deg = _bearing(words[WIND_FROM]) if WIND_FROM in words else winds.get(burst_id)
        factors |= _wind(told_deg, site, factors.get("stand"))
    return told


def _of_tags(tags: Sequence[TakenFrame]) -> Factors:
    told: Factors = {}
    for tag, factor in TAG_FACTORS.items():
        values = [float(value) for one in tags if (value := getattr(one, tag)) is not None]
        # Some cameras write a distance of nought or without end for "not known".
        values = [value for value in values if 0.0 < value < math.inf]
        if values:
            told[factor] = median_low(values)
    modes = Counter(one.focus_mode for one in tags if one.focus_mode)
    if modes:
        told["focus mode"] = _commonest(modes)
    times = [one.taken_at for one in tags if one.taken_at is not None]
    if times:
        first = min(times, key=lambda at: at.replace(tzinfo=None))
        told["hour"] = first.hour + first.minute / 60
    return told


def _of_log(log: OutingLog) -> dict[int, Factors]:
    told: dict[int, Factors] = {}
    is_timed = log.clock.can_time(log.bursts)
    for span, joined in zip(log.bursts, log.joined, strict=True):
        factors = told.setdefault(span.id, {})
        if joined.behaviour is not None:
            factors["moment"] = joined.behaviour.value
        if joined.animal:
            factors["animal"] = joined.animal
        stand = _stand(log, span) if is_timed else ""
        if stand:
            factors["stand"] = stand
    return told


def _where(log: OutingLog, site: KeptSite | None) -> Factors:
    if site is not None:
        return {"site": site.site.name}
    logged = Counter(one.moment.site for one in log.moments if one.moment.site)
    return {"site": _commonest(logged)} if logged else {}


def _stand(log: OutingLog, span: BurstSpan) -> str:
    """Return the stand that was last named before the end of a burst; none once the photographer moved on unnamed."""
    for one in reversed([one.moment for one in log.moments if one.at <= span.end]):
        if one.stand or one.kind is MomentKind.MOVED:
            return one.stand
    return ""


def _name_animals(book: FieldBook, told: Mapping[int, Factors]) -> None:
    shown = sightings_of_bursts(book, sorted(told))
    for burst_id, kept in shown.items():
        told[burst_id]["animal"] = BOTH.join(dict.fromkeys(one.sighting.scientific_name for one in kept))
    unnamed = [burst_id for burst_id, factors in told.items() if "animal" not in factors]
    for burst_id, group in groups_of_bursts(book, unnamed).items():
        told[burst_id]["animal"] = group.value


def _winds(log: OutingLog) -> dict[int, float]:
    """Return where the wind came from at each burst, as the notes of the log have it last. [deg]"""
    if not log.clock.can_time(log.bursts):
        return {}
    noted = [one for one in log.moments if one.moment.kind is MomentKind.CONDITIONS]
    told = [(one.at, from_deg) for one in noted if not math.isnan(from_deg := _noted_wind(one.moment.note))]
    before = {span.id: [from_deg for at, from_deg in told if at <= span.end] for span in log.bursts}
    return {burst_id: winds[-1] for burst_id, winds in before.items() if winds}


def _noted_wind(note: str) -> float:
    try:
        return float(weather_from_words(note).wind_from_deg)
    except InputError:
        # Most notes are no weather in these words.
        return math.nan


def _bearing(words: str) -> float | None:
    try:
        return compass_words(words)
    except InputError:
        # Words such as "all over" are a condition too, and tell no angle.
        return None


def _wind(from_deg: float | None, site: KeptSite | None, stand: str | float | None) -> Factors:
    """Return how far an animal that faces the wind is turned from who faces straight out from a stand."""
    if from_deg is None or site is None or not isinstance(stand, str):
        return {}
    bearings = [one.faces_deg for one in site.site.stands if name_key(one.name) == name_key(stand)]
    return {"wind_angle_deg": float(facing_wind(from_deg, bearings[0]).turned_deg)} if bearings else {}


def _commonest(words: Counter[str]) -> str:
    return min(words, key=lambda word: (-words[word], word))
