"""A bloom measured from the side: its depth along its axis, and its width seen from there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from measure.budget import (
    COVERAGE_95,
    Cause,
    Lengths,
    budget_of,
    edge_effects,
    share_of,
)
from measure.doubts import bloom_doubts
from measure.greys import grey_places
from measure.outline.bloom import outline_bloom
from measure.placing import doubts_of, find_beside, pose_in, scale_settings
from measure.planar import area_of
from measure.pose import Pose
from measure.quality import Flag
from measure.quantity import Size
from measure.results import (
    Held,
    MarksSeen,
    Measurement,
    Optics,
    Outline,
    Picture,
    Points,
    Printing,
)
from measure.side_axis import SideAxis, axis_from, find_stem
from measure.side_body import SideBody
from measure.side_lean import u_spheroid, upright_depth

__all__ = ["measure_bloom_side", "size_bloom_side"]

# A stub of stem left on the outline is narrower than this share of the bloom's width, and longer
# than that one.
_STUB_NARROW = 0.22
_STUB_LONG = 0.10

# How wrong the bloom's back is taken to be. Of a flat bloom the green cup that the stem ends in
# shows below the petals, and may be left out or taken in: as a share of the width, less by the
# square of how much shallower than wide the bloom is. Where a stub was cut off, as a share of the
# depth. Our judgement.
_U_CUP = 0.03
_U_CUT = 0.02

# How far a bloom's width differs from that of a round body, as a share of it. Fitted to our own
# procedural blooms.
_U_WIDTH = 0.0075


def measure_bloom_side(
    picture: Picture,
    *,
    marks: MarksSeen,
    optics: Optics | None = None,
    held: Held = "level",
    printing: Printing | None = None,
) -> Measurement:
    """Measure how deep a bloom is, from a photo from the side.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    marks : MarksSeen
        From ``read_marks`` of the same picture.
    optics : Optics, optional
        What the file says of the lens.
    held : "level", "behind" or "bench"
        Level: the card stands beside the bloom, in the plane through the middle of it; behind: the
        bloom is before the card; bench: it lies on the bench beside the card, or on the card.
    printing : Printing, optional
        The ruler's reading of the card.

    Raises
    ------
    MeasureError
        When it can't be measured: the reason and what to do about it.
    """
    printing = printing or Printing()
    pose = pose_in(picture, marks, optics=optics or Optics(), printing=printing)
    find = partial(outline_bloom, net="bloom_side")
    outline = find_beside(find, picture, pose, marks, printing=printing, typical_mm=110.0)
    axis = _axis_in(picture, outline, pose)
    sized = size_bloom_side(outline, pose=pose, axis=axis, held=held, printing=printing)
    places = grey_places(picture, pose, printing=printing, keep_off=outline.points)
    return replace(sized, flags=(*sized.flags, *bloom_doubts(picture, outline, places)))


def size_bloom_side(
    outline: Outline,
    *,
    pose: Pose,
    axis: SideAxis | None = None,
    held: Held = "level",
    printing: Printing,
    lean_deg: float = 7.0,
    outline_doubt_percent: float = 6.0,
    askew_from_deg: float = 10.0,
) -> Measurement:
    """Depth and width of a bloom seen from the side whose outline is known.

    Parameters
    ----------
    outline : Outline
    pose : Pose
    axis : SideAxis, optional
        From the bloom's back to its front; None: from the outline's symmetry and the card.
    held, printing
        As for ``measure_bloom_side``.
    lean_deg : float
        How far the axis leans towards the camera or away from it, one standard uncertainty.
    outline_doubt_percent : float
        How wrong an outline of no confidence is.
    askew_from_deg : float
        Flagged when the axis is less sure than this, and the bloom not about as deep as wide.

    Raises
    ------
    MeasureError
        OUTLINE_FAILED when no bloom can look like this outline.
    """
    flat = pose.on_plane(outline.points)
    if axis is None:
        axis = axis_from(flat, stem_deg=None)
    pixels, stub = _without_stub(outline.points, flat, axis)
    body, fitted = SideBody(pose=pose, axis=axis, held=held).settled(pixels)
    lift = body.lift(fitted.diameter_mm)
    true = fitted.outline_mm
    mm_per_px = math.sqrt(area_of(true) / area_of(pixels))
    edge, bias = edge_effects(true, body.lengths, edge_sigma_mm=outline.edge_sigma_px * mm_per_px)
    lengths = {k: v - bias[k] for k, v in body.read(pixels, pose.state).items()}
    if stub > 0.0:
        # With the stub goes the cap of the bloom's back behind it, as far as it was narrow: of an
        # ellipse, cut where it is a share f of its width wide, half of 1 - sqrt(1 - f^2).
        lengths["depth_mm"] /= 0.5 + 0.5 * math.sqrt(1.0 - _STUB_NARROW**2)
    doubt = outline_doubt_percent * (1.0 - outline.confidence)
    few = pixels[:: max(1, len(pixels) // 300)]
    view_deg, u_view_deg = body.view_deg(few, height_mm=lift.value)
    sizes = _upright(
        lengths,
        [edge, share_of("outline", lengths, percent=doubt), _stem(lengths, stub_mm=stub)],
        [*body.causes(few), share_of("printing", lengths, percent=printing.u_percent)],
        in_plane_deg=axis.u_deg,
        towards_deg=math.hypot(lean_deg, u_view_deg),
        view_deg=view_deg,
    )
    ends = pose.project(_ends_of(true, axis, height_mm=lift.value))
    deep = sizes["depth_mm"].value / sizes["across_mm"].value
    askew = axis.u_deg > askew_from_deg and not 0.85 < deep < 1.18
    return Measurement(
        of="bloom-side",
        sizes=MappingProxyType(sizes),
        card=pose.reading,
        lift=lift,
        outline=replace(outline, points=pixels),
        callipers=ends,
        mm_per_px=sizes["depth_mm"].value / float(np.linalg.norm(ends[1] - ends[0])),
        flags=doubts_of(
            pose,
            outline,
            printing=printing,
            also=(Flag.AXIS_UNSURE,) if askew else (),
        ),
        settings=MappingProxyType(
            {
                "held": held,
                "axis_deg": axis.turn_deg,
                "u_axis_deg": axis.u_deg,
                "axis_seen_by": axis.seen_by,
                "stub_mm": stub,
                "lean_deg": lean_deg,
                "outline_doubt_percent": outline_doubt_percent,
                **scale_settings(pose, printing=printing),
            }
        ),
    )


def _stem(lengths: Lengths, *, stub_mm: float) -> Cause:
    """What is unsure of where the bloom ends and its stem begins."""
    depth, across = lengths["depth_mm"], lengths["across_mm"]
    cup = _U_CUP * across * max(0.0, 1.0 - depth / across) ** 2
    cut = _U_CUT * depth if stub_mm > 0.0 else 0.0
    return Cause(name="stem", effects={"depth_mm": math.hypot(cup, cut)})


def _shape(lengths: Lengths, *, towards_deg: float, view_deg: float) -> Cause:
    """What a bloom is unlike a spheroid, seen at the angle at which it usually is."""
    usual = math.radians(math.hypot(view_deg, towards_deg))
    across = lengths["across_mm"]
    return Cause(
        name="shape",
        effects={
            "depth_mm": float(u_spheroid(towards_rad=usual)) * across,
            "across_mm": _U_WIDTH * across,
        },
    )


def _upright(
    seen: Lengths,
    own: Sequence[Cause],
    both: Sequence[Cause],
    *,
    in_plane_deg: float,
    towards_deg: float,
    view_deg: float,
) -> dict[str, Size]:
    """Depth and width freed of what leans add.

    ``own`` causes change each size by itself; those in ``both`` change them together.
    """
    depth, across = seen["depth_mm"], seen["across_mm"]
    freed = upright_depth(
        depth,
        across_mm=across,
        u_seen_mm=math.hypot(*(cause.effects["depth_mm"] for cause in own)),
        in_plane_deg=in_plane_deg,
        towards_deg=towards_deg,
        view_deg=view_deg,
    )
    # Of an ellipse turned by a small angle a the width squared changes by (depth^2 - width^2) a^2;
    # the square of a normal deviate of variance v has mean v and standard deviation v times root 2.
    wider = (freed.mm**2 - across**2) / (2.0 * across) * math.radians(in_plane_deg) ** 2
    shape = _shape(seen, towards_deg=towards_deg, view_deg=view_deg)
    alone = [_passed_on(cause, depth=freed.gain) for cause in (*own, shape)]
    together = [_passed_on(c, depth=freed.gain, across=freed.gain_across) for c in both]
    read = math.hypot(*(cause.effects["depth_mm"] for cause in alone))
    lean = Cause(
        name="bloom's lean",
        effects={
            "depth_mm": math.sqrt(max(freed.u_mm**2 - read**2, 0.0)),
            "across_mm": math.sqrt(2.0) * abs(wider),
        },
    )
    sizes = budget_of(
        {"depth_mm": freed.mm, "across_mm": across - wider}, [lean, *alone, *together]
    )
    # As far to either side as lean and shape put it, and further for what stretches both sizes.
    more = COVERAGE_95 * math.hypot(*(cause.effects["depth_mm"] for cause in together))
    low, high = (math.hypot(end - freed.mm, more) for end in freed.interval95_mm)
    interval = (max(0.0, freed.mm - low), freed.mm + high)
    return {**sizes, "depth_mm": replace(sizes["depth_mm"], interval95=interval)}


def _passed_on(cause: Cause, *, depth: float, across: float = 0.0) -> Cause:
    """The cause of an error of the sizes read as one of the sizes freed of leans."""
    wide = cause.effects.get("across_mm", 0.0)
    deep = depth * cause.effects["depth_mm"] + across * wide
    return Cause(name=cause.name, effects={"depth_mm": deep, "across_mm": wide})


def _ends_of(outline_mm: Points, axis: SideAxis, *, height_mm: float) -> NDArray[np.float64]:
    """(2, 3) places of the ends of the depth, on a line along the axis through the middle."""
    middle = outline_mm.mean(axis=0)
    along = (outline_mm - middle) @ axis.along
    return np.array([[*(middle + t * axis.along), height_mm] for t in (along.min(), along.max())])


def _axis_in(picture: Picture, outline: Outline, pose: Pose) -> SideAxis:
    """The axis, from the picture."""
    flat = pose.on_plane(outline.points)
    middle = flat.mean(axis=0)
    down = pose.project(np.array([[*middle, 0.0], [middle[0], middle[1] + 10.0, 0.0]]))
    stem = find_stem(
        picture,
        outline.points,
        px_per_mm=pose.px_per_mm(at_mm=(float(middle[0]), float(middle[1]))),
        towards=down[1] - down[0],
    )
    if stem is None:
        return axis_from(flat, stem_deg=None)
    near, far = pose.on_plane(stem)
    up = near - far
    return axis_from(flat, stem_deg=math.degrees(math.atan2(up[0], -up[1])))


def _without_stub(pixels: Points, flat_mm: Points, axis: SideAxis) -> tuple[Points, float]:
    """The outline without a stub of stem at its back, and how long that was, in mm.

    From the back forwards, the outline is a stub for as long as it is narrow.
    """
    along = axis.along
    t, s = flat_mm @ along, flat_mm @ np.array([-along[1], along[0]])
    across = float(np.ptp(s))
    levels = np.linspace(t.min(), t.min() + 0.6 * np.ptp(t), 60)[1:]
    narrow = levels[0]
    for level in levels:
        behind = s[t <= level]
        if float(np.ptp(behind)) > _STUB_NARROW * across:
            break
        narrow = level
    long_mm = float(narrow - t.min())
    if long_mm < _STUB_LONG * across:
        return pixels, 0.0
    return pixels[t > narrow], long_mm
