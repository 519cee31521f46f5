"""What a log says the animal was doing, as spans of time that follow from its moments.

======================  ==========================================================================================
moment                  what it says
======================  ==========================================================================================
hover                   hover, from 3 s before the tap to its end; without an end, to the next moment of the animal
                        other than a pass, or 60 s on
pass                    pass, from 3 s before the tap to 3 s after
take-off                take-off, 3 s either way
landing, return         landing, 3 s either way, and then as perch
perch                   perch, from 3 s before the tap to the next take-off from there, landing or perch there, or 10
                        minutes on
moved                   ends all that is open: another stand sees other animals
burst, conditions       nothing
======================  ==========================================================================================

Where the limit and no moment ended a span, the log is silent from there to the moment that would have ended it, or half
an hour on: the animal may still be there or not. "The animal" and "there" are the words of the log; an empty word fits
any.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stillwing.fieldbook.moment import Moment, MomentKind
from stillwing.fieldbook.names import name_key
from stillwing.optics.subject import Behaviour

__all__ = ["Claim", "claims_of", "fits"]

TAP_S = 3.0
"""How far a tap may lie from what it tells of (a choice, no source)."""
HOVER_LASTS_S = 60.0
PERCH_LASTS_S = 600.0
"""How long an open hover or perch is believed without another word (a choice, no source)."""
DOUBT_S = 1800.0
"""How much longer it is a reason to doubt; later bursts have simply nothing logged (a choice, no source)."""

EVENTS = {
    MomentKind.PASS: Behaviour.PASS,
    MomentKind.TAKE_OFF: Behaviour.TAKE_OFF,
    MomentKind.LANDING: Behaviour.LANDING,
    MomentKind.RETURN: Behaviour.LANDING,
}
SETTLES = (MomentKind.PERCH, MomentKind.LANDING, MomentKind.RETURN)


@dataclass(frozen=True, slots=True)
class Claim:
    """One span that one moment speaks for. Instants in seconds since 1970 UTC."""

    behaviour: Behaviour
    moment: Moment
    first_s: float
    last_s: float
    ended_by: str = ""
    """Id of the moment that ended it, if one did."""
    silent_until_s: float = -math.inf
    """After ``last_s`` where only the limit ended it."""


def claims_of(moments: Sequence[Moment]) -> tuple[Claim, ...]:
    """Return what moments say; their instants already put right, those taken back left out."""
    ordered = sorted((one for one in moments if not one.undone), key=lambda one: (one.at, one.id))
    claims = []
    for place, moment in enumerate(ordered):
        later = ordered[place + 1 :]
        at_s = moment.at.timestamp()
        behaviour = EVENTS.get(moment.kind)
        if behaviour is not None:
            claims.append(Claim(behaviour, moment, at_s - TAP_S, at_s + TAP_S))
        if moment.kind is MomentKind.HOVER and moment.until is not None:
            claims.append(Claim(Behaviour.HOVER, moment, at_s - TAP_S, moment.until.timestamp()))
        elif moment.kind is MomentKind.HOVER:
            claims.append(_open(Behaviour.HOVER, moment, HOVER_LASTS_S, later, _ends_hover))
        elif moment.kind in SETTLES:
            claims.append(_open(Behaviour.PERCH, moment, PERCH_LASTS_S, later, _ends_perch))
    return tuple(claims)


def fits(one: str, other: str) -> bool:
    """Tell whether two words of the log may mean the same: they do, or one is empty."""
    return not one or not other or name_key(one) == name_key(other)


def _open(
    behaviour: Behaviour,
    moment: Moment,
    lasts_s: float,
    later: Sequence[Moment],
    ends: Callable[[Moment, Moment], bool],
) -> Claim:
    at_s = moment.at.timestamp()
    # Nobody taps "perch" when they tap the landing that begins it.
    first_s = at_s if moment.kind in EVENTS else at_s - TAP_S
    end = next((one for one in later if one.kind is MomentKind.MOVED or ends(moment, one)), None)
    end_s = math.inf if end is None else end.at.timestamp()
    if end is None or end_s > at_s + lasts_s:
        return Claim(behaviour, moment, first_s, at_s + lasts_s, silent_until_s=min(end_s, at_s + lasts_s + DOUBT_S))
    return Claim(behaviour, moment, first_s, end_s, ended_by=end.id)


def _ends_hover(hover: Moment, later: Moment) -> bool:
    kinds = (MomentKind.HOVER, MomentKind.TAKE_OFF, *SETTLES)
    return later.kind in kinds and fits(hover.animal, later.animal)


def _ends_perch(perch: Moment, later: Moment) -> bool:
    is_there = fits(perch.animal, later.animal) and fits(perch.perch, later.perch)
    return later.kind in (MomentKind.TAKE_OFF, *SETTLES) and is_there
