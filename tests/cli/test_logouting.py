"""``stillwing log track``, ``clock`` and ``bursts``, over an outing whose bursts are invented."""

import json
import uuid
from dataclasses import replace
from datetime import timedelta

import pytest

from fieldbook.invented import START, burst_of
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.clocks import outing_clock
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.moment import Moment, MomentKind
from stillwing.fieldbook.moments import take_in
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.tracks import positions_for_sidecars
from stillwing.frames.frame import Burst

PHONE, OTHER = "0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a", "77aa0000-5d1f-4c57-9a55-2f8e1c0d4b6a"
MINUTES = (0.0, 1.3, 4.1, 9.7, 16.2, 17.5, 31.0, 44.4)
LATE_S = 3600.0
"""The phone's clock is that far behind the camera's."""


@pytest.fixture
def log(stillwing_here, book):
    """Give a function that runs the command on a field book of its own."""
    return lambda *words: stillwing_here("log", *words, "--book", book)


@pytest.fixture
def pond(book, tmp_path):
    """Store an outing of eight bursts."""
    return stored(book, tmp_path / "photos")


@pytest.fixture
def zoneless(book, tmp_path):
    """Store the same of a camera that tells no zone."""
    return stored(book, tmp_path / "photos", has_zone=False)


def stored(book, folder, *, has_zone=True):
    bursts = [burst_of(folder, 2, first=10 * i, minutes=minutes) for i, minutes in enumerate(MINUTES)]
    if not has_zone:
        bursts = [Burst(one.name, tuple(map(without_zone, one.frames))) for one in bursts]
    with open_book(book) as opened:
        outing = open_outing(opened, "pond", folder)
        store_listing(opened, outing.id, folder, bursts)
    return outing


def without_zone(frame):
    return replace(frame, tags=replace(frame.tags, taken_at=frame.tags.taken_at.replace(tzinfo=None)))


def tap(book, kind, minutes, *, device=PHONE, animal="", perch=""):
    """Log moments two seconds after minutes of the camera's clock."""
    instants = [START + timedelta(minutes=one, seconds=2.0 - LATE_S) for one in minutes]
    with open_book(book) as opened:
        take_in(
            opened,
            [
                Moment(str(uuid.uuid4()), kind, at, device, at, site="mill pond", animal=animal, perch=perch)
                for at in instants
            ],
        )


def walk(folder, *points, name="walk.gpx"):
    """Write a track of points (minutes of the camera's clock, longitude, latitude), in the time of the phone."""
    file = folder / name
    written = "".join(
        f'<trkpt lat="{lat}" lon="{lon}"><time>'
        f"{(START + timedelta(minutes=minutes, seconds=-LATE_S)).isoformat()}</time></trkpt>"
        for minutes, lon, lat in points
    )
    file.write_text(
        '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
        f"<trk><trkseg>{written}</trkseg></trk></gpx>"
    )
    return file


def placed(book, outing):
    with open_book(book) as opened:
        return positions_for_sidecars(opened, outing.id)


