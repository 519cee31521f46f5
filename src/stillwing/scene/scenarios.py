"""What happens in a burst: ten scenarios, each drawn from a seed for a camera."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import OutsideModel, UnknownThing
from stillwing.optics.framing import focus_distance_for
from stillwing.scene.actors import Actor, Scene, pan_at, pose_at, position_at
from stillwing.scene.animals.draw import KINDS, build_animal, random_light
from stillwing.scene.animals.pose import Light, body_to_camera
from stillwing.scene.animals.sprite import Part
from stillwing.scene.backdrop import TUNING_FAMILIES, Backdrop, Perch
from stillwing.scene.camera import Camera, px_per_metre
from stillwing.scene.flights import hover, landing, sitting, straight, take_off, times_for, wobble
from stillwing.scene.heldout import HELD_OUT_ANIMALS, HELD_OUT_LIGHTS

__all__ = ["LIGHTS", "SCENARIOS", "Wishes", "light_called", "plan_scene"]

Reals = NDArray[np.float64]
LIGHTS = ("any", "front", "side", "cloudy", "low", "backlit")
"""Light conditions by name; ``any`` draws one of those that are not held out."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What to fix instead of drawing it: ``None`` leaves it to the seed.

    ``angle_deg`` is the launch's angle to the focal plane, 0 along it and 90 towards the camera.
    """

    kind: str | None = None
    family: str | None = None
    light: str = "any"
    size_in_frame: float | None = None
    angle_deg: float | None = None
    background_near_focus: bool | None = None


@dataclass(frozen=True, slots=True)
class _Kind:
    length_m: tuple[float, float]
    wingbeat_hz: tuple[float, float]
    amplitude_deg: tuple[float, float]
    speed_m_s: tuple[float, float]


_LIFE = {
    "dragonfly": _Kind((0.036, 0.075), (28, 42), (30, 48), (2.0, 7.0)),
    "damselfly": _Kind((0.030, 0.046), (22, 40), (40, 60), (0.7, 2.0)),
    "bird": _Kind((0.11, 0.18), (11, 20), (35, 55), (6.0, 12.0)),
    "hoverfly": _Kind((0.009, 0.015), (120, 180), (30, 45), (1.5, 4.0)),
}


def light_called(name: str, rng: np.random.Generator) -> Light:
    """Return light of a named condition.

    Raises
    ------
    UnknownThing
        If there is no such condition.
    """
    if name not in LIGHTS:
        raise UnknownThing(f"no light called {name!r}; there are {', '.join(LIGHTS)}")
    light = random_light(rng)
    if name == "any":
        return light
    azimuth = {
        "front": rng.uniform(-35, 35),
        "side": rng.choice([-1, 1]) * rng.uniform(60, 105),
        "backlit": rng.choice([-1, 1]) * rng.uniform(130, 175),
    }
    light = replace(light, sun_azimuth_deg=float(azimuth.get(name, light.sun_azimuth_deg)))
    if name == "cloudy":
        return replace(light, sun=(0.06, 0.06, 0.06), sky=(0.60, 0.63, 0.67))
    if name == "low":
        return replace(
            light, sun_altitude_deg=float(rng.uniform(6, 14)), sun=(1.05, 0.72, 0.42), sky=(0.13, 0.16, 0.23)
        )
    return replace(light, sun=(1.20, 1.12, 0.98), sky=(0.16, 0.20, 0.27))


class _Draft:
    """A scene being planned: its random numbers, its camera focused for the wanted size, its clock."""

    def __init__(
        self,
        camera: Camera,
        n_frames: int,
        seed: int,
        wishes: Wishes,
        kinds: tuple[str, ...],
        size: tuple[float, float],
    ) -> None:
        self.rng = rng = np.random.default_rng([seed, 77])
        self.wishes, self.n_frames, self.seed = wishes, n_frames, seed
        self.kind = wishes.kind or str(rng.choice([k for k in kinds if k not in HELD_OUT_ANIMALS]))
        if self.kind not in _LIFE:
            raise UnknownThing(f"no animal called {self.kind!r}; there are {', '.join(KINDS)}")
        self.life = _LIFE[self.kind]
        self.length_m = float(rng.uniform(*self.life.length_m))
        share = wishes.size_in_frame or float(np.exp(rng.uniform(np.log(size[0]), np.log(size[1]))))
        m = share * camera.sensor_width_mm / (self.length_m * 1000)
        focus_m = float(focus_distance_for(camera.focal_length_mm, m)) / 1000
        self.camera = replace(camera, focus_distance_m=max(focus_m, 3.2 * camera.focal_length_mm / 1000))
        self.light = light_called(wishes.light, rng)
        self.times = times_for(n_frames / camera.frames_per_s)
        self.duration = n_frames / camera.frames_per_s
        self.focus = self.camera.focus_distance_m
        self.depth_m = self._depth_for(6.0)

    def _depth_for(self, disc_px: float) -> float:
        """Return how far from the focal plane a point's disc reaches ``disc_px``."""
        return disc_px * 0.01 / float(self.camera.disc_px(self.focus + 0.01))

    def actor(self, path: Reals, yaw: Reals | float, *, beating: Reals | float = 1.0, **more: object) -> Actor:
        """Return an animal along ``path``; attitude sways a little about ``yaw``."""
        rng, t = self.rng, self.times
        sway = self.life.amplitude_deg[0] / 15
        flying = np.broadcast_to(np.asarray(beating, np.float64), t.shape)
        angles = np.stack(
            [
                np.broadcast_to(yaw, t.shape) + flying * wobble(rng, t, 2 * sway, (0.5, 3)),
                float(rng.normal(6, 6)) + flying * wobble(rng, t, sway, (0.5, 4)),
                float(rng.normal(0, 6)) + flying * wobble(rng, t, 1.5 * sway, (0.5, 4)),
            ],
            1,
        )
        made = Actor(
            self.kind,
            int(rng.integers(2**31)),
            self.length_m,
            t,
            path,
            angles,
            np.array(flying),
            float(rng.uniform(*self.life.wingbeat_hz)),
            float(rng.uniform(*self.life.amplitude_deg)),
            elevation_deg=float(np.clip(rng.normal(12, 14), -15, 60)),
            phase=float(rng.uniform()),
            folds=self.kind in ("bird", "damselfly"),
            abdomen_bend=float(rng.normal(3, 5)),
        )
        return replace(made, **more)  # type: ignore[arg-type]

    def off_axis(self, spread: float = 0.12) -> Reals:
        """Return a place in the focal plane, near the middle of the frame."""
        scale = px_per_metre(self.camera, self.focus)
        x = self.rng.normal(0, spread) * self.camera.width_px / scale
        y = self.rng.normal(0, spread) * self.camera.height_px / scale
        return np.array([x, y, self.focus])

    def depth_wander(self, low: float, high: float) -> Reals:
        """Return a slow wandering through the focal plane, ``low`` to ``high`` times the depth of a 6 px disc. [m]"""
        reach = self.depth_m * float(self.rng.uniform(low, high))
        return wobble(self.rng, self.times, reach, (0.4, 2.5)) + float(self.rng.normal(0, 0.4)) * reach

    def shake(self, px_per_s: float) -> Reals:
        """Return the small motion of a hand-held camera, shape (n, 2). [px]"""
        return np.stack([wobble(self.rng, self.times, px_per_s / (2 * np.pi * 2.0), (0.7, 7)) for _ in (0, 1)], 1)

    def backdrop(self, families: tuple[str, ...] = TUNING_FAMILIES, near_focus: float = 0.35) -> Backdrop:
        """Return the background; with that chance close behind the focal plane, where it is as sharp as the animal."""
        rng = self.rng
        family = self.wishes.family or str(rng.choice(families))
        near = self.wishes.background_near_focus
        near = bool(rng.uniform() < near_focus) if near is None else near
        if family == "sky":
            distance = 800.0
        elif near:
            distance = self.focus + self._depth_for(float(rng.uniform(0.3, 9.0)))
        else:
            distance = self.focus * float(np.exp(rng.uniform(np.log(1.15), np.log(6))))
        return Backdrop(family, distance, int(rng.integers(2**31)), float(rng.uniform(0.75, 1.3)))

    def perch(self, actor: Actor, when: float) -> Perch:
        """Return a stalk whose tip is under the feet of an animal that sits at time ``when``."""
        rng = self.rng
        at = position_at(actor, np.array([when]))[0]
        pose = replace(pose_at(actor, when), is_perched=True)
        model = build_animal(actor.kind, pose, 64.0, actor.seed)
        feet = np.mean([stroke.points[-1] for stroke in model.strokes if stroke.part == Part.LEG], axis=0)
        reach = 0.9 * self.camera.height_px / px_per_metre(self.camera, self.focus)
        down = np.array([float(rng.normal(0, 0.25)), 1.0, float(rng.normal(0, 0.05))])
        grip = at + body_to_camera(pose) @ feet * self.length_m
        tip = grip - down * self.length_m * rng.uniform(0.0, 0.15)
        radius = float(self.length_m * rng.uniform(0.025, 0.05))
        colour = (0.26, 0.19, 0.11) if rng.uniform() < 0.5 else (0.12, 0.17, 0.05)
        return Perch(_triple(grip + down * reach), _triple(tip), radius, colour, int(rng.integers(2**31)))

    def stalk(self) -> Perch:
        """Return a stalk on which nothing sits."""
        tip = self.off_axis(0.2)
        foot = tip + np.array([float(self.rng.normal(0, 0.2)), 1.0, 0.0])
        return Perch(
            _triple(foot), _triple(tip), 0.04 * self.length_m, (0.2, 0.18, 0.08), int(self.rng.integers(2**31))
        )

    def done(
        self,
        name: str,
        actors: tuple[Actor, ...],
        pan: Reals,
        *,
        perches: tuple[Perch, ...] = (),
        backdrop: Backdrop | None = None,
    ) -> Scene:
        """Return the finished scene."""
        return Scene(
            name, self.camera, self.light, actors, backdrop or self.backdrop(), perches, self.times, pan, self.n_frames
        )


