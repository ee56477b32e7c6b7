"""Drawn scenes with a clump to find, and the truth of its body, its tubers and its stem."""

from __future__ import annotations

from dataclasses import dataclass

import torch
import torch.nn.functional as fn
from torch import Tensor

from measure.training.clump_forms import grow, skin_colours
from measure.training.clump_grounds import crumbs, ground, scale_card
from measure.training.clump_parts import Frame, along, dry_leaf
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
from measure.training.flowers import Light
from measure.training.surroundings import leaf_layer

__all__ = ["Drawn", "clump_batch", "draw_clumps"]

_MARCH = 20


@dataclass(frozen=True, slots=True)
class Drawn:
    """Scenes, their truth as ``clump_batch`` gives it, and what is known of each.

    ``seen`` and ``count`` are the tubers of which at least a third is seen, and all; ``px_per_mm``
    is the scale; each (n,).
    """

    pictures: Tensor
    truth: Tensor
    seen: Tensor
    count: Tensor
    px_per_mm: Tensor


def clump_batch(
    n: int, *, side: int = 256, device: torch.device | str, generator: torch.Generator
) -> tuple[Tensor, Tensor]:
    """Scenes and their truth.

    Returns
    -------
    pictures : (n, 3, side, side) float, 0 to 1
    truth : (n, 3, side, side) float, 0 to 1
        Of the clump nearest the middle: its body (crown and tubers with what of them lies under
        stem or leaf, no stem, no root, nothing thinner than 4 mm); a patch on each tuber of which
        at least a third is seen; its stem where seen.
    """
    drawn = draw_clumps(n, side=side, device=device, generator=generator)
    return drawn.pictures, drawn.truth


@torch.no_grad()
def draw_clumps(
    n: int, *, side: int = 256, device: torch.device | str, generator: torch.Generator
) -> Drawn:
    """The same scenes with what else is known of them; see ``clump_batch``."""
    dice = Dice(torch.device(device), generator)
    x, y = grid_of(side, dice.device)
    share = dice.between(0.45, 0.86, n)
    share = share - dice.chance(0.22, n) * 0.5 * share  # from afar
    off = (0.95 - share).clamp_min(0.03) * dice.between(0, 1, n) * 0.8
    off = off + dice.chance(0.06, n) * dice.between(0, 0.5, n)
    around = dice.between(0, 6.28, n)
    spread_mm = 110 * torch.exp(dice.between(0, 1.35, n))
    frame = Frame(off * torch.cos(around), off * torch.sin(around), share, 2 * share / spread_mm)
    grown = grow(dice, x, y, frame=frame, side=side)
    # Now and then there is none.
    there = per_layer(1 - dice.chance(0.04, n))
    layer = grown.layer
    layer[:, 6:] *= there
    albedo = ground(dice, x, y, n=n, side=side, skin=layer[:, :3].mean((2, 3)) * 2)
    albedo = _with_card(dice, albedo, x, y, frame=frame, side=side)
    albedo, relief, loose, specks = _with_litter(dice, albedo, x, y, frame=frame, side=side)
    other, other_cover = _company(dice, layer, frame)
    other_cover = other_cover * there
    albedo = over(albedo, other, other_cover)
    cover = layer[:, 7:]
    surface = over(albedo, layer[:, :3] / cover.clamp_min(1e-3), cover)
    # Some of the loose soil lies on the clump as well.
    surface = over(surface, loose, specks * per_layer(dice.chance(0.3, n)))
    height = layer[:, 6] + relief + other_cover[:, 0] * 0.08
    leaf, alpha, curl = dry_leaf(dice, x, y, frame=frame, out=0.8, px=side / 2)
    alpha = alpha * per_layer(dice.chance(0.08, n))
    surface = over(surface, leaf, alpha)
    height = height + alpha[:, 0] * curl
    facing = over(
        torch.tensor([0.0, 0.0, 1.0], device=dice.device).view(1, 3, 1, 1), layer[:, 3:6], there
    )
    facing = facing / facing.norm(dim=1, keepdim=True).clamp_min(1e-3)
    lit = _lit(dice, surface, facing, height, frame=frame, side=side)
    truth = torch.cat([grown.body, grown.cores, grown.stem], 1).clamp(0, 1) * there
    return Drawn(
        pictures=_as_photographed(dice, lit, side=side),
        truth=truth,
        seen=grown.seen * there.view(-1),
        count=grown.count * there.view(-1),
        px_per_mm=frame.mm * side / 2,
    )


