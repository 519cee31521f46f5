"""The flight season as pieces of the year's axis."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from stillwing.animals.catalogue import Mark
from stillwing.records.flightspans import flight_spans
from stillwing.records.region import FlightPeriod, Origin
from stillwing.records.seasonwords import DaySpan
from stillwing.records.yearstrip import YEAR_DAYS, day_of_year

from .listed import period

ORIGIN = Origin(Mark.READ, "made up for a test")


def test_the_ends_of_a_season_are_told_apart_from_its_middle():
    spans = flight_spans(period("Late May", "Early July"))
    # Days of a leap year: 21 May is 142, 31 May 152, 30 June 182, 10 July 192.
    assert [(span.first, span.last, span.is_sure) for span in spans] == [
        (142, 152, False),
        (153, 182, True),
        (183, 192, False),
    ]


def test_a_season_over_the_new_year_is_cut_there():
    spans = flight_spans(period("October", "March"))
    assert [(span.first, span.last, span.is_sure) for span in spans] == [
        (275, 305, False),
        (306, 366, True),
        (1, 60, True),
        (61, 91, False),
    ]


def test_a_season_that_may_end_as_soon_as_it_begins_has_no_sure_day():
    assert [(span.first, span.last, span.is_sure) for span in flight_spans(period("June", "June"))] == [
        (153, 182, False)
    ]


def test_a_season_whose_end_may_come_before_its_beginning_has_no_sure_day():
    assert [(span.first, span.last, span.is_sure) for span in flight_spans(period("Mid May", "May"))] == [
        (132, 152, False)
    ]


day_spans = st.tuples(st.integers(1, 365), st.integers(0, 30)).map(
    lambda told: DaySpan(told[0], min(told[0] + told[1], 365))
)


@given(day_spans, day_spans, st.integers(1, 365))
def test_a_day_is_in_a_piece_if_and_only_if_the_season_holds_it(begins, ends, day):
    season = FlightPeriod(begins, ends, "", "", ORIGIN)
    on_axis = day_of_year(date(2023, 1, 1) + timedelta(days=day - 1))
    spans = flight_spans(season)
    assert all(1 <= span.first <= span.last <= YEAR_DAYS for span in spans)
    holding = [span for span in spans if span.first <= on_axis <= span.last]
    assert (len(holding) == 1) == season.holds(day)
    assert len(holding) <= 1
