"""What a clump is laid on: planks, sacking, slate, sheet, concrete, soil, grass, gravel, print."""

from __future__ import annotations

import torch
import torch.nn.functional as fn
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
)

__all__ = ["crumbs", "ground", "scale_card"]


def _colour(dice: Dice, n: int, hue: tuple[float, float], saturation: tuple[float, float],
            value: tuple[float, float]) -> Tensor:  # fmt: skip
    """Linear colours within bounds given as they look on a screen."""
    shade = hsv_to_rgb(
        dice.between(*hue, n) % 1.0, dice.between(*saturation, n), dice.between(*value, n)
    )
    return shade**2.2


def _streaks(dice: Dice, n: int, side: int, *, long: int, fine: int) -> Tensor:
    """Noise drawn out along x (n, 1, side, side)."""
    total = torch.zeros(n, 1, side, side, device=dice.device)
    for k, weight in enumerate((1.0, 0.8, 0.6)):
        coarse = dice.normal(n, 1, min(side, fine * 2**k), long * 2**k)
        total += weight * fn.interpolate(coarse, (side, side), mode="bicubic", align_corners=True)
    return total / 1.4


def _planks(dice: Dice, n: int, side: int, y: Tensor) -> Tensor:
    width = per_pixel(dice.between(0.2, 1.1, n))
    place = (y + per_pixel(dice.between(-1, 1, n))) / width
    number = torch.floor(place)
    edge = (place - number - 0.5).abs()
    gap = torch.sigmoid(
        (edge - 0.5 + per_pixel(dice.between(0.005, 0.03, n)) / width) * 150 * width
    )
    per_plank = torch.sin(number * 12.9898 + per_pixel(dice.between(0, 6, n)) * 78.2) * 0.5
    grain = _streaks(dice, n, side, long=3, fine=130) * per_layer(dice.between(0.05, 0.5, n, 1))
    stain = noise(dice, n, side, 5) * per_layer(dice.between(0, 0.2, n, 1))
    wood = _colour(dice, n, (0.04, 0.12), (0.05, 0.6), (0.2, 0.85))
    tone = 1 + grain + stain + per_plank[:, None] * per_layer(dice.between(0, 0.4, n, 1))
    dark = (gap * per_pixel(dice.chance(0.8, n)))[:, None]
    return per_layer(wood) * tone.clamp_min(0.1) * (1 - 0.9 * dark)


def _sacking(dice: Dice, n: int, side: int, x: Tensor, y: Tensor) -> Tensor:
    pitch = per_pixel(dice.between(0.012, 0.06, n))
    waver = noise(dice, n, side, 7)[:, 0] * per_pixel(dice.between(0, 0.02, n))
    a = torch.sin((x + waver) / pitch * 3.14)
    b = torch.sin((y - waver) / pitch * 3.14)
    weave = torch.where(a * b > 0, a.abs(), b.abs())
    depth = per_pixel(dice.between(0.0, 0.9, n))
    jute = _colour(dice, n, (0.06, 0.13), (0.15, 0.65), (0.25, 0.85))
    patch = rough(dice, n, side, coarsest=5, fall=0.75) * per_layer(dice.between(0.05, 0.3, n, 1))
    folds = torch.sin(x * per_pixel(dice.between(0.5, 4, n)) + 3 * noise(dice, n, side, 3)[:, 0])
    folds = folds * per_pixel(dice.between(0, 0.2, n))
    tone = (1 - depth * (1 - weave)) * (1 + folds)
    return per_layer(jute) * tone[:, None] * (1 + patch).clamp_min(0.1)


def _slate(dice: Dice, n: int, side: int) -> Tensor:
    stone = _colour(dice, n, (0.5, 0.72), (0.0, 0.35), (0.12, 0.55))
    layers = rough(dice, n, side, coarsest=6, fall=0.7) * per_layer(dice.between(0.05, 0.35, n, 1))
    dust = torch.sigmoid((noise(dice, n, side, 9) - 0.7) * 4) * per_layer(
        dice.between(0, 0.4, n, 1)
    )
    brown = per_layer(_colour(dice, n, (0.05, 0.1), (0.2, 0.5), (0.3, 0.5)))
    return over(
        per_layer(stone) * (1 + layers).clamp_min(0.1), brown.expand(-1, -1, side, side), dust
    )


