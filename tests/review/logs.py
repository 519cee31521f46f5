"""Logs written down by hand, as short as their taps."""

from stillwing.fieldbook.moment import MomentKind
from stillwing.review.events import Event, Log


def log(*taps, start_s=0.0, end_s=100.0, conditions=""):
    """Give a log of taps such as ``(3, "take-off", "post")``, of one hawker at one stand where nothing else is said."""
    return Log(tuple(tap(*each) for each in taps), start_s, end_s, conditions)


def tap(at_s, kind, perch="", animal="hawker", stand="east", until_s=None, conditions=""):
    return Event(float(at_s), MomentKind(kind), animal, stand, perch, until_s, conditions)
