"""What a flight's errors come from: the bursts of flight.py again, with one thing after another told exactly.

    python benchmarks/flight_bound.py [--every N] [--only NAME] [--focal-length MM] [--json FILE]

Passes, take-offs and landings faster than 0.2 m/s. Told exactly in turn: the side of the focal plane, sizes (without
wings and turning), blur, the body's depth, places and panning, distance and focal length. What an error falls to is
the least that better measurements of that sort could bring it to.
"""

import os

# Before numpy is loaded: matrices this small are slower on several cores.
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import json
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

import flight_cases
from flight import FAST_M_S, FLOWN, N_SEEDS, attempt, figures_of
from flight_cases import FlightCase, case_of
from stillwing.flight import defocus, track
from stillwing.flight.depth import Depth
from stillwing.scene.camera import Camera

EXACT = {
    "as measured": (),
    "side": (),
    "sizes": ((defocus, "TURNING_SHARE", 5e-4),),
    "blur": (
        (flight_cases, "BLUR_SHARE", 0.01),
        (flight_cases, "COMMON_BLUR_SHARE", 0.003),
        (defocus, "LEAST_BLUR_ERROR", 0.01),
        (defocus, "COMMON_BLUR_ERROR", 0.003),
        (defocus, "FLOOR_ERROR", 0.003),
    ),
    "each reading of blur": ((flight_cases, "BLUR_SHARE", 0.02), (defocus, "LEAST_BLUR_ERROR", 0.01)),
    "body's depth": ((defocus, "HALF_DEPTH_FACTOR", 1.03),),
    "places, panning": ((flight_cases, "CENTRE_SHARE", 5e-4), (flight_cases, "SLIP_PX", 0.05)),
    "distance, focal length": ((flight_cases, "LENS_SHARE", 1e-5), (flight_cases, "FOCAL_SHARE", 1e-5)),
}
"""What is told exactly, and the constants that are set for it."""


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--every", type=int, default=1, metavar="N", help="only every Nth burst")
    parser.add_argument("--only", choices=EXACT, metavar="NAME", help="one of the things told exactly")
    parser.add_argument(
        "--focal-length", type=float, default=300.0, metavar="MM", help="a shorter one brings it nearer"
    )
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    with patch.object(flight_cases, "Camera", partial(Camera, focal_length_mm=asked.focal_length)):
        told = _told((asked.only,) if asked.only else tuple(EXACT), asked.every)
    if asked.json:
        asked.json.write_text(json.dumps(told, indent=2) + "\n")


def _told(names: tuple[str, ...], every: int) -> dict[str, dict[str, float]]:
    bursts, told = list(_bursts())[::every], {}
    print(f"{len(bursts)} bursts\n{'told exactly':24} speed p90  angle p90  half angle  side told, right")
    for name in names:
        figures = told[name] = _figures(name, bursts)
        print(
            f"{name:24} {figures['speed_rel_error_p90']:9.1%} {figures['launch_angle_error_deg_p90']:9.1f}° "
            f"{figures['half_angle_deg']:10.1f}° {figures['side_told']:10.0%}, {figures['side_right_where_told']:.0%}",
            flush=True,
        )
    return told


def _bursts() -> Iterator[tuple[str, int]]:
    for scenario in FLOWN:
        for seed in range(1, 1 + N_SEEDS):
            case = case_of(scenario, seed)
            if case is not None and case.mean_speed_m_s > FAST_M_S:
                yield scenario, seed


def _figures(name: str, bursts: list[tuple[str, int]]) -> dict[str, float]:
    tried = []
    with ExitStack() as changed:
        for module, constant, value in EXACT[name]:
            changed.enter_context(patch.object(module, constant, value))
        for scenario, seed in bursts:
            case = case_of(scenario, seed)
            if case is None:
                continue
            with _with_truth(name, case, scenario, seed):
                tried.append(attempt(_sized(case) if name == "sizes" else case))
    angles = [one.angle_half_width_deg for one in tried if one.scenario != "pass"]
    return {**figures_of(tried), "half_angle_deg": float(np.median(angles))}


def _sized(case: FlightCase) -> FlightCase:
    """Return the burst with sizes that go with the distance alone."""
    distance_mm, usual = 1000 * case.focus_m.likely, float(np.median([frame.size_px for frame in case.frames]))
    sizes = usual * distance_mm / (distance_mm + case.places_mm[:, 2])
    frames = zip(case.frames, sizes, strict=True)
    return replace(case, frames=tuple(replace(one, size_px=float(s), size_sd_px=1e-3 * usual) for one, s in frames))


def _with_truth(name: str, case: FlightCase, scenario: str, seed: int) -> Any:
    """Return a context in which the tracker is told the side, or the body's depth, of one burst."""
    if name == "side":
        draw, away = track.depth_draws, case.places_mm[:, 2]

        def on_its_side(*args: Any) -> Depth:
            drawn = draw(*args)
            right = np.flatnonzero(drawn.place @ away > 0)
            chosen = np.random.default_rng(seed).choice(right, len(drawn.place)) if len(right) else slice(None)
            return Depth(*(of[chosen] for of in (drawn.place, drawn.speed, drawn.acceleration, drawn.slope)))

        return patch.object(track, "depth_draws", on_its_side)
    if name == "body's depth":
        weigh, half = track.evidence_of, flight_cases.half_depth_mm(scenario, seed)
        return patch.object(track, "evidence_of", lambda *args: replace(weigh(*args), half_depth_mm=half))
    return ExitStack()


if __name__ == "__main__":
    main()
