"""Flowers drawn as rings of petals, whole batches at once, each of its own form and colours."""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor

from measure.training.drawing import (
    Dice,
    boxed,
    hsv_to_rgb,
    noise,
    per_pixel,
    rough,
    turned,
    when_compiled,
)

__all__ = ["Light", "Placed", "flower_colours", "flowers", "ring_of_petals"]

# Most petals of a ring.
_MOST = 48

# Per form: rings, petals of the outer ring, petal width against its share of the ring, where the
# inner rings end, how blunt the tip is, how narrow the base, dome, roll across, share with a disc,
# disc size, notch.
_FORMS: dict[str, tuple[tuple[float, float], ...]] = {
    "single": (
        (1, 2),
        (5, 10),
        (0.8, 1.5),
        (0.75, 1.0),
        (0.2, 0.7),
        (0.2, 0.8),
        (0.0, 0.3),
        (-0.8, 0.8),
        (0.9, 0.9),
        (0.13, 0.34),
        (0.0, 0.12),
    ),
    "daisy": (
        (1, 3),
        (12, 34),
        (0.7, 1.5),
        (0.6, 0.95),
        (0.2, 0.8),
        (0.1, 0.8),
        (0.0, 0.3),
        (-0.8, 0.8),
        (0.9, 0.9),
        (0.15, 0.4),
        (0.0, 0.15),
    ),
    "broad": (
        (1, 3),
        (4, 8),
        (0.9, 1.6),
        (0.5, 0.95),
        (0.15, 0.5),
        (0.2, 0.9),
        (0.0, 0.5),
        (-0.6, 0.6),
        (0.7, 0.7),
        (0.08, 0.3),
        (0.0, 0.2),
    ),
    "star": (
        (1, 2),
        (4, 9),
        (0.45, 1.1),
        (0.6, 0.95),
        (0.4, 1.2),
        (0.3, 1.1),
        (0.0, 0.3),
        (-0.9, 0.9),
        (0.7, 0.7),
        (0.06, 0.25),
        (0.0, 0.1),
    ),
    "ovate": (
        (1, 1.4),
        (4, 8),
        (0.65, 1.15),
        (0.75, 1.0),
        (0.4, 1.0),
        (0.2, 0.8),
        (0.0, 0.2),
        (-0.7, 0.7),
        (0.9, 0.9),
        (0.06, 0.2),
        (0.0, 0.05),
    ),
    "few double": (
        (3, 5),
        (7, 13),
        (0.9, 1.6),
        (0.3, 0.7),
        (0.2, 0.6),
        (0.2, 0.8),
        (0.1, 0.7),
        (-0.9, 0.9),
        (0.4, 0.4),
        (0.1, 0.3),
        (0.0, 0.12),
    ),
    "double": (
        (6, 9),
        (10, 22),
        (0.9, 1.7),
        (0.1, 0.3),
        (0.2, 0.7),
        (0.2, 0.9),
        (0.3, 1.1),
        (-1.2, 1.2),
        (0.2, 0.2),
        (0.06, 0.2),
        (0.0, 0.1),
    ),
    "ball": (
        (7, 9),
        (10, 18),
        (1.0, 1.6),
        (0.08, 0.2),
        (0.15, 0.4),
        (0.1, 0.5),
        (0.9, 1.6),
        (-1.6, -0.4),
        (0.0, 0.0),
        (0.05, 0.1),
        (0.0, 0.05),
    ),
    "rayed": (
        (3, 9),
        (12, 30),
        (0.35, 0.9),
        (0.1, 0.5),
        (0.4, 1.2),
        (0.1, 0.7),
        (0.2, 0.9),
        (0.4, 1.8),
        (0.3, 0.3),
        (0.06, 0.2),
        (0.0, 0.05),
    ),
    "rose": (
        (4, 8),
        (5, 9),
        (1.2, 1.9),
        (0.1, 0.35),
        (0.12, 0.35),
        (0.2, 0.8),
        (0.3, 1.1),
        (-0.8, 0.8),
        (0.3, 0.3),
        (0.05, 0.22),
        (0.0, 0.2),
    ),
}
_MOST_RINGS = 9
_DISC_RINGS = 2


