"""The picture with card, outline and callipers drawn in, for the grower to judge the outline by."""

from __future__ import annotations

import math

import cv2
import numpy as np

from measure.card.board import plane_of_card
from measure.card.designs import design_named
from measure.results import MarksSeen, Measurement, Picture, Points

__all__ = ["draw_overlay"]

_OUTLINE = (255, 60, 200)
_CALLIPERS = (255, 255, 255)
_CARD = (60, 200, 255)
_DARK = (20, 20, 20)
_SHIFT = 4

# The size that is written below each kind of subject.
_LABELLED = {
    "bloom": "widest_mm",
    "bloom-side": "depth_mm",
    "clump": "spread_mm",
}


def draw_overlay(
    picture: Picture, measurement: Measurement, *, marks: MarksSeen, longest_px: int = 1600
) -> Picture:
    """The picture, no larger than ``longest_px``, with what was measured drawn in.

    The outline in pink, or that of each seed counted; the measure between the callipers as a white
    line with end marks; its size, or the count; the card's edge in blue. All with dark rims, so
    that they show on any ground.
    """
    height, width = picture.shape[:2]
    scale = min(1.0, longest_px / max(height, width))
    drawn = picture.copy()
    if scale < 1.0:
        size = (max(1, round(width * scale)), max(1, round(height * scale)))
        drawn = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)
    pen = max(1, round(max(drawn.shape[:2]) / 500))
    for card in marks.cards:
        plane = plane_of_card(card)
        if plane is not None:
            design = design_named(card.design)
            w, h = design.width_mm, design.height_mm
            corners = np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]).reshape(-1, 1, 2)
            quad = np.asarray(cv2.perspectiveTransform(corners, plane), np.float64).reshape(-1, 2)
            _line(drawn, _scaled(quad, scale), _CARD, pen=pen, closed=True)
    thin = max(1, pen // 2) if measurement.parts else pen
    for part in measurement.parts or (measurement.outline.points,):
        _line(drawn, _scaled(part, scale), _OUTLINE, pen=thin, closed=True)
    first, second = _scaled(measurement.callipers, scale)
    _line(drawn, np.array([first, second]), _CALLIPERS, pen=pen)
    along = (second - first) / max(float(np.linalg.norm(second - first)), 1e-9)
    jaw = np.array([-along[1], along[0]]) * 9.0 * pen
    for end in (first, second):
        _line(drawn, np.array([end - jaw, end + jaw]), _CALLIPERS, pen=pen)
    around = _scaled(measurement.outline.points, scale)
    _write(drawn, _label(measurement), around=around, pen=pen)
    return drawn


def _label(measurement: Measurement) -> str:
    if measurement.of == "seeds":
        low, high = (round(end) for end in measurement.sizes["seeds"].interval95)
        span = f" ({low} to {high})" if high > low else ""
        return f"{measurement.sizes['seeds'].value:.0f} seeds{span}"
    size = measurement.sizes[_LABELLED[measurement.of]]
    if math.isnan(size.u):
        return f"{size.value:.0f} mm"
    return f"{size.value:.0f} mm ± {max(1.0, round(1.96 * size.u)):.0f}"


def _scaled(points: Points, scale: float) -> Points:
    moved: Points = (points + 0.5) * scale - 0.5
    return moved


def _line(
    picture: Picture,
    points: Points,
    colour: tuple[int, int, int],
    *,
    pen: int,
    closed: bool = False,
) -> None:
    """A line with a dark rim, placed to a sixteenth of a pixel."""
    fine = np.round(points * 2**_SHIFT).astype(np.int32).reshape(-1, 1, 2)
    for ink, thickness in ((_DARK, pen + 2), (colour, pen)):
        cv2.polylines(picture, [fine], closed, ink, thickness, cv2.LINE_AA, _SHIFT)


def _write(picture: Picture, text: str, *, around: Points, pen: int) -> None:
    """The text on a dark plate below the outline, or above it where there is no room below."""
    height, width = picture.shape[:2]
    font = cv2.FONT_HERSHEY_SIMPLEX
    size = max(0.4, max(height, width) / 700.0)
    thick = max(1, pen)
    (wide, tall), below = cv2.getTextSize(text, font, size, thick)
    if wide > width - 4:
        size *= (width - 4) / wide
        (wide, tall), below = cv2.getTextSize(text, font, size, thick)
    pad = max(2, tall // 3)
    plate = tall + below + 2 * pad
    low, high = around.min(axis=0), around.max(axis=0)
    top = high[1] + 6 * pen if high[1] + 6 * pen + plate < height else low[1] - 6 * pen - plate
    top = int(np.clip(top, 0, max(0, height - plate)))
    middle = (low[0] + high[0] - wide) / 2.0
    left = int(np.clip(middle, pad, max(pad, width - wide - pad)))
    base = top + pad + tall
    cv2.rectangle(picture, (left - pad, top), (left + wide + pad, top + plate), _DARK, -1)
    cv2.putText(picture, text, (left, base), font, size, _CALLIPERS, thick, cv2.LINE_AA)
