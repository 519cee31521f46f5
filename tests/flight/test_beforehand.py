"""What is thought before blur and size are seen: chances, a way that is straight, and a rest in focus."""

import numpy as np
import pytest

from stillwing.flight.beforehand import across_of, beforehand
from stillwing.flight.defocus import evidence_of, plane_at
from stillwing.flight.depth import depth_draws
from stillwing.flight.manoeuvre import manoeuvre_at
from stillwing.flight.panning import sideways
from stillwing.flight.seen import gathered

from .flown import FOCAL_MM, FOCUS_MM, Noise, kit, launched, passing, seen


def looked_at(flight, blur=0.1):
    arrays = gathered(seen(flight, np.random.default_rng(3), Noise(blur=blur)), kit())
    plane = plane_at(kit(), FOCUS_MM, FOCAL_MM)
    rng = np.random.default_rng(4)
    flown = sideways(arrays, manoeuvre_at(arrays.time_s), plane.mm_per_px, plane.image_distance_px, 400, rng)
    return arrays, across_of(flown), evidence_of(arrays, kit(), plane, np.median(flown.picture_px_s, axis=0))


@pytest.mark.parametrize("flight", [passing(n=20), launched(n=24)])
def test_chances_add_up_to_one(flight):
    _, across, evidence = looked_at(flight)
    assert sum(np.exp(way.log_chance) for way in beforehand(across, evidence)) == pytest.approx(1.0)


def test_the_way_across_is_that_along_its_main_direction():
    flight = launched(n=24, pull_m_s2=10.0, angle_deg=0.0)
    _, across, _ = looked_at(flight)
    true = np.linalg.norm(flight.places_mm[:, :2] - flight.places_mm[0, :2], axis=1)
    places, speeds, _ = np.abs(across.way).reshape(3, -1)
    assert places[-1] == pytest.approx(true[-1], rel=0.02)
    assert speeds[-1] == pytest.approx(np.linalg.norm(flight.speeds_mm_s[-1]), rel=0.05)


def test_a_straight_way_is_bent_as_seen_from_the_lens():
    flight = passing(n=20, speed_m_s=1.5, angle_deg=0.0, crosses_at=10.0)
    _, across, evidence = looked_at(flight)
    straight = beforehand(across, evidence)[2]
    # Along the focal plane of the middle frame: further off at both ends, by Pythagoras (to second order).
    assert straight.middle[[0, 10, 19]] == pytest.approx(flight.offsets_mm[[0, 10, 19]], rel=0.05, abs=1.0)
    assert flight.offsets_mm[0] > 80.0


def test_one_that_sits_before_it_flies_rests_and_one_that_passes_does_not():
    _, sits, evidence = looked_at(launched(n=24, starts_at=10))
    _, passes, _ = looked_at(passing(n=20, speed_m_s=0.8))
    assert sits.rest is not None and sits.rest <= 10
    assert passes.rest is None
    free, _, straight, from_rest = beforehand(sits, evidence)
    # Where it rests, a flight from the focal plane is as near it as it was focused; any other flight may be anywhere.
    assert from_rest.first_mm < 0.05 * straight.first_mm
    assert straight.first_mm == free.first_mm
    assert from_rest.shared[sits.rest] == 0.0
    assert len(beforehand(passes, evidence)) == 3


def test_a_straight_flight_is_told_nearer_than_one_thought_of_as_anyhow():
    flight = launched(n=24, rate=50.0, angle_deg=35.0)
    arrays, across, evidence = looked_at(flight, blur=0.3)
    ways, spread = beforehand(across, evidence), []
    for some in (ways[:2], ways):
        place = depth_draws(manoeuvre_at(arrays.time_s), evidence, some, 400, np.random.default_rng(5)).place
        way = np.abs(place[:, -1] - place[:, 0])
        assert way.mean() == pytest.approx(np.ptp(flight.offsets_mm), abs=2.5 * way.std())
        spread.append(np.abs(place).std(0).mean())
    assert spread[1] < 0.9 * spread[0]
