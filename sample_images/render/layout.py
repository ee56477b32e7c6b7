"""What stands where in each shot: subject, card, tag and camera, for the renderer and the truth."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from bloom_shapes import bloom
from camera import Camera, aim
from clump_shapes import clump, clump_of_spread
from meshes import Floats, Mesh, moved, plate, rotation
from plane_measures import widest
from plants import CLUMPS, SEEDLINGS
from shot import Shot

__all__ = ["BOARD_MM", "CARDS", "TAG_MM", "CardSize", "Layout", "card_plates", "lay_out"]

BOARD_MM = 2.0
"""Thickness of the rigid board that a card is stuck on; the print is at z = 0."""

TAG_MM = (62.0, 33.75)
"""A tag's width and height after cutting and folding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardSize:
    """Outline of a card, where its tag is pegged (left, top, width, height), and the slot."""

    width: float
    height: float
    tag_area: tuple[float, float, float, float]
    subject_at: tuple[float, float]
    slot: tuple[float, float, float] | None = None


CARDS = {
    "bench-1": CardSize(width=287, height=200, tag_area=(216, 5, 66, 36), subject_at=(0, 0)),
    "bloom-1": CardSize(
        width=200, height=287, tag_area=(132, 246, 62, 36), subject_at=(100, 76), slot=(96, 104, 80)
    ),
    "pocket-1": CardSize(width=105, height=148, tag_area=(4, 4, 62, 34), subject_at=(164, 70)),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Layout:
    """One scene in card coordinates: x right, y up, z towards the camera, all in mm.

    ``subject`` is what is measured and what grows on it; ``lines`` are a clump's tuber lines.
    ``tags`` holds (x, y, z, turn in degrees) of each tag, by number. ``axis`` points from the back
    of a bloom to its front, where it is seen from the side.
    """

    shot: Shot
    subject: tuple[Mesh, ...]
    lines: tuple[Floats, ...]
    held: str
    subject_at: tuple[float, float]
    tags: dict[int, tuple[float, float, float, float]]
    camera: Camera
    axis: Floats | None = None

    @property
    def measured_points(self) -> Floats:
        """(N, 2) points of petals and disc, or of crown and tubers, along the card's normal."""
        kept = [
            m.points[:, :2]
            for m in self.subject
            if m.part.split()[0] in ("petal", "disc", "crown", "tuber")
        ]
        return np.vstack(kept)


def _hand(shot: Shot) -> dict[str, float]:
    return {
        "tilt": shot.tilt,
        "tilt_from": shot.tilt_from,
        "turn": shot.turn,
        "focal35_mm": float(shot.camera[2]),
        "distance_mm": shot.distance_mm,
    }


def _card_points(card: CardSize) -> Floats:
    return np.array(
        [[0, 0, 0], [card.width, 0, 0], [0, -card.height, 0], [card.width, -card.height, 0.0]]
    )


def _pegged(
    shot: Shot, card: CardSize, rng: np.random.Generator
) -> dict[int, tuple[float, float, float, float]]:
    if not shot.pegged or shot.tag is None:
        return {}
    left, top, width, height = card.tag_area
    spare_x, spare_y = width - TAG_MM[0], height - TAG_MM[1]
    at = (left + spare_x / 2 + rng.normal(0, 0.6), top + spare_y / 2 + rng.normal(0, 0.6))
    return {shot.tag: (at[0], -at[1], 0.6, float(rng.normal(0, 1.5)))}


def _clump_layout(shot: Shot) -> Layout:
    rng = np.random.default_rng(shot.seed + 7)
    plant = CLUMPS[shot.tag or 0]
    season = 1 if shot.folder == "autumn-2026" else 0
    grown = clump_of_spread(
        spread_mm=shot.spread_mm,
        seed=shot.seed,
        tubers=plant.tubers[season],
        plumpness=plant.plumpness,
        evenness=plant.evenness,
    )
    turn = rotation("z", shot.laid)
    parts = [moved(m, turn) for m in grown.parts]
    lines = [line @ turn.T for line in grown.lines]
    body = np.vstack([m.points for m in parts if m.part == "crown" or m.part.startswith("tuber")])
    low, high = body.min(0), body.max(0)
    card = CARDS[shot.card]
    gap = rng.uniform(22, 40)
    x = card.width + gap - low[0] if shot.side == "right" else -gap - high[0]
    y = -card.height / 2 - (low[1] + high[1]) / 2 + rng.normal(0, 10)
    by = np.array([x, y, -BOARD_MM])
    parts = [moved(m, None, by) for m in parts]
    corners = np.vstack([_card_points(card), body + by])
    camera = aim(corners, **_hand(shot), margin=0.075, off=tuple(rng.normal(0, 5, 2)))
    return Layout(
        shot=shot,
        subject=tuple(parts),
        lines=tuple(line + by for line in lines),
        held="bench",
        subject_at=(float(x), float(y)),
        tags=_pegged(shot, card, rng),
        camera=camera,
    )


def _bloom_layout(shot: Shot) -> Layout:
    rng = np.random.default_rng(shot.seed + 7)
    seedling = SEEDLINGS[shot.tag or 0]
    grown = bloom(
        form=seedling.form,
        seed=shot.seed,
        widest_mm=shot.widest_mm,
        openness=float(rng.uniform(0.9, 1.1)),
    )
    lean = (
        rotation("z", rng.uniform(0, 360))
        @ rotation("x", rng.uniform(1.5, 7.0))
        @ rotation("z", rng.uniform(0, 360))
    )
    found = widest((grown.outline_points @ lean.T)[:, :2])
    parts = [replace(m, points=m.points * (shot.widest_mm / found)) for m in grown.parts]
    parts = [moved(m, lean) for m in parts]
    card = CARDS[shot.card or "bloom-1"]
    x, y = card.subject_at[0] + rng.normal(0, 2.0), card.subject_at[1] + rng.normal(0, 2.0)
    level = seedling.card == "pocket-1"
    if level:
        # Widest petals level with the card: the median height of the rim lies at z = 0.
        outer = np.vstack([m.points for m in parts if m.part == "petal"])
        far = np.hypot(outer[:, 0], outer[:, 1]) > 0.44 * shot.widest_mm
        z = float(-np.median(outer[far, 2]) + rng.normal(0, 1.5))
    else:
        z = float(1.5 - min(m.points[:, 2].min() for m in parts) + rng.uniform(0, 2.5))
    parts = [moved(m, None, (x, -y, z)) for m in parts]
    cloud = np.vstack([m.points for m in parts])
    if shot.card:
        seen = np.vstack([_card_points(card), cloud])
        tags = _pegged(shot, card, rng)
    else:
        seen = cloud
        tags = {
            shot.tag or 0: (x + 0.30 * shot.widest_mm, -y - 0.56 * shot.widest_mm, -14.0, -24.0)
        }
    if shot.neighbour:
        tags[shot.neighbour] = (-128.0, -40.0, -220.0, 9.0)
    camera = aim(
        seen, **_hand(shot), margin=0.15 if level else 0.05, off=tuple(rng.normal(0, 4, 2))
    )
    held = "" if not shot.card else ("level" if level else "behind")
    return Layout(
        shot=shot,
        subject=tuple(parts),
        lines=(),
        held=held,
        subject_at=(x, -y),
        tags=tags,
        camera=camera,
    )


def _tray_layout(shot: Shot) -> Layout:
    """A shallow wooden tray with eight rows of five pot tubers in dry compost."""
    rng = np.random.default_rng(shot.seed + 99)
    parts: list[Mesh] = []
    for row in range(5):
        for column in range(8):
            grown = clump(
                seed=int(rng.integers(1 << 30)),
                tubers=int(rng.integers(2, 5)),
                scale=float(rng.uniform(0.26, 0.33)),
                evenness=0.5,
            )
            turn = rotation("z", rng.uniform(0, 360))
            at = np.array(
                [
                    (column - 3.5) * 62 + rng.normal(0, 3),
                    (row - 2) * 62 + rng.normal(0, 3),
                    rng.uniform(-4, 0),
                ]
            )
            parts += [moved(m, turn, at) for m in grown.parts]
    corners = np.array([[-270, -190, 0], [270, 190, 0.0], [-270, 190, 40], [270, -240, 0]])
    camera = aim(corners, **_hand(shot))
    return Layout(
        shot=shot,
        subject=tuple(parts),
        lines=(),
        held="",
        subject_at=(0, 0),
        tags={shot.tag or 0: (60.0, -200.0, -29.2, 5.0)},
        camera=camera,
    )


def _tag_layout(shot: Shot) -> Layout:
    """A tag lying on the bench, filling much of the frame, the edge of its clump beside it."""
    plant = CLUMPS[shot.tag or 0]
    grown = clump_of_spread(
        spread_mm=plant.spread_mm * plant.change,
        seed=plant.seed + 50,
        tubers=plant.tubers[1],
        plumpness=plant.plumpness,
        evenness=plant.evenness,
    )
    low = np.vstack([m.points for m in grown.parts]).min(0)
    parts = [moved(m, None, (52.0 - low[0], 40.0, -BOARD_MM)) for m in grown.parts]
    camera = aim(np.array([[-34.0, -24, 0], [46, 24, 0]]), **_hand(shot), off=(4.0, -3.0))
    tags = {shot.tag or 0: (-31.0, 16.0, -0.9, 6.0)}
    return Layout(
        shot=shot,
        subject=tuple(parts),
        lines=(),
        held="",
        subject_at=(52.0 - low[0], 40.0),
        tags=tags,
        camera=camera,
    )


def lay_out(shot: Shot) -> Layout:
    """The scene of a shot, always the same for the same shot list."""
    made = {
        "clump": _clump_layout,
        "bloom": _bloom_layout,
        "tray": _tray_layout,
        "tag": _tag_layout,
    }
    return made[shot.subject](shot)


def card_plates(name: str) -> list[Mesh]:
    """The card's printed face in pieces round its slot, uv over the whole card."""
    card = CARDS[name]
    pieces = [(0.0, 0.0, card.width, card.height)]
    if card.slot:
        left, right, bottom = card.slot
        pieces = [
            (0.0, 0.0, left, bottom),
            (right, 0.0, card.width - right, bottom),
            (0.0, bottom, card.width, card.height - bottom),
        ]
    made = []
    for x, y, w, h in pieces:
        sheet = plate(w, h, part="card", material=f"print {name}", left_top=(x, y))
        uv = np.column_stack(
            [sheet.points[:, 0] / card.width, 1 + sheet.points[:, 1] / card.height]
        )
        made.append(replace(sheet, uv=uv))
    return made
