"""The windows of a plan as events of a calendar: iCalendar (RFC 5545)."""

import re
import uuid
from datetime import UTC, date, datetime

from icalendar import Calendar, Event

from stillwing.errors import InputError
from stillwing.plan.reasons import keepers_words
from stillwing.plan.sentences import ending_sentence, window_sentence
from stillwing.plan.told import DayTold, Window

__all__ = ["plan_calendar"]

PRODUCT = "-//stillwing//plan//EN"
NAMESPACE = uuid.UUID("3f1c6f0e-5f5b-4f0b-9a39-6c1f7a3d2b58")
"""Of the identifiers of our events; drawn once."""
NOT_TEXT = re.compile("[\\x00-\\x08\\x0b-\\x1f\\x7f]")
"""Control codes have no place in a text (section 3.1), but for the tabulator; the library writes ends of lines as they
should be."""
DIGITS = 6
"""Of a degree of latitude, a tenth of a metre."""


def plan_calendar(told: DayTold, made_at: datetime) -> bytes:
    """Return one event for each window, in the site's zone.

    Parameters
    ----------
    told : DayTold
    made_at : datetime
        The present, aware: what the events say of when they were made.

    Returns
    -------
    bytes
        UTF-8, lines folded. The same site, day, animal and rank of window keep their identifier, so that a plan made
        anew takes the place of the one before.

    Raises
    ------
    InputError
        If ``made_at`` has no zone, or the plan has no window: a calendar has at least one event (section 3.6).
    """
    if made_at.utcoffset() is None:
        raise InputError(f"made_at is {made_at.isoformat()} without a zone; give the time with one, as UTC")
    question = told.plan.question
    if not told.windows:
        raise InputError(
            f"nothing is to be expected at {question.site.name} on {question.day.isoformat()}, so there is nothing to "
            "put into a calendar; try another day or animal"
        )
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for rank, window in enumerate(told.windows, 1):
        calendar.add_component(_event(told, window, rank, made_at.astimezone(UTC).replace(microsecond=0)))
    # The zone's rules of the day's own year: all that its events need.
    year = question.day.year
    calendar.add_missing_timezones(first_date=date(year, 1, 1), last_date=date(year, 12, 31))
    return bytes(calendar.to_ical())


def _event(told: DayTold, window: Window, rank: int, made_at: datetime) -> Event:
    question = told.plan.question
    stand = question.site.stands[window.stand]
    event = Event()
    event.add("uid", _identifier(told, rank))
    event.add("dtstamp", made_at)
    event.add("dtstart", window.start)
    event.add("dtend", window.end)
    likely = keepers_words(window.keepers.likely)
    event.add("summary", _text(f"{question.site.name}: {question.animal.name}, {likely} keepers expected"))
    event.add("location", _text(f"{question.site.name}, {stand.name}"))
    event.add("geo", (round(stand.position.latitude_deg, DIGITS), round(stand.position.longitude_deg, DIGITS)))
    event.add("description", _text("\n".join(_description(told, window))))
    event.add("categories", ["photography", question.animal.name])
    event.add("transp", "TRANSPARENT")
    return event


def _text(words: str) -> str:
    return NOT_TEXT.sub("\ufffd", words)


def _identifier(told: DayTold, rank: int) -> str:
    question = told.plan.question
    middle = question.site.plane.middle
    about = (
        question.site.name,
        f"{middle.latitude_deg:.3f} {middle.longitude_deg:.3f}",
        question.day.isoformat(),
        question.animal.name,
        question.behaviour.value,
        str(rank),
    )
    return f"{uuid.uuid5(NAMESPACE, chr(10).join(about))}@stillwing"


def _description(told: DayTold, window: Window) -> list[str]:
    lines = [
        f"{window_sentence(told, window)}.",
        "",
        *(f"- {reason}" for reason in window.reasons),
    ]
    if window.spoils:
        lines += ["", "What would spoil it:", *(f"- {phrase}" for phrase in window.spoils)]
    if told.ending:
        lines += ["", f"{ending_sentence(told.ending)}."]
    lines += ["", "Mind:", *(f"- {caution}" for caution in told.cautions)]
    credit = f" {told.weather.credit}" if told.weather.credit else ""
    sources = (f"Weather: {told.weather.source}.{credit}", f"Sharpness: {told.own}.")
    return [*lines, "", *sources, *(f"- {doubt}" for doubt in told.doubts)]
