"""A track of the outing: where the photographer was at an instant, from the timed points of a GPX file."""

import math
from dataclasses import dataclass
from datetime import UTC
from pathlib import Path

import gpxpy
import numpy as np
from gpxpy.gpx import GPX, GPXException, GPXTrackSegment
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.place.local import WGS84
from stillwing.place.position import Position, position_from
from stillwing.place.textfile import read_text

__all__ = ["LONGEST_GAP_S", "Fix", "Track", "fix_at", "parse_track", "read_track"]

LONGEST_GAP_S = 300.0
"""A point further off in time tells nothing (a choice, no source)."""
RECEIVER_ERROR_M = 4.9
"""Of a phone's receiver under open sky (van Diggelen and Enge 2015, Proc. ION GNSS+, 361-369; from memory)."""
WALKING_M_S = 1.4
"""An unhurried walk on the level (Bohannon 1997, Age and Ageing 26:15-19: 1.3 to 1.5 m/s; from memory)."""


@dataclass(frozen=True, slots=True)
class Track:
    """Timed points in order of time."""

    seconds: NDArray[np.float64]
    """Since 1970 UTC, shape (n,), growing."""
    lonlat_deg: NDArray[np.float64]
    """Shape (n, 2)."""
    segment: NDArray[np.int64]
    """Which part each point belongs to, shape (n,); between parts the receiver was off or saw no sky."""


@dataclass(frozen=True, slots=True)
class Fix:
    """Where somebody was at an instant."""

    position: Position
    uncertainty_m: float
    """How far off the true place may lie: the receiver's error, and the way on foot to the nearest point and back."""
    gap_s: float
    """Time to the nearest point of the track."""


def read_track(path: Path) -> Track:
    """Return the timed points of a GPX file; see `parse_track`."""
    return parse_track(read_text(path), str(path))


def parse_track(text: str, source: str) -> Track:
    """Return the timed points of all tracks in a GPX document, whatever order they stand in.

    Points without a time are passed over; of several at one instant the first counts. A time without a zone is UTC, as
    the standard has it.

    Parameters
    ----------
    text : str
        GPX 1.0 or 1.1.
    source : str
        As errors name it.

    Raises
    ------
    InputError
        If it is no GPX, a point is not on earth, or no point of a track tells its time.
    """
    document = _document(text, source)
    rows: list[tuple[float, float, float, int]] = []
    parts = [part for track in document.tracks for part in track.segments]
    for number, part in enumerate(parts):
        rows += _timed(part, number, source)
    if not rows:
        n_points = sum(len(part.points) for part in parts)
        told = f"tells no time for the points of its track ({n_points:,})" if n_points else "holds no track"
        raise InputError(f"{source} {told}; export the track as recorded, with times")
    table = np.array(rows, np.float64)
    _, first = np.unique(table[:, 0], return_index=True)
    table = table[first]
    return Track(table[:, 0], table[:, 1:3], table[:, 3].astype(np.int64))


def fix_at(track: Track, seconds: float, *, clock_error_s: float = 0.0) -> Fix | None:
    """Return where the photographer was, or ``None`` where no point lies within five minutes.

    Between two points of one part the way is the geodesic on the WGS 84 ellipsoid at an even pace. Before the first
    point of a part, after its last and between parts the nearest point in time stands for the place.

    Parameters
    ----------
    seconds : float
        Since 1970 UTC. [s]
    clock_error_s : float, default 0
        By how much the instant itself may be wrong. [s]
    """
    after = int(np.searchsorted(track.seconds, seconds))
    before = after - 1
    near = [i for i in (before, after) if 0 <= i < len(track.seconds)]
    nearest = min(near, key=lambda i: abs(track.seconds[i] - seconds))
    gap_s = abs(float(track.seconds[nearest]) - seconds)
    if not gap_s <= LONGEST_GAP_S:
        return None
    if len(near) == 2 and track.segment[before] == track.segment[after]:
        position, pace_m_s = _between(track, before, after, seconds)
    else:
        position, pace_m_s = _position(track.lonlat_deg[nearest]), 0.0
    wandered_m = WALKING_M_S * gap_s
    slipped_m = max(WALKING_M_S, pace_m_s) * clock_error_s
    return Fix(position, math.hypot(RECEIVER_ERROR_M, wandered_m, slipped_m), gap_s)


def _between(track: Track, before: int, after: int, seconds: float) -> tuple[Position, float]:
    """Return the place at an even pace from one point to the next, and that pace. [m/s]"""
    (lon, lat), (to_lon, to_lat) = track.lonlat_deg[before], track.lonlat_deg[after]
    azimuth, _, length_m = WGS84.inv(lon, lat, to_lon, to_lat)
    duration_s = float(track.seconds[after] - track.seconds[before])
    share = (seconds - float(track.seconds[before])) / duration_s
    there_lon, there_lat, _ = WGS84.fwd(lon, lat, azimuth, share * length_m)
    return Position(float(there_lon), float(there_lat)), float(length_m) / duration_s


def _position(lonlat_deg: NDArray[np.float64]) -> Position:
    return Position(float(lonlat_deg[0]), float(lonlat_deg[1]))


def _document(text: str, source: str) -> GPX:
    if "<!ENTITY" in text:
        raise InputError(f"{source} declares XML entities, which GPX has no use for; export it anew")
    try:
        return gpxpy.parse(text)
    except (GPXException, ValueError, OverflowError) as error:
        raise InputError(f"{source} is no GPX that can be read: {error}") from error


def _timed(part: GPXTrackSegment, number: int, source: str) -> list[tuple[float, float, float, int]]:
    rows = []
    for point in part.points:
        if point.time is None:
            continue
        when = point.time if point.time.tzinfo is not None else point.time.replace(tzinfo=UTC)
        try:
            at = position_from(float(point.longitude), float(point.latitude))
        except InputError as error:
            raise InputError(f"{source}: {error}") from error
        rows.append((when.timestamp(), at.longitude_deg, at.latitude_deg, number))
    return rows
