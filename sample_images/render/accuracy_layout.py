"""What stands where in a scene of the blind set, and the lens that takes it all in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from accuracy_scenes import Scene
from beaded_clumps import beaded_clump
from bloom_kinds import bloom_of
from camera import HEIGHT_PX, WIDTH_PX, Camera, aim
from clump_shapes import Clump, clump
from layout import BOARD_MM, CARDS, CardSize, Layout
from meshes import Floats, Mesh, moved, rotation, tube
from plane_measures import widest
from shot import Shot

__all__ = ["lay_out_scene", "taken_from"]

LENSES = (77, 50, 35, 28, 26, 24)
"""Focal lengths that phones and small cameras have, as their 35 mm equivalents."""

MARGIN = 0.04
"""Least share of the picture's width that stays free beside what must be in it."""


def _card_points(card: CardSize) -> Floats:
    return np.array(
        [[0, 0, 0], [card.width, 0, 0], [0, -card.height, 0], [card.width, -card.height, 0.0]]
    )


def taken_from(shot: Shot, seen: Floats, off: tuple[float, float]) -> tuple[Shot, Camera]:
    """The camera at the shot's distance with the longest lens that takes everything in.

    Where even the shortest does not, the camera steps back until it does.
    """
    room = np.array([WIDTH_PX, HEIGHT_PX]) * MARGIN
    distance = shot.distance_mm
    while True:
        for lens in LENSES:
            camera = aim(
                seen,
                tilt=shot.tilt,
                tilt_from=shot.tilt_from,
                turn=shot.turn,
                focal35_mm=float(lens),
                distance_mm=distance,
                off=off,
            )
            at = camera.project(seen)
            if (at > room).all() and (at < np.array([WIDTH_PX, HEIGHT_PX]) - room).all():
                used = replace(
                    shot, camera=("Larkfield", f"Field {lens}", lens), distance_mm=distance
                )
                return used, camera
        distance *= 1.04


def _bloom_place(
    scene: Scene, parts: list[Mesh], rng: np.random.Generator
) -> tuple[float, float, float]:
    """Where the bloom's origin goes, in card coordinates with y up."""
    card = CARDS[scene.shot.card]
    cloud = np.vstack([m.points for m in parts])
    low, high = cloud.min(0), cloud.max(0)
    if scene.held == "behind":
        x, y = card.subject_at[0] + rng.normal(0, 3.0), -card.subject_at[1] + rng.normal(0, 3.0)
        return x, y, float(1.5 - low[2] + rng.uniform(0, 2.5))
    gap = float(rng.uniform(8, 26))
    y = -card.height / 2 + float(rng.normal(0, 12)) - float(low[1] + high[1]) / 2
    x = float(card.width + gap - low[0])
    if scene.held == "bench":
        return x, y, float(-BOARD_MM - low[2])
    # Widest petals level with the card: the middle height of the rim lies at z = 0.
    far = np.hypot(*(cloud[:, :2] - (low + high)[:2] / 2).T) > 0.44 * scene.shot.widest_mm
    return x, y, float(-np.median(cloud[far, 2]) + rng.normal(0, 1.5))


def _bloom(scene: Scene) -> Layout:
    shot = scene.shot
    rng = np.random.default_rng(shot.seed + 7)
    grown = bloom_of(
        form=scene.form,
        build=scene.build,
        colour=scene.colour,
        seed=shot.seed,
        widest_mm=shot.widest_mm,
        openness=float(rng.uniform(0.88, 1.12)),
    )
    lean = (
        rotation("z", rng.uniform(0, 360))
        @ rotation("x", rng.uniform(0.5, 5.0 if scene.held == "bench" else 9.0))
        @ rotation("z", rng.uniform(0, 360))
    )
    found = widest(np.vstack([m.points @ lean.T for m in grown])[:, :2])
    parts = [moved(replace(m, points=m.points * (shot.widest_mm / found)), lean) for m in grown]
    at = _bloom_place(scene, parts, rng)
    parts = [moved(m, None, at) for m in parts]
    seen = np.vstack([_card_points(CARDS[shot.card]), *[m.points[::5] for m in parts]])
    off = (float(rng.normal(0, 4)), float(rng.normal(0, 4)))
    shot, camera = taken_from(shot, seen, off)
    return Layout(
        shot=shot, subject=tuple(parts), lines=(), held=scene.held, subject_at=(at[0], at[1]),
        tags={}, camera=camera,
    )  # fmt: skip


