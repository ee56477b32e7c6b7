"""Dice, noise, blur and layers for whole batches of drawn scenes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

import torch
import torch.nn.functional as fn
from torch import Tensor

__all__ = [
    "Dice",
    "blurred",
    "boxed",
    "grid_of",
    "hsv_to_rgb",
    "noise",
    "over",
    "per_layer",
    "per_pixel",
    "rough",
    "turned",
    "when_compiled",
]


Drawing = TypeVar("Drawing", bound=Callable[..., Any])


def when_compiled(drawing: Drawing) -> Drawing:
    """Fuse a drawing's many small steps into a few where there is a graphics card."""
    if not torch.cuda.is_available():
        return drawing
    return torch.compile(drawing, dynamic=False)  # type: ignore[return-value]


@dataclass(frozen=True, slots=True)
class Dice:
    """Random numbers on one device from one generator."""

    device: torch.device
    generator: torch.Generator

    def between(self, low: float, high: float, *shape: int) -> Tensor:
        """Uniform numbers of a shape."""
        drawn = torch.rand(shape, device=self.device, generator=self.generator)
        return low + (high - low) * drawn

    def normal(self, *shape: int) -> Tensor:
        """Standard normal numbers of a shape."""
        return torch.randn(shape, device=self.device, generator=self.generator)

    def chance(self, share: float, *shape: int) -> Tensor:
        """1.0 in that share of cases, else 0.0."""
        return (self.between(0.0, 1.0, *shape) < share).float()

    def whole(self, low: int, high: int, *shape: int) -> Tensor:
        """Whole numbers from low to high, both included."""
        return torch.randint(low, high + 1, shape, device=self.device, generator=self.generator)


def grid_of(side: int, device: torch.device) -> tuple[Tensor, Tensor]:
    """x and y of every pixel, each (1, side, side), -1 to 1 from edge to edge."""
    line = (torch.arange(side, device=device, dtype=torch.float32) + 0.5) / side * 2 - 1
    y, x = torch.meshgrid(line, line, indexing="ij")
    return x[None], y[None]


def turned(x: Tensor, y: Tensor, angle: Tensor) -> tuple[Tensor, Tensor]:
    """Coordinates in a frame turned by an angle (radians)."""
    c, s = torch.cos(angle), torch.sin(angle)
    return c * x + s * y, c * y - s * x


def per_pixel(values: Tensor) -> Tensor:
    """(n,) numbers of pictures as (n, 1, 1), to go with (n, side, side)."""
    return values.view(-1, 1, 1)


def per_layer(values: Tensor) -> Tensor:
    """(n,) or (n, c) numbers as (n, 1, 1, 1) or (n, c, 1, 1), to go with (n, c, side, side)."""
    return values.reshape(*values.shape, *([1] * (4 - values.dim())))


def noise(dice: Dice, n: int, side: int, cells: int, channels: int = 1) -> Tensor:
    """Smooth noise (n, channels, side, side), about 0 with a spread of about 1."""
    coarse = dice.normal(n, channels, cells + 1, cells + 1)
    return fn.interpolate(coarse, size=(side, side), mode="bicubic", align_corners=True)


def rough(dice: Dice, n: int, side: int, *, coarsest: int = 4, fall: float = 0.6) -> Tensor:
    """Noise of every fineness (n, 1, side, side), about -2 to 2."""
    total = torch.zeros(n, 1, side, side, device=dice.device)
    weight, norm, cells = 1.0, 0.0, coarsest
    while cells <= side:
        total += weight * noise(dice, n, side, cells)
        norm += weight * weight
        weight *= fall
        cells *= 2
    return total / math.sqrt(norm)


def boxed(picture: Tensor, reach: int) -> Tensor:
    """The mean of a square of 2 x reach + 1 pixels, first along rows, then along columns."""
    size = 2 * reach + 1
    rows = fn.avg_pool2d(fn.pad(picture, (reach, reach, 0, 0), mode="replicate"), (1, size), 1)
    return fn.avg_pool2d(fn.pad(rows, (0, 0, reach, reach), mode="replicate"), (size, 1), 1)


def blurred(picture: Tensor, sigma_px: Tensor) -> Tensor:
    """A batch blurred, each picture by its own sigma (pixels, 0 to about 12)."""
    reach = 1
    versions, sigmas = [picture], [0.0]
    now = picture
    spread = 0.0
    while reach <= 16:
        size = 2 * reach + 1
        now = boxed(now, reach)
        spread = math.hypot(spread, math.sqrt((size * size - 1) / 12))
        versions.append(now)
        sigmas.append(spread)
        reach *= 2
    out = torch.zeros_like(picture)
    place = sigma_px.view(-1, 1, 1, 1).clamp(0, sigmas[-1])
    for i, version in enumerate(versions):
        low = sigmas[i - 1] if i else -1.0
        high = sigmas[i + 1] if i + 1 < len(sigmas) else sigmas[i] + 1
        up = ((place - low) / (sigmas[i] - low)).clamp(0, 1)
        down = ((high - place) / (high - sigmas[i])).clamp(0, 1)
        out = out + version * torch.minimum(up, down)
    return out


def over(below: Tensor, above: Tensor, alpha: Tensor) -> Tensor:
    """A layer laid over another; ``alpha`` (n, 1, side, side) from 0 to 1."""
    return below + alpha * (above - below)


def hsv_to_rgb(hue: Tensor, saturation: Tensor, value: Tensor) -> Tensor:
    """(n, 3) from three (n,); hue in turns."""
    h = (hue.unsqueeze(-1) + torch.tensor([0.0, 2 / 3, 1 / 3], device=hue.device)) % 1.0
    wave = ((h * 6 - 3).abs() - 1).clamp(0, 1)
    return value.unsqueeze(-1) * (1 + saturation.unsqueeze(-1) * (wave - 1))
