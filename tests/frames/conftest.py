"""Small rendered bursts whose truth is known, made once for all tests of finding and measuring."""

from dataclasses import dataclass, replace
from typing import Any

import pytest

from stillwing.frames.bursts import group_bursts
from stillwing.frames.frame import Burst
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import Box
from stillwing.scene.burst import render_burst
from stillwing.scene.camera import camera_of
from stillwing.scene.scenarios import Wishes


@dataclass(frozen=True)
class Rendered:
    """A burst of frames with one animal in each, and the truth of each frame."""

    burst: Burst
    animals: tuple[dict[str, Any], ...]

    @property
    def boxes(self):
        return [Box(*map(float, animal["box"])) for animal in self.animals]

    @property
    def blurs_px(self):
        return [animal["sharpest"]["blur_px"] for animal in self.animals]


@pytest.fixture(scope="session")
def render(tmp_path_factory):
    """Give a function that renders a burst of 3 MP frames."""

    def make(scenario, kind, seed, n_frames=4, **camera):
        folder = tmp_path_factory.mktemp("rendered")
        chosen = replace(camera_of(3), iso=800, exposure_s=1 / 2000, **camera)
        wishes = Wishes(kind=kind, size_in_frame=0.25)
        truth = render_burst(scenario, chosen, folder, n_frames, seed=seed, workers=1, wishes=wishes)
        (burst,) = group_bursts(list_frames(folder).frames)
        animals = [frame["animals"][0] for frame in truth["frames"] if frame["animals"]]
        return Rendered(burst, tuple(animals))

    return make


@pytest.fixture(scope="session")
def passing(render):
    """A dragonfly that passes at 1.9, 1.1, 0.7 and 1.3 px of blur."""
    return render("pass", "dragonfly", 13)


@pytest.fixture(scope="session")
def bird(render):
    """A bird that crosses the sky."""
    return render("bird crossing the sky", "bird", 11)
