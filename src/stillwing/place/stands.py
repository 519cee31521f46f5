"""Stands: points on the bank with the bearings that look over water from them, proposed all round or put by hand."""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Point, Polygon

from stillwing.errors import InputError, UnknownThing
from stillwing.place.bearings import bearing_between, compass_name, towards
from stillwing.place.local import LocalPlane
from stillwing.place.position import Position
from stillwing.place.sightlines import sightlines

__all__ = ["BankRules", "Span", "Stand", "proposed_stands", "pruned", "stand_at"]

BEARING_STEP_DEG = 5.0
"""Lines of sight are tried this far apart."""


@dataclass(frozen=True, slots=True)
class Span:
    """Neighbouring bearings, from the left end to the right end; a whole turn is 0 to 360."""

    left_deg: float
    right_deg: float

    @property
    def width_deg(self) -> float:
        """How far the span reaches."""
        width = (self.right_deg - self.left_deg) % 360.0
        return 360.0 if width == 0 and self.right_deg != self.left_deg else width

    def __contains__(self, bearing_deg: float) -> bool:
        """Tell whether a bearing lies in the span, ends included."""
        return (bearing_deg - self.left_deg) % 360.0 <= self.width_deg + 1e-9


@dataclass(frozen=True, slots=True)
class Stand:
    """A place on the bank with the bearing you face from it."""

    name: str
    position: Position
    faces_deg: float
    """Square to the bank, over the water."""
    reach: tuple[Span, ...] = ()
    """Bearings that look over enough water."""
    above_water_m: float = 0.3
    """Height of the ground that you stand on."""

    def __post_init__(self) -> None:
        """Refuse what is no stand.

        Raises
        ------
        InputError
            If it has no name, or a value is out of its range.
        """
        if not self.name.strip():
            raise InputError(f"the stand at {self.position.words} has no name; give it one, such as dead willow")
        if not 0 <= self.faces_deg <= 360:
            raise InputError(f"the stand {self.name} faces {self.faces_deg:g} deg; it must be 0 to 360, from north")
        if not -5 <= self.above_water_m <= 1000:
            raise InputError(
                f"the stand {self.name} is {self.above_water_m:g} m above the water; it must be -5 to 1000 m"
            )

    def reaches(self, bearing_deg: float) -> bool:
        """Tell whether a bearing looks over enough water from here."""
        return any(bearing_deg in span for span in self.reach)


@dataclass(frozen=True, slots=True)
class BankRules:
    """How stands are proposed; the figures are common practice, no source."""

    spacing_m: float = 10.0
    """Along the bank from one stand to the next."""
    setback_m: float = 1.0
    """From the edge: banks are soft and undercut."""
    least_water_m: float = 5.0
    """Over which a bearing must look to count."""
    longest_edge_m: float = 5.0
    """Of land that a bearing may cross before it comes over water."""
    above_water_m: float = 0.3

    def __post_init__(self) -> None:
        """Refuse what cannot be walked.

        Raises
        ------
        InputError
            If a length is negative or not a number, or the spacing is below half a metre.
        """
        for name in ("setback_m", "least_water_m", "longest_edge_m", "above_water_m"):
            if not 0 <= getattr(self, name) <= 1000:
                raise InputError(f"{name} is {getattr(self, name):g} m; it must be 0 to 1000 m")
        if not 0.5 <= self.spacing_m <= 10_000:
            raise InputError(f"spacing_m is {self.spacing_m:g} m; stands are 0.5 to 10000 m apart")
        if self.longest_edge_m < self.setback_m:
            raise InputError(
                f"setback_m is {self.setback_m:g} m, more than longest_edge_m, {self.longest_edge_m:g} m: "
                "no bearing would reach the water"
            )


def proposed_stands(plane: LocalPlane, water: MultiPolygon, rules: BankRules | None = None) -> tuple[Stand, ...]:
    """Return stands all round the rims, clockwise from the northernmost point of each.

    Parameters
    ----------
    plane : LocalPlane
    water : MultiPolygon
        On that plane, from `water_on`.
    rules : BankRules, optional

    Returns
    -------
    tuple of Stand
        Named after the side of the water that they stand on, with a number in order of walking, as "north bank 3".
        The same outline gives the same names wherever its drawing began. Points from which no bearing looks over
        enough water, or that would stand in water, are left out.
    """
    rules = rules or BankRules()
    stands: list[Stand] = []
    pieces = sorted(water.geoms, key=lambda piece: -piece.area)
    for number, piece in enumerate(pieces, 1):
        before = f"water {number}, " if len(pieces) > 1 else ""
        feet, faces = _along_bank(piece, rules)
        dry = ~shapely.intersects_xy(water, feet)
        stands += _named(plane, water, (feet[dry], faces[dry]), before, rules)
    return tuple(stands)


