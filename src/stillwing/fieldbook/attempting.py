"""An attempt at a flying animal, in the photographer's words: kit of the field book, animal, setting."""

from dataclasses import dataclass

import numpy as np

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import SQUARE_ON_DEG, subject_of
from stillwing.errors import InputError
from stillwing.fieldbook.asking import kit_asked
from stillwing.fieldbook.book import FieldBook
from stillwing.flight.attempt import Attempt
from stillwing.flight.launchtold import AttemptTold, attempt_told
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR, parse_sharp_for
from stillwing.optics.answer import Setting, answer, settings_at
from stillwing.optics.engraved import read_exposure, read_f_number, read_iso
from stillwing.optics.exposure import ev100, iso_for
from stillwing.optics.kit import Kit
from stillwing.optics.kitparts import KitParts, put_together
from stillwing.optics.light import light_of
from stillwing.optics.lookback import RELEASE_LAG_S, SIGMA_S, TAU_S, Reaction
from stillwing.optics.question import HAND_HELD_DEG_S, Question, Wish, at_distance, pose
from stillwing.optics.subject import Behaviour, Subject

__all__ = ["AskedAttempt", "TriedOut", "try_out"]

TYPED = "typed"
"""Name of a kit that is put together from typed figures."""
NOTHING_TYPED = KitParts()
LEEWAY = 1.07
"""By which names of settings are rounder than what a camera sets: 1/8000 s is 1/8192 s."""
SLOWEST_S = 5.0


@dataclass(frozen=True, slots=True)
class AskedAttempt:
    """The question as it was typed; what is ``None`` is the kit's, the solver's or a typical one."""

    animal: str
    behaviour: Behaviour
    distance_m: float | None = None
    size_percent: float | None = None
    kit: str | None = None
    typed_kit: KitParts = NOTHING_TYPED
    """Figures of a kit in place of one of the field book; none of them, and the named or standing one is taken."""
    focal_length_mm: float | None = None
    light: str = "sun"
    """Settles f-number, exposure and ISO where they are not typed."""
    f_number: str | None = None
    exposure: str | None = None
    iso: str | None = None
    sharp_for: str = DEFAULT_SHARP_FOR
    frames_per_s: float | None = None
    burst_s: float = 1.0
    look_back_s: float | None = None
    reaction_s: float | None = None
    """Mean time to react."""
    lag_s: float = RELEASE_LAG_S
    pre_focus_mm: float = 0.0
    towards_percent: float = 50.0
    lead_s: float = 0.0
    angle_deg: float = SQUARE_ON_DEG
    panning_left_percent: float | None = None
    shake_deg_s: float = HAND_HELD_DEG_S


@dataclass(frozen=True, slots=True)
class TriedOut:
    """The attempt as it was understood, and what is told of it."""

    kit: Kit
    subject: Subject
    distance_m: float
    setting: Setting
    ev100: float
    """Light that the setting exposes right."""
    frames_per_s: float
    burst_s: float
    look_back_s: float
    told: AttemptTold


