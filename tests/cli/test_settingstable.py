import json
import math
from dataclasses import replace
from itertools import pairwise

import pytest
from rich.console import Console

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import subject_of
from stillwing.cli.settingstable import HEADINGS, settings_json, settings_table
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.answer import answer
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour


def of(name, behaviour, distance_m, ev100=15.0):
    subject = subject_of(animal_named(read_catalogue(), name), behaviour)
    return answer(EXAMPLE_KIT, subject, Wish(ev100, distance_m, shown_width_px=2835.0))


@pytest.fixture(scope="module")
def hawker():
    return of("75 mm hawker", Behaviour.HOVER, 3.0)


def printed(table, width=200):
    console = Console(width=width)
    with console.capture() as captured:
        console.print(table)
    return captured.get()


def test_the_title_tells_animal_behaviour_distance_and_light(hawker):
    assert printed(settings_table(hawker)).splitlines()[0].strip().split(", ")[-3:] == ["hover", "3.00 m", "EV 15"]


def test_every_heading_tells_its_unit():
    assert [heading for heading in HEADINGS if "blur" in heading or "width" in heading or "part" in heading] == [
        "blur, body [px]",
        "sharpest part [px]",
        "usable width [px]",
    ]


def test_there_is_a_row_for_each_whole_stop_and_the_best_is_marked_once(hawker):
    lines = [line for line in printed(settings_table(hawker)).splitlines() if "f/" in line]
    assert len(lines) == len(hawker.stops) >= 5
    isos = [setting.iso for setting in hawker.stops]
    assert [math.log2(more / less) for less, more in pairwise(isos)] == pytest.approx([1] * (len(isos) - 1))
    (best,) = [line for line in lines if line.lstrip().startswith("best")]
    f_number, exposure, iso = hawker.best.words.split(", ")
    assert [f_number, *exposure.split(), iso.removeprefix("ISO ")] == [*best.split()[2:5], best.split()[1]]


def test_square_brackets_in_a_name_are_no_markup(hawker):
    bracketed = replace(hawker, subject=replace(hawker.subject, words="hawker [red]"))
    assert "hawker [red]" in printed(settings_table(bracketed))


def test_json_comes_back_with_the_figures_of_the_answer(hawker):
    told = json.loads(settings_json(hawker))
    assert told["best"]["f_number"] == hawker.best.f_number
    assert told["best"]["usable_width_px"] == hawker.best.usable_width_px
    assert len(told["frontier"]) == len(hawker.frontier)
    assert told["expected"]["sharp_frames"] == list(hawker.expected.sharp_frames)
    assert (told["binding"], told["subject"]["behaviour"]) == (hawker.binding, "hover")
    assert told["blurs"].keys() == {"motion_px", "depth_px", "diffraction_px", "pixels_px"}


def test_json_knows_no_nan_and_no_infinity(hawker):
    endless = replace(hawker, best=replace(hawker.best, snr=math.inf), skew_px=math.nan, nearest_met_m=None)
    told = json.loads(settings_json(endless), parse_constant=lambda name: pytest.fail(f"{name} is not JSON"))
    assert (told["best"]["snr"], told["skew_px"], told["nearest_met_m"]) == (None, None, None)


@pytest.mark.parametrize(
    ("name", "behaviour", "distance_m", "ev100"),
    [
        ("35 mm damselfly", Behaviour.TAKE_OFF, 2.0, 15.0),
        ("75 mm hawker", Behaviour.LANDING, 4.0, 13.0),
        ("gull", Behaviour.PASS, 20.0, 9.0),
        ("heron", Behaviour.PERCH, 60.0, 4.0),
    ],
)
def test_table_and_json_are_made_of_any_answer(name, behaviour, distance_m, ev100):
    found = of(name, behaviour, distance_m, ev100)
    assert printed(settings_table(found)).count("f/") == len(found.stops)
    json.loads(settings_json(found), parse_constant=lambda name: pytest.fail(f"{name} is not JSON"))
