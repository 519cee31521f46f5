"""Pictures with animals in them, composed on the graphics processor for training the finder and the outliner.

Real photographs and drawn grounds lie behind; animals, drawn and real, and things that are no animals (pieces of other
pictures with animal-like outlines, stems) lie before them, each layer with its own blur, in linear light. What is
pasted is not always an animal, so that a seam or a sharp piece gives nothing away.
"""

import math
from pathlib import Path

import cv2
import numpy as np
import torch
import torch.nn.functional as F

GROUND_W, GROUND_H = 1664, 1248
SPRITE = 512


def drawn_ground(seed: int) -> np.ndarray:
    """A ground of shapes: leaves, reeds, twigs, ripples or soft light; grey uint8."""
    rng = np.random.default_rng(seed)
    w, h = GROUND_W, GROUND_H
    coarse = rng.normal(size=(rng.integers(2, 7), rng.integers(2, 8))) * rng.uniform(10, 60) + rng.uniform(50, 200)
    picture = cv2.resize(np.clip(coarse, 0, 255).astype(np.uint8), (w, h), interpolation=cv2.INTER_CUBIC)
    kind = rng.integers(0, 5)
    mean, spread = rng.uniform(50, 180), rng.uniform(15, 60)

    def tone() -> int:
        return int(np.clip(rng.normal(mean, spread), 3, 252))

    if kind in (0, 1):  # leaves of all sizes
        for _ in range(int(rng.uniform(200, 2500))):
            size = 220 * (1 + rng.uniform() * 40**2) ** -0.5 + 3
            centre = (int(rng.uniform(-50, w + 50)), int(rng.uniform(-50, h + 50)))
            axes = (int(size), int(size * rng.uniform(0.2, 1)) + 1)
            cv2.ellipse(picture, centre, axes, rng.uniform(0, 180), 0, 360, tone(), -1, cv2.LINE_AA)
    if kind in (1, 2):  # reeds
        tilt = rng.normal(0, 0.15)
        for _ in range(int(rng.uniform(15, 200))):
            x, y, a = rng.uniform(-100, w + 100), h * rng.uniform(0.3, 1.1), math.pi / 2 + tilt + rng.normal(0, 0.12)
            length = rng.uniform(200, 1500)
            end = (int(x - length * math.cos(a)), int(y - length * math.sin(a)))
            cv2.line(picture, (int(x), int(y)), end, tone(), int(rng.integers(2, 30)), cv2.LINE_AA)
    if kind == 3:  # ripples
        rows = rng.normal(size=(int(rng.uniform(60, 300)), int(rng.uniform(8, 60)))) * rng.uniform(8, 50) + mean
        picture = cv2.resize(np.clip(rows, 0, 255).astype(np.uint8), (w, h), interpolation=cv2.INTER_CUBIC)
    if kind == 4:  # twigs
        for _ in range(rng.integers(3, 25)):
            branch(rng, picture, rng.uniform(0, w), rng.uniform(h * 0.3, h * 1.1), -math.pi / 2 + rng.normal(0, 0.6),
                   rng.uniform(60, 300), rng.uniform(3, 30), tone())  # fmt: skip
    return picture


def branch(rng, picture, x, y, angle, length, width, tone) -> None:
    """Draw a forking twig."""
    while length > 12 and width >= 1:
        x2, y2 = x + length * math.cos(angle), y + length * math.sin(angle)
        cv2.line(picture, (int(x), int(y)), (int(x2), int(y2)), tone, max(1, int(width)), cv2.LINE_AA)
        if rng.uniform() < 0.5:
            branch(rng, picture, x2, y2, angle + rng.normal(0, 0.8), length * 0.6, width * 0.6, tone)
        x, y, angle = x2, y2, angle + rng.normal(0, 0.25)
        length, width = length * rng.uniform(0.6, 0.95), width * 0.85


def cover(picture: np.ndarray, x_share: float) -> np.ndarray:
    """Resize to cover GROUND_W x GROUND_H and cut there."""
    rows, cols = picture.shape
    scale = max(GROUND_W / cols, GROUND_H / rows)
    method = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    big = cv2.resize(
        picture, (max(GROUND_W, round(cols * scale)), max(GROUND_H, round(rows * scale))), interpolation=method
    )
    x, y = int((big.shape[1] - GROUND_W) * x_share), int((big.shape[0] - GROUND_H) * x_share)
    return big[y : y + GROUND_H, x : x + GROUND_W]


