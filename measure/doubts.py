"""What a picture makes doubtful beside pose and outline: its light, and what lies on the card."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.designs import design_named
from measure.greys import GreyPlaces
from measure.lighting import cut_off_inside, glare_on, paper_level, shadow_edge, shadow_on
from measure.planar import area_of
from measure.pose import Pose
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Outline, Picture, Points, Printing

__all__ = ["bloom_doubts", "clump_doubts", "lying_on_card_cm2"]

# The clip and the string of a pegged tag reach this far beyond the tag's place, in mm.
_ROUND_TAG_MM = 14.0
# Light of each grey value, by the usual curve of a camera.
_LIGHTS = (np.arange(256) / 255.0) ** 2.2


def bloom_doubts(
    picture: Picture,
    outline: Outline,
    places: GreyPlaces,
    *,
    shadow_from: float = 0.8,
    dark_below: float = 105.0,
    bright_from_share: float = 0.5,
) -> tuple[Flag, ...]:
    """Flags of a bloom's light.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    outline : Outline
    places : GreyPlaces
        Of the same picture's card.
    shadow_from : float
        Step of light across the bloom, as a logarithm: 0.8 is less than half the light beyond a
        line. 12 sample photographs and 30 real ones without such a shadow have 0.08 to 0.77.
    dark_below : float
        Level of the card's paper under which outlines get unsure: at 92 a drawn bloom's was, at 128
        it was not, and at 60 none was found.
    bright_from_share : float
        Share of the bloom that is cut off as too bright: sizes stay right, colours do not.
    """
    flags = [
        *_shine(places),
        *_dark(places, dark_below=dark_below),
    ]
    if shadow_edge(picture, outline.points) > shadow_from:
        flags.append(Flag.SHADOW_EDGE)
    if cut_off_inside(picture, outline.points) > bright_from_share:
        flags.append(Flag.TOO_BRIGHT)
    return tuple(flags)


def clump_doubts(
    picture: Picture,
    outline: Outline,
    places: GreyPlaces,
    *,
    pose: Pose,
    printing: Printing,
    shadow_from: float = 0.45,
    dark_below: float = 75.0,
    covered_from_cm2: float = 1.5,
    lies_on_from_share: float = 0.06,
) -> tuple[Flag, ...]:
    """Flags of a clump's light and of what lies on the card beside it.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    outline : Outline
    places : GreyPlaces
        Of the same picture's card.
    pose, printing : Pose, Printing
    shadow_from : float
        Step of light on the card's paper, as a logarithm. A clump's own gaps hide a step on itself;
        drawn shadows left its size as it was.
    dark_below : float
        Level of the card's paper under which the clump is no longer told from its ground.
    covered_from_cm2 : float
        So much of the card covered is flagged.
    lies_on_from_share : float
        So much of it, as a share of the clump, is refused: what lies on the card is left out of the
        outline, and drawn clumps with 0.1 of them on it read 6 % small, with 0.4 half their size.

    Raises
    ------
    MeasureError
        SUBJECT_ON_CARD.
    """
    covered = lying_on_card_cm2(picture, pose, printing=printing)
    middle = outline.points.mean(axis=0)
    x, y = pose.on_plane(middle[None])[0]
    clump_cm2 = area_of(outline.points) / pose.px_per_mm(at_mm=(float(x), float(y))) ** 2 / 100.0
    if covered > lies_on_from_share * clump_cm2:
        raise MeasureError(Refusal.SUBJECT_ON_CARD)
    flags = [*_shine(places), *_dark(places, dark_below=dark_below)]
    if shadow_on(places) > shadow_from:
        flags.append(Flag.SHADOW_EDGE)
    if covered > covered_from_cm2:
        flags.append(Flag.CARD_COVERED)
    return tuple(flags)


def lying_on_card_cm2(
    picture: Picture,
    pose: Pose,
    *,
    printing: Printing,
    coloured_from: float = 0.35,
) -> float:
    """How much of the card, the tag's place left out, shows a colour that is not printed on it.

    The card is seen as if from straight above, a pixel a millimetre. ``coloured_from`` is by what
    share of its light a pixel's three channels differ once the paper's cast is taken out.
    """
    design = design_named(pose.reading.design)
    stretch = np.array([printing.across_mm, printing.along_mm, 100.0]) / 100.0
    width, height = math.floor(design.width_mm), math.floor(design.height_mm)
    rim = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    seen = pose.project(np.column_stack([rim, np.zeros(4)]) * stretch)
    to = cv2.getPerspectiveTransform(seen.astype(np.float32), (rim - 0.5).astype(np.float32))
    scale = pose.px_per_mm(at_mm=(width / 2.0, height / 2.0))
    flat, shift = _part_blurred(
        picture, seen, side=max(1, round(scale)), to=np.asarray(to, np.float64)
    )
    card = cv2.warpPerspective(flat, shift, (width, height), flags=cv2.INTER_LINEAR)
    there = cv2.warpPerspective(np.ones(flat.shape[:2], np.uint8), shift, (width, height))
    light = _LIGHTS[np.asarray(card, np.uint8)]
    total = light.sum(axis=2)
    inside = np.asarray(there) > 0
    if not inside.any():
        return 0.0
    paper = inside & (total >= np.percentile(total[inside], 70.0))
    balanced = light / np.maximum(np.median(light[paper], axis=0), 1e-3)
    # Dark print is noise and stray light: its colour counts for less.
    colour = np.ptp(balanced, axis=2) / np.maximum(balanced.mean(axis=2), 0.08)
    odd = inside & (colour > coloured_from)
    area = design.tag_area
    top, left = max(0, round(area.top - _ROUND_TAG_MM)), max(0, round(area.left - _ROUND_TAG_MM))
    odd[
        top : round(area.top + area.height + _ROUND_TAG_MM),
        left : round(area.left + area.width + _ROUND_TAG_MM),
    ] = False
    # Thin rims of colour are the lens's, not things.
    thick = cv2.morphologyEx(odd.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    return float(np.count_nonzero(thick)) / 100.0


def _part_blurred(
    picture: Picture, quad: Points, *, side: int, to: NDArray[np.float64]
) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """The part of the picture round the card, averaged over ``side`` pixels, and its own plane."""
    height, width = picture.shape[:2]
    low = np.clip(np.floor(quad.min(axis=0)).astype(int) - 2, 0, [width - 1, height - 1])
    high = np.clip(np.ceil(quad.max(axis=0)).astype(int) + 3, low + 1, [width, height])
    part = picture[low[1] : high[1], low[0] : high[0]]
    shrink = 2.0 if side >= 4 and min(part.shape[:2]) >= 4 else 1.0
    if shrink > 1.0:
        # Averaging two by two first takes most of the blurring's work away.
        part = part[: part.shape[0] // 2 * 2, : part.shape[1] // 2 * 2]
        half = (part.shape[1] // 2, part.shape[0] // 2)
        part = np.asarray(cv2.resize(part, half, interpolation=cv2.INTER_AREA), np.uint8)
        side = round(side / 2)
    part = np.asarray(cv2.blur(part, (side, side)), np.uint8)
    shift = low + (shrink - 1.0) / 2.0
    back = np.array([[shrink, 0.0, shift[0]], [0.0, shrink, shift[1]], [0.0, 0.0, 1.0]])
    return part, np.asarray(to @ back, np.float64)


def _shine(places: GreyPlaces) -> list[Flag]:
    return [Flag.GLARE] if glare_on(places) else []


def _dark(places: GreyPlaces, *, dark_below: float) -> list[Flag]:
    return [Flag.TOO_DARK] if paper_level(places) < dark_below else []
