"""Parts of a drawn clump other than its tubers: crown, roots, cut stems; and how all are laid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import torch
from torch import Tensor

from measure.training.drawing import (
    Dice,
    hsv_to_rgb,
    noise,
    per_layer,
    per_pixel,
    turned,
    when_compiled,
)

__all__ = [
    "Frame",
    "Way",
    "along",
    "crown",
    "dry_leaf",
    "paint",
    "roots",
    "stems",
    "tail",
    "tail_numbers",
    "thread",
]

_ROOTS = 16


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the clump lies in each picture, in units of half the picture's side.

    ``reach`` is half the spread aimed at, ``mm`` one millimetre.
    """

    x: Tensor
    y: Tensor
    reach: Tensor
    mm: Tensor


class Way(NamedTuple):
    """Coordinates along and across a bent line, for every pixel."""

    u: Tensor
    across: Tensor
    side_x: Tensor
    side_y: Tensor


def along(
    x: Tensor, y: Tensor, *, foot: tuple[Tensor, Tensor], heading: Tensor, length: Tensor,
    bend: Tensor, turn: Tensor,
) -> Way:  # fmt: skip
    """Share of the length along a line that leaves ``foot`` and bends, and distance across it."""
    px, py = turned(x - per_pixel(foot[0]), y - per_pixel(foot[1]), per_pixel(heading))
    u = px / per_pixel(length)
    near = u.clamp(-0.2, 1.5)
    slope = 2 * per_pixel(bend) * near + 3 * per_pixel(turn) * near * near
    aside = py - per_pixel(length) * (per_pixel(bend) * near**2 + per_pixel(turn) * near**3)
    scale = torch.rsqrt(1 + slope * slope)
    # Unit vector across, back in the picture's directions.
    c, s = per_pixel(torch.cos(heading)), per_pixel(torch.sin(heading))
    lx, ly = -slope * scale, scale
    return Way(u, aside * scale, c * lx - s * ly, s * lx + c * ly)


def paint(layer: Tensor, colour: Tensor, way: tuple[Tensor, Tensor, Tensor], alpha: Tensor,
          height: Tensor) -> Tensor:  # fmt: skip
    """A surface laid over the layer; ``alpha`` and ``height`` (n, s, s)."""
    new = torch.cat(
        [
            colour.expand(-1, -1, *layer.shape[2:]),
            torch.stack(way, 1),
            height[:, None],
            torch.ones_like(alpha)[:, None],
        ],
        1,
    )
    return layer + alpha[:, None] * (new - layer)


def thread(half: Tensor, aside: Tensor, px: float) -> Tensor:
    """Cover of a line that may be thinner than a pixel."""
    wide = (half * px).clamp_min(0.5)
    return (wide - aside.abs() * px + 0.5).clamp(0, 1) * (2 * half * px).clamp(0, 1)


def tail_numbers(dice: Dice, length: Tensor, frame: Frame) -> dict[str, Tensor]:
    """Roots in which tubers of these lengths (n, most) end, in numbers of the same shape.

    With some it sets in as thick as a finger and thins slowly.
    """
    n, most = length.shape
    stout = dice.chance(0.5, n, most)
    more = (dice.between(0.0, 45.0, n, most) + stout * 8) * frame.mm[:, None] / length
    more = more * (1 - (1 - stout) * dice.chance(0.3, n, most)) + 1e-4
    thick = dice.between(0.5, 1.9, n, most) + stout * dice.between(0.5, 3.2, n, most)
    return {
        "sets in": 0.93 - 0.09 * stout,
        "more": more + 0.09 * stout,
        "curl": length * 0.05 * dice.normal(n, most),
        "thick": thick * frame.mm[:, None],
        "thinning": 1.5 - 0.8 * stout * dice.between(0, 1, n, most),
        "tail shade": stout * dice.between(0.8, 1.1, n, most)
        + (1 - stout) * dice.between(0.5, 1.3, n, most),
    }


def tail(
    layer: Tensor, way: Way, *, t: dict[str, Tensor], tone: Tensor, px: float
) -> tuple[Tensor, Tensor]:
    """The root in which a tuber ends, laid on, and the cover of what of it is 4 mm thick or more.

    ``t`` holds the numbers of ``tail_numbers`` for one tuber a picture, (n,) each, and whether it
    is there at all.
    """
    past = (way.u - per_pixel(t["sets in"])) / per_pixel(t["more"])
    curl = way.across + per_pixel(t["curl"]) * (past.clamp(0, 1) ** 2)
    half = per_pixel(t["thick"]) * (1 - 0.85 * past.clamp(0, 1) ** per_pixel(t["thinning"]))
    alpha = thread(half, curl, px) * ((past > 0) & (past < 1)).float() * per_pixel(t["there"])
    v = (curl / half.clamp_min(1e-4)).clamp(-1, 1)
    up = torch.sqrt((1 - v * v).clamp_min(0.1))
    colour = per_layer(tone * t["tail shade"][:, None])
    layer = paint(layer, colour, (way.side_x * v, way.side_y * v, up), alpha, half * 2)
    return layer, alpha * ((half - 2 * per_pixel(t["mm"])) * px + 0.5).clamp(0, 1)


