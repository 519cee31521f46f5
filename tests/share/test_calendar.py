"""Windows as calendar events, read back by two libraries."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
import vobject

from plan.plans import FINE, question, square_pond, steady
from share.toldplans import HOSTILE, fine, hostile, pond, told_of
from stillwing.errors import InputError
from stillwing.place.site import Site
from stillwing.share.calendar import plan_calendar

MADE_AT = datetime(2024, 7, 14, 18, 30, 5, 123456, tzinfo=UTC)


def events(told, made_at=MADE_AT):
    """Return the events as the library `icalendar` reads them."""
    return icalendar.Calendar.from_ical(plan_calendar(told, made_at)).walk("VEVENT")


@pytest.mark.parametrize("told", [fine, pond])
def test_another_library_reads_every_window(told):
    told = told()
    calendar = vobject.readOne(plan_calendar(told, MADE_AT).decode())
    read = calendar.contents["vevent"]
    assert len(read) == len(told.windows) > 0
    for event, window in zip(read, told.windows, strict=True):
        assert event.dtstart.value == window.start
        assert event.dtend.value == window.end
        assert event.dtend.value - event.dtstart.value == window.end - window.start
        assert event.dtstamp.value == MADE_AT.replace(microsecond=0)
        assert window.reasons[0] in event.description.value
        assert window.spoils[0] in event.description.value
        assert window.settings in event.description.value
        for caution in told.cautions:
            assert caution in event.description.value
    assert calendar.version.value == "2.0"


def test_times_are_in_the_zone_of_the_site_which_is_told_along():
    told = fine()
    calendar = icalendar.Calendar.from_ical(plan_calendar(told, MADE_AT))
    (zone,) = calendar.walk("VTIMEZONE")
    assert zone["TZID"] == "Europe/London"
    for event, window in zip(calendar.walk("VEVENT"), told.windows, strict=True):
        assert event["DTSTART"].params["TZID"] == "Europe/London"
        # British Summer Time is an hour ahead of UTC.
        assert event["DTSTART"].dt.utcoffset() == timedelta(hours=1)
        assert event["DTSTART"].dt.astimezone(UTC) == window.start.astimezone(UTC)


def test_an_event_tells_what_where_and_how_many():
    told = pond()
    for event, window in zip(events(told), told.windows, strict=True):
        stand = told.plan.question.site.stands[window.stand]
        assert str(event["SUMMARY"]).startswith("mill pond: hawker, ")
        assert str(event["SUMMARY"]).endswith(" keepers expected")
        assert str(event["LOCATION"]) == f"mill pond, {stand.name}"
        geo = event["GEO"]
        assert (geo.latitude, geo.longitude) == pytest.approx(
            (stand.position.latitude_deg, stand.position.longitude_deg), abs=1e-5
        )
        assert {str(one) for one in event["CATEGORIES"].cats} == {"photography", "hawker"}


def test_commas_semicolons_quotes_and_umlauts_survive():
    site = square_pond()
    name = 'Mühle; "old", new \\ & <weir> 水'
    told = told_of(question(Site(name, site.outline, site.stands)))
    for event in vobject.readOne(plan_calendar(told, MADE_AT).decode()).contents["vevent"]:
        assert event.summary.value.startswith(f"{name}: hawker, ")
        assert event.location.value.startswith(f"{name}, ")


def test_lines_are_folded_within_75_octets_and_end_in_crlf():
    # RFC 5545, section 3.1.
    content = plan_calendar(hostile(), MADE_AT)
    lines = content.split(b"\r\n")
    assert lines[-1] == b""
    assert max(map(len, lines)) <= 75
    assert b"\n" not in content.replace(b"\r\n", b"")


def test_a_name_of_control_codes_gives_a_calendar_that_can_be_read():
    assert "\x07" in HOSTILE
    content = plan_calendar(hostile(), MADE_AT).decode()
    # RFC 5545, section 3.1: a control code has no place in a text value.
    assert "\x07" not in content
    assert len(vobject.readOne(content).contents["vevent"]) == len(hostile().windows)


def test_a_plan_made_anew_replaces_the_events_of_the_one_before():
    first = [str(event["UID"]) for event in events(fine())]
    warmer = told_of(question(weather=steady(**FINE | {"temperature_c": 24.0})))
    again = [str(event["UID"]) for event in events(warmer, MADE_AT + timedelta(hours=3))]
    assert len(set(first)) == len(first)
    assert again[: len(first)] == first[: len(again)]


def test_other_days_animals_and_sites_have_other_events():
    site = square_pond()
    asked = [
        question(),
        question(day=date(2024, 7, 16)),
        question(animal="common darter"),
        question(Site("other pond", site.outline, site.stands)),
    ]
    uids = [{str(event["UID"]) for event in events(told_of(one))} for one in asked]
    assert all(uids)
    assert len(set().union(*uids)) == sum(map(len, uids))


def test_a_plan_without_windows_is_no_calendar():
    with pytest.raises(InputError, match="nothing is to be expected at square pond on 2024-07-15"):
        plan_calendar(replace(fine(), windows=()), MADE_AT)


def test_a_present_without_zone_is_refused():
    with pytest.raises(InputError, match="without a zone"):
        plan_calendar(fine(), datetime(2024, 7, 14, 18, 30))
