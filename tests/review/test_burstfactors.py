"""How a burst was taken, against tags, logs, sightings and conditions that were put in by hand."""

import uuid
from datetime import timedelta
from typing import Any

import pytest

from stillwing.animals.catalogue import Group
from stillwing.fieldbook.conditions import type_condition
from stillwing.fieldbook.looks import Look, keep_look
from stillwing.fieldbook.moment import Moment, MomentKind
from stillwing.fieldbook.moments import take_in
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingtime import read_when
from stillwing.fieldbook.sites import add_site, example_kept
from stillwing.fieldbook.takenframes import taken_frames
from stillwing.review.burstfactors import outing_factors

from .invented import START, Taken, invent_outing

SET = {"exposure_s": 1 / 3200, "f_number": 8.0, "iso": 1600, "focal_length_mm": 400.0, "focus_distance_m": 3.5}
PHONE = "5f6c1c1e-8a1b-4b53-9a2b-0d5b8f1f7a10"


def factors_of(book, outing):
    return list(outing_factors(book, outing.id, taken_frames(book, outing.id)).values())


def log(book, *taps):
    moments = []
    for number, (seconds, kind, values) in enumerate(taps):
        at = START + timedelta(seconds=seconds)
        usual: dict[str, Any] = {"id": str(uuid.UUID(int=1000 + number)), "device": PHONE, "changed_at": at}
        moments.append(Moment(kind=MomentKind(kind), at=at, **(usual | values)))
    take_in(book, moments)


def test_tags_tell_the_settings_the_mode_and_the_hour(book):
    outing = invent_outing(book, "one", [Taken(tags={**SET, "focus_mode": "tracking"}), Taken()])
    told = factors_of(book, outing)
    assert told[0] == {
        "exposure_s": pytest.approx(1 / 3200),
        "f_number": 8.0,
        "iso": 1600.0,
        "focal_length_mm": 400.0,
        "distance_m": 3.5,
        "focus mode": "tracking",
        "hour": 10.0,
    }
    assert told[1] == {"hour": pytest.approx(10 + 7 / 60)}


def test_the_log_tells_moment_animal_stand_and_site(book):
    outing = invent_outing(book, "one", [Taken(), Taken()])
    log(
        book,
        (-60, "moved", {"stand": "dead willow", "site": "Reed pond"}),
        (-2, "pass", {"animal": "chaser", "site": "Reed pond"}),
        (300, "moved", {"site": "Reed pond"}),
    )
    first, second = factors_of(book, outing)
    assert (first["moment"], first["animal"], first["stand"], first["site"]) == (
        "pass", "chaser", "dead willow", "Reed pond",
    )  # fmt: skip
    # Moved on to a stand that was not named.
    assert "stand" not in second
    assert second["site"] == "Reed pond"


def test_a_sighting_names_the_animal_before_the_log_and_a_group_after_it(book):
    outing = invent_outing(book, "one", [Taken(), Taken(), Taken()])
    log(book, (-2, "pass", {"animal": "chaser"}), (7 * 60 - 2, "pass", {"animal": "chaser"}))
    bursts = [burst.id for burst in taken_frames(book, outing.id)]
    sighting = Sighting("Libellula depressa", read_when("2026-06-01"), Where(name="Reed pond"))
    keep_sighting(book, sighting, outing_id=outing.id, bursts=[bursts[0]])
    for burst_id in bursts:
        keep_look(book, burst_id, Look(group=Group.DRAGONFLY))
    assert [each["animal"] for each in factors_of(book, outing)] == ["Libellula depressa", "chaser", "dragonfly"]


def test_what_was_typed_of_a_burst_stands_before_what_was_typed_of_the_outing(book):
    outing = invent_outing(book, "one", [Taken(), Taken()])
    second = list(taken_frames(book, outing.id))[1].id
    type_condition(book, outing.id, "support", "tripod")
    type_condition(book, outing.id, "support", "hand", burst_id=second)
    type_condition(book, outing.id, "iso", "high")
    told = factors_of(book, outing)
    assert [each["support"] for each in told] == ["tripod", "hand"]
    # Words for what is a number elsewhere could not be put into levels with it.
    assert all("iso" not in each for each in told)


@pytest.mark.parametrize(("wind", "turned"), [("{}", 0.0), ("{} deg", 0.0), ("all over", None)])
def test_a_wind_against_the_stand_gives_the_angle(book, wind, turned):
    site = add_site(book, example_kept()).site
    stand = site.stands[0]
    outing = invent_outing(book, "one", [Taken()])
    log(book, (-60, "moved", {"stand": stand.name, "site": site.name}))
    type_condition(book, outing.id, "wind from", wind.format(round((stand.faces_deg + 180) % 360)))
    told = factors_of(book, outing)[0]
    assert told["site"] == site.name
    if turned is None:
        assert "wind_angle_deg" not in told
    else:
        # A wind in your back: the animal looks at you only where it comes from behind you.
        assert abs(told["wind_angle_deg"]) == pytest.approx(turned, abs=1.0)
    assert "wind from" not in told


@pytest.mark.parametrize(
    ("note", "is_told"), [("cloud, gusts", False), ("wind 3 m/s from {}", True), ("18 C, wind from {}", True)]
)
def test_a_note_of_the_log_tells_the_wind_until_the_next_one(book, note, is_told):
    site = add_site(book, example_kept()).site
    stand = site.stands[0]
    outing = invent_outing(book, "one", [Taken(), Taken()])
    along, across = ((stand.faces_deg + angle) % 360 for angle in (180, 90))
    log(
        book,
        (-60, "moved", {"stand": stand.name, "site": site.name}),
        (-50, "conditions", {"note": note.format(round(along))}),
        (300, "conditions", {"note": note.format(round(across))}),
    )
    told = [each.get("wind_angle_deg") for each in factors_of(book, outing)]
    if not is_told:
        assert told == [None, None]
    else:
        assert [abs(each) for each in told] == [pytest.approx(0, abs=1), pytest.approx(90, abs=1)]


def test_what_a_camera_writes_for_not_known_is_not_taken_for_a_figure(book):
    outing = invent_outing(book, "one", [Taken(tags={"focus_distance_m": float("inf"), "exposure_s": 0.0})])
    assert factors_of(book, outing) == [{"hour": 10.0}]
