"""The words that a sighting is told in, each one as the exchange standard's vocabulary has it where there is one."""

from enum import StrEnum

__all__ = ["STANDARD_STAGE", "Basis", "Doing", "Establishment", "LifeStage", "SightedSex", "Verification"]


class SightedSex(StrEnum):
    """Sexes seen, in the words of the sex vocabulary at rs.gbif.org/vocabulary/gbif/sex."""

    MALE = "male"
    FEMALE = "female"
    HERMAPHRODITE = "hermaphrodite"
    UNDETERMINED = "undetermined"


class LifeStage(StrEnum):
    """The stages that can be told in the field; an exuvia is the skin that a larva leaves behind."""

    EGG = "egg"
    LARVA = "larva"
    EXUVIA = "exuvia"
    TENERAL = "teneral"
    JUVENILE = "juvenile"
    ADULT = "adult"


STANDARD_STAGE = {
    LifeStage.EGG: "embryo",
    LifeStage.LARVA: "larva",
    LifeStage.EXUVIA: "larva",
    LifeStage.TENERAL: "adult",
    LifeStage.JUVENILE: "juvenile",
    LifeStage.ADULT: "adult",
}
"""Preferred terms of rs.gbif.org/vocabulary/gbif/life_stage, which counts eggs as embryos and is silent on exuviae and
tenerals; where it is coarser than our word, our word goes along beside it."""


class Doing(StrEnum):
    """What the animals did; the standard leaves the words to the recorder (a choice, no source)."""

    FLYING = "flying"
    HOVERING = "hovering"
    PERCHED = "perched"
    FEEDING = "feeding"
    CHASING = "chasing"
    TANDEM = "tandem"
    MATING = "mating"
    EGG_LAYING = "egg laying"
    EMERGENCE = "emergence"


class Verification(StrEnum):
    """How far others stand behind the name; the standard leaves the words to the community (a choice, no source)."""

    UNVERIFIED = "unverified"
    DOUBTED = "doubted"
    VERIFIED = "verified"
    REFUTED = "refuted"


class Basis(StrEnum):
    """Who saw the animal: a person with a camera, or a camera left alone."""

    PERSON = "HumanObservation"
    MACHINE = "MachineObservation"


class Establishment(StrEnum):
    """How far the animal is at home at the place.

    The controlled values of TDWG, Degree of Establishment Controlled Vocabulary List of Terms, 2025-07-10.
    """

    NATIVE = "native"
    CAPTIVE = "captive"
    CULTIVATED = "cultivated"
    RELEASED = "released"
    FAILING = "failing"
    CASUAL = "casual"
    REPRODUCING = "reproducing"
    ESTABLISHED = "established"
    COLONISING = "colonising"
    INVASIVE = "invasive"
    WIDESPREAD_INVASIVE = "widespreadInvasive"
