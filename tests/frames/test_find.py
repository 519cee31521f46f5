"""Candidates in coarse pictures: where rendered animals are, and nowhere in plain pictures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.change import change
from stillwing.frames.coarse import Coarse, coarse_picture
from stillwing.frames.find import CLEAR_SCORE, N_MOST, SAME_PLACE, candidates, certainty_of, merged
from stillwing.frames.find import Candidate as Place
from stillwing.frames.measured import Box
from stillwing.frames.pixels import decode_luma

chances = st.floats(0, 1)


@pytest.fixture(scope="module")
def lumas(bird, passing):
    return [
        (decode_luma(frame), box)
        for one in (bird, passing)
        for frame, box in zip(one.burst.frames, one.boxes, strict=True)
    ]


def best_overlap(found, box):
    return max((candidate.box.overlap(box) for candidate in found), default=0.0)


def test_the_animal_is_among_the_candidates_of_single_frames(lumas):
    """Without a burst a frame is searched less surely: in most, not in all (docs/finding.md)."""
    overlaps = [best_overlap(candidates(coarse_picture(luma), []), box) for luma, box in lumas]
    assert np.mean(np.array(overlaps) >= 0.5) >= 0.75


def test_the_neighbours_help_to_find_it(bird, passing):
    hits = []
    for one in (bird, passing):
        coarse = [coarse_picture(decode_luma(frame)) for frame in one.burst.frames]
        for i, box in enumerate(one.boxes):
            beside = [coarse[k].grey for k in (i - 1, i + 1) if 0 <= k < len(coarse)]
            found = candidates(coarse[i], [change(coarse[i].grey, beside)])
            hits.append(best_overlap(found, box) >= 0.5)
    assert np.mean(hits) >= 0.85


def test_a_mirrored_frame_has_the_mirrored_animal(lumas):
    hits = []
    for luma, box in lumas:
        mirrored = Box(luma.shape[1] - box.x_px - box.width_px, box.y_px, box.width_px, box.height_px)
        here = best_overlap(candidates(coarse_picture(luma), []), box)
        there = best_overlap(candidates(coarse_picture(np.ascontiguousarray(luma[:, ::-1])), []), mirrored)
        hits.append((here >= 0.5) == (there >= 0.5))
    assert np.mean(hits) >= 0.75


def test_candidates_are_few_ordered_and_lie_in_the_frame(lumas):
    for luma, _ in lumas:
        found = candidates(coarse_picture(luma), [])
        scores = [candidate.score for candidate in found]
        assert scores == sorted(scores, reverse=True) and len(found) <= N_MOST
        for box in (candidate.box for candidate in found):
            assert box.x_px >= 0 and box.x_px + box.width_px <= luma.shape[1] + 1e-6
            assert box.y_px >= 0 and box.y_px + box.height_px <= luma.shape[0] + 1e-6
            assert box.width_px > 0 and box.height_px > 0


@pytest.mark.parametrize("shape", [(1200, 1600), (1600, 1200), (480, 640), (17, 4000), (1, 1)])
@pytest.mark.parametrize("level", [0, 110, 255])
def test_a_plain_picture_holds_nothing_clear(shape, level):
    found = candidates(coarse_picture(np.full(shape, level, np.uint8)), [])
    assert all(candidate.score < CLEAR_SCORE for candidate in found)


def test_later_views_are_made_only_while_nothing_clear_is_found():
    made = []

    def views(rows, cols):
        for number in range(2):
            made.append(number)
            yield np.zeros((rows, cols), np.float32)

    plain = coarse_picture(np.full((1200, 1600), 110, np.uint8))
    candidates(plain, views(*plain.grey.shape))
    assert made == [0, 1]


def test_a_clear_animal_ends_the_search(lumas):
    clear = next(
        coarse
        for luma, _ in lumas
        if (coarse := coarse_picture(luma)) and candidates(coarse, [])[0].score >= CLEAR_SCORE
    )

    def views():
        yield np.zeros_like(clear.grey)
        raise AssertionError("a second view was asked for although the first showed the animal")

    assert candidates(clear, views())


@given(st.lists(st.tuples(st.floats(0, 500), st.floats(0, 500), st.floats(1, 200), st.floats(1, 200), chances)))
def test_merging_keeps_the_best_of_what_lies_in_one_place(raw):
    places = [Place(Box(x, y, w, h), score) for x, y, w, h, score in raw]
    kept = merged(places)
    assert set(kept) <= set(places)
    if places:
        assert kept[0].score == max(place.score for place in places)
    for i, one in enumerate(kept):
        assert all(one.box.overlap(other.box) < SAME_PLACE for other in kept[:i])
    # Whatever was left out is covered by a better one.
    for place in places:
        assert any(k.score >= place.score and (k == place or k.box.overlap(place.box) >= SAME_PLACE) for k in kept)


@given(chances, chances, chances)
def test_certainty_is_a_chance_and_rises_with_either_network(a, b, c):
    low, high = sorted((a, b))
    assert 0 < certainty_of(low, c) <= certainty_of(high, c) < 1
    assert certainty_of(c, low) <= certainty_of(c, high)


def test_boxes_are_given_in_pixels_of_the_original(lumas):
    """The coarse picture of a frame three times as large has its animals three times as far away and as large."""
    luma, _ = lumas[0]
    coarse = coarse_picture(luma)
    larger = Coarse(coarse.grey, coarse.detail, 3 * coarse.scale_x, 3 * coarse.scale_y)
    for one, other in zip(candidates(coarse, []), candidates(larger, []), strict=True):
        assert np.array([*vars_of(other.box)]) == pytest.approx(3 * np.array([*vars_of(one.box)]))


def vars_of(box):
    return box.x_px, box.y_px, box.width_px, box.height_px
