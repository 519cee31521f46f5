"""A kit put together from what is known of it, with a list of what is only typical."""

from dataclasses import MISSING, asdict, dataclass, fields, replace
from typing import Any

from stillwing.errors import InputError
from stillwing.optics.kit import CameraBody, Kit, Lens

__all__ = ["TYPICAL", "KitMade", "KitParts", "put_together"]

TYPICAL: dict[str, float] = {
    field.name: field.default
    for record in (CameraBody, Lens, Kit)
    for field in fields(record)
    if isinstance(field.default, int | float)
}
"""The value that stands in for each field that has one, from the records themselves."""


@dataclass(frozen=True, slots=True)
class KitParts:
    """What is known of a kit; ``None`` where it is not. The fields are those of `CameraBody`, `Lens` and `Kit`."""

    sensor_width_mm: float | None = None
    sensor_height_mm: float | None = None
    width_px: int | None = None
    height_px: int | None = None
    lowest_iso: float | None = None
    highest_iso: float | None = None
    shortest_s: float | None = None
    longest_s: float | None = None
    frames_per_s: float | None = None
    look_back_s: float | None = None
    readout_s: float | None = None
    well_e: float | None = None
    read_noise_e: float | None = None
    own_blur_px: float | None = None
    shortest_mm: float | None = None
    longest_mm: float | None = None
    widest_at_shortest: float | None = None
    widest_at_longest: float | None = None
    narrowest: float | None = None
    closest_focus_m: float | None = None
    largest_magnification: float | None = None
    pupil_ratio: float | None = None
    teleconverter: float | None = None

    def or_else(self, others: "KitParts") -> "KitParts":
        """Return these parts, with those of ``others`` where this has none."""
        known = {name: value for name, value in asdict(self).items() if value is not None}
        return replace(others, **known)

    @property
    def missing(self) -> tuple[str, ...]:
        """Names of the fields that are not known."""
        return tuple(field.name for field in fields(self) if getattr(self, field.name) is None)


@dataclass(frozen=True, slots=True)
class KitMade:
    """A kit, and how much of it was told."""

    kit: Kit
    assumed: tuple[str, ...]
    """Fields with a typical value, because nothing told them."""
    unknown: tuple[str, ...]
    """Fields without any value."""


ASKED = {
    ("sensor_width_mm", "sensor_height_mm"): "the sensor's size, such as 17.4x13.0 mm",
    ("width_px", "height_px"): "the picture's pixels, such as 5184x3888",
    ("shortest_mm", "longest_mm"): "the focal range, such as 75-300 mm",
    ("widest_at_shortest", "widest_at_longest"): "the widest aperture at either end, such as 4.8-6.7",
}
"""What to ask for where a field that has no typical value is missing."""

NO_VALUE = {"closest_focus_m", "largest_magnification"}
"""Fields whose default says that they are not known; ``well_e`` follows from the size of a pixel."""


def put_together(name: str, parts: KitParts) -> KitMade:
    """Return the kit of these parts, typical values standing in for those that are missing.

    Parameters
    ----------
    name : str
        What the photographer calls it.
    parts : KitParts
        What is known. Sensor, pixels, focal range and widest apertures have no typical value.

    Returns
    -------
    KitMade
        The kit, and which of its fields are typical or unknown.

    Raises
    ------
    InputError
        If one of those four is missing, or the parts contradict each other.
    """
    lacking = [words for pair, words in ASKED.items() if not set(pair).isdisjoint(parts.missing)]
    if lacking:
        raise InputError(f"the kit {name!r} lacks {'; and '.join(lacking)}")
    camera = CameraBody(**_known(CameraBody, parts))
    lens = Lens(**_known(Lens, parts))
    converter = 1.0 if parts.teleconverter is None else parts.teleconverter
    unknown = tuple(field for field in parts.missing if field in NO_VALUE)
    # Without a word about a converter there is none: nothing is assumed about the glass.
    assumed = tuple(field for field in parts.missing if field not in NO_VALUE | {"teleconverter"})
    return KitMade(Kit(name, camera, lens, converter), assumed, unknown)


def _known(record: type[CameraBody] | type[Lens], parts: KitParts) -> dict[str, Any]:
    told = {field.name: getattr(parts, field.name) for field in fields(record)}
    return {
        field.name: told[field.name]
        for field in fields(record)
        if told[field.name] is not None or field.default is MISSING
    }
