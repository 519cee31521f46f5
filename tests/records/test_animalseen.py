"""What is known of the animal of a burst, on a rendered burst that was sifted as usual."""

import shutil
import uuid
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import text

from stillwing.animals.catalogue import Group
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.choices import choose
from stillwing.fieldbook.clocks import set_offset_by_hand
from stillwing.fieldbook.looks import BodyEnds, Look
from stillwing.fieldbook.moment import Moment, MomentKind
from stillwing.fieldbook.moments import take_in
from stillwing.fieldbook.sifting import SiftRun, sift
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.bodycolours import BodyColours
from stillwing.frames.bodylength import BodyLength, NoLength, SeenLength
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.records.animalseen import (
    SIDE_ON_WRONG,
    TURNED_WRONG,
    animal_seen,
    frames_to_measure,
    measured_body,
)
from stillwing.records.identify import identify
from stillwing.records.proposedsighting import proposed_sighting
from stillwing.records.seen import LINE_WRONG, colour_names
from stillwing.scene.outing import PlannedBurst, render_outing
from stillwing.scene.scenarios import Wishes

from .listed import BRITAIN

PLAN = (PlannedBurst("card", "hover", 3, Wishes("dragonfly", "reeds", "front", 0.3), 400, 1 / 1600, 0.0),)
PHONE = "0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a"


@pytest.fixture(scope="module")
def sifted(tmp_path_factory):
    """Return the folder, book and truth of a rendered burst; each frame's box is that of the truth."""
    folder = tmp_path_factory.mktemp("rendered")
    (truth,) = render_outing(folder / "outing", seed=4, plan=PLAN, megapixels=3.0, workers=1)
    frames = truth["frames"]
    card = folder / "outing" / "card"
    boxes = {card / frame["file"]: Box(*map(float, frame["animals"][0]["box"])) for frame in frames}
    sift(card, book=folder / "book.sqlite", boxes=boxes, run=SiftRun(workers=1))
    return card, folder / "book.sqlite", truth


@pytest.fixture
def book(sifted, tmp_path):
    shutil.copy(sifted[1], tmp_path / "book.sqlite")
    with open_book(tmp_path / "book.sqlite") as opened:
        yield opened


@pytest.fixture
def burst(book):
    return trace(book, burst_summaries(book, 1)[0].id)


def test_date_place_and_length_come_from_the_pictures(book, burst, sifted):
    found = animal_seen(book, burst, BRITAIN, Look())
    assert found.seen.on == date(2031, 6, 14)
    assert (found.place.position.latitude_deg, found.place.position.longitude_deg) == pytest.approx((51.05, -1.25))
    assert found.logged is None and found.seen.doing == frozenset()
    assert isinstance(found.body.length, BodyLength)
    assert found.seen.length_mm == found.body.length.length_mm
    # Nobody said how far it is turned: there is a lower end alone.
    assert found.seen.length_mm.high == float("inf")


def test_ends_marked_where_they_are_give_what_shows_of_the_body_in_the_scene(book, burst, sifted):
    frame = frames_to_measure(burst)[0]
    truth = next(one for one in sifted[2]["frames"] if Path(one["file"]).name == frame.path.name)["animals"][0]
    head, tail = (tuple(truth["points_px"][name]) for name in ("head", "abdomen_tip"))
    camera = sifted[2]["camera"]
    distance_mm = 1000 * truth["position_m"][2]
    mm_per_px = camera["sensor_width_mm"] / camera["width_px"] * (distance_mm / camera["focal_length_mm"] - 1)
    shows_mm = mm_per_px * float(np.hypot(*np.subtract(head, tail)))
    body = animal_seen(book, burst, BRITAIN, Look(frame_id=frame.id, ends=BodyEnds(frame.id, head, tail))).body
    assert body.length.seen_mm.low < shows_mm < body.length.seen_mm.high


