"""A second way to build clumps: chains of beads that come to rest, skinned as one solid.

Nothing is shared with ``clump_shapes``: tubers of four habits lie where their beads touch ground or
each other, and the skin is the zero level of a distance field, so that necks run into the crown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from clump_shapes import THIN_MM, Clump
from meshes import Floats, Mesh, lumps, tube

__all__ = ["beaded_clump"]

_BEADS = 26

_HABITS: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "carrot": ((0, 0.08, 0.22, 0.40, 0.65, 0.88, 1), (0.55, 0.60, 0.95, 1.0, 0.72, 0.40, 0.0)),
    "finger": ((0, 0.10, 0.25, 0.50, 0.80, 0.93, 1), (0.50, 0.55, 0.85, 1.0, 0.92, 0.62, 0.0)),
    "bulb": ((0, 0.12, 0.30, 0.55, 0.78, 0.92, 1), (0.42, 0.50, 0.92, 1.0, 0.90, 0.55, 0.0)),
    "long neck": ((0, 0.15, 0.32, 0.48, 0.70, 0.90, 1), (0.30, 0.26, 0.34, 0.80, 1.0, 0.66, 0.0)),
}
"""How thick a tuber is along it, against its thickest, by habit."""


_WAYS_OUT = ((0, 0), (0.25, 0), (-0.25, 0), (0, 0.4), (0.3, 0.4), (-0.3, 0.4), (0, 0.7))
"""Tried one after the other: turned aside by so many radians, higher by so many crowns."""


@dataclass(frozen=True, kw_only=True, eq=False)
class _Chain:
    centre: Floats
    radius: Floats


def _thickness(rng: np.random.Generator, habit: str, belly: float) -> Floats:
    at, share = _HABITS[habit]
    s = np.linspace(0, 1, _BEADS)
    shape = np.interp(s ** rng.uniform(0.85, 1.18), at, share)
    shape = np.convolve(np.pad(shape, 2, mode="edge"), [0.1, 0.2, 0.4, 0.2, 0.1], mode="valid")
    return np.maximum(shape * belly, THIN_MM / 2)


def _at_rest(
    rng: np.random.Generator, heading: float, crown: float, scale: float, others: list[_Chain]
) -> _Chain:
    """A chain leaving the crown about that way, its far end as low as ground and others let it.

    Where it can rest nowhere below the crown's top, other ways out of the crown are tried, to
    either side and from higher up; then it grows into its neighbours, as little as may be.
    """
    habit = str(rng.choice(list(_HABITS)))
    length = scale * float(np.clip(rng.lognormal(4.55, 0.22), 55, 150))
    fat = {"carrot": 14.0, "finger": 12.0, "bulb": 19.0, "long neck": 16.0}[habit]
    if habit == "bulb":
        length *= 0.72
    radius = _thickness(rng, habit, fat * scale * float(np.clip(rng.normal(1, 0.15), 0.7, 1.35)))
    turn = rng.normal(0, 0.35) * np.linspace(0, 1, _BEADS) ** 1.5
    start = crown * rng.uniform(0.7, 1.0)
    least, deepest = None, -np.inf
    for aside, higher in _WAYS_OUT:
        way = heading + aside
        step = length / (_BEADS - 1)
        flat = np.cumsum(np.stack([np.cos(way + turn), np.sin(way + turn)], 1) * step, axis=0)
        flat += 0.45 * crown * np.array([np.cos(way), np.sin(way)])
        for chain in _lowered(flat, radius, start + higher * crown, top=1.67 * crown):
            clear = _clearance(chain, others, crown)
            if clear > -1.8 * scale:
                return chain
            if clear > deepest:
                least, deepest = chain, clear
    assert least is not None
    return least


def _lowered(flat: Floats, radius: Floats, start: float, *, top: float) -> Iterator[_Chain]:
    """Chains along one line over the ground that leave the crown at a height, low ends first."""
    s = np.linspace(0, 1, _BEADS)
    for end in np.arange(THIN_MM / 2, max(top, start), 1.5):
        z = np.maximum(start * (1 - s) + end * s, radius)
        yield _Chain(centre=np.column_stack([flat, z]), radius=radius)


def _clearance(chain: _Chain, others: list[_Chain], crown: float) -> float:
    """Least room between a chain and the others outside the crown; negative where they overlap."""
    free = np.hypot(*chain.centre[:, :2].T) > 1.25 * crown
    return min(
        (
            float(
                (
                    np.linalg.norm(chain.centre[free, None] - o.centre[None], axis=2)
                    - chain.radius[free, None]
                    - o.radius[None]
                ).min()
            )
            for o in others
        ),
        default=0.0,
    )


def _field(points: Floats, chain: _Chain) -> tuple[Floats, Floats]:
    """Distance of (N, 3) points from a chain's skin, and where along it (in beads) each lies."""
    best = np.full(len(points), np.inf)
    where = np.zeros(len(points))
    for k in range(len(chain.centre) - 1):
        a, b = chain.centre[k], chain.centre[k + 1]
        along = np.clip((points - a) @ (b - a) / max(float((b - a) @ (b - a)), 1e-9), 0, 1)
        r = chain.radius[k] + along * (chain.radius[k + 1] - chain.radius[k])
        d = np.linalg.norm(points - a - along[:, None] * (b - a), axis=1) - r
        closer = d < best
        best[closer], where[closer] = d[closer], k + along[closer]
    return best, where


