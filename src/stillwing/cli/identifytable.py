"""Which species an animal may be, and the lists of species: as tables, sentences and JSON."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.records.identify import SUBORDER, Candidate, Identification, Weighed
from stillwing.records.questions import Question
from stillwing.records.region import Region
from stillwing.records.seen import Seen
from stillwing.records.verdict import cautions, chance_words, doubt_sentence, misfit_sentence, set_sentence

__all__ = [
    "candidates_table",
    "identification_json",
    "questions_table",
    "region_words",
    "regions_json",
    "regions_table",
    "verdict_sentences",
]

N_FOR = 2
FEWEST_SHOWN = 3
"""Candidates that are shown even where fewer hold the animal."""
MOST_QUESTIONS = 3


def verdict_sentences(found: Identification) -> tuple[str, ...]:
    """Return what the identification comes to: the set, what fits badly, what cannot be told apart."""
    doubt = None if found.cannot_tell is None else doubt_sentence(found.cannot_tell, found.seen.sex)
    return tuple(sentence for sentence in (set_sentence(found), misfit_sentence(found), doubt) if sentence)


def candidates_table(found: Identification, *, everyone: bool = False) -> Table:
    """Return one row for each candidate of the set of 80 %, or for all, with what speaks most for and against it."""
    n_shown = len(found.candidates) if everyone else max(len(found.set_80), FEWEST_SHOWN)
    table = _table(("chance", "name", "scientific name", "for", "against"), ("for", "against"))
    for candidate in found.candidates[:n_shown]:
        species = candidate.species
        cells = (chance_words(candidate.chance), species.name, species.scientific_name)
        table.add_row(*map(Text, (*cells, *_reasons(candidate))))
    return table


def questions_table(found: Identification, *, everyone: bool = False) -> Table:
    """Return the open questions that tell most, or all, with their answers and how to give them."""
    table = _table(("to look at next", "answers", "answer with"), ("to look at next", "answers"))
    for question in found.questions if everyone else found.questions[:MOST_QUESTIONS]:
        table.add_row(*map(Text, (question.question, "; ".join(question.states), _option(question))))
    return table


def identification_json(found: Identification) -> str:
    """Return everything as one JSON object: all candidates with all their evidence, all questions."""
    doubt = found.cannot_tell
    return json_text(
        {
            "region": found.region.key,
            "seen": _seen(found.seen),
            "sentences": verdict_sentences(found),
            "set": [candidate.species.scientific_name for candidate in found.set_80],
            "set_chance": found.set_chance,
            "unlisted_chance": found.unlisted_chance,
            "fits_badly": found.fits_badly,
            "misfits": [_weighed(each) for each in found.misfits],
            "cannot_tell": None
            if doubt is None
            else {
                "first": doubt.first.scientific_name,
                "second": doubt.second.scientific_name,
                "look_at": None if doubt.look_at is None else _question(doubt.look_at),
            },
            "candidates": [
                {
                    "scientific_name": each.species.scientific_name,
                    "name": each.species.name,
                    "chance": each.chance,
                    "evidence": [_weighed(piece) for piece in each.evidence],
                }
                for each in found.candidates
            ],
            "questions": [_question(each) for each in found.questions],
            "cautions": cautions(found),
        }
    )


def regions_table(regions: Mapping[str, Region | None], owners: Mapping[str, str]) -> Table:
    """Return one row for each list of species; one with mistakes, ``None``, says so."""
    table = _table(("key", "name", "species", "whose"), ())
    for key, region in regions.items():
        name, number = ("has mistakes", "") if region is None else (region.name, str(len(region.species)))
        table.add_row(*map(Text, (key, name, number, owners[key])))
    return table


def regions_json(regions: Mapping[str, Region | None], owners: Mapping[str, str]) -> str:
    """Return the same as a JSON array; figures of a list with mistakes are null."""
    return json_text(
        [
            {
                "key": key,
                "name": None if region is None else region.name,
                "covers": None if region is None else region.covers,
                "n_species": None if region is None else len(region.species),
                "whose": owners[key],
            }
            for key, region in regions.items()
        ]
    )


def region_words(folder: Path, region: Region) -> str:
    """Return what a list of species holds, in one line."""
    n_species, n_families = len(region.species), len(region.families)
    parts = f"{n_species} species of {n_families} families, {len(region.characters)} characters to look at"
    return f"{folder}: {region.name}, {region.covers}: {parts}; no mistakes"


def _reasons(candidate: Candidate) -> tuple[str, str]:
    speaks_for = [each.words for each in candidate.evidence if each.weight_bits > 0][:N_FOR]
    against = [each.words for each in candidate.evidence if each.weight_bits < 0][:1]
    return "; ".join(speaks_for), "".join(against)


def _option(question: Question) -> str:
    if question.character == SUBORDER:
        return "--group ..."
    return f'--seen "{question.character.replace("_", " ")}=..."'


def _seen(seen: Seen) -> dict[str, Any]:
    return {
        "on": None if seen.on is None else seen.on.isoformat(),
        "area": seen.area,
        "near": None if seen.nearby is None else seen.nearby.square.reference,
        "length_mm": seen.length_mm,
        "length_wrong": None if seen.length_mm is None else seen.length_wrong,
        "group": seen.group,
        "sex": seen.sex,
        "answers": {answer.character: answer.states for answer in seen.answers},
        "colours": dict(seen.colours),
        "colours_wrong": seen.colours_wrong if seen.colours else None,
        "doing": sorted(seen.doing),
    }


def _weighed(piece: Weighed) -> dict[str, Any]:
    return {"key": piece.key, "words": piece.words, "weight_bits": piece.weight_bits}


def _question(question: Question) -> dict[str, Any]:
    return {
        "character": question.character,
        "question": question.question,
        "states": question.states,
        "gain_bits": question.gain_bits,
    }


def _table(headings: Sequence[str], wrapped: Sequence[str]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        is_figure = heading in ("chance", "species")
        table.add_column(Text(heading), justify="right" if is_figure else "left", no_wrap=heading not in wrapped)
    return table
