import shutil
from datetime import date
from uuid import UUID

import pytest

from fieldbook.invented import burst_of, listed_outing
from stillwing.errors import BadTables
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.choices import choose
from stillwing.fieldbook.looks import Look, keep_look
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Doing, LifeStage, SightedSex, Verification
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice
from stillwing.records.pack import pack_folders
from stillwing.records.picturenames import english_name, names_of_frames, sighting_keywords


def seen(name="Aeshna juncea", number=1, **more):
    if more.get("verification") is Verification.VERIFIED:
        more["identified_by"] = ("A. Recorder",)
    return Sighting(name, When(date(2024, 7, 14)), Where(name="pond"), UUID(int=number), **more)


@pytest.mark.parametrize(
    ("name", "qualifier", "scientific"),
    [
        ("Aeshna juncea", "cf. juncea", "Aeshna cf. juncea"),
        ("Aeshna", "cf. juncea", "Aeshna cf. juncea"),
        ("Aeshna juncea", "cf.", "Aeshna cf. juncea"),
        ("Aeshna juncea", "aff.", "Aeshna aff. juncea"),
        ("Aeshna juncea", "Aeshna cf. juncea", "Aeshna cf. juncea"),
        ("Aeshna juncea americana", "cf. americana", "Aeshna juncea cf. americana"),
        ("Aeshna", "cf.", "cf. Aeshna"),
        # What cannot be placed stands behind, so that the doubt is seen all the same.
        ("Aeshna juncea", "cf. cyanea", "Aeshna juncea (cf. cyanea)"),
        ("Aeshna juncea", "?", "Aeshna juncea (?)"),
        ("Aeshna juncea", "probably", "Aeshna juncea (probably)"),
        ("Aeshna juncea", "Aeshna juncea", "Aeshna juncea (Aeshna juncea)"),
    ],
)
@pytest.mark.parametrize("verification", [Verification.UNVERIFIED, Verification.VERIFIED])
def test_a_qualifier_stands_in_the_name_and_its_doubt_beside_the_english_one(name, qualifier, scientific, verification):
    sighting = seen(name, qualifier=qualifier, verification=verification)
    assert sighting_keywords(sighting, "Common Hawker") == (scientific, "Common Hawker (uncertain)")


@pytest.mark.parametrize(
    ("verification", "names"),
    [
        (Verification.VERIFIED, ("Aeshna juncea", "Common Hawker")),
        (Verification.UNVERIFIED, ("Aeshna juncea (unverified)", "Common Hawker (unverified)")),
        (Verification.DOUBTED, ("Aeshna juncea (doubted)", "Common Hawker (doubted)")),
        (Verification.REFUTED, ()),
    ],
)
def test_only_a_verified_name_reads_as_certain_and_a_refuted_one_is_not_written(verification, names):
    assert sighting_keywords(seen(verification=verification), "Common Hawker") == names


def test_a_name_that_is_doubted_says_so_beside_its_qualifier():
    sighting = seen(qualifier="cf. juncea", verification=Verification.DOUBTED)
    assert sighting_keywords(sighting, "Common Hawker") == ("Aeshna cf. juncea (doubted)", "Common Hawker (doubted)")


def test_what_was_looked_for_and_not_found_gives_no_keywords():
    assert sighting_keywords(seen(count=0), "Common Hawker") == ()


def test_behaviour_stage_and_sexes_are_plain_words():
    sighting = seen(
        verification=Verification.VERIFIED,
        doing=(Doing.TANDEM, Doing.EGG_LAYING),
        stage=LifeStage.ADULT,
        sexes=(SightedSex.MALE, SightedSex.FEMALE),
    )
    assert sighting_keywords(sighting) == ("Aeshna juncea", "tandem", "egg laying", "adult", "male", "female")
    assert "undetermined" not in sighting_keywords(seen(sexes=(SightedSex.UNDETERMINED,)))