def load_grounds(folders: list[Path]) -> np.ndarray:
    """All pictures of the folders as (n, GROUND_H, GROUND_W) uint8; wide ones give two."""
    out = []
    for folder in folders:
        for path in sorted(folder.glob("*.jpg")):
            picture = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
            out.append(cover(picture, 0.0))
            if max(picture.shape) / min(picture.shape) > 1.45:
                out.append(cover(picture, 1.0))
    return np.stack(out)


def fit_sprite(picture: np.ndarray) -> np.ndarray | None:
    """Scale a BGRA or grey-alpha picture into a SPRITE square, (2, SPRITE, SPRITE) uint8: grey and alpha."""
    alpha = picture[..., -1]
    grey = picture[..., 0] if picture.shape[2] == 2 else cv2.cvtColor(picture[..., :3], cv2.COLOR_BGR2GRAY)
    solid = np.argwhere(alpha > 60)
    if len(solid) < 200:
        return None
    (y0, x0), (y1, x1) = solid.min(0), solid.max(0) + 1
    grey, alpha = grey[y0:y1, x0:x1], alpha[y0:y1, x0:x1]
    scale = (SPRITE - 32) / max(grey.shape)
    size = (max(1, round(grey.shape[1] * scale)), max(1, round(grey.shape[0] * scale)))
    out = np.zeros((2, SPRITE, SPRITE), np.uint8)
    method = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    y, x = (SPRITE - size[1]) // 2, (SPRITE - size[0]) // 2
    out[0, y : y + size[1], x : x + size[0]] = cv2.resize(grey, size, interpolation=method)
    out[1, y : y + size[1], x : x + size[0]] = cv2.resize(alpha, size, interpolation=method)
    # Under alpha 0 the tone goes on, so that interpolation brings no dark rim.
    clear = out[1] < 8
    if clear.any() and not clear.all():
        _, label = cv2.distanceTransformWithLabels(
            clear.astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL
        )
        first = np.zeros(label.max() + 1, np.uint8)
        first[label[~clear]] = out[0][~clear]
        out[0][clear] = first[label[clear]]
    return out


def load_sprite(path: Path) -> np.ndarray | None:
    """One sprite of a file, or ``None`` where it holds none."""
    picture = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    return fit_sprite(picture) if picture is not None and picture.ndim == 3 else None


def load_sprites(folder: Path, pool) -> np.ndarray:
    """All sprites of a folder, (n, 2, SPRITE, SPRITE) uint8."""
    out = [sprite for sprite in pool.map(load_sprite, sorted(folder.glob("*.png"))) if sprite is not None]
    return np.stack(out) if out else np.zeros((0, 2, SPRITE, SPRITE), np.uint8)


class Stock:
    """Grounds and sprites on the device."""

    def __init__(self, bank: Path, device: str, pool, *, n_drawn: int, dev: bool = False) -> None:
        tail = "_dev" if dev else ""
        real = load_grounds([bank / f"backgrounds{tail}"])
        rendered = [bank / f"grounds{tail}"]
        self.n_real = len(real)
        parts = [real]
        if rendered[0].exists():
            parts.append(load_grounds(rendered))
        drawn = list(pool.map(drawn_ground, range(9000 if dev else 0, (9000 if dev else 0) + n_drawn)))
        if drawn:
            parts.append(np.stack(drawn))
        self.grounds = torch.from_numpy(np.concatenate(parts)).to(device)
        self.n_rendered = len(parts[1]) if rendered[0].exists() else 0
        real_sprites = load_sprites(bank / f"animals{tail}", pool)
        drawn_sprites = load_sprites(bank / f"sprites{tail}", pool)
        self.n_real_sprites = len(real_sprites)
        full = torch.from_numpy(np.concatenate([real_sprites, drawn_sprites]))
        # At SPRITE, and at halves of it, so that thin parts do not alias where the animal is small.
        self.sprites = [full.to(device)]
        for _ in range(4):
            last = self.sprites[-1]
            half = torch.cat([F.avg_pool2d(part.float(), 2).round().byte() for part in last.split(256)])
            self.sprites.append(half)
        self.device = device

    def pick_ground(self, n: int) -> torch.Tensor:
        """Indices of grounds: real most often, then rendered, then drawn."""
        total = len(self.grounds)
        r = torch.rand(n)
        real = (torch.rand(n) * self.n_real).long()
        rendered = self.n_real + (torch.rand(n) * max(1, self.n_rendered)).long()
        start = self.n_real + self.n_rendered
        drawn = start + (torch.rand(n) * max(1, total - start)).long()
        out = torch.where(r < 0.62, real, torch.where(r < 0.86, rendered, drawn))
        return out.clamp_max(total - 1).to(self.device)

    def pick_sprite(self, n: int, share_real: float = 0.5) -> tuple[torch.Tensor, torch.Tensor]:
        """Indices of sprites and whether each is a real one."""
        is_real = torch.rand(n) < (share_real if self.n_real_sprites else 0.0)
        total = len(self.sprites[0])
        real = (torch.rand(n) * max(1, self.n_real_sprites)).long()
        drawn = self.n_real_sprites + (torch.rand(n) * (total - self.n_real_sprites)).long()
        return torch.where(is_real, real, drawn.clamp_max(total - 1)).to(self.device), is_real.to(self.device)


