"""Advice in sentences, word for word: given where it is sure, and said to be none where it is open."""

import doctest
from dataclasses import replace
from types import MappingProxyType

import pytest

from flight.flown import passing
from stillwing.optics.subject import Range
from stillwing.review import flightadvicewords
from stillwing.review.blursplit import Cause
from stillwing.review.burstflight import flight_of
from stillwing.review.flightadvice import (
    AngleAdvice,
    ExposureAdvice,
    FlightAdvice,
    FNumberAdvice,
    Softness,
    Verdict,
)
from stillwing.review.flightadvicewords import advice_sentences

from .flownbursts import KIT, stored

SOFTNESS = Softness(12, 4, 14, MappingProxyType({Cause.MOTION: 9, Cause.FOCUS: 3, Cause.EITHER: 0, Cause.BOTH: 2}))
ANGLE = AngleAdvice(Verdict.SURE, Range(19.0, 24.0, 29.0), Range(8.0, 9.0, 11.0), 6.2)
CLOSED = FNumberAdvice(Verdict.SURE, 11.31, Range(7.0, 9.0, 11.0), Range(1.0, 2.0, 4.0))
SHORTER = ExposureAdvice(Verdict.SURE, 9, 2.6, 1 / 4096, Range(1.2, 1.4, 1.58))
ALL = FlightAdvice(1.6, SOFTNESS, ANGLE, CLOSED, SHORTER)


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    trace, tags = stored(tmp_path_factory.mktemp("told"), passing(n=8, crosses_at=4))
    told = flight_of(trace, tags, KIT)
    speed = replace(told.flight.absolute, mean_speed_m_s=Range(2.8, 3.1, 3.5))
    return replace(told, flight=replace(told.flight, absolute=speed))


def test_the_examples_hold():
    assert doctest.testmod(flightadvicewords).failed == 0


def test_sure_advice_says_what_to_do_and_what_it_would_have_given(told):
    assert advice_sentences(told, ALL) == (
        "12 of 30 frames are surely sharp at 1.60 px, 14 surely soft: 9 by motion, not focus, 3 by focus, not motion, "
        "2 by motion as well as by focus",
        "soft by motion in 9 frames: 1/2000 s and 3.1 m/s gave 2.6 px; 1/4000 s would have given 1.4 px (1.2 to 1.6), "
        "for 1 stop of light",
        "it left the focal plane at 24 degrees (19 to 29), and 9 (8 to 11) are borne here at f/6.7: stand 15 degrees "
        "further round, for 6 more sharp frames",
        "f/11 would have held 2 more frames in focus (1 to 4) beside the 9 at f/6.7, for 1.5 stops of light",
    )


def test_what_is_at_odds_is_told_what_its_blur_tells_and_nothing_more(told):
    wild = replace(told.flight.absolute, top_acceleration_m_s2=Range(60.0, 95.0, 140.0))
    odd = replace(told, flight=replace(told.flight, absolute=wild))
    softness, exposure, refused = advice_sentences(odd, replace(ALL, angle=None, f_number=None))
    assert softness == advice_sentences(told, ALL)[0]
    assert exposure.startswith("soft by motion in 9 frames: 1/2000 s gave 2.6 px")
    assert refused == (
        "no advice on where to stand or on the f-number: boxes and background do not go together as one flight"
    )


def test_open_advice_says_that_it_is_none(told):
    open_ = FlightAdvice(
        1.6,
        SOFTNESS,
        replace(ANGLE, verdict=Verdict.OPEN),
        replace(CLOSED, verdict=Verdict.OPEN),
        replace(SHORTER, verdict=Verdict.OPEN),
    )
    _, exposure, angle, f_number = advice_sentences(told, open_)
    assert exposure.endswith("and whether that is below the 1.60 px asked for is open")
    assert angle.startswith("no advice on where to stand: it flew at 24 degrees")
    assert f_number.startswith("no advice on the f-number")


def test_where_the_speed_is_open_it_is_neither_told_nor_used(told):
    wide = replace(told.flight.absolute, mean_speed_m_s=Range(0.0, 3.1, 9.0))
    unknown = replace(told, flight=replace(told.flight, absolute=wide))
    sentences = advice_sentences(unknown, replace(ALL, angle=replace(ANGLE, verdict=Verdict.OPEN)))
    assert not any("3.1 m/s" in sentence for sentence in sentences)
    assert "no advice on where to stand: how fast it flew is open" in sentences


def test_an_angle_that_is_borne_is_said_to_be(told):
    borne = AngleAdvice(Verdict.NO, Range(2.0, 5.0, 8.0), Range(10.0, 12.0, 14.0))
    any_angle = replace(borne, borne_deg=Range(90.0, 90.0, 90.0))
    words = [advice_sentences(told, replace(ALL, angle=each))[2] for each in (borne, any_angle)]
    assert (
        words[0] == "its angle to the focal plane, 5 degrees (2 to 8), is borne here at f/6.7: up to 12 (10 to 14) are"
    )
    assert "every angle to the focal plane is borne" in words[1]


def test_nothing_to_advise_is_said(told):
    sentences = advice_sentences(told, FlightAdvice(1.6, Softness(0, 0, 0, MappingProxyType({})), None, None, None))
    assert sentences[0].startswith("the blur of no frame was measured")
    assert "diffraction alone" in sentences[1]
    assert "hardly have held one more frame" in sentences[2]
    assert len(sentences) == 3


def test_one_frame_is_one_frame(told):
    one = replace(CLOSED, gain=Range(1.0, 1.0, 1.0))
    assert "1 more frame in focus" in advice_sentences(told, replace(ALL, f_number=one))[-1]
    assert advice_sentences(replace(told, flight=None), ALL) == ()