def _triple(v: Reals) -> tuple[float, float, float]:
    return float(v[0]), float(v[1]), float(v[2])


_INSECTS = ("dragonfly", "damselfly")
_ALL = ("dragonfly", "dragonfly", "damselfly", "bird")


def _hover(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, ("dragonfly", "dragonfly", "damselfly"), (0.10, 0.45))
    drift = float(d.rng.uniform(0.15, 0.6)) * d.length_m
    path = hover(d.rng, d.times, d.off_axis(), drift)
    path[:, 2] = d.focus + d.depth_wander(0.5, 2.5)
    return d.done("hover", (d.actor(path, d.rng.uniform(0, 360)),), d.shake(120))


def _pass(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, _ALL, (0.06, 0.28))
    sign = float(d.rng.choice([-1, 1]))
    speed = float(d.rng.uniform(*d.life.speed_m_s))
    lean = np.radians(wishes.angle_deg if wishes.angle_deg is not None else float(d.rng.normal(0, 9)))
    velocity = speed * np.array([sign * np.cos(lean), float(d.rng.normal(0, 0.06)), -np.sin(lean)])
    # Out of the plane a pass of a second may leave the depth of field far behind: the camera follows focus in part.
    velocity[2] = float(np.clip(velocity[2], -8 * d.depth_m / d.duration, 8 * d.depth_m / d.duration))
    path = straight(d.times, d.off_axis(0.05), velocity, 0.5 * d.duration)
    path[:, 1] += wobble(d.rng, d.times, 0.05 * d.length_m, (1, 5))
    pan = _following(d, path)
    yaw = np.degrees(np.arctan2(-velocity[2], velocity[0]))
    return d.done("pass", (d.actor(path, float(yaw)),), pan)