def uniform(n: int, low: float, high: float, device: str) -> torch.Tensor:
    """Uniform figures."""
    return torch.empty(n, device=device).uniform_(low, high)


def log_uniform(n: int, low: float, high: float, device: str) -> torch.Tensor:
    """Figures uniform in their logarithm."""
    return torch.exp(uniform(n, math.log(low), math.log(high), device))


def grid(h: int, w: int, device: str) -> tuple[torch.Tensor, torch.Tensor]:
    """Pixel centres."""
    y, x = torch.meshgrid(torch.arange(h, device=device) + 0.5, torch.arange(w, device=device) + 0.5, indexing="ij")
    return x, y


def cut_ground(stock: Stock, index: torch.Tensor, h: int, w: int, low: float = 0.35) -> torch.Tensor:
    """Random crops of grounds at (h, w), linear light 0..1."""
    n, device = index.numel(), stock.device
    share = log_uniform(n, low, 1.0, device)
    fit = min(GROUND_W / w, GROUND_H / h)
    cw, ch = share * fit * w, share * fit * h
    x0 = torch.rand(n, device=device) * (GROUND_W - cw)
    y0 = torch.rand(n, device=device) * (GROUND_H - ch)
    x, y = grid(h, w, device)
    flip = torch.where(torch.rand(n, device=device) < 0.5, -1.0, 1.0)[:, None, None]
    gx = x0[:, None, None] + (x[None] / w) * cw[:, None, None]
    gy = y0[:, None, None] + (y[None] / h) * ch[:, None, None]
    where = torch.stack([(gx / GROUND_W * 2 - 1) * flip, gy / GROUND_H * 2 - 1], -1)
    out = torch.empty(n, h, w, device=device)
    for i, number in enumerate(index.tolist()):  # one at a time: gathering the grounds for a batch would copy them
        out[i] = F.grid_sample(
            stock.grounds[number][None, None].float(),
            where[i : i + 1],
            mode="bilinear",
            padding_mode="reflection",
            align_corners=False,
        )[0, 0]
    gamma = log_uniform(n, 0.65, 1.5, device)[:, None, None]
    return (out / 255).clamp(0, 1) ** (2.2 * gamma)


def optical(h: int, w: int, radius: torch.Tensor, length: torch.Tensor, angle: torch.Tensor) -> torch.Tensor:
    """Transfer function of a disc and a line, shape (n, h, w // 2 + 1)."""
    device = radius.device
    fx = torch.fft.rfftfreq(w, device=device)[None, None, :]
    fy = torch.fft.fftfreq(h, device=device)[None, :, None]
    a = 2 * math.pi * torch.sqrt(fx**2 + fy**2) * radius[:, None, None]
    disc = torch.where(a < 1e-3, torch.ones_like(a), 2 * torch.special.bessel_j1(a) / a.clamp_min(1e-6))
    return disc * torch.sinc(
        (fx * torch.cos(angle)[:, None, None] + fy * torch.sin(angle)[:, None, None]) * length[:, None, None]
    )


def blurred(picture: torch.Tensor, otf: torch.Tensor) -> torch.Tensor:
    """Apply a transfer function; never below zero."""
    return torch.fft.irfft2(torch.fft.rfft2(picture) * otf, s=picture.shape[-2:]).clamp_min(0)


