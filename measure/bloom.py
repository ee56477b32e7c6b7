"""A bloom's face measured: picture and marks to sizes in millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from measure.budget import (
    Cause,
    Lengths,
    Method,
    bloom_lengths,
    changed_by,
    pose_causes,
    ragged_effects,
    shadow_effects,
    share_of,
    weigh,
)
from measure.card.designs import design_named
from measure.colour import colours_of
from measure.domes import BloomInputs
from measure.doubts import bloom_doubts
from measure.greys import grey_places
from measure.holding import dome_held
from measure.lift import (
    BLOOM_SHADOW_MM,
    Dome,
    FittedDome,
    check_below_lens,
    fit_dome,
    slant_percent,
)
from measure.outline.bloom import outline_bloom
from measure.own_depth import OwnDepth, dome_with_depth
from measure.placing import doubts_of, find_beside, pose_in, scale_settings
from measure.planar import area_of, widest_of
from measure.pose import Pose
from measure.quality import Flag, MeasureError, Refusal
from measure.results import (
    Form,
    Held,
    Lift,
    MarksSeen,
    Measurement,
    Optics,
    Outline,
    Picture,
    Points,
    Printing,
)
from measure.variants import ragged_sizes

__all__ = ["causes_of_dome", "fitted_dome", "measure_bloom", "size_bloom"]


def measure_bloom(
    picture: Picture,
    *,
    marks: MarksSeen,
    optics: Optics | None = None,
    form: Form | None = None,
    held: Held | None = None,
    lift_mm: float | None = None,
    depth: OwnDepth | None = None,
    printing: Printing | None = None,
) -> Measurement:
    """Measure the bloom beside or before the card.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    marks : MarksSeen
        From ``read_marks`` of the same picture.
    optics : Optics, optional
        What the file says of the lens.
    form : Form, optional
        The flower's form, which says how deep it is; unknown: wider, and flagged.
    held : "behind", "level" or "bench", optional
        How the card was held; not told: as its design is drawn, the pocket card level or behind.
    lift_mm : float, optional
        Height of the bloom's widest part above the card, where it was measured.
    depth : OwnDepth, optional
        The bloom's depth from its own side photo; the form then need not be told.
    printing : Printing, optional
        The ruler's reading of the card.

    Raises
    ------
    MeasureError
        When it can't be measured: the reason and what to do about it.
    LiftError
        When ``lift_mm`` is no bloom's height, or not clearly below the camera; ``DepthError``, one
        of its kind, when ``depth`` is no bloom's depth.
    """
    printing = printing or Printing()
    pose = pose_in(picture, marks, optics=optics or Optics(), printing=printing)
    outline = find_beside(outline_bloom, picture, pose, marks, printing=printing, typical_mm=110.0)
    sized = size_bloom(
        outline,
        pose=pose,
        form=form,
        held=held,
        lift_mm=lift_mm,
        depth=depth,
        printing=printing,
    )
    places = grey_places(picture, pose, printing=printing, keep_off=outline.points)
    return replace(
        sized,
        flags=(*sized.flags, *bloom_doubts(picture, outline, places)),
        colours=colours_of(picture, outline=outline, pose=pose, printing=printing, places=places),
    )


def size_bloom(
    outline: Outline,
    *,
    pose: Pose,
    form: Form | None = None,
    held: Held | None = None,
    lift_mm: float | None = None,
    depth: OwnDepth | None = None,
    printing: Printing,
    axis_lean_deg: float = 5.0,
    outline_doubt_percent: float = 6.0,
    method: Method | None = None,
) -> Measurement:
    """Sizes of a bloom whose outline is known, found or drawn by hand.

    ``axis_lean_deg`` is how far the bloom's axis may lean off the card's normal, one standard
    uncertainty each way; ``outline_doubt_percent`` how wrong an outline of no confidence is;
    ``method`` how the uncertainty is to be found, unless as the scene needs it.
    ``LiftError`` when ``lift_mm`` is no bloom's height, or not clearly below the camera, or
    ``depth`` no bloom's depth.
    """
    dome = dome_held(form, held, design=design_named(pose.reading.design), lift_mm=lift_mm)
    if lift_mm is not None:
        check_below_lens(pose.eye_mm, lift_mm)
    pixels = outline.points
    fitted = fitted_dome(pixels, pose, pose.state, dome)
    if depth is not None:
        dome = dome_with_depth(dome, depth, form=form, diameter_mm=fitted.diameter_mm)
        fitted = fitted_dome(pixels, pose, pose.state, dome)
    true, diameter = fitted.outline_mm, fitted.diameter_mm
    lengths = bloom_lengths(true)
    mm_per_px = math.sqrt(area_of(true) / area_of(pixels))
    edge, maximum, bias = ragged_effects(
        true,
        partial(ragged_sizes, kind="bloom"),
        edge_sigma_mm=outline.edge_sigma_px * mm_per_px,
    )
    lengths = {k: v - bias[k] for k, v in lengths.items()}
    doubt = outline_doubt_percent * (1.0 - outline.confidence)
    slant = slant_percent(dome, eye=pose.eye_mm, fitted=fitted)
    causes = [
        edge,
        maximum,
        share_of("outline", lengths, percent=doubt),
        share_of("printing", lengths, percent=printing.u_percent),
        share_of("shape", lengths, percent=dome.shape.u_shape_percent),
        share_of("depth times tilt", lengths, percent=slant),
        shadow_effects(true, kind="bloom", u_shadow_mm=BLOOM_SHADOW_MM),
    ]
    inputs = BloomInputs(pixels, pose=pose, dome=dome, fitted=fitted, axis_lean_deg=axis_lean_deg)
    try:
        weighed = weigh(lengths, causes, inputs, method=method)
    except ValueError as error:
        raise MeasureError(Refusal.OUTLINE_FAILED, f"({error}.)") from error
    widest = weighed.sizes["widest_mm"].value
    callipers = widest_of(true)
    ends = pixels[[callipers.first, callipers.second]]
    return Measurement(
        of="bloom",
        sizes=MappingProxyType(weighed.sizes),
        card=pose.reading,
        lift=Lift(
            value=dome.height_mm(diameter),
            u=math.hypot(dome.u_gap_mm, dome.u_rise * diameter),
        ),
        outline=outline,
        callipers=ends,
        mm_per_px=widest / float(np.linalg.norm(ends[1] - ends[0])),
        flags=doubts_of(
            pose,
            outline,
            printing=printing,
            main=weighed.sizes["widest_mm"],
            also=(Flag.FORM_UNKNOWN,) if form is None and depth is None else (),
        ),
        settings=MappingProxyType(
            {
                "form": form,
                "held": held,
                "lift_mm": lift_mm,
                "depth_mm": None if depth is None else depth.mm,
                "u_depth_mm": None if depth is None else depth.u_mm,
                "half_height": dome.shape.half_height,
                "rise": dome.rise,
                "gap_mm": dome.gap_mm,
                "axis_lean_deg": axis_lean_deg,
                "outline_doubt_percent": outline_doubt_percent,
                "uncertainty_by": weighed.method,
                **scale_settings(pose, printing=printing),
            }
        ),
    )


def fitted_dome(
    pixels: Points,
    pose: Pose,
    state: NDArray[np.float64],
    dome: Dome,
    *,
    start: FittedDome | None = None,
    half_height: float = 0.0,
    rise: float = 0.0,
    gap_mm: float = 0.0,
    lean: tuple[float, float] = (0.0, 0.0),
) -> FittedDome:
    """The dome that fits the outline; the options are added to what is known of it beforehand."""
    eye, directions = pose.rays(pixels, state=state)
    try:
        return fit_dome(
            eye,
            directions,
            gap_mm=dome.gap_mm + gap_mm,
            rise=dome.rise + rise,
            half_height=max(0.02, dome.shape.half_height + half_height),
            behind=dome.shape.behind,
            axis_lean=lean,
            start=start,
        )
    except ValueError as error:
        raise MeasureError(Refusal.OUTLINE_FAILED, f"({error}.)") from error


def causes_of_dome(
    pixels: Points,
    pose: Pose,
    dome: Dome,
    *,
    start: FittedDome,
    axis_lean_deg: float,
    lengths_of: Callable[[Points], Lengths] = bloom_lengths,
) -> list[Cause]:
    """What the height, the depth, the bloom's lean and the pose do to the sizes.

    ``lengths_of`` gives the sizes from the outline as seen along the card's normal.
    """
    lean = math.tan(math.radians(axis_lean_deg))

    def sizes_from(points: Points, state: NDArray[np.float64]) -> Lengths:
        return lengths_of(fitted_dome(points, pose, state, dome, start=start).outline_mm)

    def at(
        *,
        half_height: float = 0.0,
        rise: float = 0.0,
        gap_mm: float = 0.0,
        lean: tuple[float, float] = (0.0, 0.0),
    ) -> Lengths:
        fitted = fitted_dome(
            pixels,
            pose,
            pose.state,
            dome,
            start=start,
            half_height=half_height,
            rise=rise,
            gap_mm=gap_mm,
            lean=lean,
        )
        return lengths_of(fitted.outline_mm)

    return [
        changed_by("depth", lambda s: at(half_height=s * dome.shape.u_half_height)),
        changed_by("lift", lambda s: at(rise=s * dome.u_rise)),
        changed_by("lift", lambda s: at(gap_mm=s * dome.u_gap_mm)),
        changed_by("bloom's lean", lambda s: at(lean=(s * lean, 0.0))),
        changed_by("bloom's lean", lambda s: at(lean=(0.0, s * lean))),
        *pose_causes(pose, pixels, sizes_from),
    ]
