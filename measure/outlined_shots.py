"""One shot's outline and pose, made ready to be fitted together with those of other shots."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from measure.budget import Lengths, edge_effects
from measure.joint_dome import HARMONICS, SeenOutline, harmonics_of
from measure.lift import on_level
from measure.planar import area_of, hull_of
from measure.pose import Pose
from measure.results import Optics, Outline, Points

__all__ = ["OutlinedShot", "seen_in"]

# What a dome with the right height misses of one view, as a share of the diameter, in every
# harmonic: 0.03 to 0.2 % in our drawn blooms; real ones are taken to be no better than the worst.
_VIEW_SHARE = 0.0015

_HARMONICS = tuple(f"harmonic {k}" for k in range(HARMONICS))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OutlinedShot:
    """One shot's outline and pose, and what the file says of the lens."""

    outline: Outline
    pose: Pose
    optics: Optics

    @property
    def on_card_mm(self) -> Points:
        """(N, 2) where the rays to the outline meet the card's plane."""
        return on_level(*self.pose.rays(self.outline.points), 0.0)

    @property
    def edge_mm(self) -> float:
        """Standard error of one end of a length, on the card's plane."""
        return self.outline.edge_sigma_px * math.sqrt(
            area_of(self.on_card_mm) / area_of(self.outline.points)
        )


def seen_in(
    shot: OutlinedShot, pose: Pose, *, rough_mm: float, doubt_percent: float
) -> SeenOutline:
    """The outline, thinned, with its scatter and what that adds to it."""
    pixels = shot.outline.points
    every = np.arange(0, len(pixels), max(1, len(pixels) // 300))
    kept = pixels[np.union1d(every, hull_of(pixels))]
    flat = shot.on_card_mm
    cause, bias = edge_effects(flat, _named_harmonics, edge_sigma_mm=shot.edge_mm)
    edge = np.array([cause.effects[k] for k in _HARMONICS])
    doubt = doubt_percent / 100.0 * (1.0 - shot.outline.confidence)
    spread = np.full(len(_HARMONICS), rough_mm)
    spread[0] = rough_mm / 2.0
    # A wrong outline is mostly wrong in its width; to one side, or oval, by half as much.
    wrong = doubt * rough_mm / 2.0 * np.where(np.arange(len(_HARMONICS)) == 0, 1.0, 0.5)
    return SeenOutline(
        pixels=kept,
        pose=pose,
        bias_mm=np.array([bias[k] for k in _HARMONICS]),
        covariances={
            "outline": np.diag(edge**2 + wrong**2),
            "shape": np.diag((_VIEW_SHARE * spread) ** 2),
        },
    )


def _named_harmonics(outline_mm: Points) -> Lengths:
    return dict(zip(_HARMONICS, harmonics_of(outline_mm).tolist(), strict=True))
