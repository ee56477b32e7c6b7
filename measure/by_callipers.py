"""A single measure by hand: two calliper ends that a grower set on a photo with a card."""

from __future__ import annotations

import math
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from measure.bloom import causes_of_dome, fitted_dome
from measure.budget import Cause, Lengths, budget_of, changed_by, pose_causes, share_of, weigh
from measure.by_hand import ByHandError, ByHandOf, placed_px
from measure.card.designs import design_named
from measure.holding import dome_held
from measure.levels import EndsInputs
from measure.lift import CLUMP_END_SCATTER, CLUMP_LIFT, check_below_lens, on_level
from measure.own_depth import OwnDepth, dome_with_depth
from measure.placing import doubts_of, scale_settings
from measure.pose import Pose
from measure.quality import Flag
from measure.results import Form, Held, Lift, Measurement, Outline, Points, Printing
from measure.side_body import side_height
from measure.standing import off_ground

__all__ = ["size_by_hand_callipers"]

_SIZE_OF = {"bloom": "widest_mm", "bloom-side": "depth_mm", "clump": "spread_mm"}

# How far off the two places chosen are from being the right ones, in per cent of the measure, one
# standard uncertainty: the widest is found by eye, and of a bloom from the side the axis too. Our
# judgement.
_CHOOSING_PERCENT = {"bloom": 0.7, "bloom-side": 3.0, "clump": 1.0}

# A bloom from the side whose depth alone is known is so many times as wide as deep, and u of it:
# from balls to open decoratives. Our judgement.
_WIDER_THAN_DEEP = (1.7, 0.4)


def size_by_hand_callipers(
    ends: Points,
    *,
    of: ByHandOf,
    pose: Pose,
    form: Form | None = None,
    held: Held | None = None,
    lift_mm: float | None = None,
    depth: OwnDepth | None = None,
    printing: Printing,
    placed_sigma_px: float | None = None,
    axis_lean_deg: float = 5.0,
) -> Measurement:
    """The one size between two calliper ends: of a bloom its widest, from the side its depth, of a
    clump its spread.

    Parameters
    ----------
    ends : (2, 2) float array
        In pixels.
    of : "bloom", "bloom-side" or "clump"
    pose : Pose
        Of the photo's card.
    form, held, lift_mm, depth, printing
        As for ``measure_bloom``; ``held`` of a bloom from the side is level unless told.
    placed_sigma_px : float, optional
        How well one end was placed, one standard uncertainty; None: as with a mouse on the whole
        picture.
    axis_lean_deg : float
        As for ``size_bloom``.

    Raises
    ------
    ByHandError
        When the ends are no two places apart.
    LiftError, MeasureError
        As for ``measure_bloom``.
    """
    ends = np.asarray(ends, dtype=np.float64)
    if ends.shape != (2, 2) or not np.isfinite(ends).all() or np.ptp(ends, axis=0).max() < 2.0:
        reason = "Callipers have two ends, apart from each other."
        raise ByHandError(reason, "Set one on each side of what is to be measured.")
    sigma = placed_px(pose) if placed_sigma_px is None else placed_sigma_px
    name = _SIZE_OF[of]
    inputs: EndsInputs | None = None
    if of == "bloom":
        length, lift, causes = _bloom(
            ends,
            pose,
            form=form,
            held=held,
            lift_mm=lift_mm,
            depth=depth,
            axis_lean_deg=axis_lean_deg,
        )
    elif of == "clump":
        length, lift, causes, inputs = _clump(ends, pose, lift_mm=lift_mm)
    else:
        length, lift, causes = _side(ends, pose, held=held or "level")
    sizes = {name: length}
    mm_per_px = length / float(np.linalg.norm(ends[1] - ends[0]))
    outline = Outline(points=ends, confidence=1.0, edge_sigma_px=sigma)
    causes = [
        *causes,
        share_of("printing", sizes, percent=printing.u_percent),
        share_of("choosing", sizes, percent=_CHOOSING_PERCENT[of]),
        Cause(name="placing", effects={name: math.sqrt(2.0) * sigma * mm_per_px}),
    ]
    if inputs is None:
        made = budget_of(sizes, causes)
    else:
        made = weigh(sizes, causes, inputs, method="Monte Carlo").sizes
    unknown = of == "bloom" and form is None and depth is None
    return Measurement(
        of=of,
        sizes=MappingProxyType(made),
        card=pose.reading,
        lift=lift,
        outline=outline,
        callipers=ends,
        mm_per_px=mm_per_px,
        flags=doubts_of(
            pose, outline, printing=printing, also=(Flag.FORM_UNKNOWN,) if unknown else ()
        ),
        settings=MappingProxyType(
            {
                "by_hand": "callipers",
                "form": form,
                "held": held,
                "lift_mm": lift_mm,
                "depth_mm": None if depth is None else depth.mm,
                "placed_sigma_px": sigma,
                "axis_lean_deg": axis_lean_deg,
                **scale_settings(pose, printing=printing),
            }
        ),
    )