def _following(d: _Draft, path: Reals) -> Reals:
    """Return the turning of a photographer who follows: a share of a frame behind over the burst, unsteadily.

    The unsteadiness makes the motion blur: a tenth of a frame back and forth twice a second is a frame a second.
    """
    scale = px_per_metre(d.camera, d.focus)
    way = path[:, :2] * scale
    # The path crosses the frame's middle half way through the burst: there both agree.
    middle = int(np.abs(d.times - 0.5 * d.duration).argmin())
    whole = float(np.linalg.norm(way[-1] - way[0]))
    lost = min(0.3, float(d.rng.uniform(0.0, 0.8)) * d.camera.width_px / max(whole, 1.0)) * float(d.rng.choice([-1, 1]))
    unsteady = float(np.exp(d.rng.uniform(np.log(0.012), np.log(0.14)))) * d.camera.width_px
    lag = np.stack([wobble(d.rng, d.times, unsteady * s, (0.6, 4.0)) for s in (1.0, 0.5)], 1)
    jerks = float(d.rng.uniform(0, 0.10)) * d.camera.width_px
    lag += np.stack([wobble(d.rng, d.times, jerks * s, (2.5, 6.0)) for s in (1.0, 0.35)], 1)
    return np.asarray((way - way[middle]) * (1 - lost) + lag, np.float64)


