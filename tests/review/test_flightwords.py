"""Sentences on a flight: what is told, what is said as open, and nothing without a flight but what is missing."""

import doctest
from dataclasses import replace

import numpy as np
import pytest

from flight.flown import passing
from stillwing.flight.figures import Band
from stillwing.flight.track import Crossing, Side
from stillwing.flight.wingbeat import Untold, Wingbeat
from stillwing.optics.subject import Range
from stillwing.review import flightwords
from stillwing.review.burstflight import flight_of
from stillwing.review.flightwords import figure_words, flight_sentences
from stillwing.review.knownbody import KnownBody

from .flownbursts import KIT, stored


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """A pass of 12 frames at 0.8 m/s, 20 degrees off the focal plane."""
    trace, tags = stored(tmp_path_factory.mktemp("told"), passing(speed_m_s=0.8, angle_deg=20.0, n=12, crosses_at=5.5))
    return flight_of(trace, tags, KIT)


def figures(told, **changed):
    return replace(told, flight=replace(told.flight, absolute=replace(told.flight.absolute, **changed)))


def flown(told, **changed):
    return replace(told, flight=replace(told.flight, **changed))


def flat(value, n=12):
    return Band(np.full(n, value - 1.0), np.full(n, value), np.full(n, value + 1.0))


def one_with(sentences, words):
    (found,) = [sentence for sentence in sentences if words in sentence]
    return found


def test_the_examples_hold():
    assert doctest.testmod(flightwords).failed == 0


def test_a_flight_is_told_with_figures_and_intervals(told):
    sentences = flight_sentences(
        figures(told, mean_speed_m_s=Range(0.71, 0.8, 0.9), top_speed_m_s=Range(0.8, 0.9, 1.1))
    )
    assert one_with(sentences, "it flew") == (
        "it flew 0.80 m/s (0.71 to 0.90) over 0.61 s in 12 frames, 0.9 m/s (0.8 to 1.1) at its fastest"
    )
    assert "to the right" in one_with(sentences, "across the picture")
    assert "degrees" in one_with(sentences, "to the focal plane")
    assert not any(sentence.endswith(".") for sentence in sentences)
    assert len(set(sentences)) == len(sentences)


def test_a_speed_that_is_open_or_hidden_is_no_figure(told):
    wide = one_with(flight_sentences(figures(told, mean_speed_m_s=Range(0.0, 1.4, 6.44))), "how fast it flew is open")
    assert "0.0 to 6.4 m/s" in wide
    slow = flight_sentences(figures(told, mean_speed_m_s=Range(0.03, 0.09, 0.15)))
    assert "kept to its place" in slow[0]
    assert "m/s" not in slow[0]


def test_the_side_is_told_only_where_the_burst_tells_it(told):
    came = figures(flown(told, side=Side.TOLD), approach_m_s=Range(0.2, 0.3, 0.4))
    went = figures(flown(told, side=Side.TOLD), approach_m_s=Range(-0.4, -0.3, -0.2))
    neither = figures(flown(told, side=Side.TOLD), approach_m_s=Range(-0.1, 0.0, 0.2))
    assert "it came nearer at 0.3 m/s (0.2 to 0.4)" in flight_sentences(came)
    assert "it went away at 0.3 m/s (0.2 to 0.4)" in flight_sentences(went)
    assert "0.2 m/s" in one_with(flight_sentences(neither), "no nearer")
    untold = flight_sentences(flown(told, side=Side.UNTOLD))
    assert "cannot be told" in one_with(untold, "came nearer or went away")


def test_frames_are_counted_from_one_as_they_stand_in_the_burst(told):
    passage = flown(told, crossing=Crossing(1.0, Range(4.8, 5.0, 5.2)))
    # The first three frames of the burst showed no animal.
    late = replace(passage, numbers=tuple(range(3, 15)))
    assert "it went through the focal plane at frame 9.0 (8.8 to 9.2)" in flight_sentences(late)
    doubted = flown(late, doubted=(0, 7))
    assert one_with(flight_sentences(doubted), "do not fit").startswith("frames 4 and 11 do not fit")


