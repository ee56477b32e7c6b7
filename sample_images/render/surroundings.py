"""Everything in a scene but its subject: card, tags, peg, string, and what is round them."""

from __future__ import annotations

import numpy as np
from backdrops import backdrop
from benches import on_bench, tray
from greenery import greenery
from layout import BOARD_MM, CARDS, TAG_MM, Layout, card_plates
from meshes import Mesh, block, moved, plate, rotation, tube
from shot import STANDING

__all__ = ["surroundings"]


def _card(layout: Layout) -> list[Mesh]:
    card = CARDS[layout.shot.card]
    made = card_plates(layout.shot.card)
    backing = [moved(m, None, (0, 0, -BOARD_MM)) for m in made]
    made += [
        Mesh(
            part="board",
            material="board edge",
            points=m.points,
            quads=m.quads,
            uv=m.uv,
            smooth=False,
        )
        for m in backing
    ]
    edge = np.array([[0, 0], [card.width, 0], [card.width, -card.height], [0, -card.height]], float)
    for a, b in zip(edge, np.roll(edge, -1, axis=0), strict=True):
        wall = np.array([[*a, 0], [*b, 0], [*b, -BOARD_MM], [*a, -BOARD_MM]], float)
        made.append(
            Mesh(
                part="board",
                material="board edge",
                points=wall,
                quads=np.array([[0, 1, 2, 3]]),
                smooth=False,
            )
        )
    return made


def _tag(number: int, at: tuple[float, float, float, float]) -> list[Mesh]:
    x, y, z, turn = at
    face = plate(*TAG_MM, part="tag", material=f"print tag-{number:04d}")
    middle = np.array([TAG_MM[0] / 2, -TAG_MM[1] / 2, 0])
    turned = moved(moved(face, None, -middle), rotation("z", turn), middle + np.array([x, y, z]))
    under = moved(turned, None, (0, 0, -0.35))
    return [
        turned,
        Mesh(
            part="tag", material="board edge", points=under.points, quads=under.quads, smooth=False
        ),
    ]


def _peg(layout: Layout, rng: np.random.Generator) -> list[Mesh]:
    """A small wooden peg over the card's edge, its jaw on the end of the tag that has the hole."""
    card = CARDS[layout.shot.card]
    x, y, _, _ = layout.tags[layout.shot.tag or 0]
    at_top = -y < card.height / 2
    made = []
    for z in (1.0, -BOARD_MM - 6.0):
        half = block(np.array([-13.5, -4.2, z]), np.array([34.0, 4.2, z + 5.2]), "peg")
        taper = half.points.copy()
        taper[taper[:, 0] < 0, 2] += 2.0 * (taper[taper[:, 0] < 0, 2] > z + 1) * -1
        made.append(
            Mesh(
                part="peg",
                material="peg",
                points=taper,
                quads=half.quads,
                uv=half.uv,
                smooth=False,
            )
        )
    s = np.linspace(0, 2 * np.pi * 3, 40)
    coil = np.column_stack(
        [6 + 3.0 * np.cos(s), -4.6 + 9.2 * s / s[-1], 1.2 + 5.8 * np.sin(s) * 0.9 - 1.0]
    )
    made.append(tube(coil, np.full(40, 0.55), part="wire", material="wire", sides=8))
    turn = rotation("z", (90 if at_top else -90) + rng.normal(0, 4))
    at = (x + 4.6, 0.0 if at_top else -card.height, 0.0)
    return [moved(m, turn, at) for m in made]


def surroundings(layout: Layout) -> list[Mesh]:
    """Everything in the scene but the subject itself."""
    shot = layout.shot
    rng = np.random.default_rng(shot.seed * 31 + (shot.tag or 0))
    made: list[Mesh] = []
    if shot.card:
        made += _card(layout)
        if shot.pegged:
            made += _peg(layout, rng)
    for number, at in layout.tags.items():
        made += _tag(number, at)
        if number == shot.neighbour or (shot.subject == "bloom" and not shot.card):
            x, y, z, _ = at
            tie = np.column_stack(
                [
                    np.linspace(x + 30, x + 8, 8),
                    np.linspace(y - 3, y + 90, 8),
                    np.linspace(z, z - 30, 8),
                ]
            )
            made.append(tube(tie, np.full(8, 0.9), part="string", material="string", sides=8))
    if shot.surface == "foliage":
        return made + greenery(rng, layout)
    if shot.surface == "paper":
        sheet = plate(
            900, 900, part="bench", material="paper", top=-BOARD_MM, left_top=(-300, -400)
        )
        return [*made, sheet]
    if shot.surface in STANDING:
        return made + backdrop(rng, layout)
    made += tray(rng) if shot.subject == "tray" else on_bench(rng, layout)
    if shot.subject == "tag":
        x, y, z, _ = layout.tags[shot.tag or 0]
        s = np.linspace(0, 1, 40)
        tie = np.column_stack(
            [x + 5 - 95 * s, y - 17 + 30 * np.sin(3.4 * s) + 8 * s, z + 0.9 + 3 * np.exp(-s * 12)]
        )
        made.append(tube(tie, np.full(40, 0.9), part="string", material="string", sides=8))
    return made
