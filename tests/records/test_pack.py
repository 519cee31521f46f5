import csv
import doctest
import re
import shutil
from pathlib import Path

import platformdirs
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import stillwing.records.pack as module
from stillwing.animals.catalogue import Group, Mark, animal_named, read_catalogue
from stillwing.errors import BadTables, InputError, UnknownThing
from stillwing.records.pack import own_packs_folder, pack_folders, read_pack, region_named
from stillwing.records.packtables import COLUMNS, OPTIONAL_COLUMNS
from stillwing.records.region import Region, Sex, Shows
from stillwing.records.seasonwords import MONTHS

SHIPPED = Path(module.__file__).parent / "regions"
GUIDE = Path(__file__).parents[2] / "docs" / "regions.md"
BRITAIN = read_pack(SHIPPED / "britain-and-ireland")
AUSTRALIA = read_pack(SHIPPED / "south-east-australia")
BOTH = pytest.mark.parametrize("region", [BRITAIN, AUSTRALIA], ids=lambda region: region.key)
POWNEY = "Powney et al. 2014, Biodiversity Data Journal 2: e1041, Odonata_traits_single.csv"
IN_BRITAIN = {species.scientific_name: species for species in BRITAIN.species}

SMALL: dict[str, list[tuple[str, ...]]] = {
    "region": [("A pond", "one pond")],
    "sources": [("memory", "from memory"), ("walk", "own measurements")],
    "families": [("Aeshnidae", "hawkers", "Anisoptera", "memory", "memory")],
    "species": [
        ("Aeshna una", "First Hawker", "Una;Hawker One", "Aeshnidae", "memory", "memory"),
        ("Aeshna duo", "Second Hawker", "", "Aeshnidae", "memory", "memory"),
    ],
    "lengths": [("Aeshna una", "body_length_mm", "60", "70.5", "mm", "estimate", "walk")],
    "flight": [("Aeshna una", "Late October", "Mid March", "memory", "memory")],
    "habitats": [("Aeshna una", "pond; lake", "memory", "memory")],
    "status": [("Aeshna una", "common", "one pond", "memory", "memory")],
    "characters": [("eye_colour", "What colour are the eyes?", "colour", "blue;green;brown")],
    "traits": [
        ("Aeshna una", "eye_colour", "male", "blue", "memory", "memory"),
        ("Aeshna una", "eye_colour", "female", "green;brown", "memory", "memory"),
        ("Aeshna duo", "eye_colour", "any", "brown", "memory", "memory"),
    ],
}


def write(folder: Path, **changed: list[tuple[str, ...]]) -> Path:
    folder.mkdir(exist_ok=True)
    tables = COLUMNS | {name: columns for name, columns in OPTIONAL_COLUMNS.items() if name in changed}
    for name, columns in tables.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([columns, *{**SMALL, **changed}[name]])
    return folder


def mistakes(folder: Path) -> tuple[str, ...]:
    with pytest.raises(BadTables) as told:
        read_pack(folder)
    assert str(folder) in str(told.value)
    for one in told.value.mistakes:
        assert one in str(told.value)
        assert "\n" not in one
        assert not one.endswith(".")
    return told.value.mistakes


# --- the packs that are shipped -----------------------------------------------------------------------------------


@BOTH
def test_every_species_can_be_narrowed_down(region: Region) -> None:
    for species in region.species:
        assert species.body_length is not None and species.wing_length is not None
        assert species.flight is not None and species.habitats is not None
        for character in region.characters:
            if character.key == "second_segment":  # asked of blue damselflies only
                continue
            for sex in Sex:
                assert species.states(character.key, sex), (species.name, character.key, sex)


@BOTH
def test_what_was_recalled_says_so(region: Region) -> None:
    for species in region.species:
        lengths = [species.body_length, species.wing_length]
        told = [species, species.family, *filter(None, lengths), species.flight, species.habitats]
        for thing in (*told, *species.statuses, *species.traits, *species.protections):
            assert thing is not None
            assert (thing.origin.mark is Mark.MEMORY) == ("from memory" in thing.origin.source)
        assert all(trait.origin.mark is Mark.MEMORY for trait in species.traits)


@BOTH
def test_two_species_of_a_region_never_look_the_same_in_all(region: Region) -> None:
    seen: dict[object, str] = {}
    for species in region.species:
        looks = tuple(frozenset(species.states(character.key, sex)) for character in region.characters for sex in Sex)
        lengths = [(one.low_mm, one.high_mm) for one in (species.body_length, species.wing_length) if one is not None]
        assert seen.setdefault((looks, *lengths, species.flight), species.name) == species.name


