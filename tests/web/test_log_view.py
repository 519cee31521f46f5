"""The Log page's own object: nine buttons, and nothing of the field book in it."""

from stillwing.fieldbook.moment import MomentKind
from stillwing.web.log_view import TAPS, log_page


def test_there_is_one_button_for_each_kind_of_moment() -> None:
    assert len(TAPS) == 9
    assert {tap.kind for tap in TAPS} == set(MomentKind)


def test_only_a_file_that_was_not_taken_in_is_a_failure() -> None:
    assert log_page(True).status == 200
    assert log_page(True, taken_in="2 moments").status == 200
    assert log_page(True, wrong="no JSON").status == 422
