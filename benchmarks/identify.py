"""How often the candidates named together hold the true species, how often the first is right, and what asking saves.

Records are drawn from the pack of Britain and Ireland: species by how often one meets them on a day, sex, length with
its error, two or so of the twelve characters, colours, behaviour; with the model's own errors, and in a world that errs
twice as often, where the rare are less rare, seasons ten days early, lengths 3 % short with too narrow intervals,
colours less steady, and 3 % of the animals taken for another of their family throughout.

Then animals of invented places, each with its own community, with and without what was recorded there before.

    python benchmarks/identify.py [--quick] [--json FILE]
"""

import argparse
import json
import time
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from identify_places import OTHER_PLACES, OWN_PLACES, LocalRecords, PlaceWorld
from identify_records import OTHER, OWN, Records, World
from stillwing.records.identify import SUBORDER, identify
from stillwing.records.pack import region_named
from stillwing.records.region import Region
from stillwing.records.seen import Seen

RUNS, QUICK_RUNS = 2000, 200
ASKED, QUICK_ASKED = 300, 30
ROUNDS, QUICK_ROUNDS = 50, 10
SURE = 0.8
"""Asking ends where the best candidate has this chance."""
GOAL_HOLDS = (0.75, 0.90)
GOAL_MS = 20.0


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="200 records in place of 2,000, and 30 to ask about")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    n_runs, n_asked = (QUICK_RUNS, QUICK_ASKED) if asked.quick else (RUNS, ASKED)
    figures = measured(n_runs, n_asked, QUICK_ROUNDS if asked.quick else ROUNDS)
    print(table(figures))
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def measured(n_runs: int, n_asked: int, rounds: int) -> dict[str, float]:
    """Return all figures."""
    here, away = (region_named(key, own=Path("none")) for key in ("britain-and-ireland", "south-east-australia"))
    figures = coverage(here, OWN, n_runs)
    figures |= {f"{name}_other": figure for name, figure in coverage(here, OTHER, n_runs).items()}
    figures |= {f"{name}_half": figure for name, figure in coverage(here, OWN, n_runs // 4, 0.5).items()}
    figures |= {f"{name}_all": figure for name, figure in coverage(here, OWN, n_runs // 4, 1.0).items()}
    figures |= local_coverage(here, OWN_PLACES, n_runs)
    figures |= {f"{name}_other": figure for name, figure in local_coverage(here, OTHER_PLACES, n_runs).items()}
    figures["unlisted_told"] = unlisted(here, away, n_runs // 4)
    figures["strange_told"] = strange(here, n_runs // 4)
    figures["questions_needed"] = questions_needed(here, n_asked, is_ordered=True)
    figures["questions_needed_at_random"] = questions_needed(here, n_asked, is_ordered=False)
    return figures | {"ms": speed(here, rounds)}


def coverage(region: Region, world: World, n_runs: int, *answered: float) -> dict[str, float]:
    """Return how often the set holds the truth and what it claims, its size, and how often the first is right.

    ``listed_doubted`` is how often a true species of the list was said not to be on it.
    """
    records = Records(region, world, seed=8)
    drawn = (records.draw(*answered) for _ in range(n_runs))
    return _scores(region, ((number, seen) for number, _, seen in drawn))


def local_coverage(region: Region, places: PlaceWorld, n_runs: int) -> dict[str, float]:
    """Return the figures of `coverage` for animals of invented places: ``_local`` without what was recorded there
    before, ``_nearby`` with it.
    """
    records = LocalRecords(region, places, seed=17)
    drawn = [(number, seen) for number, _, seen in (records.draw_there() for _ in range(n_runs))]
    without = _scores(region, ((number, replace(seen, nearby=None)) for number, seen in drawn))
    told = {f"{name}_local": figure for name, figure in without.items()}
    return told | {f"{name}_nearby": figure for name, figure in _scores(region, drawn).items()}


def _scores(region: Region, drawn: Iterable[tuple[int, Seen]]) -> dict[str, float]:
    held, claimed, sizes, firsts, doubted = [], [], [], [], []
    for number, seen in drawn:
        found = identify(region, seen)
        names = [candidate.species.scientific_name for candidate in found.set_80]
        truth = region.species[number].scientific_name
        held.append(truth in names)
        firsts.append(truth == names[0])
        claimed.append(found.set_chance)
        sizes.append(len(names))
        doubted.append(found.fits_badly)
    told = {
        "set_80_holds": held,
        "set_80_claims": claimed,
        "set_size": sizes,
        "top1": firsts,
        "listed_doubted": doubted,
    }
    return {name: float(np.mean(each)) for name, each in told.items()}


def unlisted(region: Region, away: Region, n_runs: int) -> float:
    """Return how often animals of another continent, all characters answered, are said not to be on the list."""
    records = Records(away, OWN, seed=9)
    known = {character.key: character.states for character in region.characters}
    told = []
    for _ in range(n_runs):
        seen = records.draw(1.0)[2]
        answers = [each for each in seen.answers if set(each.states) <= set(known.get(each.character, ()))]
        told.append(identify(region, replace(seen, answers=tuple(answers))).fits_badly)
    return float(np.mean(told))


def strange(region: Region, n_runs: int) -> float:
    """Return how often animals that are like none, every answer by chance, are said not to be on the list."""
    records = Records(region, OWN, seed=13)
    return float(np.mean([identify(region, records.strange()).fits_badly for _ in range(n_runs)]))


def questions_needed(region: Region, n_runs: int, *, is_ordered: bool) -> float:
    """Return how many answers it takes on average until the best has 80 %, from date and length on.

    Questions are asked by what they tell, or in any order. Where all are answered before, all count.
    """
    records, order = Records(region, OWN, seed=10), np.random.default_rng(11)
    counts = []
    for _ in range(n_runs):
        number, sex, drawn = records.draw(0.0)
        seen = Seen(on=drawn.on, length_mm=drawn.length_mm)
        found = identify(region, seen)
        n_asked = 0
        while found.candidates[0].chance < SURE and found.questions:
            asked = found.questions[0] if is_ordered else found.questions[order.integers(len(found.questions))]
            if asked.character == SUBORDER:
                seen = replace(seen, group=records.group(number))
            else:
                seen = replace(seen, answers=(*seen.answers, records.answer(asked.character, number, sex)))
            found = identify(region, seen)
            n_asked += 1
        counts.append(n_asked)
    return float(np.mean(counts))


def speed(region: Region, rounds: int) -> float:
    """Return the least of several times of one identification with everything known. [ms]"""
    seen = Records(region, OWN, seed=12).draw(0.5)[2]
    took = []
    for _ in range(rounds):
        begun = time.perf_counter()
        identify(region, seen)
        took.append(time.perf_counter() - begun)
    return 1000.0 * min(took)


def table(figures: dict[str, float]) -> str:
    """Return the figures as text."""
    low, high = GOAL_HOLDS
    blocks = (
        {"two answers": "", "other errors": "_other", "half answered": "_half", "all answered": "_all"},
        {
            "of a place": "_local",
            "with records": "_nearby",
            "place, other": "_local_other",
            "records, other": "_nearby_other",
        },
    )
    return "\n".join(
        [
            *(line for block in blocks for line in _block(figures, block)),
            f"the set holds the truth {100 * figures['set_80_holds']:8.1f} %   (goal {100 * low:.0f} to "
            f"{100 * high:.0f})",
            f"answers to 80 %         {figures['questions_needed']:8.1f}   (in any order "
            f"{figures['questions_needed_at_random']:.1f})",
            f"of another continent    {100 * figures['unlisted_told']:8.1f} % said not to be on the list",
            f"like no animal          {100 * figures['strange_told']:8.1f} % said not to be on the list",
            f"one identification      {figures['ms']:8.1f} ms (goal {GOAL_MS:g})",
        ]
    )


def _block(figures: dict[str, float], tails: dict[str, str]) -> list[str]:
    """Return columns of the table, each under its head, from the figures that end so."""
    names = ("set_80_holds", "set_80_claims", "top1", "listed_doubted")
    rows = [
        f"{name.replace('_', ' '):24}" + "".join(f"{100 * figures[name + tail]:14.1f} %" for tail in tails.values())
        for name in names
    ]
    sizes = "".join(f"{figures['set_size' + tail]:14.1f}  " for tail in tails.values())
    return [
        f"{'':24}" + "".join(f"{head:>16}" for head in tails),
        *rows,
        f"{'candidates in the set':24}{sizes}".rstrip(),
    ]


if __name__ == "__main__":
    main()