def place_sprite(stock: Stock, index, length, cx, cy, angle, squash, h, w) -> tuple[torch.Tensor, torch.Tensor]:
    """Sprites as (grey linear, alpha) on canvases (n, h, w); ``length`` is the sprite's longest side in pixels."""
    device = stock.device
    x, y = grid(h, w, device)
    dx, dy = x[None] - cx[:, None, None], y[None] - cy[:, None, None]
    c, s = torch.cos(angle)[:, None, None], torch.sin(angle)[:, None, None]
    per_px = (SPRITE - 32) / length[:, None, None]
    mirror = torch.where(torch.rand(index.numel(), device=device) < 0.5, -1.0, 1.0)[:, None, None]
    u = (c * dx + s * dy) * per_px * mirror
    v = (-s * dx + c * dy) * per_px / squash[:, None, None]
    where = torch.stack([u / (SPRITE / 2), v / (SPRITE / 2)], -1)
    level = torch.log2(((SPRITE - 32) / length).clamp_min(1.0)).round().long().clamp_max(len(stock.sprites) - 1)
    both = torch.empty(index.numel(), 2, h, w, device=device)
    for k in level.unique().tolist():
        at = (level == k).nonzero()[:, 0]
        both[at] = F.grid_sample(
            stock.sprites[k][index[at]].float() / 255,
            where[at],
            mode="bilinear",
            padding_mode="zeros",
            align_corners=False,
        )
    return both[:, 0].clamp(0, 1) ** 2.2, both[:, 1]


def blob_alpha(n: int, length, cx, cy, angle, h, w, device) -> torch.Tensor:
    """Outlines of no animal: lumps and slivers of the given length."""
    x, y = grid(h, w, device)
    dx, dy = x[None] - cx[:, None, None], y[None] - cy[:, None, None]
    c, s = torch.cos(angle)[:, None, None], torch.sin(angle)[:, None, None]
    thin = log_uniform(n, 0.15, 1.0, device)[:, None, None]
    u, v = (c * dx + s * dy) / length[:, None, None] * 2, (-s * dx + c * dy) / length[:, None, None] * 2 / thin
    field = F.grid_sample(
        torch.randn(n, 1, 9, 9, device=device),
        torch.stack([u, v], -1),
        mode="bicubic",
        padding_mode="border",
        align_corners=True,
    )[:, 0]
    edge = field * uniform(n, 0.1, 0.9, device)[:, None, None] + 1.2 - 1.3 * torch.sqrt(u**2 + v**2)
    return (edge * length[:, None, None] * 0.25).clamp(0, 1)


def stem_alpha(n: int, width, cx, cy, angle, h, w, device) -> torch.Tensor:
    """Long bent strips through the point (cx, cy)."""
    x, y = grid(h, w, device)
    dx, dy = x[None] - cx[:, None, None], y[None] - cy[:, None, None]
    c, s = torch.cos(angle)[:, None, None], torch.sin(angle)[:, None, None]
    u, v = c * dx + s * dy, -s * dx + c * dy
    bend = uniform(n, -0.0003, 0.0003, device)[:, None, None]
    begin = uniform(n, -1.5, 0.2, device)[:, None, None] * h
    return ((width[:, None, None] / 2 - (v + bend * u**2).abs()) + 0.5).clamp(0, 1) * (u > begin)


def over(top: torch.Tensor, top_alpha: torch.Tensor, below: torch.Tensor, below_alpha: torch.Tensor):
    """Premultiplied over-operator."""
    return top + below * (1 - top_alpha), top_alpha + below_alpha * (1 - top_alpha)


