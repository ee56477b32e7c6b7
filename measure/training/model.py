"""The network: a small U-shaped stack of plain convolutions that OpenCV can run."""

from __future__ import annotations

import torch
import torch.nn.functional as fn
from torch import Tensor, nn

__all__ = ["Model"]

_WIDTHS = (16, 32, 64, 112, 160)


def _step(inputs: int, outputs: int, *, apart: int = 1, stride: int = 1) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(inputs, outputs, 3, stride=stride, padding=apart, dilation=apart, bias=False),
        nn.BatchNorm2d(outputs),
        nn.ReLU(inplace=True),
    )


class Model(nn.Module):
    """Pictures (n, 3, s, s), 0 to 1, to probabilities (n, channels, s, s) before the sigmoid.

    ``s`` is a multiple of 16. 1.2 million weights; 2.2e9 products at 256 pixels.
    """

    def __init__(self, channels: int) -> None:
        super().__init__()
        a, b, c, d, e = _WIDTHS
        self.down = nn.ModuleList(
            [
                nn.Sequential(_step(3, a), _step(a, a)),
                nn.Sequential(_step(a, b, stride=2), _step(b, b)),
                nn.Sequential(_step(b, c, stride=2), _step(c, c)),
                nn.Sequential(_step(c, d, stride=2), _step(d, d)),
                nn.Sequential(_step(d, e, stride=2), _step(e, e, apart=2), _step(e, e, apart=4)),
            ]
        )
        self.narrow = nn.ModuleList(nn.Conv2d(i, o, 1) for i, o in ((e, d), (d, c), (c, b), (b, a)))
        self.up = nn.ModuleList(_step(2 * o, o) for o in (d, c, b, a))
        self.head = nn.Conv2d(a, channels, 1)

    def forward(self, picture: Tensor) -> Tensor:
        """See the class."""
        x = picture * 4 - 2
        kept: list[Tensor] = []
        for stage in self.down:
            x = stage(x)
            kept.append(x)
        for i, (narrow, up) in enumerate(zip(self.narrow, self.up, strict=True)):
            x = fn.interpolate(narrow(x), scale_factor=2.0, mode="nearest")
            x = up(torch.cat([x, kept[-2 - i]], 1))
        out: Tensor = self.head(x)
        return out
