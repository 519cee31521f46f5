"""One animal in one frame: drawn, moved through the exposure, blurred by its depth; with the truth of that blur."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.spread import blur_of, disc_variance, path_covariance
from stillwing.scene.actors import Actor, Scene, pose_at
from stillwing.scene.blurtruth import truth_of
from stillwing.scene.canvas import Canvas
from stillwing.scene.moment import may_show, moment_of
from stillwing.scene.pieces import pieces_of

__all__ = ["Seen", "see"]

Floats = NDArray[np.float32]
SMALLEST_PX = 8.0
FINE_BELOW_BLUR_PX = 1.6
"""Bodies blurred less are drawn twice as fine: there the drawing's own pixels would show."""
FINE_BELOW_PX = 500.0


@dataclass(frozen=True, slots=True)
class Seen:
    """An animal as the lens draws it: premultiplied ``rgb``, ``alpha`` and ``cover`` at (``x``, ``y``) of the frame.

    What lies beyond the frame is cut off; ``share_in_frame`` says how much was left. ``truth`` is what is known of it.
    """

    rgb: Floats
    alpha: Floats
    cover: Floats
    x: int
    y: int
    distance_m: float
    share_in_frame: float
    truth: dict[str, Any]


def see(scene: Scene, actor: Actor, frame_start_s: float) -> Seen | None:
    """Return the animal in the frame whose first row is read at ``frame_start_s``; ``None`` where nothing shows."""
    camera = scene.camera
    moment = moment_of(scene, actor, frame_start_s)
    if moment.length_px < SMALLEST_PX or not may_show(camera, moment):
        return None
    pose = pose_at(actor, moment.middle_s)
    defocus = float(np.sqrt(disc_variance(camera.disc_px(moment.distance_m))))
    blur = float(np.hypot(defocus, blur_of(path_covariance(moment.path_px))))
    fine = 2 if blur < FINE_BELOW_BLUR_PX or moment.length_px < FINE_BELOW_PX else 1
    pieces, phases = pieces_of(scene, actor, moment, pose, fine)
    canvas = Canvas(pieces, camera, moment, actor.length_m)
    if canvas.is_empty or not canvas.whole_cover:
        return None
    body = next(piece.layer for piece in pieces if piece.layer.name == "body")
    truth = truth_of(camera, actor, moment, pose, body, phases, fine)
    share = min(1.0, canvas.shown_cover / canvas.whole_cover)
    return Seen(
        canvas.rgba[..., :3], canvas.rgba[..., 3], canvas.cover, canvas.x, canvas.y, moment.distance_m, share, truth
    )
