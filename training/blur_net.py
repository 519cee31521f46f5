"""Train the network that reads the point spread of an animal from patches of it.

    python training/blur_net.py --bank BANK --out OUT [--steps 9000] [--width 16] [--device cuda]

BANK holds ``backgrounds/*.jpg`` (real pictures, reduced until they are sharp) and ``sharp/*.png`` (large animals drawn
by `stillwing.scene`, grey with alpha), both made by the scripts beside this one. Needs torch, which the
package does not.

A sample is a set of ``N_PATCHES`` patches of one animal: they share the motion, the light, the noise, the sharpening
and the JPEG quality, while each has its own defocus (parts of an animal lie at different depths), its own texture, and
may hold the animal's edge against a background of another blur. In half of the sets the texture runs the same way in
all patches, as feathers and segments do along a body, and often the motion runs along it, as animals fly head first:
what is alike in all patches must not be taken for motion. The point spread is exact by construction: a disc, a line and
a Gaussian, or a Gaussian in place of the disc, multiplied as optical transfer functions at twice the size, then
averaged over the pixel. It gives the blur of the sharpest part of the set, the shape of its point spread, and the blur
of every patch.
"""

import argparse
import copy
import math
import time
from pathlib import Path

import cv2
import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

PATCH = 64
N_PATCHES = 12
OVER = 2
PAD = 24
SIDE = (PATCH + 2 * PAD) * OVER
TILE = 640
ALIKE_SHARE = 0.5
"""Sets whose texture runs one way in all patches, and by how much it turns within such a set."""
TURN_WITHIN = 0.2
REACHING_SHARE = 0.2
"""Sets of an animal that reaches far out of the focal plane."""
SOFT_SHARE = 0.12
"""Sets whose defocus is a Gaussian, as added by software, not a disc."""
SHARP_SHARE = 0.2
"""The sharpest part: the blur that this share of the animal is sharper than."""


# Textures ------------------------------------------------------------------------------------------


def drawn(rng: np.random.Generator, family: str) -> np.ndarray:
    """A tile of shapes of all sizes: discs, polygons, lines and cells such as veins make."""
    tile = np.full((TILE, TILE), int(rng.uniform(30, 200)), np.uint8)
    mean, spread = rng.uniform(60, 170), rng.uniform(20, 65)
    count = {"disc": 900, "polygon": 900, "line": 600, "cell": 0}[family]
    for _ in range(count):
        size = TILE * 0.25 * (1 + rng.uniform() * (60**2 - 1)) ** -0.5
        x, y = rng.uniform(0, TILE, 2)
        tone = int(np.clip(rng.normal(mean, spread), 3, 252))
        if family == "disc":
            axes = (int(size + 1), int(size * rng.uniform(0.3, 1) + 1))
            cv2.ellipse(tile, (int(x), int(y)), axes, rng.uniform(0, 180), 0, 360, tone, -1, cv2.LINE_AA)
        elif family == "polygon":
            angle = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 7)))
            reach = size * rng.uniform(0.4, 1.2, angle.size)
            corners = np.stack([x + reach * np.cos(angle), y + reach * np.sin(angle)], 1)
            cv2.fillPoly(tile, [corners.astype(np.int32)], tone, cv2.LINE_AA)
        else:
            a, length = rng.uniform(0, np.pi), rng.uniform(0.02, 0.4) * TILE
            end = (int(x + length * np.cos(a)), int(y + length * np.sin(a)))
            cv2.line(tile, (int(x), int(y)), end, tone, int(rng.choice([1, 1, 2, 2, 3, 4, 6, 9, 14])), cv2.LINE_AA)
    if family == "cell":
        points = rng.uniform(0, TILE, (int(rng.uniform(150, 2500)), 2)) * [rng.uniform(0.4, 1), 1]
        voronoi = cv2.Subdiv2D((0, 0, TILE, TILE))
        for x, y in points:
            voronoi.insert((float(min(x, TILE - 1)), float(min(y, TILE - 1))))
        facets, _ = voronoi.getVoronoiFacetList([])
        ink, jitter = int(rng.uniform(0, 90)), rng.uniform(0, 30)
        for facet in facets:
            shape = [np.clip(facet, -5000, 5000).astype(np.int32)]
            cv2.fillPoly(tile, shape, int(np.clip(rng.normal(mean, jitter), 3, 252)), cv2.LINE_AA)
            cv2.polylines(tile, shape, True, ink, int(rng.choice([1, 1, 2, 3])), cv2.LINE_AA)
    return tile


