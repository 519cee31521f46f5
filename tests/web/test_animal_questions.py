"""Questions as the page asks them."""

from datetime import date

from stillwing.animals.catalogue import Group
from stillwing.records.identify import identify
from stillwing.records.pack import region_named
from stillwing.records.region import Sex
from stillwing.records.seen import Answer, Seen
from stillwing.web.animal_questions import questions_view

BRITAIN = region_named("britain-and-ireland")
PAGE = "/outings/1/bursts/2/animal"


def test_questions_stand_in_the_order_of_what_they_tell_and_bars_show_it() -> None:
    found = identify(BRITAIN, Seen(date(2024, 8, 10)))
    shown = questions_view(found, (), PAGE)
    asked = (*shown.first, *shown.more)
    assert [one.character for one in asked] == [one.character for one in found.questions]
    widths = [one.gain_width for one in asked]
    assert widths == sorted(widths, reverse=True) and widths[0] <= 100
    assert len(shown.first) == 3 and not shown.answered and not shown.skipped


def test_what_is_left_out_makes_room_and_leads_back() -> None:
    found = identify(BRITAIN, Seen(date(2024, 8, 10)))
    first, second = (one.character for one in found.questions[:2])
    shown = questions_view(found, (first, "no_such_character"), PAGE)
    assert shown.first[0].character == second
    assert shown.first[0].skip_href == f"{PAGE}?skip={first}&skip=no_such_character&skip={second}"
    assert [one.skip_href for one in shown.skipped] == [f"{PAGE}?skip=no_such_character"]


def test_answers_given_show_what_was_seen() -> None:
    seen = Seen(
        date(2024, 8, 10), group=Group.DAMSELFLY, sex=Sex.FEMALE, answers=(Answer("leg_colour", ("black", "pale")),)
    )
    shown = questions_view(identify(BRITAIN, seen), (), PAGE)
    group, legs = shown.answered
    assert [(one.state, one.is_seen) for one in group.states] == [("dragonfly", False), ("damselfly", True)]
    assert {one.state for one in legs.states if one.is_seen} == {"black", "pale"}
    assert [one.state for one in shown.sexes if one.is_seen] == ["female"]
    assert "leg_colour" not in [one.character for one in (*shown.first, *shown.more)]
