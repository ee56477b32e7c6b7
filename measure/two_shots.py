"""Two or more photos of one bloom, near and far, solved together: no height needs to be told."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from scipy.special import chdtri

from measure.budget import (
    Cause,
    Lengths,
    bloom_lengths,
    budget_of,
    edge_effects,
    shadow_effects,
    share_of,
)
from measure.doubts import bloom_doubts
from measure.greys import grey_places
from measure.joint_dome import (
    JointDome,
    Unknown,
    fit_joint_dome,
    harmonics_of,
)
from measure.lift import BLOOM_SHADOW_MM, DOMES, UNKNOWN_FORM, dome_of, on_level
from measure.outline.bloom import outline_bloom
from measure.outlined_shots import OutlinedShot, seen_in
from measure.placing import doubts_of, find_beside, pose_in, scale_settings
from measure.planar import widest_of
from measure.quality import Flag, MeasureError, Refusal
from measure.results import (
    Form,
    Held,
    Lift,
    MarksSeen,
    Measurement,
    Optics,
    Picture,
    Points,
    Printing,
)
from measure.shared_lens import common_focal, unknowns_of_poses

__all__ = ["OutlinedShot", "Shot", "measure_two_shots", "size_two_shots"]

# Where nothing is told of the height: from level with the card to a hand's breadth before it, as
# gap in mm and rise over the diameter, each with its standard uncertainty. Our judgement.
_ANY_HEIGHT = (5.0, 30.0, 0.20, 0.20)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shot:
    """One photo of a bloom with its card: the picture, its marks, and what its file says."""

    picture: Picture
    marks: MarksSeen
    optics: Optics


def measure_two_shots(
    shots: Sequence[Shot],
    *,
    form: Form | None = None,
    held: Held | None = None,
    printing: Printing | None = None,
) -> Measurement:
    """Measure one bloom from two or more photos at distances of at least 1 : 2.

    Bloom and card must not move against each other between the photos; the phone moves.

    Parameters
    ----------
    shots : sequence of Shot
    form : Form, optional
        The flower's form; it matters little here.
    held : Held, optional
        How the card was held, where that is to be used too; None: nothing is told of the height.
    printing : Printing, optional
        The ruler's reading of the card.

    Raises
    ------
    MeasureError
        When a photo can't be measured, the distances are too alike, the cards differ, or the bloom
        moved against the card between the photos.
    ValueError
        When there are fewer than two shots.
    """
    printing = printing or Printing()
    outlined: list[OutlinedShot] = []
    doubts: list[Flag] = []
    for shot in shots:
        pose = pose_in(shot.picture, shot.marks, optics=shot.optics, printing=printing)
        outline = find_beside(
            outline_bloom, shot.picture, pose, shot.marks, printing=printing, typical_mm=110.0
        )
        outlined.append(OutlinedShot(outline=outline, pose=pose, optics=shot.optics))
        places = grey_places(shot.picture, pose, printing=printing, keep_off=outline.points)
        doubts += bloom_doubts(shot.picture, outline, places)
    sized = size_two_shots(outlined, form=form, held=held, printing=printing)
    return replace(sized, flags=tuple(dict.fromkeys((*sized.flags, *doubts))))


def size_two_shots(
    shots: Sequence[OutlinedShot],
    *,
    form: Form | None = None,
    held: Held | None = None,
    printing: Printing,
    least_ratio: float = 2.0,
    axis_lean_deg: float = 5.0,
    outline_doubt_percent: float = 6.0,
    focus_percent: float = 0.5,
    moved_at: float = 0.001,
) -> Measurement:
    """Sizes of a bloom whose outline is known in two or more shots.

    The measurement's outline, callipers and card are those of the nearest shot.

    Parameters
    ----------
    shots : sequence of OutlinedShot
    form, held, printing
        As for ``measure_two_shots``.
    least_ratio : float
        Least ratio of the farthest to the nearest distance, camera to bloom.
    axis_lean_deg, outline_doubt_percent : float
        As for ``size_bloom``.
    focus_percent : float
        By how much the focal length differs from shot to shot, as the lens focuses nearer or
        farther, beside what is wrong with it in all (our judgement).
    moved_at : float
        The bloom is said to have moved when outlines that fit so badly come up with less than this
        probability from one that kept still.

    Raises
    ------
    MeasureError
        SHOTS_TOO_ALIKE, SHOTS_MOVED or SHOTS_CARDS_DIFFER.
    ValueError
        When there are fewer than two shots.
    """
    if len(shots) < 2:
        msg = f"two shots or more are solved together, got {len(shots)}"
        raise ValueError(msg)
    designs = sorted({shot.pose.reading.design for shot in shots})
    if len(designs) > 1:
        raise MeasureError(Refusal.SHOTS_CARDS_DIFFER, f"(They show {' and '.join(designs)}.)")
    distances = [_distance(shot) for shot in shots]
    ratio = max(distances) / min(distances)
    if ratio < least_ratio:
        raise MeasureError(
            Refusal.SHOTS_TOO_ALIKE,
            f"(They were taken from {min(distances) / 10:.0f} and {max(distances) / 10:.0f} cm.)",
        )
    near, far = int(np.argmin(distances)), int(np.argmax(distances))
    rough = 2.0 * float(harmonics_of(shots[far].on_card_mm)[0])
    height, u_gap, u_rise = _height(form, held, rough_mm=rough)
    shape = UNKNOWN_FORM if form is None else DOMES[form]
    lean = math.tan(math.radians(axis_lean_deg))
    poses, focals = common_focal(
        [(shot.pose, shot.optics) for shot in shots], focus_percent=focus_percent
    )
    unknowns = [
        _of_dome("lift", height=u_gap),
        _of_dome("lift", height=u_rise),
        _of_dome("depth", log_half_height=shape.u_half_height / shape.half_height),
        _of_dome("bloom's lean", lean=(lean, 0.0)),
        _of_dome("bloom's lean", lean=(0.0, lean)),
        *focals,
        *unknowns_of_poses(poses),
    ]
    seen = [
        seen_in(shot, pose, rough_mm=rough, doubt_percent=outline_doubt_percent)
        for shot, pose in zip(shots, poses, strict=True)
    ]
    try:
        dome = fit_joint_dome(
            seen,
            height_mm=height,
            half_height=shape.half_height,
            behind=shape.behind,
            unknowns=unknowns,
        )
    except ValueError as error:
        raise MeasureError(Refusal.SHOTS_MOVED, f"({error}.)") from error
    limit = float(chdtri(dome.freedom, moved_at))
    if dome.misfit > limit:
        raise MeasureError(Refusal.SHOTS_MOVED)
    lengths, edge = _sizes(shots, dome)
    causes = [
        edge,
        share_of("printing", lengths, percent=printing.u_percent),
        share_of("shape", lengths, percent=shape.u_shape_percent),
        shadow_effects(dome.outlines_mm[near], kind="bloom", u_shadow_mm=BLOOM_SHADOW_MM),
        *(
            share_of(name, lengths, percent=100.0 * u / dome.diameter_mm)
            for name, u in dome.components.items()
        ),
    ]
    nearest = shots[near]
    callipers = widest_of(dome.outlines_mm[near])
    ends = seen[near].pixels[[callipers.first, callipers.second]]
    also = tuple(f for shot in shots for f in doubts_of(shot.pose, shot.outline, printing=printing))
    return Measurement(
        of="bloom",
        sizes=MappingProxyType(budget_of(lengths, causes)),
        card=nearest.pose.reading,
        lift=Lift(value=dome.height_mm, u=dome.u_height_mm),
        outline=nearest.outline,
        callipers=ends,
        mm_per_px=lengths["widest_mm"] / float(np.linalg.norm(ends[1] - ends[0])),
        flags=doubts_of(
            nearest.pose,
            nearest.outline,
            printing=printing,
            also=also,
        ),
        settings=MappingProxyType(
            {
                "form": form,
                "held": held,
                "shots": float(len(shots)),
                "nearest_mm": min(distances),
                "farthest_mm": max(distances),
                "misfit": dome.misfit,
                "misfit_limit": limit,
                "half_height": dome.half_height,
                "least_ratio": least_ratio,
                "axis_lean_deg": axis_lean_deg,
                "outline_doubt_percent": outline_doubt_percent,
                "focus_percent": focus_percent,
                "moved_at": moved_at,
                **scale_settings(poses[near], printing=printing),
            }
        ),
    )


def _distance(shot: OutlinedShot) -> float:
    """From the camera to the bloom, in mm, its middle a fifth of its width above the card."""
    flat = shot.on_card_mm
    height = _ANY_HEIGHT[0] + _ANY_HEIGHT[2] * 2.0 * float(harmonics_of(flat)[0])
    middle = on_level(*shot.pose.rays(shot.outline.points), height).mean(axis=0)
    return float(np.linalg.norm(shot.pose.eye_mm - np.append(middle, height)))


def _height(form: Form | None, held: Held | None, *, rough_mm: float) -> tuple[float, float, float]:
    """Height of the widest part, and its standard uncertainties from gap and rise, in mm."""
    if held is None:
        gap, u_gap, rise, u_rise = _ANY_HEIGHT
    else:
        dome = dome_of(form, held)
        gap, u_gap, rise, u_rise = dome.gap_mm, dome.u_gap_mm, dome.rise, dome.u_rise
    return gap + rise * rough_mm, u_gap, u_rise * rough_mm


def _of_dome(
    name: str,
    *,
    height: float = 0.0,
    log_half_height: float = 0.0,
    lean: tuple[float, float] = (0.0, 0.0),
) -> Unknown:
    return Unknown(name=name, dome=np.array([height, log_half_height, *lean]), states={})


def _sizes(shots: Sequence[OutlinedShot], dome: JointDome) -> tuple[Lengths, Cause]:
    """The sizes from all shots together, brought to the diameter that they agree on.

    Each counts by how finely it shows the edge. The cause is the edge's scatter.
    """
    edges = [shot.edge_mm for shot in shots]
    counts = np.maximum(edges, 1e-6) ** -2.0
    weights = (counts / counts.sum()).tolist()
    lengths: Lengths = {}
    squares: Lengths = {}
    for outline, edge_mm, weight in zip(dome.outlines_mm, edges, weights, strict=True):
        cause, bias = edge_effects(outline, _with_mean_width, edge_sigma_mm=edge_mm)
        found = {k: v - bias[k] for k, v in _with_mean_width(outline).items()}
        stretch = dome.diameter_mm / found.pop("mean width")
        for k, value in found.items():
            power = 2 if k.endswith("cm2") else 1
            lengths[k] = lengths.get(k, 0.0) + weight * value * stretch**power
            squares[k] = squares.get(k, 0.0) + (weight * cause.effects[k]) ** 2
    return lengths, Cause(name="outline", effects={k: math.sqrt(v) for k, v in squares.items()})


def _with_mean_width(outline_mm: Points) -> Lengths:
    return {**bloom_lengths(outline_mm), "mean width": 2.0 * float(harmonics_of(outline_mm)[0])}
