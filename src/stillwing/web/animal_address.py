"""The addresses of the page of an animal."""

from collections.abc import Sequence
from urllib.parse import urlencode

__all__ = ["address", "animal_href"]


def animal_href(outing_id: int, burst_id: int) -> str:
    """Return the page of the animal of a burst."""
    return f"/outings/{outing_id}/bursts/{burst_id}/animal"


def address(base: str, skipped: Sequence[str]) -> str:
    """Return an address of the page with the questions that it leaves out.

    Examples
    --------
    >>> address("/outings/1/bursts/2/animal", ["leg_colour"])
    '/outings/1/bursts/2/animal?skip=leg_colour'
    """
    return f"{base}?{urlencode([('skip', one) for one in skipped])}" if skipped else base