def test_ends_that_a_person_marked_take_the_place_of_the_tools(book, burst, sifted):
    frame_id = animal_seen(book, burst, BRITAIN, Look()).body.frame_id
    ends = BodyEnds(frame_id, (100.0, 100.0), (400.0, 500.0))
    body = animal_seen(book, burst, BRITAIN, Look(ends=ends, most_tilt_deg=15.0)).body
    assert body.is_marked and body.seen.length_px.likely == pytest.approx(500.0)
    assert body.length.most_tilt_deg == 15.0
    assert animal_seen(book, burst, BRITAIN, Look(ends=ends, most_tilt_deg=15.0)).seen.length_mm.high < 1000


@pytest.mark.parametrize(
    ("most_tilt_deg", "wrong"), [(None, TURNED_WRONG), (40.0, TURNED_WRONG), (15.0, SIDE_ON_WRONG)]
)
def test_the_tools_own_line_is_doubted_until_a_person_marks_the_ends(book, burst, most_tilt_deg, wrong):
    look = Look(most_tilt_deg=most_tilt_deg)
    own = animal_seen(book, burst, BRITAIN, look)
    assert own.seen.length_wrong == own.seen.colours_wrong == wrong
    line = own.body.seen.axis
    confirmed = replace(look, ends=BodyEnds(own.body.frame_id, line.end_px, line.start_px))
    assert animal_seen(book, burst, BRITAIN, confirmed).seen.length_wrong == LINE_WRONG


def test_ends_marked_in_another_frame_do_not_count_in_this_one(book, burst):
    first, second = (frame.id for frame in frames_to_measure(burst)[:2])
    body = measured_body(book, second, Look(ends=BodyEnds(first, (100.0, 100.0), (400.0, 500.0))))
    assert not body.is_marked


def test_ends_on_one_spot_give_no_length_and_say_why(book, burst):
    frame_id = frames_to_measure(burst)[0].id
    body = measured_body(book, frame_id, Look(ends=BodyEnds(frame_id, (100.0, 100.0), (101.0, 100.0))))
    assert isinstance(body.length, NoLength) and "two ends lie on each other" in body.length.reason


def test_the_frame_that_a_person_picked_is_measured(book, burst):
    for frame in frames_to_measure(burst):
        assert animal_seen(book, burst, BRITAIN, Look(frame_id=frame.id)).body.frame_id == frame.id
    assert animal_seen(book, burst, BRITAIN, Look(frame_id=987)).body.frame_id == frames_to_measure(burst)[0].id


def test_a_kept_frame_is_measured_before_a_sharper_one(book, burst):
    order = [frame.id for frame in frames_to_measure(burst)]
    choose(book, 1, order[:-1], Choice.LEAVE)
    choose(book, 1, order[-1:], Choice.KEEP)
    assert frames_to_measure(trace(book, burst.id))[0].id == order[-1]


def test_what_a_person_leaves_out_does_not_count(book, burst):
    found = animal_seen(book, burst, BRITAIN, Look(counts_length=False, counts_colours=False))
    assert found.seen.length_mm is None
    assert found.seen.colours == {}
    assert isinstance(found.body.colours, BodyColours)


def test_the_colours_of_the_body_are_told_in_the_words_of_the_list(book, burst):
    colours = animal_seen(book, burst, BRITAIN, Look()).seen.colours
    assert set(colours) <= set(colour_names(BRITAIN))
    assert 0.5 < sum(colours.values()) <= 1 + 1e-9


def test_earlier_records_of_the_place_count_but_not_that_of_the_animal_itself(book, burst):
    earlier = Sighting("Aeshna juncea", When(date(2030, 7, 1)), Where(51.051, -1.251, 10.0), uuid.UUID(int=1))
    own = replace(earlier, scientific_name="Aeshna mixta", id=uuid.UUID(int=2))
    keep_sighting(book, earlier)
    keep_sighting(book, own, outing_id=1, bursts=[burst.id])
    found = animal_seen(book, burst, BRITAIN, Look())
    assert dict(found.nearby.counts) == {"Aeshna juncea": 1}
    assert found.seen.nearby == found.nearby
    assert found.seen.area == "Great Britain"