def test_a_passage_that_is_open_tells_its_chance(told):
    open_ = flight_sentences(flown(told, crossing=Crossing(0.4, None)))
    none = flight_sentences(flown(told, crossing=Crossing(0.02, None)))
    assert "the chance is 40 in 100" in one_with(open_, "whether its whole body")
    assert one_with(none, "did not go through")


def test_a_passage_that_may_lie_at_several_frames_is_told_as_between_two(told):
    narrow, wide = (Crossing(0.97, Range(5.2 - half, 5.2, 5.2 + half)) for half in (0.4, 2.0))
    assert narrow.is_told and not wide.is_told and not Crossing(0.5, None).is_told
    assert "at frame 6.2 (5.8 to 6.6)" in one_with(flight_sentences(flown(told, crossing=narrow)), "focal plane at")
    sentence = one_with(flight_sentences(flown(told, crossing=wide)), "focal plane between")
    assert sentence.endswith("between frames 4 and 8")


def test_where_a_known_length_narrowed_the_distance_it_is_said_whence(told):
    body = KnownBody(103, 100.0, (0.0, 0.0), Range(70.0, 75.0, 80.0), "the hawker of the sighting")
    sentences = flight_sentences(replace(told, body=body))
    assert one_with(sentences, "by its length too").endswith("the hawker of the sighting")
    assert len(sentences) == len(flight_sentences(told)) + 1


def test_an_angle_that_is_open_says_between_what(told):
    sentences = flight_sentences(figures(told, off_plane_deg=Range(14.0, 40.0, 63.0)))
    assert one_with(sentences, "its angle") == "its angle to the focal plane is open, anything from 14 to 63 degrees"


def test_panning_is_told_as_turned_held_or_unknown(told):
    turned = replace(told.flight.panning, speed_deg_s=flat(12.0))
    held = replace(turned, speed_deg_s=Band(np.zeros(12), np.full(12, 0.1), np.full(12, 0.2)))
    blind = replace(turned, known_share=0.0)
    words = [one_with(flight_sentences(flown(told, panning=each)), "camera") for each in (turned, held, blind)]
    assert words == [
        "the camera turned at 12 degrees a second (11 to 13), uneven by 0.0",
        "the camera was held, turning by no more than 0.2 degrees a second",
        "how the camera was panned cannot be told, for the background tells nothing",
    ]


def test_a_wingbeat_names_all_that_look_alike(told):
    one, other = Range(17.5, 18.0, 18.4), Range(31.5, 32.0, 32.4)
    alone = flight_sentences(flown(told, wingbeat=Wingbeat((one,), 0.0, None)))
    both = flight_sentences(flown(told, wingbeat=Wingbeat((one, other), 0.0, None)))
    none = flight_sentences(flown(told, wingbeat=Wingbeat((), 1.0, Untold.TOO_FEW)))
    assert "18.0 Hz (17.5 to 18.4)" in one_with(alone, "wingbeat")
    assert "18 or 32 Hz" in one_with(both, "wingbeat")
    assert "too few frames" in one_with(none, "wingbeat")


def test_without_a_flight_only_what_is_missing_is_said(told):
    sentences = flight_sentences(replace(told, flight=None, missing=()))
    assert sentences == ()


def test_a_figure_keeps_the_digits_that_its_interval_leaves():
    assert figure_words(Range(4.23, 5.76, 7.48), " m/s") == "6 m/s (4 to 7)"
    assert figure_words(Range(-0.3, 0.1, 0.5), "") == "0.1 (−0.3 to 0.5)"
    assert figure_words(Range(90.0, 90.0, 90.0), "") == "90.00 (90.00 to 90.00)"


def test_what_is_at_odds_has_neither_speed_nor_way(told):
    sentences = flight_sentences(figures(told, top_acceleration_m_s2=Range(60.0, 95.0, 140.0)))
    assert sentences[0] == "how fast it flew is open over 0.61 s in 12 frames"
    assert sentences[1] == "how far it came across the picture is open"
    assert not any(" degrees to the focal plane" in one for one in sentences)