def _with_card(
    dice: Dice, picture: Tensor, x: Tensor, y: Tensor, *, frame: Frame, side: int
) -> Tensor:
    """The scale card beside the clump, and a tag, in most pictures."""
    n = frame.x.shape[0]
    clear = frame.reach * 1.02 + torch.hypot(frame.x, frame.y) + dice.between(0.0, 0.3, n)
    for present in (0.6, 0.15):
        card, alpha = scale_card(dice, x, y, n=n, side=side, clear=clear)
        picture = over(picture, card, alpha * per_layer(dice.chance(present, n)))
    return picture


def _with_litter(
    dice: Dice, picture: Tensor, x: Tensor, y: Tensor, *, frame: Frame, side: int
) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """Loose soil, leaves, string, a knife or fingers beside the clump.

    Returns the picture, their height, and the loose soil's colour and cover.
    """
    n = frame.x.shape[0]
    relief = torch.zeros(n, side, side, device=dice.device)
    light = Light(*(torch.ones(n, device=dice.device) for _ in range(4)))
    tone = hsv_to_rgb(
        dice.between(0.02, 0.36, n), dice.between(0.2, 0.8, n), dice.between(0.15, 0.7, n)
    )
    leafy = dice.chance(0.3, n) * dice.between(0, 1, n)
    for _ in range(2):
        colour, alpha, _ = leaf_layer(dice, x, y, colour=tone, light=light, side=side,
                                      large=torch.full((n,), 0.9, device=dice.device))  # fmt: skip
        present = (dice.between(0, 1, n) < leafy).float()
        alpha = alpha * per_layer(present)
        picture = over(picture, colour**2.2, alpha)
        relief = torch.maximum(relief, alpha[:, 0] * 0.01)
    for _ in range(3):
        colour, alpha, curl = dry_leaf(dice, x, y, frame=frame, out=1.3, px=side / 2)
        alpha = alpha * per_layer(dice.chance(0.22, n))
        picture = over(picture, colour, alpha)
        relief = torch.maximum(relief, alpha[:, 0] * curl)
    for k in range(4):
        # Fingers and handles come in from outside; a stray tuber lies apart; string is thin.
        angle = dice.between(0, 6.28, n)
        out = frame.reach * dice.between(1.15, 1.6, n)
        foot = (frame.x + out * torch.cos(angle), frame.y + out * torch.sin(angle))
        thin = dice.chance(0.4, n)
        half = thin * dice.between(0.006, 0.02, n) + (1 - thin) * dice.between(0.03, 0.14, n)
        length = half * dice.between(3, 7, n) + thin * dice.between(0, 1.2, n)
        way = along(x, y, foot=foot, heading=angle + 0.7 * dice.normal(n) + thin * 1.5,
                    length=length, bend=(0.15 + 0.4 * thin) * dice.normal(n),
                    turn=0.2 * dice.normal(n))  # fmt: skip
        round_ = (1 - (2 * way.u - 1).abs() ** 3).clamp_min(0) ** 0.5
        width = per_pixel(half) * round_
        alpha = ((width - way.across.abs()) * side / 2 + 0.5).clamp(0, 1) * (round_ > 0).float()
        v = (way.across / width.clamp_min(1e-3)).clamp(-1, 1)
        dome = torch.sqrt((1 - v * v).clamp_min(0.05))
        stray = dice.chance(0.35, n)[:, None]
        paint = dice.between(0.02, 0.9, n, 3)
        pale = hsv_to_rgb(
            dice.between(0.01, 0.09, n), dice.between(0.15, 0.6, n), dice.between(0.3, 0.95, n)
        )
        colour = stray * skin_colours(dice, n) + (1 - stray) * (paint if k % 2 else pale**2.2)
        side_lit = 1 + 0.35 * v * per_pixel(dice.between(-1, 1, n))
        alpha = alpha[:, None] * per_layer(dice.chance(0.14, n))
        picture = over(picture, per_layer(colour) * (dome * side_lit)[:, None], alpha)
        relief = torch.maximum(relief, alpha[:, 0] * width * 1.2)
    loose, alpha, dome = crumbs(dice, n=n, side=side)
    alpha = alpha * per_layer(dice.chance(0.6, n))
    picture = over(picture, loose, alpha)
    return picture, torch.maximum(relief, alpha[:, 0] * dome * 0.02), loose, alpha