def things(
    stock: Stock, n: int, h: int, w: int, size: tuple[float, float], other: torch.Tensor
) -> tuple[torch.Tensor, torch.Tensor]:
    """Layer of up to three things that are no animals, premultiplied, with its alpha."""
    device = stock.device
    layer, layer_alpha = torch.zeros(n, h, w, device=device), torch.zeros(n, h, w, device=device)
    for _ in range(3):
        at = (torch.rand(n, device=device) < 0.3).nonzero()[:, 0]
        m = at.numel()
        if not m:
            continue
        length = w * log_uniform(m, size[0], size[1], device)
        cx, cy, angle = uniform(m, 0, w, device), uniform(m, 0, h, device), uniform(m, 0, 2 * math.pi, device)
        is_stem = torch.rand(m, device=device) < 0.45
        alpha = torch.where(
            is_stem[:, None, None],
            stem_alpha(m, w * log_uniform(m, 0.002, 0.03, device), cx, cy, angle, h, w, device),
            blob_alpha(m, length, cx, cy, angle, h, w, device),
        )
        shade = log_uniform(m, 0.3, 2.5, device)[:, None, None]
        layer[at], layer_alpha[at] = over((other[at] * shade).clamp(0, 1) * alpha, alpha, layer[at], layer_alpha[at])
    soft = torch.rand(n, device=device) < 0.5
    radius = torch.where(soft, uniform(n, 0.2, 1.5, device), log_uniform(n, 1, 30, device)) * h / 1152
    zero = torch.zeros(n, device=device)
    otf = optical(h, w, radius, zero, zero)
    return blurred(layer, otf), blurred(layer_alpha, otf)


def lit(grey: torch.Tensor, alpha: torch.Tensor, cx, cy, length) -> torch.Tensor:
    """Give an animal its light: brighter, darker, flatter, shaded to one side, or against the light."""
    n, h, w = grey.shape
    device = grey.device
    mean = (grey * alpha).sum((1, 2)) / alpha.sum((1, 2)).clamp_min(1)
    contrast = uniform(n, 0.4, 1.3, device)[:, None, None]
    grey = ((grey - mean[:, None, None]) * contrast + mean[:, None, None]).clamp(0, 1)
    x, y = grid(h, w, device)
    side = uniform(n, 0, 2 * math.pi, device)[:, None, None]
    slope = (
        (x[None] - cx[:, None, None]) * torch.cos(side) + (y[None] - cy[:, None, None]) * torch.sin(side)
    ) / length[:, None, None]
    gain = log_uniform(n, 0.3, 2.0, device)[:, None, None]
    grey = grey * gain * (1 + uniform(n, 0, 0.9, device)[:, None, None] * slope).clamp(0.2, 2)
    return torch.where((torch.rand(n, device=device) < 0.08)[:, None, None], grey * 0.08, grey).clamp(0, 1)


