"""Drawn scenes with a bloom to find, and the truth of where it is."""

from __future__ import annotations

import torch
import torch.nn.functional as fn
from torch import Tensor

from measure.training.drawing import (
    Dice,
    blurred,
    grid_of,
    hsv_to_rgb,
    noise,
    over,
    per_layer,
    per_pixel,
)
from measure.training.flowers import Light, Placed, flowers, ring_of_petals
from measure.training.surroundings import (
    Backdrops,
    backdrop,
    card_behind,
    leaf_layer,
    stem_layer,
)

__all__ = ["bloom_batch"]

_LEAVES = 14
_OTHERS = 4
# Holes are looked for in pixels of so many.
_COARSE = 4


def bloom_batch(
    n: int,
    *,
    side: int,
    device: torch.device,
    generator: torch.Generator,
    backdrops: Backdrops | None = None,
) -> tuple[Tensor, Tensor]:
    """Scenes and their truth.

    Returns
    -------
    pictures : (n, 3, side, side) float, 0 to 1
    truth : (n, 2, side, side) float, 0 to 1
        The bloom that is meant, whole (the one nearest the middle of the picture, its holes
        filled); and every bloom in view.
    """
    dice = Dice(device, generator)
    x, y = grid_of(side, device)
    light = _sun(dice, n)
    if backdrops is None:
        backdrops = torch.empty(0, 3, 1, 1, device=device)
    placed = _place(dice, n)
    bloom, alpha = flowers(dice, x, y, placed=placed, light=light, side=side)
    picture = backdrop(dice, x, y, n=n, side=side, light=light, leaves=_LEAVES, backdrops=backdrops)
    picture = blurred(picture, dice.chance(0.55, n) * dice.between(0, 1, n) ** 1.5 * 9)
    card, card_alpha = card_behind(dice, x, y, placed=placed, side=side)
    picture = over(picture, card, card_alpha * per_layer(dice.chance(0.2, n)))
    picture, others = _with_others(dice, picture, bloom, alpha, placed)
    stalk, stalk_alpha = stem_layer(
        dice, x, y, fx=placed.x, fy=placed.y, colour=_greens(dice, n), side=side
    )
    picture = over(picture, stalk, stalk_alpha * per_layer(dice.chance(0.6, n)))
    picture = _with_sepals(dice, picture, x, y, placed=placed, side=side)
    picture = picture * (1 - _cast(dice, alpha))
    picture = over(picture, bloom, alpha)
    meant = _filled(alpha)
    picture, hidden = _with_things_before(dice, picture, x, y, light=light, side=side)
    meant = meant * (1 - hidden)
    seen = torch.maximum(meant, others * (1 - hidden))
    picture = _as_photographed(dice, picture, side=side)
    return _framed(dice, picture, torch.cat([meant, seen], 1), x, y, placed=placed)


def _sun(dice: Dice, n: int) -> Light:
    around, z = dice.between(0, 6.28, n), dice.between(0.25, 0.95, n)
    level = torch.sqrt(1 - z * z)
    return Light(torch.cos(around) * level, torch.sin(around) * level, z, dice.between(0.1, 0.8, n))


def _place(dice: Dice, n: int) -> Placed:
    """Mostly whole and near the middle; some small, some large, some cut off."""
    # Half of them as a close look shows them, which is what the outline is taken from.
    close = dice.chance(0.5, n)
    radius = torch.exp(dice.between(-1.6, -0.08, n))
    radius = radius + close * (dice.between(0.5, 0.8, n) - radius)
    room = (0.97 - radius).clamp_min(0.0)
    off = torch.minimum(room, torch.full_like(room, 0.35)) * dice.between(0, 1, n) ** 0.5
    cut = dice.chance(0.1, n)
    off = off + cut * (room + 0.3 * radius - off)
    around = dice.between(0, 6.28, n)
    return Placed(
        off * torch.cos(around),
        off * torch.sin(around),
        radius,
        dice.between(0, 6.28, n),
        1 - dice.chance(0.6, n) * dice.between(0, 1, n) ** 1.5 * 0.5,
    )


def _greens(dice: Dice, n: int) -> Tensor:
    return hsv_to_rgb(
        dice.between(0.12, 0.40, n), dice.between(0.2, 0.8, n), dice.between(0.15, 0.75, n)
    )


def _filled(alpha: Tensor) -> Tensor:
    """Gaps that are wholly inside, such as an open centre, belong to the bloom."""
    barrier = fn.max_pool2d((alpha > 0.5).float(), _COARSE)
    free = fn.pad(torch.zeros_like(barrier)[..., 1:-1, 1:-1], (1, 1, 1, 1), value=1.0)
    free = free * (1 - barrier)
    for _ in range(barrier.shape[-1]):
        free = fn.max_pool2d(free, 3, stride=1, padding=1) * (1 - barrier)
    holes = (1 - barrier) * (1 - free)
    # A coarse hole ends short of the petals round it.
    holes = fn.max_pool2d(fn.interpolate(holes, scale_factor=float(_COARSE)), 9, 1, 4)
    return torch.maximum(alpha, holes)