class TestEnglishNames:
    def test_are_those_of_any_shipped_pack_by_present_or_former_name(self, tmp_path):
        # The two packs' own tables, species.csv.
        named = {"Aeshna juncea": "Common Hawker", "Hemianax papuensis": "Australian Emperor", "Lestes": ""}
        assert {name: english_name(seen(name), own_packs=tmp_path) for name in named} == named

    def test_of_a_genus_with_a_species_in_doubt_are_those_of_the_species(self, tmp_path):
        assert english_name(seen("Aeshna", qualifier="cf. juncea"), own_packs=tmp_path) == "Common Hawker"
        assert english_name(seen("Aeshna", qualifier="? juncea"), own_packs=tmp_path) == ""
        assert english_name(seen(qualifier="cf. cyanea"), own_packs=tmp_path) == "Common Hawker"

    def test_are_first_asked_of_the_pack_that_the_animal_was_looked_up_in(self, tmp_path):
        self.write_pack(tmp_path / "mine", "Bog Hawker")
        assert english_name(seen(), "mine", own_packs=tmp_path) == "Bog Hawker"
        assert english_name(seen("Sympetrum danae"), "mine", own_packs=tmp_path) == "Black Darter"
        assert english_name(seen(), own_packs=tmp_path) == "Common Hawker"
        assert english_name(seen(), "not there", own_packs=tmp_path) == "Common Hawker"

    def test_of_a_pack_with_mistakes_are_refused_only_where_it_was_looked_up_in(self, tmp_path):
        self.write_pack(tmp_path / "mine", "")
        assert english_name(seen(), own_packs=tmp_path) == "Common Hawker"
        with pytest.raises(BadTables):
            english_name(seen(), "mine", own_packs=tmp_path)

    def write_pack(self, folder, name):
        """Write the shipped pack of Britain and Ireland with another English name for the common hawker."""
        shutil.copytree(pack_folders()["britain-and-ireland"], folder)
        species = (folder / "species.csv").read_text()
        (folder / "species.csv").write_text(species.replace("Aeshna juncea,Common Hawker,", f"Aeshna juncea,{name},"))


class TestFrames:
    @pytest.fixture
    def book(self, tmp_path):
        with open_book(tmp_path / "book.sqlite") as opened:
            yield opened

    @pytest.fixture
    def held(self, book, tmp_path):
        """Give an outing with two bursts of three frames each: to keep, to spare, to leave."""
        folder = tmp_path / "outing"
        bursts = [burst_of(folder / "a", 3), burst_of(folder / "b", 3, first=50, minutes=5)]
        visit = listed_outing(book, folder, *bursts)
        ids = [one.id for one in burst_summaries(book, visit.id)]
        frames = [[frame.id for frame in trace(book, one).frames] for one in ids]
        for keep, spare, leave in frames:
            for frame, choice in ((keep, Choice.KEEP), (spare, Choice.SPARE), (leave, Choice.LEAVE)):
                choose(book, visit.id, [frame], choice)
        return visit, ids, frames

    def test_to_keep_and_to_spare_of_a_burst_that_shows_a_sighting_are_named(self, book, held, tmp_path):
        visit, bursts, ((keep, spare, _), _) = held
        keep_sighting(book, seen(), outing_id=visit.id, bursts=bursts[:1])
        names = ("Aeshna juncea (unverified)", "Common Hawker (unverified)")
        assert names_of_frames(book, visit.id, own_packs=tmp_path) == {keep: names, spare: names}

    def test_are_only_those_that_a_sighting_lists_where_it_lists_files(self, book, held, tmp_path):
        visit, bursts, frames = held
        first = trace(book, bursts[0]).frames[0].path.relative_to(visit.folder).as_posix()
        keep_sighting(
            book, seen("Lestes", pictures=(first, "https://example.org/b")), outing_id=visit.id, bursts=bursts
        )
        keep_sighting(
            book, seen("Libellula", 2, pictures=("https://example.org/a",)), outing_id=visit.id, bursts=bursts[1:]
        )
        (keep, _, _), (other_keep, other_spare, _) = frames
        assert names_of_frames(book, visit.id, own_packs=tmp_path) == {
            keep: ("Lestes (unverified)",),
            other_keep: ("Libellula (unverified)",),
            other_spare: ("Libellula (unverified)",),
        }

    def test_have_the_keywords_of_all_sightings_each_once(self, book, held, tmp_path):
        visit, bursts, ((keep, _, _), _) = held
        for number, name in ((1, "Lestes"), (2, "Aeshna juncea"), (3, "Lestes")):
            keep_sighting(book, seen(name, number, stage=LifeStage.ADULT), outing_id=visit.id, bursts=bursts[:1])
        assert names_of_frames(book, visit.id, own_packs=tmp_path)[keep] == (
            "Aeshna juncea (unverified)",
            "Common Hawker (unverified)",
            "adult",
            "Lestes (unverified)",
        )

    def test_take_the_english_name_from_the_pack_of_the_bursts_look(self, book, held, tmp_path):
        visit, bursts, ((keep, _, _), (other, _, _)) = held
        TestEnglishNames().write_pack(tmp_path / "mine", "Bog Hawker")
        keep_look(book, bursts[0], Look(region="mine"))
        keep_sighting(book, seen(verification=Verification.VERIFIED), outing_id=visit.id, bursts=bursts)
        names = names_of_frames(book, visit.id, own_packs=tmp_path)
        assert (names[keep], names[other]) == (("Aeshna juncea", "Bog Hawker"), ("Aeshna juncea", "Common Hawker"))

    def test_of_refuted_sightings_have_none(self, book, held, tmp_path):
        visit, bursts, _ = held
        keep_sighting(book, seen(verification=Verification.REFUTED), outing_id=visit.id, bursts=bursts)
        assert names_of_frames(book, visit.id, own_packs=tmp_path) == {}
