"""What stands round a bloom: leaves, stems, soil, sky, bench, slate, a hand, a scale card."""

from __future__ import annotations

import torch
from torch import Tensor

from measure.training.drawing import (
    Dice,
    blurred,
    hsv_to_rgb,
    noise,
    over,
    per_layer,
    per_pixel,
    rough,
    turned,
    when_compiled,
)
from measure.training.flowers import Light, Placed

__all__ = ["Backdrops", "backdrop", "card_behind", "leaf_layer", "stem_layer"]

Backdrops = Tensor
"""(m, 3, h, w) photographs without flowers, 0 to 1, of which pieces are laid behind; m may be 0."""


def _leaf_colours(dice: Dice, n: int) -> Tensor:
    green = hsv_to_rgb(
        dice.between(0.16, 0.42, n), dice.between(0.15, 0.85, n), dice.between(0.08, 0.75, n)
    )
    other = hsv_to_rgb(
        dice.between(0.0, 1.0, n), dice.between(0.05, 0.5, n), dice.between(0.05, 0.4, n)
    )
    bronze = dice.chance(0.15, n, 1)
    return bronze * other + (1 - bronze) * green


def leaf_layer(
    dice: Dice, x: Tensor, y: Tensor, *, colour: Tensor, light: Light, side: int, large: Tensor
) -> tuple[Tensor, Tensor, Tensor]:
    """One leaf (or blade, or petal fallen off) a picture: colour, alpha, shadow round it."""
    n = colour.shape[0]
    size = dice.between(0.08, 0.5, n) * large
    aspect = dice.between(0.06, 0.75, n)
    numbers = torch.stack(
        [
            size,
            aspect,
            dice.between(-1.1, 1.1, n),
            dice.between(-1.1, 1.1, n),
            dice.between(0, 6.28, n),
            dice.normal(n) * 0.5,
            dice.chance(0.4, n) * dice.between(0, 0.12, n),
            dice.between(15, 50, n),
            dice.between(0.4, 1.4, n),
            dice.between(-0.25, 0.25, n),
            dice.between(-0.2, 0.35, n),
            dice.between(10, 30, n),
            dice.between(0, 0.1, n),
            0.55 + 0.6 * dice.between(0, 1, n) * (0.5 + 0.5 * light.z),
            dice.between(0.0, 0.6, n),
        ],
        1,
    )
    tone = colour * (1 + dice.normal(n, 3) * 0.08)
    return _leaf(x, y, numbers, tone, side)


@when_compiled
def _leaf(
    x: Tensor, y: Tensor, numbers: Tensor, tone: Tensor, side: int
) -> tuple[Tensor, Tensor, Tensor]:
    (size, aspect, middle_x, middle_y, turn, bend, teeth, tooth_count, blunt, halves, rib, veins,
     vein_depth, lit, shadow) = (per_pixel(v) for v in numbers.unbind(1))  # fmt: skip
    px, py = turned(x - middle_x, y - middle_y, turn)
    u, v = px / size, py / (size * aspect)
    v = v + bend * u * u
    width = (1 - u * u).clamp_min(1e-4) ** blunt * (1 + teeth * torch.sin(u * tooth_count))
    edge = torch.minimum(width - v.abs(), 1 - u.abs()) * (size * aspect * (side / 2))
    shade = 1 + torch.tanh(v * 12) * halves + torch.exp(-((v * 18) ** 2)) * rib
    shade = (shade + torch.sin((u - v.abs() * 0.6) * veins) * vein_depth) * lit
    colour = (tone[..., None, None] * shade[:, None]).clamp(0, 1)
    dark = torch.sigmoid((edge + 5) * 0.35) * shadow
    return colour, torch.sigmoid(edge * 2)[:, None], dark[:, None]


def stem_layer(
    dice: Dice, x: Tensor, y: Tensor, *, fx: Tensor, fy: Tensor, colour: Tensor, side: int
) -> tuple[Tensor, Tensor]:
    """A stalk from a point to beyond the picture's edge: colour and alpha."""
    n = fx.shape[0]
    px, py = turned(x - per_pixel(fx), y - per_pixel(fy), per_pixel(dice.between(0, 6.28, n)))
    py = py + per_pixel(dice.normal(n) * 0.25) * px * px
    half = dice.between(0.008, 0.05, n)
    alpha = torch.sigmoid((per_pixel(half) - py.abs()) * side) * torch.sigmoid(px * side)
    round_ = torch.sqrt((1 - (py / per_pixel(half)) ** 2).clamp(0.05, 1))
    return (colour[..., None, None] * round_[:, None]).clamp(0, 1), alpha[:, None]


