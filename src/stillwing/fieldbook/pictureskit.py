"""Which of the photographer's kits a picture was taken with, as far as its figures tell."""

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.kits import kits
from stillwing.optics.kit import Kit

__all__ = ["kit_of_picture"]

ENGRAVED_SHARE = 0.02
"""A focal length in tags may lie so far outside what is engraved (a choice, no source)."""


def kit_of_picture(book: FieldBook, size_px: tuple[int, int], focal_length_mm: float | None) -> Kit | None:
    """Return the one kit whose sensor has so many pixels and whose lens has that focal length; ``None`` in doubt.

    Parameters
    ----------
    size_px : (int, int)
        Width and height of the upright picture. [px]
    focal_length_mm : float or None
        As the tags tell it; without it there is always doubt. [mm]
    """
    if focal_length_mm is None:
        return None
    fitting = [
        kit
        for kit in kits(book)
        if sorted(size_px) == sorted((kit.camera.width_px, kit.camera.height_px))
        and kit.lens.shortest_mm * kit.teleconverter * (1 - ENGRAVED_SHARE) <= focal_length_mm
        and focal_length_mm <= kit.lens.longest_mm * kit.teleconverter * (1 + ENGRAVED_SHARE)
    ]
    return fitting[0] if len(fitting) == 1 else None
