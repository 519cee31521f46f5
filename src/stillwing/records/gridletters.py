"""Letters of the lettered national grids: squares of 100 km in Great Britain and Ireland, and tetrads of 2 km."""

from typing import NamedTuple

from stillwing.errors import InputError

__all__ = ["BRITISH_EXTENT_M", "HUNDRED_KM_M", "IRISH_EXTENT_M", "TETRAD_M", "GridMetres", "british_corner"]
__all__ += ["british_letters", "irish_corner", "irish_letters", "tetrad_letter", "tetrad_offset"]

LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
"""Five rows of five from the north-west, without I."""
TETRAD_LETTERS = "ABCDEFGHIJKLMNPQRSTUVWXYZ"
"""Five columns of five from the south-west, without O; the second row from the top reads D I N T Y."""
HUNDRED_KM_M = 100_000
FIVE_HUNDRED_KM_M = 500_000
TETRAD_M = 2_000
BRITISH_EXTENT_M = (700_000, 1_300_000)
"""Easting and northing at which the lettered part of the grid ends (from memory)."""
IRISH_EXTENT_M = (500_000, 500_000)
IRISH_SEA_LETTERS = "AEKPUYZ"
"""Squares of the Irish grid that hold no land and are not used (Wikipedia, "Irish grid reference system")."""
BRITISH_FALSE_SQUARE = (2, 3)
"""Columns and rows of 500 km from the south-west corner of A to that of S, where easting and northing are 0."""


class GridMetres(NamedTuple):
    """A point of a grid, in metres east and north of its false origin."""

    easting_m: float
    northing_m: float


def british_letters(point: GridMetres) -> str:
    """Return the two letters of the 100 km square that holds a point of the National Grid of Great Britain.

    Raises
    ------
    InputError
        If the point lies outside the grid.

    Examples
    --------
    >>> british_letters(GridMetres(651409.9, 313177.3))
    'TG'
    """
    _inside(point, BRITISH_EXTENT_M, "the National Grid of Great Britain")
    column, row = (int(metres // HUNDRED_KM_M) for metres in point)
    first = _letter(column // 5 + BRITISH_FALSE_SQUARE[0], row // 5 + 1)
    return first + _letter(column % 5, row % 5)


def british_corner(letters: str) -> GridMetres:
    """Return the south-west corner of a 100 km square of the National Grid of Great Britain.

    Raises
    ------
    InputError
        If no square has these letters.

    Examples
    --------
    >>> british_corner("TG")
    GridMetres(easting_m=600000, northing_m=300000)
    """
    if all(letter in LETTERS for letter in letters):
        (first_column, first_row), (column, row) = _cell(letters[0]), _cell(letters[1])
        easting = (first_column - BRITISH_FALSE_SQUARE[0]) * FIVE_HUNDRED_KM_M + column * HUNDRED_KM_M
        northing = (first_row - 1) * FIVE_HUNDRED_KM_M + row * HUNDRED_KM_M
        if 0 <= easting < BRITISH_EXTENT_M[0] and 0 <= northing < BRITISH_EXTENT_M[1]:
            return GridMetres(easting, northing)
    raise InputError(
        f'no square of the National Grid of Great Britain is called "{letters}"; they are called such as TG, SU or NN'
    )


def irish_letters(point: GridMetres) -> str:
    """Return the letter of the 100 km square that holds a point of the Irish grid.

    Raises
    ------
    InputError
        If the point lies outside the grid or in a square at sea, which is not used.

    Examples
    --------
    >>> irish_letters(GridMetres(315904, 234671))
    'O'
    """
    _inside(point, IRISH_EXTENT_M, "the Irish grid")
    letter = _letter(*(int(metres // HUNDRED_KM_M) for metres in point))
    if letter in IRISH_SEA_LETTERS:
        raise InputError(
            f"easting {point.easting_m:.0f} m, northing {point.northing_m:.0f} m lies at sea in a square that the "
            "Irish grid does not use"
        )
    return letter


def irish_corner(letter: str) -> GridMetres:
    """Return the south-west corner of a 100 km square of the Irish grid.

    Raises
    ------
    InputError
        If no square has this letter.
    """
    used = [one for one in LETTERS if one not in IRISH_SEA_LETTERS]
    if letter not in used:
        raise InputError(f'no square of the Irish grid is called "{letter}"; its squares are {", ".join(used)}')
    column, row = _cell(letter)
    return GridMetres(column * HUNDRED_KM_M, row * HUNDRED_KM_M)


def tetrad_letter(point: GridMetres) -> str:
    """Return the letter of the 2 km square that holds a point, within its 10 km square.

    Examples
    --------
    >>> "".join(tetrad_letter(GridMetres(8000, north)) for north in (8000, 6000, 4000, 2000, 0))
    'ZYXWV'
    """
    column, row = (int(metres % 10_000 // TETRAD_M) for metres in point)
    return TETRAD_LETTERS[column * 5 + row]


def tetrad_offset(letter: str) -> GridMetres:
    """Return the south-west corner of a 2 km square within its 10 km square.

    Raises
    ------
    InputError
        If the letter names no tetrad.
    """
    if letter not in TETRAD_LETTERS:
        raise InputError(f'no tetrad is called "{letter}"; the 2 km squares are called A to Z without O')
    column, row = divmod(TETRAD_LETTERS.index(letter), 5)
    return GridMetres(column * TETRAD_M, row * TETRAD_M)


def _letter(column: int, row: int) -> str:
    """Return the letter in a block of five by five, rows counted from the south."""
    return LETTERS[(4 - row) * 5 + column]


def _cell(letter: str) -> tuple[int, int]:
    index = LETTERS.index(letter)
    return index % 5, 4 - index // 5


def _inside(point: GridMetres, extent_m: tuple[int, int], name: str) -> None:
    if not (0 <= point.easting_m < extent_m[0] and 0 <= point.northing_m < extent_m[1]):
        raise InputError(
            f"easting {point.easting_m:.0f} m, northing {point.northing_m:.0f} m lies outside {name}, which runs from "
            f"0 to {extent_m[0]} m east and 0 to {extent_m[1]} m north"
        )