def _plain(dice: Dice, n: int, side: int) -> Tensor:
    """Soil, slate, bench, sheet, wall or sky: colour with noise, bands and a slope of light."""
    earthy = hsv_to_rgb(
        dice.between(0.02, 0.14, n), dice.between(0.05, 0.6, n), dice.between(0.05, 0.8, n)
    )
    grey = hsv_to_rgb(dice.between(0, 1, n), dice.between(0, 0.15, n), dice.between(0.03, 1.0, n))
    sky = hsv_to_rgb(
        dice.between(0.53, 0.62, n), dice.between(0, 0.7, n), dice.between(0.5, 1.0, n)
    )
    any_ = dice.between(0, 1, n, 3)
    skin = hsv_to_rgb(
        dice.between(0.02, 0.08, n), dice.between(0.2, 0.6, n), dice.between(0.25, 0.95, n)
    )
    green = _leaf_colours(dice, n)
    sort = dice.whole(0, 7, n)
    sorts = torch.stack([earthy, earthy, grey, grey, sky, any_, skin, green], 1)
    colour = sorts[torch.arange(n, device=dice.device), sort]
    fine = rough(dice, n, side, coarsest=8, fall=0.85) * per_layer(dice.between(0, 0.25, n, 1))
    slope = noise(dice, n, side, 2) * per_layer(dice.between(0, 0.25, n, 1))
    tints = noise(dice, n, side, 5, 3) * per_layer(dice.between(0, 0.06, n, 1))
    base = per_layer(colour) * (1 + fine + slope) + tints
    x = torch.linspace(-1, 1, side, device=dice.device).view(1, 1, side).expand(n, side, side)
    across, _ = turned(x, x.transpose(1, 2), per_pixel(dice.between(0, 6.28, n)))
    wave = across * per_pixel(dice.between(2, 60, n)) + noise(dice, n, side, 6)[:, 0] * 0.4
    bands = torch.sign(torch.sin(wave)) * 0.5 + torch.sin(wave * 2.3)
    base = base * (
        1 + bands[:, None] * per_layer(dice.chance(0.3, n, 1) * dice.between(0, 0.2, n, 1))
    )
    return base.clamp(0, 1)


def _pieces(dice: Dice, n: int, side: int, backdrops: Backdrops) -> Tensor:
    """Pieces cut from photographs at random place, size and turn."""
    m = backdrops.shape[0]
    pick = dice.whole(0, m - 1, n)
    zoom = dice.between(0.15, 0.7, n)
    turn = dice.between(0, 6.28, n)
    room = (1 - zoom).clamp_min(0)
    line = torch.linspace(-1, 1, side, device=dice.device)
    gy, gx = torch.meshgrid(line, line, indexing="ij")
    c, s = torch.cos(turn), torch.sin(turn)
    px = per_pixel(zoom) * (per_pixel(c) * gx - per_pixel(s) * gy) + per_pixel(
        room * dice.between(-1, 1, n)
    )
    py = per_pixel(zoom) * (per_pixel(s) * gx + per_pixel(c) * gy) + per_pixel(
        room * dice.between(-1, 1, n)
    )
    out = torch.empty(n, 3, side, side, device=dice.device)
    for i in range(m):
        chosen = (pick == i).nonzero().ravel()
        if len(chosen):
            grid = torch.stack([px[chosen], py[chosen]], -1)
            source = backdrops[i : i + 1].expand(len(chosen), -1, -1, -1)
            out[chosen] = torch.nn.functional.grid_sample(
                source, grid, align_corners=False, padding_mode="reflection"
            )
    # Some of the photographs are grey; any may be tinted.
    gain = torch.exp(dice.normal(n, 3) * 0.3) * torch.exp(dice.normal(n, 1) * 0.3)
    return (out * per_layer(gain)).clamp(0, 1)


def _moved(dice: Dice, layer: Tensor, *, n: int, side: int) -> Tensor:
    """The same leaves once more, turned and otherwise large, so that foliage grows dense."""
    turn, zoom = dice.between(0, 6.28, n), dice.between(0.6, 1.4, n)
    c, s = torch.cos(turn) * zoom, torch.sin(turn) * zoom
    shift = dice.between(-0.5, 0.5, n, 2)
    affine = torch.stack(
        [torch.stack([c, -s, shift[:, 0]], 1), torch.stack([s, c, shift[:, 1]], 1)], 1
    )
    grid = torch.nn.functional.affine_grid(affine, [n, 1, side, side], align_corners=False)
    return torch.nn.functional.grid_sample(
        layer, grid, align_corners=False, padding_mode="reflection"
    )


