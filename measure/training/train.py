"""Train one network on drawn scenes and write it as ONNX.

    python -m measure.training.train bloom --minutes 9 --out DIR [--backdrops FILE] [--start FILE]

Needs PyTorch and, to be done in minutes, a graphics card. ``--backdrops`` is a tensor of
photographs made by ``measure.training.backdrops``. Prints the loss and what the network makes of
scenes that it was not trained on.
"""

from __future__ import annotations

import argparse
import copy
import math
import time
from collections.abc import Callable
from pathlib import Path

import torch
import torch.nn.functional as fn
from torch import Tensor, nn

from measure.training.bloom_scenes import bloom_batch
from measure.training.model import Model

__all__ = ["CHANNELS", "export", "main"]

SIDE = 256
CHANNELS = {"bloom": 2, "clump": 3}
"""Layers of each network's answer."""
# Scenes of this seed are never trained on.
_HELD_OUT_SEED = 990_001
# Steps taken for each batch of scenes drawn, and batches kept.
_STEPS_A_SCENE = 4
_KEPT = 250

Batch = Callable[[int, torch.Generator], tuple[Tensor, Tensor]]


def _scenes(net: str, device: torch.device, backdrops: Path | None) -> Batch:
    if net == "clump":
        from measure.training.clump_scenes import clump_batch

        return lambda n, g: clump_batch(n, side=SIDE, device=device, generator=g)
    photos = None
    if backdrops is not None:
        photos = torch.load(backdrops, map_location=device).float() / 255
    return lambda n, g: bloom_batch(n, side=SIDE, device=device, generator=g, backdrops=photos)