def _cast(dice: Dice, alpha: Tensor) -> Tensor:
    """Shadow that the bloom casts on what lies just behind."""
    n, side = alpha.shape[0], alpha.shape[-1]
    eye = torch.eye(2, 3, device=alpha.device).repeat(n, 1, 1)
    eye[:, :, 2] = dice.normal(n, 2) * 0.06
    grid = fn.affine_grid(eye, [n, 1, side, side], align_corners=False)
    moved = fn.grid_sample(alpha, grid, align_corners=False)
    return blurred(moved, dice.between(0.5, 6, n)) * per_layer(
        dice.chance(0.5, n) * dice.between(0.2, 0.8, n)
    )


def _with_others(
    dice: Dice, picture: Tensor, bloom: Tensor, alpha: Tensor, placed: Placed
) -> tuple[Tensor, Tensor]:
    """Further blooms and buds behind and beside, often of the same plant; and their alpha."""
    n, side = alpha.shape[0], alpha.shape[-1]
    company = dice.chance(0.75, n)
    total = torch.zeros_like(alpha)
    for k in range(_OTHERS):
        own = per_layer(dice.chance(0.8, n))
        rolled = [torch.roll(t, k + 1, 0) for t in (bloom, alpha)]
        colour = own * bloom + (1 - own) * rolled[0]
        shape = own * alpha + (1 - own) * rolled[1]
        ox = own.view(-1) * placed.x + (1 - own.view(-1)) * torch.roll(placed.x, k + 1, 0)
        oy = own.view(-1) * placed.y + (1 - own.view(-1)) * torch.roll(placed.y, k + 1, 0)
        radius = own.view(-1) * placed.radius + (1 - own.view(-1)) * torch.roll(
            placed.radius, k + 1, 0
        )
        # Every third is nearly as large and just touches: the hardest to tell apart.
        twin = dice.chance(0.35, n)
        size = torch.exp(dice.between(-1.2, 0.15, n))
        size = placed.radius * (size + twin * (dice.between(0.65, 1.2, n) - size))
        # Its middle lies further from the picture's middle than that of the one meant.
        apart = dice.between(0.55, 1.2, n)
        apart = (placed.radius + size) * (apart + twin * (dice.between(0.68, 1.0, n) - apart))
        around = dice.between(0, 6.28, n)
        tx = placed.x + apart * torch.cos(around)
        ty = placed.y + apart * torch.sin(around)
        further = (
            torch.hypot(tx, ty) > torch.hypot(placed.x, placed.y) + 0.35 * placed.radius
        ).float()
        zoom = (radius / size).clamp(0.3, 8)
        turn = dice.between(0, 6.28, n)
        flat = 1 + dice.chance(0.35, n) * dice.between(0, 1.8, n)
        c, s = torch.cos(turn), torch.sin(turn)
        row_x = torch.stack([zoom * c, -zoom * s], 1)
        row_y = torch.stack([zoom * flat * s, zoom * flat * c], 1)
        affine = torch.stack([row_x, row_y], 1)
        shift = torch.stack([ox, oy], 1) - (affine @ torch.stack([tx, ty], 1)[..., None])[..., 0]
        grid = fn.affine_grid(
            torch.cat([affine, shift[..., None]], 2), [n, 1, side, side], align_corners=False
        )
        shape = fn.grid_sample(shape, grid, align_corners=False)
        colour = fn.grid_sample(colour, grid, align_corners=False, padding_mode="border")
        tint = torch.exp(dice.normal(n, 3) * 0.06) * torch.exp(dice.normal(n, 1) * 0.2)
        present = per_layer(company * dice.chance(0.6, n) * further)
        shape = shape * present
        soft = dice.chance(0.5, n) * dice.between(0, 4, n)
        layer = blurred(torch.cat([colour * tint[..., None, None], shape], 1), soft)
        picture = picture * (1 - 0.4 * _cast(dice, shape))
        picture = over(picture, layer[:, :3].clamp(0, 1), layer[:, 3:])
        total = torch.maximum(total, layer[:, 3:] * (per_layer(size) > 0.06))
    return picture, total