@dataclass(frozen=True, slots=True)
class Light:
    """One sun for a picture: direction (n,) each, and how strong it is against the sky."""

    x: Tensor
    y: Tensor
    z: Tensor
    strength: Tensor


@dataclass(frozen=True, slots=True)
class Placed:
    """Where flowers stand: middle, radius (window halves), turn, and how they lean away."""

    x: Tensor
    y: Tensor
    radius: Tensor
    turn: Tensor
    squash: Tensor


def flower_colours(dice: Dice, n: int) -> tuple[Tensor, Tensor, Tensor]:
    """Colour at the tip, at the base and along the rim of the petals, each (n, 3)."""
    kinds = torch.tensor(
        # hue low, hue high, saturation low, high, value low, high
        [
            [0.0, 1.0, 0.0, 0.10, 0.80, 1.0],  # white
            [0.10, 0.17, 0.1, 0.4, 0.85, 1.0],  # cream
            [0.12, 0.17, 0.6, 1.0, 0.75, 1.0],  # yellow
            [0.04, 0.11, 0.6, 1.0, 0.75, 1.0],  # orange, bronze
            [0.03, 0.10, 0.3, 0.6, 0.80, 1.0],  # apricot
            [0.97, 1.03, 0.75, 1.0, 0.55, 1.0],  # red
            [0.90, 0.99, 0.2, 0.7, 0.75, 1.0],  # pink
            [0.80, 0.92, 0.5, 0.9, 0.5, 1.0],  # magenta
            [0.70, 0.82, 0.3, 0.9, 0.4, 0.9],  # purple
            [0.62, 0.72, 0.2, 0.7, 0.5, 0.95],  # violet, blue
            [0.94, 1.02, 0.6, 1.0, 0.10, 0.30],  # nearly black
            [0.74, 0.93, 0.5, 1.0, 0.12, 0.50],  # dark purple
            [0.96, 1.02, 0.8, 1.0, 0.20, 0.55],  # dark red
        ],
        device=dice.device,
    )
    likely = torch.tensor([2, 1, 2, 2, 2, 3, 2, 2, 2, 1, 1, 3, 1], device=dice.device).float()

    def drawn(index: Tensor) -> Tensor:
        lo = kinds[index]
        t = dice.between(0, 1, n, 3)
        h = (lo[:, 0] + t[:, 0] * (lo[:, 1] - lo[:, 0])) % 1.0
        return hsv_to_rgb(
            h,
            lo[:, 2] + t[:, 1] * (lo[:, 3] - lo[:, 2]),
            lo[:, 4] + t[:, 2] * (lo[:, 5] - lo[:, 4]),
        )

    pick = torch.multinomial(likely, n, replacement=True, generator=dice.generator)
    tip = drawn(pick)
    other = drawn(torch.multinomial(likely, n, replacement=True, generator=dice.generator))
    third = drawn(torch.multinomial(likely, n, replacement=True, generator=dice.generator))
    near = (tip * dice.between(0.6, 1.1, n, 1) + dice.between(-0.1, 0.1, n, 3)).clamp(0, 1)
    two = dice.chance(0.3, n, 1)
    base = two * other + (1 - two) * near
    rimmed = dice.chance(0.12, n, 1)
    rim = rimmed * third + (1 - rimmed) * tip
    return tip, base, rim


def _ring_table(dice: Dice, n: int) -> dict[str, Tensor]:
    """For every flower its form's parameters, each (n,)."""
    table = torch.tensor(list(_FORMS.values()), device=dice.device)
    likely = torch.tensor([2.0, 2.0, 2.0, 2.0, 4.0, 2.0, 3.0, 1.0, 2.0, 2.0], device=dice.device)
    form = torch.multinomial(likely, n, replacement=True, generator=dice.generator)
    low, high = table[form, :, 0], table[form, :, 1]
    drawn = low + (high - low) * dice.between(0, 1, n, table.shape[1])
    names = (
        "rings", "petals", "width", "inner", "tip", "base", "dome", "roll", "disc", "disc size",
        "notch",
    )  # fmt: skip
    return {name: drawn[:, i] for i, name in enumerate(names)}