@BOTH
def test_a_wing_is_shorter_than_the_body(region: Region) -> None:
    for species in region.species:
        assert species.body_length is not None and species.wing_length is not None
        assert 0.45 < species.wing_length.high_mm / species.body_length.high_mm < 0.9


def test_britain_has_the_43_species_of_the_table_with_their_suborders() -> None:
    assert len(BRITAIN.species) == 43
    groups = [species.family.group for species in BRITAIN.species]
    assert (groups.count(Group.DRAGONFLY), groups.count(Group.DAMSELFLY)) == (23, 20), POWNEY


@pytest.mark.parametrize(
    ("name", "low", "high", "first", "last", "status"),
    [
        ("Aeshna grandis", 70, 77, "June", "October", "Very widespread"),  # 49-60 in Body_size, which is not the length
        ("Anax imperator", 66, 84, "June", "Late August", "Widespread"),  # 49-61 in Body_size
        ("Lestes barbarus", 40, 45, "End May", "End September", "Very rare"),
        ("Libellula fulva", 42, 45, "Late May", "Early August", "Rare"),  # "Early Auu" in the table
        ("Coenagrion lunulatum", 30, 33, "Mid May", "End July", "Rare"),
        ("Pyrrhosoma nymphula", 33, 36, "Mid May", "Early July", "Very widespread"),
        ("Sympetrum striolatum", 35, 44, "Mid June", "November", "Very widespread"),
    ],
)
def test_british_figures_are_the_published_ones(
    name: str, low: float, high: float, first: str, last: str, status: str
) -> None:
    species = IN_BRITAIN[name]
    assert species.body_length is not None and species.flight is not None
    assert (species.body_length.low_mm, species.body_length.high_mm) == (low, high), POWNEY
    assert (species.flight.first_words, species.flight.last_words) == (first, last), POWNEY
    assert [(one.word, one.area) for one in species.statuses] == [(status, "Great Britain")], POWNEY
    for origin in (species.body_length.origin, species.flight.origin, species.statuses[0].origin):
        assert origin.mark is Mark.READ
        assert "DOI 10.3897/BDJ.2.e1041" in origin.source


def test_the_three_species_without_a_published_body_length_have_a_recalled_one() -> None:
    recalled = {
        s.scientific_name for s in BRITAIN.species if s.body_length and s.body_length.origin.mark is Mark.MEMORY
    }
    assert recalled == {"Aeshna affinis", "Coenagrion scitulum", "Erythromma viridulum"}, POWNEY


def test_the_misprint_is_told_in_the_source() -> None:
    flight = IN_BRITAIN["Libellula fulva"].flight
    assert flight is not None and '"Early Auu"' in flight.origin.source


def test_every_british_species_is_the_catalogue_s_with_the_same_length_and_months() -> None:
    catalogue = read_catalogue()
    for species in BRITAIN.species:
        animal = animal_named(catalogue, species.scientific_name)
        assert (animal.name, animal.group) == (species.name, species.family.group)
        length, flight = species.body_length, species.flight
        assert length is not None and flight is not None
        if length.origin.mark is Mark.READ:
            figure = animal.figure("body_length_mm")
            assert (figure.low, figure.high) == (length.low_mm, length.high_mm)
        months = [flight.first_words.split()[-1], flight.last_words.split()[-1]]
        assert [MONTHS.index(month) + 1 for month in months] == [animal.flight_months[0], animal.flight_months[-1]]


def test_an_australian_season_runs_over_the_new_year() -> None:
    flight = next(s.flight for s in AUSTRALIA.species if s.name == "Common Flatwing")
    assert flight is not None
    assert (flight.begins.first, flight.ends.last) == (274, 90)  # October to March
    assert [flight.holds(day) for day in (273, 274, 365, 366, 1, 90, 91, 180)] == [
        False, True, True, True, True, True, False, False,
    ]  # fmt: skip


@BOTH
def test_characters_are_about_colour_and_posture(region: Region) -> None:
    assert {Shows.COLOUR, Shows.PATTERN, Shows.SHAPE, Shows.POSTURE} == {one.shows for one in region.characters}
    assert all(one.question.endswith("?") for one in region.characters)


