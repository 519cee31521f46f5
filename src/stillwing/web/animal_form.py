"""What a person says of an animal on its page: each form changes one part of the look."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from stillwing.animals.catalogue import Group
from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.looks import BodyEnds, Look
from stillwing.fieldbook.traces import BurstTrace, TraceFrame
from stillwing.records.animalseen import frames_to_measure
from stillwing.records.identify import SUBORDER
from stillwing.records.region import Character, Region
from stillwing.records.regionpicks import RegionPick, usable_region
from stillwing.records.seen import Answer, Seen, check_seen

__all__ = ["PARTS", "Asked", "changed_look"]

ENDS = ("head_x", "head_y", "tail_x", "tail_y")
FIGURE = re.compile(r"-?(?:\d{1,7}(?:[.,]\d{0,6})?|[.,]\d{1,6})", re.ASCII)
GROUPS = (Group.DRAGONFLY, Group.DAMSELFLY)

Sent = Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a form is about: the burst, and the list of species; ``None`` while none is picked."""

    trace: BurstTrace
    region: Region | None
    picks: tuple[RegionPick, ...]


def changed_look(look: Look, asked: Asked, sent: Sent) -> Look:
    """Return a look with the part changed that a form sent.

    Parameters
    ----------
    look : Look
        As it stood.
    asked : Asked
    sent : mapping of str to object
        The form's fields; ``part`` is one of `PARTS`.

    Raises
    ------
    UnknownThing
        If the part, the frame, the list, the character or its state is not known.
    InputError
        If a figure cannot be used, or the ends lie outside the picture.
    """
    part = _word(sent, "part")
    if part not in PARTS:
        raise UnknownThing(f'no part of the page is called "{part}"; there are {", ".join(PARTS)}')
    changed = PARTS[part](look, asked, sent)
    # What was said counts for the list that was shown, even where that was proposed and not picked.
    return replace(changed, region=changed.region or (asked.region.key if asked.region else ""))


def _ends(look: Look, asked: Asked, sent: Sent) -> Look:
    frame = _frame_sent(asked, sent)
    head_x, head_y, tail_x, tail_y = (_figure(sent, name, "px of the original, such as 812") for name in ENDS)
    for x, y in ((head_x, head_y), (tail_x, tail_y)):
        _check_inside(frame, x, y)
    return replace(look, frame_id=frame.id, ends=BodyEnds(frame.id, (head_x, head_y), (tail_x, tail_y)))


def _no_ends(look: Look, asked: Asked, sent: Sent) -> Look:
    return replace(look, ends=None)


def _frame(look: Look, asked: Asked, sent: Sent) -> Look:
    if not _word(sent, "frame"):
        return replace(look, frame_id=None)
    return replace(look, frame_id=_frame_sent(asked, sent).id)


def _tilt(look: Look, asked: Asked, sent: Sent) -> Look:
    if "preset" in sent and not _word(sent, "preset"):
        return replace(look, most_tilt_deg=None)
    name = "preset" if "preset" in sent else "degrees"
    return replace(look, most_tilt_deg=_figure(sent, name, "degrees, such as 15"))


def _answer(look: Look, asked: Asked, sent: Sent) -> Look:
    key = _word(sent, "character")
    if key == SUBORDER:
        return _group(look, sent)
    region = asked.region
    if region is None:
        raise InputError("pick a list of species first; it has the questions")
    character = next((one for one in region.characters if one.key == key), None)
    named = tuple(_word(sent, name) for name in ("add", "drop") if name in sent)
    if character is None or named:
        # The check knows the words to refuse a character or a state with that the list does not have.
        check_seen(region, Seen(answers=(Answer(key, named[:1] or ("",)),)))
    assert character is not None
    return look.answered(key, _states(character, dict(look.answers).get(key, ()), sent))


def _states(character: Character, before: tuple[str, ...], sent: Sent) -> tuple[str, ...]:
    """Return the states after one was added or dropped, in the list's order; none where the answer is taken back."""
    if "add" in sent:
        return tuple(state for state in character.states if state in (*before, _word(sent, "add")))
    if "drop" in sent:
        return tuple(state for state in character.states if state in before and state != _word(sent, "drop"))
    return ()


def _group(look: Look, sent: Sent) -> Look:
    word = _word(sent, "add")
    if not word:
        return replace(look, group=None)
    if word not in GROUPS:
        raise UnknownThing(f'the group is "{word}"; a list of species tells {" and ".join(GROUPS)}')
    return replace(look, group=Group(word))


def _sex(look: Look, asked: Asked, sent: Sent) -> Look:
    return replace(look, sex=_word(sent, "sex"))


def _region(look: Look, asked: Asked, sent: Sent) -> Look:
    key = _word(sent, "region")
    usable_region(asked.picks, key)
    return replace(look, region=key)


def _counts(look: Look, asked: Asked, sent: Sent) -> Look:
    return replace(
        look,
        counts_length=_yes(sent, "counts_length", look.counts_length),
        counts_colours=_yes(sent, "counts_colours", look.counts_colours),
    )


PARTS: Mapping[str, Callable[[Look, Asked, Sent], Look]] = {
    "ends": _ends,
    "no-ends": _no_ends,
    "frame": _frame,
    "tilt": _tilt,
    "answer": _answer,
    "sex": _sex,
    "region": _region,
    "counts": _counts,
}
"""What each form of the page changes."""


def _word(sent: Sent, name: str) -> str:
    return str(sent.get(name, "")).strip()


def _yes(sent: Sent, name: str, before: bool) -> bool:
    word = _word(sent, name)
    if word not in ("", "yes", "no"):
        raise InputError(f'{name} is "{word}"; it is yes or no')
    return before if not word else word == "yes"


def _figure(sent: Sent, name: str, right: str) -> float:
    word = _word(sent, name)
    if not FIGURE.fullmatch(word):
        raise InputError(f'{name.replace("_", " ")} is "{word}"; write {right}')
    return float(word.replace(",", "."))


def _frame_sent(asked: Asked, sent: Sent) -> TraceFrame:
    word = _word(sent, "frame")
    for frame in frames_to_measure(asked.trace):
        if str(frame.id) == word:
            return frame
    raise UnknownThing(f'the burst {asked.trace.name} has no frame number "{word}" that shows an animal')


def _check_inside(frame: TraceFrame, x: float, y: float) -> None:
    width, height = frame.width_px, frame.height_px
    if width is None or height is None or (0 <= x <= width and 0 <= y <= height):
        return
    raise InputError(
        f"an end of the body lies at {x:g}, {y:g} px, outside the picture of {width} × {height} px; move it inside"
    )