def ring_of_petals(
    dice: Dice,
    x: Tensor,
    y: Tensor,
    *,
    petals: Tensor,
    start: Tensor,
    end: Tensor,
    half_width: Tensor,
    tip: Tensor,
    base: Tensor,
    notch: Tensor,
    sharp: Tensor,
    unruly: Tensor,
) -> dict[str, Tensor]:
    """One ring of petals about the origin: alpha, and where each pixel lies on its petal.

    ``x, y`` (n, side, side); the rest (n,). ``sharp`` is pixels a unit. Keys of the result: alpha,
    along (0 to 1), across (-1 to 1), angle of the petal, lightness of the petal, gap (how near the
    next petal's edge is, for shadow).
    """
    n = x.shape[0]
    m = petals.round().clamp(3, _MOST)
    tables = torch.stack(
        [
            dice.normal(n, _MOST) * 0.18 * (2 * math.pi / m * unruly)[:, None],
            1 + dice.normal(n, _MOST) * 0.06 * unruly[:, None],
            1 + dice.normal(n, _MOST) * 0.12 * unruly[:, None],
            1 + dice.normal(n, _MOST) * dice.between(0.02, 0.18, n, 1),
            dice.normal(n, _MOST) * 0.25 * unruly[:, None],
            dice.between(0, 1, n, _MOST),
        ],
        1,
    )
    shape = torch.stack([m, start, end - start, half_width, tip, base, notch, sharp], 1)
    return _petal_fields(x, y, tables, shape)


@when_compiled
def _petal_fields(x: Tensor, y: Tensor, tables: Tensor, shape: Tensor) -> dict[str, Tensor]:
    """Where each pixel lies on the uppermost of the three petals nearest to it."""
    n = x.shape[0]
    m, start, length, half_width, tip, base, notch, sharp = (per_pixel(v) for v in shape.unbind(1))
    tip, base = tip.clamp_min(0.05), base.clamp_min(0.05)
    step = 2 * math.pi / m
    far = torch.sqrt(x * x + y * y + 1e-9)
    angle = torch.atan2(y, x) % (2 * math.pi)
    nearest = torch.round(angle / step)
    peak = base / (tip + base)
    norm = peak**base * (1 - peak) ** tip
    out = {key: torch.zeros_like(x) for key in ("along", "across", "angle", "light")}
    out["edge"] = torch.full_like(x, -9.0)
    out["gap"] = torch.full_like(x, -9.0)
    top = torch.full_like(x, -1.0)
    for offset in (-1, 0, 1):
        index = ((nearest + offset) % m).long().clamp(0, _MOST - 1).view(n, 1, -1)
        shift, longer, wider, light, bend, order = (
            tables.gather(2, index.expand(n, tables.shape[1], -1))
            .view(n, tables.shape[1], *x.shape[1:])
            .unbind(1)
        )
        middle = (nearest + offset) * step + shift
        turn = angle - middle
        u = (far * torch.cos(turn) - start) / (length * longer)
        v = far * torch.sin(turn) + bend * half_width * u * u
        reach = half_width * wider
        u = u / (1 - notch * torch.exp(-((v / reach / 0.35) ** 2)))
        inside = u.clamp(1e-3, 1 - 1e-3)
        profile = inside**base * (1 - inside) ** tip / norm
        edge = torch.minimum(reach * profile - v.abs(), torch.minimum(u, 1 - u) * length * 3)
        above = order > top
        wins = ((edge > 0) & above) | ((edge > out["edge"]) & (top < 0))
        # A petal that is covered by this one is shaded near this one's edge, and the other way.
        gap = torch.where(above, out["gap"], torch.maximum(out["gap"], edge))
        out["gap"] = torch.where(wins & (top >= 0), torch.full_like(edge, -9.0), gap)
        for key, value in (
            ("edge", edge),
            ("along", u),
            ("across", v / (reach * profile + 1e-3)),
            ("angle", middle),
            ("light", light),
        ):
            out[key] = torch.where(wins, value, out[key])
        top = torch.where((edge > 0) & wins, order, top)
    out["alpha"] = torch.sigmoid(out["edge"] * sharp * 2.0)
    return out


