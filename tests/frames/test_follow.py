"""Which candidates become animals."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.coarse import Coarse
from stillwing.frames.find import Candidate
from stillwing.frames.follow import follow
from stillwing.frames.measured import Box, Origin


def pictures(count, marks=()):
    """Coarse pictures of a flat ground, each with a textured mark where ``marks`` has (x, y). [coarse px]"""
    rng = np.random.default_rng(4)
    blot = rng.uniform(0, 255, (14, 14))
    out = []
    for i in range(count):
        grey = (100 + rng.normal(0, 1, (96, 128))).astype(np.float32)
        if i < len(marks) and marks[i] is not None:
            x, y = marks[i]
            grey[y : y + 14, x : x + 14] = blot
        out.append(Coarse(grey, np.zeros_like(grey), 10.0, 10.0))
    return out


def at(x, y, score, size=140.0):
    return Candidate(Box(float(x), float(y), size, size), score)


def test_a_steady_animal_is_one_track_through_all_frames():
    found = [[at(100 + 20 * i, 300, 0.9)] for i in range(6)]
    seen = follow(found, pictures(6), {})
    assert [len(frame) for frame in seen] == [1] * 6
    assert {frame[0].track for frame in seen} == {0}
    assert all(frame[0].origin is Origin.FOUND for frame in seen)


def test_a_far_candidate_of_one_frame_does_not_break_the_path():
    found = [[at(100 + 20 * i, 300, 0.8)] for i in range(6)]
    found[3] = [at(1100, 700, 0.85), at(160, 300, 0.6)]
    assert follow(found, pictures(6), {})[3][0].box == Box(160.0, 300.0, 140.0, 140.0)


def test_a_gap_is_filled_where_the_picture_looks_alike():
    marks = [(20 + 2 * i, 30) for i in range(5)]
    found = [[at(200 + 20 * i, 300, 0.9)] for i in range(5)]
    found[2] = []
    filled = follow(found, pictures(5, marks), {})[2]
    assert filled[0].origin is Origin.FOLLOWED
    assert filled[0].box.overlap(Box(240, 300, 140, 140)) > 0.7


def test_a_gap_where_the_animal_is_gone_stays_empty():
    marks = [(20, 30), (22, 30), None, None, None]
    found = [[at(200, 300, 0.9)], [at(220, 300, 0.9)], [], [], []]
    seen = follow(found, pictures(5, marks), {})
    assert [len(frame) for frame in seen] == [1, 1, 0, 0, 0]


def test_doubtful_candidates_here_and_there_are_no_animal():
    found = [[at(100, 100, 0.35)], [], [at(900, 500, 0.3)], [], [at(500, 200, 0.35)], []]
    assert not any(follow(found, pictures(6), {}))


def test_two_clear_animals_are_two_tracks():
    found = [[at(100 + 10 * i, 100, 0.95), at(900 - 10 * i, 600, 0.93)] for i in range(5)]
    seen = follow(found, pictures(5), {})
    assert [sorted(s.track for s in frame) for frame in seen] == [[0, 1]] * 5
    for track in (0, 1):
        xs = [s.box.x_px for frame in seen for s in frame if s.track == track]
        assert abs(np.diff(xs)).max() <= 10


def test_a_drawn_box_is_certain_and_the_burst_follows_it():
    marks = [(40 + 2 * i, 50) for i in range(4)]
    drawn = Box(420.0, 500.0, 140.0, 140.0)
    seen = follow([[], [], [], []], pictures(4, marks), {1: drawn})
    assert seen[1][0].box == drawn
    assert seen[1][0].origin is Origin.DRAWN
    assert seen[2][0].box.overlap(Box(440, 500, 140, 140)) > 0.7
    assert seen[0][0].box.overlap(Box(400, 500, 140, 140)) > 0.7


@given(st.permutations(range(4)))
def test_the_order_of_candidates_does_not_matter(order):
    frame = [at(100, 100, 0.9), at(600, 100, 0.3), at(100, 600, 0.25), at(800, 700, 0.2)]
    mixed = follow([[frame[k] for k in order]] * 3, pictures(3), {})
    assert [s.box for s in mixed[0]][:1] == [frame[0].box]
