"""A sighting: what was seen where and when, how many, doing what, who says so, and how sure the name is."""

import math
import re
import unicodedata
from dataclasses import dataclass, field
from uuid import UUID, uuid4

from stillwing.errors import InputError, OutsideModel
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Basis, Doing, Establishment, LifeStage, SightedSex, Verification

__all__ = ["LIST_MARK", "OWN_KEY", "Sighting", "Where", "check_licence"]

LIST_MARK = "|"
"""Stands between the items of a list where the standard has one cell, so that no item may hold it."""
OWN_KEY = "stillwing:"
"""In front of what we add to a record beyond the standard."""
PLACE_DIGITS = 7
"""Decimals of a degree that are kept: about 1 cm, finer than any fix in the field."""
MOST_UNCERTAIN_M = 20_037_509.0
"""Half the earth's equator; whoever knows less knows nothing."""
MOST_ANIMALS = 10_000_000
WEB = re.compile(r"https?://\S+")
ABSOLUTE = re.compile(r"[/\\~]|[A-Za-z]:")


@dataclass(frozen=True, slots=True)
class Where:
    """A place by its coordinates, its name, or both.

    Attributes
    ----------
    latitude, longitude : float, optional
        WGS 84, kept to seven decimals; both or none. [deg]
    uncertainty_m : float, optional
        No farther than this from the coordinates did it happen; ``None`` where nobody knows. [m]
    precision_deg : float, optional
        Step that the coordinates were rounded to, where they were. [deg]
    name : str
        What the place is called.

    Raises
    ------
    InputError
        If neither coordinates nor a name are given, or they cannot be right.
    """

    latitude: float | None = None
    longitude: float | None = None
    uncertainty_m: float | None = None
    precision_deg: float | None = None
    name: str = ""

    def __post_init__(self) -> None:
        _one_line("the place's name", self.name)
        if self.latitude is None or self.longitude is None:
            self._has_no_coordinates()
            return
        for name, angle, most in (("latitude", self.latitude, 90.0), ("longitude", self.longitude, 180.0)):
            if not -most <= angle <= most:
                raise OutsideModel(name, angle, -most, most, "deg")
            # Adding nought turns minus nought into nought, which is the same place.
            object.__setattr__(self, name, round(float(angle), PLACE_DIGITS) + 0.0)
        _within("the uncertainty of the place", self.uncertainty_m, MOST_UNCERTAIN_M, "m")
        _within("the precision of the coordinates", self.precision_deg, 90.0, "deg")

    def _has_no_coordinates(self) -> None:
        if (self.latitude is None) != (self.longitude is None):
            raise InputError("only one of latitude and longitude is given; a place has both, or neither and a name")
        if self.uncertainty_m is not None or self.precision_deg is not None:
            raise InputError("the place has an uncertainty or precision but no latitude and longitude; give these too")
        if not self.name:
            raise InputError("the place has neither coordinates nor a name; give one of them")


