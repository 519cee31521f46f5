"""What the field log and a track tell of an outing, in words."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from stillwing.fieldbook.toldwords import THIN_SPACE, ahead_words, clock_of, count, number, track_words
from stillwing.fieldbook.tracks import TrackTaken


@pytest.mark.parametrize(
    ("taken", "lines"),
    [
        (TrackTaken(0, 0, 0, 0), ("walk.gpx: 0 bursts have a place",)),
        (
            TrackTaken(1, 2, 1, 1),
            (
                "walk.gpx: 1 burst has a place",
                "2 bursts tell a position already",
                "1 burst lies further than 5 min from every point of it",
                "1 burst has no time",
            ),
        ),
    ],
)
def test_what_a_track_gave_is_told_in_plain_words(taken, lines):
    assert track_words(taken, "walk.gpx") == lines


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (59.96, "ahead 1 min 0 s"),
        (-0.06, "behind 0.1 s"),
        (86400.0 + 61.5, "ahead 1 d 0 h 1 min 1.5 s"),
        (0.0, "right"),
    ],
)
def test_a_difference_is_said_in_the_largest_units(seconds, words):
    assert ahead_words(seconds) == words


def test_counts_agree_with_their_noun_and_part_their_thousands():
    assert count(20000, "frame") == f"20{THIN_SPACE}000 frames"
    assert (count(1, "frame"), count(2, "box", "boxes"), number(999)) == ("1 frame", "2 boxes", "999")


def test_a_time_is_that_of_the_cameras_clock():
    at = datetime(2024, 7, 14, 23, 30, tzinfo=UTC)
    assert clock_of(at, None) == "23:30:00"
    assert clock_of(at, timezone(timedelta(hours=2))) == "01:30:00"