def _company(dice: Dice, layer: Tensor, frame: Frame) -> tuple[Tensor, Tensor]:
    """Another clump, partly in view beside the one that is meant: colour and cover."""
    n = layer.shape[0]
    turn = dice.between(0, 6.28, n)
    zoom = dice.between(0.8, 1.5, n)
    theirs = torch.roll(frame.reach, 1, 0) / zoom
    angle = dice.between(0, 6.28, n)
    apart = frame.reach + theirs + dice.between(0.02, 0.3, n)
    to = torch.stack([frame.x + apart * torch.cos(angle), frame.y + apart * torch.sin(angle)], 1)
    at = torch.stack([torch.roll(frame.x, 1, 0), torch.roll(frame.y, 1, 0)], 1)
    c, s = torch.cos(turn) * zoom, torch.sin(turn) * zoom
    affine = torch.stack([torch.stack([c, -s], 1), torch.stack([s, c], 1)], 1)
    shift = at - (affine @ to[..., None])[..., 0]
    grid = fn.affine_grid(
        torch.cat([affine, shift[..., None]], 2), [n, 1, *layer.shape[2:]], align_corners=False
    )
    kept = torch.roll(
        torch.cat([layer[:, :3] * layer[:, 5:6].clamp_min(0.3), layer[:, 7:]], 1), 1, 0
    )
    moved = fn.grid_sample(kept, grid, align_corners=False)
    cover = moved[:, 3:]
    return moved[:, :3] / cover.clamp_min(0.05), cover * per_layer(dice.chance(0.15, n))


def _lit(
    dice: Dice, surface: Tensor, facing: Tensor, height: Tensor, *, frame: Frame, side: int
) -> Tensor:
    """Sun or flash with cast shadows, sky, and darkness in hollows."""
    n = surface.shape[0]
    around = dice.between(0, 6.28, n)
    # Half of all clumps lie in the sun, a quarter by a lamp or window, a quarter under clouds.
    sunny = dice.chance(0.5, n)
    lamp = (1 - sunny) * dice.chance(0.5, n)
    clouds = 1 - sunny - lamp
    rise = dice.between(0.12, 1.45, n)
    rise = rise + sunny * (dice.between(0.4, 1.2, n) - rise)
    dx, dy = torch.cos(around), torch.sin(around)
    level, up = torch.cos(rise), torch.sin(rise)
    tall = height.amax((1, 2))
    step = torch.minimum(tall / torch.tan(rise), 0.9 * torch.ones_like(tall)) / _MARCH
    shadow = torch.zeros_like(height)
    eye = torch.eye(2, 3, device=surface.device).repeat(n, 1, 1)
    climb = step * torch.tan(rise)
    for k in range(1, _MARCH + 1):
        eye[:, 0, 2], eye[:, 1, 2] = dx * step * k, dy * step * k
        grid = fn.affine_grid(eye, [n, 1, side, side], align_corners=False)
        there = fn.grid_sample(height[:, None], grid, align_corners=False)[:, 0]
        shadow = torch.maximum(shadow, ((there - height - per_pixel(climb) * k) * 60).clamp(0, 1))
    soft = dice.between(0, 1, n) ** 1.5 * (2.0 * sunny + 10.0 * (1 - sunny))
    shadow = blurred(shadow[:, None], soft)
    towards = facing[:, :1] * per_layer(dx * level) + facing[:, 1:2] * per_layer(dy * level)
    towards = (towards + facing[:, 2:] * per_layer(up)).clamp_min(0)
    hollow = height[:, None]
    ao = torch.exp(
        -per_layer(dice.between(0.5, 5, n))
        * (
            (blurred(hollow, frame.reach * side * 0.03) - hollow).clamp_min(0)
            / per_layer(frame.reach)
        )
        * 6
    )
    ao = ao * torch.exp(-_gloom(dice, hollow, dx, dy, frame=frame, side=side))
    sun = per_layer((sunny + 0.85 * lamp + 0.35 * clouds) * dice.between(0.45, 0.97, n))
    warm = torch.tensor([0.25, 0.0, -0.3], device=surface.device)
    low = (1 - rise / 1.45).clamp(0, 1) + 1.6 * lamp
    sun_tint = torch.exp(warm * (low * dice.between(0, 1.2, n))[:, None] + 0.05 * dice.normal(n, 3))
    sky_tint = torch.exp(-warm * dice.between(-0.2, 0.9, n)[:, None] + 0.05 * dice.normal(n, 3))
    open_sky = ao * (0.55 + 0.45 * facing[:, 2:])
    direct = towards / per_layer(up.clamp_min(0.35)) * (1 - shadow)
    light = (1 - sun) * open_sky * per_layer(sky_tint) + sun * direct * per_layer(sun_tint)
    flash = dice.chance(0.08, n)
    centre = 1 - 0.25 * torch.linspace(-1, 1, side, device=surface.device).view(1, 1, 1, -1) ** 2
    light = light + per_layer(flash) * (0.9 * facing[:, 2:] * centre - light)
    gloss = per_layer(dice.chance(0.3, n) * dice.between(0, 0.5, n))
    lit = surface * light + gloss * (towards**24) * (1 - shadow) * sun * 0.5
    patches = torch.sigmoid(noise(dice, n, side, 3) * 8) * per_layer(
        dice.chance(0.12, n) * dice.between(0.2, 0.75, n)
    )
    return lit * (1 - patches)


