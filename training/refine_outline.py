"""Go on training the outliner on crops of rendered bursts, with composed pictures between them lest it forget those.

    python training/refine_outline.py --start outline.pt --crops crops*.npz --bank BANK --out OUT --seconds 600

Small enough for a processor without a graphics card. Needs torch, which the package does not.
"""

import argparse
import copy
import math
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

from compose import Stock
from find_net import CROP, Outliner, export, outline_batch, outline_truth

RENDERED, COMPOSED = 16, 12
"""Crops of each kind in a step."""


def composed(bank: Path, count: int) -> tuple[torch.Tensor, torch.Tensor]:
    """Crops of composed pictures and their outlines, uint8."""
    with ProcessPoolExecutor(1) as pool:
        stock = Stock(bank, "cpu", pool, n_drawn=8)
    xs, ys = [], []
    while 16 * len(xs) < count:
        t = outline_batch(stock, 16)
        xs.append(t["x"][:, 0].round().byte())
        ys.append((outline_truth(t["cover"]) * 255).byte())
    return torch.cat(xs), torch.cat(ys)


def refine_loss(net: nn.Module, x: torch.Tensor, y: torch.Tensor) -> torch.Tensor:
    """Cross entropy and overlap of the outline, cross entropy of whether an animal is there."""
    truth = (y > 0.4).float()
    logit, animal = net(x)
    has = (truth.sum((1, 2)) > 30).float()
    q = torch.sigmoid(logit[:, 0])
    dice = 1 - (2 * (q * truth).sum((1, 2)) + 10) / (q.sum((1, 2)) + truth.sum((1, 2)) + 10)
    return (
        1.5 * F.binary_cross_entropy_with_logits(logit[:, 0], truth)
        + (dice * has).sum() / has.sum().clamp_min(1)
        + 0.3 * F.binary_cross_entropy_with_logits(animal[:, 0], has)
    )


@torch.no_grad()
def told(net: nn.Module, x: torch.Tensor, y: torch.Tensor) -> str:
    """How well outlines and animals are told, in words."""
    net.eval()
    overlaps, right = [], []
    for at in range(0, len(x), 64):
        logit, animal = net(x[at : at + 64, None].float())
        truth, got = y[at : at + 64] > 100, torch.sigmoid(logit[:, 0]) > 0.5
        has = truth.sum((1, 2)) > 30
        overlaps.append(((truth & got).sum((1, 2)) / (truth | got).sum((1, 2)).clamp_min(1))[has])
        right.append(((animal[:, 0] > 0) == has).float())
    net.train()
    o = torch.cat(overlaps)
    above = (o > 0.5).float().mean()
    return f"IoU median {o.median():.3f}, above 0.5 {above:.3f}, animal or not {torch.cat(right).mean():.3f}"


def main() -> None:
    """Refine, report, export."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--start", type=Path, required=True)
    parser.add_argument("--crops", type=Path, nargs="+", required=True)
    parser.add_argument("--bank", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--width", type=int, default=16)
    args = parser.parse_args()
    torch.manual_seed(5)
    files = [np.load(path) for path in args.crops]
    sx, sy = (torch.from_numpy(np.concatenate([f[k] for f in files])) for k in ("x", "y"))
    mx, my = composed(args.bank, 2600)
    kept = len(sx) // 8  # the last bursts are looked at only
    net = Outliner(args.width)
    net.load_state_dict(torch.load(args.start, map_location="cpu"))
    print(
        "before: rendered", told(net, sx[-kept:], sy[-kept:]), "| composed", told(net, mx[-200:], my[-200:]), flush=True
    )
    optimiser = torch.optim.AdamW(net.parameters(), 1e-3, weight_decay=1e-3)
    average = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.99), use_buffers=True
    )
    begun, step = time.time(), 0
    while (done := (time.time() - begun) / args.seconds) < 1:
        for group in optimiser.param_groups:
            group["lr"] = 8e-4 * min(1, (step + 1) / 30) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-6
        i, j = torch.randint(len(sx) - kept, (RENDERED,)), torch.randint(len(mx) - 200, (COMPOSED,))
        x, y = torch.cat([sx[i], mx[j]]).float()[:, None], torch.cat([sy[i], my[j]]).float() / 255
        x, y = (x.flip(3), y.flip(2)) if torch.rand(1) < 0.5 else (x, y)
        x, y = (x.flip(2), y.flip(1)) if torch.rand(1) < 0.3 else (x, y)
        n = len(x)
        x = x * torch.empty(n, 1, 1, 1).uniform_(0.7, 1.2) + torch.randn_like(x) * torch.empty(n, 1, 1, 1).uniform_(
            0, 4
        )
        loss = refine_loss(net, x, y)
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        average.update_parameters(net)
        step += 1
    final = average.module
    print(step, "steps: rendered", told(final, sx[-kept:], sy[-kept:]), "| composed", told(final, mx[-200:], my[-200:]))
    args.out.mkdir(parents=True, exist_ok=True)
    torch.save(final.state_dict(), args.out / "outline.pt")
    export(copy.deepcopy(final), args.out / "outline.onnx", torch.zeros(1, 1, CROP, CROP), ["outline", "animal"], False)


if __name__ == "__main__":
    main()
