"""Drawn clumps of tubers as layers: colour, direction of the surface, height and what is seen."""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import Tensor

from measure.training.clump_parts import Frame, Way, along, crown, paint, roots, stems, tail
from measure.training.drawing import Dice, hsv_to_rgb, noise, per_layer, per_pixel, rough

__all__ = ["MOST_TUBERS", "Grown", "grow", "skin_colours"]

MOST_TUBERS = 17
"""Tubers drawn at most in one clump."""

# The crown lies on the first six tubers; further ones lie over it.
_BELOW_CROWN = 5


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
    seen, count : (n,)
        Number of tubers of which at least a third is seen, and of all.
    """

    layer: Tensor
    body: Tensor
    cores: Tensor
    stem: Tensor
    seen: Tensor
    count: Tensor


def skin_colours(dice: Dice, n: int) -> Tensor:
    """Colours of tuber skin, linear: tan, brown, pale, reddish and purple."""
    hue = dice.between(0.035, 0.105, n)
    saturation = dice.between(0.22, 0.72, n)
    value = dice.between(0.28, 0.88, n)
    purple = dice.chance(0.08, n)
    hue = hue + purple * (dice.between(0.92, 1.02, n) - hue)
    saturation = saturation * (1 - 0.35 * purple)
    return hsv_to_rgb(hue % 1.0, saturation, value) ** 2.2


@dataclass(frozen=True, slots=True)
class _Habit:
    """How each clump grew; (n,) or, by tuber, (n, most)."""

    count: Tensor
    heading: Tensor
    crown: Tensor
    long: Tensor
    plump: Tensor
    neck: Tensor
    uneven: Tensor
    flat: Tensor
    raised: Tensor


@dataclass(frozen=True, slots=True)
class _Skin:
    """What each clump's tubers look like."""

    base: Tensor
    soil: Tensor
    strength: Tensor
    blotch: Tensor
    fine: Tensor
    dirt: Tensor
    texture: Tensor
    knobs: Tensor
    between: Tensor


@dataclass(frozen=True, slots=True)
class _Tuber:
    """One tuber a picture, by pixel."""

    way: Way
    length: Tensor
    width: Tensor
    v: Tensor
    alpha: Tensor
    colour: Tensor
    facing: tuple[Tensor, Tensor, Tensor]
    height: Tensor


def _profile(dice: Dice, u: Tensor, n: int, belly: Tensor, neck: Tensor) -> Tensor:
    """Half the width along a tuber: spindle, club, finger or ball."""
    peak = per_pixel(dice.between(0.38, 0.78, n))
    rise = (u / peak).clamp(0, 1)
    rise = rise * rise * (3 - 2 * rise)
    fall = ((u - peak) / (1 - peak)).clamp(0, 1)
    blunt, sharp = per_pixel(dice.between(1.4, 3.6, n)), per_pixel(dice.between(0.5, 1.05, n))
    share = neck / belly
    body = per_pixel(share) + (1 - per_pixel(share)) * rise
    tip = (1 - fall**blunt).clamp_min(1e-5) ** sharp
    wave = 1 + per_pixel(dice.between(0, 0.09, n)) * torch.sin(
        u * per_pixel(dice.between(4, 14, n)) + per_pixel(dice.between(0, 6.28, n))
    )
    return per_pixel(belly) * torch.where(u < peak, body, tip) * wave * (u < 1)


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


def _habit(dice: Dice, frame: Frame) -> _Habit:
    n = frame.x.shape[0]
    few, many = dice.whole(3, 9, n), dice.whole(8, MOST_TUBERS, n)
    count = torch.where(dice.chance(0.4, n) > 0, many, few)
    count = torch.where(dice.chance(0.06, n) > 0, dice.whole(1, 3, n), count)
    slimmer = (7.0 / count.clamp(5, 17)) ** dice.between(0.15, 0.5, n)
    return _Habit(
        count=count,
        heading=_headings(dice, n, count),
        crown=frame.reach * dice.between(0.13, 0.27, n),
        long=frame.reach * dice.between(0.68, 0.95, n),
        plump=dice.between(0.13, 0.30, n) * slimmer,
        neck=dice.between(0.18, 0.65, n),
        uneven=dice.between(0.05, 0.3, n),
        flat=dice.between(0.75, 1.0, n),
        raised=dice.between(0.0, 0.8, n),
    )


