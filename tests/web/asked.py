"""A question about settings with known figures, for the tests of its page."""

from dataclasses import replace

from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.answer import Answer, answer
from stillwing.optics.kit import Kit
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour, Range, Subject

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
WISH = Wish(ev100=15, distance_m=3, shown_width_px=2835)


def hovering(kit: Kit = EXAMPLE_KIT, **wish: float) -> Answer:
    """Return the answer for a hovering hawker 3 m away in the sun, or with another wish."""
    return answer(kit, HAWKER, replace(WISH, **wish))  # type: ignore[arg-type]
