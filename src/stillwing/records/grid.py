"""Grid references: the square that a reference names, and the reference of the square that holds a place.

A reference names a square, not a point: so many figures, so large a square. Reading one gives the middle and how far
the truth may lie from it; writing one cuts figures off and never rounds.
"""

import math
import re
from dataclasses import dataclass

from stillwing.errors import InputError, OutsideModel
from stillwing.records.gridletters import (
    TETRAD_M,
    GridMetres,
    british_corner,
    british_letters,
    irish_corner,
    irish_letters,
    tetrad_letter,
    tetrad_offset,
)
from stillwing.records.gridplaces import Grid, grid_at
from stillwing.records.gridshift import BRITISH, IRISH, GridFrame, utm_frame
from stillwing.records.mgrsgrid import mgrs_corner, mgrs_name

__all__ = ["Grid", "GridSquare", "coarser", "read_square", "side_for", "sides_of", "square_at"]

SIDES_M = (100_000, 10_000, TETRAD_M, 1_000, 100, 10)
"""Squares that can be written, largest first. A national reference of 10 figures (1 m) is read but not written: the
change of datum is not as good as that."""
MGRS_SIDES_M = (100_000, 10_000, 1_000, 100, 10, 1)
FRAMES = {Grid.BRITISH: BRITISH, Grid.IRISH: IRISH}
LETTERS_OF = {Grid.BRITISH: british_letters, Grid.IRISH: irish_letters}
NAMES = {Grid.BRITISH: "the National Grid of Great Britain", Grid.IRISH: "the Irish grid", Grid.MGRS: "MGRS"}
LETTERED = re.compile(r"([A-Z]{1,2})(\d*)([A-Z]?)")


@dataclass(frozen=True, slots=True)
class GridSquare:
    """One square of a grid.

    Attributes
    ----------
    grid : Grid
        Whose square it is.
    reference : str
        Its name without blanks, such as TG51401317.
    easting_m, northing_m : float
        Of the south-west corner, from the grid's false origin; of the UTM zone in MGRS. [m]
    side_m : int
        [m]
    latitude, longitude : float
        Of the middle, WGS 84. [deg]
    uncertainty_m : float
        No place in the square lies farther from the middle: half the diagonal on the ground, and what the change of
        datum may be off. [m]
    shift_error_m : float
        The part of it that the change of datum makes. [m]
    """

    grid: Grid
    reference: str
    easting_m: float
    northing_m: float
    side_m: int
    latitude: float
    longitude: float
    uncertainty_m: float
    shift_error_m: float

    @property
    def spaced(self) -> str:
        """The reference as people write it, such as TG 5140 1317; short ones stay together, such as SU12."""
        letters, figures = _parted(self.reference)
        if self.grid is Grid.MGRS:
            letters = f"{letters[:-2]} {letters[-2:]}"
        elif self.side_m >= TETRAD_M:
            return self.reference
        half = len(figures) // 2
        return f"{letters} {figures[:half]} {figures[half:]}".strip()


def sides_of(grid: Grid) -> tuple[int, ...]:
    """Return the sides of the squares that can be written in a grid, largest first. [m]"""
    return MGRS_SIDES_M if grid is Grid.MGRS else SIDES_M


def side_for(uncertainty_m: float, grid: Grid) -> int:
    """Return the side of the smallest square that claims no more than is known of a place. [m]

    Parameters
    ----------
    uncertainty_m : float
        How far the place may be off, above 0. [m]
    grid : Grid
        In which the square is to be written.

    Raises
    ------
    InputError
        If the uncertainty is not above 0, or larger than the largest square.

    Notes
    -----
    Half the square's diagonal is at least the uncertainty (a choice, no source).

    Examples
    --------
    >>> side_for(5, Grid.BRITISH), side_for(30, Grid.BRITISH), side_for(1000, Grid.BRITISH), side_for(5, Grid.MGRS)
    (10, 100, 2000, 10)
    """
    sides = [side for side in sides_of(grid) if side / math.sqrt(2) >= uncertainty_m > 0]
    if not sides:
        most = sides_of(grid)[0] / math.sqrt(2)
        raise InputError(
            f"the place is known to {uncertainty_m:g} m; a square of {NAMES[grid]} is written for "
            f"above 0 to {most:.0f} m"
        )
    return min(sides)


