"""What the field log tells of a burst, in words."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from stillwing.fieldbook.burstlog import BurstLog, LogLine, by_camera
from stillwing.fieldbook.clocks import ClockOffset, Found, OutingClock
from stillwing.fieldbook.joining import Conflict, JoinedBurst
from stillwing.fieldbook.moments import Moment
from stillwing.optics.subject import Behaviour
from stillwing.web.told import log_line_words, told

from .logged import PHONE, ZERO, tapped

CLOCK = OutingClock((ClockOffset(PHONE, 3.2, 2.3, 4.1, Found.ESTIMATED, 3, 3),))
START = datetime(2024, 7, 14, 10, 21, 4, tzinfo=UTC)


def log_of(joined: JoinedBurst, *moments: Moment) -> BurstLog:
    return BurstLog(joined, tuple(by_camera(CLOCK, one) for one in moments), START)


def test_a_behaviour_is_told_with_its_animal_time_and_certainty() -> None:
    joined = JoinedBurst(1, Behaviour.HOVER, 0.934, "emperor", ("x",))
    told_of = told(log_of(joined, tapped(1, 0, "hover", animal="emperor")), None)
    assert told_of.sentence == ("hover, emperor, at 10:21:04 by the camera's clock (93 % sure that tap and burst meet)")
    assert (told_of.word, told_of.conflict) == ("hover, emperor", "")


def test_a_behaviour_that_follows_from_another_tap_names_the_tap() -> None:
    joined = JoinedBurst(1, Behaviour.PERCH, 1.0, "", ("x",))
    told_of = told(log_of(joined, tapped(1, -90, "return")), None)
    assert told_of.sentence.startswith("perch, return at 10:19:34 by")


def test_times_are_in_the_zone_of_the_camera() -> None:
    joined = JoinedBurst(1, Behaviour.PASS, 1.0, "", ("x",))
    told_of = told(log_of(joined, tapped(1, 0, "pass")), timezone(timedelta(hours=2)))
    assert "at 12:21:04 by the camera's clock" in told_of.sentence


@pytest.mark.parametrize(
    ("animals", "begins"), [(("emperor", "chaser"), "Two animals at once: take"), (("emperor", "emperor"), "Take one")]
)
def test_moments_that_disagree_are_listed_and_nothing_is_told(animals: tuple[str, str], begins: str) -> None:
    moments = [tapped(i, 2 * i, kind, animal=animals[i]) for i, kind in enumerate(("hover", "pass"))]
    told_of = told(log_of(JoinedBurst(1, moments=("x", "y"), conflict=Conflict.TWO_AT_ONCE), *moments), None)
    assert told_of.moments == (f"hover, {animals[0]}, at 10:21:04", f"pass, {animals[1]}, at 10:21:06")
    assert told_of.advice.startswith(begins)
    assert (told_of.word, told_of.sentence) == ("", "")


@pytest.mark.parametrize(("minutes", "age"), [(23, "23 min"), (150, "2.5 h")])
def test_a_last_word_that_is_too_old_tells_how_old(minutes: int, age: str) -> None:
    moment = tapped(1, -60 * minutes, "perch", perch="old post")
    told_of = told(log_of(JoinedBurst(1, moments=("x",), conflict=Conflict.TOO_OLD), moment), None)
    assert f"That was {age} before this burst" in told_of.advice
    assert told_of.moments[0].startswith("perch, on old post, at ")


def test_where_nothing_was_logged_nothing_is_said() -> None:
    for log in (None, log_of(JoinedBurst(1))):
        told_of = told(log, None)
        assert not (told_of.word or told_of.sentence or told_of.conflict or told_of.is_clock)


def test_an_unknown_clock_asks_for_the_clocks() -> None:
    assert told(log_of(JoinedBurst(1, conflict=Conflict.CLOCK_UNKNOWN)), None).is_clock


def test_the_line_counts_the_bursts_that_it_speaks_of() -> None:
    line = LogLine(34, CLOCK)
    assert log_line_words(line, 12, 18, 18) == "34 moments, 12 of 18 bursts told; clock ahead 3.2 s"
    assert log_line_words(line, 12, 90, 20) == "34 moments, 12 of the 20 bursts here told; clock ahead 3.2 s"
    assert log_line_words(LogLine(0, CLOCK), 0, 18, 18) == "nothing logged near these bursts"
    assert log_line_words(LogLine(1, OutingClock()), 0, 1, 1).endswith("1 burst told; clock unknown")


def test_the_moment_in_the_tests_lies_where_it_is_said() -> None:
    assert by_camera(CLOCK, tapped(1, 0, "pass")).at == START
    assert ZERO + timedelta(seconds=3.2) == START
