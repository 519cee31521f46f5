from dataclasses import replace
from datetime import timedelta

import pytest
from pyproj import Geod

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.clocks import ClockOffset, Found, set_offset, set_offset_by_hand
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.tracks import TrackTaken, drop_positions, positions_for_sidecars, take_track
from stillwing.frames.frame import Burst
from stillwing.place.position import Position
from stillwing.place.track import RECEIVER_ERROR_M, WALKING_M_S

from .invented import START, burst_of, listed_outing
from .test_moments import PHONE

GEOD = Geod(ellps="WGS84")


@pytest.fixture
def walk(tmp_path):
    """Give a function that writes a track of points (seconds after the start, longitude, latitude)."""

    def write(*points, name="walk.gpx"):
        file = tmp_path / name
        written = "".join(
            f'<trkpt lat="{lat!r}" lon="{lon!r}"><time>{(START + timedelta(seconds=s)).isoformat()}</time></trkpt>'
            for s, lon, lat in points
        )
        file.write_text(
            '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
            f"<trk><trkseg>{written}</trkseg></trk></gpx>"
        )
        return file

    return write


def tagged(burst, **tags):
    return Burst(burst.name, tuple(replace(one, tags=replace(one.tags, **tags)) for one in burst.frames))


def test_bursts_are_placed_along_the_geodesic_and_frames_get_their_bursts_place(book, photos, walk):
    outing = listed_outing(book, photos, burst_of(photos, 3), burst_of(photos, 2, first=10, minutes=1))
    start, end = (0.1, 52.0), (0.1011, 52.0007)
    assert take_track(book, outing.id, walk((-60, *start), (180, *end))) == TrackTaken(2, 0, 0, 0)
    places = positions_for_sidecars(book, outing.id)
    assert [one.path.name for one in places] == ["P00000.jpg", "P00001.jpg", "P00002.jpg", "P00010.jpg", "P00011.jpg"]
    length_m = GEOD.inv(*start, *end)[2]
    for one, share in ((places[0], 60 / 240), (places[4], 120 / 240)):
        walked_m = GEOD.inv(*start, one.position.longitude_deg, one.position.latitude_deg)[2]
        # The middle of the burst is 0.05 s after its start: 0.03 m.
        assert walked_m == pytest.approx(share * length_m, abs=0.05)
        assert one.track == "walk.gpx"


def test_the_cameras_clock_is_put_right(book, photos, walk):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    track = walk((-3600, 0.2, 52.0), (0, 0.1, 52.0))
    set_offset(book, outing.id, ClockOffset(PHONE, 3600.0, 3597.0, 3602.0, Found.ESTIMATED, 9, 9))
    take_track(book, outing.id, track)
    one = positions_for_sidecars(book, outing.id)[0]
    assert one.position.longitude_deg == pytest.approx(0.2, abs=1e-4)
    # A clock that may be 3 s off, on a way of 6.9 km an hour.
    pace_m_s = GEOD.inv(0.2, 52.0, 0.1, 52.0)[2] / 3600
    assert one.uncertainty_m == pytest.approx((RECEIVER_ERROR_M**2 + (3 * pace_m_s) ** 2) ** 0.5, rel=1e-3)
    take_track(book, outing.id, track, camera_minus_utc_s=0.0)
    assert positions_for_sidecars(book, outing.id)[0].position == Position(0.1, 52.0)


def test_photographs_with_a_position_of_their_own_keep_it(book, photos, walk):
    own = tagged(burst_of(photos, 2), latitude_deg=1.0, longitude_deg=2.0)
    mixed = burst_of(photos, 2, first=10, minutes=1)
    mixed = Burst(mixed.name, (tagged(mixed, latitude_deg=1.0, longitude_deg=2.0).frames[0], mixed.frames[1]))
    outing = listed_outing(book, photos, own, mixed)
    assert take_track(book, outing.id, walk((0, 0.1, 52.0), (60, 0.1, 52.0))) == TrackTaken(1, 1, 0, 0)
    assert [one.path.name for one in positions_for_sidecars(book, outing.id)] == ["P00011.jpg"]


