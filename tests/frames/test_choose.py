from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.frames.choose import choose
from stillwing.frames.chosen import Choice
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, MeasuredFrame, Origin
from stillwing.frames.merit import ChoosingRules
from stillwing.frames.sharpfor import parse_sharp_for

WIDTH, HEIGHT = 5184, 3888
PRINT = parse_sharp_for("print 30 cm at 240 ppi")  # hides blur up to 1.49 px at 5184 px


@dataclass(frozen=True)
class Seen:
    """One frame as a test draws it."""

    blur_px: float = 0.8
    width: float = 0.4
    height: float = 0.2
    x: float = 0.5
    y: float = 0.5
    certainty: float = 0.95
    spread: float = 1.15
    clipped: bool = False
    outline: tuple[tuple[float, float], ...] = ()


def burst(*seen, name="A", start=0.0):
    frames = [measured(one, f"{name}{i:03}.jpg", start + i * 0.05) for i, one in enumerate(seen)]
    return name, frames


def measured(seen, file, second):
    w, h = seen.width * WIDTH, seen.height * HEIGHT
    x, y = seen.x * WIDTH - w / 2, seen.y * HEIGHT - h / 2
    animal = Animal(
        box=Box(x, y, w, h),
        certainty=seen.certainty,
        origin=Origin.FOUND,
        blur=Blur(
            blur_px=seen.blur_px,
            blur_low_px=seen.blur_px / seen.spread,
            blur_high_px=seen.blur_px * seen.spread,
            minor_px=seen.blur_px,
            major_px=seen.blur_px,
            direction_deg=None,
            kind=BlurKind.DEFOCUS,
        ),
        outline_px=seen.outline,
        size_in_frame=max(w, h) / WIDTH,
        edge_clipped=seen.clipped,
        edge_distance_px=(x, y, WIDTH - x - w, HEIGHT - y - h),
        highlights_clipped=0.0,
        shadows_clipped=0.0,
        background_busyness=1.0,
        focus_map=None,
    )
    return MeasuredFrame(frame_of(file, second), WIDTH, HEIGHT, (animal,))


def frame_of(file, second):
    taken_at = datetime(2024, 7, 14, 10, 0, tzinfo=UTC) + timedelta(seconds=second)
    return Frame((Path(file),), Tags(taken_at=taken_at, has_subseconds=True))


def choices(*bursts, sharp_for=PRINT):
    return {p.path.name: p for p in choose(bursts, sharp_for)}


def names(proposals, choice):
    return {name for name, p in proposals.items() if p.choice is choice}


def test_the_sharpest_of_a_burst_of_near_copies_is_kept_with_its_reason():
    chosen = choices(burst(*[Seen(blur_px=b) for b in (1.2, 0.9, 0.7, 1.0, 2.9)]))
    assert names(chosen, Choice.KEEP) == {"A002.jpg"}
    assert chosen["A002.jpg"].reason == "sharpest of 5, whole animal in frame, 40 % of the width"


def test_near_copies_are_not_all_kept_and_say_whom_they_are_like():
    chosen = choices(burst(*[Seen(blur_px=0.7 + 0.001 * i) for i in range(30)]))
    assert len(names(chosen, Choice.KEEP)) <= 3
    assert len(names(chosen, Choice.SPARE)) == ChoosingRules().spares_per_burst
    assert "sharp, but much like A000.jpg" in chosen["A001.jpg"].reason


@pytest.mark.parametrize(
    "other",
    [Seen(width=0.12, height=0.06), Seen(x=0.25, y=0.2, width=0.3), Seen(width=0.2, height=0.5)],
    ids=["another size", "another place", "another aspect"],
)
def test_a_picture_that_differs_in_one_way_is_kept_beside_the_first(other):
    assert names(choices(burst(Seen(), other)), Choice.KEEP) == {"A000.jpg", "A001.jpg"}


def test_two_outlines_in_one_box_are_two_pictures():
    x, y, w, h = 0.3 * WIDTH, 0.4 * HEIGHT, 0.4 * WIDTH, 0.2 * HEIGHT
    rising = ((x, y + h), (x + w, y), (x + w, y + 0.2 * h))
    falling = ((x, y), (x + w, y + h), (x, y + 0.2 * h))
    assert len(names(choices(burst(Seen(outline=rising), Seen(outline=rising))), Choice.KEEP)) == 1
    assert len(names(choices(burst(Seen(outline=rising), Seen(outline=falling))), Choice.KEEP)) == 2


def test_an_outing_of_the_same_picture_again_and_again_keeps_a_few():
    chosen = choices(*[burst(Seen(), Seen(), name=chr(ord("A") + i), start=600.0 * i) for i in range(12)])
    assert 2 <= len(names(chosen, Choice.KEEP)) <= 5


def test_a_cut_animal_and_a_tiny_one_lose_to_a_softer_whole_one():
    chosen = choices(
        burst(Seen(blur_px=0.6, clipped=True), Seen(blur_px=0.6, width=0.02, height=0.02), Seen(blur_px=1.0))
    )
    assert names(chosen, Choice.KEEP) == {"A002.jpg"}
    assert "cut by the frame's edge" in chosen["A000.jpg"].reason


