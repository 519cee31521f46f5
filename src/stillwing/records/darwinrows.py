"""The cells of a Darwin Core occurrence as a sighting; what cannot be right raises one sentence."""

import json
import re
from collections.abc import Mapping
from enum import StrEnum
from typing import TypeVar
from uuid import NAMESPACE_URL, UUID, uuid5

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import LIST_MARK, Sighting, Where
from stillwing.fieldbook.sightingtime import When, read_when
from stillwing.fieldbook.sightingwords import (
    STANDARD_STAGE,
    Basis,
    Doing,
    Establishment,
    LifeStage,
    SightedSex,
    Verification,
)
from stillwing.records.darwincells import ANIMALS, DATUM, SENSITIVE, STAGE
from stillwing.records.darwinterms import COLUMNS, OCCURRENCE_ID, local_name

__all__ = ["KNOWN", "sighting_in"]

Word = TypeVar("Word", bound=StrEnum)

KNOWN = frozenset(map(local_name, COLUMNS))
SAME_DATUM = frozenset({DATUM, "WGS84", "WGS 84", "WGS1984"})
STAGES = {value: stage for stage, value in reversed(STANDARD_STAGE.items())} | {
    stage.value: stage for stage in LifeStage
}
"""Of our words and the standard's; where the standard is coarser the plain stage is meant."""
WITHOUT_ZONE = re.compile(r"T[0-9:.]+(?=/|$)")
VERIFICATIONS = {state.value: state for state in Verification}
PROPERTIES = "dynamicProperties"
FIGURE = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,2})?")


def sighting_in(cells: Mapping[str, str], pictures: tuple[str, ...] = ()) -> Sighting:
    """Return the sighting that an occurrence tells.

    Parameters
    ----------
    cells : mapping
        Cells by the names of their columns. What has no field here is kept in ``others``: columns, properties, and
        words for stage, behaviour and verification that are not ours, since the standard leaves these words open.
        A time without a zone is kept so too, and its day taken.
    pictures : tuple of str, optional
        Told beside the record; those in its own cell come first.

    Raises
    ------
    InputError
        If a cell cannot be taken; the sentence names its column.
    """
    others = _others(cells)
    own_stage, is_sensitive = others.pop(STAGE, ""), others.pop(SENSITIVE, "")
    known = {name: cells.get(name, "") for name in KNOWN}
    sighting_id, others[OCCURRENCE_ID] = _identity(known[OCCURRENCE_ID])
    _is_an_animal(known["kingdom"])
    if own_stage and own_stage not in STAGES:
        raise InputError(f'{STAGE} is "{own_stage}"; it is one of {", ".join(LifeStage)}')
    stage = STAGES.get(own_stage) or _open_word("lifeStage", STAGES, known, others)
    degree = _items(known["degreeOfEstablishment"])
    return Sighting(
        id=sighting_id,
        scientific_name=known["scientificName"],
        when=_when(known["eventDate"], others),
        where=_where(known),
        name_as_written=known["verbatimIdentification"],
        qualifier=known["identificationQualifier"],
        count=_count(known),
        sexes=tuple(_word("sex", SightedSex, item) for item in _items(known["sex"])),
        stage=stage,
        doing=_doing(known["behavior"], others),
        pictures=tuple(dict.fromkeys((*_items(known["associatedMedia"]), *pictures))),
        recorded_by=_items(known["recordedBy"]),
        identified_by=_items(known["identifiedBy"]),
        verification=_open_word("identificationVerificationStatus", VERIFICATIONS, known, others)
        or Verification.UNVERIFIED,
        licence=known["license"],
        basis=_word("basisOfRecord", Basis, known["basisOfRecord"]),
        establishment=next((_word("degreeOfEstablishment", Establishment, item) for item in degree), None),
        remarks=known["occurrenceRemarks"],
        sensitive=_is_true(is_sensitive),
        generalized=known["dataGeneralizations"],
        withheld=known["informationWithheld"],
        others=tuple(sorted((name, text) for name, text in others.items() if text)),
    )


def _identity(text: str) -> tuple[UUID, str]:
    """Return our key for a record, and the identifier that it came with where that is no UUID.

    Any other identifier gives the same UUID each time, so that a record read twice is one.
    """
    if not text:
        raise InputError(f"{OCCURRENCE_ID} is empty; every record needs one, such as urn:uuid: and a UUID")
    try:
        found = UUID(text.removeprefix("urn:uuid:"))
    except ValueError:
        return uuid5(NAMESPACE_URL, text), text
    return found, "" if text == found.urn else text


