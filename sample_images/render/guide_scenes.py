"""The pictures of right and wrong for the page on taking photos: a good one, and what spoils it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from accuracy_layout import lay_out_scene, taken_from
from accuracy_scenes import Scene
from greenery import leaf
from layout import CARDS, Layout
from meshes import Floats, Mesh, moved, plate, rotation, tube
from seed_shapes import heaped_seeds, spread_seeds
from shot import Shot

__all__ = ["GUIDE", "Guide"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """One picture of the page: the scene, and what is changed in it: how it is spoilt, mostly.

    ``like`` names another picture whose light is used again, the camera being held otherwise.
    """

    name: str
    scene: Scene
    changed: Callable[[Layout], Layout] | None = None
    like: str = ""

    def layout(self) -> Layout:
        """The scene's geometry as it is in this picture."""
        made = lay_out_scene(self.scene)
        return made if self.changed is None else self.changed(made)


def _bloom(name: str, *, form: str = "decorative", **more: object) -> Scene:
    shot = Shot(
        file=f"{name}.JPG", folder="guide", taken_at="2026-02-12T10:20:00", subject="bloom",
        tag=None, card="bloom-1", surface="foliage", light="overcast", pegged=False, seed=41_007,
        widest_mm=138.0, tilt=5.0, tilt_from=250.0, turn=2.0, distance_mm=642.0, blur_px=0.5,
        opening_mm=3.0,
    )  # fmt: skip
    held = str(more.pop("held", "behind"))
    return Scene(
        shot=replace(shot, **more),  # type: ignore[arg-type]
        build="spiral", held=held, form=form, colour="pink",
    )  # fmt: skip


def _clump(name: str, **more: object) -> Scene:
    shot = Shot(
        file=f"{name}.JPG", folder="guide", taken_at="2026-05-16T14:05:00", subject="clump",
        tag=None, card="bench-1", surface="sheet", light="overcast", pegged=False, seed=41_019,
        laid=40.0, tilt=5.0, tilt_from=260.0, turn=-2.0, distance_mm=655.0, blur_px=0.5,
    )  # fmt: skip
    return Scene(
        shot=replace(shot, **more),  # type: ignore[arg-type]
        build="beaded", held="bench", tubers=7, scale=1.15,
    )  # fmt: skip


def _shifted(layout: Layout, by: tuple[float, float, float]) -> Layout:
    """The subject somewhere else, and the camera aimed to take it in."""
    subject = tuple(moved(m, None, by) for m in layout.subject)
    card = CARDS[layout.shot.card]
    corners = np.array([[0, 0, 0.0], [card.width, -card.height, 0]])
    seen = np.vstack([corners, *[m.points[::5] for m in subject]])
    shot, camera = taken_from(layout.shot, seen, (0.0, 0.0))
    x, y = layout.subject_at
    return replace(
        layout, shot=shot, camera=camera, subject=subject, subject_at=(x + by[0], y + by[1])
    )


def _card_far(layout: Layout) -> Layout:
    return _shifted(layout, (110.0, 10.0, 0.0))


def _from_the_side(layout: Layout) -> Layout:
    """The bloom facing up, so that its depth is seen, its axis level with the card."""
    cloud = np.vstack([m.points for m in layout.subject])
    middle = (cloud.min(0) + cloud.max(0)) / 2
    turn = rotation("x", -90.0)
    subject = [moved(moved(m, None, -middle), turn, (*middle[:2], 0.0)) for m in layout.subject]
    low = min(float(m.points[:, 1].min()) for m in subject)
    s = np.linspace(0, 1, 20)
    down = np.column_stack([middle[0] + 10 * s**2, low + 7.0 - 260.0 * s, 0 * s])
    turned = _shifted(replace(layout, subject=tuple(subject)), (0.0, 0.0, 0.0))
    stem = tube(down, np.full(20, 3.4), part="stem", material="stem", sides=14)
    up = np.array([0.0, 1.0, 0.0])
    return replace(turned, subject=(*turned.subject, stem), axis=up)


def _unwashed(layout: Layout) -> Layout:
    """The clump as it came out of the ground, all over soil."""
    muddy = [
        replace(m, material="damp soil") if m.material == "skin" else m for m in layout.subject
    ]
    return replace(layout, subject=tuple(muddy))


def _too_far_off(layout: Layout) -> Layout:
    """Taken from across the bed with the phone's widest lens."""
    lens = 26
    shot = replace(layout.shot, camera=(*layout.shot.camera[:2], lens))
    return replace(layout, shot=shot, camera=replace(layout.camera, focal35_mm=float(lens)))


