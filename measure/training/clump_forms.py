"""Drawn clumps of tubers as layers: colour, direction of the surface, height and what is seen."""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import Tensor

from measure.training.clump_parts import (
    Frame,
    along,
    crown,
    paint,
    roots,
    stems,
    tail,
    tail_numbers,
)
from measure.training.drawing import (
    Dice,
    hsv_to_rgb,
    noise,
    per_layer,
    per_pixel,
    rough,
    when_compiled,
)

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
    saturation = dice.between(0.2, 0.65, n)
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
    bumps: tuple[Tensor, Tensor]
    knobs: Tensor
    between: Tensor


def _headings(dice: Dice, n: int, count: Tensor) -> Tensor:
    """(n, most) directions: all round, or a fan to one side; neighbours drawn in any order."""
    most = MOST_TUBERS
    key = dice.between(0, 1, n, most)
    key = torch.where(torch.arange(most, device=dice.device) < count[:, None], key, key + 9)
    rank = key.argsort(1).argsort(1).float()
    ring = dice.chance(0.75, n)
    span = 6.283 * (ring + (1 - ring) * dice.between(0.3, 0.9, n))
    jitter = dice.normal(n, most) * dice.between(0.1, 0.7, n, 1)
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
    # Lumps tilt the surface one way and the other.
    lumps = rough(dice, n, side, coarsest=16, fall=0.6)[:, 0] * per_pixel(
        dice.between(0.0, 0.35, n)
    )
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
        texture=1 + per_pixel(strength) * (0.10 * fine + 0.20 * blotch.roll(side // 3, 2)),
        bumps=(lumps - lumps.roll(2, 2), lumps - lumps.roll(2, 1)),
        knobs=noise(dice, n, side, 16)[:, 0] * per_pixel(dice.between(0, 0.10, n)),
        between=dice.normal(n, MOST_TUBERS, 3) * (0.08 * (0.3 + strength))[:, None, None],
    )


def _tubers(dice: Dice, frame: Frame, habit: _Habit, skin: _Skin) -> dict[str, Tensor]:
    """All tubers in numbers, (n, most) each."""
    n, most = frame.x.shape[0], MOST_TUBERS
    mm, place = frame.mm[:, None], torch.arange(most, device=dice.device)
    length = habit.uneven[:, None] * dice.normal(n, most)
    length = habit.long[:, None] * (1 + length).clamp(0.4, 1.25)
    belly = length * habit.plump[:, None] * torch.exp(0.2 * dice.normal(n, most))
    belly = torch.minimum(torch.maximum(belly, 4.5 * mm), 0.48 * length)
    neck = belly * habit.neck[:, None] * torch.exp(0.2 * dice.normal(n, most))
    neck = torch.minimum(torch.maximum(neck, 2.4 * mm), 0.8 * belly)
    inset = habit.crown[:, None] * dice.between(0.3, 0.75, n, most)
    upper = dice.chance(0.4, n, most) * dice.between(0.4, 1.8, n, most) * (place > 2)
    strength = skin.strength[:, None]
    return {
        "foot x": frame.x[:, None] + inset * torch.cos(habit.heading),
        "foot y": frame.y[:, None] + inset * torch.sin(habit.heading),
        "heading": habit.heading + 0.12 * dice.normal(n, most),
        "length": length,
        "bend": 0.17 * dice.normal(n, most),
        "turn": 0.09 * dice.normal(n, most),
        "belly": belly,
        "neck": neck / belly,
        "peak": dice.between(0.38, 0.78, n, most),
        "blunt": dice.between(1.4, 3.6, n, most),
        "sharp": dice.between(0.5, 1.05, n, most),
        "wave": dice.between(0, 0.09, n, most),
        "waves": dice.between(4, 14, n, most),
        "phase": dice.between(0, 6.28, n, most),
        "there": (place < habit.count[:, None]).float(),
        "arched": upper * belly,
        # Necks run up to the crown, which stands above the ground; some tips stick up.
        "raised": (habit.raised * habit.crown)[:, None].expand(n, most),
        "tipped": dice.chance(0.3, n, most) * dice.between(0, 3.0, n, most) * belly,
        "flat": habit.flat[:, None].expand(n, most),
        "ringed": strength * dice.between(0, 0.12, n, most),
        "rings": length / mm / dice.between(0.8, 2.2, n, most),
        "mm": mm.expand(n, most),
        **tail_numbers(dice, length, frame),
    }


def _profile(u: Tensor, t: dict[str, Tensor]) -> Tensor:
    """Half the width along a tuber: spindle, club, finger or ball."""
    peak, share = per_pixel(t["peak"]), per_pixel(t["neck"])
    rise = (u / peak).clamp(0, 1)
    body = share + (1 - share) * rise * rise * (3 - 2 * rise)
    fall = ((u - peak) / (1 - peak)).clamp(0, 1)
    tip = (1 - fall ** per_pixel(t["blunt"])).clamp_min(1e-5) ** per_pixel(t["sharp"])
    wave = torch.sin(u * per_pixel(t["waves"]) + per_pixel(t["phase"]))
    wave = 1 + per_pixel(t["wave"]) * wave
    return per_pixel(t["belly"]) * torch.where(u < peak, body, tip) * wave * (u < 1)


@when_compiled
def _with_tuber(
    x: Tensor, y: Tensor, layer: Tensor, body: Tensor, *, numbers: Tensor, names: tuple[str, ...],
    colours: Tensor, maps: tuple[Tensor, ...],
) -> tuple[Tensor, Tensor, Tensor, Tensor, Tensor]:  # fmt: skip
    """One tuber a picture laid on: layer and body with it, its cover, and ways along and across.

    ``colours`` (n, 3, 3) are the clump's skin, the tuber's own and the soil; ``maps`` (n, s, s)
    are knobs, dirt, texture, fine, blotch and bumps across and down.
    """
    t = dict(zip(names, numbers.unbind(1), strict=True))
    base, own, soil = colours.unbind(1)
    knobs, dirt, texture, fine, blotch, bump_x, bump_y = maps
    px = x.shape[-1] / 2.0
    way = along(
        x, y, foot=(t["foot x"], t["foot y"]), heading=t["heading"], length=t["length"],
        bend=t["bend"], turn=t["turn"],
    )  # fmt: skip
    layer, end = tail(layer, way, t=t, tone=base, px=px)
    width = _profile(way.u, t) * (1 + knobs)
    start = (way.u * per_pixel(t["length"]) * px + 0.5).clamp(0, 1) * per_pixel(t["there"])
    alpha = ((width - way.across.abs()) * px + 0.5).clamp(0, 1) * start
    v = (way.across / width.clamp_min(1e-4)).clamp(-1, 1)
    up = torch.sqrt((1 - v * v).clamp_min(0.02))
    u = way.u.clamp(0, 1)
    ringed = 1 + per_pixel(t["ringed"]) * torch.sin(way.u * per_pixel(t["rings"]) + 3 * blotch)
    tone = per_layer(own) * (texture * ringed)[:, None].clamp_min(0.1)
    earth = per_layer(soil) * (0.8 + 0.3 * fine[:, None]).clamp_min(0.2)
    height = (
        per_pixel(t["flat"]) * width * (1 + up) * 0.8
        + per_pixel(t["arched"]) * (u * (1 - u) * 2 + 0.5)
        + per_pixel(t["raised"]) * (1 - u)
        + per_pixel(t["tipped"]) * u
    )
    layer = paint(
        layer, tone + dirt[:, None] * (earth - tone),
        (way.side_x * v * 0.98 + bump_x, way.side_y * v * 0.98 + bump_y, up), alpha, height,
    )  # fmt: skip
    # What is thinner than 4 mm is root.
    stout = ((width - 2 * per_pixel(t["mm"])) * px + 0.5).clamp(0, 1)
    return layer, torch.maximum(body, torch.maximum(alpha * stout, end)), alpha, way.u, v


def grow(dice: Dice, x: Tensor, y: Tensor, *, frame: Frame, side: int) -> Grown:
    """Draw one clump a picture."""
    n, px = frame.x.shape[0], side / 2.0
    habit, skin = _habit(dice, frame), _skin(dice, n, side)
    table = _tubers(dice, frame, habit, skin)
    names, numbers = tuple(table), torch.stack(list(table.values()), 2)
    layer = torch.zeros(n, 8, side, side, device=dice.device)
    layer[:, 5] = 1.0
    body = torch.zeros(n, side, side, device=dice.device)
    shown = torch.empty(MOST_TUBERS, n, side, side, device=dice.device)
    whole: list[Tensor] = []
    places: list[tuple[Tensor, Tensor]] = []
    for k in range(MOST_TUBERS):
        maps = (skin.knobs.roll(41 * k, 1), skin.dirt.roll(37 * k, 2), skin.texture, skin.fine,
                skin.blotch, *skin.bumps)  # fmt: skip
        own = skin.base * torch.exp(skin.between[:, k])
        layer, body, alpha, u, v = _with_tuber(
            x, y, layer, body, numbers=numbers[:, k], names=names,
            colours=torch.stack([skin.base, own, skin.soil], 1), maps=maps,
        )  # fmt: skip
        shown[:k] *= 1 - alpha
        shown[k] = alpha
        whole.append(alpha.sum((1, 2)))
        places.append((u, v))
        if k == _BELOW_CROWN:
            layer, alpha = crown(
                dice, layer, x, y, frame=frame, size=habit.crown, tone=skin.base, soil=skin.soil,
                blotch=skin.blotch, px=px,
            )  # fmt: skip
            body = torch.maximum(body, alpha)
            shown[: k + 1] *= 1 - alpha
    layer = roots(dice, layer, x, y, frame=frame, tone=skin.base)
    layer, stem = stems(dice, layer, x, y, frame=frame, crown=habit.crown, fine=skin.fine, px=px)
    shown *= 1 - stem
    cores, seen = _cores(shown, whole, places)
    return Grown(layer, body[:, None], cores[:, None], stem[:, None], seen, habit.count)


def _cores(
    shown: Tensor, whole: list[Tensor], places: list[tuple[Tensor, Tensor]],
    least_seen: float = 1 / 3,
) -> tuple[Tensor, Tensor]:  # fmt: skip
    """A rounded patch about the middle of what is seen of each tuber, and how many there are."""
    cores = torch.zeros_like(shown[0])
    seen = torch.zeros_like(whole[0])
    for alpha, area, (u, v) in zip(shown, whole, places, strict=True):
        counted = ((alpha.sum((1, 2)) > least_seen * area) & (area > 8)).float()
        cores = torch.maximum(cores, _patch(alpha, u, v) * per_pixel(counted))
        seen = seen + counted
    return cores, seen


@when_compiled
def _patch(alpha: Tensor, u: Tensor, v: Tensor) -> Tensor:
    """The patch on what is seen (``alpha``) of one tuber a picture."""
    share = alpha / alpha.sum((1, 2), keepdim=True).clamp_min(1.0)
    middle_u, middle_v = ((share * t).sum((1, 2), keepdim=True) for t in (u, v))
    wide_u = torch.sqrt((share * (u - middle_u) ** 2).sum((1, 2), keepdim=True)) + 1e-3
    wide_v = torch.sqrt((share * (v - middle_v) ** 2).sum((1, 2), keepdim=True)) + 1e-3
    away = torch.hypot((u - middle_u) / (0.95 * wide_u), (v - middle_v) / (0.95 * wide_v))
    return (4 * (1 - away) + 0.5).clamp(0, 1) * alpha