def test_bursts_beyond_the_track_or_without_a_time_are_counted(book, photos, walk):
    far, untimed = burst_of(photos, 2, first=10, minutes=6), tagged(burst_of(photos, 2, first=20), taken_at=None)
    outing = listed_outing(book, photos, burst_of(photos, 2), far, untimed)
    assert take_track(book, outing.id, walk((0, 0.1, 52.0))) == TrackTaken(1, 0, 1, 1)
    assert len(positions_for_sidecars(book, outing.id)) == 2


def test_of_several_tracks_the_surer_one_counts_and_the_same_one_is_replaced(book, photos, walk):
    outing = listed_outing(book, photos, burst_of(photos, 2), burst_of(photos, 2, first=10, minutes=4))
    take_track(book, outing.id, walk((0, 0.1, 52.0), name="morning.gpx"))
    take_track(book, outing.id, walk((240, 0.2, 52.0), name="noon.gpx"))
    assert [one.track for one in positions_for_sidecars(book, outing.id)] == ["morning.gpx"] * 2 + ["noon.gpx"] * 2
    take_track(book, outing.id, walk((-100, 0.3, 52.0), name="morning.gpx"))
    assert [one.position.longitude_deg for one in positions_for_sidecars(book, outing.id)] == [0.3, 0.3, 0.2, 0.2]
    drop_positions(book, outing.id)
    assert positions_for_sidecars(book, outing.id) == ()


def test_a_track_of_one_outing_leaves_others_alone(book, photos, walk):
    first = listed_outing(book, photos / "a", burst_of(photos / "a", 2), name="a")
    other = listed_outing(book, photos / "b", burst_of(photos / "b", 2), name="b")
    take_track(book, first.id, walk((0, 0.1, 52.0)))
    take_track(book, other.id, walk((9999, 0.2, 52.0)))
    assert len(positions_for_sidecars(book, first.id)) == 2
    assert positions_for_sidecars(book, other.id) == ()


def test_a_camera_of_which_nothing_is_known_is_not_guessed(book, photos, walk):
    written = tagged(burst_of(photos, 2), taken_at=START.replace(tzinfo=None))
    outing = open_outing(book, "no zone", photos)
    store_listing(book, outing.id, photos, [written])
    track = walk((0, 0.1, 52.0))
    with pytest.raises(InputError, match="the camera tells no time zone, and nothing is known of its clock; log a few"):
        take_track(book, outing.id, track)
    set_offset_by_hand(book, outing.id, PHONE, 0.0)
    assert take_track(book, outing.id, track).n_placed == 1


def test_a_camera_that_says_its_zone_is_taken_at_its_word_within_half_a_minute(book, photos, walk):
    outing = listed_outing(book, photos, burst_of(photos, 1))
    take_track(book, outing.id, walk((0, 0.1, 52.0)))
    (one,) = positions_for_sidecars(book, outing.id)
    assert one.uncertainty_m == pytest.approx((RECEIVER_ERROR_M**2 + (30 * WALKING_M_S) ** 2) ** 0.5, rel=1e-3)


def test_what_is_not_there_or_no_track_is_told_and_stores_nothing(book, photos, walk, tmp_path):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    with pytest.raises(UnknownThing):
        take_track(book, 99, walk((0, 0.1, 52.0)))
    with pytest.raises(InputError, match=r"none\.gpx cannot be read"):
        take_track(book, outing.id, tmp_path / "none.gpx")
    for ahead_s in (float("nan"), float("inf"), 1e12):
        with pytest.raises(InputError, match="it can be up to 100 years off"):
            take_track(book, outing.id, walk((0, 0.1, 52.0)), camera_minus_utc_s=ahead_s)
    assert positions_for_sidecars(book, outing.id) == ()