def test_the_sexes_differ_where_they_differ() -> None:
    beauty = IN_BRITAIN["Calopteryx splendens"]
    assert beauty.states("wing_colour", Sex.MALE) == ("dark band",)
    assert beauty.states("wing_colour", Sex.FEMALE) == ("clear",)
    assert set(beauty.states("wing_colour")) == {"dark band", "clear"}
    assert beauty.states("no such character") == ()


# --- a pack of one's own ------------------------------------------------------------------------------------------


def test_a_small_pack_is_read(tmp_path: Path) -> None:
    region = read_pack(write(tmp_path / "pond"))
    assert (region.key, region.name, region.covers) == ("pond", "A pond", "one pond")
    first, second = region.species
    assert first.also == ("Una", "Hawker One")
    assert first.body_length is not None and first.body_length.high_mm == 70.5
    assert (first.body_length.origin.mark, first.body_length.origin.source) == (Mark.ESTIMATE, "own measurements")
    assert first.states("eye_colour", Sex.FEMALE) == ("green", "brown")
    assert (second.body_length, second.flight, second.habitats, second.statuses) == (None, None, None, ())
    assert second.states("eye_colour", Sex.MALE) == ("brown",)


def test_own_packs_stand_beside_the_shipped_ones_and_take_the_place_of_a_namesake(tmp_path: Path) -> None:
    assert list(pack_folders(tmp_path / "none")) == ["britain-and-ireland", "south-east-australia"]
    write(tmp_path / "pond")
    write(tmp_path / "south-east-australia")
    (tmp_path / "holiday notes").mkdir()
    assert list(pack_folders(tmp_path)) == ["britain-and-ireland", "south-east-australia", "pond"]
    assert region_named("pond", tmp_path).name == "A pond"
    assert region_named("south-east-australia", tmp_path).name == "A pond"
    with pytest.raises(UnknownThing, match='no region is called "moon"; there are britain-and-ireland, '):
        region_named("moon", tmp_path)


def test_own_packs_lie_in_the_user_s_data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert own_packs_folder() == platformdirs.user_data_path("stillwing", appauthor=False) / "regions"


WRONG = [
    ({"sources": [("memory", ""), ("walk", "x")]}, ["sources.csv, line 2: citation is empty"]),
    ({"sources": [*SMALL["sources"], ("walk", "x")]}, ['sources.csv, line 4: the source "walk" stands there twice']),
    ({"region": []}, ["region.csv, line 2: 0 rows where 1 belongs"]),
    (
        {name: [] for name in ("species", "lengths", "flight", "habitats", "status", "traits")},
        ["species.csv, line 1: no species follows"],
    ),
    (
        {"families": [("Aeshnidae", "hawkers", "Big", "memory", "memory")]},
        ['families.csv, line 2: suborder is "Big"; it is one of Anisoptera, Zygoptera'],
    ),
    (
        {"lengths": [("Aeshna una", "body_length_mm", "70", "60", "mm", "memory", "memory")]},
        ["lengths.csv, line 2: low and high are 70 and 60 mm"],
    ),
    (
        {"lengths": [("Aeshna una", "body_length_mm", "6", "7", "cm", "memory", "memory")]},
        ['lengths.csv, line 2: unit is "cm"; it is one of mm'],
    ),
    (
        {"lengths": [SMALL["lengths"][0], SMALL["lengths"][0]]},
        ['lengths.csv, line 3: species "Aeshna una" and quantity "body_length_mm" stand in line 2 already'],
    ),
    (
        {"flight": [("Aeshna una", "Late June", "Early Auu", "memory", "memory")]},
        ['flight.csv, line 2: last: "Early Auu" is no part of the year'],
    ),
    (
        {"status": [("Aeshna una", "rare", "", "memory", "memory")]},
        ["status.csv, line 2: area is empty"],
    ),
    (
        {"habitats": [("Aeshna una", ";", "memory", "memory")]},
        ["habitats.csv, line 2: habitats holds no word"],
    ),
    (
        {"traits": [("Aeshna una", "eye_colour", "male", "purple", "memory", "memory")]},
        ['traits.csv, line 2: states has "purple"; allowed are blue; green; brown'],
    ),
    (
        {"traits": [("Aeshna una", "tail", "male", "blue", "memory", "memory")]},
        ['traits.csv, line 2: character is "tail"; characters.csv has no such row'],
    ),
    (
        {"traits": [("Aeshna una", "eye_colour", "boy", "blue", "memory", "memory")]},
        ['traits.csv, line 2: sex is "boy"; it is one of any, male, female'],
    ),
    (
        {"characters": [("eye_colour", "Which?", "colour", "blue")], "traits": []},
        ['characters.csv, line 2: states holds "blue" alone'],
    ),
    (
        {"species": [*SMALL["species"], ("Aeshna tres", "first hawker", "", "Aeshnidae", "memory", "memory")]},
        ['species.csv, line 4: "first hawker" is a name of Aeshna una in line 2 already'],
    ),
    (
        {"squares": [("Aeshna una", "TL4", "", "memory", "memory")]},
        ['squares.csv, line 2: square: "TL4" has 1 figures; a reference has 0, 2, 4'],
    ),
    ({"squares": [("Aeshna una", "", "", "memory", "memory")]}, ["squares.csv, line 2: square is empty"]),
    (
        {"squares": [("Aeshna una", "TL45", "0", "memory", "memory")]},
        ['squares.csv, line 2: records is "0"; it is a whole number from 1, or empty'],
    ),
    (
        {"squares": [("Aeshna una", "TL45", "2", "memory", "walk"), ("Aeshna una", "tl 4 5", "", "memory", "walk")]},
        ['squares.csv, line 3: species "Aeshna una" and square "tl 4 5" stand in line 2 already; keep one row'],
    ),
    (
        {"squares": [("Aeshna uno", "TL45", "2", "memory", "walk")]},
        ['squares.csv, line 2: species is "Aeshna uno"; species.csv has no such row'],
    ),
    (
        {"protection": [("Aeshna una", "", "an Act", "memory", "memory")]},
        ["protection.csv, line 2: area is empty"],
    ),
    (
        {"protection": [("Aeshna una", "one pond", "an Act", "memory", "hearsay")]},
        ['protection.csv, line 2: source is "hearsay"; sources.csv has no such row'],
    ),
]


