"""Whether a card's board is bent: how far, and how likely a flat one's corners look so."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from measure.card.designs import CardDesign
from measure.focal import Focal
from measure.pose_fit import axis_px, rotation_of
from measure.results import Points

__all__ = ["Bend", "fit_bend"]

Vector = NDArray[np.float64]

# What a bend moves less than this share of what moves it most is not seen in the picture at all.
_UNSEEN = 1e-6

# The first parts of a surface: bent across, twisted, bent along.
_SECOND_DEGREE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """The bend that fits the board's corners best.

    ``sag_mm`` is how far the board reaches to both sides of the plane that suits it best, together.
    ``chance`` is the probability that the corners of a flat card, scattered as these are, seem bent
    as clearly as these: small for a bent card; of flat ones at most one in a hundred has less than
    0.01. ``moved_px`` is how far the bend moves a corner in the picture from where a flat card's
    would be seen, root mean square; ``sigma_px`` the scatter of one corner in one direction that
    the bend leaves.
    """

    sag_mm: float
    chance: float
    moved_px: float
    sigma_px: float


def fit_bend(
    places: Points,
    seen: Points,
    *,
    design: CardDesign,
    state: Vector,
    centre: Vector,
    focal: Focal,
    barrel: float,
) -> Bend:
    """The bend of a board whose pose as a flat one is known.

    The card's height over its plane is taken for a surface of the second degree (bent one way or
    the other, domed or twisted), then for one of the third (wavy, or bent at one end only). What
    the camera's place, its focal length and its lens's distortion could do as well is left to them.
    A bend is then told from scatter by the F test for nested least squares: how much better the
    corners fit with it, against how badly they fit even so; no scatter need be known beforehand.
    The better of the two degrees counts, its chance doubled for having had the choice. Linear in
    everything: cards sag by a few per cent of their length at most.

    Parameters
    ----------
    places : (N, 2) float array
        The corners on the card, in mm.
    seen : (N, 2) float array
        Where they are in the picture, in pixels.
    design : CardDesign
    state : (7,) or (9,) float array
        The flat card's pose, as in ``Pose``.
    centre : (2,) float array
        The picture's middle.
    focal : Focal
    barrel : float
        As in ``Pose``: how much radial distortion the lens may have.
    """
    off = (seen - _projected(places, state, centre)).ravel()
    slopes = [
        _slope(lambda step, i=i: _projected(places, _stepped(state, i, step), centre))  # type: ignore[misc]
        for i in range(len(state))
    ]
    slopes.append(_slope(lambda step: _projected(places, state, centre, barrel=step)))
    told = _told_beforehand(state, focal, barrel=barrel)
    heights = _surface(places, design)
    bends = np.column_stack(
        [
            _slope(lambda step, h=h: _projected(places, state, centre, height_mm=step * h))  # type: ignore[misc]
            for h in heights.T
        ]
    )
    found = [
        _judged(off, np.column_stack(slopes), bends[:, :parts], told, heights=heights[:, :parts])
        for parts in (_SECOND_DEGREE, bends.shape[1])
    ]
    best = min(found, key=lambda bend: bend.chance)
    return replace(best, chance=min(1.0, len(found) * best.chance))


def _judged(
    off: Vector,
    slopes: NDArray[np.float64],
    bends: NDArray[np.float64],
    told: tuple[NDArray[np.float64], Vector],
    *,
    heights: NDArray[np.float64],
) -> Bend:
    """The bend from what is off and what each unknown does to it, both (2 N, ...).

    ``told`` is what is known of the other unknowns beforehand, as rows of one standard uncertainty
    each, and what is off there; ``heights`` the parts of the surface at the corners.
    """
    sigma = max(float(np.sqrt(np.mean(off**2))), 1e-6)
    shape, chance, moved = np.zeros(bends.shape[1]), 1.0, 0.0
    # What is told counts against the corners' scatter, which is only known afterwards.
    for _ in range(4):
        rows = np.vstack([slopes / sigma, told[0]])
        wrong = np.concatenate([off / sigma, told[1]])
        flat, _ = np.linalg.qr(rows / np.linalg.norm(rows, axis=0))
        left = wrong - flat @ (flat.T @ wrong)
        bent = np.vstack([bends / sigma, np.zeros((len(told[1]), bends.shape[1]))])
        bent_left = bent - flat @ (flat.T @ bent)
        ways, sizes, turned = np.linalg.svd(bent_left, full_matrices=False)
        shown = sizes > _UNSEEN * float(np.linalg.norm(bent))
        ways, sizes, turned = ways[:, shown], sizes[shown], turned[shown]
        spare = len(wrong) - rows.shape[1] - len(sizes)
        if spare < 1 or not len(sizes):
            return Bend(sag_mm=0.0, chance=1.0, moved_px=0.0, sigma_px=sigma)
        along = ways.T @ left
        rest = float(left @ left - along @ along) / spare
        shape = turned.T @ (along / sizes)
        gain = float(along @ along) / len(sizes)
        moved = sigma * math.sqrt(2.0 * float(along @ along) / len(off))
        chance = float(fdtrc(len(sizes), spare, gain / max(rest, 1e-12)))
        sigma = max(sigma * math.sqrt(max(rest, 0.0)), 1e-6)
    sag = float(np.ptp(heights @ shape))
    return Bend(sag_mm=sag, chance=chance, moved_px=moved, sigma_px=sigma)


def _told_beforehand(
    state: Vector, focal: Focal, *, barrel: float
) -> tuple[NDArray[np.float64], Vector]:
    """Focal length, the optical axis's place where it is free, and distortion."""
    known = [(6, math.log(focal.px), focal.u_relative), (len(state), 0.0, barrel)]
    if len(state) > 7:
        known += [(7 + k, 0.0, focal.centre_u_px[k]) for k in (0, 1)]
    rows = np.zeros((len(known), len(state) + 1))
    wrong = np.zeros(len(known))
    now = np.append(state, 0.0)
    for row, (at, value, u) in enumerate(known):
        rows[row, at] = 1.0 / u
        wrong[row] = (value - now[at]) / u
    return rows, wrong


