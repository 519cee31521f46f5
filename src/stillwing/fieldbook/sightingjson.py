"""A sighting as JSON: how the field book keeps it, so that none of it is lost and each version stands by itself."""

import json
from typing import Any
from uuid import UUID

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import read_when
from stillwing.fieldbook.sightingwords import Basis, Doing, Establishment, LifeStage, SightedSex, Verification

__all__ = ["sighting_from_json", "sighting_to_json"]

PLACE = ("latitude", "longitude", "uncertainty_m", "precision_deg", "name")
WORDS = ("scientific_name", "name_as_written", "qualifier", "licence", "remarks", "generalized", "withheld")
LISTS = ("pictures", "recorded_by", "identified_by")


def sighting_to_json(sighting: Sighting) -> str:
    """Return a sighting as the JSON text that `sighting_from_json` takes back; equal ones give the same text."""
    document: dict[str, object] = {name: getattr(sighting, name) for name in (*WORDS, *LISTS)}
    document |= {
        "id": str(sighting.id),
        "when": sighting.when.iso,
        "where": {name: getattr(sighting.where, name) for name in PLACE},
        "count": sighting.count,
        "sexes": sighting.sexes,
        "stage": sighting.stage,
        "doing": sighting.doing,
        "verification": sighting.verification,
        "basis": sighting.basis,
        "establishment": sighting.establishment,
        "sensitive": sighting.sensitive,
        "others": sighting.others,
    }
    return json.dumps(document, ensure_ascii=False, sort_keys=True)


def sighting_from_json(text: str) -> Sighting:
    """Return the sighting of a JSON text.

    Raises
    ------
    InputError
        If it is no such text, or the sighting in it cannot be right.
    """
    try:
        told: dict[str, Any] = json.loads(text)
        stage, establishment = told["stage"], told["establishment"]
        words: dict[str, Any] = {name: str(told[name]) for name in WORDS}
        words |= {name: tuple(map(str, told[name])) for name in LISTS}
        return Sighting(
            when=read_when(told["when"]),
            where=Where(**{name: told["where"][name] for name in PLACE}),
            id=UUID(told["id"]),
            count=told["count"],
            sexes=tuple(map(SightedSex, told["sexes"])),
            stage=None if stage is None else LifeStage(stage),
            doing=tuple(map(Doing, told["doing"])),
            verification=Verification(told["verification"]),
            basis=Basis(told["basis"]),
            establishment=None if establishment is None else Establishment(establishment),
            sensitive=bool(told["sensitive"]),
            others=tuple((name, words) for name, words in told["others"]),
            **words,
        )
    except KeyError as error:
        raise InputError(f"the stored sighting lacks {error}") from error
    except (ValueError, TypeError, AttributeError) as error:
        raise InputError(f"the stored sighting cannot be used: {error}") from error