def _apart(ends_mm: Points, name: str) -> Lengths:
    return {name: float(np.linalg.norm(ends_mm[1] - ends_mm[0]))}


def _bloom(
    ends: Points,
    pose: Pose,
    *,
    form: Form | None,
    held: Held | None,
    lift_mm: float | None,
    depth: OwnDepth | None,
    axis_lean_deg: float,
) -> tuple[float, Lift, list[Cause]]:
    """The widest measure between where the two rays touch the dome."""
    dome = dome_held(form, held, design=design_named(pose.reading.design), lift_mm=lift_mm)
    if lift_mm is not None:
        check_below_lens(pose.eye_mm, lift_mm)
    fitted = fitted_dome(ends, pose, pose.state, dome)
    if depth is not None:
        dome = dome_with_depth(dome, depth, form=form, diameter_mm=fitted.diameter_mm)
        fitted = fitted_dome(ends, pose, pose.state, dome)
    causes = causes_of_dome(
        ends,
        pose,
        dome,
        start=fitted,
        axis_lean_deg=axis_lean_deg,
        lengths_of=lambda places: _apart(places, "widest_mm"),
    )
    length = fitted.diameter_mm
    lift = Lift(value=dome.height_mm(length), u=math.hypot(dome.u_gap_mm, dome.u_rise * length))
    shape = share_of("shape", {"widest_mm": length}, percent=dome.shape.u_shape_percent)
    return length, lift, [*causes, shape]


def _clump(
    ends: Points, pose: Pose, *, lift_mm: float | None, u_lift_mm: float = 3.0
) -> tuple[float, Lift, list[Cause], EndsInputs | None]:
    """The spread between the two ends, both as high above the card as told or as is usual."""
    if lift_mm is None:
        share, u_share = CLUMP_LIFT
        inputs = EndsInputs(ends, pose=pose, height=share, u_height=u_share, share=off_ground(None))
        length = float(inputs.sizes(np.zeros((1, len(inputs.names))))["spread_mm"][0])
        return length, Lift(value=share * length, u=u_share * length), [], inputs
    check_below_lens(pose.eye_mm, lift_mm)

    def places(pixels: Points, state: NDArray[np.float64], *, off_mm: float = 0.0) -> Points:
        eye, directions = pose.rays(pixels, state=state)
        return on_level(eye, directions, lift_mm + off_mm)

    def spread(at: Points) -> Lengths:
        return _apart(at, "spread_mm")

    at = places(ends, pose.state)
    length = spread(at)["spread_mm"]
    along = (at[1] - at[0]) / length
    # An end that is higher by h is seen further out by h times the tangent of the sight.
    tangents = (at - pose.eye_mm[:2]) @ along / pose.eye_mm[2]
    uneven = CLUMP_END_SCATTER * length * float(np.linalg.norm(tangents))
    causes = [
        Cause(name="depth times tilt", effects={"spread_mm": uneven}),
        changed_by("lift", lambda s: spread(places(ends, pose.state, off_mm=s * u_lift_mm))),
        *pose_causes(pose, ends, lambda pixels, state: spread(places(pixels, state))),
    ]
    return length, Lift(value=lift_mm, u=u_lift_mm), causes, None


def _side(ends: Points, pose: Pose, *, held: Held) -> tuple[float, Lift, list[Cause]]:
    """The depth between the two ends, both on the bloom's axis."""
    wider, u_wider = _WIDER_THAN_DEEP

    def depth(
        pixels: Points, state: NDArray[np.float64], *, off_mm: float = 0.0, wide: float = wider
    ) -> Lengths:
        eye, directions = pose.rays(pixels, state=state)
        at = on_level(eye, directions, 0.0)
        for _ in range(12):
            across = wide * float(np.linalg.norm(at[1] - at[0]))
            at = on_level(eye, directions, side_height(held, across_mm=across)[0] + off_mm)
        return _apart(at, "depth_mm")

    length = depth(ends, pose.state)["depth_mm"]
    height, u_height = side_height(held, across_mm=wider * length)
    causes = [
        changed_by("lift", lambda s: depth(ends, pose.state, off_mm=s * u_height)),
        changed_by("roundness", lambda s: depth(ends, pose.state, wide=wider + s * u_wider)),
        *pose_causes(pose, ends, depth),
    ]
    return length, Lift(value=height, u=u_height), causes
