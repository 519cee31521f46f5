from stillwing.fieldbook.sightingwords import STANDARD_STAGE, Basis, Establishment, LifeStage, SightedSex

GBIF_SEX = {"male", "female", "hermaphrodite", "undetermined"}  # rs.gbif.org/vocabulary/gbif/sex, read 2026-11-26
GBIF_STAGES = {  # preferred terms of rs.gbif.org/vocabulary/gbif/life_stage, read 2026-11-26
    *("zygote", "embryo", "larva", "juvenile", "adult", "sporophyte", "spore", "gametophyte", "gamete", "pupa"),
}
TDWG_DEGREES = {  # TDWG, Degree of Establishment Controlled Vocabulary, 2025-07-10, docs/doe/index.md at 237bf09e293c
    *("native", "captive", "cultivated", "released", "failing", "casual", "reproducing", "established"),
    *("colonising", "invasive", "widespreadInvasive"),
}
BASES = {  # rs.gbif.org/vocabulary/dwc/basis_of_record_2024-02-19 (from memory)
    *("PreservedSpecimen", "FossilSpecimen", "LivingSpecimen", "MaterialSample", "MaterialCitation", "Occurrence"),
    *("HumanObservation", "MachineObservation"),
}


def test_the_words_are_those_of_the_published_vocabularies() -> None:
    assert set(SightedSex) == GBIF_SEX
    assert set(Establishment) == TDWG_DEGREES
    assert set(Basis) <= BASES


def test_every_stage_has_a_word_of_the_published_vocabulary() -> None:
    assert set(STANDARD_STAGE) == set(LifeStage)
    assert set(STANDARD_STAGE.values()) <= GBIF_STAGES
