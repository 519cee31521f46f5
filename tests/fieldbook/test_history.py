from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.boxes import draw_box, drawn_boxes
from stillwing.fieldbook.choices import choose, standing_choices, store_proposals
from stillwing.fieldbook.history import Subject, history, undo
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.measured import Box

from .invented import burst_of, listed_outing, measured_outing


def ids(book, outing):
    return [frame.id for one in burst_summaries(book, outing.id) for frame in trace(book, one.id).frames]


def by_hand(book, outing):
    return [frame.by_hand for one in burst_summaries(book, outing.id) for frame in trace(book, one.id).frames]


def test_undo_brings_back_what_stood_before_step_by_step(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 1))
    frames = ids(book, outing)
    for choice in (Choice.KEEP, Choice.LEAVE, None):
        choose(book, outing.id, frames, choice)
    seen = []
    while undone := undo(book, outing.id):
        seen.append((undone[0].choice, by_hand(book, outing)[0]))
    assert seen == [(Choice.LEAVE, Choice.LEAVE), (Choice.KEEP, Choice.KEEP), (None, None)]
    assert history(book, outing.id) == ()


def test_undo_works_after_the_book_was_closed(tmp_path, photos):
    with open_book(tmp_path / "book.sqlite") as book:
        outing = measured_outing(book, photos, burst_of(photos, 2))
        choose(book, outing.id, ids(book, outing)[:1], Choice.KEEP)
        choose(book, outing.id, ids(book, outing)[:1], Choice.SPARE)
    with open_book(tmp_path / "book.sqlite") as book:
        assert undo(book, outing.id)[0].choice is Choice.KEEP
        assert by_hand(book, outing) == [Choice.KEEP, None]


def test_a_step_over_many_frames_is_undone_as_one(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 3))
    frames = ids(book, outing)
    choose(book, outing.id, frames[:1], Choice.KEEP)
    choose(book, outing.id, frames, Choice.LEAVE)
    assert [one.choice for one in undo(book, outing.id)] == [Choice.KEEP, None, None]
    assert by_hand(book, outing) == [Choice.KEEP, None, None]


def test_choices_and_boxes_are_undone_in_the_order_they_were_done(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 1))
    frame_id = ids(book, outing)[0]
    choose(book, outing.id, [frame_id], Choice.KEEP)
    draw_box(book, outing.id, frame_id, Box(1, 2, 30, 40))
    draw_box(book, outing.id, frame_id, Box(1, 2, 300, 400))
    assert [one.subject for one in history(book, outing.id)] == [Subject.BOX, Subject.BOX, Subject.CHOICE]
    assert undo(book, outing.id)[0].box == Box(1, 2, 30, 40)
    assert undo(book, outing.id)[0].box is None
    assert by_hand(book, outing) == [Choice.KEEP]
    assert undo(book, outing.id)[0].subject is Subject.CHOICE


def test_undo_keeps_to_the_burst_asked_for(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 1), burst_of(photos, 1, first=5, minutes=1))
    first, second = ids(book, outing)
    choose(book, outing.id, [first], Choice.KEEP)
    choose(book, outing.id, [second], Choice.KEEP)
    bursts = burst_summaries(book, outing.id)
    undone = undo(book, outing.id, burst_id=bursts[0].id)
    assert [(one.frame_id, one.burst_id) for one in undone] == [(first, bursts[0].id)]
    assert by_hand(book, outing) == [None, Choice.KEEP]
    assert undo(book, outing.id, burst_id=bursts[0].id) == ()


def test_undo_keeps_to_the_outing_and_never_takes_back_a_later_act_of_another(book, photos):
    burst = burst_of(photos, 1)
    day = measured_outing(book, photos, burst, name="day")
    week = listed_outing(book, photos, burst, name="week")
    frame_id = ids(book, day)[0]
    choose(book, day.id, [frame_id], Choice.KEEP)
    choose(book, week.id, [frame_id], Choice.LEAVE)
    assert undo(book, day.id)[0].choice is Choice.LEAVE
    assert undo(book, day.id) == ()
    assert undo(book, week.id)[0].choice is None


def test_undo_never_touches_proposals(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 1))
    store_proposals(book, outing.id, [Proposal(photos / "P00000.jpg", Choice.SPARE, "why")], sharp_for="full")
    choose(book, outing.id, ids(book, outing), Choice.KEEP)
    undo(book, outing.id)
    assert standing_choices(book, outing.id)[0].choice is Choice.SPARE


def test_the_history_tells_what_was_done_newest_first(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 2))
    frames = ids(book, outing)
    choose(book, outing.id, frames, Choice.KEEP)
    draw_box(book, outing.id, frames[1], Box(1, 2, 30, 40))
    told = history(book, outing.id)
    assert [(one.path.name, one.choice, one.box) for one in told] == [
        ("P00001.jpg", None, Box(1, 2, 30, 40)),
        ("P00001.jpg", Choice.KEEP, None),
        ("P00000.jpg", Choice.KEEP, None),
    ]
    assert told[1].step == told[2].step != told[0].step
    assert len(history(book, outing.id, limit=1)) == 1


acts = st.lists(
    st.one_of(
        st.tuples(st.just("choose"), st.sets(st.integers(0, 2), min_size=1), st.none() | st.sampled_from(Choice)),
        st.tuples(
            st.just("draw"),
            st.integers(0, 2),
            st.none() | st.builds(Box, st.just(0.0), st.just(0.0), st.just(9.0), st.floats(1, 9)),
        ),
        st.tuples(st.just("undo")),
    ),
    max_size=12,
)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts)
def test_any_row_of_acts_and_undos_ends_where_a_stack_of_states_would(tmp_path, acts):
    with open_book(tmp_path / "book.sqlite") as book:
        outing = measured_outing(book, tmp_path / "photos", burst_of(tmp_path / "photos", 3))
        while undo(book, outing.id):
            pass
        frames = ids(book, outing)
        paths = [frame.path for frame in burst_of(tmp_path / "photos", 3).frames]
        states = [((None, None, None), (None, None, None))]
        for act, *given in acts:
            choices, boxes = states[-1]
            if act == "undo":
                undo(book, outing.id)
                states = states[:-1] or states
            elif act == "choose":
                choose(book, outing.id, [frames[i] for i in sorted(given[0])], given[1])
                choices = tuple(given[1] if i in given[0] else held for i, held in enumerate(choices))
            else:
                draw_box(book, outing.id, frames[given[0]], given[1])
                boxes = tuple(given[1] if i == given[0] else held for i, held in enumerate(boxes))
            if (choices, boxes) != states[-1] and act != "undo":
                states.append((choices, boxes))
            assert tuple(by_hand(book, outing)) == states[-1][0]
            drawn = drawn_boxes(book, outing.id)
            assert tuple(drawn.get(path) for path in paths) == states[-1][1]
