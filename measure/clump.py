"""A lifted clump measured: picture and marks to sizes in millimetres and a count of tubers."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from measure.budget import (
    COVERAGE_95,
    Cause,
    Lengths,
    Method,
    clump_lengths,
    ragged_effects,
    shadow_effects,
    share_of,
    weigh,
)
from measure.clump_heights import clump_heights
from measure.doubts import clump_doubts
from measure.greys import grey_places
from measure.levels import ClumpInputs
from measure.lift import (
    CLUMP_END_SCATTER,
    CLUMP_OUTLINE_PERCENT,
    CLUMP_SHADOW_MM,
    check_below_lens,
    on_level,
)
from measure.outline.clump import find_clump
from measure.outline.tubers import TuberCount, count_tubers
from measure.placing import doubts_of, find_beside, pose_in, scale_settings
from measure.planar import area_of, narrowest_of, widest_of
from measure.pose import Pose
from measure.quantity import Size
from measure.results import (
    Lift,
    MarksSeen,
    Measurement,
    Optics,
    Outline,
    Picture,
    Points,
    Printing,
)
from measure.standing import ALL_HEIGHTS, off_ground, usual_rise
from measure.variants import ragged_sizes

__all__ = ["measure_clump", "size_clump"]


def measure_clump(
    picture: Picture,
    *,
    marks: MarksSeen,
    optics: Optics | None = None,
    lift_mm: float | None = None,
    printing: Printing | None = None,
) -> Measurement:
    """Measure the clump that lies beside the card.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    marks : MarksSeen
        From ``read_marks`` of the same picture.
    optics : Optics, optional
        What the file says of the lens.
    lift_mm : float, optional
        Height of the clump's outline above the card, where it is known better than by a share of
        the spread.
    printing : Printing, optional
        The ruler's reading of the card.

    Raises
    ------
    MeasureError
        When it can't be measured: the reason and what to do about it.
    LiftError
        When ``lift_mm`` is not clearly below the camera.
    """
    printing = printing or Printing()
    pose = pose_in(picture, marks, optics=optics or Optics(), printing=printing)
    found = find_beside(find_clump, picture, pose, marks, printing=printing, typical_mm=240.0)
    outline = found.outline
    places = grey_places(picture, pose, printing=printing, keep_off=outline.points)
    doubts = clump_doubts(picture, outline, places, pose=pose, printing=printing)
    x, y = pose.on_plane(outline.points.mean(axis=0)[None])[0]
    tubers = count_tubers(found, px_per_mm=pose.px_per_mm(at_mm=(float(x), float(y))))
    sized = size_clump(outline, pose=pose, tubers=tubers, lift_mm=lift_mm, printing=printing)
    return replace(sized, flags=(*sized.flags, *doubts))


def size_clump(
    outline: Outline,
    *,
    pose: Pose,
    tubers: TuberCount | None = None,
    lift_mm: float | None = None,
    u_lift_mm: float = 3.0,
    printing: Printing,
    end_scatter: float = CLUMP_END_SCATTER,
    outline_doubt_percent: float = 6.0,
    outline_least_percent: float = CLUMP_OUTLINE_PERCENT,
    method: Method | None = None,
) -> Measurement:
    """Sizes of a clump whose outline is known, found or drawn by hand.

    Unless their height was told, tubers may stand off the ground, the more the more there are: an
    end that does is seen too far out. So the intervals reach further down than up.

    ``u_lift_mm`` belongs to a ``lift_mm`` that was given, and so does ``end_scatter``: by what
    share of the spread one end of a measure lies higher or lower than told for all, one standard
    uncertainty. ``outline_least_percent`` is how wrong a clump's outline is at best, for thin ends
    are lost and soil taken in, ``outline_doubt_percent`` how much more so one of no confidence;
    ``method`` how the uncertainty is to be found, unless by Monte Carlo where no height was told.
    ``LiftError`` when that is not clearly below the camera.
    """
    pixels = outline.points
    if lift_mm is not None:
        check_below_lens(pose.eye_mm, lift_mm)
    eye, directions = pose.rays(pixels)
    share = None
    if lift_mm is None:
        share = off_ground(None if tubers is None else tubers.seen)
        true, flanks, heights = _true_outlines(eye, directions, share=share)
        u_height = ALL_HEIGHTS * widest_of(true).length
    else:
        heights, u_height = np.full(len(pixels), lift_mm), u_lift_mm
        true = flanks = on_level(eye, directions, lift_mm)
    lengths = clump_lengths(true) | {"area_cm2": area_of(flanks) / 100.0}
    mm_per_px = math.sqrt(area_of(true) / area_of(pixels))
    edge, maximum, bias = ragged_effects(
        true,
        partial(ragged_sizes, kind="clump"),
        edge_sigma_mm=outline.edge_sigma_px * mm_per_px,
    )
    lengths = {k: v - bias[k] for k, v in lengths.items()}
    callipers = widest_of(true)
    doubt = math.hypot(outline_least_percent, outline_doubt_percent * (1.0 - outline.confidence))
    causes: list[Cause] = [
        edge,
        maximum,
        share_of("outline", lengths, percent=doubt),
        share_of("printing", lengths, percent=printing.u_percent),
        shadow_effects(true, kind="clump", u_shadow_mm=CLUMP_SHADOW_MM),
    ]
    if share is None:
        scatter_mm = end_scatter * lengths["spread_mm"]
        causes.append(_uneven(pose, true, lengths, end_scatter_mm=scatter_mm))
    inputs = ClumpInputs(
        pixels,
        pose=pose,
        outline_mm=true,
        heights_mm=heights,
        u_height_mm=u_height,
        spread_mm=callipers.length,
        share=share,
    )
    drawn: Method | None = "Monte Carlo" if share is not None and method is None else method
    weighed = weigh(lengths, causes, inputs, method=drawn)
    sizes = weighed.sizes
    ends = pixels[[callipers.first, callipers.second]]
    scale = sizes["spread_mm"].value / float(np.linalg.norm(ends[1] - ends[0]))
    if tubers is not None:
        sizes |= _counted(tubers, sizes["spread_mm"], mm_per_px=mm_per_px)
    return Measurement(
        of="clump",
        sizes=MappingProxyType(sizes),
        card=pose.reading,
        lift=Lift(value=float(heights[[callipers.first, callipers.second]].mean()), u=u_height),
        outline=outline,
        callipers=ends,
        mm_per_px=scale,
        flags=doubts_of(pose, outline, printing=printing, main=weighed.sizes["spread_mm"]),
        settings=MappingProxyType(
            {
                "lift_mm": lift_mm,
                "off_ground": share,
                "end_scatter": None if share is not None else end_scatter,
                "outline_doubt_percent": outline_doubt_percent,
                "uncertainty_by": weighed.method,
                **scale_settings(pose, printing=printing),
            }
        ),
    )


def _true_outlines(
    eye: NDArray[np.float64], directions: NDArray[np.float64], *, share: float
) -> tuple[Points, Points, NDArray[np.float64]]:
    """The outline with every point at its own height: by its ends, by its flanks; heights of ends.

    Heights are shares of the spread, which they change in turn. Ends lie as high as is usual where
    ``share`` of them stand off the ground.
    """
    flat = on_level(eye, directions, 0.0)
    shares = clump_heights(flat, eye_mm=eye)
    ends = shares.ends + usual_rise(share)
    true, spread = flat, widest_of(flat).length
    # Each round leaves a tenth of what the last left.
    for _ in range(4):
        true = on_level(eye, directions, ends * spread)
        spread = widest_of(true).length
    return true, on_level(eye, directions, shares.flanks * spread), ends * spread


def _uneven(pose: Pose, outline: Points, lengths: Lengths, *, end_scatter_mm: float) -> Cause:
    """What it does that the ends of a measure lie higher or lower than the plane taken for all.

    An end that rises by h is seen further out along the measure by h times the tangent at which
    the camera looks onto it in that direction. An area follows its two measures.
    """
    eye = pose.eye_mm
    effects = {}
    for name, callipers in (
        ("spread_mm", widest_of(outline)),
        ("width_mm", narrowest_of(outline)),
    ):
        ends = outline[[callipers.first, callipers.second]]
        tangents = (ends - eye[:2]) @ callipers.along / eye[2]
        effects[name] = end_scatter_mm * float(np.linalg.norm(tangents))
    shares = [effect / lengths[name] for name, effect in effects.items()]
    effects["area_cm2"] = lengths["area_cm2"] * math.hypot(*shares)
    return Cause(name="depth times tilt", effects=effects)


def _counted(tubers: TuberCount, spread: Size, *, mm_per_px: float) -> dict[str, Size]:
    """Tuber count and longest tuber as sizes; what stretches the spread stretches the tuber."""
    made = {
        "tubers": Size(
            value=float(tubers.seen),
            u=tubers.u,
            interval95=(float(tubers.interval95[0]), float(tubers.interval95[1])),
            components={"hidden or merged": tubers.u},
        ),
        "tubers_with_hidden": Size(
            value=tubers.seen + tubers.hidden,
            u=math.hypot(tubers.u, tubers.u_hidden),
            interval95=(float(tubers.all95[0]), float(tubers.all95[1])),
            components={"hidden or merged": tubers.u, "hidden beneath others": tubers.u_hidden},
        ),
    }
    if math.isfinite(tubers.longest_px) and tubers.longest_px > 0:
        value = tubers.longest_px * mm_per_px
        shares = {k: v / spread.value * value for k, v in spread.components.items()}
        shares["outline"] = math.hypot(shares["outline"], tubers.longest_u_px * mm_per_px)
        u = math.sqrt(math.fsum(v * v for v in shares.values()))
        made["longest_tuber_mm"] = Size(
            value=value,
            u=u,
            interval95=(max(0.0, value - COVERAGE_95 * u), value + COVERAGE_95 * u),
            components=shares,
        )
    return made