def square_at(latitude: float, longitude: float, side_m: int, grid: Grid | None = None) -> GridSquare:
    """Return the square of a grid that holds a place.

    Parameters
    ----------
    latitude, longitude : float
        WGS 84. [deg]
    side_m : int
        One of `sides_of`. [m]
    grid : Grid, optional
        The one usual at the place (`grid_at`) where it is not given; MGRS at sea where that one has no letters.

    Raises
    ------
    InputError
        If the grid does not reach the place, or no such square is written in it.

    Notes
    -----
    Near an edge the square may be the neighbour of the true one, by as much as ``shift_error_m``.

    Examples
    --------
    >>> square = square_at(52.658, 1.7161, 100)
    >>> square.spaced, square.side_m, round(square.uncertainty_m, 1)
    ('TG 514 131', 100, 75.7)
    """
    if not (-90 <= latitude <= 90):
        raise OutsideModel("latitude", latitude, -90, 90, "deg")
    if not (-180 <= longitude <= 180):
        raise OutsideModel("longitude", longitude, -180, 180, "deg")
    grid = _usual_grid(latitude, longitude) if grid is None else grid
    _side_is_written(grid, side_m)
    if grid is Grid.MGRS:
        return _mgrs_square(mgrs_name(latitude, longitude, _n_digits(side_m)))
    return _lettered_square(grid, FRAMES[grid].metres(latitude, longitude), side_m)


def read_square(text: str) -> GridSquare:
    """Return the square that a written reference names.

    Parameters
    ----------
    text : str
        Such as "TG 51409 13177", "tg5140913177", "SU12", "SU12K" (a tetrad), "O 159 346" or "4Q FJ 1234 5678".

    Raises
    ------
    InputError
        If it names no square.

    Examples
    --------
    >>> ben = read_square("NN166712")
    >>> ben.easting_m, ben.northing_m, ben.side_m
    (216600.0, 771200.0, 100)
    """
    groups = text.upper().replace(",", " ").split()
    name = "".join(groups)
    if re.search(r"[A-Z]", name) is None:
        raise InputError(
            f'"{text.strip()}" has no letters, so it may be anywhere; write the letters of the square in front, such '
            "as TG 514 131 or O 159 346"
        )
    _halves_are_equal(text, [group for group in groups if group.isdigit()])
    if name[0].isdigit():
        return _mgrs_square(name)
    return _read_lettered(text, name)


def coarser(square: GridSquare, side_m: int) -> GridSquare:
    """Return the larger square of the same grid that holds a square.

    Raises
    ------
    InputError
        If ``side_m`` is smaller than the square, or no such square is written in the grid.

    Examples
    --------
    >>> coarser(read_square("SU 123 256"), 2000).reference
    'SU12H'
    """
    _side_is_written(square.grid, side_m)
    if side_m < square.side_m:
        raise InputError(
            f"{square.reference} is a square of {square.side_m} m; a square of {side_m} m in it is not known, so give "
            f"{square.side_m} m or more"
        )
    if square.grid is Grid.MGRS:
        letters, figures = _parted(square.reference)
        n_digits, half = _n_digits(side_m), len(figures) // 2
        return _mgrs_square(letters + figures[:n_digits] + figures[half : half + n_digits])
    return _lettered_square(square.grid, GridMetres(square.easting_m, square.northing_m), side_m)


def _usual_grid(latitude: float, longitude: float) -> Grid:
    grid = grid_at(latitude, longitude)
    if grid is Grid.MGRS:
        return grid
    try:
        LETTERS_OF[grid](FRAMES[grid].metres(latitude, longitude))
    except InputError:
        return Grid.MGRS
    return grid


