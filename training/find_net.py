"""Train the finder (coarse picture to boxes) or the outliner (crop to outline).

    python training/find_net.py find    --bank BANK --out OUT --seconds 400
    python training/find_net.py outline --bank BANK --out OUT --seconds 200

BANK is described in README.md; needs torch, which the package does not. The finder sees three channels of the coarse
picture: grey, detail (mean absolute Laplacian at four times the size) and change (what differs from the neighbouring
frames once the background is laid over itself). The outliner sees a crop round a box and draws the animal's outline.
"""

import argparse
import copy
import math
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import torch
import torch.nn.functional as F
from torch import nn

from compose import Stock, flatten, log_uniform, scene, to_dn, uniform

DETAIL = 4
STRIDE = 4
"""Coarse pixels per cell of the finder's answer."""
CROP = 128


# Networks ------------------------------------------------------------------------------------------


def block(i: int, o: int, stride: int = 1, kernel: int = 3) -> nn.Module:
    """Convolution, normalisation, ramp."""
    return nn.Sequential(nn.Conv2d(i, o, kernel, stride, kernel // 2, bias=False), nn.BatchNorm2d(o), nn.ReLU())


class Residual(nn.Module):
    """Two convolutions round which the picture may pass."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.a, self.b = block(width, width), nn.Conv2d(width, width, 3, 1, 1, bias=False)
        self.n = nn.BatchNorm2d(width)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Apply."""
        return F.relu(x + self.n(self.b(self.a(x))))


class Finder(nn.Module):
    """Channels (n, 3, h, w) in DN; gives (n, 6, h / 4, w / 4): heat, four distances to the box's sides, mask."""

    def __init__(self, width: int = 16) -> None:
        super().__init__()
        w = width
        self.a = block(3, w, 2)
        self.b = nn.Sequential(block(w, 2 * w, 2), block(2 * w, 2 * w))
        self.c = nn.Sequential(block(2 * w, 4 * w, 2), Residual(4 * w))
        self.d = nn.Sequential(block(4 * w, 6 * w, 2), Residual(6 * w))
        self.e = nn.Sequential(block(6 * w, 8 * w, 2), Residual(8 * w), Residual(8 * w))
        f = 3 * w
        self.le, self.ld = nn.Conv2d(8 * w, f, 1), nn.Conv2d(6 * w, f, 1)
        self.lc, self.lb = nn.Conv2d(4 * w, f, 1), nn.Conv2d(2 * w, 2 * w, 1)
        self.fd, self.fc = block(f, f), block(f, f)
        self.down = nn.Conv2d(f, 2 * w, 1)
        self.fb = nn.Sequential(block(2 * w, 2 * w), block(2 * w, 2 * w))
        self.out = nn.Conv2d(2 * w, 6, 1)
        nn.init.constant_(self.out.bias, 0.0)
        self.out.bias.data[0] = -4.0
        self.out.bias.data[1:5] = 2.0
        self.out.bias.data[5] = -3.0

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Return heat logit, log distances [coarse px] and mask logit."""
        grey, detail, change = x[:, :1], torch.log1p(x[:, 1:2]), x[:, 2:3]
        mean = grey.mean((2, 3), keepdim=True)
        std = torch.sqrt(((grey - mean) ** 2).mean((2, 3), keepdim=True)) + 5
        d_mean = detail.mean((2, 3), keepdim=True)
        d_std = torch.sqrt(((detail - d_mean) ** 2).mean((2, 3), keepdim=True)) + 0.25
        moved = (change / (change.mean((2, 3), keepdim=True) + 1.0)).clamp(0, 12) / 3
        a = self.a(torch.cat([(grey - mean) / std, (detail - d_mean) / d_std, moved], 1))
        b = self.b(a)
        c = self.c(b)
        d = self.d(c)
        e = self.e(d)

        def up(t: torch.Tensor) -> torch.Tensor:
            return F.interpolate(t, scale_factor=2.0, mode="nearest")

        d = self.fd(up(self.le(e)) + self.ld(d))
        c = self.fc(up(d) + self.lc(c))
        return self.out(self.fb(up(self.down(c)) + self.lb(b)))


class Outliner(nn.Module):
    """Crops (n, 1, 128, 128) in DN; gives logits of the outline (n, 1, 64, 64) and of being an animal (n, 1)."""

    def __init__(self, width: int = 12) -> None:
        super().__init__()
        w = width
        self.a = block(1, w, 2)
        self.b = nn.Sequential(block(w, 2 * w, 2), block(2 * w, 2 * w))
        self.c = nn.Sequential(block(2 * w, 4 * w, 2), Residual(4 * w))
        self.d = nn.Sequential(block(4 * w, 6 * w, 2), Residual(6 * w))
        self.e = nn.Sequential(block(6 * w, 8 * w, 2), Residual(8 * w))
        self.u4, self.u3 = block(14 * w, 4 * w), block(8 * w, 3 * w)
        self.u2, self.u1 = block(5 * w, 2 * w), block(3 * w, 2 * w)
        self.out = nn.Conv2d(2 * w, 1, 1)
        self.head = nn.Sequential(nn.Linear(16 * w, 48), nn.ReLU(), nn.Linear(48, 1))

    def forward(self, x: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """Return outline and certainty."""
        mean = x.mean((2, 3), keepdim=True)
        std = torch.sqrt(((x - mean) ** 2).mean((2, 3), keepdim=True)) + 4
        a = self.a((x - mean) / std)
        b = self.b(a)
        c = self.c(b)
        d = self.d(c)
        e = self.e(d)

        def up(t: torch.Tensor) -> torch.Tensor:
            return F.interpolate(t, scale_factor=2.0, mode="nearest")

        t = self.u4(torch.cat([up(e), d], 1))
        t = self.u3(torch.cat([up(t), c], 1))
        t = self.u2(torch.cat([up(t), b], 1))
        t = self.u1(torch.cat([up(t), a], 1))
        return self.out(t), self.head(torch.cat([e.mean((2, 3)), e.amax((2, 3))], 1))


# Samples for the finder ----------------------------------------------------------------------------


def reduce(picture: torch.Tensor, k: int) -> torch.Tensor:
    """Mean over k x k blocks."""
    return F.avg_pool2d(picture[:, None], k)[:, 0]


def laplacian(picture: torch.Tensor) -> torch.Tensor:
    """Absolute Laplacian, edges repeated."""
    p = F.pad(picture[:, None], (1, 1, 1, 1), mode="reflect")[:, 0]
    return (4 * picture - p[:, :-2, 1:-1] - p[:, 2:, 1:-1] - p[:, 1:-1, :-2] - p[:, 1:-1, 2:]).abs()


def warp(picture: torch.Tensor, dx, dy, zoom, turn) -> torch.Tensor:
    """Shift [px], scale and turn [rad] pictures (n, h, w) about their middle; outside is zero."""
    h, w = picture.shape[1:]
    device = picture.device
    y, x = torch.meshgrid(
        torch.arange(h, device=device) + 0.5 - h / 2, torch.arange(w, device=device) + 0.5 - w / 2, indexing="ij"
    )
    c, s = (torch.cos(turn) / zoom)[:, None, None], (torch.sin(turn) / zoom)[:, None, None]
    u = c * (x - dx[:, None, None]) + s * (y - dy[:, None, None])
    v = -s * (x - dx[:, None, None]) + c * (y - dy[:, None, None])
    return F.grid_sample(
        picture[:, None], torch.stack([u / (w / 2), v / (h / 2)], -1), padding_mode="zeros", align_corners=False
    )[:, 0]


def shift(picture: torch.Tensor, dx, dy) -> torch.Tensor:
    """Shift pictures by fractions of pixels; the edge goes on outside."""
    h, w = picture.shape[1:]
    device = picture.device
    y, x = torch.meshgrid(
        (torch.arange(h, device=device) + 0.5) / h * 2 - 1,
        (torch.arange(w, device=device) + 0.5) / w * 2 - 1,
        indexing="ij",
    )
    where = torch.stack([x - dx[:, None, None] * 2 / w, y - dy[:, None, None] * 2 / h], -1)
    return F.grid_sample(picture[:, None], where, padding_mode="border", align_corners=False)[:, 0]


def neighbour(layers: dict, noise: torch.Tensor) -> torch.Tensor:
    """A neighbouring frame's coarse picture with the background already laid over the current one's. [DN]"""
    ground, animal, alpha = layers["ground"], layers["animal"], layers["animal_alpha"]
    n, h, w = ground.shape
    device = ground.device
    slip = torch.where(
        torch.rand(n, device=device) < 0.25, log_uniform(n, 0.4, 12, device), uniform(n, 0.0, 0.35, device)
    )
    way = uniform(n, 0, 2 * math.pi, device)
    back = shift(ground, slip * torch.cos(way), slip * torch.sin(way))
    step = torch.where(torch.rand(n, device=device) < 0.3, uniform(n, 0, 0.8, device), log_uniform(n, 0.8, 90, device))
    way = uniform(n, 0, 2 * math.pi, device)
    zoom, turn = uniform(n, 0.95, 1.05, device), uniform(n, -0.15, 0.15, device)
    moved = warp(
        torch.cat([animal, alpha]), *(t.repeat(2) for t in (step * torch.cos(way), step * torch.sin(way), zoom, turn))
    )
    # Wings beat: the animal's light and cover change in lumps.
    lumps = F.interpolate(torch.randn(n, 1, 12, 16, device=device), size=(h, w), mode="bilinear")[:, 0]
    gain = (1 + uniform(n, 0, 0.3, device)[:, None, None] * lumps).clamp(0.3, 1.5)
    seen = moved[n:] * gain.clamp(max=1)
    light = moved[:n] * gain + back * (1 - seen)
    flicker = uniform(n, 0.97, 1.03, device)[:, None, None]
    return to_dn(light * flicker, noise)


@torch.no_grad()
def find_batch(stock: Stock, n: int, h: int = 1152, w: int = 1536) -> dict:
    """Coarse channels (n, 3, h / 4, w / 4), boxes (n, most, 4) in coarse px with NaN for none, and masks."""
    device = stock.device
    r = torch.rand(n)
    count = torch.where(r < 0.16, 0, torch.where(r < 0.88, 1, torch.where(r < 0.96, 2, 3)))
    layers = scene(stock, n, h, w, (0.014, 0.62), count)
    picture = flatten(
        layers["ground"], layers["animal"], layers["animal_alpha"], layers["front"], layers["front_alpha"]
    )
    noise = log_uniform(n, 0.4, 8, device)
    soft = torch.rand(n, device=device) < 0.22
    if bool(soft.any()):  # frames that were small to begin with
        small = F.interpolate(picture[soft][:, None], scale_factor=0.4, mode="area")
        picture[soft] = F.interpolate(small, size=(h, w), mode="bilinear", align_corners=False)[:, 0]
    value = to_dn(picture, noise)
    grey, detail = reduce(value, DETAIL), reduce(laplacian(value).clamp_max(255), DETAIL)
    coarse = {k: reduce(layers[k], DETAIL) for k in ("ground", "animal", "animal_alpha")}
    quiet = noise / DETAIL
    before, after = beyond(grey, neighbour(coarse, quiet)), beyond(grey, neighbour(coarse, quiet))
    change = torch.where((torch.rand(n, device=device) < 0.6)[:, None, None], torch.minimum(before, after), before)
    change = torch.where((torch.rand(n, device=device) < 0.3)[:, None, None], torch.zeros_like(change), change)
    cover = layers["covers"]
    boxes, hidden = extents(cover, layers["lengths"])
    mask = reduce(cover.amax(1), STRIDE)
    x = torch.stack([grey, detail, change], 1)
    flip = torch.rand(n, device=device) < 0.5
    return {"x": x, "boxes": boxes, "hidden": hidden, "mask": mask, "is_real": layers["is_real"], "flip": flip}


def beyond(here: torch.Tensor, there: torch.Tensor) -> torch.Tensor:
    """How far each pixel lies outside the range of its 3 x 3 neighbours in the other picture (`frames.change`)."""
    high = F.max_pool2d(there[:, None], 3, 1, 1)[:, 0]
    low = -F.max_pool2d(-there[:, None], 3, 1, 1)[:, 0]
    return torch.maximum(here - high, low - here).clamp_min(0)


class Kept:
    """Composed pictures kept on the device, since composing costs more than a step of training."""

    def __init__(self, most: int) -> None:
        self.most, self.n, self.at = most, 0, 0
        self.store: dict[str, torch.Tensor] = {}

    def add(self, batch: dict) -> None:
        """Keep a batch, the oldest going first."""
        for key in ("x", "boxes", "hidden", "mask"):
            new = batch[key]
            if key == "boxes" or key == "hidden":
                room = torch.full(
                    (len(new), 3, *new.shape[2:]), float("nan") if key == "boxes" else 0, device=new.device
                ).to(new.dtype)
                room[:, : new.shape[1]] = new
                new = room
            elif new.dtype == torch.float32:
                new = new.half()
            if key not in self.store:
                self.store[key] = torch.zeros(self.most, *new.shape[1:], dtype=new.dtype, device=new.device)
            where = (self.at + torch.arange(len(new), device=new.device)) % self.most
            self.store[key][where] = new
        count = len(batch["x"])
        self.at, self.n = (self.at + count) % self.most, min(self.most, self.n + count)

    def draw(self, n: int) -> dict:
        """A random batch, mirrored half the time."""
        device = self.store["x"].device
        pick = torch.randint(self.n, (n,), device=device)
        x, boxes, mask = (
            self.store["x"][pick].float(),
            self.store["boxes"][pick].clone(),
            self.store["mask"][pick].float(),
        )
        if torch.rand(1) < 0.5:
            x, mask = x.flip(3), mask.flip(2)
            boxes[..., [0, 2]] = x.shape[3] - boxes[..., [2, 0]]
        return {"x": x, "boxes": boxes, "hidden": self.store["hidden"][pick], "mask": mask}


def extents(cover: torch.Tensor, lengths: torch.Tensor, level: float = 0.3) -> tuple[torch.Tensor, torch.Tensor]:
    """Boxes of each animal's cover, (n, most, 4) as left, top, right, bottom [coarse px]; NaN where little shows."""
    h, w = cover.shape[2:]
    # Thin and blurred animals never reach a full cover.
    peak = cover.flatten(2).amax(2)[:, :, None, None]
    on = cover > (level * peak).clamp_min(0.06)
    cols, rows = on.any(2), on.any(3)
    left, right = cols.float().argmax(2), w - cols.flip(2).float().argmax(2)
    top, bottom = rows.float().argmax(2), h - rows.flip(2).float().argmax(2)
    boxes = torch.stack([left, top, right, bottom], 2).float()
    area = on.flatten(2).sum(2)
    gone = (area < 6) | (peak[:, :, 0, 0] < 0.15)
    # Mostly outside the frame: neither asked for nor forbidden.
    inside = cover.flatten(2).sum(2)
    expected = (lengths / DETAIL) ** 2 * 0.06
    barely = ~gone & (
        (area < 25) | (torch.maximum(right - left, bottom - top) * DETAIL < 0.45 * lengths) | (inside < 0.15 * expected)
    )
    nan = torch.full_like(boxes, float("nan"))
    return torch.where(gone[..., None], nan, boxes), barely | (gone & (inside > 0.3))


def targets(batch: dict) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor, torch.Tensor]:
    """Heat, weight of the heat, box of each cell and which cells hold one."""
    boxes, hidden = batch["boxes"], batch["hidden"]
    n, most = boxes.shape[:2]
    h, w = batch["mask"].shape[1:]
    device = boxes.device
    y, x = torch.meshgrid(
        (torch.arange(h, device=device) + 0.5) * STRIDE, (torch.arange(w, device=device) + 0.5) * STRIDE, indexing="ij"
    )
    heat = torch.zeros(n, h, w, device=device)
    weight = torch.ones(n, h, w, device=device)
    held = torch.zeros(n, h, w, dtype=torch.bool, device=device)
    cell_box = torch.zeros(n, 4, h, w, device=device)
    for k in range(most):
        box = boxes[:, k]
        valid = ~torch.isnan(box[:, 0])
        b = torch.nan_to_num(box)
        cx, cy = ((b[:, 0] + b[:, 2]) / 2)[:, None, None], ((b[:, 1] + b[:, 3]) / 2)[:, None, None]
        bw, bh = (b[:, 2] - b[:, 0]).clamp_min(2)[:, None, None], (b[:, 3] - b[:, 1]).clamp_min(2)[:, None, None]
        # Snap the peak to the nearest cell, so that every animal has one full cell.
        px = ((cx / STRIDE).floor().clamp(0, w - 1) + 0.5) * STRIDE
        py = ((cy / STRIDE).floor().clamp(0, h - 1) + 0.5) * STRIDE
        g = torch.exp(-0.5 * (((x - px) / (bw * 0.12 + 0.9)) ** 2 + ((y - py) / (bh * 0.12 + 0.9)) ** 2))
        g = g * valid[:, None, None]
        unsure = (hidden[:, k] & valid)[:, None, None] & (g > 0.02)
        weight = torch.where(unsure, 0.0, weight)
        heat = torch.maximum(heat, torch.where(unsure, 0.0, g))
        near = (g > 0.55) & ~unsure
        held |= near
        cell_box = torch.where(near[:, None], b[:, :, None, None], cell_box)
    return heat, weight, cell_box, held


def find_loss(out: torch.Tensor, batch: dict) -> torch.Tensor:
    """Penalty-reduced focal loss on the heat, overlap loss on the boxes, cross entropy and overlap on the mask."""
    heat, weight, cell_box, held = targets(batch)
    p = torch.sigmoid(out[:, 0]).clamp(1e-5, 1 - 1e-5)
    at_peak = heat > 0.999
    positive = -((1 - p) ** 2) * torch.log(p) * at_peak
    negative = -((1 - heat) ** 4) * p**2 * torch.log(1 - p) * ~at_peak
    count = at_peak.sum().clamp_min(1)
    focal = ((positive + negative) * weight).sum() / count
    h, w = out.shape[2:]
    device = out.device
    y, x = torch.meshgrid(
        (torch.arange(h, device=device) + 0.5) * STRIDE, (torch.arange(w, device=device) + 0.5) * STRIDE, indexing="ij"
    )
    reach = torch.exp(out[:, 1:5].clamp(-4, 6.5))
    got = torch.stack([x - reach[:, 0], y - reach[:, 1], x + reach[:, 2], y + reach[:, 3]], 1)
    a, b = got.permute(0, 2, 3, 1)[held], cell_box.permute(0, 2, 3, 1)[held]
    overlap = (1 - giou(a, b)).mean() if len(a) else out.sum() * 0
    mask = (batch["mask"] > 0.3).float()
    bce = F.binary_cross_entropy_with_logits(out[:, 5], mask)
    q = torch.sigmoid(out[:, 5])
    dice = 1 - ((2 * (q * mask).sum((1, 2)) + 5) / (q.sum((1, 2)) + mask.sum((1, 2)) + 5)).mean()
    return focal + 1.5 * overlap + 0.5 * bce + 0.3 * dice


def giou(a: torch.Tensor, b: torch.Tensor) -> torch.Tensor:
    """Generalised overlap of boxes (n, 4)."""
    iw = (torch.minimum(a[:, 2], b[:, 2]) - torch.maximum(a[:, 0], b[:, 0])).clamp_min(0)
    ih = (torch.minimum(a[:, 3], b[:, 3]) - torch.maximum(a[:, 1], b[:, 1])).clamp_min(0)
    inter = iw * ih
    area = lambda t: (t[:, 2] - t[:, 0]).clamp_min(0) * (t[:, 3] - t[:, 1]).clamp_min(0)  # noqa: E731
    union = area(a) + area(b) - inter + 1e-6
    hull = (torch.maximum(a[:, 2], b[:, 2]) - torch.minimum(a[:, 0], b[:, 0])) * (
        torch.maximum(a[:, 3], b[:, 3]) - torch.minimum(a[:, 1], b[:, 1])
    )
    return inter / union - (hull - union) / (hull + 1e-6)


def decode(out: torch.Tensor, top: int = 6) -> tuple[torch.Tensor, torch.Tensor]:
    """Best boxes (n, top, 4) in coarse px and their scores."""
    n, w = len(out), out.shape[3]
    p = torch.sigmoid(out[:, 0])
    peak = (F.max_pool2d(p[:, None], 3, 1, 1)[:, 0] == p) * p
    score, at = peak.flatten(1).topk(top, dim=1)
    yy, xx = (torch.div(at, w, rounding_mode="floor") + 0.5) * STRIDE, (at % w + 0.5) * STRIDE
    reach = torch.exp(out[:, 1:5].clamp(-4, 6.5)).flatten(2).gather(2, at[:, None].expand(n, 4, top))
    return torch.stack([xx - reach[:, 0], yy - reach[:, 1], xx + reach[:, 2], yy + reach[:, 3]], 2), score


@torch.no_grad()
def find_report(net: nn.Module, stock: Stock, name: str, n_batches: int = 16) -> None:
    """Print how many single animals are found with IoU 0.5 by the best box, and the false finds in empty frames."""
    net.eval()
    hit, is_real, sizes, score_empty, score_full, moved = [], [], [], [], [], []
    for _ in range(n_batches):
        t = find_batch(stock, 24)
        out = net(t["x"])
        box, score = decode(out)
        single = (~torch.isnan(t["boxes"][:, :, 0])).sum(1) == 1
        none = (torch.isnan(t["boxes"][:, :, 0]).all(1)) & ~t["hidden"].any(1)
        truth = torch.nan_to_num(t["boxes"]).sum(1)
        sure = single & ~(t["hidden"] & ~torch.isnan(t["boxes"][:, :, 0])).any(1)
        b = box[:, 0].clone()
        b[:, 0::2] = b[:, 0::2].clamp(0, t["x"].shape[3])
        b[:, 1::2] = b[:, 1::2].clamp(0, t["x"].shape[2])
        iw = (torch.minimum(b[:, 2], truth[:, 2]) - torch.maximum(b[:, 0], truth[:, 0])).clamp_min(0)
        ih = (torch.minimum(b[:, 3], truth[:, 3]) - torch.maximum(b[:, 1], truth[:, 1])).clamp_min(0)
        area = lambda q: (q[:, 2] - q[:, 0]) * (q[:, 3] - q[:, 1])  # noqa: E731
        iou = iw * ih / (area(b) + area(truth) - iw * ih + 1e-6)
        hit.append((iou > 0.5)[sure])
        is_real.append(t["is_real"][sure])
        sizes.append(torch.maximum(truth[:, 2] - truth[:, 0], truth[:, 3] - truth[:, 1])[sure] / t["x"].shape[3])
        score_full.append(score[:, 0][sure])
        score_empty.append(score[:, 0][none])
        moved.append((t["x"][:, 2].amax((1, 2)) > 0)[sure])
    h, r, s, m = torch.cat(hit).float(), torch.cat(is_real), torch.cat(sizes), torch.cat(moved)
    empty, full = torch.cat(score_empty), torch.cat(score_full)
    line = [
        f"{a}-{b}: {h[(s >= a) & (s < b)].mean():.3f}"
        for a, b in ((0.01, 0.03), (0.03, 0.06), (0.06, 0.12), (0.12, 0.25), (0.25, 0.7))
    ]
    cut = empty.quantile(0.98) if len(empty) else torch.tensor(float("nan"))
    print(f"{name} | found {h.mean():.3f} of {len(h)} | real {h[r].mean():.3f} drawn {h[~r].mean():.3f} | "
          f"with change {h[m].mean():.3f} without {h[~m].mean():.3f} | by size {line} | "
          f"98 % of empty below {cut:.3f}: full above {(full > cut).float().mean():.3f} "
          f"and right {((full > cut).float() * h).mean():.3f}", flush=True)  # fmt: skip
    net.train()


# Samples for the outliner --------------------------------------------------------------------------


@torch.no_grad()
def outline_batch(stock: Stock, n: int) -> dict:
    """Crops (n, 1, 128, 128) and cover (n, 64, 64)."""
    device = stock.device
    r = torch.rand(n)
    count = torch.where(r < 0.2, 0, torch.where(r < 0.92, 1, 2))
    layers = scene(stock, n, 256, 256, (0.36, 0.95), count, spread=0.28)
    picture = flatten(
        layers["ground"], layers["animal"], layers["animal_alpha"], layers["front"], layers["front_alpha"]
    )
    value = to_dn(picture, log_uniform(n, 0.5, 14, device))
    soft = torch.rand(n, device=device) < 0.3
    crop = reduce(value, 2)
    if bool(soft.any()):
        factor = float(torch.empty(1).uniform_(0.2, 0.7))
        small = F.interpolate(crop[soft][:, None], scale_factor=factor, mode="area")
        crop[soft] = F.interpolate(small, size=(CROP, CROP), mode="bilinear", align_corners=False)[:, 0]
    cover = layers["covers"].amax(1)
    return {"x": crop[:, None], "cover": cover, "has": (count > 0).to(device), "is_real": layers["is_real"]}


def outline_loss(mask: torch.Tensor, head: torch.Tensor, t: dict) -> torch.Tensor:
    """Cross entropy and overlap on the outline, cross entropy on the certainty."""
    truth = outline_truth(t["cover"])
    m = mask[:, 0]
    bce = F.binary_cross_entropy_with_logits(m, truth)
    q = torch.sigmoid(m)
    has = t["has"].float()
    dice = (
        (1 - (2 * (q * truth).sum((1, 2)) + 10) / (q.sum((1, 2)) + truth.sum((1, 2)) + 10)) * has
    ).sum() / has.sum().clamp_min(1)
    shows = (truth.sum((1, 2)) > 30).float()
    return bce * 1.5 + dice + 0.3 * F.binary_cross_entropy_with_logits(head[:, 0], shows)


def outline_truth(cover: torch.Tensor) -> torch.Tensor:
    """Where the animal counts as present: 0.3 of its own greatest cover, as a blurred wing never covers in full."""
    peak = cover.flatten(1).amax(1)[:, None, None]
    return (cover > (0.3 * peak).clamp_min(0.06)).float()


@torch.no_grad()
def outline_report(net: nn.Module, stock: Stock, name: str) -> None:
    """Print the overlap of outline and of the box round it, and how well animal and no animal are told apart."""
    net.eval()
    ious, heads, has = [], [], []
    for _ in range(8):
        t = outline_batch(stock, 64)
        mask, head = net(t["x"])
        truth, got = outline_truth(t["cover"]) > 0.5, torch.sigmoid(mask[:, 0]) > 0.5
        k = t["has"]
        ious.append(((truth & got).sum((1, 2)) / (truth | got).sum((1, 2)).clamp_min(1))[k])
        heads.append(torch.sigmoid(head[:, 0]))
        has.append(k)
    iou, head, k = torch.cat(ious), torch.cat(heads), torch.cat(has)
    above = [f"above {level}: {(iou > level).float().mean():.3f}" for level in (0.5, 0.7)]
    print(f"{name} | outline IoU median {iou.median():.3f}, {above} | "
          f"animal told: {(head[k] > 0.5).float().mean():.3f}, "
          f"no animal told: {(head[~k] < 0.5).float().mean():.3f}", flush=True)  # fmt: skip
    net.train()


def export(net: nn.Module, path: Path, example: torch.Tensor, outputs: list[str], free_size: bool) -> None:
    """Write the network as ONNX."""
    axes: dict = {"x": {0: "n", 2: "h", 3: "w"} if free_size else {0: "n"}}
    axes |= {name: ({0: "n", 2: "h4", 3: "w4"} if free_size else {0: "n"}) for name in outputs}
    torch.onnx.export(net.eval().cpu(), (example,), str(path), input_names=["x"], output_names=outputs,
                      dynamic_axes=axes, opset_version=17, dynamo=False)  # fmt: skip


def main() -> None:
    """Train, report, export."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("part", choices=["find", "outline"])
    parser.add_argument("--bank", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=400)
    parser.add_argument("--steps", type=int, default=10**9)
    parser.add_argument("--batch", type=int, default=32)
    parser.add_argument("--width", type=int, default=16)
    parser.add_argument("--drawn", type=int, default=96)
    parser.add_argument("--start", type=Path, help="weights to start from")
    parser.add_argument("--reuse", type=int, default=3, help="steps for each newly composed batch")
    parser.add_argument("--keep", type=int, default=24000, help="composed pictures kept for reuse")
    parser.add_argument("--workers", type=int, default=12)
    parser.add_argument("--device", default="cuda")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    torch.manual_seed(args.seed)
    start = time.time()
    args.out.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(args.workers) as pool:
        stock = Stock(args.bank, args.device, pool, n_drawn=args.drawn)
        dev = Stock(args.bank, args.device, pool, n_drawn=8, dev=True)
    print("grounds", len(stock.grounds), stock.n_real, stock.n_rendered, "sprites", len(stock.sprites[0]),
          "real", stock.n_real_sprites, f"{time.time() - start:.0f} s", flush=True)  # fmt: skip
    finding = args.part == "find"
    net: nn.Module = (Finder(args.width) if finding else Outliner(args.width)).to(args.device)
    print("weights", sum(p.numel() for p in net.parameters()), flush=True)
    if args.start:
        net.load_state_dict(torch.load(args.start, map_location=args.device))
    optimiser = torch.optim.AdamW(net.parameters(), lr=1e-3, weight_decay=1e-3)
    average = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.997), use_buffers=True
    )
    begun, step = time.time(), 0
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    shapes = [(1152, 1536), (1024, 1536), (1536, 1152)]
    kept = {shape: Kept(args.keep // len(shapes)) for shape in shapes}
    while True:
        done = max((time.time() - begun) / args.seconds, step / args.steps)
        if done >= 1:
            break
        for group in optimiser.param_groups:
            group["lr"] = 2.5e-3 * min(1, (step + 1) / 200) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-6
        if finding:
            shape = shapes[step // args.reuse % len(shapes)]
            if step % args.reuse == 0:
                kept[shape].add(find_batch(stock, args.batch, *shape))
            t = kept[shape].draw(2 * args.batch)
            with torch.autocast(args.device, torch.bfloat16):
                cells = net(t["x"])
            loss = find_loss(cells.float(), t)
        else:
            t = outline_batch(stock, args.batch * 4)
            mask, head = net(t["x"])
            loss = outline_loss(mask, head, t)
        optimiser.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        average.update_parameters(net)
        if step % 200 == 0:
            print(step, f"{loss.item():.3f}", f"{time.time() - start:.0f} s", flush=True)
        if step % 1000 == 999:
            torch.save(average.module.state_dict(), args.out / f"{args.part}.pt")
        step += 1
    final = average.module
    torch.save(final.state_dict(), args.out / f"{args.part}.pt")
    if finding:
        export(copy.deepcopy(final), args.out / "find.onnx", torch.zeros(1, 3, 288, 384), ["cells"], True)
    else:
        export(
            copy.deepcopy(final), args.out / "outline.onnx", torch.zeros(1, 1, CROP, CROP), ["outline", "animal"], False
        )
    report = find_report if finding else outline_report
    report(final, stock, f"{args.part} seen, {step} steps")
    report(final, dev, f"{args.part} held out")
    print("done", f"{time.time() - start:.0f} s")


if __name__ == "__main__":
    main()
