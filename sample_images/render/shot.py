"""One photograph as it was taken, and the two kinds that are measured."""

from __future__ import annotations

from dataclasses import dataclass, replace

from plants import CLUMPS, SEEDLINGS

__all__ = ["FIELD_35", "POCKET_28", "STANDING", "Shot", "bloom_shot", "clump_shot"]

FIELD_35 = ("Larkfield", "Field 35", 35)
POCKET_28 = ("Larkfield", "Pocket 28", 28)

STANDING = frozenset({"foliage", "bed", "sky", "wall", "hand"})
"""Backgrounds before which the card stands upright, instead of lying on something."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One photograph.

    ``distance_mm`` 0 lets the camera step back until everything is in the frame. ``turn`` is the
    handheld roll in degrees, ``tilt`` the angle between the camera's axis and the card's normal,
    ``tilt_from`` the side it leans to. ``laid`` turns the clump on the bench. ``blur_px`` is the
    lens and focus, ``shake_px`` a straight movement. ``opening_mm`` is how wide the lens is open;
    0 takes what suits the subject.
    """

    file: str
    folder: str
    taken_at: str
    subject: str
    tag: int | None
    card: str = ""
    surface: str = "bench"
    light: str = "daylight"
    pegged: bool = True
    seed: int = 1
    spread_mm: float = 0.0
    widest_mm: float = 0.0
    tilt: float = 8.0
    tilt_from: float = 200.0
    turn: float = 3.0
    laid: float = 0.0
    side: str = "right"
    distance_mm: float = 0.0
    blur_px: float = 0.6
    shake_px: float = 0.0
    shake_angle: float = 25.0
    opening_mm: float = 0.0
    camera: tuple[str, str, int] = FIELD_35
    offset: str = ""
    orientation: int = 1
    neighbour: int | None = None
    cut_to: float = 1.0
    expect: str = "measured"
    expect_match: str = "matched"
    notes: str = ""

    @property
    def path(self) -> str:
        """Folder and file, as in truth.csv."""
        return f"{self.folder}/{self.file}"


def clump_shot(
    file: str, folder: str, taken_at: str, tag: int, autumn: int, **more: object
) -> Shot:
    plant = CLUMPS[tag]
    spread = plant.spread_mm * (plant.change if autumn else 1.0)
    seed = plant.seed + 50 * autumn
    shot = Shot(
        file=file,
        folder=folder,
        taken_at=taken_at,
        subject="clump",
        tag=tag,
        card="bench-1",
        spread_mm=spread,
        seed=seed,
    )
    return replace(shot, **more)  # type: ignore[arg-type]


def bloom_shot(file: str, taken_at: str, tag: int, date: int, **more: object) -> Shot:
    seedling = SEEDLINGS[tag]
    shot = Shot(
        file=file,
        folder="summer-2026",
        taken_at=taken_at,
        subject="bloom",
        tag=tag,
        card=seedling.card,
        surface="foliage",
        widest_mm=seedling.sizes_mm[date],
        seed=seedling.seed + 10 * date,
    )
    return replace(shot, **more)  # type: ignore[arg-type]
