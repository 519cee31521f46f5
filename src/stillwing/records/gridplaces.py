"""Which grid people use at a place: Great Britain's, Ireland's, or MGRS everywhere else."""

from enum import StrEnum

import shapely

__all__ = ["Grid", "grid_at"]


class Grid(StrEnum):
    """A grid of squares with names."""

    BRITISH = "british"
    IRISH = "irish"
    MGRS = "mgrs"


SEA_BETWEEN = (
    (-6.2, 51.0),
    (-5.8, 52.1),
    (-5.3, 53.3),
    (-5.15, 54.0),
    (-5.3, 54.6),
    (-5.4, 55.0),
    (-5.95, 55.24),
    (-6.05, 55.38),
    (-6.6, 55.48),
    (-8.68, 55.6),
)
"""Longitude and latitude of a line from the Celtic Sea through the North Channel to the Atlantic. [deg]"""
IRELAND = shapely.Polygon([*SEA_BETWEEN, (-11.0, 55.6), (-11.0, 51.0)])
GREAT_BRITAIN = shapely.Polygon(
    [
        *SEA_BETWEEN,
        (-8.68, 59.5),
        (-5.0, 61.2),
        (0.0, 61.2),
        (0.5, 58.0),
        (2.2, 54.0),
        (2.6, 52.5),
        (2.2, 51.5),
        (1.48, 51.0),
        (1.2, 50.82),
        (0.5, 50.45),
        (-2.5, 50.1),
        (-5.0, 49.7),
        (-8.68, 49.7),
    ]
)
"""Great Britain with Man, Scilly, Hebrides, Orkney and Shetland; without the Channel Islands and France."""


def grid_at(latitude: float, longitude: float) -> Grid:
    """Return the grid in which a record from a place is usually given.

    Parameters
    ----------
    latitude, longitude : float
        WGS 84. [deg]

    Notes
    -----
    The lines between the areas run at sea (a choice, no source). At sea near them either grid may be meant.

    Examples
    --------
    >>> grid_at(52.3105, 0.279).value, grid_at(53.3498, -6.2603).value, grid_at(49.2, -2.1).value
    ('british', 'irish', 'mgrs')
    """
    place = shapely.Point(longitude, latitude)
    if IRELAND.contains(place):
        return Grid.IRISH
    return Grid.BRITISH if GREAT_BRITAIN.contains(place) else Grid.MGRS