def _side_is_written(grid: Grid, side_m: int) -> None:
    if side_m not in sides_of(grid):
        why = "" if grid is Grid.MGRS else f"; the change of datum is good to {FRAMES[grid].shift_error_m:g} m only"
        sides = ", ".join(str(side) for side in sides_of(grid))
        raise InputError(f"a square of {side_m} m is not written in {NAMES[grid]}, which has {sides} m{why}")


def _parted(name: str) -> tuple[str, str]:
    """Return what stands before the figures, and the figures."""
    letters = name.rstrip("0123456789")
    return letters, name[len(letters) :]


def _n_digits(side_m: int) -> int:
    """Return how many figures each of easting and northing has: 0 for 100 km, 5 for 1 m."""
    return 6 - len(str(side_m))


def _halves_are_equal(text: str, figures: list[str]) -> None:
    if len(figures) > 2 or len({len(group) for group in figures}) > 1:
        raise InputError(
            f'"{text.strip()}" has groups of {" and ".join(str(len(group)) for group in figures)} figures; east and '
            "north have as many each, such as TG 514 131"
        )


def _read_lettered(text: str, name: str) -> GridSquare:
    match = LETTERED.fullmatch(name)
    if match is None:
        raise InputError(
            f'"{text.strip()}" is no grid reference; one is such as TG 514 131 (Great Britain), O 159 346 (Ireland) or '
            "4Q FJ 123 567 (MGRS)"
        )
    letters, figures, tetrad = match.groups()
    grid = Grid.BRITISH if len(letters) == 2 else Grid.IRISH
    corner = british_corner(letters) if grid is Grid.BRITISH else irish_corner(letters)
    if len(figures) % 2 or len(figures) > 10:
        raise InputError(
            f'"{text.strip()}" has {len(figures)} figures; a reference has 0, 2, 4, 6, 8 or 10, as many for east as '
            "for north"
        )
    if tetrad and len(figures) != 2:
        raise InputError(
            f'"{text.strip()}" ends in the letter of a tetrad after {len(figures)} figures; it stands after 2, such as '
            "SU12K"
        )
    half, side = len(figures) // 2, 10 ** (5 - len(figures) // 2)
    inside = GridMetres(*(int(part or "0") * side for part in (figures[:half], figures[half:])))
    small = tetrad_offset(tetrad) if tetrad else GridMetres(0, 0)
    point = GridMetres(*(sum(parts) for parts in zip(corner, inside, small, strict=True)))
    return _lettered_square(grid, point, TETRAD_M if tetrad else side)


def _lettered_square(grid: Grid, point: GridMetres, side_m: int) -> GridSquare:
    letters = LETTERS_OF[grid](point)
    n_digits = 1 if side_m == TETRAD_M else _n_digits(side_m)
    figures = "".join(f"{int(metres % 100_000):05d}"[:n_digits] for metres in point)
    corner = GridMetres(*(math.floor(metres / side_m) * float(side_m) for metres in point))
    name = letters + figures + (tetrad_letter(point) if side_m == TETRAD_M else "")
    return _square(grid, name, FRAMES[grid], corner, side_m)


def _mgrs_square(name: str) -> GridSquare:
    zone, is_south, corner = mgrs_corner(name)
    side_m = 10 ** (5 - len(_parted(name)[1]) // 2)
    return _square(Grid.MGRS, name.removeprefix("0"), utm_frame(zone, is_south), corner, side_m)


def _square(grid: Grid, name: str, frame: GridFrame, corner: GridMetres, side_m: int) -> GridSquare:
    latitude, longitude = frame.place(GridMetres(*(metres + side_m / 2 for metres in corner)))
    return GridSquare(
        grid=grid,
        reference=name,
        easting_m=corner.easting_m,
        northing_m=corner.northing_m,
        side_m=side_m,
        latitude=latitude,
        longitude=longitude,
        uncertainty_m=side_m / math.sqrt(2) / frame.least_scale + frame.shift_error_m,
        shift_error_m=frame.shift_error_m,
    )