def _on_grid(
    axes: list[Floats], chain: _Chain, reach: float, cell: float
) -> tuple[Floats, tuple[slice, ...]]:
    """Distance from a chain's skin on the part of the grid round it, each bead's link only near it.

    Far from the skin it is only said to be far.
    """

    def part(low: Floats, high: Floats) -> tuple[slice, ...]:
        return tuple(
            slice(max(int((low[k] - axes[k][0]) / cell), 0), int((high[k] - axes[k][0]) / cell) + 2)
            for k in range(3)
        )

    whole = part(chain.centre.min(0) - reach, chain.centre.max(0) + reach)
    best = np.full([len(a[w]) for a, w in zip(axes, whole, strict=True)], reach)
    for k in range(_BEADS - 1):
        link = _Chain(centre=chain.centre[k : k + 2], radius=chain.radius[k : k + 2])
        span = float(link.radius.max()) + 10.0
        own = tuple(
            slice(max(o.start, w.start), min(o.stop, w.stop, len(a)))
            for o, w, a in zip(
                part(link.centre.min(0) - span, link.centre.max(0) + span), whole, axes, strict=True
            )
        )
        spots = np.stack(
            np.meshgrid(*[a[o] for a, o in zip(axes, own, strict=True)], indexing="ij"), -1
        )
        d, _ = _field(spots.reshape(-1, 3), link)
        here = tuple(
            slice(o.start - w.start, o.start - w.start + n)
            for o, w, n in zip(own, whole, spots.shape[:3], strict=True)
        )
        best[here] = np.minimum(best[here], d.reshape(spots.shape[:3]))
    return best, whole


def _near_field(points: Floats, chain: _Chain) -> tuple[Floats, Floats]:
    """The same as ``_field``, infinitely far for points well away from the chain."""
    reach = float(chain.radius.max()) + 8.0
    near = ((points > chain.centre.min(0) - reach) & (points < chain.centre.max(0) + reach)).all(
        axis=1
    )
    best, where = np.full(len(points), np.inf), np.zeros(len(points))
    best[near], where[near] = _field(points[near], chain)
    return best, where


def _nets(field: Floats, low: Floats, cell: float) -> tuple[Floats, np.ndarray]:
    """The zero level of a field on a grid as points and quads (naive surface nets)."""
    inside = field < 0
    total = np.zeros([n - 1 for n in field.shape] + [3])
    count = np.zeros([n - 1 for n in field.shape])
    for axis in range(3):
        for da in (0, 1):
            for db in (0, 1):
                corner = [0, 0, 0]
                others = [k for k in range(3) if k != axis]
                corner[others[0]], corner[others[1]] = da, db
                first = tuple(slice(c, c + n - 1) for c, n in zip(corner, field.shape, strict=True))
                second = tuple(
                    slice(c + (k == axis), c + (k == axis) + n - 1)
                    for k, (c, n) in enumerate(zip(corner, field.shape, strict=True))
                )
                a, b = field[first], field[second]
                cut = inside[first] != inside[second]
                share = np.where(cut, a / np.where(cut, a - b, 1.0), 0.0)
                spot = np.zeros(3)
                spot[others[0]], spot[others[1]] = da, db
                total += cut[..., None] * spot
                total[..., axis] += share * cut
                count += cut
    cells = np.argwhere(count > 0)
    index = np.full(count.shape, -1)
    index[tuple(cells.T)] = np.arange(len(cells))
    picked = tuple(cells.T)
    points = low + (cells + total[picked] / count[picked][:, None]) * cell
    quads = []
    for axis in range(3):
        u, v = (k for k in range(3) if k != axis)
        first = tuple(slice(0, n - 1) if k == axis else slice(1, n - 1)
                      for k, n in enumerate(field.shape))  # fmt: skip
        second = tuple(slice(1, n) if k == axis else slice(1, n - 1)
                       for k, n in enumerate(field.shape))  # fmt: skip
        for edge, flip in (
            (inside[first] & ~inside[second], axis == 1),
            (~inside[first] & inside[second], axis != 1),
        ):
            at = np.argwhere(edge)
            at[:, u] += 1
            at[:, v] += 1
            ring = []
            for du, dv in ((-1, -1), (0, -1), (0, 0), (-1, 0)):
                near = at.copy()
                near[:, u] += du
                near[:, v] += dv
                ring.append(index[tuple(near.T)])
            quad = np.stack(ring, 1)
            quads.append(quad[:, ::-1] if flip else quad)
    return points, np.vstack(quads)


