"""The light that falls on a subject, read from the card's greys and its white paper."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from measure.card.designs import GREY_STEPS, CardDesign, Rect, design_named
from measure.pose import Pose
from measure.results import Picture, Points, Printing

__all__ = ["GreyPlaces", "Light", "grey_places", "light_on", "reflectance_of_grey"]

Floats = NDArray[np.float64]

PAPER_REFLECTANCE = 0.85
"""Of matt office paper (our judgement; it sets the lightness of everything measured)."""
BLACK_REFLECTANCE = 0.035
"""Of full ink or toner on it (our judgement)."""

# A channel at or above this may have been cut off by the camera.
_CLIPPED = 250.0
_TO_STRAIGHT = np.where(
    np.arange(256) / 255.0 <= 0.04045,
    np.arange(256) / 255.0 / 12.92,
    ((np.arange(256) / 255.0 + 0.055) / 1.055) ** 2.4,
)
_NINE_BY_NINE = np.stack(np.meshgrid(*[np.linspace(0.0, 1.0, 9)] * 2), axis=-1).reshape(-1, 2)
# Keeps the logarithm of a black pixel finite: a tenth of the first step above black.
_LEAST = 3e-5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GreyPlaces:
    """Places of known grey on the card as the picture shows them, each the middle of many pixels.

    Attributes
    ----------
    places_mm : (N, 2) float array
        On the card, as printed.
    greys : (N,) float array
        Printed grey, 1 is bare paper, 0 is full ink.
    values : (N, 3) float array
        Median red, green, blue, 0 to 255.
    spread : (N,) float array
        How much the green values differ within the place (half the middle 68 %), 0 to 255.
    steps : (N,) bool array
        Those of the row of greys; the others are board and backdrop.
    """

    places_mm: Points
    greys: Floats
    values: Floats
    spread: Floats
    steps: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Light:
    """What turns a picture's values into reflectances at the subject.

    ``balanced_on`` is "greys" where the row of greys was seen whole, so that the camera's own tone
    curve is undone as well; "paper" where only the level and cast of the light are taken out.
    ``uneven`` is by what share the light changes over 100 mm of the card.
    """

    table: Floats
    balanced_on: Literal["greys", "paper"]
    uneven: float

    def reflectances(self, rgb: NDArray[np.uint8]) -> Floats:
        """(..., 3) linear sRGB reflectances, 1 that of a perfectly white surface, of (..., 3)."""
        return np.stack([self.table[c][rgb[..., c]] for c in range(3)], axis=-1)


def reflectance_of_grey(grey: Floats) -> Floats:
    """Nominal reflectance of the printed greys, by the sRGB curve between full ink and paper."""
    index = np.clip(np.round(np.asarray(grey) * 255.0), 0, 255).astype(int)
    share = _TO_STRAIGHT[index]
    return np.asarray(BLACK_REFLECTANCE + (PAPER_REFLECTANCE - BLACK_REFLECTANCE) * share)


def grey_places(
    picture: Picture,
    pose: Pose,
    *,
    printing: Printing,
    keep_off: Points | None = None,
    least_px: float = 2.0,
) -> GreyPlaces:
    """What the picture shows at the card's row of greys, board and backdrop.

    ``keep_off`` is an outline, (N, 2) pixels, inside which the card can't be seen. Places narrower
    than ``least_px`` pixels, outside the picture or covered are left out.
    """
    design = design_named(pose.reading.design)
    stretch = np.array([printing.across_mm, printing.along_mm]) / 100.0
    height, width = picture.shape[:2]
    scale = pose.px_per_mm(at_mm=(design.width_mm / 2.0, design.height_mm / 2.0))
    known = [
        place
        for place in _known(design)
        if min(place.at.width, place.at.height) * scale >= least_px
    ]
    at = np.array([(k.at.left, k.at.top, k.at.width, k.at.height) for k in known], np.float64)
    at = at.reshape(-1, 1, 4)
    grids = at[..., :2] + _NINE_BY_NINE * at[..., 2:]
    flat = np.concatenate([grids * stretch, np.zeros((*grids.shape[:2], 1))], axis=2)
    pixels = np.round(pose.project(flat.reshape(-1, 3))).astype(int).reshape(grids.shape)
    inside = np.all((pixels >= 1) & (pixels < [width - 1, height - 1]), axis=(1, 2))
    pixels = pixels[inside]
    clear: NDArray[np.bool_] = np.ones(len(pixels), bool)
    if keep_off is not None:
        clear = ~np.any(_covered(pixels, keep_off), axis=1)
    kept = np.flatnonzero(inside)[clear]
    pixels = pixels[clear]
    seen = picture[pixels[..., 1], pixels[..., 0]].astype(np.float64)
    low, high = np.percentile(seen[..., 1], [16.0, 84.0], axis=1)
    return GreyPlaces(
        places_mm=grids[kept].mean(axis=1),
        greys=np.array([known[k].grey for k in kept], np.float64),
        values=np.median(seen, axis=1),
        spread=(high - low) / 2.0,
        steps=np.array([known[k].step for k in kept], bool),
    )


def _covered(pixels: NDArray[np.intp], outline: Points, *, room_px: int = 4) -> NDArray[np.bool_]:
    """Which of the pixels (..., 2) lie inside an outline or up to ``room_px`` beside it."""
    low = np.round(outline.min(axis=0)).astype(int) - room_px
    size = np.round(outline.max(axis=0)).astype(int) + room_px + 1 - low
    mask = np.zeros(size[::-1], np.uint8)
    cv2.fillPoly(mask, [(np.round(outline) - low).astype(np.int32)], 1)
    side = 2 * room_px + 1
    mask = np.asarray(cv2.dilate(mask, np.ones((side, side), np.uint8)), np.uint8)
    there = pixels - low
    near = np.all((there >= 0) & (there < size), axis=-1)
    covered = np.zeros(near.shape, bool)
    covered[near] = mask[there[near][:, 1], there[near][:, 0]] > 0
    return covered


def light_on(places: GreyPlaces, *, at_mm: tuple[float, float]) -> Light | None:
    """The light at a place on (or beside) the card; None with too little of the card to tell.

    The card's white margins, black squares and backdrop tell how the light changes over it; what
    lies in a shadow does not count. The row of greys then gives each channel's curve.
    """
    row = _row_of_greys(places)
    # Without the row it isn't known how this printer's grey backdrop compares with its paper.
    usable = np.all(places.values < _CLIPPED, axis=1) & (
        places.greys > (0.1 if row is not None else 0.9)
    )
    if np.count_nonzero(usable & ~places.steps) < 4:
        return None
    lights = reflectance_of_grey(places.greys)
    off = (places.places_mm - np.asarray(at_mm)) / 100.0
    slope = np.zeros(2)
    curves: list[Callable[[Floats], Floats]] = [_plain_curve] * 3
    level = np.zeros(3)
    for _ in range(3):
        straight = np.column_stack([curves[c](places.values[:, c]) for c in range(3)])
        level, slope = _field(
            np.log(np.maximum(straight[usable & ~places.steps], _LEAST))
            - np.log(lights[usable & ~places.steps])[:, None],
            off[usable & ~places.steps],
        )
        if row is None:
            break
        there = np.log(lights[row]) + np.clip(off[row] @ slope, -0.5, 0.5)
        curves = [_curve(places.values[row, c], there) for c in range(3)]
    every = np.arange(256, dtype=np.float64)
    return Light(
        # The row may lie in another light than the subject: the paper nearest it has the last word.
        table=np.stack([curves[c](every) / math.exp(level[c]) for c in range(3)]),
        balanced_on="paper" if row is None else "greys",
        uneven=float(np.linalg.norm(slope)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """A rectangle of one known grey on the card; ``step`` where it is of the row of greys."""

    at: Rect
    grey: float
    step: bool = False


def _within(rect: Rect, *, share: float = 0.6) -> Rect:
    """The middle of a rectangle, clear of its edges."""
    return Rect(
        left=rect.left + (1.0 - share) / 2.0 * rect.width,
        top=rect.top + (1.0 - share) / 2.0 * rect.height,
        width=share * rect.width,
        height=share * rect.height,
    )


def _known(design: CardDesign) -> list[_Known]:
    """All that is of one known grey on the card: its row of greys, its board and its backdrop."""
    row, side = design.greys, design.square_mm
    step = row.width / len(GREY_STEPS)
    known = [
        _Known(
            at=_within(Rect(left=row.left + i * step, top=row.top, width=step, height=row.height)),
            grey=grey,
            step=True,
        )
        for i, grey in enumerate(GREY_STEPS)
    ]
    margin = (side - design.mark_mm) / 2.0
    for down in range(design.squares_y):
        for across in range(design.squares_x):
            left = design.board_left_mm + across * side
            top = design.board_top_mm + down * side
            if (down + across) % 2 == 0:
                square = Rect(left=left, top=top, width=side, height=side)
                known.append(_Known(at=_within(square), grey=0.0))
                continue
            # Above and below a mark its square is bare paper.
            for edge in (top, top + side - margin):
                strip = Rect(left=left, top=edge, width=side, height=margin)
                known.append(_Known(at=_within(strip, share=0.5), grey=1.0))
    if design.backdrop is not None:
        known += [
            _Known(at=_within(cell), grey=design.backdrop_grey) for cell in _cells(design.backdrop)
        ]
    return known


def _cells(rect: Rect, *, side_mm: float = 12.0) -> list[Rect]:
    across, down = int(rect.width // side_mm), int(rect.height // side_mm)
    return [
        Rect(
            left=rect.left + i * side_mm,
            top=rect.top + j * side_mm,
            width=side_mm,
            height=side_mm,
        )
        for i in range(across)
        for j in range(down)
    ]


def _row_of_greys(
    places: GreyPlaces,
    *,
    least: int = 4,
    steepest: float = 2.0,
    flattest: float = 0.5,
    black_off: float = 14.0,
) -> NDArray[np.intp] | None:
    """Indices of the row's usable steps, light to dark; None where the row can't be trusted.

    A shine or a shadow on part of it shows in steps that rise, or that are steeper or flatter than
    a camera's tone curve makes them, or in a black unlike that of the board's squares.
    """
    index = np.flatnonzero(places.steps & np.all(places.values < _CLIPPED, axis=1))
    index = index[np.argsort(-places.greys[index])]
    if len(index) < least:
        return None
    even = places.spread[index] < 0.15 * places.values[index, 1] + 12.0
    if np.any(np.diff(places.values[index], axis=0) > -1.0) or not even.all():
        return None
    # The two darkest say more of ink and stray light than of the curve.
    lighter = index[places.greys[index] > 0.3]
    seen = np.diff(np.log(_plain_curve(places.values[lighter, 1])))
    steepness = np.diff(np.log(reflectance_of_grey(places.greys[lighter]))) / seen
    if np.any(steepness > steepest) or np.any(steepness < flattest):
        return None
    squares = places.values[(places.greys == 0.0) & ~places.steps, 1]
    black = places.values[index[-1], 1] if places.greys[index[-1]] == 0.0 else math.nan
    if len(squares) and abs(black - np.median(squares)) > black_off:
        return None
    return index


def _field(levels: Floats, off: Points) -> tuple[Floats, Floats]:
    """Level (3,) of each channel at the origin and the slope (2,) that all share, of logarithms.

    What lies in shade is darker than the rest: the start is the upper quartile, and what falls
    below the fit drops out.
    """
    level = np.percentile(levels, 75.0, axis=0)
    slope = np.zeros(2)
    for reach in (0.5, 0.3, 0.2, 0.15, 0.15):
        misfit = (levels - level - (off @ slope)[:, None]).mean(axis=1)
        kept = np.abs(misfit) < reach
        if np.count_nonzero(kept) < 4:
            break
        some, there = levels[kept], off[kept]
        middle, middle_off = some.mean(axis=0), there.mean(axis=0)
        centred = there - middle_off
        # Held towards no change: a few places near one another say little of a slope.
        normal = centred.T @ centred + 0.02 * len(there) * np.eye(2)
        slope = np.linalg.solve(normal, centred.T @ (some - middle).mean(axis=1))
        level = middle - middle_off @ slope
    return level, slope


def _plain_curve(values: Floats) -> Floats:
    """The sRGB curve (IEC 61966-2-1) undone."""
    return np.interp(values, np.arange(256.0), _TO_STRAIGHT)


def _curve(values: Floats, log_lights: Floats) -> Callable[[Floats], Floats]:
    """A channel's curve through the row of greys, straight in logarithms beyond its ends."""
    x = np.log(np.maximum(_plain_curve(values), _LEAST))[::-1]
    y = log_lights[::-1]
    inner = PchipInterpolator(x, y)

    def curve(seen: Floats) -> Floats:
        z = np.log(np.maximum(_plain_curve(seen), _LEAST))
        held = np.clip(z, x[0], x[-1])
        return np.asarray(np.exp(inner(held) + (z - held)))

    return curve