def photo_tiles(folder: Path, per_picture: int, rng: np.random.Generator) -> list[np.ndarray]:
    """Tiles of real pictures with the most detail of several tries."""
    tiles = []
    for path in sorted(folder.glob("*.jpg")):
        picture = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
        rows, cols = picture.shape
        if min(rows, cols) < TILE:
            continue
        tries = []
        for _ in range(per_picture * 3):
            y, x = rng.integers(0, rows - TILE + 1), rng.integers(0, cols - TILE + 1)
            tile = picture[y : y + TILE, x : x + TILE]
            tries.append((float(cv2.Laplacian(tile, cv2.CV_32F).std()), tile))
        tries.sort(key=lambda pair: -pair[0])
        tiles += [tile for detail, tile in tries[:per_picture] if detail > 12]
    return tiles


def sprite_tiles(folder: Path, rng: np.random.Generator) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Tiles of drawn animals, grey and alpha; where the animal ends, its mean tone goes on under alpha 0."""
    greys, alphas = [], []
    for path in sorted(folder.glob("*.png")):
        picture = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
        grey, alpha = (
            (picture[..., 0], picture[..., -1]) if picture.ndim == 3 else (picture, np.full_like(picture, 255))
        )
        solid = np.argwhere(alpha > 200)
        if len(solid) < 4000:
            continue
        for _ in range(3):
            y, x = solid[rng.integers(len(solid))] - TILE // 2
            grey_tile = np.zeros((TILE, TILE), np.uint8)
            alpha_tile = np.zeros((TILE, TILE), np.uint8)
            top, left = max(y, 0), max(x, 0)
            piece = grey[top : y + TILE, left : x + TILE]
            grey_tile[top - y : top - y + piece.shape[0], left - x : left - x + piece.shape[1]] = piece
            alpha_tile[top - y : top - y + piece.shape[0], left - x : left - x + piece.shape[1]] = alpha[
                top : y + TILE, left : x + TILE
            ]
            greys.append(grey_tile)
            alphas.append(alpha_tile)
    return greys, alphas


class Bank:
    """All tiles on the device: grey (n, TILE, TILE) and, for animals, alpha; families are ranges of indices."""

    def __init__(self, folder: Path, device: str, *, seed: int, n_drawn: int, held_out: bool = False) -> None:
        rng = np.random.default_rng(seed)
        tiles: list[np.ndarray] = []
        self.families: dict[str, tuple[int, int]] = {}

        def add(name: str, new: list[np.ndarray]) -> None:
            if new:
                self.families[name] = (len(tiles), len(tiles) + len(new))
                tiles.extend(new)

        for family in ("disc", "polygon", "line", "cell"):
            add(family, [drawn(rng, family) for _ in range(n_drawn)])
        add("photo", photo_tiles(folder / ("backgrounds_dev" if held_out else "backgrounds"), 4, rng))
        greys, alphas = sprite_tiles(folder / ("sharp_dev" if held_out else "sharp"), rng)
        add("sprite", greys)
        self.grey = torch.from_numpy(np.stack(tiles)).to(device)
        self.alpha = torch.from_numpy(np.stack(alphas)).to(device) if alphas else None
        self.device = device

    def pick(self, n: int, weights: dict[str, float]) -> torch.Tensor:
        """Return ``n`` tile indices, families drawn by weight."""
        names = [name for name in self.families if weights.get(name, 0) > 0]
        share = torch.tensor([weights[name] for name in names])
        family = torch.multinomial(share, n, replacement=True)
        low = torch.tensor([self.families[name][0] for name in names])[family]
        high = torch.tensor([self.families[name][1] for name in names])[family]
        return (low + (torch.rand(n) * (high - low)).long()).to(self.device)


# Samples -------------------------------------------------------------------------------------------


def turns(n_sets: int, device: str) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    """How each patch is turned and mirrored, (n_sets * N_PATCHES,), and which way its texture then runs, (n_sets,).

    The last is NaN where the patches are turned each its own way.
    """
    of_set = torch.rand(n_sets, device=device) * 2 * math.pi
    alike = torch.rand(n_sets, device=device) < ALIKE_SHARE
    each = of_set[:, None] + TURN_WITHIN * torch.randn(n_sets, N_PATCHES, device=device)
    own = torch.rand(n_sets, N_PATCHES, device=device) * 2 * math.pi
    angle = torch.where(alike[:, None], each, own).flatten()
    mirror = torch.where(torch.rand(n_sets, device=device) < 0.5, -1.0, 1.0).repeat_interleave(N_PATCHES)
    # A tile is turned back by the angle that its sampling is turned by.
    return angle, mirror, torch.where(alike, -of_set, math.nan)


def crop(
    bank: Bank, tile: torch.Tensor, angle: torch.Tensor, mirror: torch.Tensor, n_tries: int = 4
) -> tuple[torch.Tensor, torch.Tensor]:
    """Turned and scaled crops of the tiles, the one with most detail of several; grey 0..1 and alpha 0..1."""
    n = tile.numel()
    device = bank.device
    best = torch.full((n,), -1.0, device=device)
    picked = torch.zeros(n, 3, device=device)
    first_sprite = bank.families.get("sprite", (bank.grey.shape[0], 0))[0]
    is_sprite = tile >= first_sprite
    for _ in range(n_tries):
        centre = torch.rand(n, 2, device=device) * 0.5 + 0.25
        # The middle of a sprite's tile is solid animal.
        centre = torch.where(is_sprite[:, None], torch.rand(n, 2, device=device) * 0.24 + 0.38, centre)
        at = (centre * (TILE - 1)).long()
        ar = torch.arange(-32, 32, 4, device=device)
        look = bank.grey[
            tile[:, None, None], (at[:, 1, None] + ar)[:, :, None], (at[:, 0, None] + ar)[:, None, :]
        ].float()
        detail = look.std((1, 2)) + torch.rand(n, device=device) * 12
        better = detail > best
        best = torch.where(better, detail, best)
        picked = torch.where(better[:, None], torch.cat([centre, torch.zeros(n, 1, device=device)], 1), picked)
    zoom = torch.exp(torch.empty(n, device=device).uniform_(math.log(0.9), math.log(1.9)))
    grid = torch.linspace(-1, 1, SIDE, device=device) * (SIDE / TILE)
    gy, gx = torch.meshgrid(grid, grid, indexing="ij")
    c, s = (torch.cos(angle) * zoom)[:, None, None], (torch.sin(angle) * zoom)[:, None, None]
    x = mirror[:, None, None] * (c * gx - s * gy) + (picked[:, 0] * 2 - 1)[:, None, None]
    y = s * gx + c * gy + (picked[:, 1] * 2 - 1)[:, None, None]
    where = torch.stack([x, y], -1)
    grey = F.grid_sample(
        bank.grey[tile][:, None].float() / 255, where, mode="bilinear", padding_mode="reflection", align_corners=True
    )[:, 0]
    alpha = torch.ones_like(grey)
    if bank.alpha is not None and bool(is_sprite.any()):
        part = F.grid_sample(
            bank.alpha[(tile - first_sprite).clamp_min(0)][is_sprite][:, None].float() / 255,
            where[is_sprite],
            mode="bilinear",
            padding_mode="zeros",
            align_corners=True,
        )[:, 0]
        alpha[is_sprite] = part
    return grey, alpha


def blob(n: int, device: str) -> torch.Tensor:
    """Random smooth-edged regions, alpha 0..1, that cover from a quarter to all of a crop."""
    seed = torch.randn(n, 1, 7, 7, device=device)
    field = F.interpolate(seed, size=(SIDE, SIDE), mode="bicubic", align_corners=True)[:, 0]
    level = torch.quantile(field.flatten(1)[:, ::37], 0.35, dim=1)[:, None, None] * torch.rand(n, 1, 1, device=device)
    middle = field[:, SIDE // 2, SIDE // 2][:, None, None]
    field = field * torch.where(middle < level, -1.0, 1.0)
    return ((field - level) * 40 + 0.5).clamp(0, 1)


def transfer(radius: torch.Tensor, length: torch.Tensor, angle: torch.Tensor, gauss: torch.Tensor) -> torch.Tensor:
    """Optical transfer function of disc x line x Gaussian, all in oversampled px, (n, SIDE, SIDE // 2 + 1)."""
    device = radius.device
    fx = torch.fft.rfftfreq(SIDE, device=device)[None, None, :]
    fy = torch.fft.fftfreq(SIDE, device=device)[None, :, None]
    rho = torch.sqrt(fx**2 + fy**2)
    a = 2 * math.pi * rho * radius[:, None, None]
    disc = torch.where(a < 1e-3, torch.ones_like(a), 2 * torch.special.bessel_j1(a) / a.clamp_min(1e-6))
    along = (fx * torch.cos(angle)[:, None, None] + fy * torch.sin(angle)[:, None, None]) * length[:, None, None]
    return disc * torch.sinc(along) * torch.exp(-2 * math.pi**2 * rho**2 * gauss[:, None, None] ** 2)


def spread(picture: torch.Tensor, otf: torch.Tensor) -> torch.Tensor:
    """Apply a transfer function."""
    return torch.fft.irfft2(torch.fft.rfft2(picture) * otf, s=picture.shape[-2:])


def uniform(n: int, low: float, high: float, device: str) -> torch.Tensor:
    """Uniform figures."""
    return torch.empty(n, device=device).uniform_(low, high)


def log_uniform(n: int, low: float, high: float, device: str) -> torch.Tensor:
    """Figures uniform in their logarithm."""
    return torch.exp(uniform(n, math.log(low), math.log(high), device))


STANDARD_QUANTISATION = torch.tensor(
    # ITU-T T.81 (1992), annex K, table K.1.
    [
        [16, 11, 10, 16, 24, 40, 51, 61],
        [12, 12, 14, 19, 26, 58, 60, 55],
        [14, 13, 16, 24, 40, 57, 69, 56],
        [14, 17, 22, 29, 51, 87, 80, 62],
        [18, 22, 37, 56, 68, 109, 103, 77],
        [24, 35, 55, 64, 81, 104, 113, 92],
        [49, 64, 78, 87, 103, 121, 120, 101],
        [72, 92, 95, 98, 112, 100, 103, 99],
    ],
    dtype=torch.float32,
)


def jpeg(picture: torch.Tensor, quality: torch.Tensor) -> torch.Tensor:
    """Quantise 8 x 8 blocks as a JPEG of that quality does."""
    device = picture.device
    k = torch.arange(8, dtype=torch.float32, device=device)
    basis = torch.cos(math.pi * (2 * k[None] + 1) * k[:, None] / 16) / 2
    basis[0] /= math.sqrt(2)
    scale = torch.where(quality < 50, 5000 / quality, 200 - 2 * quality) / 100
    table = torch.clamp(torch.round(STANDARD_QUANTISATION.to(device)[None] * scale[:, None, None]), 1, 255)
    n, rows, cols = picture.shape
    blocks = picture.reshape(n, rows // 8, 8, cols // 8, 8).permute(0, 1, 3, 2, 4) - 128
    step = table[:, None, None]
    blocks = torch.round(basis @ blocks @ basis.T / step) * step
    blocks = basis.T @ blocks @ basis + 128
    return blocks.permute(0, 1, 3, 2, 4).reshape(n, rows, cols).clamp(0, 255).round()


def gaussian_kernel(sigma: torch.Tensor, reach: int) -> torch.Tensor:
    """Normalised kernels of shape (n, 2 reach + 1)."""
    x = torch.arange(-reach, reach + 1, device=sigma.device)
    k = torch.exp(-(x[None] ** 2) / (2 * sigma[:, None] ** 2))
    return k / k.sum(1, keepdim=True)


def smooth(picture: torch.Tensor, sigma: torch.Tensor, reach: int = 3) -> torch.Tensor:
    """Blur each picture by its own Gaussian."""
    k = gaussian_kernel(sigma, reach)
    n = picture.shape[0]
    p = F.pad(picture[None], (reach, reach, reach, reach), mode="reflect")
    p = F.conv2d(p, k[:, None, None, :], groups=n)
    return F.conv2d(p, k[:, None, :, None], groups=n)[0]


WEIGHTS = {"disc": 0.6, "polygon": 1.0, "line": 0.9, "cell": 1.0, "photo": 4.0, "sprite": 5.0}


def point_spreads(
    n_sets: int, runs: torch.Tensor, device: str
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor, torch.Tensor]:
    """Defocus sigma (n_sets, N_PATCHES), motion sigma, motion angle and base Gaussian (n_sets), all in pixels.

    ``runs`` (n_sets,) is the way in which the texture runs, NaN where it runs many ways.
    """
    kind = torch.randint(0, 5, (n_sets,), device=device)  # 0, 1 defocus; 2 motion; 3 both; 4 sharp
    defocus = log_uniform(n_sets, 0.3, 6.0, device)
    motion = log_uniform(n_sets, 0.3, 7.0, device)
    weak = uniform(n_sets, 0.0, 0.45, device)
    defocus = torch.where(kind == 2, weak * defocus.clamp_max(1.2), torch.where(kind == 4, weak, defocus))
    motion = torch.where(kind <= 1, weak * 0.8 * motion.clamp_max(1.5), torch.where(kind == 4, weak * 0.8, motion))
    still = torch.rand(n_sets, device=device) < 0.3
    motion = torch.where(still & (kind != 2) & (kind != 3), torch.zeros_like(motion), motion)
    depth = uniform(n_sets, 0.0, 1.0, device) ** 2 * (0.3 + 0.6 * defocus)
    per_patch = torch.abs(defocus[:, None] + depth[:, None] * torch.randn(n_sets, N_PATCHES, device=device))
    # A long body that reaches out of the focal plane: some patches sharp, others far from it.
    reaching = torch.rand(n_sets, device=device) < REACHING_SHARE
    away = torch.rand(n_sets, N_PATCHES, device=device) * log_uniform(n_sets, 0.8, 5.0, device)[:, None]
    per_patch = torch.where(reaching[:, None], torch.hypot(per_patch, away), per_patch)
    along = runs + torch.where(torch.rand(n_sets, device=device) < 0.75, 0.0, math.pi / 2)
    along = along + 0.2 * torch.randn(n_sets, device=device)
    any_way = uniform(n_sets, 0, math.pi, device)
    is_along = ~torch.isnan(runs) & (torch.rand(n_sets, device=device) < 0.6)
    angle = torch.where(is_along, torch.remainder(along, math.pi), any_way)
    return per_patch.clamp_max(6.5), motion, angle, uniform(n_sets, 0.3, 0.65, device)


def develop(linear: torch.Tensor, n_sets: int, device: str) -> torch.Tensor:
    """From light to 8-bit grey as a camera writes it: noise, tone curve, noise reduction, sharpening, JPEG."""

    def per_patch(value: torch.Tensor) -> torch.Tensor:
        return value.repeat_interleave(N_PATCHES)

    gain, read = log_uniform(n_sets, 1e-5, 2e-3, device), log_uniform(n_sets, 3e-4, 6e-3, device)
    noise = torch.randn_like(linear)
    grain = torch.where(torch.rand(n_sets, device=device) < 0.7, uniform(n_sets, 0.45, 1.0, device), 0.15)
    sigma = per_patch(grain)
    noise = smooth(noise, sigma, 4)
    noise = noise / noise.std((1, 2), keepdim=True).clamp_min(1e-6)
    # The noise of a demosaiced pixel is smaller than that of the photosite by about the smoothing's width.
    noise = noise * (1 / (1 + sigma))[:, None, None]
    light = linear + noise * torch.sqrt(
        linear.clamp_min(0) * per_patch(gain)[:, None, None] + per_patch(read)[:, None, None] ** 2
    )
    gamma = per_patch(uniform(n_sets, 0.38, 0.55, device))[:, None, None]
    value = 255 * light.clamp(1e-6, 1) ** gamma
    amount = torch.where(torch.rand(n_sets, device=device) < 0.6, uniform(n_sets, 0.1, 1.3, device), 0.0)
    detail = value - smooth(value, per_patch(uniform(n_sets, 0.6, 1.3, device)), 4)
    value = (value + per_patch(amount)[:, None, None] * detail).clamp(0, 255)
    shift = int(torch.randint(0, 8, (1,)))
    value = F.pad(value[None], (shift, 8 - shift, shift, 8 - shift), mode="reflect")[0]
    packed = jpeg(value, per_patch(uniform(n_sets, 82, 98, device)))
    return packed[:, shift : shift + PATCH, shift : shift + PATCH]


def batch(bank: Bank, n_sets: int, weights: dict[str, float] = WEIGHTS) -> dict[str, torch.Tensor]:
    """Return patches (n_sets, N_PATCHES, 2, PATCH, PATCH) and their truth."""
    device = bank.device
    n = n_sets * N_PATCHES
    # Most sets are of one tile, as an animal is of one texture; some mix.
    tile = bank.pick(n_sets, weights).repeat_interleave(N_PATCHES)
    other = bank.pick(n, weights)
    tile = torch.where(torch.rand(n, device=device) < 0.25, other, tile)
    turn, mirror, runs = turns(n_sets, device)
    grey, alpha = crop(bank, tile, turn, mirror)
    other_turn, other_mirror, _ = turns(n_sets, device)
    scenery = bank.pick(n, {k: v for k, v in weights.items() if k != "sprite"})
    behind, _ = crop(bank, scenery, other_turn, other_mirror, 1)
    edged = (torch.rand(n, device=device) < 0.45)[:, None, None]
    alpha = torch.where(edged & (alpha.amin((1, 2), keepdim=True) > 0.5), blob(n, device), alpha)

    def light(picture: torch.Tensor, low: float) -> torch.Tensor:
        exposure = log_uniform(n_sets, low, 1.2, device).repeat_interleave(N_PATCHES)[:, None, None]
        contrast = uniform(n_sets, 0.2, 1.0, device).repeat_interleave(N_PATCHES)[:, None, None]
        linear = picture**2.2
        mean = linear.mean((1, 2), keepdim=True)
        return ((linear - mean) * contrast + mean) * exposure

    grey, behind = light(grey, 0.12), light(behind, 0.05)
    defocus, motion, angle, base = point_spreads(n_sets, runs, device)
    flat = defocus.flatten()
    each = lambda value: value.repeat_interleave(N_PATCHES)  # noqa: E731
    over = float(OVER)
    # The pixel's own box is applied by averaging; the sampling of the tiles adds about 0.25 px of the output.
    gauss = torch.sqrt((each(base) ** 2 - 0.2**2).clamp_min(0.01))
    is_soft = each(torch.rand(n_sets, device=device) < SOFT_SHARE)
    disc, soft = torch.where(is_soft, 0.0, flat), torch.where(is_soft, torch.hypot(gauss, flat), gauss)
    otf = transfer(2 * disc * over, each(motion) * math.sqrt(12) * over, each(angle), soft * over)
    seen = spread(alpha, otf)
    animal = spread(grey * alpha, otf)
    far = transfer(
        2 * log_uniform(n, 0.2, 7, device) * over,
        uniform(n, 0, 6, device) * over,
        uniform(n, 0, math.pi, device),
        gauss * over,
    )
    whole = animal + spread(behind, far) * (1 - seen)
    small = F.avg_pool2d(whole[:, None], OVER)[:, 0][:, PAD:-PAD, PAD:-PAD].clamp_min(0)
    mask = F.avg_pool2d(seen[:, None], OVER)[:, 0][:, PAD:-PAD, PAD:-PAD]
    # The outline is known roughly: grown or shrunk by some pixels, and coarse.
    rough = F.avg_pool2d(F.pad(mask[:, None], (4, 4, 4, 4), mode="replicate"), 9, 1)[:, 0]
    mask = (rough > uniform(n, 0.1, 0.7, device)[:, None, None]).float()
    value = develop(small, n_sets, device)
    variance = flat**2 + each(base) ** 2 + 1 / 12
    minor, major = torch.sqrt(variance), torch.sqrt(variance + each(motion) ** 2)
    round_px = torch.sqrt((minor**2 + major**2) / 2).reshape(n_sets, N_PATCHES)
    weight = (mask.mean((1, 2)).reshape(n_sets, N_PATCHES)).clamp_min(0.01)
    sharpest = weighted_quantile(round_px, weight, SHARP_SHARE)
    # Shape of the spread at the sharpest part: the motion is common, the rest follows from the round figure.
    minor_sharp = torch.sqrt((sharpest**2 - motion**2 / 2).clamp_min(0.04))
    stretch = torch.log(torch.sqrt(minor_sharp**2 + motion**2) / minor_sharp)
    return {
        "patches": torch.stack([value, mask * 255], 1).reshape(n_sets, N_PATCHES, 2, PATCH, PATCH),
        "blur": torch.log(sharpest),
        "each": torch.log(round_px),
        "weight": weight,
        "stretch": torch.stack([stretch * torch.cos(2 * angle), stretch * torch.sin(2 * angle)], 1),
        "motion": motion,
        "angle": angle,
        "defocus": torch.sqrt((minor_sharp**2 - base**2 - 1 / 12).clamp_min(0)),
        "tile": tile[::N_PATCHES],
    }


def weighted_quantile(value: torch.Tensor, weight: torch.Tensor, share: float) -> torch.Tensor:
    """Quantile along the last axis, each figure holding its weight, linear between midpoints."""
    order = value.argsort(-1)
    v, w = value.gather(-1, order), weight.gather(-1, order)
    mid = (w.cumsum(-1) - w / 2) / w.sum(-1, keepdim=True)
    at = (mid < share).sum(-1, keepdim=True).clamp(1, value.shape[-1] - 1)
    lo, hi = mid.gather(-1, at - 1), mid.gather(-1, at)
    t = ((share - lo) / (hi - lo).clamp_min(1e-6)).clamp(0, 1)
    return (v.gather(-1, at - 1) * (1 - t) + v.gather(-1, at) * t)[..., 0]


# Network -------------------------------------------------------------------------------------------


def block(i: int, o: int, stride: int = 1) -> nn.Module:
    """Convolution, normalisation, ramp."""
    return nn.Sequential(nn.Conv2d(i, o, 3, stride, 1, bias=False), nn.BatchNorm2d(o), nn.ReLU())


class BlurNet(nn.Module):
    """Patches (b, k, 2, 64, 64) in DN and 0 or 255; gives (b, 6) for the set and (b, k, 2) for the patches."""

    def __init__(self, width: int = 16) -> None:
        super().__init__()
        w = width
        self.see = nn.Sequential(
            block(2, w), block(w, w, 2), block(w, 2 * w), block(2 * w, 2 * w, 2),
            block(2 * w, 4 * w), block(4 * w, 4 * w, 2), block(4 * w, 4 * w),
        )  # fmt: skip
        self.tell = nn.Sequential(nn.Linear(8 * w + 2, 96), nn.ReLU())
        self.share = nn.Sequential(nn.Linear(288, 96), nn.ReLU())
        self.patch_head = nn.Linear(96, 2)
        self.set_head = nn.Sequential(nn.Linear(192, 96), nn.ReLU(), nn.Linear(96, 6))

    def forward(self, patches: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """Return the set's figures and the patches' figures."""
        b, k = patches.shape[:2]
        x = patches.flatten(0, 1)
        grey, mask = x[:, :1], x[:, 1:] / 255
        mean = grey.mean((2, 3), keepdim=True)
        spread_dn = torch.sqrt(((grey - mean) ** 2).mean((2, 3), keepdim=True)) + 2
        z = self.see(torch.cat([(grey - mean) / spread_dn, mask * 2 - 1], 1))
        seen = torch.cat([z.mean((2, 3)), z.amax((2, 3)), torch.log(spread_dn[:, :, 0, 0]) / 3, mask.mean((2, 3))], 1)
        e = self.tell(seen).reshape(b, k, 96)
        common = torch.cat([e.mean(1), e.amax(1)], 1)[:, None].expand(b, k, 192)
        h = self.share(torch.cat([e, common], 2))
        return self.set_head(torch.cat([h.mean(1), h.amax(1)], 1)), self.patch_head(h)


def laplace(mean: torch.Tensor, log_scale: torch.Tensor, truth: torch.Tensor) -> torch.Tensor:
    """Negative log likelihood of a Laplace distribution."""
    return (mean - truth).abs() * torch.exp(-log_scale) + log_scale


def loss_of(out: torch.Tensor, each: torch.Tensor, truth: dict[str, torch.Tensor]) -> torch.Tensor:
    """Sum of the three parts: the set's blur, its stretch, each patch's blur."""
    blur = laplace(out[:, 0], out[:, 1].clamp(-5, 2), truth["blur"])
    stretch = laplace(out[:, 2:4], out[:, 4:5].clamp(-5, 2), truth["stretch"]).sum(1)
    patch = (laplace(each[..., 0], each[..., 1].clamp(-5, 2), truth["each"]) * truth["weight"]).mean(1)
    return (blur + 0.7 * stretch + 0.4 * patch).mean()


@torch.no_grad()
def report(net: nn.Module, bank: Bank, name: str, weights: dict[str, float], n_batches: int = 12) -> None:
    """Print the errors by size of blur, the coverage of the raw 90 % interval and the share of right kinds."""
    net.eval()
    outs, truths = [], []
    for _ in range(n_batches):
        t = batch(bank, 128, weights)
        out, _ = net(t["patches"])
        outs.append(out)
        truths.append({k: t[k] for k in ("blur", "stretch", "motion", "defocus", "angle")})
    out = torch.cat(outs)
    t = {k: torch.cat([x[k] for x in truths]) for k in truths[0]}
    true, got = t["blur"].exp(), out[:, 0].exp()
    line = []
    for low, high in ((0.4, 0.7), (0.7, 1), (1, 1.6), (1.6, 3), (3, 5), (5, 8)):
        k = (true >= low) & (true < high)
        if k.sum() > 10:
            error = (got - true).abs()[k]
            line.append(f"{low}-{high}: {error.median():.3f} px {100 * (error / true[k]).median():.1f}%")
    within = ((out[:, 0] - t["blur"]).abs() < 2.3026 * out[:, 1].clamp(-5, 2).exp()).float().mean()
    stretch = out[:, 2:4].norm(dim=1)
    minor = torch.sqrt(2 * got**2 / (1 + torch.exp(2 * stretch)))
    motion = torch.sqrt(((minor * stretch.exp()) ** 2 - minor**2).clamp_min(0))
    defocus = torch.sqrt((minor**2 - 0.5**2 - 1 / 12).clamp_min(0))
    clear = ((t["motion"] > 2 * t["defocus"]) | (t["defocus"] > 2 * t["motion"])) & (
        torch.maximum(t["motion"], t["defocus"]) > 0.7
    )
    right = ((motion > defocus) == (t["motion"] > t["defocus"]))[clear].float().mean()
    moving = (t["motion"] > 2 * t["defocus"]) & (t["motion"] > 0.7)
    turn = 0.5 * torch.atan2(out[:, 3], out[:, 2]) - t["angle"]
    turn = torch.rad2deg(torch.remainder(turn + math.pi / 2, math.pi) - math.pi / 2).abs()[moving]
    print(f"{name} | {' | '.join(line)} | inside 90 %: {within:.3f} | kind {right:.3f} | "
          f"direction < 15 deg {(turn < 15).float().mean():.3f}", flush=True)  # fmt: skip
    net.train()


def export(net: nn.Module, path: Path) -> None:
    """Write the network as ONNX for any number of patches."""
    net = net.eval().cpu()
    example = torch.zeros(1, N_PATCHES, 2, PATCH, PATCH)
    torch.onnx.export(
        net, (example,), str(path), input_names=["patches"], output_names=["set", "each"],
        dynamic_axes={"patches": {0: "sets", 1: "patches"}, "set": {0: "sets"}, "each": {0: "sets", 1: "patches"}},
        opset_version=17, dynamo=False,
    )  # fmt: skip


def main() -> None:
    """Train, report, export."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--bank", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--steps", type=int, default=9000)
    parser.add_argument("--sets", type=int, default=80)
    parser.add_argument("--width", type=int, default=16)
    parser.add_argument("--drawn", type=int, default=40)
    parser.add_argument("--seconds", type=float, default=1e9, help="stop early, with the learning rate run down")
    parser.add_argument("--device", default="cuda")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--start", type=Path, help="weights to begin with, blur.pt of an earlier run")
    args = parser.parse_args()
    torch.manual_seed(args.seed)
    start = time.time()
    bank = Bank(args.bank, args.device, seed=args.seed, n_drawn=args.drawn)
    dev = Bank(args.bank, args.device, seed=args.seed + 1, n_drawn=8, held_out=True)
    print("tiles", {k: b - a for k, (a, b) in bank.families.items()}, {k: b - a for k, (a, b) in dev.families.items()},
          f"{time.time() - start:.0f} s", flush=True)  # fmt: skip
    net = BlurNet(args.width).to(args.device)
    if args.start:
        net.load_state_dict(torch.load(args.start, map_location=args.device))
    print("weights", sum(p.numel() for p in net.parameters()))
    optimiser = torch.optim.AdamW(net.parameters(), lr=1e-3, weight_decay=1e-3)
    average = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True
    )
    kept: list[dict[str, torch.Tensor]] = []
    begun, step = time.time(), 0
    while step < args.steps:
        done = max(step / args.steps, (time.time() - begun) / args.seconds)
        if done >= 1:
            break
        rate = 2.5e-3 * min(1, step / 300) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-6
        for group in optimiser.param_groups:
            group["lr"] = rate
        # Every other step looks again at an earlier batch: making one costs more than learning from it.
        if step % 2 == 0 or len(kept) < 8:
            truth = batch(bank, args.sets)
            kept.append({k: v.half() if k == "patches" else v for k, v in truth.items()})
            del kept[:-300]
        else:
            truth = {k: v.float() for k, v in kept[int(torch.randint(len(kept), (1,)))].items()}
        out, each = net(truth["patches"])
        loss = loss_of(out, each, truth)
        optimiser.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        average.update_parameters(net)
        if step % 500 == 0:
            print(step, f"{loss.item():.3f}", f"{time.time() - start:.0f} s", flush=True)
        step += 1
    final = average.module
    args.out.mkdir(parents=True, exist_ok=True)
    torch.save(final.state_dict(), args.out / "blur.pt")
    export(copy.deepcopy(final), args.out / "blur.onnx")
    report(final, bank, f"seen, {step} steps", WEIGHTS)
    for family in dev.families:
        report(final, dev, f"held out {family}", {family: 1.0, "photo": 1e-6, "line": 1e-6}, 4)
    print("done", f"{time.time() - start:.0f} s")


if __name__ == "__main__":
    main()