@pytest.mark.parametrize(("changed", "told"), WRONG, ids=lambda value: value[0][:40] if isinstance(value, list) else "")
def test_each_mistake_is_told_by_file_and_line(
    changed: dict[str, list[tuple[str, ...]]], told: list[str], tmp_path: Path
) -> None:
    found = mistakes(write(tmp_path / "pond", **changed))
    assert len(found) == len(told)
    for one, start in zip(found, told, strict=True):
        assert one.startswith(start)


def test_all_mistakes_of_all_tables_are_told_at_once(tmp_path: Path) -> None:
    folder = write(
        tmp_path / "pond",
        families=[("Aeshnidae", "hawkers", "Anisoptera", "sure", "memory")],
        lengths=[
            ("Aeshna una", "body_length_mm", "long", "70", "mm", "memory", "memory"),
            ("Aeshna uno", "body_length_mm", "60", "70", "mm", "memory", "book"),
            ("Aeshna duo", "body_length_mm", "60", "70"),
        ],
        flight=[("Aeshna una", "Soon", "July", "memory", "memory")],
    )
    assert [one.split(":")[0] for one in mistakes(folder)] == [
        "lengths.csv, line 4",
        "families.csv, line 2",
        "lengths.csv, line 2",
        "lengths.csv, line 3",
        "lengths.csv, line 3",
        "flight.csv, line 2",
    ]


def test_a_missing_or_garbled_table_is_told_with_what_else_is_wrong_in_form(tmp_path: Path) -> None:
    folder = write(tmp_path / "pond", traits=[("short",)])
    (folder / "flight.csv").unlink()
    (folder / "status.csv").write_bytes(b"\xff\xfe\x00")
    (folder / "habitats.csv").write_text("species,places\n")
    found = mistakes(folder)
    assert len(found) == 4
    for word in ("flight.csv: No such file", "status.csv: not UTF-8", "habitats.csv, line 1: the columns are"):
        assert sum(word in one for one in found) == 1
    assert found[-1].startswith("traits.csv, line 2: 1 cells where 6 belong")


def test_an_optional_table_may_be_missing_but_not_garbled(tmp_path: Path) -> None:
    folder = write(tmp_path / "pond")
    assert all(species.squares == species.protections == () for species in read_pack(folder).species)
    (folder / "squares.csv").write_text("species,places\n")
    assert mistakes(folder) == (
        "squares.csv, line 1: the columns are species,places; they must be species,square,records,mark,source",
    )


