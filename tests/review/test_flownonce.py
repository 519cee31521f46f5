"""Flights that are remembered: made out once, and again when what they depend on has changed."""

from dataclasses import replace

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import save_kit
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice
from stillwing.review import flownonce
from stillwing.review.flownonce import FlownOnce
from web.drawn import draw_outing

from .flownbursts import KIT


@pytest.fixture
def opened(tmp_path):
    drawn = draw_outing(tmp_path, 2, 4)
    with open_book(drawn.book_path) as book:
        yield book, [trace(book, one.id) for one in burst_summaries(book, drawn.outing_id)]


@pytest.fixture
def made_out(monkeypatch):
    made, real = [], flownonce.burst_flight

    def noted(book, burst):
        made.append(burst.id)
        return real(book, burst)

    monkeypatch.setattr(flownonce, "burst_flight", noted)
    return made


def test_a_flight_is_made_out_once_whatever_is_chosen(opened, made_out):
    book, (first, _) = opened
    flown = FlownOnce()
    told = flown.burst_flight(book, first)
    chosen = replace(first, frames=(replace(first.frames[0], by_hand=Choice.LEAVE), *first.frames[1:]))
    assert flown.burst_flight(book, chosen) is told
    assert made_out == [first.id]


def test_a_changed_box_or_a_kit_makes_it_out_again(opened, made_out):
    book, (first, _) = opened
    flown = FlownOnce()
    flown.burst_flight(book, first)
    gone = replace(first, frames=(replace(first.frames[0], animals=()), *first.frames[1:]))
    flown.burst_flight(book, gone)
    save_kit(book, KIT)
    flown.burst_flight(book, gone)
    assert made_out == [first.id] * 3


def test_a_changed_picture_makes_it_out_again(opened, made_out):
    book, (first, _) = opened
    flown = FlownOnce()
    flown.burst_flight(book, first)
    first.frames[0].path.touch()
    flown.burst_flight(book, first)
    first.frames[0].path.unlink()
    flown.burst_flight(book, first)
    flown.burst_flight(book, first)
    assert made_out == [first.id] * 3


def test_the_bursts_looked_at_last_are_remembered(opened, made_out):
    book, (first, second) = opened
    flown = FlownOnce(n_bursts=1)
    for burst in (first, second, second, first):
        flown.burst_flight(book, burst)
    assert made_out == [first.id, second.id, first.id]
