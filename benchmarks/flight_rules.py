"""Rules of thumb of photographers (common practice, no source) against the model of launches, with where they part."""

import math
import textwrap
from dataclasses import dataclass, replace

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import subject_of
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.flight.attempt import Attempt
from stillwing.flight.launch import Outcome, attempted, time_to_react
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR, parse_sharp_for
from stillwing.optics.question import Wish, pose
from stillwing.optics.subject import Behaviour, Range

__all__ = ["Rule", "rules_of_thumb", "rules_table"]

FULL_SUN_EV = 15.0
SHORT_HOVER_S = Range(0.3, 0.6, 1.0)
"""Less than a second."""
SOME_TWENTY = (14.0, 28.0)
"""Twenty within a factor of 1.4, as "some" is read here (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: what it tells, what the model tells under several conditions, and why they part where they do."""

    words: str
    low: float
    high: float
    told: dict[str, float]
    """Figure by condition; inf where no attempt ever gives one."""
    why: str

    @property
    def verdict(self) -> str:
        """Whether the model agrees, to the next whole number."""
        inside = [math.isfinite(figure) and self.low <= round(figure) <= self.high for figure in self.told.values()]
        return "agrees" if all(inside) else "agrees in part" if any(inside) else "does not agree"


def rules_of_thumb() -> tuple[Rule, ...]:
    """Return the rules with what the model tells."""
    return launch_rule(), hover_rule(), landing_rule()


def launch_rule() -> Rule:
    """Return the rule about launches of damselflies."""
    asked = {
        f"{distance_m:g} m, {output}": attempted(
            _attempt("damselfly", Behaviour.TAKE_OFF, distance_m, 50.0, output, look_back_s=0.5)
        ).frames_in_focus.mean
        for output in ("full", DEFAULT_SHARP_FOR)
        for distance_m in (1.5, 2.0, 3.0)
    }
    return Rule(
        "one or two frames of a damselfly's launch in focus at 50 frames/s",
        1,
        2,
        asked,
        "what counts as in focus decides: for every pixel of the frame the rule holds at 2 m; nearer, diffraction at "
        "f/8 alone takes what may be hidden; a print hides more, and then the model has three to six, since it is "
        "taken to leave nearly along the plane (15 degrees, half to twice that)",
    )


def hover_rule() -> Rule:
    """Return the rule about short hovers."""
    asked = {}
    for rate in (8.0, 10.0, 18.0):
        for look_back_s, words in ((0.0, "no buffer"), (0.5, "buffer of 0.5 s")):
            attempt = _attempt("hawker", Behaviour.HOVER, 3.0, rate, look_back_s=look_back_s)
            short = replace(attempt, subject=replace(attempt.subject, event_s=SHORT_HOVER_S))
            asked[f"{rate:g} frames/s, {words}"] = attempted(short).frames_sharp.mean
    return Rule(
        "hovers under a second give three or four frames",
        3,
        4,
        asked,
        "it is a matter of the camera: a quarter of a second goes in reacting, and 8 to 10 frames/s over the rest make "
        "three; faster cameras and buffers give more",
    )


def landing_rule() -> Rule:
    """Return the rule about landings; the figure is tries for one keeper on average."""
    early, plain = (
        _attempt("darter", Behaviour.LANDING, 2.0, 18.0, lead_s=lead_s, look_back_s=look_back_s)
        for lead_s, look_back_s in ((0.2, 0.0), (0.0, 0.0))
    )
    in_frame_s = attempted(replace(plain, look_back_s=1.0)).frames_in_frame.mean / plain.frames_per_s
    seen = replace(plain, lead_s=in_frame_s - time_to_react(plain))
    asked = {
        "pressed 0.2 s before it comes down": _tries(attempted(early)),
        "pressed for the touch-down": _tries(attempted(plain)),
        "pressed on seeing it in the frame": _tries(attempted(seen)),
    }
    chance = attempted(early).keeper_chance
    return Rule(
        "some twenty tries for one good landing picture",
        *SOME_TWENTY,
        asked,
        "the model takes it for granted that it comes down on the perch that is focused on, and that you know when; "
        "and a sharp, whole animal is not yet a good picture. It has a keeper in "
        f"{chance:.0%} of such landings: the rule would say that one landing in {20 * chance:.0f} is one, and good",
    )


def rules_table(rules: tuple[Rule, ...]) -> str:
    """Return the rules as text."""
    lines = ["", "Rules of thumb (common practice, no source) against the model:"]
    for rule in rules:
        lines += [f"{rule.words}: {rule.verdict}"]
        lines += [f"    {condition:42} {_figure(figure):>7}" for condition, figure in rule.told.items()]
        lines += textwrap.wrap(f"{rule.why}.", 110, initial_indent="    ", subsequent_indent="    ")
    return "\n".join(lines)


def _attempt(
    name: str, behaviour: Behaviour, distance_m: float, rate: float, output: str = DEFAULT_SHARP_FOR, **more: float
) -> Attempt:
    subject = subject_of(animal_named(read_catalogue(), name), behaviour)
    shown = parse_sharp_for(output).needed_width(EXAMPLE_KIT.camera.width_px)
    question = pose(EXAMPLE_KIT, subject, Wish(FULL_SUN_EV, distance_m, shown_width_px=shown), distance_m)
    return Attempt(question, subject, rate, 8.0, 1 / 3200, **more)


def _tries(outcome: Outcome) -> float:
    return 1 / outcome.keeper_chance if outcome.keeper_chance else math.inf


def _figure(figure: float) -> str:
    return f"{figure:.1f}" if math.isfinite(figure) else "never"