def _take_off(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, _ALL, (0.10, 0.30))
    at = d.off_axis(0.10)
    angle = np.radians(wishes.angle_deg if wishes.angle_deg is not None else float(d.rng.uniform(-50, 50)))
    sign = float(d.rng.choice([-1, 1]))
    direction = np.array([sign * np.cos(angle), -0.35, -np.sin(angle)])
    direction /= np.linalg.norm(direction)
    when = float(d.rng.uniform(0.25, 0.6)) * d.duration
    path = take_off(d.times, at, direction, when, float(d.rng.uniform(8, 18)) * (1 if d.kind != "damselfly" else 0.6))
    path += sitting(d.rng, d.times, np.zeros(3), 0.01 * d.length_m)
    yaw = float(np.degrees(np.arctan2(-direction[2], direction[0])))
    flying = (d.times > when - 0.03).astype(np.float64)
    actor = d.actor(path, yaw, beating=flying)
    return d.done("take-off", (actor,), d.shake(60), perches=(d.perch(actor, 0.0),))


def _landing(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, _ALL, (0.10, 0.30))
    at = d.off_axis(0.10)
    angle = np.radians(wishes.angle_deg if wishes.angle_deg is not None else float(d.rng.uniform(-40, 40)))
    sign = float(d.rng.choice([-1, 1]))
    outward = np.array([sign * np.cos(angle), -0.45, -np.sin(angle)])
    outward /= np.linalg.norm(outward)
    when = float(d.rng.uniform(0.4, 0.75)) * d.duration
    path = landing(d.times, at, outward, when, float(d.rng.uniform(4, 9)) * (1 if d.kind != "damselfly" else 0.6))
    path += sitting(d.rng, d.times, np.zeros(3), 0.01 * d.length_m)
    yaw = float(np.degrees(np.arctan2(outward[2], -outward[0])))
    flying = (d.times < when + 0.03).astype(np.float64)
    actor = d.actor(path, yaw, beating=flying)
    return d.done("landing", (actor,), d.shake(60), perches=(d.perch(actor, d.duration),))


def _tandem(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, _INSECTS, (0.10, 0.22))
    path = hover(d.rng, d.times, d.off_axis(0.08), 0.2 * d.length_m)
    path[:, 2] = d.focus + d.depth_wander(0.3, 1.5)
    yaw = float(d.rng.uniform(-50, 50) + 180 * d.rng.integers(2))
    first = d.actor(path, yaw)
    first = replace(first, angles_deg=first.angles_deg * [1, 0.2, 0.5] + [0, 4, 0], elevation_deg=10.0)
    # He holds her behind the head with the tip of his abdomen: she hangs behind and below, a body length back.
    turn = np.radians(first.angles_deg[:, 0])
    back = -np.stack([np.cos(turn), 0 * turn - 0.20, -np.sin(turn)], 1) * 0.96 * d.length_m
    second = replace(d.actor(path + back, yaw), angles_deg=first.angles_deg + np.array([0, 12, 0]), elevation_deg=10.0)
    return d.done("tandem", (first, second), d.shake(120))


def _perched(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, _ALL, (0.12, 0.55))
    at = d.off_axis(0.10)
    at[2] += float(d.rng.normal(0, 0.6 * d.depth_m))
    path = sitting(d.rng, d.times, at, 0.05 * d.length_m)
    actor = d.actor(path, float(d.rng.uniform(0, 360)), beating=0.0)
    return d.done(
        "perched", (actor,), d.shake(150), perches=(d.perch(actor, 0.0),), backdrop=d.backdrop(near_focus=0.25)
    )