def _others(cells: Mapping[str, str]) -> dict[str, str]:
    others = {name: text for name, text in cells.items() if name not in KNOWN and text}
    for name, text in _properties(cells.get(PROPERTIES, "")).items():
        if others.setdefault(name, text) != text:
            raise InputError(
                f'{name} is "{others[name]}" in its column and "{text}" in {PROPERTIES}; it is one of them'
            )
    return others


def _properties(text: str) -> dict[str, str]:
    if not text.startswith("{"):
        return {PROPERTIES: text} if text else {}
    try:
        held = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(f'{PROPERTIES} begins like JSON and is none; write it such as {{"wind": "calm"}}') from error
    return {
        name.strip(): _on_one_line(
            value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, sort_keys=True)
        )
        for name, value in held.items()
    }


def _on_one_line(text: str) -> str:
    return re.sub(r"[\t\r\n]+", " ", text).strip()


def _when(text: str, others: dict[str, str]) -> When:
    """Return the time; of one told without its zone only the day is sure, so the text is put among the others."""
    days = WITHOUT_ZONE.sub("", text)
    if days != text:
        others["eventDate"] = text
    return read_when(days)


def _where(known: Mapping[str, str]) -> Where:
    latitude, longitude = _number(known, "decimalLatitude"), _number(known, "decimalLongitude")
    datum = known["geodeticDatum"]
    if latitude is not None and datum and datum.upper() not in SAME_DATUM:
        raise InputError(f"geodeticDatum is {datum}; coordinates are read in {DATUM} (WGS 84), so transform them first")
    return Where(
        latitude=latitude,
        longitude=longitude,
        uncertainty_m=_number(known, "coordinateUncertaintyInMeters"),
        precision_deg=_number(known, "coordinatePrecision"),
        name=known["locality"],
    )


def _number(known: Mapping[str, str], name: str) -> float | None:
    text = known[name]
    if not text:
        return None
    if not FIGURE.fullmatch(text):
        raise InputError(f'{name} is "{text}"; it is a figure such as 52.2053, with a point and no unit')
    return float(text)


def _count(known: Mapping[str, str]) -> int | None:
    text, status = known["individualCount"], known["occurrenceStatus"].lower() or "present"
    if status not in ("present", "absent"):
        raise InputError(f'occurrenceStatus is "{known["occurrenceStatus"]}"; it is present or absent')
    if text and not re.fullmatch("[0-9]{1,9}", text):
        raise InputError(f'individualCount is "{text}"; it is a whole number from 0 on')
    count = int(text) if text else None
    if text and (count == 0) != (status == "absent"):
        raise InputError(
            f"occurrenceStatus is {status} and individualCount {text}; absent goes with 0, present with more"
        )
    return 0 if status == "absent" else count


def _is_an_animal(kingdom: str) -> None:
    if kingdom.lower() not in ("", ANIMALS.lower()):
        raise InputError(f"kingdom is {kingdom}; a sighting is of an animal, kingdom {ANIMALS}")


def _items(text: str) -> tuple[str, ...]:
    return tuple(item for part in text.split(LIST_MARK) if (item := part.strip()))


def _word(name: str, words: type[Word], text: str) -> Word:
    """Return the word of a closed vocabulary, however it is capitalised."""
    for word in words:
        if word.value.lower() == text.lower().replace("_", ""):
            return word
    raise InputError(f'{name} is "{text}"; it is one of {", ".join(words)}')


def _open_word(name: str, words: Mapping[str, Word], known: Mapping[str, str], others: dict[str, str]) -> Word | None:
    """Return our word for an open vocabulary's; one that is not ours is put among the others."""
    found = words.get(known[name].lower())
    if found is None and known[name]:
        others[name] = known[name]
    return found


def _doing(text: str, others: dict[str, str]) -> tuple[Doing, ...]:
    words = {doing.value: doing for doing in Doing}
    items = [item.lower() for item in _items(text)]
    if not set(items) <= words.keys():
        others["behavior"] = text
    return tuple(dict.fromkeys(words[item] for item in items if item in words))


def _is_true(text: str) -> bool:
    if text not in ("", "true"):
        raise InputError(f'{SENSITIVE} is "{text}"; it is true or left out')
    return bool(text)
