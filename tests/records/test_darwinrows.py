from uuid import UUID

import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.sightingwords import Doing, Establishment, LifeStage, SightedSex, Verification
from stillwing.records.darwinrows import sighting_in

PLAIN = {
    "occurrenceID": "urn:uuid:8952d9f4-ebb4-4747-8ba5-7495b6c9bda4",
    "basisOfRecord": "HumanObservation",
    "scientificName": "Aeshna juncea",
    "eventDate": "2024-07-06",
    "decimalLatitude": "52.2",
    "decimalLongitude": "-0.12",
}


def test_a_record_of_another_program_is_taken() -> None:
    cells = {"basisOfRecord": "HUMAN_OBSERVATION", "sex": "Female", "lifeStage": "Imago", "geodeticDatum": "WGS84"}
    cells |= {"occurrenceStatus": "PRESENT", "degreeOfEstablishment": "widespreadinvasive"}
    sighting = sighting_in(PLAIN | cells)
    assert sighting.id == UUID("8952d9f4-ebb4-4747-8ba5-7495b6c9bda4")
    assert sighting.sexes == (SightedSex.FEMALE,)
    assert sighting.establishment is Establishment.WIDESPREAD_INVASIVE
    assert sighting.stage is None
    assert dict(sighting.others) == {"lifeStage": "Imago"}


def test_an_identifier_that_is_no_uuid_gives_the_same_one_each_time_and_is_kept() -> None:
    one, two, other = (sighting_in(PLAIN | {"occurrenceID": text}) for text in ("a:1", "a:1", "a:2"))
    assert one.id == two.id != other.id
    assert dict(one.others)["occurrenceID"] == "a:1"


def test_words_that_the_standard_leaves_open_are_kept_where_they_are_not_ours() -> None:
    cells = {"behavior": "Hovering | singing", "lifeStage": "imago", "identificationVerificationStatus": "2"}
    sighting = sighting_in(PLAIN | cells)
    assert sighting.doing == (Doing.HOVERING,)
    assert sighting.verification is Verification.UNVERIFIED
    assert dict(sighting.others) == {
        "behavior": "Hovering | singing",
        "lifeStage": "imago",
        "identificationVerificationStatus": "2",
    }


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        ("2018-08-29T15:19", "2018-08-29"),
        ("2018-08-29T15:19/2018-08-29T16:00", "2018-08-29"),
        ("2007-11-13T09:00/15T17:00", "2007-11-13/2007-11-15"),
    ],
)
def test_of_a_time_without_its_zone_the_day_is_taken_and_the_text_kept(text: str, taken: str) -> None:
    sighting = sighting_in(PLAIN | {"eventDate": text})
    assert sighting.when.iso == taken
    assert sighting.others == (("eventDate", text),)


def test_unknown_columns_and_properties_are_kept() -> None:
    sighting = sighting_in(PLAIN | {"habitat": "bog", "dynamicProperties": '{"wind_bft": 3, "cloud": "half"}'})
    assert sighting.others == (("cloud", "half"), ("habitat", "bog"), ("wind_bft", "3"))
    assert sighting_in(PLAIN | {"dynamicProperties": "wind=calm"}).others == (("dynamicProperties", "wind=calm"),)


def test_the_standards_coarser_stage_is_taken_as_the_plain_one() -> None:
    stages = {"embryo": LifeStage.EGG, "larva": LifeStage.LARVA, "adult": LifeStage.ADULT, "exuvia": LifeStage.EXUVIA}
    for word, stage in stages.items():
        assert sighting_in(PLAIN | {"lifeStage": word}).stage is stage


def test_an_absence_without_a_count_is_none_seen() -> None:
    assert sighting_in(PLAIN | {"occurrenceStatus": "absent"}).count == 0
    assert sighting_in(PLAIN).count is None


def test_pictures_told_beside_the_record_come_behind_its_own_and_once() -> None:
    sighting = sighting_in(PLAIN | {"associatedMedia": "1.jpg | 2.jpg"}, ("2.jpg", "3.jpg"))
    assert sighting.pictures == ("1.jpg", "2.jpg", "3.jpg")


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        ({"occurrenceID": ""}, "occurrenceID is empty"),
        ({"scientificName": ""}, "scientific name is empty"),
        ({"eventDate": "yesterday"}, 'the time is "yesterday"'),
        ({"decimalLatitude": "52,2"}, 'decimalLatitude is "52,2"'),
        ({"decimalLatitude": "nan"}, 'decimalLatitude is "nan"'),
        ({"decimalLatitude": "99"}, "latitude is 99 deg"),
        ({"decimalLatitude": "", "locality": "Pond"}, "only one of latitude and longitude"),
        ({"geodeticDatum": "OSGB36"}, "geodeticDatum is OSGB36"),
        ({"coordinateUncertaintyInMeters": "0"}, "uncertainty of the place is 0 m"),
        ({"individualCount": "some"}, 'individualCount is "some"'),
        ({"individualCount": "0"}, "absent goes with 0"),
        ({"occurrenceStatus": "absent", "individualCount": "3"}, "absent goes with 0"),
        ({"occurrenceStatus": "maybe"}, "it is present or absent"),
        ({"sex": "m"}, "it is one of male, female"),
        ({"basisOfRecord": "FossilSpecimen"}, "it is one of HumanObservation"),
        ({"basisOfRecord": ""}, 'basisOfRecord is ""'),
        ({"degreeOfEstablishment": "at home"}, "it is one of native"),
        ({"kingdom": "Plantae"}, "kingdom is Plantae"),
        ({"dynamicProperties": "{broken"}, "begins like JSON"),
        ({"dynamicProperties": '{"stillwing:sensitive": "perhaps"}'}, "stillwing:sensitive is"),
        ({"dynamicProperties": '{"stillwing:lifeStage": "old"}'}, "stillwing:lifeStage is"),
        ({"habitat": "bog", "dynamicProperties": '{"habitat": "fen"}'}, "it is one of them"),
        ({"license": "CC0"}, "the licence is"),
    ],
)
def test_a_cell_that_cannot_be_right_is_told_in_one_sentence(cells: dict[str, str], told: str) -> None:
    with pytest.raises(InputError) as caught:
        sighting_in(PLAIN | cells)
    assert told in str(caught.value)