@dataclass(frozen=True, slots=True)
class Sighting:
    """One kind of animal at one place and time.

    Attributes
    ----------
    scientific_name : str
        As far as it is known: a species, or a genus, family or order.
    when : When
    where : Where
    id : UUID
        Made once and never again.
    name_as_written : str
        What stood in the original note, such as "big blue hawker".
    qualifier : str
        Doubt about the name in the trade's words, such as "cf. juncea".
    count : int, optional
        Animals seen; 0 where it was looked for and not found, ``None`` where nobody counted.
    sexes : tuple of SightedSex
        Each that was seen.
    stage : LifeStage, optional
    doing : tuple of Doing
        All that they did.
    pictures : tuple of str
        Evidence: names of files, with folders as seen from the outing's folder, or web addresses.
    recorded_by, identified_by : tuple of str
        Names of people.
    verification : Verification
    licence : str
        Web address of the licence that the record is given away under; empty where none was given.
    basis : Basis
    establishment : Establishment, optional
        How far the animal is at home there, where somebody knows.
    remarks : str
    sensitive : bool
        The exact place is for the recorder's eyes; what leaves the house is coarsened.
    generalized, withheld : str
        What was made coarser in this record, and what was left out of it; empty where nothing was.
    others : tuple of (str, str)
        What another program's record told that has no field here, by the name it had there, in order of names.

    Raises
    ------
    InputError
        If a part cannot be right; the sentence names it.
    """

    scientific_name: str
    when: When
    where: Where
    id: UUID = field(default_factory=uuid4)
    name_as_written: str = ""
    qualifier: str = ""
    count: int | None = None
    sexes: tuple[SightedSex, ...] = ()
    stage: LifeStage | None = None
    doing: tuple[Doing, ...] = ()
    pictures: tuple[str, ...] = ()
    recorded_by: tuple[str, ...] = ()
    identified_by: tuple[str, ...] = ()
    verification: Verification = Verification.UNVERIFIED
    licence: str = ""
    basis: Basis = Basis.PERSON
    establishment: Establishment | None = None
    remarks: str = ""
    sensitive: bool = False
    generalized: str = ""
    withheld: str = ""
    others: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if not self.scientific_name:
            raise InputError("the scientific name is empty; give it as far as it is known, if only as Odonata or Aves")
        for name in ("scientific_name", "name_as_written", "qualifier", "remarks", "generalized", "withheld"):
            _one_line(f"the {name.replace('_', ' ')}", getattr(self, name))
        self._lists_are_lists()
        self._words_agree()
        for picture in self.pictures:
            if ABSOLUTE.match(picture) and not WEB.fullmatch(picture):
                raise InputError(
                    f'the picture is "{picture}"; give its name, its folders from the outing\'s folder on, or its web '
                    "address, so that it means the same elsewhere"
                )
        if self.licence:
            check_licence(self.licence)
        self._others_are_named()

    def _lists_are_lists(self) -> None:
        lists = {"recorder": self.recorded_by, "identifier": self.identified_by, "picture": self.pictures}
        for what, items in (lists | {"sex": self.sexes, "behaviour": self.doing}).items():
            for item in items:
                if not item or LIST_MARK in item:
                    raise InputError(f'the {what} is "{item}"; it is neither empty nor holds a {LIST_MARK}')
                _one_line(f"the {what}", item)
            if len(set(items)) < len(items):
                raise InputError(f"the {what} stands twice in {', '.join(items)}; name each once")

    def _words_agree(self) -> None:
        if self.count is not None and not 0 <= self.count <= MOST_ANIMALS:
            raise OutsideModel("count", self.count, 0, MOST_ANIMALS, "animals")
        if SightedSex.UNDETERMINED in self.sexes and len(self.sexes) > 1:
            raise InputError("the sex is told and undetermined too; leave undetermined away")
        if self.count == 0 and (self.sexes or self.stage or self.doing):
            raise InputError("none were seen, yet sex, stage or behaviour is told; leave these empty or give a count")
        if self.verification is Verification.VERIFIED and not self.identified_by:
            raise InputError("the record is verified by nobody; name who identified it, or leave it unverified")

    def _others_are_named(self) -> None:
        names = [name for name, _ in self.others]
        if names != sorted(set(names)):
            raise InputError("the other columns stand twice or out of order; give each once, in order of names")
        for name, text in self.others:
            _one_line("the name of another column", name)
            _one_line(name, text)
            if not name or not text or name.startswith(OWN_KEY):
                raise InputError(
                    f'another column is named "{name}" and holds "{text}"; neither is empty, and {OWN_KEY} is ours'
                )


def check_licence(address: str) -> None:
    """Refuse what is no web address of a licence.

    Raises
    ------
    InputError
        If it is not.
    """
    if not WEB.fullmatch(address):
        raise InputError(
            f'the licence is "{address}"; give its web address, such as https://creativecommons.org/licenses/by/4.0/'
        )


def _one_line(what: str, text: str) -> None:
    if text != text.strip() or not all(sign.isprintable() or unicodedata.category(sign) == "Zs" for sign in text):
        raise InputError(
            f"{what} is {text!r}; it is one line without blanks round it, tabs or signs that cannot be printed"
        )


def _within(what: str, value: float | None, most: float, unit: str) -> None:
    if value is not None and not (math.isfinite(value) and 0 < value <= most):
        raise InputError(f"{what} is {value:g} {unit}; it is above 0 and at most {most:g} {unit}, or not given")
