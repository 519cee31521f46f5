"""What the waiting teaches, as tables."""

import pytest
from rich.console import Console

from review.tapped import Tapping
from stillwing.cli.waitingtable import places_table, spans_table, still_gone_table
from stillwing.fieldbook.book import open_book
from stillwing.review.rates import By, PlaceRate, rate
from stillwing.review.waiting import waiting_at


@pytest.fixture
def tapping(tmp_path):
    with open_book(tmp_path / "book.sqlite") as opened:
        yield Tapping(opened)


def printed(table):
    console = Console(width=200)
    with console.capture() as captured:
        console.print(table)
    return captured.get()


def test_a_half_that_was_not_seen_is_said(tapping):
    tapping.absences([5])
    tapping.absences([9, 12, 20], end="landing")
    assert "not seen" in printed(spans_table(waiting_at(tapping.book, "mill pond", "hawker")))


def test_the_row_at_which_to_leave_is_marked_once(tapping):
    tapping.absences([4, 9, 6, 12, 7])
    assert printed(still_gone_table(waiting_at(tapping.book, "mill pond", "hawker").away)).count("leave") == 1


def test_places_carry_their_exact_interval_and_their_luck():
    # Exact limits of a Poisson count of 4: 1.090 to 10.24 (Garwood 1936, from memory).
    table = printed(
        places_table(
            [PlaceRate(rate(9, 1.0), perch="[red]"), PlaceRate(rate(4, 1.0), perch="reed")], By.PERCH, "hovers"
        )
    )
    assert "[red]" in table
    assert "1.1 to 10" in table
    # 9 or more, or 4 or fewer, of 13 at one half: 2 x 1093 / 2^13 = 0.267
    assert "0.27" in table