class TestClock:
    def test_is_estimated_from_burst_taps_stored_and_shown(self, log, book, pond):
        tap(book, MomentKind.BURST, MINUTES)
        run = log("clock", "--outing", "pond")
        assert run.returncode == 0, run.stderr
        row = next(line for line in run.stdout.splitlines() if "0b7c6a3e" in line)
        assert "ahead 1 h 0 min 0 s" in row and "8 of 8" in row and "estimated" in row
        with open_book(book) as opened, opened.reading() as connection:
            assert outing_clock(connection, pond.id).leading.n_matched == 8

    def test_as_json_tells_the_interval(self, log, book, pond):
        tap(book, MomentKind.BURST, MINUTES)
        tap(book, MomentKind.BURST, MINUTES[:2], device=OTHER)
        told = json.loads(log("clock", "--json").stdout)
        known = {one["phone"]: one for one in told["phones"]}
        assert (told["outing"], told["leading"]) == ("pond", PHONE)
        assert known[PHONE]["camera_ahead_s"] == pytest.approx(LATE_S, abs=0.1)
        assert known[PHONE]["low_s"] < LATE_S < known[PHONE]["high_s"]
        assert known[OTHER]["camera_ahead_s"] is None
        assert [one["phone"] for one in told["silent"]] == [OTHER]

    def test_that_cannot_be_told_says_why_and_can_be_set_by_hand_and_forgotten(self, log, book, pond):
        tap(book, MomentKind.BURST, MINUTES[:3])
        run = log("clock")
        assert "0b7c6a3e   not known" in run.stdout
        assert "phone 0b7c6a3e: 3 burst taps and 8 bursts with a time are too few" in run.stderr
        by_hand = log("clock", "--ahead-s", "-7200", "--phone", "0b7c6a3e")
        assert "0b7c6a3e   behind 2 h 0 min 0 s" in by_hand.stdout and "by hand" in by_hand.stdout
        assert "by hand" in log("clock").stdout
        forgotten = log("clock", "--forget", "--phone", "0B7C")
        assert forgotten.returncode == 0 and "not known" in forgotten.stdout

    def test_of_several_phones_shows_which_one_leads(self, log, book, pond):
        tap(book, MomentKind.BURST, MINUTES)
        tap(book, MomentKind.PASS, MINUTES[:1], device=OTHER)
        run = log("clock", "--ahead-s", "3590", "--phone", OTHER)
        rows = [line for line in log("clock").stdout.splitlines() if "ahead" in line]
        assert run.returncode == 0
        assert rows[0].startswith(" 77aa0000") and "by hand, leads" in rows[0]
        assert rows[1].startswith(" 0b7c6a3e") and "leads" not in rows[1]

    @pytest.mark.parametrize(
        ("words", "sentence"),
        [
            (["--ahead-s", "3"], "no phone is named; name one with --phone"),
            (["--forget"], "no phone is named"),
            (["--phone", "0b7c6a3e"], "--phone goes with --ahead-s"),
            (["--phone", "0b7c6a3e", "--forget", "--ahead-s", "3"], "contradict one another"),
            (["--phone", "abcdef", "--forget"], "no phone has the id 'abcdef'; those known are 0b7c6a3e"),
            (["--phone", "0b7c6a3e", "--ahead-s", "nan"], "it can be up to 100 years off"),
            (["--outing", "lake"], "lake"),
        ],
    )
    def test_what_cannot_be_costs_one_sentence(self, log, book, pond, words, sentence):
        tap(book, MomentKind.BURST, MINUTES)
        run = log("clock", *words)
        assert run.returncode == 2
        assert sentence in run.stderr and run.stderr.count("\n") == 1

    def test_without_any_phone_says_so(self, log, pond):
        run = log("clock")
        assert (run.returncode, run.stdout, run.stderr) == (0, "", "pond: no phone has logged anything\n")


