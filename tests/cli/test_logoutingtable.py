import pytest

from stillwing.cli.logoutingtable import track_words
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
