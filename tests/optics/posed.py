"""Kits, animals and wishes with known figures, and strategies that draw many, for the tests of the solver."""

import math
from dataclasses import replace

from hypothesis import strategies as st

from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.question import Question, Wish, nearest_distance_m, pose
from stillwing.optics.subject import STILL, Behaviour, Range, Subject

CAMERA = CameraBody(17.4, 13.0, 5184, 3888)
ZOOM = Lens(75.0, 300.0, 4.8, 6.7, closest_focus_m=1.3, largest_magnification=0.25)
KIT = Kit("zoom", CAMERA, ZOOM)
HAWKER = Subject(
    "hawker",
    Behaviour.HOVER,
    length_mm=75,
    span_mm=105,
    thickness_mm=9,
    extent_mm=75,
    speed_m_s=Range(0.05, 0.2, 0.6),
    panning_left=Range(1, 1, 1),
    focus_error_mm=Range(5, 12, 30),
    wingbeat_hz=Range(28, 33, 38),
    stroke_deg=Range(50, 60, 70),
    event_s=Range(0.5, 1.5, 5),
)
GULL = Subject(
    "gull",
    Behaviour.PASS,
    length_mm=400,
    span_mm=1000,
    thickness_mm=110,
    extent_mm=1000,
    speed_m_s=Range(7, 11, 16),
    panning_left=Range(0.05, 0.15, 0.35),
    focus_error_mm=Range(20, 60, 150),
    wingbeat_hz=Range(2.5, 3, 3.5),
    stroke_deg=Range(50, 70, 90),
    event_s=Range(0.4, 1, 2.5),
)
DAMSELFLY = Subject(
    "damselfly",
    Behaviour.TAKE_OFF,
    length_mm=35,
    span_mm=42,
    thickness_mm=3,
    extent_mm=35,
    speed_m_s=Range(1.0, 1.5, 2.2),
    panning_left=Range(1, 1, 1),
    focus_error_mm=Range(2, 5, 12),
    wingbeat_hz=Range(15, 20, 26),
    stroke_deg=Range(80, 100, 120),
    event_s=Range(1, 1, 1),
    acceleration_m_s2=10.0,
)
WISH = Wish(15.0, 3.0, shown_width_px=2835.0)


def hawker_at(distance_m: float = 3.0, kit: Kit = KIT, **wish: object) -> Question:
    """Return one question about the hawker."""
    return pose(kit, HAWKER, replace(WISH, **wish), distance_m)  # type: ignore[arg-type]


def log_floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Draw numbers even in their logarithm."""
    return st.floats(math.log(low), math.log(high)).map(math.exp)


def ranges(low: float, high: float) -> st.SearchStrategy[Range]:
    """Draw ranges, some of them of one value or of nothing."""
    some = st.tuples(*[log_floats(low, high)] * 3).map(lambda three: Range(*sorted(three)))
    return st.one_of(some, log_floats(low, high).map(lambda one: Range(one, one, one)), st.just(STILL))


@st.composite
def kits(draw: st.DrawFn) -> Kit:
    """Draw a kit: small and large sensors, also upright, zooms and fixed lenses, ISO off the series, converters."""
    across, wide_px = draw(st.sampled_from([7.0, 17.4, 23.5, 36.0])), draw(st.sampled_from([2000, 5184, 8256]))
    size = (across, across * 0.75, wide_px, wide_px * 3 // 4)
    lowest, highest = draw(st.sampled_from([(200, 25600), (125, 51200), (64, 102400), (200, 200), (210, 210)]))
    camera = CameraBody(
        *(size if draw(st.integers(0, 4)) else (size[1], size[0], size[3], size[2])),
        lowest_iso=lowest,
        highest_iso=highest,
        shortest_s=draw(st.sampled_from([1 / 4000, 1 / 8000, 1 / 32000])),
        longest_s=draw(st.sampled_from([1 / 2, 30.0, 60.0])),
        frames_per_s=draw(log_floats(1, 120)),
        readout_s=draw(st.sampled_from([0.0, 1 / 60])),
    )
    longest = draw(st.sampled_from([50.0, 100.0, 300.0, 400.0, 600.0]))
    wide = draw(st.sampled_from([2.8, 4.0, 5.6, 6.3, 6.7]))
    closest, largest = draw(st.sampled_from([(0.0, None), (0.0105, None), (0.0042, 0.5), (0.0033, 0.26)]))
    lens = Lens(
        longest / draw(st.sampled_from([1, 4])),
        longest,
        draw(st.sampled_from([0.75, 1.0])) * wide,
        wide,
        narrowest=draw(st.sampled_from([22.0, 16.0, wide])),
        closest_focus_m=closest * longest,
        largest_magnification=largest,
    )
    return Kit("drawn", camera, lens, draw(st.sampled_from([1.0, 1.4, 2.0])))


@st.composite
def subjects(draw: st.DrawFn) -> Subject:
    """Draw an animal that does anything."""
    length, behaviour = draw(log_floats(15, 500)), draw(st.sampled_from(Behaviour))
    launched = behaviour in (Behaviour.TAKE_OFF, Behaviour.LANDING)
    return Subject(
        "drawn",
        behaviour,
        length,
        span_mm=length * draw(st.floats(1, 3)),
        thickness_mm=length * draw(st.floats(0.05, 0.4)),
        extent_mm=length,
        speed_m_s=draw(ranges(0.01, 20).filter(lambda of: of.low > 0 or not launched)),
        panning_left=draw(st.sampled_from([Range(1, 1, 1), Range(0.05, 0.15, 0.35), STILL])),
        focus_error_mm=draw(ranges(0.5, 100)),
        wingbeat_hz=draw(ranges(2, 60)),
        stroke_deg=draw(ranges(20, 160)),
        event_s=draw(ranges(0.1, 5)),
        acceleration_m_s2=draw(log_floats(1, 50)),
        angle_deg=draw(st.sampled_from([0.0, 1.0, 15.0, 40.0, 90.0])),
    )


@st.composite
def wishes(draw: st.DrawFn, kit: Kit) -> Wish:
    """Draw a wish that a kit can be asked, from its closest focus on."""
    focal = draw(st.sampled_from([None, kit.lens.shortest_mm]))
    wish = Wish(
        draw(st.floats(-6, 20)),
        focal_length_mm=focal,
        shown_width_px=draw(st.sampled_from([None, 800.0, 1920.0, 2835.0])),
        snr_wanted=draw(st.sampled_from([10.0, 40.0, 100.0])),
        wings_too=draw(st.booleans()),
        shake_deg_s=draw(st.sampled_from([0.0, 0.4, 5.0])),
    )
    return replace(wish, distance_m=nearest_distance_m(kit, wish) * draw(log_floats(1, 60)))


@st.composite
def asked(draw: st.DrawFn) -> tuple[Kit, Subject, Wish]:
    """Draw a whole question."""
    kit = draw(kits())
    return kit, draw(subjects()), draw(wishes(kit))


@st.composite
def questions(draw: st.DrawFn) -> Question:
    """Draw a posed question."""
    kit, subject, wish = draw(asked())
    return pose(kit, subject, wish, wish.distance_m or 0.0)