def _gloom(
    dice: Dice, height: Tensor, dx: Tensor, dy: Tensor, *, frame: Frame, side: int
) -> Tensor:
    """Soft darkness between tubers and beside them, away from a broad window or lamp."""
    n = height.shape[0]
    eye = torch.eye(2, 3, device=height.device).repeat(n, 1, 1)
    step = frame.reach * dice.between(0.0, 0.18, n)
    eye[:, 0, 2], eye[:, 1, 2] = dx * step, dy * step
    grid = fn.affine_grid(eye, list(height.shape), align_corners=False)
    wide = blurred(height, frame.reach * side * dice.between(0.01, 0.06, n))
    moved = fn.grid_sample(wide, grid, align_corners=False)
    tall = height.amax((1, 2, 3), keepdim=True).clamp_min(0.01)
    depth = dice.chance(0.45, n) * dice.between(0.5, 5.0, n)
    return (moved - height).clamp_min(0) / tall * per_layer(depth)


def _as_photographed(dice: Dice, picture: Tensor, *, side: int) -> Tensor:
    """Exposure, white balance, blur, noise, sharpening, the coarser colour of JPEG files."""
    n = picture.shape[0]
    mean = picture.mean((1, 2, 3)).clamp_min(1e-3)
    wanted = torch.exp(dice.normal(n) * 0.75 - 1.9)
    level = per_layer(wanted / mean * dice.chance(0.95, n) + 0.05).clamp(0.1, 12)
    cast = torch.exp(dice.normal(n, 3) * 0.10)
    picture = (picture * level * per_layer(cast)).clamp(0, 1)
    haze = per_layer(dice.chance(0.2, n) * dice.between(0, 0.08, n))
    picture = (picture + haze).clamp(1e-5, 1) ** (1 / 2.2)
    # The camera's own curve: more or less contrast about the middle.
    bent = picture * picture * (3 - 2 * picture)
    picture = picture + per_layer(dice.between(-0.2, 0.7, n)) * (bent - picture)
    grey = picture.mean(1, keepdim=True)
    picture = grey + (picture - grey) * per_layer(dice.between(0.6, 1.35, n))
    picture = blurred(picture.clamp(0, 1), dice.chance(0.6, n) * dice.between(0, 1, n) ** 1.5 * 1.6)
    crisp = per_layer(dice.chance(0.3, n) * dice.between(0, 0.8, n))
    picture = picture + crisp * (picture - blurred(picture, torch.ones(n, device=dice.device)))
    strength = per_layer(dice.chance(0.7, n) * dice.between(0, 1, n) ** 2 * 0.07)
    picture = picture + dice.normal(n, 3, side, side) * strength
    light = picture.mean(1, keepdim=True)
    coarse = fn.interpolate(
        fn.avg_pool2d(picture - light, 2), scale_factor=2, mode="bilinear", align_corners=False
    )
    subsampled = per_layer(dice.chance(0.6, n))
    picture = subsampled * (light + coarse) + (1 - subsampled) * picture
    return picture.clamp(0, 1)
