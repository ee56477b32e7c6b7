"""A bloom measured from the side: its depth along its axis, and its width seen from there."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from measure.budget import (
    Cause,
    Lengths,
    budget_of,
    changed_by,
    edge_effects,
    pose_causes,
    share_of,
)
from measure.lift import FittedDome, fit_dome
from measure.outline.bloom import outline_bloom
from measure.placing import doubts_of, find_beside, pose_in, scale_settings
from measure.planar import area_of
from measure.pose import Pose
from measure.quality import Flag, MeasureError, Refusal
from measure.results import (
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
from measure.side_axis import SideAxis, axis_from, find_stem

__all__ = ["measure_bloom_side", "side_height", "size_bloom_side"]

# Height of the bloom's axis above the card, apart from half the bloom's width where the card is
# behind it or under it: gap in mm and its standard uncertainty. Our judgement.
_GAPS = {"level": (0.0, 4.0), "behind": (3.0, 3.0), "bench": (0.0, 3.0)}

# How far a bloom reaches towards the camera beside half its width seen from the side, as a share of
# that, one standard uncertainty: blooms are not quite round. Our judgement.
_U_REACH = 0.12

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

# What an axis that leans towards the camera or away from it by 7 degrees, one standard uncertainty,
# does to the depth, as shares of the width: u for a bloom of no depth, less by the power 1.5 of how
# much shallower than wide it is; and what flat ones gain on average, since their rim always shows.
# And what is left of single blooms that do not lean. Fitted to our own procedural blooms.
_LEANING_DEG = 7.0
_U_SHALLOW = 0.085
_FLAT_GAINS = 0.33
_FLAT_FROM = 0.65
_U_SHAPE = 0.013


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
    outline = find_beside(outline_bloom, picture, pose, marks, printing=printing, typical_mm=110.0)
    axis = _axis_in(picture, outline, pose)
    return size_bloom_side(outline, pose=pose, axis=axis, held=held, printing=printing)


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
    body, fitted = _Body(pose=pose, axis=axis, held=held).settled(pixels)
    lift = body.lift(fitted.diameter_mm)
    true = fitted.outline_mm
    lengths = body.lengths(true)
    mm_per_px = math.sqrt(area_of(true) / area_of(pixels))
    edge, bias = edge_effects(true, body.lengths, edge_sigma_mm=outline.edge_sigma_px * mm_per_px)
    lengths = {k: v - bias[k] for k, v in lengths.items()}
    lengths, lean = _leaning(lengths, in_plane_deg=axis.u_deg, towards_deg=lean_deg)
    doubt = outline_doubt_percent * (1.0 - outline.confidence)
    few = pixels[:: max(1, len(pixels) // 300)]
    causes = [
        edge,
        *lean,
        share_of("outline", lengths, percent=doubt),
        share_of("printing", lengths, percent=printing.u_percent),
        _stem(lengths, stub_mm=stub),
        *body.causes(few),
    ]
    ends = pose.project(_ends_of(true, axis, height_mm=lift.value))
    deep = lengths["depth_mm"] / lengths["across_mm"]
    askew = axis.u_deg > askew_from_deg and not 0.85 < deep < 1.18
    return Measurement(
        of="bloom-side",
        sizes=MappingProxyType(budget_of(lengths, causes)),
        card=pose.reading,
        lift=lift,
        outline=replace(outline, points=pixels),
        callipers=ends,
        mm_per_px=lengths["depth_mm"] / float(np.linalg.norm(ends[1] - ends[0])),
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


def _ends_of(outline_mm: Points, axis: SideAxis, *, height_mm: float) -> NDArray[np.float64]:
    """(2, 3) places of the ends of the depth, on a line along the axis through the middle."""
    middle = outline_mm.mean(axis=0)
    along = (outline_mm - middle) @ axis.along
    return np.array([[*(middle + t * axis.along), height_mm] for t in (along.min(), along.max())])


def side_height(held: Held, *, across_mm: float) -> tuple[float, float]:
    """Height above the card of the axis of a bloom so wide from the side, and u of it, in mm."""
    gap, u_gap = _GAPS[held]
    half = 0.0 if held == "level" else across_mm / 2.0
    return gap + half, math.hypot(u_gap, _U_REACH * half)


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Body:
    """A bloom from the side: a body as thick towards the camera as it is wide across its axis.

    ``across`` is that width over the mean width of its outline.
    """

    pose: Pose
    axis: SideAxis
    held: Held
    across: float = 1.0

    def settled(self, pixels: Points, *, rounds: int = 4) -> tuple[_Body, FittedDome]:
        """With the width over the mean width that the outline has."""
        body = self
        for _ in range(rounds):
            fitted = body.fit(pixels, self.pose.state)
            wide = body.lengths(fitted.outline_mm)["across_mm"]
            body = replace(body, across=wide / fitted.diameter_mm)
        return body, body.fit(pixels, self.pose.state)

    def lengths(self, outline_mm: Points) -> Lengths:
        """Depth and width of an outline as seen along the card's normal."""
        along = self.axis.along
        return {
            "depth_mm": float(np.ptp(outline_mm @ along)),
            "across_mm": float(np.ptp(outline_mm @ np.array([-along[1], along[0]]))),
        }

    def fit(
        self, pixels: Points, state: NDArray[np.float64], *, gap_mm: float = 0.0, reach: float = 0.0
    ) -> FittedDome:
        """The body whose outline this is; the options add to what is known beforehand."""
        eye, directions = self.pose.rays(pixels, state=state)
        half = (1.0 + reach) * self.across / 2.0
        try:
            return fit_dome(
                eye,
                directions,
                gap_mm=_GAPS[self.held][0] + gap_mm,
                rise=0.0 if self.held == "level" else half,
                half_height=half,
            )
        except ValueError as error:
            raise MeasureError(Refusal.OUTLINE_FAILED, f"({error}.)") from error

    def lift(self, diameter_mm: float) -> Lift:
        """Height of the axis above the card."""
        height, u = side_height(self.held, across_mm=self.across * diameter_mm)
        return Lift(value=height, u=u)

    def causes(self, pixels: Points) -> list[Cause]:
        """What the height, how far it reaches towards the camera, and the pose do."""

        def at(*, gap_mm: float = 0.0, reach: float = 0.0) -> Lengths:
            fitted = self.fit(pixels, self.pose.state, gap_mm=gap_mm, reach=reach)
            return self.lengths(fitted.outline_mm)

        return [
            changed_by("lift", lambda s: at(gap_mm=s * _GAPS[self.held][1])),
            changed_by("roundness", lambda s: at(reach=s * _U_REACH)),
            *pose_causes(
                self.pose, pixels, lambda p, state: self.lengths(self.fit(p, state).outline_mm)
            ),
        ]


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


