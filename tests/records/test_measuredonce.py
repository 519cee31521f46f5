"""What pictures told is remembered, on the rendered burst of `test_animalseen`."""

import os
from dataclasses import replace

import pytest

from stillwing.animals.catalogue import Group
from stillwing.fieldbook.kits import EXAMPLE_KIT, save_kit
from stillwing.fieldbook.looks import BodyEnds, Look
from stillwing.frames.bodylength import NoLength
from stillwing.records.animalseen import animal_seen, frames_to_measure
from stillwing.records.measuredonce import MeasuredOnce

from .listed import AUSTRALIA, BRITAIN
from .test_animalseen import book, burst, sifted  # noqa: F401

ANSWERED = Look(
    group=Group.DRAGONFLY, sex="male", answers=(("eye_colour", ("blue",)),), counts_length=False, counts_colours=True
)


@pytest.fixture
def lookalike(burst, tmp_path):  # noqa: F811
    """Return the burst with its pictures in a folder of the test's own, so that they may go."""
    for frame in burst.frames:
        (tmp_path / frame.path.name).write_bytes(frame.path.read_bytes())
    return replace(burst, frames=tuple(replace(one, path=tmp_path / one.path.name) for one in burst.frames))


@pytest.mark.parametrize(
    "look",
    [Look(), ANSWERED, replace(ANSWERED, counts_length=True, counts_colours=False), Look(most_tilt_deg=15.0)],
    ids=["nothing said", "answered, length left out", "answered, colours left out", "side on"],
)
def test_what_is_remembered_is_what_a_fresh_look_gives(book, burst, look):  # noqa: F811
    measured = MeasuredOnce()
    for region in (BRITAIN, AUSTRALIA):
        measured.animal_seen(book, burst, region, Look())
        assert measured.animal_seen(book, burst, region, look) == animal_seen(book, burst, region, look)


def test_an_answer_does_not_read_the_picture_again(book, lookalike):  # noqa: F811
    measured = MeasuredOnce()
    first = measured.animal_seen(book, lookalike, BRITAIN, Look())
    assert measured.animal_seen(book, lookalike, BRITAIN, ANSWERED).body is first.body


def test_other_ends_another_frame_and_another_kit_are_measured_anew(book, burst):  # noqa: F811
    measured = MeasuredOnce()
    first = measured.animal_seen(book, burst, BRITAIN, Look()).body
    ends = BodyEnds(first.frame_id, (100.0, 100.0), (400.0, 500.0))
    assert measured.animal_seen(book, burst, BRITAIN, Look(ends=ends)).body.is_marked
    other = frames_to_measure(burst)[1].id
    assert measured.animal_seen(book, burst, BRITAIN, Look(frame_id=other)).body.frame_id == other
    again = measured.animal_seen(book, burst, BRITAIN, Look()).body
    save_kit(book, EXAMPLE_KIT)
    assert measured.animal_seen(book, burst, BRITAIN, Look()).body is not again


def test_a_picture_that_changed_is_read_again(book, lookalike):  # noqa: F811
    measured = MeasuredOnce()
    first = measured.animal_seen(book, lookalike, BRITAIN, Look()).body
    path = next(one.path for one in lookalike.frames if one.id == first.frame_id)
    os.utime(path, ns=(1, 1))
    assert measured.animal_seen(book, lookalike, BRITAIN, Look()).body is not first


def test_only_the_bursts_looked_at_last_are_remembered(book, burst):  # noqa: F811
    measured = MeasuredOnce(n_bursts=1)
    first = measured.animal_seen(book, burst, BRITAIN, Look()).body
    measured.animal_seen(book, replace(burst, id=burst.id, frames=()), BRITAIN, Look())
    assert measured.animal_seen(book, burst, BRITAIN, Look()).body is not first
    assert not isinstance(first.length, NoLength)
