"""Attempts drawn from the model of launches, as scenes: each frame shows the place and speed that was drawn."""

import math
from dataclasses import dataclass

import numpy as np

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import subject_of
from stillwing.flight.attempt import Attempt
from stillwing.flight.flown import Flown
from stillwing.frames.sharpfor import SharpFor, parse_sharp_for
from stillwing.optics.expected import LAUNCHES
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.question import Wish, at_distance, pose
from stillwing.optics.subject import Behaviour
from stillwing.scene.actors import Actor, Scene
from stillwing.scene.backdrop import Backdrop
from stillwing.scene.camera import Camera
from stillwing.scene.scenarios import light_called

KIT = Kit(
    "small pictures",
    CameraBody(17.4, 13.05, 1280, 960, shortest_s=1 / 16000, look_back_s=0.4),
    Lens(75.0, 300.0, 2.0, 2.0, closest_focus_m=1.3, largest_magnification=0.25),
)
"""Pictures a quarter as wide as usual, on a sensor of the usual size: the same field, and few pixels to render. What
they hide is coarser, so that the lens opens wider: bodies in and out of focus are as common as in real pictures."""
SHARP_FOR = "screen 960"
ISO, BASE_ISO = 400, 200
READOUT_S = 1e-4
FAR = 8.0
WINDOW = 0.45
"""Of the time between frames, to either side: where a frame's own motion holds."""
SIZES = (0.15, 0.40)
RATES, F_NUMBERS, EXPOSURES_S = (18.0, 30.0), (2.0, 2.8, 4.0), (1 / 4000, 1 / 2000, 1 / 1000)
KINDS = (
    ("damselfly", "damselfly"),
    ("demoiselle", "damselfly"),
    ("darter", "dragonfly"),
    ("hawker", "dragonfly"),
    ("robin", "bird"),
)
"""Animal of the catalogue, and how it is drawn."""
DOES = {
    Behaviour.TAKE_OFF: {"burst_s": 0.15, "look_back_s": 0.4},
    Behaviour.LANDING: {"burst_s": 0.4, "look_back_s": 0.1, "lead_s": 0.3},
    Behaviour.PASS: {"burst_s": 0.4, "look_back_s": 0.1, "lead_s": 0.2},
    Behaviour.HOVER: {"burst_s": 0.4, "look_back_s": 0.0},
}
"""How long the camera runs, short enough to render many."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """One question to the model, and how its animal is drawn."""

    words: str
    attempt: Attempt
    kind: str
    distance_m: float

    @property
    def sharp_for(self) -> SharpFor:
        """The output that it is sifted for."""
        return parse_sharp_for(SHARP_FOR)


def scenario_of(behaviour: Behaviour, seed: int) -> Scenario:
    """Return a scenario with animal, distance and setting drawn from a seed."""
    rng = np.random.default_rng([seed, list(DOES).index(behaviour), 61])
    known = [(name, kind) for name, kind in KINDS if behaviour is not Behaviour.HOVER or kind != "bird"]
    name, kind = known[int(rng.integers(len(known)))]
    subject = subject_of(animal_named(read_catalogue(), name), behaviour)
    size = float(np.exp(rng.uniform(*np.log(SIZES))))
    shown = parse_sharp_for(SHARP_FOR).needed_width(KIT.camera.width_px)
    wish = at_distance(KIT, subject, Wish(15.0, size_in_frame=size, shown_width_px=shown))
    distance_m = float(wish.distance_m or 0.0)
    rate, f_number, exposure_s = (float(rng.choice(values)) for values in (RATES, F_NUMBERS, EXPOSURES_S))
    attempt = Attempt(pose(KIT, subject, wish, distance_m), subject, rate, f_number, exposure_s, **DOES[behaviour])
    words = f"{name}, {behaviour}, {distance_m:.1f} m, f/{f_number:g}, 1/{1 / exposure_s:.0f} s, {rate:g}/s"
    return Scenario(words, attempt, kind, distance_m)


def scene_of(scenario: Scenario, flown: Flown, event: int, seed: int) -> Scene:
    """Return one drawn attempt as a scene of the frames that were taken.

    The camera's turning is left out: the animal moves before the background as it does in the picture.
    """
    rng, camera, subject = np.random.default_rng([seed, event, 67]), camera_of(scenario), scenario.attempt.subject
    n_frames = int(flown.is_taken[event].sum())
    heading = float(rng.choice([-1, 1]))
    times, places = _path(scenario, flown, event, heading, rng)
    flies = np.repeat(flown.is_flying[event, :n_frames].astype(np.float64), 2)
    actor = Actor(
        scenario.kind,
        int(rng.integers(2**31)),
        subject.length_mm / 1000,
        times,
        places,
        np.tile([_yaw_deg(scenario, flown, event, heading), 5.0, 0.0], (len(times), 1)),
        flies if subject.behaviour in LAUNCHES else np.ones_like(times),
        subject.wingbeat_hz.likely,
        min(subject.stroke_deg.likely / 2, 70.0),
        elevation_deg=8.0,
        phase=float(rng.uniform()),
        folds=scenario.kind in ("bird", "damselfly"),
    )
    backdrop = Backdrop("leaves", FAR * camera.focus_distance_m, int(rng.integers(2**31)), 1.0)
    still, light = np.zeros((len(times), 2)), light_called("front", rng)
    return Scene(str(subject.behaviour), camera, light, (actor,), backdrop, (), times, still, n_frames)


def _path(
    scenario: Scenario, flown: Flown, event: int, heading: float, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Return times and places, two about each frame's exposure: even motion while it lasts."""
    camera, q, behaviour = camera_of(scenario), scenario.attempt.question, scenario.attempt.subject.behaviour
    taken = slice(int(flown.is_taken[event].sum()))
    off_m, offset_m = flown.across_mm[event, taken] / 1000, flown.offset_mm[event, taken] / 1000
    numbers = np.arange(len(off_m))
    if behaviour is Behaviour.PASS:
        # The model tells how far from the middle, not on which side: it comes in on one and leaves on the other.
        off_m = np.where(numbers < np.argmin(off_m), -off_m, off_m)
    # The hand's turning moves the picture as an animal of that speed would.
    speed_m_s = np.hypot(flown.speed_mm_s[event, taken], q.shake_mm_s[0] / q.magnification[0]) / 1000
    tilt = rng.uniform(0, 2 * np.pi, len(off_m)) if behaviour is Behaviour.HOVER else np.zeros(len(off_m))
    steps = np.array([-1.0, 1.0]) * WINDOW / camera.frames_per_s
    way = _inward(behaviour) * speed_m_s[:, None] * steps
    x = heading * (off_m[:, None] + way * np.cos(tilt)[:, None])
    z = np.broadcast_to(camera.focus_distance_m + offset_m[:, None], way.shape)
    middles = numbers / camera.frames_per_s + (READOUT_S + camera.exposure_s) / 2
    times = middles[:, None] + steps
    return times.ravel(), np.stack([x, way * np.sin(tilt)[:, None], z], -1).reshape(-1, 3)