def backdrop(
    dice: Dice,
    x: Tensor,
    y: Tensor,
    *,
    n: int,
    side: int,
    light: Light,
    leaves: int,
    backdrops: Backdrops,
) -> Tensor:
    """A background a picture (n, 3, side, side), sharp."""
    picture = _plain(dice, n, side)
    if backdrops.shape[0]:
        photo = per_layer(dice.chance(0.3, n, 1))
        picture = over(picture, _pieces(dice, n, side, backdrops), photo)
    dark = per_layer(dice.chance(0.5, n, 1) * dice.between(0.2, 0.95, n, 1))
    picture = picture * (1 - dark)
    leafy = dice.chance(0.75, n) * dice.between(0.2, 1.0, n)
    palette = _leaf_colours(dice, n)
    large = dice.between(0.5, 2.0, n)
    foliage = torch.zeros(n, 4, side, side, device=dice.device)
    for _ in range(leaves):
        colour, alpha, shadow = leaf_layer(
            dice, x, y, colour=palette, light=light, side=side, large=large
        )
        present = per_layer((dice.between(0, 1, n) < leafy).float()[:, None])
        foliage[:, :3] = foliage[:, :3] * (1 - shadow * present)
        foliage = over(foliage, torch.cat([colour, torch.ones_like(alpha)], 1), alpha * present)
    # What lies deeper stands darker and may be less sharp.
    deep = dice.between(0.25, 1.0, n, 1)
    soft = dice.chance(0.5, n) * dice.between(0, 1, n) ** 2 * 6
    for depth in (2, 1, 0):
        layer = _moved(dice, foliage, n=n, side=side) if depth else foliage
        lit = per_layer(deep**depth)
        dense = per_layer(dice.chance(0.7, n, 1)) if depth else 1.0
        picture = over(picture, layer[:, :3] * lit, layer[:, 3:] * dense)
        picture = blurred(picture, soft) if depth == 1 else picture
    for _ in range(2):
        colour, alpha = stem_layer(
            dice,
            x,
            y,
            fx=dice.between(-1, 1, n),
            fy=dice.between(-1, 1, n),
            colour=palette * dice.between(0.6, 1.3, n, 1),
            side=side,
        )
        picture = over(picture, colour, alpha * per_layer(dice.chance(0.3, n, 1)))
    return picture


def card_behind(
    dice: Dice, x: Tensor, y: Tensor, *, placed: Placed, side: int
) -> tuple[Tensor, Tensor]:
    """A printed card: paper with a grey field, a chequered board and marks; colour and alpha.

    Half of them lie right behind the flower and reach beyond it.
    """
    n = placed.x.shape[0]
    behind = dice.chance(0.5, n)

    def either(anywhere: Tensor, there: Tensor) -> Tensor:
        return per_pixel(anywhere + behind * (there - anywhere))

    px, py = turned(
        x - either(dice.between(-0.6, 0.6, n), placed.x + dice.normal(n) * 0.25 * placed.radius),
        y - either(dice.between(-0.6, 0.6, n), placed.y + dice.normal(n) * 0.25 * placed.radius),
        per_pixel(dice.between(0, 6.28, n)),
    )
    wide = either(dice.between(0.3, 1.3, n), placed.radius * dice.between(1.1, 2.5, n))
    high = either(dice.between(0.2, 1.3, n), placed.radius * dice.between(1.1, 2.5, n))
    edge = torch.minimum(wide - px.abs(), high - py.abs()) * (side / 2)
    alpha = torch.sigmoid(edge * 2)[:, None]
    paper = per_layer(dice.between(0.6, 1.0, n, 1) * (1 + dice.normal(n, 3) * 0.03))
    colour = paper.expand(n, 3, side, side)
    field = torch.sigmoid((0.85 * torch.minimum(wide, high) - torch.hypot(px, py)) * side)
    grey = per_layer(dice.between(0.3, 0.8, n, 1)).expand(n, 3, side, side)
    colour = over(colour, grey, field[:, None] * per_layer(dice.chance(0.5, n, 1)))
    cell = per_pixel(dice.between(0.04, 0.2, n))
    chequer = (torch.sin(px / cell * 3.14) * torch.sin(py / cell * 3.14) > 0).float()
    where = (py > high * per_pixel(dice.between(-0.6, 0.6, n))).float() * (px.abs() < wide * 0.9)
    printed = (chequer * where)[:, None] * per_layer(dice.chance(0.7, n, 1))
    return over(colour, torch.full_like(colour, 0.08), printed), alpha
