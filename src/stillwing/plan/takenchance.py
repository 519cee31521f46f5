"""What the plan's chain expects of a burst that was taken: the chance of a sharp frame at the settings it had."""

from dataclasses import dataclass, replace
from functools import lru_cache

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import subject_of
from stillwing.optics.expected import one_sharp_chance
from stillwing.optics.kit import Kit
from stillwing.optics.question import Wish, pose
from stillwing.optics.subject import Behaviour, Range
from stillwing.plan.sharpness import out_of_plane_deg
from stillwing.plan.worth import CALM_SWING_DEG, side_worths

__all__ = ["TakenWith", "taken_chance"]


@dataclass(frozen=True, slots=True)
class TakenWith:
    """How a burst was taken, as its files and the log tell it."""

    kit: Kit
    animal: str
    """As the catalogue may be asked for it."""
    behaviour: Behaviour
    distance_m: float
    focal_length_mm: float
    """As engraved, converter not counted."""
    shown_width_px: float
    """Width at which its frames were to be sharp."""
    f_number: float
    exposure_s: float
    n_frames: int
    frames_per_s: float


# Bursts of an outing are often taken alike, and a launch takes some hundredths of a second to be reckoned.
@lru_cache(maxsize=4096)
def taken_chance(taken: TakenWith) -> float:
    """Return the chance that such a burst has at least one sharp frame, 0 to 1.

    Raises
    ------
    UnknownThing
        If the catalogue has no such animal.
    InputError
        If the kit cannot have taken it, or the catalogue does not know the animal to do that.

    Notes
    -----
    It is the factor "sharp" of the chain, with the settings that were taken in place of the solver's, and with as many
    frames as were taken in place of an event's usual length. Which side showed is not known of a burst: every side
    counts as often as it shows where no wind turns the animal, by what it is worth. Noise is left out, because a
    frame counts as sharp however noisy it is.
    """
    animal = animal_named(read_catalogue(), taken.animal)
    lasts = taken.n_frames / taken.frames_per_s
    wish = Wish(0.0, focal_length_mm=taken.focal_length_mm, shown_width_px=taken.shown_width_px)
    worths = side_worths(0.0, CALM_SWING_DEG, taken.behaviour)
    chance = 0.0
    for side, worth in worths.items():
        turned = subject_of(animal, taken.behaviour, angle_deg=out_of_plane_deg(side, taken.behaviour))
        subject = replace(turned, event_s=Range(lasts, lasts, lasts))
        question = pose(taken.kit, subject, wish, taken.distance_m, 0.0)
        sharp = one_sharp_chance(question, subject, taken.frames_per_s, taken.f_number, taken.exposure_s)
        chance += float(worth) * sharp
    return chance / float(sum(worths.values()))