def flowers(
    dice: Dice, x: Tensor, y: Tensor, *, placed: Placed, light: Light, side: int
) -> tuple[Tensor, Tensor]:
    """Flowers of random forms: colours (n, 3, side, side) and alpha (n, 1, side, side)."""
    n = placed.x.shape[0]
    form = _ring_table(dice, n)
    tip_colour, base_colour, rim_colour = flower_colours(dice, n)
    lean = torch.sqrt(1 - placed.squash**2)
    px, py = turned(x - per_pixel(placed.x), y - per_pixel(placed.y), per_pixel(placed.turn))
    px, py = px / per_pixel(placed.radius * placed.squash), py / per_pixel(placed.radius)
    waves = noise(dice, n, side, 5, 2) * dice.between(0.0, 0.06, n, 1, 1, 1)
    px, py = px + waves[:, 0], py + waves[:, 1]
    lx, ly = turned(light.x, light.y, placed.turn)
    sharp = placed.radius * side / 2
    rings = form["rings"].round()
    unruly = dice.between(0.3, 1.8, n)
    veins = dice.between(0.0, 0.12, n)
    vein_count = dice.between(3, 14, n)
    fade = dice.between(0.4, 2.5, n)
    contrast = dice.between(0.3, 1.0, n)
    rib = dice.chance(0.4, n) * dice.between(-0.4, 0.7, n)
    grain = rough(dice, n, side, coarsest=16)[:, 0] * per_pixel(dice.between(0.0, 0.05, n))
    colour = torch.zeros(n, 3, side, side, device=x.device)
    alpha = torch.zeros(n, 1, side, side, device=x.device)
    disc = _disc(dice, px, py, form, sharp)
    colour, alpha = disc
    # Petals of a lone ring reach the middle, or nearly.
    longest = torch.maximum(dice.between(0.55, 1.0, n), (rings < 2).float() * 0.9)
    for k in reversed(range(_MOST_RINGS)):
        share = k / (rings - 1).clamp_min(1)
        present = (k < rings).float()
        end = 1 - share * (1 - form["inner"])
        height = form["dome"] * 0.45 * torch.sqrt((1 - (end * 0.95) ** 2).clamp_min(0))
        middle = height * lean
        length = longest * torch.lerp(end, torch.ones_like(end), 0.3)
        start = (end - length).clamp_min(0.0)
        petals = (form["petals"] * (0.45 + 0.55 * end)).clamp(4, _MOST)
        half_width = form["width"] * math.pi * (start + 0.6 * (end - start)) / petals
        ring = ring_of_petals(
            dice,
            *turned(px - per_pixel(middle), py, per_pixel(dice.between(0, 6.28, n))),
            petals=petals,
            start=start,
            end=end,
            half_width=half_width.clamp_max(0.6),
            tip=form["tip"],
            base=form["base"],
            notch=form["notch"],
            sharp=sharp,
            unruly=unruly,
        )
        here = _lit_petals(
            ring,
            torch.stack([tip_colour, base_colour, rim_colour], 1),
            torch.stack(
                [
                    fade,
                    veins,
                    vein_count,
                    form["dome"] * end * 0.9 - 0.5 * share,
                    form["roll"],
                    lx,
                    ly,
                    light.z,
                    light.strength * contrast,
                    contrast,
                    rib,
                ],
                1,
            ),
            grain,
        )
        here = here * (1 - 0.45 * contrast.view(-1, 1, 1, 1) * boxed(alpha, 6))
        layer = ring["alpha"][:, None] * present.view(-1, 1, 1, 1) * (1 - alpha)
        colour = colour + layer * here
        alpha = alpha + layer
    return (colour / alpha.clamp_min(1e-3)).clamp(0, 1), alpha.clamp(0, 1)