def _skin(dice: Dice, n: int, side: int) -> _Skin:
    strength = (1 - dice.chance(0.12, n)) * dice.between(0.2, 1.0, n)
    blotch = rough(dice, n, side, coarsest=10, fall=0.75)[:, 0]
    fine = rough(dice, n, side, coarsest=48, fall=0.95)[:, 0]
    dirt = torch.sigmoid((blotch + per_pixel(dice.between(-2.5, 1.2, n))) * 5)
    soil = hsv_to_rgb(
        dice.between(0.04, 0.1, n), dice.between(0.2, 0.65, n), dice.between(0.1, 0.42, n)
    )
    return _Skin(
        base=skin_colours(dice, n),
        soil=soil**2.2,
        strength=strength,
        blotch=blotch,
        fine=fine,
        dirt=dirt * per_pixel(strength * dice.between(0, 1, n)),
        texture=1 + per_pixel(strength) * (0.10 * fine + 0.14 * blotch.roll(side // 3, 2)),
        knobs=noise(dice, n, side, 16)[:, 0] * per_pixel(dice.between(0, 0.10, n)),
        between=dice.normal(n, MOST_TUBERS, 3) * (0.08 * (0.3 + strength))[:, None, None],
    )


def _tuber(
    dice: Dice, x: Tensor, y: Tensor, k: int, *, frame: Frame, habit: _Habit, skin: _Skin
) -> _Tuber:
    n, px = frame.x.shape[0], x.shape[-1] / 2.0
    length = habit.long * (1 + habit.uneven * dice.normal(n)).clamp(0.4, 1.25)
    belly = length * habit.plump * torch.exp(0.2 * dice.normal(n))
    belly = torch.minimum(torch.maximum(belly, 4.5 * frame.mm), 0.48 * length)
    neck = torch.maximum(belly * habit.neck * torch.exp(0.2 * dice.normal(n)), 2.4 * frame.mm)
    angle = habit.heading[:, k]
    inset = habit.crown * dice.between(0.3, 0.75, n)
    way = along(
        x,
        y,
        foot=(frame.x + inset * torch.cos(angle), frame.y + inset * torch.sin(angle)),
        heading=angle + 0.12 * dice.normal(n),
        length=length,
        bend=0.17 * dice.normal(n),
        turn=0.09 * dice.normal(n),
    )
    width = _profile(dice, way.u, n, belly, torch.minimum(neck, 0.8 * belly))
    width = width * (1 + skin.knobs.roll(41 * k, 1))
    start = (way.u * per_pixel(length) * px + 0.5).clamp(0, 1) * per_pixel(
        (k < habit.count).float()
    )
    v = (way.across / width.clamp_min(1e-4)).clamp(-1, 1)
    up = torch.sqrt((1 - v * v).clamp_min(0.02))
    upper = per_pixel(dice.chance(0.35, n) * dice.between(0.4, 1.4, n) * float(k > 2))
    # Necks run up to the crown, which stands above the ground; some tubers stick up at the tip.
    u = way.u.clamp(0, 1)
    arch = u * (1 - u) * 2 + 0.5
    tipped = dice.chance(0.15, n) * dice.between(0, 2.5, n) * belly
    stand = per_pixel(habit.raised * habit.crown) * (1 - u) + per_pixel(tipped) * u
    ringed = 1 + per_pixel(skin.strength * dice.between(0, 0.12, n)) * torch.sin(
        way.u * per_pixel(length / frame.mm / dice.between(0.8, 2.2, n)) + 3 * skin.blotch
    )
    tone = per_layer(skin.base * torch.exp(skin.between[:, k]))
    tone = tone * (skin.texture * ringed)[:, None].clamp_min(0.1)
    earth = per_layer(skin.soil) * (0.8 + 0.3 * skin.fine[:, None]).clamp_min(0.2)
    return _Tuber(
        way=way,
        length=length,
        width=width,
        v=v,
        alpha=((width - way.across.abs()) * px + 0.5).clamp(0, 1) * start,
        colour=tone + skin.dirt.roll(37 * k, 2)[:, None] * (earth - tone),
        facing=(way.side_x * v * 0.98, way.side_y * v * 0.98, up),
        height=per_pixel(habit.flat) * width * (1 + up) * 0.8
        + upper * arch * per_pixel(belly)
        + stand,
    )


def grow(dice: Dice, x: Tensor, y: Tensor, *, frame: Frame, side: int) -> Grown:
    """Draw one clump a picture."""
    n, px = frame.x.shape[0], side / 2.0
    habit, skin = _habit(dice, frame), _skin(dice, n, side)
    layer = torch.zeros(n, 8, side, side, device=dice.device)
    layer[:, 5] = 1.0
    body = torch.zeros(n, side, side, device=dice.device)
    shown: list[Tensor] = []
    whole: list[Tensor] = []
    places: list[tuple[Tensor, Tensor]] = []
    for k in range(MOST_TUBERS):
        one = _tuber(dice, x, y, k, frame=frame, habit=habit, skin=skin)
        layer, end = tail(
            dice, layer, one.way, length=one.length, frame=frame, tone=skin.base, px=px,
            present=(k < habit.count).float(),
        )  # fmt: skip
        layer = paint(layer, one.colour, one.facing, one.alpha, one.height)
        # What is thinner than 4 mm is root.
        stout = ((one.width - 2 * per_pixel(frame.mm)) * px + 0.5).clamp(0, 1)
        body = torch.maximum(body, torch.maximum(one.alpha * stout, end))
        left = 1 - one.alpha
        shown = [s * left for s in shown] + [one.alpha]
        whole.append(one.alpha.sum((1, 2)))
        places.append((one.way.u, one.v))
        if k == _BELOW_CROWN:
            layer, alpha = crown(
                dice, layer, x, y, frame=frame, size=habit.crown, tone=skin.base, soil=skin.soil,
                blotch=skin.blotch, px=px,
            )  # fmt: skip
            body = torch.maximum(body, alpha)
            shown = [s * (1 - alpha) for s in shown]
    layer = roots(dice, layer, x, y, frame=frame, tone=skin.base, px=px)
    layer, stem = stems(dice, layer, x, y, frame=frame, crown=habit.crown, fine=skin.fine, px=px)
    shown = [s * (1 - stem) for s in shown]
    cores, seen = _cores(shown, whole, places)
    return Grown(layer, body[:, None], cores[:, None], stem[:, None], seen, habit.count)


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