def _yaw_deg(scenario: Scenario, flown: Flown, event: int, heading: float) -> float:
    """Return the body's turn: along its way, or for a hover as far off the focal plane as is likely."""
    subject, side = scenario.attempt.subject, float(flown.side[event, 0])
    is_hover, inward = subject.behaviour is Behaviour.HOVER, _inward(subject.behaviour)
    turned = math.radians(subject.angle_deg) if is_hover else float(flown.turned_rad[event, 0])
    return math.degrees(math.atan2(-side * inward * math.sin(turned), heading * inward * math.cos(turned)))


def _inward(behaviour: Behaviour) -> float:
    """Return -1 where the animal flies towards the middle of the frame, and the plane, as it comes down."""
    return -1.0 if behaviour is Behaviour.LANDING else 1.0


def camera_of(scenario: Scenario) -> Camera:
    """Return the scene's camera, set and focused as the scenario says."""
    attempt, body = scenario.attempt, KIT.camera
    q = attempt.question
    return Camera(
        width_px=body.width_px,
        height_px=body.height_px,
        sensor_width_mm=body.sensor_width_mm,
        focal_length_mm=float(q.focal_length_mm[0]),
        f_number=attempt.f_number,
        exposure_s=attempt.exposure_s,
        iso=ISO,
        focus_distance_m=float(q.focus_distance_mm[0]) / 1000,
        frames_per_s=attempt.frames_per_s,
        readout_s=READOUT_S,
        lens_sigma_px=body.own_blur_px,
        full_well_e=body.electrons_at_white * body.lowest_iso / BASE_ISO,
        read_noise_e=body.read_noise_e,
        preview_px=0,
    )