def _sky_bird(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    wishes = replace(wishes, family=wishes.family or "sky")
    d = _Draft(camera, n, seed, wishes, ("bird",), (0.04, 0.20))
    sign = float(d.rng.choice([-1, 1]))
    lean = float(d.rng.normal(0, 12))
    speed = float(d.rng.uniform(*d.life.speed_m_s))
    depth_speed = float(
        np.clip(speed * np.sin(np.radians(lean)), -8 * d.depth_m / d.duration, 8 * d.depth_m / d.duration)
    )
    velocity = np.array([sign * speed, float(d.rng.normal(0, 0.12)) * speed, depth_speed])
    path = straight(d.times, d.off_axis(0.05), velocity, 0.5 * d.duration)
    path[:, 1] += wobble(d.rng, d.times, 0.15 * d.length_m, (1, 4))
    yaw = float(np.degrees(np.arctan2(-velocity[2], velocity[0])))
    actor = replace(d.actor(path, yaw), elevation_deg=float(d.rng.uniform(-45, -8)))
    return d.done("bird crossing the sky", (actor,), _following(d, path))


def _empty(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, _ALL, (0.10, 0.30))
    pan = d.shake(float(d.rng.choice([100, 1500])))
    perches = (d.stalk(),) if d.rng.uniform() < 0.4 else ()
    return d.done("empty", (), pan, perches=perches)


def _edge(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    scene = _hover(camera, n, seed, wishes)
    rng = np.random.default_rng([seed, 91])
    side = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])[int(rng.integers(4))]
    middle_s = np.array([n / camera.frames_per_s / 2])
    scale = px_per_metre(scene.camera, scene.camera.focus_distance_m)
    at = position_at(scene.actors[0], middle_s)[0, :2] * scale - pan_at(scene, middle_s)[0]
    # In the middle of the burst the animal's middle is on the frame's edge or a little inside it.
    edge = side * (scene.camera.width_px / 2, scene.camera.height_px / 2) * rng.uniform(0.9, 1.0)
    shift = at * np.abs(side) - edge
    return replace(scene, scenario="frame edge", pan_px=scene.pan_px + shift)


def _several(camera: Camera, n: int, seed: int, wishes: Wishes) -> Scene:
    d = _Draft(camera, n, seed, wishes, _ALL, (0.07, 0.18))
    actors = []
    count = int(d.rng.integers(2, 5))
    for number in range(count):
        at = d.off_axis(0.10) + np.array(
            [(number - (count - 1) / 2) * 1.5 * d.length_m, 0, float(d.rng.normal(0, 0.8 * d.depth_m))]
        )
        path = hover(d.rng, d.times, at, 0.35 * d.length_m)
        path[:, 2] = at[2] + 0.2 * (path[:, 2] - at[2])
        actors.append(d.actor(path, float(d.rng.uniform(0, 360))))
    return d.done("several", tuple(actors), d.shake(150))


_PLANS: dict[str, Callable[[Camera, int, int, Wishes], Scene]] = {
    "hover": _hover,
    "pass": _pass,
    "take-off": _take_off,
    "landing": _landing,
    "tandem": _tandem,
    "perched": _perched,
    "bird crossing the sky": _sky_bird,
    "empty": _empty,
    "frame edge": _edge,
    "several": _several,
}
SCENARIOS = tuple(_PLANS)


def plan_scene(scenario: str, camera: Camera, n_frames: int, seed: int, wishes: Wishes | None = None) -> Scene:
    """Return the scene of a named scenario for that camera; the same arguments give the same scene.

    Raises
    ------
    UnknownThing
        If the scenario, or an animal, light or background wished for, is not known.
    OutsideModel
        If the number of frames is not 1 to 2000.
    """
    if scenario not in _PLANS:
        raise UnknownThing(f"no scenario called {scenario!r}; there are {', '.join(SCENARIOS)}")
    if not 1 <= n_frames <= 2000:
        raise OutsideModel("n_frames", n_frames, 1, 2000, "frames")
    wanted = wishes or Wishes()
    if wanted.light == "any":
        assert not set(HELD_OUT_LIGHTS) & {"any", "front", "side", "cloudy", "low"}
    return _PLANS[scenario](camera, n_frames, seed, wanted)