def _loss(scores: Tensor, truth: Tensor) -> Tensor:
    """Cross entropy, heavier at the outline, and what the overlap of each channel lacks.

    Of blooms (two channels) the entropy is heavier on the neighbours as well: they are few of all
    pixels, and the hardest. The worst quarter of the overlaps counts half as much again, since
    sizes are trusted as far as the worst of them.
    """
    weight = 1 + 2 * (fn.max_pool2d(truth, 7, 1, 3) + fn.max_pool2d(-truth, 7, 1, 3)).clamp(0, 1)
    if truth.shape[1] == 2:
        beside = (truth[:, 1:] - truth[:, :1]).clamp(0, 1)
        weight = torch.cat([weight[:, :1] + 2 * beside, weight[:, 1:]], 1)
    entropy = fn.binary_cross_entropy_with_logits(scores, truth, reduction="none")
    entropy = (entropy * weight).mean()
    seen = torch.sigmoid(scores)
    both = (seen * truth).sum((2, 3))
    overlap = (2 * both + 20) / (seen.sum((2, 3)) + truth.sum((2, 3)) + 20)
    lack = 1 - overlap
    return entropy + lack.mean() + 0.5 * lack.topk(max(1, len(lack) // 4), dim=0).values.mean()


class _Pool:
    """Scenes kept to be seen a few times, turned round: drawing takes longer than learning.

    Every new batch takes the place of the oldest.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: list[tuple[Tensor, Tensor]] = []
        self._next = 0

    @torch.no_grad()
    def add(self, pictures: Tensor, truth: Tensor) -> None:
        """Keep a batch, 0 to 1, as bytes."""
        batch = ((pictures * 255).round().byte(), (truth * 255).round().byte())
        if len(self._kept) < self._most:
            self._kept.append(batch)
        else:
            self._kept[self._next] = batch
            self._next = (self._next + 1) % self._most

    @torch.no_grad()
    def drawn(self, n: int, generator: torch.Generator) -> tuple[Tensor, Tensor]:
        """``n`` scenes: a part of each of four batches, each part flipped and turned at random."""
        parts: list[tuple[Tensor, Tensor]] = []
        device = self._kept[0][0].device
        dice = torch.randint(1 << 30, (4, 4), generator=generator, device=device).tolist()
        for which, flip, turn, first in dice:
            pictures, truth = self._kept[which % len(self._kept)]
            start = first % (len(pictures) - n // 4 + 1)
            both = [t[start : start + n // 4].float() / 255 for t in (pictures, truth)]
            if flip % 2:
                both = [t.flip(3) for t in both]
            both = [torch.rot90(t, turn % 4, (2, 3)) for t in both]
            parts.append((both[0], both[1]))
        return torch.cat([p for p, _ in parts]), torch.cat([t for _, t in parts])


@torch.no_grad()
def _held_out(model: nn.Module, batch: Batch, device: torch.device) -> str:
    model.eval()
    generator = torch.Generator(device)
    generator.manual_seed(_HELD_OUT_SEED)
    scores: list[Tensor] = []
    for _ in range(3):
        pictures, truth = batch(64, generator)
        seen = torch.sigmoid(model(pictures)) > 0.5
        real = truth > 0.5
        either = (seen | real).sum((2, 3)).clamp_min(1)
        scores.append((seen & real).sum((2, 3)) / either)
    overlap = torch.cat(scores)
    model.train()
    good = (overlap > 0.9).float().mean(0)
    return (
        f"overlap {[round(v, 4) for v in overlap.median(0).values.tolist()]}"
        f" above 0.9 in {[round(v, 3) for v in good.tolist()]}"
    )


def export(model: nn.Module, path: Path) -> None:
    """Write the network as ONNX, as OpenCV reads it."""
    model = copy.deepcopy(model).cpu().float().eval()
    torch.onnx.export(
        model,
        (torch.zeros(1, 3, SIDE, SIDE),),
        str(path),
        input_names=["picture"],
        output_names=["scores"],
        opset_version=17,
        dynamo=False,
    )


def main() -> None:
    """Train and write ``NET.pt`` and ``NET.onnx``."""
    _train(_asked())


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("net", choices=sorted(CHANNELS))
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--backdrops", type=Path)
    parser.add_argument("--start", type=Path)
    parser.add_argument("--batch", type=int, default=64)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args()


def _train(asked: argparse.Namespace) -> None:
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(asked.seed)
    generator = torch.Generator(device)
    generator.manual_seed(asked.seed)
    batch = _scenes(asked.net, device, asked.backdrops)
    torch.backends.cudnn.benchmark = True
    model = Model(CHANNELS[asked.net]).to(device, memory_format=torch.channels_last)
    if asked.start:
        model.load_state_dict(torch.load(asked.start, map_location=device))
    smooth = copy.deepcopy(model)
    # The step size follows the clock, so that a run of any length ends settled.
    pool = _Pool(_KEPT)
    optimiser = torch.optim.AdamW(model.parameters(), lr=asked.rate, weight_decay=1e-3)
    began, steps, told = time.monotonic(), 0, 0.0
    while (part := (time.monotonic() - began) / (60 * asked.minutes)) < 1:
        rate = asked.rate * min(1.0, (steps + 1) / 200) * (0.5 + 0.5 * math.cos(math.pi * part))
        for group in optimiser.param_groups:
            group["lr"] = rate
        if steps % _STEPS_A_SCENE == 0:
            pool.add(*batch(asked.batch, generator))
        pictures, truth = pool.drawn(asked.batch, generator)
        with torch.autocast(device.type, dtype=torch.bfloat16):
            scores = model(pictures.contiguous(memory_format=torch.channels_last))
        loss = _loss(scores.float(), truth)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(model.parameters(), 5.0)
        optimiser.step()
        steps += 1
        keep = min(0.998, steps / (steps + 20))
        with torch.no_grad():
            for mine, theirs in zip(
                smooth.state_dict().values(), model.state_dict().values(), strict=True
            ):
                if mine.dtype.is_floating_point:
                    mine.lerp_(theirs, 1 - keep)
                else:
                    mine.copy_(theirs)
        if part > told:
            told += 0.1
            seconds = time.monotonic() - began
            print(
                f"{seconds:.0f} s, {steps} steps, loss {loss.item():.4f}, "
                + _held_out(smooth, batch, device),
                flush=True,
            )
            torch.save(smooth.state_dict(), asked.out / f"{asked.net}.pt")
    print("end:", steps, "steps,", _held_out(smooth, batch, device), flush=True)
    torch.save(smooth.state_dict(), asked.out / f"{asked.net}.pt")
    export(smooth, asked.out / f"{asked.net}.onnx")


if __name__ == "__main__":
    main()
