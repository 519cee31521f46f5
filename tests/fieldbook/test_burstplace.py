from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from pyproj import Geod

from stillwing.fieldbook.burstplace import OWN_M, BurstPlace, burst_place, site_of_outing
from stillwing.fieldbook.moments import MomentKind, take_in
from stillwing.fieldbook.sites import add_site
from stillwing.fieldbook.traces import burst_summaries
from stillwing.fieldbook.tracks import take_track
from stillwing.frames.frame import Burst
from stillwing.place.position import Position

from .invented import START, burst_of, listed_outing
from .test_moments import moment
from .write_stored_book import stored_site


def tagged(burst, *places):
    frames = zip(burst.frames, places, strict=True)
    return Burst(
        burst.name,
        tuple(replace(one, tags=replace(one.tags, latitude_deg=lat, longitude_deg=lon)) for one, (lat, lon) in frames),
    )


def placed(book, outing):
    return burst_place(book, outing.id, burst_summaries(book, outing.id)[0].id)


@pytest.fixture
def walk(tmp_path):
    file = tmp_path / "walk.gpx"
    points = "".join(
        f'<trkpt lat="52.5" lon="0.25"><time>{(START + timedelta(seconds=s)).isoformat()}</time></trkpt>'
        for s in (-30, 30)
    )
    head = '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
    file.write_text(f"{head}<trk><trkseg>{points}</trkseg></trk></gpx>")
    return file


def test_nothing_tells_where_a_burst_was_taken(book, photos):
    assert placed(book, listed_outing(book, photos, burst_of(photos, 2))) is None


def test_the_pictures_own_tags_come_first_and_one_wrong_fix_among_three_is_passed_over(book, photos, walk):
    burst = tagged(burst_of(photos, 3), (52.0, 0.1), (52.0002, 0.1001), (10.0, 40.0))
    outing = listed_outing(book, photos, burst)
    take_track(book, outing.id, walk)
    assert placed(book, outing) == BurstPlace(Position(0.1001, 52.0), OWN_M, "the pictures' own tags", "")


def test_a_track_tells_where_the_pictures_do_not(book, photos, walk):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    take_track(book, outing.id, walk)
    place = placed(book, outing)
    assert (place.position, place.told_by) == (Position(0.25, 52.5), "the track walk.gpx")
    assert place.uncertainty_m > 0


def log_at(book, *sites):
    take_in(book, [moment(number, 10.0 * number, kind=MomentKind.PASS, site=site) for number, site in enumerate(sites)])


def test_the_water_that_was_logged_most_stands_for_the_place_as_far_as_it_reaches(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    add_site(book, stored_site())
    log_at(book, "Weiher", "elsewhere", "WEIHER", "")
    place = placed(book, outing)
    corners = [(0.1, 52.0), (0.101, 52.0), (0.101, 52.001), (0.1, 52.001)]
    middle = place.position.longitude_deg, place.position.latitude_deg
    farthest_m = max(Geod(ellps="WGS84").inv(*middle, *corner)[2] for corner in corners)
    assert middle == pytest.approx((0.1005, 52.0005))
    assert place.uncertainty_m == pytest.approx(farthest_m, rel=1e-3)
    assert (place.told_by, place.site) == ("the middle of Weiher, which the field log names", "Weiher")
    assert np.isfinite(place.uncertainty_m)


def test_a_water_that_the_book_does_not_hold_tells_nothing(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    add_site(book, stored_site())
    log_at(book, "elsewhere", "elsewhere", "Weiher")
    assert site_of_outing(book, outing.id) is None
    assert placed(book, outing) is None
