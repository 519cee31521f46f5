"""Animals as rows: figures in one table, shapes (outline, focus map, cutout) packed in another; figures load alone."""

import math
import struct
from typing import Any

import numpy as np
from sqlalchemy import RowMapping

from stillwing.frames.measured import Animal, Blur, BlurKind, Box, Cutout, FocusMap, Origin

__all__ = ["animal_from", "animal_row", "blur_from", "cutout_from", "focus_map_from", "outline_from", "shape_row"]

MAP_HEADER = struct.Struct("<4d2I")
"""Box as x, y, width, height, then rows and columns; the grid follows."""

CUTOUT_HEADER = struct.Struct("<3d")
"""Left, top and side; the JPEG follows."""

PACKED_POINT = np.dtype("<f4")
"""32 bits resolve a thousandth of a pixel at 16,000 px."""

PACKED_BLUR = np.dtype("<f2")
"""16 bits hold a blur to 0.05 %, a hundredth of what it can be measured to, and NaN."""


def animal_row(frame_id: int, number: int, animal: Animal) -> dict[str, Any]:
    """Return the row of ``animal``, ``number`` counting the animals of one frame from 0, best first."""
    blur, (left, top, right, bottom) = animal.blur, animal.edge_distance_px
    return {
        "frame_id": frame_id,
        "number": number,
        "track": animal.track,
        "x_px": animal.box.x_px,
        "y_px": animal.box.y_px,
        "width_px": animal.box.width_px,
        "height_px": animal.box.height_px,
        "certainty": animal.certainty,
        "origin": animal.origin.value,
        "blur_px": blur.blur_px if blur else None,
        "blur_low_px": blur.blur_low_px if blur else None,
        "blur_high_px": blur.blur_high_px if blur else None,
        "blur_minor_px": blur.minor_px if blur else None,
        "blur_major_px": blur.major_px if blur else None,
        "blur_direction_deg": blur.direction_deg if blur else None,
        "blur_kind": blur.kind.value if blur else None,
        "size_in_frame": animal.size_in_frame,
        "edge_clipped": int(animal.edge_clipped),
        "edge_left_px": left,
        "edge_top_px": top,
        "edge_right_px": right,
        "edge_bottom_px": bottom,
        "highlights_clipped": animal.highlights_clipped,
        "shadows_clipped": animal.shadows_clipped,
        "background_busyness": animal.background_busyness,
    }


def shape_row(frame_id: int, number: int, animal: Animal) -> dict[str, Any]:
    """Return the row with the packed outline, focus map and cutout of ``animal``."""
    focus, cutout = animal.focus_map, animal.cutout
    packed = None
    if focus is not None:
        box = focus.box
        header = MAP_HEADER.pack(box.x_px, box.y_px, box.width_px, box.height_px, focus.rows, focus.columns)
        packed = header + np.asarray(focus.blur_px, PACKED_BLUR).tobytes()
    outline = np.asarray(animal.outline_px, PACKED_POINT).tobytes()
    shown = cutout and CUTOUT_HEADER.pack(cutout.x_px, cutout.y_px, cutout.side_px) + cutout.jpeg
    return {"frame_id": frame_id, "number": number, "outline": outline, "focus_map": packed, "cutout": shown}


def animal_from(
    row: RowMapping, outline: bytes | None = None, focus_map: bytes | None = None, cutout: bytes | None = None
) -> Animal:
    """Return the animal of one row; without its packed shape the outline is empty, without focus map and cutout."""
    return Animal(
        box=Box(row["x_px"], row["y_px"], row["width_px"], row["height_px"]),
        certainty=row["certainty"],
        origin=Origin(row["origin"]),
        blur=blur_from(row),
        outline_px=outline_from(outline),
        size_in_frame=_number(row["size_in_frame"]),
        edge_clipped=bool(row["edge_clipped"]),
        edge_distance_px=(
            _number(row["edge_left_px"]),
            _number(row["edge_top_px"]),
            _number(row["edge_right_px"]),
            _number(row["edge_bottom_px"]),
        ),
        highlights_clipped=_number(row["highlights_clipped"]),
        shadows_clipped=_number(row["shadows_clipped"]),
        background_busyness=_number(row["background_busyness"]),
        focus_map=focus_map_from(focus_map),
        track=row["track"],
        cutout=cutout_from(cutout),
    )


def blur_from(row: RowMapping) -> Blur | None:
    """Return the blur of one animal's row; ``None`` where it could not be measured."""
    if row["blur_kind"] is None:
        return None
    return Blur(
        _number(row["blur_px"]),
        _number(row["blur_low_px"]),
        _number(row["blur_high_px"]),
        _number(row["blur_minor_px"]),
        _number(row["blur_major_px"]),
        row["blur_direction_deg"],
        BlurKind(row["blur_kind"]),
    )


def outline_from(packed: bytes | None) -> tuple[tuple[float, float], ...]:
    """Return a packed outline as (x, y) points. [px]"""
    points = np.frombuffer(packed or b"", PACKED_POINT).reshape(-1, 2).tolist()
    return tuple((x, y) for x, y in points)


def focus_map_from(packed: bytes | None) -> FocusMap | None:
    """Return a packed focus map."""
    if packed is None:
        return None
    x, y, width, height, rows, columns = MAP_HEADER.unpack_from(packed)
    blur = np.frombuffer(packed, PACKED_BLUR, offset=MAP_HEADER.size)
    return FocusMap(Box(x, y, width, height), rows, columns, tuple(blur.tolist()))


def cutout_from(packed: bytes | None) -> Cutout | None:
    """Return a packed cutout."""
    if packed is None:
        return None
    x_px, y_px, side_px = CUTOUT_HEADER.unpack_from(packed)
    return Cutout(x_px, y_px, side_px, packed[CUTOUT_HEADER.size :])


def _number(stored: float | None) -> float:
    # SQLite has no NaN and stores it as NULL.
    return math.nan if stored is None else stored