@when_compiled
def _lit_petals(ring: dict[str, Tensor], colours: Tensor, numbers: Tensor, grain: Tensor) -> Tensor:
    """The petals' colours under the light, (n, 3, side, side)."""
    fade, veins, vein_count, rise, roll, lx, ly, lz, strength, contrast, rib = (
        per_pixel(v) for v in numbers.unbind(1)
    )
    tip, base, rim = (c[..., None, None] for c in colours.unbind(1))
    t = ring["along"].clamp(0, 1) ** fade
    across = ring["across"].clamp(-1, 1)
    rimmed = ((across.abs() - 0.75) * 6).clamp(0, 1)[:, None]
    rimmed = torch.where(fade[:, None] > 2.0, torch.exp(-((across * 4) ** 2))[:, None], rimmed)
    colour = base + t[:, None] * (tip - base) + rimmed * (rim - tip)
    streaks = ring["light"] + grain + veins * torch.sin(across * vein_count)
    streaks = streaks + rib * torch.exp(-((across * 5) ** 2))
    nu = rise + 0.5 * (ring["along"] - 0.5)
    nv = roll * across
    lu = lx * torch.cos(ring["angle"]) + ly * torch.sin(ring["angle"])
    lv = ly * torch.cos(ring["angle"]) - lx * torch.sin(ring["angle"])
    facing = (nu * lu + nv * lv + lz) / torch.sqrt(1 + nu * nu + nv * nv)
    shade = 1 + strength * (facing.clamp_min(0) - 1)
    shade = shade * (1 - 0.45 * contrast * torch.exp((ring["gap"] * 14).clamp(-9, 0)))
    return colour * (streaks * shade)[:, None]


def _disc(
    dice: Dice, px: Tensor, py: Tensor, form: dict[str, Tensor], sharp: Tensor
) -> tuple[Tensor, Tensor]:
    """The disc of florets or the stamens, as premultiplied colour and alpha."""
    n, side = px.shape[0], px.shape[-1]
    has = (dice.between(0, 1, n) < form["disc"]).float()
    size = form["disc size"]
    far = torch.sqrt(px * px + py * py)
    ragged = noise(dice, n, side, 40)[:, 0] * 0.12 * per_pixel(size)
    alpha = torch.sigmoid((per_pixel(size) + ragged - far) * per_pixel(sharp) * 2) * per_pixel(has)
    hue = dice.between(0.07, 0.19, n)
    outer = hsv_to_rgb(hue, dice.between(0.5, 1, n), dice.between(0.3, 1.0, n))
    inner = hsv_to_rgb(
        (hue + dice.between(-0.08, 0.08, n)) % 1,
        dice.between(0.3, 1, n),
        dice.between(0.03, 0.8, n),
    )
    mix = (far / per_pixel(size.clamp_min(0.02))).clamp(0, 1) ** 2
    dots = 1 + 0.35 * noise(dice, n, side, 64)[:, 0]
    colour = (inner[..., None, None] + mix[:, None] * (outer - inner)[..., None, None]) * dots[
        :, None
    ]
    colour = colour.clamp(0, 1) * alpha[:, None]
    alpha = alpha[:, None]
    for _ in range(_DISC_RINGS):
        stamens = ring_of_petals(
            dice,
            *turned(px, py, per_pixel(dice.between(0, 6.28, n))),
            petals=dice.between(14, _MOST, n),
            start=size * 0.4,
            end=size * dice.between(0.9, 2.0, n),
            half_width=size * dice.between(0.03, 0.12, n),
            tip=dice.between(0.1, 0.3, n),
            base=dice.between(0.3, 1.2, n),
            notch=torch.zeros(n, device=px.device),
            sharp=sharp,
            unruly=dice.between(1, 3, n),
        )
        tone = hsv_to_rgb(
            dice.between(0.08, 0.18, n), dice.between(0.1, 0.9, n), dice.between(0.4, 1, n)
        )
        layer = stamens["alpha"][:, None] * (has * dice.chance(0.6, n)).view(-1, 1, 1, 1)
        lit = (0.6 + 0.5 * stamens["along"].clamp(0, 1))[:, None]
        colour = colour * (1 - layer) + layer * tone[..., None, None] * lit
        alpha = alpha + layer * (1 - alpha)
    return colour, alpha