def _surface(places: Points, design: CardDesign) -> NDArray[np.float64]:
    """(N, 7) the parts of a surface of the second, then of the third degree, in mm at the corners.

    What a plane can do is taken out of each.
    """
    x, y = ((places - places.mean(axis=0)) / (2.0 * design.square_mm)).T
    parts = np.column_stack([x * x, x * y, y * y, x**3, x * x * y, x * y * y, y**3])
    plane = np.column_stack([np.ones(len(places)), x, y])
    flat, *_ = np.linalg.lstsq(plane, parts, rcond=None)
    return cast("NDArray[np.float64]", parts - plane @ flat)


def _projected(
    places: Points,
    state: Vector,
    centre: Vector,
    *,
    height_mm: float | Vector = 0.0,
    barrel: float = 0.0,
) -> Points:
    """(N, 2) pixels of places on the card, so high above it, through a lens so distorted."""
    raised = np.column_stack([places, np.broadcast_to(-np.asarray(height_mm), len(places))])
    camera = raised @ rotation_of(state[:3]).T + state[3:6]
    off = camera[:, :2] / camera[:, 2:] * math.exp(state[6])
    far = float(np.sum((centre + 0.5) ** 2))
    off = off * (1.0 + barrel * np.sum(off**2, axis=1) / far)[:, None]
    return cast("Points", off + axis_px(state, centre))


def _stepped(state: Vector, at: int, step: float) -> Vector:
    stepped = state.copy()
    stepped[at] += step
    return stepped


def _slope(pixels_at: Callable[[float], Points], *, step: float = 1e-4) -> Vector:
    """(2 N,) what one unit of something does to the pixels."""
    return cast("Vector", ((pixels_at(step) - pixels_at(-step)) / (2.0 * step)).ravel())