def scene(
    stock: Stock,
    n: int,
    h: int,
    w: int,
    size: tuple[float, float],
    n_animals: torch.Tensor,
    spread: float = 0.97,
    cover_step: int = 4,
) -> dict:
    """Compose ``n`` pictures in linear light.

    Returns ``animal`` and ``animal_alpha`` (premultiplied layer), ``ground`` (all that is behind), ``front`` and
    ``front_alpha``, ``covers`` (n, most, h / cover_step, w / cover_step: each animal's own alpha after blur),
    ``lengths`` [px] and ``is_real``.
    """
    device = stock.device
    zero = torch.zeros(n, device=device)
    big = h / 1152
    far = cut_ground(stock, stock.pick_ground(n), h, w)
    soft = (torch.rand(n, device=device) < 0.5).nonzero()[:, 0]
    if soft.numel():
        far[soft] = blurred(
            far[soft], optical(h, w, log_uniform(soft.numel(), 0.7, 70, device) * big, zero[soft], zero[soft])
        )
    far = far * log_uniform(n, 0.5, 1.4, device)[:, None, None]
    other = cut_ground(stock, stock.pick_ground(n), h, w, 0.2)
    layer, layer_alpha = things(stock, n, h, w, size, other)
    ground = layer + far * (1 - layer_alpha)
    del far, layer, layer_alpha

    most = max(int(n_animals.max()), 1)
    animal, animal_alpha = torch.zeros(n, h, w, device=device), torch.zeros(n, h, w, device=device)
    covers = torch.zeros(n, most, h // cover_step, w // cover_step, device=device)
    lengths = torch.ones(n, most, device=device)
    real_any = torch.zeros(n, dtype=torch.bool, device=device)
    length0 = w * log_uniform(n, size[0], size[1], device)
    for k in range(most):
        at = (n_animals.to(device) > k).nonzero()[:, 0]
        m = at.numel()
        if not m:
            continue
        index, is_real = stock.pick_sprite(m)
        length = length0[at] * (1 if k == 0 else log_uniform(m, 0.6, 1.3, device))
        cx = w / 2 + (torch.rand(m, device=device) - 0.5) * w * spread
        cy = h / 2 + (torch.rand(m, device=device) - 0.5) * h * spread
        turn = torch.where(
            torch.rand(m, device=device) < 0.5, uniform(m, -0.7, 0.7, device), uniform(m, 0, 2 * math.pi, device)
        )
        grey, alpha = place_sprite(stock, index, length, cx, cy, turn, log_uniform(m, 0.75, 1.0, device), h, w)
        grey = lit(grey, alpha, cx, cy, length)
        animal[at], animal_alpha[at] = over(grey * alpha, alpha, animal[at], animal_alpha[at])
        covers[at, k] = F.avg_pool2d(alpha[:, None], cover_step)[:, 0]
        lengths[at, k] = length
        real_any[at] |= is_real
        pick = (torch.rand(m, device=device) < 0.25).nonzero()[:, 0]
        if k == 0 and pick.numel():  # a perch under it, as sharp as the animal
            perched, p = at[pick], pick.numel()
            tilt = torch.where(
                torch.rand(p, device=device) < 0.5, uniform(p, -0.5, 0.5, device), uniform(p, 1.2, 1.9, device)
            )
            below = cy[pick] + length[pick] * uniform(p, 0.05, 0.35, device)
            stem = stem_alpha(p, length[pick] * log_uniform(p, 0.02, 0.12, device), cx[pick], below, tilt, h, w, device)
            shade = log_uniform(p, 0.3, 2.0, device)[:, None, None]
            under = 1 - animal_alpha[perched]
            animal[perched] = animal[perched] + (other[perched].flip(2) * shade).clamp(0, 1) * stem * under
            animal_alpha[perched] = animal_alpha[perched] + stem * under
    sharp = torch.rand(n, device=device) < 0.35
    scale = big if h > 600 else 1
    radius = (
        torch.where(sharp, uniform(n, 0.1, 0.8, device), torch.minimum(log_uniform(n, 0.8, 16, device), length0 / 9))
        * scale
    )
    moving = torch.rand(n, device=device) < 0.3
    line = torch.where(moving, torch.minimum(log_uniform(n, 1, 40, device), length0 / 6), zero) * scale
    angle = uniform(n, 0, math.pi, device)
    otf = optical(h, w, radius, line, angle)
    animal, animal_alpha = blurred(animal, otf), blurred(animal_alpha, otf)
    otf = optical(h // cover_step, w // cover_step, radius / cover_step, line / cover_step, angle)
    covers = torch.stack([blurred(c, otf) for c in covers.unbind(1)], 1)

    front, front_alpha = torch.zeros(n, h, w, device=device), torch.zeros(n, h, w, device=device)
    at = (torch.rand(n, device=device) < 0.12).nonzero()[:, 0]
    if at.numel():
        m = at.numel()
        stem = stem_alpha(
            m,
            w * log_uniform(m, 0.002, 0.02, device),
            uniform(m, 0, w, device),
            uniform(m, 0, h, device),
            uniform(m, 1.2, 1.9, device),
            h,
            w,
            device,
        )
        otf = optical(h, w, log_uniform(m, 0.3, 25, device) * big, zero[at], zero[at])
        front[at], front_alpha[at] = blurred(other[at].flip(1) * stem, otf), blurred(stem, otf)
    return {
        "ground": ground, "animal": animal, "animal_alpha": animal_alpha, "front": front, "front_alpha": front_alpha,
        "covers": covers * (1 - F.avg_pool2d(front_alpha[:, None], cover_step)),
        "is_real": real_any, "lengths": lengths,
    }  # fmt: skip


def flatten(ground, animal, animal_alpha, front, front_alpha) -> torch.Tensor:
    """All layers as one picture."""
    seen = animal + ground * (1 - animal_alpha)
    return front + seen * (1 - front_alpha)


def to_dn(linear: torch.Tensor, noise: torch.Tensor) -> torch.Tensor:
    """Tone curve and noise, 0..255; ``noise`` is the standard deviation at middle grey. [DN]"""
    value = 255 * linear.clamp(1e-6, 1) ** (1 / 2.2)
    level = noise[:, None, None] * torch.sqrt((value + 20) / 150)
    return (value + torch.randn_like(value) * level).clamp(0, 255)
