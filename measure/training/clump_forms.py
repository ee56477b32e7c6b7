"""Drawn clumps of tubers as layers: colour, direction of the surface, height and what is seen."""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import Tensor

from measure.training.drawing import Dice, hsv_to_rgb, noise, rough, turned

__all__ = ["MOST_TUBERS", "Frame", "Grown", "Way", "along", "grow", "paint", "skin_colours"]

MOST_TUBERS = 17
"""Tubers drawn at most in one clump."""

_ROOTS = 16


def _col(values: Tensor) -> Tensor:
    return values.view(-1, 1, 1)


def _wide(values: Tensor) -> Tensor:
    return values[..., None, None]


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the clump lies in each picture, in units of half the picture's side.

    ``reach`` is half the spread aimed at, ``mm`` one millimetre.
    """

    x: Tensor
    y: Tensor
    reach: Tensor
    mm: Tensor


@dataclass(frozen=True, slots=True)
class Grown:
    """A clump drawn.

    Attributes
    ----------
    layer : (n, 8, s, s)
        Colour (linear), surface direction, height, cover.
    body : (n, 1, s, s)
        Crown and tubers, hidden parts included.
    cores : (n, 1, s, s)
        A patch on each tuber of which at least a third is seen.
    stem : (n, 1, s, s)
        The stem where it is seen.
    seen : (n,)
        Number of tubers of which at least a third is seen.
    """

    layer: Tensor
    body: Tensor
    cores: Tensor
    stem: Tensor
    seen: Tensor


@dataclass(frozen=True, slots=True)
class Way:
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
    px, py = turned(x - _col(foot[0]), y - _col(foot[1]), _col(heading))
    u = px / _col(length)
    near = u.clamp(-0.2, 1.5)
    slope = 2 * _col(bend) * near + 3 * _col(turn) * near * near
    aside = py - _col(length) * (_col(bend) * near**2 + _col(turn) * near**3)
    scale = torch.rsqrt(1 + slope * slope)
    # Unit vector across, back in the picture's directions.
    c, s = _col(torch.cos(heading)), _col(torch.sin(heading))
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


def skin_colours(dice: Dice, n: int) -> Tensor:
    """Colours of tuber skin, linear: tan, brown, pale, reddish and purple."""
    hue = dice.between(0.035, 0.105, n)
    saturation = dice.between(0.22, 0.72, n)
    value = dice.between(0.28, 0.88, n)
    purple = dice.chance(0.08, n)
    hue = hue + purple * (dice.between(0.92, 1.02, n) - hue)
    saturation = saturation * (1 - 0.35 * purple)
    return hsv_to_rgb(hue % 1.0, saturation, value) ** 2.2


def _profile(dice: Dice, u: Tensor, n: int, belly: Tensor, neck: Tensor) -> Tensor:
    """Half the width along a tuber: spindle, club, finger or ball."""
    peak = _col(dice.between(0.38, 0.78, n))
    rise = (u / peak).clamp(0, 1)
    rise = rise * rise * (3 - 2 * rise)
    fall = ((u - peak) / (1 - peak)).clamp(0, 1)
    blunt, sharp = _col(dice.between(1.4, 3.6, n)), _col(dice.between(0.5, 1.05, n))
    share = neck / belly
    body = _col(share) + (1 - _col(share)) * rise
    tip = (1 - fall**blunt).clamp_min(1e-5) ** sharp
    wave = 1 + _col(dice.between(0, 0.09, n)) * torch.sin(
        u * _col(dice.between(4, 14, n)) + _col(dice.between(0, 6.28, n))
    )
    return _col(belly) * torch.where(u < peak, body, tip) * wave * (u < 1)


def _headings(dice: Dice, n: int, count: Tensor) -> Tensor:
    """(n, most) directions: all round, or a fan to one side; neighbours drawn in any order."""
    most = MOST_TUBERS
    key = dice.between(0, 1, n, most)
    key = torch.where(torch.arange(most, device=dice.device) < count[:, None], key, key + 9)
    rank = key.argsort(1).argsort(1).float()
    ring = dice.chance(0.75, n)
    span = 6.283 * (ring + (1 - ring) * dice.between(0.3, 0.9, n))
    jitter = dice.normal(n, most) * dice.between(0.1, 0.8, n, 1)
    return dice.between(0, 6.28, n, 1) + span[:, None] * (rank + jitter) / count[:, None]


def grow(dice: Dice, x: Tensor, y: Tensor, *, frame: Frame, side: int) -> Grown:
    """Draw one clump a picture."""
    n = frame.x.shape[0]
    px = side / 2.0
    device = dice.device
    few = dice.whole(3, 9, n)
    many = dice.whole(8, MOST_TUBERS, n)
    count = torch.where(dice.chance(0.4, n) > 0, many, few)
    count = torch.where(dice.chance(0.06, n) > 0, dice.whole(1, 3, n), count)
    heading = _headings(dice, n, count)
    crown = frame.reach * dice.between(0.13, 0.27, n)
    long = frame.reach * dice.between(0.68, 0.95, n)
    plump = dice.between(0.13, 0.30, n) * (7.0 / count.clamp(5, 17)) ** dice.between(0.15, 0.5, n)
    neck_share = dice.between(0.18, 0.65, n)
    uneven = dice.between(0.05, 0.3, n)
    base = skin_colours(dice, n)
    soil = hsv_to_rgb(dice.between(0.04, 0.1, n), dice.between(0.2, 0.65, n),
                      dice.between(0.1, 0.42, n)) ** 2.2  # fmt: skip
    plain = dice.chance(0.12, n)
    strength = (1 - plain) * dice.between(0.2, 1.0, n)
    blotch = rough(dice, n, side, coarsest=10, fall=0.75)[:, 0]
    fine = rough(dice, n, side, coarsest=48, fall=0.95)[:, 0]
    dirt = torch.sigmoid((blotch + _col(dice.between(-2.5, 1.2, n))) * 5)
    dirt = dirt * _col(strength * dice.between(0, 1, n))
    texture = 1 + _col(strength) * (0.10 * fine + 0.14 * blotch.roll(side // 3, 2))
    knobs = noise(dice, n, side, 16)[:, 0]
    lumpy = _col(dice.between(0, 0.10, n))
    layer = torch.zeros(n, 8, side, side, device=device)
    layer[:, 5] = 1.0
    body = torch.zeros(n, side, side, device=device)
    flat = dice.between(0.75, 1.0, n)
    between = dice.normal(n, MOST_TUBERS, 3) * (0.08 * (0.3 + strength))[:, None, None]
    shown: list[Tensor] = []
    whole: list[Tensor] = []
    places: list[tuple[Tensor, Tensor]] = []
    for k in range(MOST_TUBERS):
        length = long * (1 + uneven * dice.normal(n)).clamp(0.4, 1.25)
        belly = length * plump * torch.exp(0.2 * dice.normal(n))
        belly = torch.minimum(torch.maximum(belly, 4.5 * frame.mm), 0.48 * length)
        neck = torch.maximum(belly * neck_share * torch.exp(0.2 * dice.normal(n)), 2.4 * frame.mm)
        angle = heading[:, k]
        inset = crown * dice.between(0.3, 0.75, n)
        foot = (frame.x + inset * torch.cos(angle), frame.y + inset * torch.sin(angle))
        way = along(x, y, foot=foot, heading=angle + 0.12 * dice.normal(n), length=length,
                    bend=0.17 * dice.normal(n), turn=0.09 * dice.normal(n))  # fmt: skip
        width = _profile(dice, way.u, n, belly, torch.minimum(neck, 0.8 * belly))
        width = width * (1 + lumpy * knobs.roll(41 * k, 1))
        start = (way.u * _col(length) * px + 0.5).clamp(0, 1) * _col((k < count).float())
        alpha = ((width - way.across.abs()) * px + 0.5).clamp(0, 1) * start
        v = (way.across / width.clamp_min(1e-4)).clamp(-1, 1)
        up = torch.sqrt((1 - v * v).clamp_min(0.02))
        upper = _col(dice.chance(0.35, n) * dice.between(0.4, 1.4, n)) if k > 2 else 0.0
        arch = (way.u.clamp(0, 1) * (1 - way.u.clamp(0, 1))) * 2 + 0.5
        rise = _col(flat) * width * (1 + up) * 0.8 + upper * arch * _col(belly)
        ringed = 1 + _col(strength * dice.between(0, 0.12, n)) * torch.sin(
            way.u * _col(length / frame.mm / dice.between(0.8, 2.2, n)) + 3 * blotch
        )
        tone = _wide(base * torch.exp(between[:, k])) * (texture * ringed)[:, None].clamp_min(0.1)
        own = dirt.roll(37 * k, 2)[:, None]
        tone = tone + own * (_wide(soil) * (0.8 + 0.3 * fine[:, None]).clamp_min(0.2) - tone)
        facing = (way.side_x * v * 0.98, way.side_y * v * 0.98, up)
        shown = [s * (1 - alpha) for s in shown] + [alpha]
        whole.append(alpha.sum((1, 2)))
        places.append((way.u, v))
        layer = _tail(dice, layer, way, length=length, frame=frame, tone=base, px=px,
                      present=(k < count).float())  # fmt: skip
        layer = paint(layer, tone, facing, alpha, rise)
        # What is thinner than 4 mm is root.
        body = torch.maximum(body, alpha * ((width - 2 * _col(frame.mm)) * px + 0.5).clamp(0, 1))
        if k == 5:
            layer, body, shown = _crown(dice, layer, body, shown, x, y, frame=frame, size=crown,
                                        tone=base, soil=soil, blotch=blotch, px=px)  # fmt: skip
    layer = _roots(dice, layer, x, y, frame=frame, crown=crown, tone=base, px=px)
    layer, stem, shown = _stems(
        dice, layer, shown, x, y, frame=frame, crown=crown, fine=fine, px=px
    )
    cores, seen = _cores(shown, whole, places)
    return Grown(layer, body[:, None], cores[:, None], stem[:, None], seen)


def _thread(half: Tensor, aside: Tensor, px: float) -> Tensor:
    """Cover of a line that may be thinner than a pixel."""
    wide = (half * px).clamp_min(0.5)
    return (wide - aside.abs() * px + 0.5).clamp(0, 1) * (2 * half * px).clamp(0, 1)


def _tail(
    dice: Dice, layer: Tensor, way: Way, *, length: Tensor, frame: Frame, tone: Tensor, px: float,
    present: Tensor,
) -> Tensor:  # fmt: skip
    """The root in which a tuber ends."""
    n = length.shape[0]
    more = dice.between(0.0, 45.0, n) * frame.mm / length * dice.chance(0.75, n)
    past = (way.u - 0.93) / _col(more + 1e-4)
    curl = way.across + _col(length * 0.05 * dice.normal(n)) * (past.clamp(0, 1) ** 2)
    half = _col(dice.between(0.5, 1.9, n) * frame.mm) * (1 - past.clamp(0, 1) ** 1.5 * 0.85)
    alpha = _thread(half, curl, px) * ((past > 0) & (past < 1)).float()
    colour = _wide(tone * dice.between(0.5, 1.3, n, 1))
    up = torch.full_like(alpha, 0.8)
    zero = torch.zeros_like(alpha)
    return paint(layer, colour, (zero, zero, up), alpha * _col(present), half * 2)


def _roots(
    dice: Dice, layer: Tensor, x: Tensor, y: Tensor, *, frame: Frame, crown: Tensor, tone: Tensor,
    px: float,
) -> Tensor:  # fmt: skip
    """Fine roots from crown and tubers, across and between them."""
    n = frame.x.shape[0]
    hairy = dice.between(0, 1, n) ** 1.5
    for _ in range(_ROOTS):
        out, angle = dice.between(0, 0.8, n) * frame.reach, dice.between(0, 6.28, n)
        foot = (frame.x + out * torch.cos(angle), frame.y + out * torch.sin(angle))
        length = frame.reach * dice.between(0.1, 0.6, n)
        way = along(x, y, foot=foot, heading=angle + 0.8 * dice.normal(n), length=length,
                    bend=0.4 * dice.normal(n), turn=0.3 * dice.normal(n))  # fmt: skip
        inside = ((way.u > 0) & (way.u < 1)).float()
        half = _col(dice.between(0.25, 1.5, n) * frame.mm) * (1 - 0.8 * way.u.clamp(0, 1))
        curl = _col(dice.between(0, 0.08, n) * length) * torch.sin(
            way.u * _col(dice.between(3, 14, n)) + _col(dice.between(0, 6.28, n))
        )
        alpha = _thread(half, way.across + curl * way.u.clamp(0, 1), px) * inside
        alpha = alpha * _col((dice.between(0, 1, n) < hairy).float())
        colour = _wide(tone * dice.between(0.35, 1.3, n, 1))
        zero = torch.zeros_like(alpha)
        layer = paint(layer, colour, (zero, zero, zero + 0.85), alpha, layer[:, 6] + half)
    return layer


def _crown(
    dice: Dice, layer: Tensor, body: Tensor, shown: list[Tensor], x: Tensor, y: Tensor, *,
    frame: Frame, size: Tensor, tone: Tensor, soil: Tensor, blotch: Tensor, px: float,
) -> tuple[Tensor, Tensor, list[Tensor]]:  # fmt: skip
    """The knobbly crown in the middle."""
    n, side = frame.x.shape[0], layer.shape[-1]
    cx, cy = turned(x - _col(frame.x), y - _col(frame.y), _col(dice.between(0, 6.28, n)))
    cy = cy * _col(dice.between(1.0, 1.6, n))
    knobs = 1 + 0.12 * noise(dice, n, side, 14)[:, 0]
    away = torch.hypot(cx, cy) / (_col(size) * knobs)
    alpha = ((1 - away) * _col(size) * px + 0.5).clamp(0, 1)
    up = torch.sqrt((1 - away**2).clamp(0.05, 1))
    v = away.clamp(0, 1) / torch.hypot(cx, cy).clamp_min(1e-4)
    dark = _wide(tone * dice.between(0.35, 1.0, n, 1))
    muddy = _col(dice.between(0, 0.9, n))[:, None]
    colour = (dark + muddy * (_wide(soil) - dark)) * (1 + 0.15 * blotch[:, None]).clamp_min(0.2)
    facing = ((x - _col(frame.x)) * v, (y - _col(frame.y)) * v, up)
    layer = paint(layer, colour, facing, alpha, _col(size) * (0.7 + 0.6 * up))
    return layer, torch.maximum(body, alpha), [s * (1 - alpha) for s in shown]


def _stems(
    dice: Dice, layer: Tensor, shown: list[Tensor], x: Tensor, y: Tensor, *, frame: Frame,
    crown: Tensor, fine: Tensor, px: float,
) -> tuple[Tensor, Tensor, list[Tensor]]:  # fmt: skip
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
        down = way.u * _col(length)
        r = _col(half)
        # The cut end is an ellipse, rounder the more upright the stalk stands.
        round_ = _col(1 / (1 + 0.6 * length / half)).clamp(0.2, 1.0)
        past = (down - _col(length)) / round_
        end = torch.hypot(past, way.across) / r
        foot_end = torch.hypot(down.clamp_max(0), way.across)
        wall = torch.where(down < 0, foot_end, way.across.abs())
        wall = ((r - wall) * px + 0.5).clamp(0, 1) * (down < _col(length)).float()
        cap = ((1 - end) * r * px * round_ + 0.5).clamp(0, 1)
        alpha = torch.maximum(wall, cap) * _col(present)
        v = (way.across / r).clamp(-1, 1)
        up = torch.sqrt((1 - v * v).clamp_min(0.05))
        colour = hsv_to_rgb(dice.between(0.07, 0.3, n), dice.between(0.1, 0.75, n),
                            dice.between(0.25, 0.85, n)) ** 2.2  # fmt: skip
        grain = 1 + _col(dice.between(0, 0.25, n)) * torch.sin(v * 9 + fine)
        skin = _wide(colour) * grain[:, None]
        hollow = _col(dice.between(0.0, 0.8, n))
        flesh = _wide(colour ** dice.between(0.4, 1.0, n, 1))
        pith = _wide(colour * dice.between(0.05, 1.0, n, 1))
        inner = ((hollow - end) * r * px * round_ + 0.5).clamp(0, 1)[:, None]
        face = flesh + inner * (pith - flesh)
        skin = skin + cap[:, None] * (face - skin)
        lit = (way.side_x * v * (1 - cap), way.side_y * v * (1 - cap), up + cap * (1 - up))
        height = layer[:, 6].amax((1, 2), keepdim=True) * 0.7 + r * (1 + up)
        layer = paint(layer, skin, lit, alpha, height + _col(half) * cap)
        shown = [s * (1 - alpha) for s in shown]
        stem = torch.maximum(stem, alpha)
    return layer, stem, shown


def _cores(
    shown: list[Tensor], whole: list[Tensor], places: list[tuple[Tensor, Tensor]],
    least_seen: float = 1 / 3,
) -> tuple[Tensor, Tensor]:  # fmt: skip
    """A rounded patch about the middle of what is seen of each tuber, and how many there are."""
    cores = torch.zeros_like(shown[0])
    seen = torch.zeros_like(whole[0])
    for alpha, area, (u, v) in zip(shown, whole, places, strict=True):
        left = alpha.sum((1, 2))
        counted = ((left > least_seen * area) & (area > 8)).float()
        share = alpha / left.clamp_min(1.0).view(-1, 1, 1)
        middle_u, middle_v = ((share * t).sum((1, 2), keepdim=True) for t in (u, v))
        wide_u = torch.sqrt((share * (u - middle_u) ** 2).sum((1, 2), keepdim=True)) + 1e-3
        wide_v = torch.sqrt((share * (v - middle_v) ** 2).sum((1, 2), keepdim=True)) + 1e-3
        away = torch.hypot((u - middle_u) / (0.95 * wide_u), (v - middle_v) / (0.95 * wide_v))
        patch = (4 * (1 - away) + 0.5).clamp(0, 1) * alpha
        cores = torch.maximum(cores, patch * counted.view(-1, 1, 1))
        seen = seen + counted
    return cores, seen