def _sheet(dice: Dice, n: int, side: int, x: Tensor) -> Tensor:
    white = _colour(dice, n, (0, 1), (0, 0.08), (0.7, 1.0))
    blue = _colour(dice, n, (0.5, 0.68), (0.2, 0.9), (0.2, 0.9))
    other = _colour(dice, n, (0, 1), (0, 0.7), (0.1, 0.9))
    pick = dice.whole(0, 2, n)
    cloth = torch.stack([white, blue, other], 1)[torch.arange(n, device=dice.device), pick]
    bent = x * per_pixel(dice.between(0, 8, n)) + 4 * noise(dice, n, side, 3)[:, 0]
    folds = torch.sin(bent) + 0.4 * torch.sin(2.7 * bent)
    soft = noise(dice, n, side, 4)[:, 0]
    tone = (
        1 + per_pixel(dice.between(0, 0.25, n)) * folds + per_pixel(dice.between(0, 0.15, n)) * soft
    )
    dirt = torch.sigmoid((rough(dice, n, side, coarsest=5) - 1.2) * 4)
    brown = per_layer(_colour(dice, n, (0.05, 0.1), (0.3, 0.6), (0.2, 0.5)))
    plain = per_layer(cloth) * tone[:, None].clamp_min(0.2)
    return over(plain, brown, dirt * per_layer(dice.chance(0.4, n, 1) * dice.between(0, 0.7, n, 1)))


def _concrete(dice: Dice, n: int, side: int) -> Tensor:
    grey = _colour(dice, n, (0.03, 0.7), (0.0, 0.18), (0.3, 0.85))
    blotch = rough(dice, n, side, coarsest=4, fall=0.8) * per_layer(dice.between(0.03, 0.25, n, 1))
    grit = dice.normal(n, 1, side, side) * per_layer(dice.between(0, 0.2, n, 1))
    return per_layer(grey) * (1 + blotch + grit).clamp_min(0.1)


def _soil(dice: Dice, n: int, side: int) -> Tensor:
    earth = _colour(dice, n, (0.03, 0.12), (0.15, 0.65), (0.1, 0.55))
    lumps = rough(dice, n, side, coarsest=12, fall=0.9)
    lit = lumps - torch.roll(lumps, (2, 2), (2, 3))
    damp = torch.sigmoid(noise(dice, n, side, 3) * 4) * per_layer(dice.between(0, 0.6, n, 1))
    tone = (
        1
        + lumps * per_layer(dice.between(0.05, 0.3, n, 1))
        + lit * per_layer(dice.between(0.1, 0.6, n, 1))
    )
    return per_layer(earth) * tone.clamp_min(0.08) * (1 - damp)


def _grass(dice: Dice, n: int, side: int) -> Tensor:
    picture = _soil(dice, n, side)
    for _ in range(7):
        streaks = _streaks(dice, n, side, long=12, fine=70)
        turn = dice.between(0, 6.28, n)
        blades = _turned_picture(dice, streaks, turn, torch.ones_like(turn))
        alpha = torch.sigmoid((blades - dice.between(0.0, 1.2, n, 1, 1, 1)) * 6)
        green = _colour(dice, n, (0.14, 0.38), (0.2, 0.8), (0.12, 0.75))
        picture = over(picture * (1 - 0.3 * alpha), per_layer(green) * (1 + 0.3 * blades), alpha)
    return picture.clamp_min(0.001)


def _cells(dice: Dice, n: int, side: int, count: Tensor) -> tuple[Tensor, Tensor]:
    """Distance from each pixel to the nearest scattered point, in units of the points' spacing,
    and a number from 0 to 1 that belongs to that point."""
    grid = 96
    shift = dice.between(0.1, 0.9, n, 2, grid, grid)
    key = dice.between(0, 1, n, grid, grid)
    line = (torch.arange(side, device=dice.device) + 0.5) / side
    fx = line.view(1, 1, -1) * per_pixel(count)
    fy = line.view(1, -1, 1) * per_pixel(count)
    ix, iy = fx.floor().long(), fy.floor().long()
    batch = torch.arange(n, device=dice.device).view(-1, 1, 1)
    best = torch.full((n, side, side), 9.0, device=dice.device)
    owner = torch.zeros_like(best)
    for dy in (-1, 0, 1):
        for dx in (-1, 0, 1):
            jx, jy = (ix + dx) % grid, (iy + dy) % grid
            px = ix + dx + shift[batch, 0, jy, jx]
            py = iy + dy + shift[batch, 1, jy, jx]
            away = torch.hypot(px - fx, py - fy)
            owner = torch.where(away < best, key[batch, jy, jx], owner)
            best = torch.minimum(best, away)
    return best, owner