def test_only_blur_on_the_animal_counts():
    # Sharp reeds raise what lies behind the animal, never its own blur.
    _, (soft, sharp) = burst(Seen(blur_px=3.0), Seen(blur_px=0.8))
    reeds = replace(soft, animals=(replace(soft.animals[0], background_busyness=40.0),))
    chosen = {p.path.name: p for p in choose([("A", [reeds, sharp])], PRINT)}
    assert chosen["A001.jpg"].choice is Choice.KEEP
    assert chosen["A000.jpg"].choice is not Choice.KEEP


def test_nothing_found_is_left_with_that_reason():
    empty = MeasuredFrame(frame_of("A009.jpg", 1.0), WIDTH, HEIGHT, ())
    plain = replace(measured(Seen(), "A010.jpg", 1.1), animals=())
    unmeasured = replace(plain, animals=(replace(measured(Seen(), "x.jpg", 0).animals[0], blur=None),))
    (nothing, small) = choose([("A", [empty, unmeasured])], PRINT)
    assert (nothing.choice, nothing.reason) == (Choice.LEAVE, "no animal found")
    assert (small.choice, small.reason) == (Choice.LEAVE, "an animal too small or too plain to measure")


def test_a_frame_ruled_out_by_its_preview_says_so():
    (left,) = choose([("A", [MeasuredFrame(frame_of("a.jpg", 0), WIDTH, HEIGHT, (), from_preview=True)])], PRINT)
    assert left.reason == "the embedded preview shows no animal"


def test_without_anything_sharp_the_best_of_each_burst_is_spare_and_says_what_it_is_sharp_for():
    chosen = choices(burst(Seen(blur_px=7.0), Seen(blur_px=6.0)), burst(Seen(blur_px=9.0), name="B", start=60))
    assert names(chosen, Choice.SPARE) == {"A001.jpg", "B000.jpg"}
    assert not names(chosen, Choice.KEEP)
    assert "blur 6.0 px is sharp to 692 px wide, not to 2,835 px" in chosen["A001.jpg"].reason


def test_a_frame_smaller_than_the_output_is_judged_at_its_full_width():
    (_, frames) = burst(Seen(blur_px=3.0))
    small = replace(frames[0], width_px=640, height_px=480)
    (proposal,) = choose([("A", [small])], PRINT)
    assert "px wide, not to 640 px" in proposal.reason


def test_an_uncertain_blur_or_find_loses_to_a_certain_one():
    assert names(choices(burst(Seen(spread=1.5), Seen(spread=1.05))), Choice.KEEP) == {"A001.jpg"}
    assert names(choices(burst(Seen(certainty=0.6), Seen(certainty=0.9))), Choice.KEEP) == {"A001.jpg"}


def test_a_wider_output_keeps_no_frame_that_a_smaller_one_leaves():
    bursts = [burst(*[Seen(blur_px=0.5 + 0.4 * i, x=0.2 + 0.1 * i) for i in range(7)])]
    n_kept = [
        len(names(choices(*bursts, sharp_for=parse_sharp_for(text)), Choice.KEEP))
        for text in ("screen 1200", "print 30 cm at 240 ppi", "full")
    ]
    assert all(more >= fewer for more, fewer in pairwise(n_kept))
    assert n_kept[0] > n_kept[-1] >= 1


seen = st.builds(
    Seen,
    blur_px=st.floats(0.4, 8.0),
    width=st.floats(0.02, 0.5),
    height=st.floats(0.02, 0.5),
    x=st.floats(0.3, 0.7),
    y=st.floats(0.3, 0.7),
    certainty=st.floats(0.1, 1.0),
    spread=st.floats(1.01, 2.5),
    clipped=st.booleans(),
)
outings = st.lists(st.lists(seen, min_size=1, max_size=6), min_size=1, max_size=4)


def drawn(outing):
    return [burst(*frames, name=chr(ord("A") + i), start=100.0 * i) for i, frames in enumerate(outing)]


@settings(deadline=None, max_examples=40)
@given(outings, st.randoms())
def test_the_order_given_does_not_matter(outing, random):
    bursts = drawn(outing)
    shuffled = [(name, random.sample(frames, len(frames))) for name, frames in random.sample(bursts, len(bursts))]
    assert choose(bursts, PRINT) == choose(shuffled, PRINT) == choose(iter(bursts), PRINT)


@settings(deadline=None, max_examples=40)
@given(outings, st.floats(0.3, 1.0), st.data())
def test_a_kept_frame_stays_kept_when_it_alone_gets_sharper(outing, factor, data):
    before = {p.path.name: p.choice for p in choose(drawn(outing), PRINT)}
    kept = sorted(name for name, choice in before.items() if choice is Choice.KEEP)
    if kept:
        name = data.draw(st.sampled_from(kept))
        i, k = ord(name[0]) - ord("A"), int(name[1:4])
        outing[i][k] = replace(outing[i][k], blur_px=outing[i][k].blur_px * factor)
        after = {p.path.name: p.choice for p in choose(drawn(outing), PRINT)}
        assert after[name] is Choice.KEEP


@settings(deadline=None, max_examples=30)
@given(outings)
def test_every_frame_gets_one_proposal_and_a_reason(outing):
    bursts = drawn(outing)
    proposals = choose(bursts, PRINT)
    assert [p.path for p in proposals] == sorted(m.path for _, frames in bursts for m in frames)
    assert all(p.reason and "\n" not in p.reason for p in proposals)
    assert all(0 < p.usable_width_px <= WIDTH for p in proposals)


def test_an_outing_of_nothing_has_no_proposals():
    assert choose([], PRINT) == ()
