"""Which species are protected by law, and which sightings had better keep their place to themselves."""

from stillwing.animals.catalogue import Mark
from stillwing.records.placefacts import Protection
from stillwing.records.region import Species
from stillwing.records.statusweights import status_told

__all__ = ["RARE_WORDS", "protected", "sensitive_words"]

RARE_WORDS = frozenset({"rare", "very rare"})
"""A sighting of a species with such a status is sensitive unless its recorder says otherwise (a choice, no source)."""
HOW_KNOWN = {Mark.READ_SECONDARY: ", read at second hand", Mark.MEMORY: ", from memory", Mark.ESTIMATE: ", estimated"}


def protected(species: Species, area: str | None) -> Protection | None:
    """Return what protects a species in an area, the first that the pack tells.

    Parameters
    ----------
    species : Species
    area : str or None
        In the pack's words; ``None`` takes the first that is told anywhere.

    Notes
    -----
    None means that the pack tells of no protection, not that there is none.
    """
    return next((told for told in species.protections if area in (None, told.area)), None)


def sensitive_words(species: Species, area: str | None) -> str | None:
    """Return in one sentence why a sighting is to be marked sensitive unless its recorder says otherwise.

    Parameters
    ----------
    species : Species
    area : str or None
        In the pack's words; ``None`` takes the first that is told anywhere.

    Returns
    -------
    str or None
        Without a full stop; None where the pack tells no reason.

    Examples
    --------
    >>> from pathlib import Path
    >>> from stillwing.records.pack import region_named
    >>> britain = region_named("britain-and-ireland", own=Path("none"))
    >>> sensitive_words(next(each for each in britain.species if each.name == "White-faced Darter"), "Great Britain")
    'White-faced Darter is rare in Great Britain'
    """
    law = protected(species, area)
    if law is not None:
        known = HOW_KNOWN.get(law.origin.mark, "")
        return f"{species.name} is protected by law in {law.area} ({law.law}{known})"
    status = status_told(species, area)
    if status is not None and status.word.casefold() in RARE_WORDS:
        return f"{species.name} is {status.word.lower()} in {status.area}"
    return None
