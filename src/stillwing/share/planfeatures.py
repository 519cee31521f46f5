"""A plan as GeoJSON (RFC 7946): the site as it goes out and comes back, with the day's figures on it."""

import json
import math
from typing import Any

import numpy as np
from shapely.geometry import LinearRing

from stillwing.place.features import site_geojson
from stillwing.plan.reasons import keepers_words
from stillwing.plan.sentences import ending_sentence, move_sentence, what_if_sentence, window_sentence
from stillwing.plan.told import DayTold, Window

__all__ = ["plan_geojson"]

DIGITS = 4
"""Of keepers and shares: what is told is known to two."""


def plan_geojson(told: DayTold) -> str:
    """Return a plan as a feature collection, which `stillwing.place.geojson.parse_geojson` takes back as its site.

    Notes
    -----
    Stands gain the best moment of the day with its bearing and its keepers an hour; each window is a point at its
    stand; moves, ending, cautions and doubts stand in a member "plan" of the collection (foreign members: section 6.1).
    Rims run counter-clockwise and islands clockwise (section 3.1.6). Positions are longitude, latitude.
    """
    document = json.loads(site_geojson(told.plan.question.site))
    features: list[dict[str, Any]] = document["features"]
    for feature in features:
        if feature["geometry"]["type"] == "Polygon":
            feature["geometry"]["coordinates"] = _right_handed(feature["geometry"]["coordinates"])
    stands = [feature for feature in features if feature["properties"]["kind"] == "stand"]
    for number, feature in enumerate(stands):
        feature["properties"] |= _best_of(told, number)
    features += [_window(told, window, rank, stands) for rank, window in enumerate(told.windows, 1)]
    document["plan"] = _plan(told)
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def _right_handed(rings: list[list[list[float]]]) -> list[list[list[float]]]:
    rim, *islands = rings
    return [_turned(rim, is_ccw=True), *(_turned(island, is_ccw=False) for island in islands)]


def _turned(ring: list[list[float]], *, is_ccw: bool) -> list[list[float]]:
    # A ring across the antimeridian jumps by 360 degrees; unrolled, it turns as it does on the ground.
    longitudes = np.degrees(np.unwrap(np.radians([point[0] for point in ring])))
    line = LinearRing([(x, point[1]) for x, point in zip(longitudes, ring, strict=True)])
    return ring if line.is_ccw == is_ccw else ring[::-1]


def _best_of(told: DayTold, stand: int) -> dict[str, object]:
    plan, cells = told.plan, told.plan.cells
    moment = int(cells.keepers_h[:, stand].argmax())
    return {
        "best_time": plan.times[moment].isoformat(),
        "best_bearing_deg": float(cells.bearing_deg[moment, stand]),
        "keepers_an_hour": _short(float(cells.keepers_h[moment, stand])),
        "keepers_low_an_hour": _short(float(cells.keepers_low_h[moment, stand])),
        "keepers_high_an_hour": _short(float(cells.keepers_high_h[moment, stand])),
        "keepers_of_the_day": _short(float(cells.keepers_h[:, stand].sum() * plan.step_h)),
    }


def _window(told: DayTold, window: Window, rank: int, stands: list[dict[str, Any]]) -> dict[str, Any]:
    low, likely, high = map(_short, window.keepers)
    properties = {
        "kind": "window",
        "name": f"window {rank}: {keepers_words(window.keepers.likely)} keepers",
        "rank": rank,
        "stand": told.plan.question.site.stands[window.stand].name,
        "start": window.start.isoformat(),
        "end": window.end.isoformat(),
        "bearing_from_deg": window.bearing_from_deg,
        "bearing_to_deg": window.bearing_to_deg,
        "keepers": likely,
        "keepers_low": low,
        "keepers_high": high,
        "settings": window.settings,
        "reasons": list(window.reasons),
        "spoils": list(window.spoils),
        "words": window_sentence(told, window),
    }
    return {"type": "Feature", "geometry": stands[window.stand]["geometry"], "properties": properties}


def _plan(told: DayTold) -> dict[str, object]:
    question = told.plan.question
    return {
        "day": question.day.isoformat(),
        "zone": question.zone,
        "animal": question.animal.name,
        "behaviour": question.behaviour.value,
        "distance_m": _short(told.plan.distance_m),
        "encounters_an_hour": question.encounters_an_hour,
        "weather": told.weather.source,
        "credit": told.weather.credit,
        "sharpness": told.own,
        "moves": [move_sentence(told, move) for move in told.moves],
        "ending": ending_sentence(told.ending) if told.ending else None,
        "what_ifs": [what_if_sentence(case) for case in told.what_ifs],
        "cautions": list(told.cautions),
        "doubts": list(told.doubts),
    }


def _short(value: float) -> float | None:
    """Return a figure as JSON has it; one that is not known is null."""
    return round(value, DIGITS) if math.isfinite(value) else None