def try_out(book: FieldBook, asked: AskedAttempt) -> TriedOut:
    """Try out an attempt by chance.

    Parameters
    ----------
    book : FieldBook
        Holds the kits; with none of them stored, and none typed, `EXAMPLE_KIT` is taken.
    asked : AskedAttempt
        The question.

    Raises
    ------
    UnknownThing
        If the kit, the animal or the light is not known.
    InputError
        If something cannot be used, or only a part of the setting is typed.
    """
    kit = _kit(book, asked)
    left = None if asked.panning_left_percent is None else asked.panning_left_percent / 100
    animal = animal_named(read_catalogue(), asked.animal)
    subject = subject_of(animal, asked.behaviour, angle_deg=asked.angle_deg, panning_left=left)
    wish = at_distance(kit, subject, _wish(asked, kit))
    distance_m = float(wish.distance_m or 0.0)
    question = pose(kit, subject, wish, distance_m)
    setting = _setting(asked, kit, subject, wish, question)
    camera = kit.camera
    attempt = Attempt(
        question,
        subject,
        camera.frames_per_s if asked.frames_per_s is None else asked.frames_per_s,
        setting.f_number,
        setting.exposure_s,
        burst_s=asked.burst_s,
        look_back_s=camera.look_back_s if asked.look_back_s is None else asked.look_back_s,
        reaction=_reaction(asked.reaction_s),
        release_lag_s=asked.lag_s,
        pre_focus_mm=asked.pre_focus_mm,
        towards_chance=asked.towards_percent / 100,
        lead_s=asked.lead_s,
    )
    working = setting.f_number * float(question.bellows[0])
    light = float(ev100(working, setting.exposure_s, setting.iso))
    return TriedOut(
        kit, subject, distance_m, setting, light,
        attempt.frames_per_s, attempt.burst_s, attempt.look_back_s, attempt_told(attempt),
    )  # fmt: skip


def _kit(book: FieldBook, asked: AskedAttempt) -> Kit:
    if asked.typed_kit == NOTHING_TYPED:
        return kit_asked(book, asked.kit)
    if asked.kit is not None:
        raise InputError("a kit is either named or typed; leave out its name, or the figures of sensor and lens")
    return put_together(TYPED, asked.typed_kit).kit


def _wish(asked: AskedAttempt, kit: Kit) -> Wish:
    return Wish(
        ev100=light_of(asked.light),
        distance_m=asked.distance_m,
        size_in_frame=None if asked.size_percent is None else asked.size_percent / 100,
        focal_length_mm=asked.focal_length_mm,
        shown_width_px=parse_sharp_for(asked.sharp_for).needed_width(kit.camera.width_px),
        shake_deg_s=asked.shake_deg_s,
    )


def _setting(asked: AskedAttempt, kit: Kit, subject: Subject, wish: Wish, question: Question) -> Setting:
    """Return the typed setting, or what the solver finds for the light where none is typed."""
    if asked.f_number is None and asked.exposure is None:
        best = answer(kit, subject, wish).best
        if asked.iso is not None:
            raise InputError("an ISO alone is no setting; give f-number and exposure with it, or the light alone")
        return best
    if asked.f_number is None or asked.exposure is None:
        raise InputError("give f-number and exposure, or neither: then those for the light are taken")
    f_number, exposure_s = read_f_number(asked.f_number), read_exposure(asked.exposure)
    _in_range("f-number", f_number, float(question.widest[0]), float(question.narrowest[0]))
    _in_range("exposure in s", exposure_s, kit.camera.shortest_s, kit.camera.longest_s)
    if asked.iso is not None:
        iso = read_iso(asked.iso)
        _in_range("ISO", iso, kit.camera.lowest_iso, kit.camera.highest_iso)
    else:
        iso = float(iso_for(wish.ev100, f_number * float(question.bellows[0]), exposure_s))
        _in_range("ISO for this light", iso, kit.camera.lowest_iso, kit.camera.highest_iso)
    return settings_at(question, *(np.array([value]) for value in (f_number, exposure_s, iso)))[0]


def _in_range(name: str, value: float, low: float, high: float) -> None:
    if not low / LEEWAY <= value <= high * LEEWAY:
        raise InputError(f"the {name} is {value:.4g}; this kit goes from {low:.4g} to {high:.4g}")


def _reaction(mean_s: float | None) -> Reaction | None:
    """Return reactions of that mean, spread like those of a rested person."""
    if mean_s is None:
        return None
    if not TAU_S < mean_s <= SLOWEST_S:  # NaN too
        raise InputError(f"the reaction is {mean_s:g} s; it lies above {TAU_S:g} s and goes to {SLOWEST_S:g} s")
    return Reaction(mean_s - TAU_S, SIGMA_S, TAU_S)