def stand_at(
    plane: LocalPlane, water: MultiPolygon, position: Position, name: str, rules: BankRules | None = None
) -> Stand:
    """Return a stand at a position chosen by hand, facing the water square to the nearest bank.

    Its reach is empty where no bearing looks over enough water.

    Raises
    ------
    InputError
        If the name is empty.
    """
    rules = rules or BankRules()
    foot = plane.to_metres([position])
    ring = min(_rings(water), key=Point(*foot[0]).distance)
    half = min(rules.spacing_m / 2, ring.length / 6)
    at = ring.project(Point(*foot[0]))
    before, after = (
        shapely.get_coordinates(ring.interpolate(where % ring.length))[0] for where in (at - half, at + half)
    )
    # Rims and islands run with the water on their left.
    faces = (bearing_between(before, after) - 90.0) % 360.0
    return Stand(name.strip(), position, float(faces), _reach(water, foot, rules)[0], rules.above_water_m)


def pruned(stands: Sequence[Stand], names: Collection[str]) -> tuple[Stand, ...]:
    """Return the stands without those named; the others keep their names.

    Raises
    ------
    UnknownThing
        If a name is not that of a stand.
    """
    known = {stand.name for stand in stands}
    for name in names:
        if name not in known:
            raise UnknownThing(f"there is no stand {name}; the stands are {', '.join(sorted(known)) or 'none yet'}")
    return tuple(stand for stand in stands if stand.name not in names)


def _rings(water: MultiPolygon) -> list[shapely.LinearRing]:
    return [ring for piece in water.geoms for ring in (piece.exterior, *piece.interiors)]


def _along_bank(piece: Polygon, rules: BankRules) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return points a little back from the edge, shape (n, 2), and the bearings square to the bank there."""
    rim = _clockwise_from_north(piece)
    n = max(3, round(rim.length / rules.spacing_m))
    along = (np.arange(n) + 0.5) * rim.length / n
    # The bank's direction is that of a chord: corners and the jitter of a walked outline turn single sides about.
    half = min(rules.spacing_m, rim.length / n) / 2
    edge, before, after = (
        shapely.get_coordinates(rim.interpolate(at % rim.length)) for at in (along, along - half, along + half)
    )
    # Clockwise round the water, it lies to the right of the way.
    faces = (bearing_between(before, after) + 90.0) % 360.0
    return edge - rules.setback_m * towards(faces), faces


def _clockwise_from_north(piece: Polygon) -> shapely.LinearRing:
    corners = shapely.get_coordinates(shapely.geometry.polygon.orient(piece, -1.0).exterior)[:-1]
    # Of several northernmost corners the westernmost; to the millimetre, so that rounding does not choose.
    first = int(np.lexsort((corners[:, 0].round(3), -corners[:, 1].round(3)))[0])
    return shapely.LinearRing(np.roll(corners, -first, axis=0))


def _named(
    plane: LocalPlane,
    water: MultiPolygon,
    found: tuple[NDArray[np.float64], NDArray[np.float64]],
    before: str,
    rules: BankRules,
) -> list[Stand]:
    feet, faces = found
    counts: Counter[str] = Counter()
    stands = []
    for position, face, reach in zip(plane.to_positions(feet), faces, _reach(water, feet, rules), strict=True):
        bank = f"{before}{compass_name(float(face) + 180.0)} bank"
        if reach:
            counts[bank] += 1
            stands.append(Stand(f"{bank} {counts[bank]}", position, float(face), reach, rules.above_water_m))
    return stands


def _reach(water: MultiPolygon, feet: NDArray[np.float64], rules: BankRules) -> list[tuple[Span, ...]]:
    bearings = np.arange(0.0, 360.0, BEARING_STEP_DEG)
    lines = sightlines(water, feet[:, None, :], bearings)
    with np.errstate(invalid="ignore"):
        enough = (lines.enters_m <= rules.longest_edge_m) & (lines.over_water_m >= rules.least_water_m)
    return [_spans(bearings, row) for row in enough]


def _spans(bearings: NDArray[np.float64], counts: NDArray[np.bool_]) -> tuple[Span, ...]:
    if counts.all():
        return (Span(0.0, 360.0),)
    if not counts.any():
        return ()
    # Begin behind a gap, so that a span across north stays whole.
    start = int(np.flatnonzero(~counts)[0])
    order = [*range(start, len(bearings)), *range(start)]
    groups = (list(run) for is_in, run in groupby(order, key=lambda i: bool(counts[i])) if is_in)
    return tuple(Span(float(bearings[run[0]]), float(bearings[run[-1]])) for run in groups)