def _leaf_over_board(layout: Layout) -> Layout:
    rng = np.random.default_rng(6)
    leaves = []
    for x, y, turn in ((0.0, -196.0, -8.0), (205.0, -226.0, 172.0)):
        blade = leaf(rng, 132.0, curl=0.2)
        leaves.append(moved(blade, rotation("z", turn), (x, y, 30.0)))
    return replace(layout, subject=(*layout.subject, *leaves))


def _cut_off(layout: Layout) -> Layout:
    """The camera pointed too far to the side, or too low, so that part of the subject is out."""
    points: Floats = layout.measured_points
    middle = layout.camera.eye[:2]
    away = points.mean(0) - middle
    share = 0.9 if layout.shot.subject == "bloom" else 0.72
    eye = layout.camera.eye - np.array([*(share * away), 0.0])
    return replace(layout, camera=replace(layout.camera, eye=eye))


def _shadow_across(layout: Layout) -> Layout:
    """Something off to the side throws its straight shadow over half of the subject."""
    x, y = layout.subject_at
    sun = np.array([-0.5, 0.72, 0.79]) / np.linalg.norm([0.5, 0.72, 0.79])
    board = plate(500.0, 420.0, part="clutter", material="dark", left_top=(8.0, -330.0))
    lifted = moved(board, rotation("z", 20.0), np.array([x, y, 25.0]) + sun * 420.0)
    return replace(layout, subject=(*layout.subject, lifted))


def _seeds(layout: Layout, seeds: list[Mesh]) -> Layout:
    card = CARDS[layout.shot.card]
    corners = np.array([[0, 0, 0.0], [card.width, -card.height, 0]])
    seen = np.vstack([corners, *[m.points for m in seeds]])
    shot, camera = taken_from(replace(layout.shot, subject="seeds"), seen, (0.0, 0.0))
    return replace(layout, shot=shot, camera=camera, subject=tuple(seeds), held="bench")


def _seeds_spread(layout: Layout) -> Layout:
    rng = np.random.default_rng(17)
    low, high = np.array([122.0, -140.0]), np.array([222.0, -8.0])
    return _seeds(layout, spread_seeds(rng, 46, low=low, high=high))


def _seeds_heaped(layout: Layout) -> Layout:
    rng = np.random.default_rng(18)
    return _seeds(layout, heaped_seeds(rng, 260, middle=np.array([168.0, -76.0])))


GUIDE: tuple[Guide, ...] = (
    Guide(name="bloom-right", scene=_bloom("bloom-right")),
    Guide(name="bloom-card-small",
          scene=_bloom("bloom-card-small", distance_mm=1700.0, surface="wall"),
          changed=_too_far_off),
    Guide(name="bloom-card-apart",
          scene=_bloom("bloom-card-apart", held="level", card="pocket-1", widest_mm=96.0,
                       distance_mm=532.0),
          changed=_card_far),
    Guide(name="bloom-slanted", scene=_bloom("bloom-slanted", tilt=36.0, tilt_from=300.0)),
    Guide(name="bloom-blurred",
          scene=_bloom("bloom-blurred", shake_px=17.0, shake_angle=35.0, blur_px=0.9),
          like="bloom-right"),
    Guide(name="bloom-card-covered", scene=_bloom("bloom-card-covered"), changed=_leaf_over_board),
    Guide(name="bloom-shadow", scene=_bloom("bloom-shadow", light="sun"), changed=_shadow_across),
    Guide(name="bloom-cut-off", scene=_bloom("bloom-cut-off"), changed=_cut_off),
    Guide(name="clump-right", scene=_clump("clump-right")),
    Guide(name="clump-same-colour",
          scene=_clump("clump-same-colour", surface="damp soil"), changed=_unwashed),
    Guide(name="clump-cut-off", scene=_clump("clump-cut-off", surface="bench"), changed=_cut_off),
    Guide(name="bloom-side-right",
          scene=_bloom("bloom-side-right", held="level", card="pocket-1", widest_mm=96.0,
                       distance_mm=368.0, form="ball", surface="bed"),
          changed=_from_the_side),
    Guide(name="seeds-right",
          scene=_bloom("seeds-right", card="pocket-1", surface="paper", distance_mm=356.0),
          changed=_seeds_spread),
    Guide(name="seeds-heap",
          scene=_bloom("seeds-heap", card="pocket-1", surface="paper", distance_mm=356.0),
          changed=_seeds_heaped),
)  # fmt: skip
