import math
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod

from stillwing.errors import InputError
from stillwing.place.track import LONGEST_GAP_S, RECEIVER_ERROR_M, WALKING_M_S, fix_at, parse_track, read_track

START = datetime(2026, 6, 1, 10, 0, tzinfo=UTC).timestamp()
GEOD = Geod(ellps="WGS84")


def gpx(*segments):
    """Return a track whose points are (seconds after the start or None, longitude, latitude)."""
    written = ""
    for segment in segments:
        written += "<trkseg>"
        for seconds, longitude, latitude in segment:
            time = ""
            if seconds is not None:
                at = datetime.fromtimestamp(START + seconds, UTC)
                time = f"<time>{at.replace(tzinfo=None).isoformat(timespec='milliseconds')}Z</time>"
            written += f'<trkpt lat="{latitude!r}" lon="{longitude!r}">{time}</trkpt>'
        written += "</trkseg>"
    return (
        '<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
        f"<trk>{written}</trk></gpx>"
    )


def apart_m(position, longitude, latitude):
    return GEOD.inv(position.longitude_deg, position.latitude_deg, longitude, latitude)[2]


def test_half_way_in_time_is_half_way_along_the_geodesic():
    # Vincenty's inverse test of the Survey Review 22 (1975), no. 176, 88: Flinders Peak to Buninyong is 54 972.271 m
    # on GRS 80, whose flattening differs from that of WGS 84 in the ninth digit.
    flinders, buninyong = (144.42486788888888, -37.95103341666667), (143.92649552777777, -37.65282113888889)
    track = parse_track(gpx([(0, *flinders), (100, *buninyong)]), "walk.gpx")
    fix = fix_at(track, START + 50)
    assert apart_m(fix.position, *flinders) == pytest.approx(54972.271 / 2, abs=0.002)
    assert apart_m(fix.position, *buninyong) == pytest.approx(54972.271 / 2, abs=0.002)


@given(st.floats(-179.9, 179.9), st.floats(-85, 85), st.floats(0, 360), st.floats(1.0, 400.0), st.floats(0.0, 1.0))
def test_the_way_is_walked_at_an_even_pace(longitude, latitude, azimuth, length_m, share):
    end = GEOD.fwd(longitude, latitude, azimuth, length_m)[:2]
    track = parse_track(gpx([(0, longitude, latitude), (240, *end)]), "walk.gpx")
    fix = fix_at(track, START + 240 * share)
    assert apart_m(fix.position, longitude, latitude) == pytest.approx(share * length_m, abs=1e-3)
    assert apart_m(fix.position, *end) == pytest.approx((1 - share) * length_m, abs=1e-3)
    assert fix.gap_s == pytest.approx(240 * min(share, 1 - share), abs=1e-3)


def test_a_walk_across_the_antimeridian_stays_there():
    track = parse_track(gpx([(0, 179.9999, -16.8), (60, -179.9999, -16.8)]), "walk.gpx")
    assert abs(fix_at(track, START + 30).position.longitude_deg) == pytest.approx(180.0, abs=1e-7)


def test_uncertainty_grows_with_the_time_to_the_nearest_point_and_with_the_clock():
    track = parse_track(gpx([(0, 0.1, 52.0), (200, 0.1, 52.0)]), "walk.gpx")
    at_point, between = fix_at(track, START), fix_at(track, START + 100)
    assert at_point.uncertainty_m == pytest.approx(RECEIVER_ERROR_M)
    assert between.uncertainty_m == pytest.approx(math.hypot(RECEIVER_ERROR_M, 100 * WALKING_M_S))
    assert fix_at(track, START, clock_error_s=10).uncertainty_m == pytest.approx(
        math.hypot(RECEIVER_ERROR_M, 10 * WALKING_M_S)
    )


def test_somebody_who_walked_no_faster_than_told_is_within_the_uncertainty():
    # There and back at walking pace, with only the two ends logged.
    track = parse_track(gpx([(0, 0.1, 52.0), (200, 0.1, 52.0)]), "walk.gpx")
    for seconds in range(0, 201, 10):
        out_m = WALKING_M_S * min(seconds, 200 - seconds)
        true = GEOD.fwd(0.1, 52.0, 70.0, out_m)[:2]
        fix = fix_at(track, START + seconds)
        assert apart_m(fix.position, *true) <= fix.uncertainty_m


def test_beyond_five_minutes_nothing_is_told():
    track = parse_track(gpx([(0, 0.1, 52.0), (2000, 0.1, 52.001)]), "walk.gpx")
    for seconds in (-LONGEST_GAP_S - 0.01, LONGEST_GAP_S + 0.01, 1000, 2000 + LONGEST_GAP_S + 0.01):
        assert fix_at(track, START + seconds) is None
    for seconds in (-LONGEST_GAP_S + 0.01, LONGEST_GAP_S - 0.01, 2000 + LONGEST_GAP_S - 0.01):
        assert fix_at(track, START + seconds).gap_s == pytest.approx(LONGEST_GAP_S, abs=0.02)


def test_between_two_parts_the_nearer_point_stands_for_the_place():
    track = parse_track(gpx([(0, 0.1, 52.0), (10, 0.1, 52.0)], [(110, 0.2, 52.0), (120, 0.2, 52.0)]), "walk.gpx")
    assert fix_at(track, START + 40).position.longitude_deg == 0.1
    assert fix_at(track, START + 80).position.longitude_deg == 0.2


def test_points_out_of_order_twice_or_without_a_time_do_no_harm(tmp_path):
    file = tmp_path / "walk.gpx"
    file.write_text(
        gpx([(60, 0.3, 52.0), (None, 9.0, 9.0), (0, 0.1, 52.0), (0, 0.2, 52.0)]).replace(
            f"{datetime.fromtimestamp(START + 60, UTC):%H:%M:%S}.000Z", "12:01:00+02:00"
        )
    )
    track = read_track(file)
    assert track.seconds.tolist() == [START, START + 60]
    assert track.lonlat_deg[:, 0].tolist() == [0.1, 0.3]
    assert np.all(np.diff(track.seconds) > 0)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (gpx([(None, 0.1, 52.0)]), r"^walk\.gpx tells no time for the points of its track \(1\); export"),
        (gpx(), r"^walk\.gpx holds no track; export"),
        (gpx([(0, 200.0, 95.0)]), r"^walk\.gpx: latitude is 95 deg"),
        (
            gpx([(0, 0.1, 52.0)]).replace("2026-06-01T", "the first of June "),
            r"^walk\.gpx tells no time for the points",
        ),
        ("<gpx><trk>", r"^walk\.gpx is no GPX that can be read"),
        ('<!DOCTYPE g [<!ENTITY a "b">]><gpx>&a;</gpx>', "declares XML entities"),
    ],
)
def test_bad_files_are_told_in_one_sentence(text, told):
    with pytest.raises(InputError, match=told) as caught:
        parse_track(text, "walk.gpx")
    assert "\n" not in str(caught.value)