class TestBursts:
    def test_are_shown_with_what_the_animal_did_and_how_sure_that_is(self, log, book, pond):
        tap(book, MomentKind.BURST, MINUTES)
        tap(book, MomentKind.PASS, MINUTES[2:3], animal="[emperor]")
        log("clock")
        run = log("bursts", "--outing", "pond")
        rows = [line.split() for line in run.stdout.splitlines() if "2026-06-01" in line]
        assert len(rows) == 8
        assert rows[2][:4] == ["P00020", "2026-06-01", "10:04:06", "pass"]
        assert rows[2][5:] == ["%", "[emperor]"] and 30 < int(rows[2][4]) <= 100
        assert rows[1] == ["P00010", "2026-06-01", "10:01:18"]
        assert run.stderr == "8 bursts: 1 told, 0 in doubt, 7 of which nothing was logged, 0 without a time\n"

    def test_in_doubt_name_the_moments_that_disagree_with_their_times(self, log, book, pond):
        tap(book, MomentKind.PASS, MINUTES[2:3], animal="emperor")
        tap(book, MomentKind.PERCH, MINUTES[2:3], animal="skimmer", perch="reed")
        log("clock", "--ahead-s", "3600", "--phone", PHONE)
        run = log("bursts")
        row = next(line for line in run.stdout.splitlines() if "P00020" in line)
        # Two seconds after 10:04:06 by the camera.
        assert "two at once: " in row
        assert "pass, emperor, at 10:04:08" in row and "perch, skimmer, on reed, at 10:04:08" in row
        late = next(line for line in run.stdout.splitlines() if "P00040" in line)
        assert late.endswith("last word too old: perch, skimmer, on reed, at 10:04:08")
        assert "can be taken back on the Log page" in run.stderr
        told = {one["burst"]: one for one in json.loads(log("bursts", "--json").stdout)}
        assert (told["P00020"]["conflict"], told["P00020"]["certainty"]) == ("two at once", None)
        assert {one["kind"] for one in told["P00020"]["moments"]} == {"pass", "perch"}
        assert {one["by_camera"] for one in told["P00020"]["moments"]} == {"2026-06-01T10:04:08.000+00:00"}
        assert (told["P00030"]["doing"], told["P00030"]["certainty"], told["P00030"]["conflict"]) == (
            "perch",
            1.0,
            None,
        )

    def test_of_a_camera_that_nothing_ties_to_the_log_are_not_guessed(self, log, book, zoneless):
        tap(book, MomentKind.PASS, MINUTES)
        run = log("bursts")
        assert run.stdout.count("nothing ties the camera's clock to the log") == 8
        assert "see stillwing log clock" in run.stderr
        assert {one["conflict"] for one in json.loads(log("bursts", "--json").stdout)} == {"clock unknown"}


class TestTrack:
    def test_tells_how_many_bursts_have_a_place(self, log, book, pond, tmp_path):
        tap(book, MomentKind.BURST, MINUTES)
        log("clock")
        run = log("track", walk(tmp_path, (0, 0.1, 52.0), (20, 0.11, 52.0)), "--outing", "pond")
        assert run.returncode == 0, run.stderr
        assert run.stderr.splitlines() == [
            "walk.gpx: 5 bursts have a place",
            "3 bursts lie further than 5 min from every point of it",
        ]
        assert len(placed(book, pond)) == 10

    def test_can_be_forgotten(self, log, book, pond, tmp_path):
        log("track", walk(tmp_path, (0, 0.1, 52.0)), "--camera-ahead-s", "3600")
        assert len(placed(book, pond)) == 6
        run = log("track", "--forget")
        assert (run.returncode, run.stderr) == (0, "pond: the positions of its bursts are forgotten\n")
        assert placed(book, pond) == ()

    def test_needs_a_clock_where_the_camera_tells_no_zone(self, log, book, zoneless, tmp_path):
        track = walk(tmp_path, (0, 0.1, 52.0))
        run = log("track", track)
        assert run.returncode == 2 and "say how many seconds the camera is ahead of UTC" in run.stderr
        assert log("track", track, "--camera-ahead-s", "3600").returncode == 0
        assert len(placed(book, zoneless)) == 6
        # By the camera's clock as if it ran in UTC, all bursts lie an hour beyond the track.
        log("track", track, "--camera-ahead-s", "0")
        assert placed(book, zoneless) == ()

    @pytest.mark.parametrize(
        ("words", "sentence"),
        [
            ([], "no track is named; name a GPX file, or --forget"),
            (["walk.gpx", "--forget"], "--forget goes alone"),
            (["--forget", "--camera-ahead-s", "3"], "--forget goes alone"),
            (["none.gpx"], "none.gpx cannot be read"),
        ],
    )
    def test_that_cannot_be_costs_one_sentence(self, log, pond, words, sentence):
        run = log("track", *words)
        assert run.returncode == 2
        assert sentence in run.stderr and run.stderr.count("\n") == 1
