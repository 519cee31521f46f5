"""The parts of a told plan as sentences, the same on every face."""

from stillwing.optics.subject import Range
from stillwing.plan.reasons import clock_words, compass_point, keepers_words
from stillwing.plan.told import DayTold, Ending, Move, WhatIf, Window

__all__ = ["ending_sentence", "expected_words", "heading_words", "move_sentence", "what_if_sentence", "window_sentence"]


def heading_words(told: DayTold) -> str:
    """Return what is planned, as "mill pond, Wednesday 15 July 2026: hawker, hover, at 3.0 m"."""
    question = told.plan.question
    day = f"{question.day:%A} {question.day.day} {question.day:%B %Y}"
    doing = f"{question.animal.name}, {question.behaviour.value}, at {told.plan.distance_m:.1f} m"
    return f"{question.site.name}, {day}: {doing}"


def expected_words(keepers: Range) -> str:
    """Return a number of keepers with its range, as "3.4 keepers to expect (2.8 to 3.5)".

    Examples
    --------
    >>> expected_words(Range(0.0, 0.42, 1.3)), expected_words(Range(2.04, 2.04, 2.04))
    ('0.42 keepers to expect (0 to 1.3)', '2.0 keepers to expect')
    """
    low, likely, high = map(keepers_words, keepers)
    doubt = "" if low == high else f" ({low} to {high})"
    return f"{likely} keepers to expect{doubt}"


def window_sentence(told: DayTold, window: Window) -> str:
    """Return when, where, which way and how many, as "13:10 to 15:00 at east bank 3, facing NNW (335°): ..."."""
    stand = told.plan.question.site.stands[window.stand].name
    first, last = round(window.bearing_from_deg) % 360, round(window.bearing_to_deg) % 360
    bearings = f"{first}°" if first == last else f"{first}° to {last}°"
    facing = compass_point(float(told.plan.cells.bearing_deg[window.moment, window.stand]))
    return (
        f"{clock_words(window.start)} to {clock_words(window.end)} at {stand}, facing {facing} ({bearings}): "
        f"{expected_words(window.keepers)}; {window.settings}"
    )


def move_sentence(told: DayTold, move: Move) -> str:
    """Return one stay of the day's walk, as "07:20 to 09:40 north-east bank 6, facing NW: 1.3 keepers; <why>"."""
    stand = told.plan.question.site.stands[move.stand].name
    walk = f", {move.walk_m:.0f} m on" if move.walk_m >= 0.5 else ""
    faces = compass_point(move.bearing_deg)
    return (
        f"{clock_words(move.start)} to {clock_words(move.end)} {stand}{walk}, facing {faces}: "
        f"{keepers_words(move.keepers)} keepers; {move.why}"
    )


def ending_sentence(ending: Ending) -> str:
    """Return when the day is over and why."""
    return f"Over at {clock_words(ending.when)}: {ending.why}"


def what_if_sentence(case: WhatIf) -> str:
    """Return a change and what it does to the windows, as "If the wind backs 30°, to S: 3.4 becomes 1.2; ..."."""
    figures = ", ".join(
        f"{keepers_words(before)} becomes {keepers_words(after)}"
        for before, after in zip(case.keepers_before, case.keepers, strict=True)
    )
    return f"If {case.what}: {figures}; {case.advice}" if figures else f"If {case.what}: {case.advice}"
