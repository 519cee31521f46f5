"""A rendered burst, sifted into a field book, and its flight from there: no part of the way is made up."""

from pathlib import Path

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import save_kit
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sifting import SiftRun, sift
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.review.burstflight import burst_flight
from stillwing.scene.outing import PlannedBurst, render_outing
from stillwing.scene.scenarios import Wishes

PLAN = (PlannedBurst("card-1", "landing", 10, Wishes("bird", "foliage", "low", 0.25, -10.0), 400, 1 / 2000, 0),)


@pytest.mark.slow
def test_a_sifted_burst_tells_a_flight_and_a_kit_that_fits_is_used(tmp_path):
    (truth,) = render_outing(tmp_path / "outing", 3, plan=PLAN, megapixels=1.5, workers=1)
    sift(tmp_path / "outing", book=tmp_path / "book.sqlite", run=SiftRun(workers=1))
    camera = truth["camera"]
    body = CameraBody(
        camera["sensor_width_mm"],
        camera["sensor_width_mm"] * camera["height_px"] / camera["width_px"],
        camera["width_px"],
        camera["height_px"],
        readout_s=camera["readout_s"],
    )
    with open_book(Path(tmp_path / "book.sqlite")) as book:
        (summary,) = burst_summaries(book, outings(book)[0].id)
        burst = trace(book, summary.id)
        without = burst_flight(book, burst)
        save_kit(book, Kit("long", body, Lens(75.0, 300.0, 4.8, 6.7, closest_focus_m=0.9, largest_magnification=0.5)))
        told = burst_flight(book, burst)
    assert without.missing[0].what.startswith("no one kit in the field book fits")
    assert not any(one.what.startswith("no one kit") for one in told.missing)
    assert told.setting.kit.row_s == pytest.approx(camera["readout_s"] / camera["height_px"])
    assert told.setting.kit.exposure_s == pytest.approx(1 / 2000)
    low, _, high = told.setting.focus_m
    # Both are told from the sensor: thin lens, s + s m + a little for the lens's own length.
    assert low < camera["focus_distance_m"] * 1.1 and high > camera["focus_distance_m"]
    assert told.flight is not None
    gaps = told.flight.times_s[1:] - told.flight.times_s[:-1]
    assert min(gaps) == pytest.approx(1 / camera["frames_per_s"], rel=0.02)
    shown = {frame["file"] for frame in truth["frames"] if frame["animals"]}
    by_number = {frame.number: frame.path.name for frame in burst.frames}
    assert {by_number[number] for number in told.numbers} <= shown