def test_a_place_that_no_grid_has_a_square_for_is_simply_not_known(book, burst):
    with book.writing() as connection:
        connection.execute(text("UPDATE frame SET latitude_deg = 89.0"))
    found = animal_seen(book, burst, BRITAIN, Look())
    assert (found.nearby, found.seen.area) == (None, None)


def test_what_a_person_said_counts_where_the_list_asks_for_it(book, burst):
    look = Look(group=Group.DRAGONFLY, sex="male", answers=(("eye_colour", ("blue",)), ("tail_lights", ("red",))))
    seen = animal_seen(book, burst, BRITAIN, look).seen
    assert (seen.group, seen.sex) == (Group.DRAGONFLY, "male")
    assert [(one.character, one.states) for one in seen.answers] == [("eye_colour", ("blue",))]
    assert identify(BRITAIN, seen).candidates[0].species.family.group is Group.DRAGONFLY


def log(book, burst, kind, **values):
    at = burst.taken_at.replace(microsecond=0)
    moment = Moment(id=str(uuid.UUID(int=77)), kind=kind, at=at, device=PHONE, changed_at=at, **values)
    take_in(book, [moment])


def test_the_log_tells_what_it_did(book, burst):
    log(book, burst, MomentKind.HOVER, until=burst.taken_at.replace(microsecond=0) + timedelta(seconds=5))
    unsure = animal_seen(book, burst, BRITAIN, Look())
    assert unsure.logged.behaviour == "hover" and unsure.logged.certainty < 0.5
    assert unsure.seen.doing == frozenset()
    set_offset_by_hand(book, 1, PHONE, 0.0)
    assert animal_seen(book, burst, BRITAIN, Look()).seen.doing == {MomentKind.HOVER}


def test_pictures_that_are_gone_leave_all_else(book, burst, sifted, tmp_path):
    gone = {frame.path: frame.path.with_suffix(".away") for frame in burst.frames}
    for path, away in gone.items():
        path.rename(away)
    try:
        found = animal_seen(book, burst, BRITAIN, Look())
    finally:
        for path, away in gone.items():
            away.rename(path)
    assert isinstance(found.body.seen, NoLength) and found.body.seen == found.body.length
    assert found.seen.on == date(2031, 6, 14) and found.seen.length_mm is None


def test_a_burst_without_an_animal_has_no_body(book, burst):
    empty = replace(burst, frames=tuple(replace(frame, animals=()) for frame in burst.frames))
    assert animal_seen(book, empty, BRITAIN, Look()).body is None


def test_the_record_that_a_burst_suggests_tells_what_the_pictures_tell(book, burst, sifted):
    log(book, burst, MomentKind.HOVER)
    found = proposed_sighting(book, burst, "Aeshna juncea", Look(sex="male"))
    sighting = found.sighting
    assert (sighting.scientific_name, sighting.count, sighting.sexes) == ("Aeshna juncea", 1, ("male",))
    assert sighting.when.iso == "2031-06-14T10:32:07+00:00"
    assert (sighting.where.latitude, sighting.where.longitude, sighting.where.uncertainty_m) == (51.05, -1.25, 30.0)
    assert sighting.doing == ("hovering",)
    kept = [frame.path.name for frame in burst.frames if frame.choice is Choice.KEEP]
    assert kept and list(sighting.pictures) == kept
    assert found.told == (
        "the place is by the pictures' own tags, and may be off by 30 m",
        "the field log tells what it did: hover",
    )


def test_a_camera_without_a_zone_gives_the_day_alone(book, burst):
    naive = replace(burst, taken_at=burst.taken_at.replace(tzinfo=None))
    found = proposed_sighting(book, naive, "Aeshna juncea", Look())
    assert found.sighting.when.iso == "2031-06-14"
    assert "only the day is given" in found.told[1]


def test_the_line_of_the_body_is_told(book, burst):
    assert isinstance(measured_body(book, frames_to_measure(burst)[0].id, Look()).seen, SeenLength)
