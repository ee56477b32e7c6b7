"""How far an outline is to be trusted, and what is said about it."""

from __future__ import annotations

from measure.outline.edge import Edge
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Outline, Points

__all__ = ["outline_of"]


def outline_of(
    edge: Edge,
    points: Points,
    *,
    confidence: float,
    touching_px: float,
    others: int,
    unsure_below: float,
    refused_below: float = 0.25,
) -> Outline:
    """The outline with its flags; ``MeasureError`` OUTLINE_FAILED where it can't be trusted at all.

    Parameters
    ----------
    edge : Edge
        The refined edge; ``points`` are its points inside the picture, (N, 2), (x, y) pixels.
    confidence : float
        From 0 to 1; under ``unsure_below`` it is flagged, under ``refused_below`` refused.
    touching_px : float
        How much of the outline runs along the picture's edge.
    others : int
        Further subjects of the same kind in view.
    """
    if confidence < refused_below:
        raise MeasureError(Refusal.OUTLINE_FAILED)
    flags = []
    if confidence < unsure_below:
        flags.append(Flag.OUTLINE_UNSURE)
    if touching_px > 0:
        flags.append(Flag.TOUCHES_EDGE)
    if others:
        flags.append(Flag.OTHERS_IN_VIEW)
    return Outline(
        points=points,
        confidence=confidence,
        edge_sigma_px=edge.sigma_px,
        flags=tuple(flags),
        others=others,
    )