def test_squares_of_all_grids_and_sizes_are_read(tmp_path: Path) -> None:
    references = {"SU": 100_000, "SU12": 10_000, "SU12K": 2_000, "O 15 34": 1_000, "4QFJ12346789": 10}
    rows = [("Aeshna duo", reference, "", "memory", "walk") for reference in references]
    second = read_pack(write(tmp_path / "pond", squares=rows)).species[1]
    assert [known.square.side_m for known in second.squares] == list(references.values())
    assert {known.origin.source for known in second.squares} == {"own measurements"}


def test_no_shipped_pack_tells_squares_that_nobody_read() -> None:
    assert not [known for region in (BRITAIN, AUSTRALIA) for species in region.species for known in species.squares]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"region\.csv: No such file or directory; this table is needed"):
        read_pack(tmp_path / "nowhere")


def test_a_shipped_pack_can_be_copied_and_changed(tmp_path: Path) -> None:
    shutil.copytree(SHIPPED / "britain-and-ireland", tmp_path / "mine")
    assert region_named("mine", tmp_path).species == BRITAIN.species


def test_the_example_of_the_guide_is_a_pack(tmp_path: Path) -> None:
    page = GUIDE.read_text(encoding="utf-8")
    tables = re.findall(r"^`(\w+\.csv)`(?:.+\n)+\n```csv\n([^`]*)```", page, flags=re.MULTILINE)
    assert [name for name, _ in tables] == [f"{name}.csv" for name in (*COLUMNS, *OPTIONAL_COLUMNS)]
    for name, text in tables:
        (tmp_path / name).write_text(text, encoding="utf-8")
    region = read_pack(tmp_path)
    assert [species.name for species in region.species] == ["Golden Mill Hawker", "Small Mill Damselfly"]
    hawker = region.species[0]
    assert hawker.flight is not None and (hawker.flight.begins.first, hawker.flight.ends.last) == (172, 273)
    assert [(known.square.reference, known.square.side_m, known.n_records) for known in hawker.squares] == [
        ("TL45", 10_000, 12),
        ("TL46", 10_000, None),
    ]
    assert [known.square.side_m for known in region.species[1].squares] == [2_000]
    assert [(law.law, law.area) for law in hawker.protections] == [("Mill Ponds Act, first list", "the county")]


def test_what_the_guide_shows_is_what_comes_out() -> None:
    ran = doctest.testfile(str(GUIDE), module_relative=False, encoding="utf-8")
    assert ran.attempted > 3
    assert ran.failed == 0


# --- round trips --------------------------------------------------------------------------------------------------

PLAIN = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"], exclude_characters=";"), min_size=1, max_size=12
)
WHEN = st.builds(" ".join, st.tuples(st.sampled_from(["Early", "Mid", "Late", "End"]), st.sampled_from(MONTHS)))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
@given(
    names=st.lists(PLAIN, min_size=1, max_size=4, unique_by=str.casefold),
    lengths=st.tuples(st.floats(0.1, 250), st.floats(0.1, 250)),
    when=st.tuples(WHEN, WHEN),
    words=st.lists(PLAIN, min_size=1, max_size=4, unique=True),
    states=st.lists(PLAIN, min_size=2, max_size=5, unique=True),
    area=PLAIN,
)
def test_what_is_written_in_the_tables_is_what_is_read(
    tmp_path: Path,
    names: list[str],
    lengths: tuple[float, float],
    when: tuple[str, str],
    words: list[str],
    states: list[str],
    area: str,
) -> None:
    low, high = sorted(lengths)
    end = ("memory", "memory")
    folder = write(
        tmp_path / "pond",
        species=[(name, name, "", "Aeshnidae", *end) for name in names],
        lengths=[(names[0], "wing_length_mm", repr(low), repr(high), "mm", *end)],
        flight=[(name, *when, *end) for name in names],
        habitats=[(names[-1], ";".join(words), *end)],
        status=[(names[0], words[0], area, *end)],
        characters=[("look", "Which?", "shape", " ; ".join(states))],
        traits=[(names[0], "look", "any", ";".join(states), *end)],
    )
    region = read_pack(folder)
    assert [species.scientific_name for species in region.species] == names
    first, last = region.species[0], region.species[-1]
    assert first.wing_length is not None and (first.wing_length.low_mm, first.wing_length.high_mm) == (low, high)
    assert last.flight is not None and (last.flight.first_words, last.flight.last_words) == when
    assert last.habitats is not None and last.habitats.words == tuple(words)
    assert [(one.word, one.area) for one in first.statuses] == [(words[0], area)]
    assert region.characters[0].states == first.states("look") == tuple(states)