def _with_sepals(
    dice: Dice, picture: Tensor, x: Tensor, y: Tensor, *, placed: Placed, side: int
) -> Tensor:
    """Green bracts behind the petals, some of them showing between or beyond."""
    n = placed.x.shape[0]
    ring = ring_of_petals(
        dice,
        (x - per_pixel(placed.x)).expand(n, side, side),
        (y - per_pixel(placed.y)).expand(n, side, side),
        petals=dice.between(5, 9, n),
        start=torch.zeros(n, device=x.device),
        end=placed.radius * dice.between(0.5, 1.15, n),
        half_width=placed.radius * dice.between(0.08, 0.2, n),
        tip=dice.between(0.4, 1.0, n),
        base=dice.between(0.2, 0.8, n),
        notch=torch.zeros(n, device=x.device),
        sharp=torch.full((n,), side / 2.0, device=x.device),
        unruly=dice.between(0.5, 2, n),
    )
    green = _greens(dice, n)[..., None, None] * (0.7 + 0.3 * ring["along"].clamp(0, 1))[:, None]
    return over(picture, green, ring["alpha"][:, None] * per_layer(dice.chance(0.35, n)))


def _with_things_before(
    dice: Dice, picture: Tensor, x: Tensor, y: Tensor, *, light: Light, side: int
) -> tuple[Tensor, Tensor]:
    """Now and then a leaf or a blade of grass before the bloom, and insects on it."""
    n = picture.shape[0]
    colour, alpha, _ = leaf_layer(
        dice,
        x,
        y,
        colour=_greens(dice, n),
        light=light,
        side=side,
        large=torch.full((n,), 0.6, device=x.device),
    )
    hidden = alpha * per_layer(dice.chance(0.1, n))
    picture = over(picture, colour, hidden)
    bx, by = dice.normal(n) * 0.2, dice.normal(n) * 0.2
    size = dice.between(0.02, 0.07, n)
    bee = torch.exp(
        -((x - per_pixel(bx)) ** 2 + ((y - per_pixel(by)) * 1.6) ** 2) / per_pixel(size) ** 2 * 2
    )
    dark = dice.between(0, 0.35, n, 3)[..., None, None]
    picture = over(
        picture,
        dark.expand_as(picture),
        (bee > 0.4).float()[:, None] * per_layer(dice.chance(0.1, n)),
    )
    return picture, hidden


def _as_photographed(dice: Dice, picture: Tensor, *, side: int) -> Tensor:
    """Dappled light, exposure, colour cast, blur, noise and the coarser colour of JPEG files."""
    n = picture.shape[0]
    patches = torch.sigmoid(noise(dice, n, side, 3) * 8) * per_layer(
        dice.chance(0.35, n) * dice.between(0.2, 0.85, n)
    )
    picture = picture * (1 - patches)
    bright = torch.exp(dice.normal(n, 1) * 0.3 + 0.25)
    cast = torch.exp(dice.normal(n, 3) * 0.08)
    picture = (picture * (bright * cast)[..., None, None]).clamp(0, 1.0)
    picture = picture ** per_layer(torch.exp(dice.normal(n) * 0.2 - 0.1))
    grey = picture.mean(1, keepdim=True)
    picture = grey + (picture - grey) * per_layer(dice.between(0.7, 1.35, n))
    picture = blurred(picture.clamp(0, 1), dice.chance(0.6, n) * dice.between(0, 1.3, n))
    strength = per_layer(dice.chance(0.7, n) * dice.between(0, 0.05, n))
    picture = picture + dice.normal(n, 3, side, side) * strength
    light = picture.mean(1, keepdim=True)
    coarse = fn.interpolate(
        fn.avg_pool2d(picture - light, 2), scale_factor=2, mode="bilinear", align_corners=False
    )
    subsampled = per_layer(dice.chance(0.6, n))
    picture = subsampled * (light + coarse) + (1 - subsampled) * picture
    return picture.clamp(0, 1)


def _framed(
    dice: Dice, picture: Tensor, truth: Tensor, x: Tensor, y: Tensor, *, placed: Placed
) -> tuple[Tensor, Tensor]:
    """The photograph's edge within the window: beyond it the last pixels go on, and nothing is."""
    n = placed.x.shape[0]

    def limit(middle: Tensor) -> Tensor:
        outside = dice.chance(0.25, n) * dice.between(0, 0.8, n)
        return per_pixel(torch.maximum(1 - outside, middle + placed.radius).clamp(0.2, 1.0))

    right, left = limit(placed.x), -limit(-placed.x)
    bottom, top = limit(placed.y), -limit(-placed.y)
    there = torch.stack(
        torch.broadcast_tensors(
            torch.minimum(torch.maximum(x, left), right),
            torch.minimum(torch.maximum(y, top), bottom),
        ),
        3,
    )
    inside = (x >= left) * (x <= right) * (y >= top) * (y <= bottom)
    picture = fn.grid_sample(
        picture, there, mode="nearest", padding_mode="border", align_corners=False
    )
    return picture, truth * inside[:, None]
