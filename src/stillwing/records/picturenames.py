"""Keywords that tell which animals a photograph shows: names as sure as they are, and plain words for what is seen.

A name that nobody has verified does not read as certain, so that a picture found by it is looked at first::

    verified                  Aeshna juncea                Common Hawker
    unverified                Aeshna juncea (unverified)   Common Hawker (unverified)
    doubted                   Aeshna juncea (doubted)      Common Hawker (doubted)
    qualifier "cf. juncea"    Aeshna cf. juncea            Common Hawker (uncertain)

A sighting whose name was refuted, or that says that none was seen, gives no keywords (these forms are a choice, no
source).
"""

from functools import cache
from pathlib import Path

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.framesightings import sightings_of_frames
from stillwing.fieldbook.looks import look_of
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightingwords import SightedSex, Verification
from stillwing.records.pack import pack_folders, read_pack

__all__ = ["english_name", "names_of_frames", "sighting_keywords"]

OPEN_NAMES = ("cf.", "cf", "aff.", "aff", "nr.", "nr")
"""Marks of a name left open that stand before the epithet (common practice, no source)."""
DOUBTS = {Verification.UNVERIFIED: "unverified", Verification.DOUBTED: "doubted"}
SHIPPED_ONLY = Path(__file__).parent / "regions"
"""Given as the place of one's own packs, it leaves the shipped ones."""


def names_of_frames(book: FieldBook, outing_id: int, *, own_packs: Path | None = None) -> dict[int, tuple[str, ...]]:
    """Return the keywords of each frame to keep or to spare that shows a sighting, by number of the frame.

    Parameters
    ----------
    own_packs : Path, optional
        Where a person's own packs lie; the platform's folder without it.

    Raises
    ------
    UnknownThing
        If there is no such outing.
    BadTables
        If the pack that a burst's animal was looked up in holds mistakes.
    FieldBookError
        If a stored sighting cannot be read.
    """

    @cache
    def region_of(burst_id: int) -> str:
        return look_of(book, burst_id).region

    @cache
    def english(sighting: Sighting, region: str) -> str:
        return english_name(sighting, region, own_packs=own_packs)

    named = {}
    for frame in sightings_of_frames(book, outing_id):
        keywords = [
            keyword
            for sighting in frame.sightings
            for keyword in sighting_keywords(sighting, english(sighting, region_of(frame.burst_id)))
        ]
        if keywords:
            named[frame.frame_id] = tuple(dict.fromkeys(keywords))
    return named


def english_name(sighting: Sighting, region: str = "", *, own_packs: Path | None = None) -> str:
    """Return the English name of what was seen; empty where neither that region's pack nor a shipped one knows it.

    Parameters
    ----------
    region : str, optional
        Key of the pack that is asked first; one that is not there any more is passed over.

    Raises
    ------
    BadTables
        If a pack that is asked holds mistakes.

    Examples
    --------
    >>> from datetime import date
    >>> from stillwing.fieldbook.sighting import Where
    >>> from stillwing.fieldbook.sightingtime import When
    >>> english_name(Sighting("Aeshna", When(date(2024, 7, 6)), Where(name="pond"), qualifier="cf. juncea"))
    'Common Hawker'
    """
    folders = [own for key, own in pack_folders(own_packs).items() if key == region]
    folders += pack_folders(SHIPPED_ONLY).values()
    meant = _meant(sighting).casefold()
    for folder in folders:
        for species in read_pack(folder).species:
            if meant in [name.casefold() for name in (species.scientific_name, *species.also)]:
                return species.name
    return ""


def sighting_keywords(sighting: Sighting, english: str = "") -> tuple[str, ...]:
    """Return the keywords of a sighting: scientific and English name, then what they did, stage and sexes.

    Examples
    --------
    >>> from datetime import date
    >>> from stillwing.fieldbook.sighting import Where
    >>> from stillwing.fieldbook.sightingtime import When
    >>> seen = Sighting("Aeshna juncea", When(date(2024, 7, 6)), Where(name="pond"), sexes=(SightedSex.MALE,))
    >>> sighting_keywords(seen, "Common Hawker")
    ('Aeshna juncea (unverified)', 'Common Hawker (unverified)', 'male')
    """
    if sighting.verification is Verification.REFUTED or sighting.count == 0:
        return ()
    doubt = DOUBTS.get(sighting.verification, "")
    if sighting.qualifier and sighting.verification is not Verification.DOUBTED:
        # The qualifier is the doubt in the scientific name; the English one has no place for it.
        names = [_qualified(sighting), _marked(english, "uncertain")]
    else:
        names = [_marked(_qualified(sighting), doubt), _marked(english, doubt)]
    stage = () if sighting.stage is None else (sighting.stage.value,)
    sexes = [sex.value for sex in sighting.sexes if sex is not SightedSex.UNDETERMINED]
    keywords = (*names, *(one.value for one in sighting.doing), *stage, *sexes)
    return tuple(dict.fromkeys(keyword for keyword in keywords if keyword))


def _marked(name: str, doubt: str) -> str:
    return f"{name} ({doubt})" if name and doubt else name


def _qualified(sighting: Sighting) -> str:
    """Return the scientific name with its qualifier where the trade puts it, as in "Aeshna cf. juncea"."""
    name, qualifier = sighting.scientific_name, sighting.qualifier
    if not qualifier:
        return name
    mark, _, rest = qualifier.partition(" ")
    genus, _, epithet = name.partition(" ")
    if mark in OPEN_NAMES:
        if rest and not epithet:
            return f"{name} {qualifier}"
        if not rest:
            return f"{genus} {mark} {epithet}" if epithet else f"{mark} {genus}"
        if name.endswith(f" {rest}"):
            return f"{name.removesuffix(rest)}{qualifier}"
    if genus == mark and rest.partition(" ")[0] in OPEN_NAMES:
        return qualifier
    return f"{name} ({qualifier})"


def _meant(sighting: Sighting) -> str:
    """Return the name that is meant, leaving doubt aside: that of "Aeshna" with "cf. juncea" is "Aeshna juncea"."""
    mark, _, rest = sighting.qualifier.partition(" ")
    name = sighting.scientific_name
    return f"{name} {rest}" if " " not in name and rest and mark in OPEN_NAMES else name