def roots(dice: Dice, layer: Tensor, x: Tensor, y: Tensor, *, frame: Frame, tone: Tensor) -> Tensor:
    """Fine roots from crown and tubers, across and between them."""
    n = frame.x.shape[0]
    hairy = dice.between(0, 1, n, 1) ** 1.5
    reach, mm = frame.reach[:, None], frame.mm[:, None]
    out, angle = dice.between(0, 0.8, n, _ROOTS) * reach, dice.between(0, 6.28, n, _ROOTS)
    length = reach * dice.between(0.1, 0.6, n, _ROOTS)
    numbers = torch.stack(
        [
            frame.x[:, None] + out * torch.cos(angle),
            frame.y[:, None] + out * torch.sin(angle),
            angle + 0.8 * dice.normal(n, _ROOTS),
            length,
            0.4 * dice.normal(n, _ROOTS),
            0.3 * dice.normal(n, _ROOTS),
            dice.between(0.25, 1.5, n, _ROOTS) * mm,
            dice.between(0, 0.08, n, _ROOTS) * length,
            dice.between(3, 14, n, _ROOTS),
            dice.between(0, 6.28, n, _ROOTS),
            (dice.between(0, 1, n, _ROOTS) < hairy).float(),
        ],
        2,
    )
    tones = tone[:, None] * dice.between(0.35, 1.3, n, _ROOTS, 1)
    for k in range(_ROOTS):
        layer = _with_root(layer, x, y, numbers[:, k], tones[:, k])
    return layer


@when_compiled
def _with_root(layer: Tensor, x: Tensor, y: Tensor, numbers: Tensor, tone: Tensor) -> Tensor:
    foot_x, foot_y, heading, length, bend, turn, thick, curl, waves, phase, there = numbers.unbind(
        1
    )
    way = along(x, y, foot=(foot_x, foot_y), heading=heading, length=length, bend=bend, turn=turn)
    inside = ((way.u > 0) & (way.u < 1)).float() * per_pixel(there)
    u = way.u.clamp(0, 1)
    half = per_pixel(thick) * (1 - 0.8 * u)
    wave = per_pixel(curl) * torch.sin(way.u * per_pixel(waves) + per_pixel(phase))
    alpha = thread(half, way.across + wave * u, x.shape[-1] / 2.0) * inside
    zero = torch.zeros_like(alpha)
    return paint(layer, per_layer(tone), (zero, zero, zero + 0.85), alpha, layer[:, 6] + half)


def crown(
    dice: Dice, layer: Tensor, x: Tensor, y: Tensor, *, frame: Frame, size: Tensor, tone: Tensor,
    soil: Tensor, blotch: Tensor, px: float,
) -> tuple[Tensor, Tensor]:  # fmt: skip
    """The knobbly crown in the middle, laid on; and its cover."""
    n, side = frame.x.shape[0], layer.shape[-1]
    cx, cy = turned(
        x - per_pixel(frame.x), y - per_pixel(frame.y), per_pixel(dice.between(0, 6.28, n))
    )
    cy = cy * per_pixel(dice.between(1.0, 1.6, n))
    knobs = 1 + 0.12 * noise(dice, n, side, 14)[:, 0]
    away = torch.hypot(cx, cy) / (per_pixel(size) * knobs)
    alpha = ((1 - away) * per_pixel(size) * px + 0.5).clamp(0, 1)
    up = torch.sqrt((1 - away**2).clamp(0.05, 1))
    v = away.clamp(0, 1) / torch.hypot(cx, cy).clamp_min(1e-4)
    dark = per_layer(tone * dice.between(0.35, 1.0, n, 1))
    muddy = per_pixel(dice.between(0, 0.9, n))[:, None]
    colour = (dark + muddy * (per_layer(soil) - dark)) * (1 + 0.15 * blotch[:, None]).clamp_min(0.2)
    facing = ((x - per_pixel(frame.x)) * v, (y - per_pixel(frame.y)) * v, up)
    layer = paint(layer, colour, facing, alpha, per_pixel(size) * (0.7 + 0.6 * up))
    return layer, alpha


