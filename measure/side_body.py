"""A bloom from the side as a body: as thick towards the camera as it is wide across its axis."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from measure.budget import Cause, Lengths, changed_by, pose_causes
from measure.lift import FittedDome, fit_dome, on_level
from measure.pose import Pose
from measure.quality import MeasureError, Refusal
from measure.results import Held, Lift, Points
from measure.side_axis import SideAxis

__all__ = ["SideBody", "side_height"]

# Height of the bloom's axis above the card, apart from half the bloom's width where the card is
# behind it or under it: gap in mm and its standard uncertainty. Our judgement.
_GAPS = {"level": (0.0, 4.0), "behind": (3.0, 3.0), "bench": (0.0, 3.0)}

# How far a bloom reaches towards the camera beside half its width seen from the side, as a share of
# that, one standard uncertainty: blooms are not quite round. Our judgement.
_U_REACH = 0.12


def side_height(held: Held, *, across_mm: float) -> tuple[float, float]:
    """Height above the card of the axis of a bloom so wide from the side, and u of it, in mm."""
    gap, u_gap = _GAPS[held]
    half = 0.0 if held == "level" else across_mm / 2.0
    return gap + half, math.hypot(u_gap, _U_REACH * half)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SideBody:
    """A bloom seen from the side, its outline, and what is known of how it stands.

    ``across`` is its width over the mean width of its outline.
    """

    pose: Pose
    axis: SideAxis
    held: Held
    across: float = 1.0

    def settled(self, pixels: Points, *, rounds: int = 4) -> tuple[SideBody, FittedDome]:
        """With the width over the mean width that the outline has."""
        body = self
        for _ in range(rounds):
            fitted = body.fit(pixels, self.pose.state)
            wide = body.lengths(fitted.outline_mm)["across_mm"]
            body = replace(body, across=wide / fitted.diameter_mm)
        return body, body.fit(pixels, self.pose.state)

    def lengths(self, outline_mm: Points) -> Lengths:
        """Depth and width of an outline on the card's plane."""
        return {
            "depth_mm": float(np.ptp(outline_mm @ self.axis.along)),
            "across_mm": float(np.ptp(outline_mm @ self._aside)),
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

    def read(
        self,
        pixels: Points,
        state: NDArray[np.float64],
        *,
        gap_mm: float = 0.0,
        reach: float = 0.0,
    ) -> Lengths:
        """The bloom's width, and how deep it looks from where the camera stood.

        The width is the fitted body's. Depth over width is that of the outline on the plane through
        the bloom's middle, both as seen square to the line of sight.
        """
        across = self.lengths(self.fit(pixels, state, gap_mm=gap_mm, reach=reach).outline_mm)
        wide = across["across_mm"]
        height = _GAPS[self.held][0] + gap_mm
        if self.held != "level":
            height += (1.0 + reach) * wide / 2.0
        flat = self.lengths(on_level(*self.pose.rays(pixels, state=state), height))
        ahead, aside = self._seen_from(pixels, state, height_mm=height)
        share = flat["depth_mm"] * math.cos(ahead) / (flat["across_mm"] * math.cos(aside))
        return {"depth_mm": share * wide, "across_mm": wide}

    def view_deg(self, pixels: Points, *, height_mm: float) -> tuple[float, float]:
        """How far in front of the bloom the camera stood, from its middle, and u of that.

        The other way, how far to its side, makes no difference to a round bloom.
        """
        at = self._seen_from(pixels, self.pose.state, height_mm=height_mm)[0]
        shifted = [
            self._seen_from(pixels, self.pose.state + shift, height_mm=height_mm)[0] - at
            for _, shift in self.pose.shifts()
        ]
        return math.degrees(at), math.degrees(math.hypot(*shifted))

    def lift(self, diameter_mm: float) -> Lift:
        """Height of the axis above the card."""
        height, u = side_height(self.held, across_mm=self.across * diameter_mm)
        return Lift(value=height, u=u)

    def causes(self, pixels: Points) -> list[Cause]:
        """What the height, how far it reaches towards the camera, and the pose do to ``read``."""
        state = self.pose.state
        u_gap = _GAPS[self.held][1]
        return [
            changed_by("lift", lambda s: self.read(pixels, state, gap_mm=s * u_gap)),
            changed_by("roundness", lambda s: self.read(pixels, state, reach=s * _U_REACH)),
            *pose_causes(self.pose, pixels, self.read),
        ]

    @property
    def _aside(self) -> NDArray[np.float64]:
        along = self.axis.along
        return np.array([-along[1], along[0]])

    def _seen_from(
        self, pixels: Points, state: NDArray[np.float64], *, height_mm: float
    ) -> tuple[float, float]:
        """How far in front of the bloom the camera stood and how far to its side, in rad."""
        eye, directions = self.pose.rays(pixels, state=state)
        middle = on_level(eye, directions, height_mm).mean(axis=0)
        sight = eye - np.append(middle, height_mm)
        return (
            math.atan2(float(sight[:2] @ self.axis.along), float(sight[2])),
            math.atan2(float(sight[:2] @ self._aside), float(sight[2])),
        )
