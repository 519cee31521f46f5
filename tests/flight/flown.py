"""Flights with known truth, and what a camera would see of them: drawn here with formulas of their own."""

from dataclasses import dataclass

import numpy as np

from stillwing.flight.seen import FlightKit, SeenFrame
from stillwing.optics.subject import Range

PITCH_MM, FOCAL_MM, F_NUMBER = 0.0033, 300.0, 6.7
FOCUS_MM = 3000.0
"""From the front principal plane."""
MAGNIFICATION = FOCAL_MM / (FOCUS_MM - FOCAL_MM)
SENSOR_M = (FOCUS_MM + FOCUS_MM * MAGNIFICATION) / 1000
FOCUS_M = Range(SENSOR_M, SENSOR_M, SENSOR_M)
WIDTH, HEIGHT = 5184, 3888
FOLLOWS = 0.9
"""Share of the animal's way that the camera follows."""


FOCAL = Range(FOCAL_MM, FOCAL_MM, FOCAL_MM)


def kit(f_number=F_NUMBER, exposure_s=1 / 2000, focal=FOCAL):
    return FlightKit(PITCH_MM, focal, f_number, exposure_s, WIDTH, HEIGHT, own_blur_px=0.25)


@dataclass(frozen=True)
class Flown:
    """Truth: moments (n,), places (n, 3) in mm, the third from the focal plane; speeds (n, 3) in mm/s."""

    times_s: np.ndarray
    places_mm: np.ndarray
    speeds_mm_s: np.ndarray

    @property
    def offsets_mm(self):
        """How far off the focal plane of a camera that looks at it."""
        return np.linalg.norm(self.places_mm + np.array([0.0, 0.0, FOCUS_MM]), axis=1) - FOCUS_MM

    @property
    def towards_m_s(self):
        """How fast it comes nearer to the lens in each frame."""
        from_lens = self.places_mm + np.array([0.0, 0.0, FOCUS_MM])
        return -np.sum(self.speeds_mm_s * from_lens, axis=1) / np.linalg.norm(from_lens, axis=1) / 1000

    def angle_deg(self, follows=FOLLOWS):
        """Of the way from first to last frame to the focal plane as it stood in the middle frame."""
        from_lens = self.places_mm[len(self.times_s) // 2] + np.array([0.0, 0.0, FOCUS_MM])
        turned = follows * np.arctan2(from_lens[:2], from_lens[2])
        ahead = np.array([np.tan(turned[0]), np.tan(turned[1]), 1.0])
        way = self.places_mm[-1] - self.places_mm[0]
        return float(np.degrees(np.arcsin(-way @ ahead / np.linalg.norm(ahead) / np.linalg.norm(way))))

    @property
    def mean_speed_m_s(self):
        steps = np.linalg.norm(np.diff(self.places_mm, axis=0), axis=1).sum()
        return steps / (self.times_s[-1] - self.times_s[0]) / 1000


def passing(n=30, rate=18.0, speed_m_s=1.0, angle_deg=20.0, towards=1, crosses_at=15.0, sideways_sign=1):
    """Even flight at an angle to the focal plane, through it at a frame; towards the lens for 1, away for -1."""
    t = np.arange(n) / rate
    turned = np.radians(angle_deg)
    velocity = 1000 * speed_m_s * np.array([sideways_sign * np.cos(turned), 0.0, -towards * np.sin(turned)])
    return Flown(t, np.outer(t - crosses_at / rate, velocity), np.tile(velocity, (n, 1)))


def launched(n=30, rate=50.0, pull_m_s2=8.0, angle_deg=20.0, towards=1, starts_at=10, offset_mm=0.0):
    """At rest, then evenly faster."""
    t = np.arange(n) / rate
    turned = np.radians(angle_deg)
    along = np.array([np.cos(turned), -0.3, -towards * np.sin(turned)])
    along /= np.linalg.norm(along)
    since = np.maximum(t - starts_at / rate, 0)[:, None]
    places = 500 * pull_m_s2 * since**2 * along + np.array([0, 0, offset_mm])
    return Flown(t, places, 1000 * pull_m_s2 * since * along)


@dataclass(frozen=True)
class Noise:
    """Errors as standard deviations: of the centre over the body, of size and blur as shares, of the background.

    ``common`` is that of all readings of blur alike, ``floor`` that of the blur in the focal plane itself.
    """

    centre: float = 0.015
    size: float = 0.03
    blur: float = 0.10
    background_px: float = 0.5
    common: float = 0.0
    floor: float = 0.0


def seen(
    flown,
    rng,
    noise=Noise(),
    *,
    f_number=F_NUMBER,
    exposure_s=1 / 2000,
    half_depth_mm=5.0,
    body_mm=50.0,
    follows=FOLLOWS,
    background=True,
):
    """Return what the camera sees: it follows a share of the way, unsteadily."""
    n, t = len(flown.times_s), flown.times_s
    image_px = FOCUS_MM * MAGNIFICATION / PITCH_MM
    # Directions and distances from the lens; the camera turns, and its focal plane with it.
    from_lens = flown.places_mm + np.array([0.0, 0.0, FOCUS_MM])
    bearing = np.arctan2(from_lens[:, :2], from_lens[:, 2:])
    wobble = 0.0006 * np.column_stack([np.sin(2 * np.pi * 1.3 * t + rng.uniform(0, 6)), np.sin(2 * np.pi * 0.9 * t)])
    turned = follows * bearing + wobble
    pan = image_px * turned
    place = image_px * np.tan(bearing - turned)
    distance = np.linalg.norm(from_lens, axis=1) * np.cos(np.linalg.norm(bearing - turned, axis=1))
    px_per_mm = image_px / distance
    offset = distance - FOCUS_MM
    picture_speed = np.gradient(place, t, axis=0)
    moved = np.linalg.norm(picture_speed, axis=1) * exposure_s
    direction = np.degrees(np.arctan2(picture_speed[:, 1], picture_speed[:, 0])) % 180
    off = np.maximum(0.2 * half_depth_mm, np.abs(offset) - 0.6 * half_depth_mm)
    disc = FOCAL_MM / f_number * MAGNIFICATION * off / distance / PITCH_MM
    working = f_number * (1 + MAGNIFICATION)
    floor = 1 / 12 + 0.04 + 0.25**2 + (np.sqrt(2) / np.pi * 0.00055 * working / PITCH_MM) ** 2
    floor *= np.exp(2 * rng.normal(0, noise.floor)) if noise.floor else 1.0
    minor = np.sqrt(floor + disc**2 / 16)
    major = np.sqrt(minor**2 + moved**2 / 12)
    err = np.exp(rng.normal(0, noise.blur, n) + (rng.normal(0, noise.common) if noise.common else 0.0))
    wide = np.exp(1.645 * noise.blur)
    size = body_mm * px_per_mm
    frames = []
    for k in range(n):
        centre_sd = noise.centre * size[k]
        shift = -(pan[k] - pan[k - 1]) + rng.normal(0, noise.background_px, 2) if k and background else (np.nan,) * 2
        blur = np.sqrt((minor[k] ** 2 + major[k] ** 2) / 2) * err[k]
        frames.append(
            SeenFrame(
                t[k] + 7.0,
                place[k, 0] + (WIDTH - 1) / 2 + rng.normal(0, centre_sd),
                place[k, 1] + (HEIGHT - 1) / 2 + rng.normal(0, centre_sd),
                centre_sd,
                size[k] * np.exp(rng.normal(0, noise.size)),
                noise.size * size[k],
                minor[k] * err[k],
                major[k] * err[k],
                blur / wide,
                blur * wide,
                direction[k] if moved[k] > 1.5 * minor[k] else np.nan,
                shift[0],
                shift[1],
                noise.background_px if background and k else np.nan,
            )
        )
    return tuple(frames)