def _gravel(dice: Dice, n: int, side: int) -> Tensor:
    away, key = _cells(dice, n, side, dice.between(14, 80, n))
    stone = _colour(dice, n, (0.02, 0.7), (0.0, 0.35), (0.3, 0.8))
    dome = (1 - away).clamp_min(0.05)
    tone = (0.45 + 0.9 * key) * (0.35 + dome * per_pixel(dice.between(0.4, 1.0, n)))
    tint = 1 + 0.3 * torch.sin(per_layer(dice.between(0, 6, n, 3)) + key[:, None] * 20) * per_layer(
        dice.between(0, 0.6, n, 1)
    )
    return per_layer(stone) * tone[:, None] * tint


def _newsprint(dice: Dice, n: int, side: int, x: Tensor, y: Tensor) -> Tensor:
    paper = _colour(dice, n, (0.08, 0.14), (0.0, 0.25), (0.6, 0.98))
    pitch = per_pixel(dice.between(0.025, 0.09, n))
    lines = (torch.sin(y / pitch * 6.28) > per_pixel(dice.between(-0.3, 0.4, n))).float()
    column = (torch.sin(x * per_pixel(dice.between(4, 12, n))) > -0.9).float()
    words = (_streaks(dice, n, side, long=40, fine=90)[:, 0] > -0.3).float()
    block = (noise(dice, n, side, 4)[:, 0] > -0.6).float()
    picture = (noise(dice, n, side, 3)[:, 0] > 1.1).float() * 0.5
    ink = (lines * column * words * block * 0.8 + picture).clamp(0, 0.85)
    return per_layer(paper) * (1 - ink * per_pixel(dice.between(0.4, 1.0, n)))[:, None]


def _alike(dice: Dice, n: int, side: int, skin: Tensor) -> Tensor:
    """Ground nearly of the tubers' own colour."""
    own = skin * torch.exp(dice.normal(n, 3) * 0.12) * torch.exp(dice.normal(n, 1) * 0.35)
    blotch = rough(dice, n, side, coarsest=6, fall=0.85) * per_layer(dice.between(0.0, 0.3, n, 1))
    return per_layer(own) * (1 + blotch).clamp_min(0.1)


def _plain(dice: Dice, n: int, side: int) -> Tensor:
    flat = _colour(dice, n, (0, 1), (0, 0.8), (0.05, 1.0))
    slope = noise(dice, n, side, 2) * per_layer(dice.between(0, 0.2, n, 1))
    grain = rough(dice, n, side, coarsest=8, fall=0.9) * per_layer(dice.between(0, 0.1, n, 1))
    return per_layer(flat) * (1 + slope + grain).clamp_min(0.1)


def _turned_picture(dice: Dice, picture: Tensor, turn: Tensor, zoom: Tensor) -> Tensor:
    n = picture.shape[0]
    c, s = torch.cos(turn) * zoom, torch.sin(turn) * zoom
    shift = dice.between(-0.2, 0.2, n, 2)
    affine = torch.stack(
        [torch.stack([c, -s, shift[:, 0]], 1), torch.stack([s, c, shift[:, 1]], 1)], 1
    )
    grid = fn.affine_grid(affine, list(picture.shape), align_corners=False)
    return fn.grid_sample(picture, grid, align_corners=False, padding_mode="reflection")


