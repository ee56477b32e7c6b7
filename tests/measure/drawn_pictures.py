"""Scenes drawn as pictures of about a megapixel and measured from the marks on, as a photo is."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from measure import measure_bloom, measure_clump, read_marks
from measure.other_shapes import pile_clump, stack_bloom
from measure.results import Optics, Printing
from measure.shapes import grow_bloom, grow_clump
from measure.staging import BloomScene, ClumpScene, Shadow, stage_bloom, stage_clump
from tests.measure.outline.drawn import ground
from tests.measure.varied import FORMS, Case, band, bloom_truth, clump_truth

__all__ = ["picture_case"]

_SIZE = (1152, 864)
_PETALS = {
    "orange": (205, 90, 50),
    "white": (236, 233, 226),
    "yellow": (236, 202, 62),
    "pink": (226, 132, 164),
    "dark red": (118, 22, 40),
    "purple": (134, 62, 146),
}
_SKINS = {"tan": (168, 128, 84), "brown": (126, 88, 58), "pale": (196, 168, 128)}
_BEHIND = ("leaves", "soil", "slate", "wood", "sheet")
_UNDER = ("slate", "wood", "sheet", "sacking", "soil")


def picture_case(seed: int) -> Case:
    """A bloom, or each third time a clump, with everything drawn at random.

    ``MeasureError`` when the picture can't be measured.
    """
    return _clump_picture(seed) if seed % 3 == 2 else _bloom_picture(seed)


def _bloom_picture(seed: int) -> Case:
    rng = np.random.default_rng([90_000, seed])
    form = FORMS[seed // 3 % len(FORMS)]
    other, told = bool(rng.integers(2)), bool(rng.random() < 0.75)
    widest = float(rng.uniform(40, 60) if form == "pompon" else rng.uniform(65, 130))
    scene = stage_bloom(
        form,
        widest_mm=widest,
        seed=20_000 + seed,
        grow=stack_bloom if other else grow_bloom,
        gap_mm=max(0.3, float(rng.normal(3.0, 3.0))),
        lean_deg=(float(rng.normal(0, 5)), float(rng.normal(0, 5))),
        turned_deg=float(rng.uniform(-20, 20)),
        **_camera(rng, near_mm=380.0, far_mm=600.0),
    )
    colour, behind = str(rng.choice(list(_PETALS))), str(rng.choice(_BEHIND))
    picture, shaded, blur_px, noise = _drawn(scene, rng, colour=_PETALS[colour], behind=behind)
    made = measure_bloom(
        picture,
        marks=read_marks(picture),
        optics=_told(scene, rng),
        form=form if told else None,
        held="behind",
        printing=Printing(u_percent=0.15),
    )
    return Case(
        strata={
            "form": form,
            "colour": colour,
            "background": behind,
            "shadow": shaded,
            "blur": band(blur_px, (1.0,), "px"),
            "noise": band(noise, (4.0,), "levels"),
            "shapes": "others" if other else "as fitted",
            "flagged": _flagged(made.flags),
            "kind": "bloom, form told" if told else "bloom, form not told",
        },
        made=made,
        truth=bloom_truth(scene),
    )


def _clump_picture(seed: int) -> Case:
    rng = np.random.default_rng([90_000, seed])
    other = bool(rng.integers(2))
    scene = stage_clump(
        spread_mm=float(rng.uniform(160, 280)),
        tubers=int(rng.integers(4, 10)),
        seed=20_000 + seed,
        grow=pile_clump if other else grow_clump,
        laid_deg=float(rng.uniform(0, 360)),
        left=bool(rng.integers(2)),
        turned_deg=float(rng.normal(0, 5)),
        **_camera(rng, near_mm=620.0, far_mm=820.0),
    )
    colour, under = str(rng.choice(list(_SKINS))), str(rng.choice(_UNDER))
    picture, shaded, blur_px, noise = _drawn(scene, rng, colour=_SKINS[colour], behind=under)
    made = measure_clump(
        picture,
        marks=read_marks(picture),
        optics=_told(scene, rng),
        printing=Printing(u_percent=0.15),
    )
    return Case(
        strata={
            "colour": colour,
            "background": under,
            "shadow": shaded,
            "blur": band(blur_px, (1.0,), "px"),
            "noise": band(noise, (4.0,), "levels"),
            "shapes": "others" if other else "as fitted",
            "flagged": _flagged(made.flags),
            "kind": "clump",
        },
        made=made,
        truth=clump_truth(scene),
    )


def _flagged(flags: tuple[object, ...]) -> str:
    return "outline doubted" if "outline unsure" in [str(flag) for flag in flags] else "no"


def _camera(rng: np.random.Generator, *, near_mm: float, far_mm: float) -> dict[str, Any]:
    return {
        "distance_mm": float(rng.uniform(near_mm, far_mm)),
        "tilt_deg": float(rng.uniform(0.0, 16.0)),
        "tilt_towards_deg": float(rng.uniform(0, 360)),
        "focal35_mm": float(rng.uniform(25, 28)),
        "size_px": _SIZE,
        "distortion": float(rng.normal(0, 0.006)),
        "stretch": 1.0 + float(rng.normal(0, 0.0015)),
    }


def _told(scene: BloomScene | ClumpScene, rng: np.random.Generator) -> Optics:
    return Optics(focal35_mm=scene.camera.focal35_mm * float(1 + rng.normal(0, 0.04)))


def _drawn(
    scene: BloomScene | ClumpScene,
    rng: np.random.Generator,
    *,
    colour: tuple[int, int, int],
    behind: str,
) -> tuple[NDArray[np.uint8], str, float, float]:
    """The picture, whether sun or shade, and its blur and noise."""
    sun = bool(rng.random() < 0.5)
    turn, slope = float(rng.uniform(0, 2 * math.pi)), float(rng.uniform(0.3, 1.0))
    shadow = Shadow(
        slope=(slope * math.cos(turn), slope * math.sin(turn)),
        share=float(rng.uniform(0.35, 0.6)) if sun else float(rng.uniform(0.1, 0.25)),
        soft_px=1.5 if sun else 8.0,
    )
    canvas = scene.canvas(
        colour=colour, ground=ground(behind, (_SIZE[1], _SIZE[0]), rng), shadow=shadow
    )
    blur_px, noise = float(rng.uniform(0.5, 1.5)), float(rng.uniform(1.0, 7.0))
    picture = canvas.finish(
        blur_px=blur_px,
        noise=noise,
        light=float(rng.uniform(0.75, 1.0)),
        seed=int(rng.integers(9999)),
    )
    return picture, "hard" if sun else "soft", blur_px, noise
