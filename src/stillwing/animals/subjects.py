"""An animal of the catalogue, doing one thing: what the solver needs of it."""

import math

from stillwing.animals.catalogue import CatalogueAnimal, Group
from stillwing.errors import InputError, UnknownThing
from stillwing.optics.subject import STILL, Behaviour, Range, Subject

__all__ = ["PANNING_LEFT", "SQUARE_ON_DEG", "subject_of"]

PANNING_LEFT = Range(0.05, 0.15, 0.35)
"""Share of an animal's motion that is left in the picture when a practised hand follows it (estimate)."""
SQUARE_ON_DEG = 15.0
"""How far off the focal plane a body lies that is photographed "from the side" (common practice, no source)."""

FOCUS_LAG_S = Range(0.005, 0.015, 0.04)
"""How late continuous focusing is on what comes nearer, after the camera's own prediction (estimate)."""
SWAY_MM = Range(2.0, 5.0, 12.0)
"""To and fro of a standing photographer before something still, as a standard deviation (estimate)."""
FOLLOWED_S = Range(0.4, 1.0, 2.5)
"""How long a passing animal is held in the frame (common practice, no source)."""
WATCHED_S = Range(1.0, 1.0, 1.0)
"""For a perched animal: sharp frames are told for one second."""

NEEDS = {
    Behaviour.HOVER: ("hover_speed_m_s", "hover_drift_mm", "hover_s"),
    Behaviour.PASS: ("cruising_m_s",),
    Behaviour.PERCH: ("perch_sway_m_s",),
    Behaviour.TAKE_OFF: ("take_off_m_s", "take_off_m_s2"),
    Behaviour.LANDING: ("take_off_m_s", "landing_m_s2"),
}
"""Figures of the catalogue that a behaviour asks for; without them the animal is not known to do it."""


def subject_of(
    animal: CatalogueAnimal,
    behaviour: Behaviour,
    *,
    angle_deg: float = SQUARE_ON_DEG,
    panning_left: float | None = None,
) -> Subject:
    """Return an animal of the catalogue as the solver needs it.

    Parameters
    ----------
    animal : CatalogueAnimal
        Its ranges go over into the subject.
    behaviour : Behaviour
        What it does.
    angle_deg : float, default 15
        Between its body, or its way, and the focal plane. [deg]
    panning_left : float, optional
        Share of a pass's motion that following leaves, 0 to 1; `PANNING_LEFT` where it is not given.

    Raises
    ------
    InputError
        If the catalogue does not know the animal to do that, a number cannot be used, or panning is told of what is not
        followed.
    """
    missing = [name for name in NEEDS[behaviour] if name not in animal.figures]
    if missing:
        can = ", ".join(one for one, needed in NEEDS.items() if all(name in animal.figures for name in needed))
        raise InputError(
            f"the catalogue knows no {behaviour} of the {animal.name}; ask for one of: {can or 'nothing yet'}"
        )
    _check_panning(behaviour, panning_left)
    length, span = _likely(animal, "body_length_mm"), _likely(animal, "wing_span_mm")
    flies = behaviour is not Behaviour.PERCH
    speed = _range(animal, NEEDS[behaviour][0])
    return Subject(
        words=animal.name,
        behaviour=behaviour,
        length_mm=length,
        span_mm=span,
        thickness_mm=_likely(animal, "body_depth_mm"),
        extent_mm=max(length, span) if animal.group is Group.BIRD and flies else length,
        speed_m_s=speed,
        panning_left=_left(behaviour, panning_left),
        focus_error_mm=_focus_error(animal, behaviour, speed, angle_deg),
        wingbeat_hz=_range(animal, "wingbeat_hz") if flies else STILL,
        stroke_deg=_range(animal, "stroke_deg") if flies else STILL,
        event_s=_event(animal, behaviour),
        acceleration_m_s2=_acceleration(animal, behaviour),
        angle_deg=angle_deg,
    )


def _range(animal: CatalogueAnimal, quantity: str) -> Range:
    figure = animal.figure(quantity)
    return Range(figure.low, figure.likely, figure.high)


def _likely(animal: CatalogueAnimal, quantity: str) -> float:
    try:
        return animal.figure(quantity).likely
    except UnknownThing as error:
        raise InputError(f"the catalogue has no {quantity} of the {animal.name}; add a row for it") from error


def _check_panning(behaviour: Behaviour, panning_left: float | None) -> None:
    if panning_left is None:
        return
    if behaviour is not Behaviour.PASS:
        raise InputError(f"panning counts in a pass alone; leave it out for a {behaviour}")
    if not 0 <= panning_left <= 1:
        raise InputError(f"panning leaves {100 * panning_left:g} % of the motion; it lies between 0 and 100 %")


def _left(behaviour: Behaviour, panning_left: float | None) -> Range:
    if behaviour is not Behaviour.PASS:
        return Range(1.0, 1.0, 1.0)
    if panning_left is None:
        return PANNING_LEFT
    return Range(panning_left / 2, panning_left, min(2 * panning_left, 1.0))


def _focus_error(animal: CatalogueAnimal, behaviour: Behaviour, speed: Range, angle_deg: float) -> Range:
    """Return how far from the focal plane the middle lies when a frame is taken, as a standard deviation. [mm]"""
    match behaviour:
        case Behaviour.HOVER:
            return _range(animal, "hover_drift_mm")
        case Behaviour.PASS:
            towards = math.sin(math.radians(angle_deg)) * 1000
            late = (speed.likely * towards * lag for lag in FOCUS_LAG_S)
            return Range(*(math.hypot(one, SWAY_MM.likely) for one in late))
        case _:
            return SWAY_MM


def _event(animal: CatalogueAnimal, behaviour: Behaviour) -> Range:
    match behaviour:
        case Behaviour.HOVER:
            return _range(animal, "hover_s")
        case Behaviour.PASS:
            return FOLLOWED_S
        case _:
            return WATCHED_S


def _acceleration(animal: CatalogueAnimal, behaviour: Behaviour) -> float:
    match behaviour:
        case Behaviour.TAKE_OFF:
            return animal.figure("take_off_m_s2").likely
        case Behaviour.LANDING:
            return animal.figure("landing_m_s2").likely
        case _:
            return 0.0