def dry_leaf(
    dice: Dice, x: Tensor, y: Tensor, *, frame: Frame, out: float, px: float
) -> tuple[Tensor, Tensor, Tensor]:
    """A withered leaf at most ``out`` times the reach from the clump's middle.

    Returns its colour (linear), cover (n, 1, s, s) and height (n, s, s): it curls up at its sides.
    """
    n = frame.x.shape[0]
    away, angle = dice.between(0.3, out, n) * frame.reach, dice.between(0, 6.28, n)
    length = dice.between(18, 75, n) * frame.mm
    way = along(
        x,
        y,
        foot=(frame.x + away * torch.cos(angle), frame.y + away * torch.sin(angle)),
        heading=dice.between(0, 6.28, n),
        length=length,
        bend=0.25 * dice.normal(n),
        turn=0.15 * dice.normal(n),
    )
    u = way.u.clamp(0, 1)
    half = length * dice.between(0.12, 0.4, n)
    width = per_pixel(half) * (4 * u * (1 - u)).clamp_min(1e-4) ** per_pixel(
        dice.between(0.5, 1.4, n)
    )
    width = width * (1 + per_pixel(dice.between(0, 0.15, n)) * torch.sin(u * 40))
    stalk = per_pixel(0.7 * frame.mm) * (way.u > -0.2).float() * (way.u < 0.5).float()
    alpha = thread(torch.maximum(width, stalk), way.across, px)
    v = (way.across / width.clamp_min(1e-4)).clamp(-1, 1)
    brown = hsv_to_rgb(
        dice.between(0.03, 0.13, n), dice.between(0.3, 0.85, n), dice.between(0.18, 0.75, n)
    )
    halves = 1 + torch.tanh(6 * v) * per_pixel(dice.between(-0.35, 0.35, n))
    veins = 1 + 0.12 * torch.sin(per_pixel(dice.between(25, 50, n)) * (u - 0.25 * v.abs()))
    rib = 1 - 0.4 * torch.exp(-((9 * v) ** 2))
    colour = per_layer(brown**2.2) * (halves * veins * rib)[:, None]
    curl = per_pixel(dice.between(0.5, 9.0, n) * frame.mm) * (0.3 + 0.7 * v * v)
    return colour, alpha[:, None], curl


def stems(
    dice: Dice, layer: Tensor, x: Tensor, y: Tensor, *, frame: Frame, crown: Tensor, fine: Tensor,
    px: float,
) -> tuple[Tensor, Tensor]:  # fmt: skip
    """Up to three cut stalks: upright and seen end on, leaning, or long and lying over a tuber."""
    n = frame.x.shape[0]
    stem = torch.zeros_like(fine)
    for k in range(3):
        present = dice.chance((0.85, 0.3, 0.15)[k], n)
        off, angle = dice.between(0, 0.6, n) * crown, dice.between(0, 6.28, n)
        foot = (frame.x + off * torch.cos(angle), frame.y + off * torch.sin(angle))
        half = torch.maximum(crown * dice.between(0.16, 0.5, n), 3.0 * frame.mm)
        leaning = dice.chance(0.35, n)
        length = half * dice.between(0.1, 2.0, n) + leaning * frame.reach * dice.between(0, 1.2, n)
        way = along(x, y, foot=foot, heading=dice.between(0, 6.28, n), length=length,
                    bend=0.06 * dice.normal(n), turn=torch.zeros_like(half))  # fmt: skip
        down = way.u * per_pixel(length)
        r = per_pixel(half)
        # The cut end is an ellipse, rounder the more upright the stalk stands.
        round_ = per_pixel(1 / (1 + 0.6 * length / half)).clamp(0.2, 1.0)
        past = (down - per_pixel(length)) / round_
        end = torch.hypot(past, way.across) / r
        foot_end = torch.hypot(down.clamp_max(0), way.across)
        wall = torch.where(down < 0, foot_end, way.across.abs())
        wall = ((r - wall) * px + 0.5).clamp(0, 1) * (down < per_pixel(length)).float()
        cap = ((1 - end) * r * px * round_ + 0.5).clamp(0, 1)
        alpha = torch.maximum(wall, cap) * per_pixel(present)
        v = (way.across / r).clamp(-1, 1)
        up = torch.sqrt((1 - v * v).clamp_min(0.05))
        colour = hsv_to_rgb(dice.between(0.07, 0.3, n), dice.between(0.1, 0.75, n),
                            dice.between(0.25, 0.85, n)) ** 2.2  # fmt: skip
        grain = 1 + per_pixel(dice.between(0, 0.25, n)) * torch.sin(v * 9 + fine)
        skin = per_layer(colour) * grain[:, None]
        hollow = per_pixel(dice.between(0.0, 0.8, n))
        flesh = per_layer(colour ** dice.between(0.4, 1.0, n, 1))
        pith = per_layer(colour * dice.between(0.05, 1.0, n, 1))
        inner = ((hollow - end) * r * px * round_ + 0.5).clamp(0, 1)[:, None]
        face = flesh + inner * (pith - flesh)
        skin = skin + cap[:, None] * (face - skin)
        lit = (way.side_x * v * (1 - cap), way.side_y * v * (1 - cap), up + cap * (1 - up))
        height = layer[:, 6].amax((1, 2), keepdim=True) * 0.7 + r * (1 + up)
        layer = paint(layer, skin, lit, alpha, height + per_pixel(half) * cap)
        stem = torch.maximum(stem, alpha)
    return layer, stem