def _side(scene: Scene) -> Layout:
    """The bloom facing up the card, its axis within a few degrees of the card's plane and edge."""
    shot = scene.shot
    rng = np.random.default_rng(shot.seed + 7)
    grown = bloom_of(
        form=scene.form,
        build=scene.build,
        colour=scene.colour,
        seed=shot.seed,
        widest_mm=shot.widest_mm,
        openness=float(rng.uniform(0.88, 1.12)),
    )
    up = (
        rotation("z", rng.normal(0, 6.0))
        @ rotation("x", -90.0 + rng.normal(0, 6.0))
        @ rotation("z", rng.uniform(0, 360))
    )
    parts = [moved(m, up) for m in grown]
    cloud = np.vstack([m.points for m in parts])
    low, high = cloud.min(0), cloud.max(0)
    card = CARDS[shot.card]
    at = np.array(
        [
            card.width + rng.uniform(8, 24) - low[0],
            -card.height * 0.4 - (low[1] + high[1]) / 2 + rng.normal(0, 8),
            -(low[2] + high[2]) / 2 + rng.normal(0, 3.0),
        ]
    )
    parts = [moved(m, None, at) for m in parts]
    # The stem leaves the back of the bloom along its axis, then hangs straight down.
    s = np.linspace(0, 1, 30)[:, None]
    back = up @ np.array([0.0, 0.0, 6.0]) + at
    line = (
        back
        - up[:, 2] * 30.0 * np.minimum(s * 8, 1.5)
        - np.array([0, 420.0, 0]) * (s - 0.1).clip(0)
    )
    stem = tube(line, np.full(30, 3.2), part="stem", material="stem", sides=14)
    seen = np.vstack([_card_points(card), *[m.points[::5] for m in parts]])
    shot, camera = taken_from(shot, seen, (float(rng.normal(0, 4)), float(rng.normal(0, 4))))
    return Layout(
        shot=shot, subject=(*parts, stem), lines=(), held="level",
        subject_at=(float(at[0]), float(at[1])), tags={}, camera=camera, axis=up[:, 2],
    )  # fmt: skip


def _grown_clump(scene: Scene) -> Clump:
    if scene.build == "beaded":
        return beaded_clump(seed=scene.shot.seed, tubers=scene.tubers, scale=scene.scale)
    rng = np.random.default_rng(scene.shot.seed + 1)
    return clump(
        seed=scene.shot.seed,
        tubers=scene.tubers,
        scale=scene.scale,
        plumpness=float(rng.uniform(0.8, 1.2)),
        evenness=float(rng.uniform(0.4, 0.95)),
    )


def _clump(scene: Scene) -> Layout:
    shot = scene.shot
    rng = np.random.default_rng(shot.seed + 7)
    grown = _grown_clump(scene)
    turn = rotation("z", shot.laid)
    parts = [moved(m, turn) for m in grown.parts]
    body = np.vstack([m.points for m in parts if m.part == "crown" or m.part.startswith("tuber")])
    low, high = body.min(0), body.max(0)
    card = CARDS[shot.card]
    gap = rng.uniform(18, 42)
    x = card.width + gap - low[0] if shot.side == "right" else -gap - high[0]
    y = -card.height / 2 - (low[1] + high[1]) / 2 + rng.normal(0, 10)
    by = np.array([x, y, -BOARD_MM])
    parts = [moved(m, None, by) for m in parts]
    seen = np.vstack([_card_points(card), (body + by)[::5]])
    shot, camera = taken_from(shot, seen, (float(rng.normal(0, 5)), float(rng.normal(0, 5))))
    return Layout(
        shot=shot,
        subject=tuple(parts),
        lines=tuple(line @ turn.T + by for line in grown.lines),
        held="bench",
        subject_at=(float(x), float(y)),
        tags={},
        camera=camera,
    )


def lay_out_scene(scene: Scene) -> Layout:
    """The scene's geometry and camera, always the same for the same list."""
    makers = {"bloom": _bloom, "bloom-side": _side, "clump": _clump}
    return makers[scene.shot.subject](scene)
