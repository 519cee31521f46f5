"""One question about settings, in the photographer's words: kit of the field book, animal of the catalogue, light."""

from dataclasses import dataclass

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import SQUARE_ON_DEG, subject_of
from stillwing.errors import UnknownThing
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.kits import EXAMPLE_KIT, kit_named, kits
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR, parse_sharp_for
from stillwing.optics.answer import Answer, answer
from stillwing.optics.kit import Kit
from stillwing.optics.light import light_of
from stillwing.optics.question import HAND_HELD_DEG_S, NOISE_UNSEEN_SNR, Wish
from stillwing.optics.subject import Behaviour

__all__ = ["Asked", "answer_asked", "kit_asked", "wish_of"]


@dataclass(frozen=True, slots=True)
class Asked:
    """The question as it was typed. ``light`` is a word such as "sun", an EV or a meter reading."""

    animal: str
    behaviour: Behaviour
    light: str
    distance_m: float | None = None
    size_percent: float | None = None
    kit: str | None = None
    focal_length_mm: float | None = None
    sharp_for: str = DEFAULT_SHARP_FOR
    wings_too: bool = False
    angle_deg: float = SQUARE_ON_DEG
    panning_left_percent: float | None = None
    shake_deg_s: float = HAND_HELD_DEG_S
    snr_wanted: float = NOISE_UNSEEN_SNR


def answer_asked(book: FieldBook, asked: Asked) -> Answer:
    """Answer a question.

    Parameters
    ----------
    book : FieldBook
        Holds the kits; with none of them stored, `EXAMPLE_KIT` answers (its name says so).
    asked : Asked
        The question.

    Raises
    ------
    UnknownThing
        If the kit, the animal or the light is not known.
    InputError
        If something cannot be used, or nothing in the kit's range exposes right.
    """
    kit = kit_asked(book, asked.kit)
    animal = animal_named(read_catalogue(), asked.animal)
    left = None if asked.panning_left_percent is None else asked.panning_left_percent / 100
    subject = subject_of(animal, asked.behaviour, angle_deg=asked.angle_deg, panning_left=left)
    return answer(kit, subject, wish_of(asked, kit))


def kit_asked(book: FieldBook, name: str | None) -> Kit:
    """Return the kit of that name, the standing one, or the example kit where the book holds none.

    The example kit can be asked for by its name too, unless one of the book's own has that name.

    Raises
    ------
    UnknownThing
        If there is no such kit.
    """
    if name is None:
        return kit_named(book) if kits(book) else EXAMPLE_KIT
    try:
        return kit_named(book, name)
    except UnknownThing:
        if name.strip().casefold() == EXAMPLE_KIT.name:
            return EXAMPLE_KIT
        raise


def wish_of(asked: Asked, kit: Kit) -> Wish:
    """Return the question's figures as the solver takes them.

    Raises
    ------
    InputError
        If the light or the output cannot be read.
    """
    return Wish(
        ev100=light_of(asked.light),
        distance_m=asked.distance_m,
        size_in_frame=None if asked.size_percent is None else asked.size_percent / 100,
        focal_length_mm=asked.focal_length_mm,
        shown_width_px=parse_sharp_for(asked.sharp_for).needed_width(kit.camera.width_px),
        snr_wanted=asked.snr_wanted,
        wings_too=asked.wings_too,
        shake_deg_s=asked.shake_deg_s,
    )