def _skin(rng: np.random.Generator, chains: list[_Chain], crown: float, scale: float) -> list[Mesh]:
    cell = 1.7 * min(max(scale, 0.75), 1.1)
    ball = np.array([0.0, 0.0, 0.82 * crown])
    every = np.vstack([c.centre for c in chains])
    reach = max(float(c.radius.max()) for c in chains) + 3 * cell
    low = np.minimum(every.min(0) - reach, ball - 1.4 * crown)
    low[2] = -4 * cell
    high = np.maximum(every.max(0) + reach, ball + 1.5 * crown)
    shape = tuple(np.ceil((high - low) / cell).astype(int) + 1)
    axes = [low[k] + cell * np.arange(shape[k]) for k in range(3)]
    spots = np.stack(np.meshgrid(*axes, indexing="ij"), -1)
    hills = lumps(rng, spots.reshape(-1, 3), wavelength=34 * scale, octaves=3).reshape(shape)
    round_ball = np.linalg.norm((spots - ball) / [1.0, 1.0, 0.85], axis=-1) - crown
    field = round_ball + 0.07 * crown * hills
    for chain in chains:
        d, near = _on_grid(axes, chain, reach, cell)
        d = d + 0.35 * scale * hills[near]
        # The neck runs into the crown: the two distances are blended where they are alike.
        blend = 7.0 * scale
        h = np.clip(0.5 + 0.5 * (round_ball[near] - d) / blend, 0, 1)
        joined = round_ball[near] * (1 - h) + d * h - blend * h * (1 - h)
        field[near] = np.minimum(field[near], np.minimum(d, joined + 0.05 * crown * hills[near]))
    field = np.maximum(field, 0.4 - spots[..., 2])
    points, quads = _nets(field, low, cell)
    return _parts(rng, points, quads, chains, np.linalg.norm(points - ball, axis=1) - crown)


def _parts(
    rng: np.random.Generator,
    points: Floats,
    quads: np.ndarray,
    chains: list[_Chain],
    from_crown: Floats,
) -> list[Mesh]:
    """The skin cut into crown and tubers, each point going to what it lies nearest to."""
    found = [_near_field(points, c) for c in chains]
    nearest = np.vstack([from_crown + 1.0, *[d for d, _ in found]]).argmin(0)
    shade = np.clip(0.5 + 0.2 * lumps(rng, points, wavelength=30, octaves=3), 0, 1)
    made = []
    for k in range(len(chains) + 1):
        mine = quads[nearest[quads[:, 0]] == k]
        if not len(mine):
            continue
        used, local = np.unique(mine, return_inverse=True)
        own = points[used]
        if k == 0:
            along, around = np.hypot(own[:, 0], own[:, 1]), np.arctan2(own[:, 1], own[:, 0])
            progress = np.zeros(len(own))
        else:
            chain = chains[k - 1]
            bead = found[k - 1][1][used]
            centre = np.stack(
                [np.interp(bead, np.arange(_BEADS), chain.centre[:, i]) for i in range(3)], 1
            )
            off = own - centre
            way = chain.centre[-1, :2] - chain.centre[0, :2]
            side = np.array([-way[1], way[0]]) / np.linalg.norm(way)
            around = np.arctan2(off[:, :2] @ side, off[:, 2])
            step = np.linalg.norm(np.diff(chain.centre, axis=0), axis=1).mean()
            along, progress = bead * step, bead / (_BEADS - 1)
        made.append(
            Mesh(
                part="crown" if k == 0 else f"tuber {k - 1}",
                material="skin",
                points=own,
                quads=local.reshape(-1, 4).astype(np.int64),
                uv=np.column_stack([along, around]),
                colour=np.column_stack([shade[used], progress, np.full(len(own), rng.uniform())]),
            )
        )
    return made