def ground(dice: Dice, x: Tensor, y: Tensor, *, n: int, side: int, skin: Tensor) -> Tensor:
    """A ground a picture (n, 3, side, side), linear; ``skin`` (n, 3) is the tubers' colour."""
    # The first six kinds are what clumps are laid on most.
    kind = dice.whole(0, 18, n)
    kind = torch.where(kind > 12, kind - 13, kind)
    picture = torch.empty(n, 3, side, side, device=dice.device)
    for k in range(13):
        chosen = (kind == k).nonzero().ravel()
        m = len(chosen)
        if m == 0:
            continue
        made = (
            _planks(dice, m, side, y) if k in (0, 1)
            else _sacking(dice, m, side, x, y) if k in (2, 3)
            else _soil(dice, m, side) if k in (4, 5)
            else _slate(dice, m, side) if k == 6
            else _concrete(dice, m, side) if k == 7
            else _sheet(dice, m, side, x) if k == 8
            else _grass(dice, m, side) if k == 9
            else _gravel(dice, m, side) if k == 10
            else _newsprint(dice, m, side, x, y) if k == 11
            else _alike(dice, m, side, skin[chosen])
        )  # fmt: skip
        picture[chosen] = made.expand(m, 3, side, side)
    turn = dice.between(0, 6.28, n)
    picture = _turned_picture(dice, picture, turn, dice.between(0.6, 1.0, n))
    plain = per_layer(dice.chance(0.06, n, 1))
    picture = over(picture, _plain(dice, n, side), plain)
    # Often it has nearly the hue of the tubers, which are then hard to tell.
    mean = picture.mean((2, 3)).clamp_min(0.01)
    own = skin.clamp_min(0.01) * torch.exp(dice.normal(n, 3) * 0.1 + dice.normal(n, 1) * 0.4)
    towards = dice.chance(0.5, n, 1) * dice.between(0.2, 1.0, n, 1)
    picture = picture * per_layer((own / mean) ** towards)
    # Another ground begins somewhere: the bench's end, the sheet's edge.
    px, _ = turned(x, y, per_pixel(dice.between(0, 6.28, n)))
    beyond = torch.sigmoid((px - per_pixel(dice.between(0.45, 1.2, n))) * side / 2)[:, None]
    picture = over(picture, torch.roll(picture, 1, 0), beyond * per_layer(dice.chance(0.2, n, 1)))
    soft = dice.chance(0.3, n) * dice.between(0, 1, n) ** 2 * 3
    return blurred(picture, soft).clamp(0.001, 1.2)


def crumbs(dice: Dice, *, n: int, side: int) -> tuple[Tensor, Tensor, Tensor]:
    """Loose soil, chips and small stones: colour (linear), alpha, and how far each stands out."""
    away, key = _cells(dice, n, side, dice.between(12, 70, n))
    radius = 0.45 * ((key - per_pixel(dice.between(0.55, 1.0, n))) * 3).clamp(0, 1)
    gathered = torch.sigmoid(noise(dice, n, side, 4)[:, 0] * 3 + 0.5)
    radius = radius * gathered * (1 + 0.3 * noise(dice, n, side, 40)[:, 0]).clamp_min(0.2)
    alpha = ((radius - away) * 5).clamp(0, 1)
    colour = per_layer(_colour(dice, n, (0.03, 0.12), (0.1, 0.65), (0.08, 0.6)))
    dome = (1 - away / radius.clamp_min(0.02)).clamp(0, 1)
    return colour * (0.6 + 0.6 * dome[:, None]) * (0.6 + 0.5 * key[:, None]), alpha[:, None], dome


def scale_card(
    dice: Dice, x: Tensor, y: Tensor, *, n: int, side: int, clear: Tensor
) -> tuple[Tensor, Tensor]:
    """Part of a white card with chequer and marks, beyond ``clear`` (n,) from the middle."""
    turn = dice.between(0, 6.28, n)
    px, py = turned(x, y, per_pixel(turn))
    px = px - per_pixel(clear)
    py = py + per_pixel(dice.between(-1.0, 1.0, n))
    long = per_pixel(dice.between(0.25, 2.0, n))
    edge = torch.minimum(px, long - py.abs()) * side / 2
    alpha = (edge + 0.5).clamp(0, 1)
    paper = per_layer((dice.between(0.6, 1.0, n, 1) * (1 + 0.04 * dice.normal(n, 3))) ** 2.2)
    cell = per_pixel(dice.between(0.03, 0.16, n))
    margin = per_pixel(dice.between(0.01, 0.3, n))
    cx, cy = ((px - margin) / cell).floor(), (py / cell).floor()
    board = ((px > margin) & (py.abs() < long * 0.9)).float()
    black = torch.remainder(cx + cy, 2)
    bits = (dice.between(0, 1, n, 64, 64) > 0.5).float()
    batch = torch.arange(n, device=dice.device).view(-1, 1, 1)
    fine = ((px - margin) / cell * 5).floor().long() % 64, (py / cell * 5).floor().long() % 64
    marked = torch.maximum(1 - black, 0.0 * black) * bits[batch, fine[1], fine[0]]
    inner = torch.remainder((px - margin) / cell, 1), torch.remainder(py / cell, 1)
    within = ((inner[0] - 0.5).abs() < 0.33) & ((inner[1] - 0.5).abs() < 0.33)
    ink = (board * torch.maximum(black, marked * within)).clamp(0, 1)
    ink = ink * per_pixel(dice.chance(0.7, n))
    colour = paper * (1 - 0.95 * ink[:, None])
    return colour.expand(n, 3, side, side), alpha[:, None]
