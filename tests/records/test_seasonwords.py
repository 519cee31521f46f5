import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.records.seasonwords import MONTHS, read_days

PARTS = ("Early", "Mid", "Late", "End")


def day(month: int, of_month: int) -> int:
    return datetime.date(2025, month, of_month).timetuple().tm_yday


@pytest.mark.parametrize(
    ("words", "first", "last"),
    [
        ("Late June", day(6, 21), day(6, 30)),
        ("Early August", day(8, 1), day(8, 10)),
        ("Mid May", day(5, 11), day(5, 20)),
        ("End May", day(5, 26), day(5, 31)),
        ("End September", day(9, 25), day(9, 30)),
        ("End February", day(2, 23), day(2, 28)),
        ("July", day(7, 1), day(7, 31)),
        ("  late-JUNE ", day(6, 21), day(6, 30)),
        ("December", day(12, 1), 365),
    ],
)
def test_words_mean_days(words: str, first: int, last: int) -> None:
    assert read_days(words) == (first, last)


@given(st.sampled_from(MONTHS), st.sampled_from([*PARTS, ""]))
def test_a_part_of_a_month_lies_in_it(month: str, part: str) -> None:
    whole, span = read_days(month), read_days(f"{part} {month}")
    assert whole.first <= span.first <= span.last <= whole.last


@pytest.mark.parametrize("month", MONTHS)
def test_thirds_make_up_the_month_without_gap_or_overlap(month: str) -> None:
    early, mid, late = (read_days(f"{part} {month}") for part in ("Early", "Mid", "Late"))
    assert (early.first, late.last) == read_days(month)
    assert (early.last + 1, mid.last + 1) == (mid.first, late.first)


@pytest.mark.parametrize(
    "words", ["Early Auu", "", "Sometime June", "Jun", "6", "Late late June", "Early", "Late\nof June"]
)
def test_other_words_are_told(words: str) -> None:
    with pytest.raises(InputError, match="is no part of the year; write a month, or Early"):
        read_days(words)