def _leaning(
    lengths: Lengths, *, in_plane_deg: float, towards_deg: float
) -> tuple[Lengths, list[Cause]]:
    """The sizes with what a leaning axis adds on average taken off, and what is unsure of it.

    In the card's plane as of an ellipse: depth^2 seen = depth^2 + (across^2 - depth^2) sin^2 of the
    lean, and across it the other way round: a lean adds whichever way it goes, so that it is a
    bias too. Towards the camera or away from it the rim shows above the front or below the back,
    more of it the shallower the bloom.
    """
    plane = math.radians(in_plane_deg)
    depth, across = lengths["depth_mm"], lengths["across_mm"]
    deeper = (across**2 - depth**2) / (2.0 * depth)
    wider = (depth**2 - across**2) / (2.0 * across)
    leans = towards_deg / _LEANING_DEG
    shallow = max(0.0, 1.0 - depth / across)
    rim = across * leans * _FLAT_GAINS * max(0.0, shallow - _FLAT_FROM)
    # A square of a normal deviate of variance v has mean v and standard deviation v times root 2.
    scatter = math.hypot(
        math.sqrt(2.0) * deeper * plane**2, across * leans * _U_SHALLOW * shallow**1.5
    )
    return (
        {
            "depth_mm": max(depth - deeper * plane**2 - rim, 0.2 * depth),
            "across_mm": across - wider * plane**2,
        },
        [
            Cause(
                name="bloom's lean",
                effects={
                    "depth_mm": scatter,
                    "across_mm": abs(wider) * math.sqrt(2.0) * plane**2,
                },
            ),
            Cause(
                name="shape",
                effects={"depth_mm": _U_SHAPE * across, "across_mm": _U_SHAPE * across / 2},
            ),
        ],
    )