def _threads(rng: np.random.Generator, chain: _Chain) -> list[Mesh]:
    """Hair roots at a tuber's end and on its sides, thinner than 4 mm."""
    made = []
    for number in range(int(rng.integers(1, 5))):
        bead = _BEADS - 1 if number == 0 else int(rng.integers(_BEADS // 2, _BEADS))
        way = chain.centre[-1] - chain.centre[-4]
        heading = np.arctan2(way[1], way[0]) + (0.0 if number == 0 else rng.choice([-1.1, 1.1]))
        long = rng.uniform(12, 60) if number == 0 else rng.uniform(8, 30)
        s = np.linspace(0, 1, 14)
        turn = heading + np.cumsum(rng.normal(0, 0.2, 14))
        line = np.column_stack(
            [np.cumsum(np.cos(turn)) * long / 14, np.cumsum(np.sin(turn)) * long / 14, 0 * s]
        )
        line += chain.centre[bead] - line[0]
        line[:, 2] = np.maximum(chain.centre[bead, 2] * (1 - s) ** 1.6, 0.6)
        thick = (3.2 if number == 0 else 1.4) / 2 * (1 - 0.8 * s)
        made.append(tube(line, thick, part="root", material="root", sides=8))
    return made


def _stubs(rng: np.random.Generator, crown: float, scale: float) -> list[Mesh]:
    """One or two cut stems, some long, some cut close, closed by their pith."""
    made = []
    for number in range(int(rng.integers(1, 3))):
        tall = crown * 0.8 + scale * (rng.uniform(12, 55) if number == 0 else rng.uniform(3, 12))
        s = np.linspace(0, 1, 12)
        off = np.array([0.0, 0.0]) if number == 0 else rng.normal(0, 0.4 * crown, 2)
        lean = rng.normal(0, 0.14, 2)
        line = np.column_stack(
            [off[0] + lean[0] * tall * s, off[1] + lean[1] * tall * s, 0.8 * crown + tall * s]
        )
        wide = scale * (rng.uniform(6, 11) if number == 0 else rng.uniform(4, 7))
        made.append(
            tube(
                line,
                wide * (1.15 - 0.2 * s),
                part="stalk",
                material="stalk",
                sides=20,
                capped=False,
            )
        )
        lid = line[-1] + np.column_stack([0 * s, 0 * s, -0.4 * s])[:2]
        made.append(
            tube(lid, wide * np.array([0.94, 0.9]), part="stalk", material="pith", sides=20)
        )
    return made


def beaded_clump(*, seed: int, tubers: int, scale: float = 1.0) -> Clump:
    """A clump at rest on z = 0; ``scale`` 1 gives tubers of about 95 mm."""
    rng = np.random.default_rng(seed)
    crown = scale * rng.uniform(15, 19) * (1 + 0.035 * max(tubers - 6, 0))
    lower = min(tubers, int(rng.integers(6, 9)))
    headings = [2 * np.pi * (k + rng.normal(0, 0.22)) / lower for k in range(lower)] + [
        rng.uniform(0, 2 * np.pi) for _ in range(tubers - lower)
    ]
    # An open fan as often as a full round, where there are few.
    if tubers <= 6 and rng.uniform() < 0.5:
        headings = [h * 0.62 for h in headings]
    chains: list[_Chain] = []
    for heading in headings:
        chains.append(_at_rest(rng, heading, crown, scale, chains))
    parts = _skin(rng, chains, crown, scale)
    lines = []
    for chain in chains:
        outside = np.flatnonzero(np.hypot(*chain.centre[:, :2].T) > crown)[0]
        lines.append(chain.centre[outside:])
        parts += _threads(rng, chain)
    parts += _stubs(rng, crown, scale)
    return Clump(parts=tuple(parts), lines=tuple(lines))
