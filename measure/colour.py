"""A bloom's main colours, freed of the light that it was photographed in, and their difference."""

from __future__ import annotations

from typing import cast

import cv2
import numpy as np
import skimage.color as skc
from numpy.typing import NDArray
from scipy.optimize import linprog
from skimage.color.colorconv import xyz_from_rgb

from measure.colour_names import word_for
from measure.greys import GreyPlaces, Light, grey_places, light_on
from measure.pose import Pose
from measure.results import BloomColours, MainColour, Outline, Picture, Points, Printing

__all__ = [
    "ciede2000",
    "colours_of",
    "difference",
    "lab_of",
]

Floats = NDArray[np.float64]

# OpenCV draws its first cluster centres from a generator; fixed, so that results repeat.
_RNG_SEED = 20
_CLIPPED = 252
# L* of a surface that gives back 1 % of the light: no petal is darker than that where light falls
# on it (our judgement).
_DEEP_SHADE = 9.0


def colours_of(
    picture: Picture,
    *,
    outline: Outline,
    pose: Pose,
    printing: Printing,
    places: GreyPlaces | None = None,
    side_px: int = 160,
    at_most: int = 4,
    least_share: float = 0.04,
    alike: float = 9.0,
) -> BloomColours | None:
    """The bloom's main colours; None where too little of the card's greys and paper can be seen.

    Parameters
    ----------
    picture : (H, W, 3) uint8 sRGB array
    outline : Outline
        The bloom's, in the same picture.
    pose : Pose
    printing : Printing
    places : GreyPlaces, optional
        The card's known greys in the picture, where they are at hand already.
    side_px : int
        The bloom is shrunk to this before its colours are sorted, which averages noise away.
    at_most : int
        Main colours kept.
    least_share : float
        A colour of less than this share of the bloom is none of its main colours.
    alike : float
        Two groups of pixels nearer than this in CIEDE2000 are one colour.

    Light between petals is coloured as the petals are, only less of it: pixels of one hue and
    saturation are sorted together whatever their lightness, each group's colour is that of the
    part of it on which light falls, and a group that is another's colour in less light is counted
    with that other. So a darker tone of the same colour, as at a petal's base, is not told from
    shade.
    """
    at = pose.on_plane(outline.points.mean(axis=0)[None])[0]
    if places is None:
        places = grey_places(picture, pose, printing=printing, keep_off=outline.points)
    light = light_on(places, at_mm=(float(at[0]), float(at[1])))
    if light is None:
        return None
    pixels = _pixels_inside(picture, outline.points, side_px=side_px)
    clipped = pixels.max(axis=1) >= _CLIPPED
    too_bright = float(clipped.mean())
    # What the sun whitens is no colour of the petals, unless all of it is so bright.
    kept = pixels[~clipped] if too_bright < 0.7 else pixels
    colours = _main_colours(kept, light, at_most=at_most, least_share=least_share, alike=alike)
    return BloomColours(colours=colours, balanced_on=light.balanced_on, too_bright=too_bright)


def lab_of(reflectances: Floats) -> Floats:
    """CIELAB (D65, 2 degrees) of linear sRGB reflectances, (..., 3) to (..., 3)."""
    xyz = np.clip(reflectances, 0.0, 1.2) @ xyz_from_rgb.T
    return cast("Floats", skc.xyz2lab(xyz, illuminant="D65", observer="2"))


def ciede2000(one: Floats, other: Floats) -> Floats:
    """CIEDE2000 between colours in CIELAB, (..., 3) and (..., 3)."""
    return np.asarray(skc.deltaE_ciede2000(one, other), np.float64)  # type: ignore[no-untyped-call]


def difference(one: BloomColours, other: BloomColours) -> float:
    """How different two blooms' colours are, in CIEDE2000.

    The mean difference from colour to colour when the shares of the one are laid onto the shares
    of the other as cheaply as possible (the transport problem): 0 for the same colours in the same
    shares, and little for a colour that was split in two in one of the photos.
    """
    shares = np.array([c.share for c in one.colours])
    onto = np.array([c.share for c in other.colours])
    here = np.array([c.lab for c in one.colours])
    there = np.array([c.lab for c in other.colours])
    cost = ciede2000(here[:, None], there[None])
    rows, columns = cost.shape
    limits = np.zeros((rows + columns, rows * columns))
    for i in range(rows):
        limits[i, i * columns : (i + 1) * columns] = 1.0
    for j in range(columns):
        limits[rows + j, j::columns] = 1.0
    amounts = np.concatenate([shares / shares.sum(), onto / onto.sum()])
    # One of the sums follows from the others.
    solved = linprog(cost.ravel(), A_eq=limits[:-1], b_eq=amounts[:-1], method="highs")
    return max(0.0, float(solved.fun))


def _pixels_inside(picture: Picture, outline: Points, *, side_px: int) -> NDArray[np.uint8]:
    """(N, 3) pixels inside the outline and clear of its edge, from a shrunk copy."""
    height, width = picture.shape[:2]
    low = np.clip(np.floor(outline.min(axis=0)).astype(int), 0, [width - 1, height - 1])
    high = np.clip(np.ceil(outline.max(axis=0)).astype(int) + 1, low + 1, [width, height])
    part = picture[low[1] : high[1], low[0] : high[0]]
    shrink = min(1.0, side_px / max(part.shape[:2]))
    size = (max(1, round(part.shape[1] * shrink)), max(1, round(part.shape[0] * shrink)))
    small = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA), np.uint8)
    scale = np.array([size[0] / part.shape[1], size[1] / part.shape[0]])
    mask = np.zeros(small.shape[:2], np.uint8)
    polygon = np.round(((outline - low + 0.5) * scale - 0.5) * 16).astype(np.int32)
    cv2.fillPoly(mask, [polygon.reshape(-1, 1, 2)], 1, cv2.LINE_8, 4)
    clear = cv2.erode(mask, np.ones((5, 5), np.uint8))
    if np.count_nonzero(clear) < 0.4 * np.count_nonzero(mask):
        clear = mask
    inside: NDArray[np.uint8] = small[clear > 0]
    return inside if len(inside) else small.reshape(-1, 3)


def _main_colours(
    pixels: NDArray[np.uint8], light: Light, *, at_most: int, least_share: float, alike: float
) -> tuple[MainColour, ...]:
    straight = light.reflectances(pixels)
    lab = lab_of(straight)
    groups = [np.flatnonzero(labels) for labels in _sorted_by_hue(lab)]
    groups = [group for group in groups if len(group)]
    shown = [_lit(lab[group]) for group in groups]
    while len(groups) > 1:
        pair = _nearest_pair(shown, alike=alike)
        if pair is None:
            break
        i, j = pair
        groups[i] = np.concatenate([groups[i], groups[j]])
        shown[i] = _lit(lab[groups[i]])
        del groups[j], shown[j]
    order = sorted(range(len(groups)), key=lambda k: -len(groups[k]))
    total = sum(len(group) for group in groups)
    order = [k for n, k in enumerate(order) if n == 0 or len(groups[k]) >= least_share * total][
        :at_most
    ]
    kept = sum(len(groups[k]) for k in order)
    return tuple(
        MainColour(lab=shown[k], share=len(groups[k]) / kept, word=word_for(shown[k]))
        for k in order
    )


def _sorted_by_hue(lab: Floats, *, clusters: int = 8) -> list[NDArray[np.bool_]]:
    """Groups of pixels of like hue and saturation, lightness counting little.

    Less of the same light multiplies L* + 16, a* and b* alike (above 0.9 % of white), so that their
    ratios stay.
    """
    shade = np.maximum(lab[:, :1] + 16.0, 16.0)
    features = np.column_stack([100.0 * lab[:, 1:] / shade, 0.3 * lab[:, 0]]).astype(np.float32)
    few = np.ascontiguousarray(features[:: max(1, len(features) // 6000)])
    count = min(clusters, len(few))
    cv2.setRNGSeed(_RNG_SEED)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.2)
    _, _, centres = cv2.kmeans(
        few, count, np.empty((0, 1), np.int32), stop, 2, cv2.KMEANS_PP_CENTERS
    )
    # Squared distances, less each pixel's own square, which is the same for all.
    nearest = np.argmin(np.sum(centres**2, axis=1) - 2.0 * features @ centres.T, axis=1)
    return [nearest == k for k in range(count)]


def _lit(lab: Floats) -> tuple[float, float, float]:
    """The colour of a group where light falls on it: of the lighter half of what is not in shade.

    In shade is what gets less than half the light of the lightest; of those the lightest twentieth
    may shine and is left out.
    """
    lightness = lab[:, 0]
    most = float(np.percentile(lightness, 95.0))
    lit = lightness + 16.0 > 0.5 ** (1.0 / 3.0) * (most + 16.0)
    from_half = float(np.median(lightness[lit]))
    some = lab[(lightness >= from_half) & (lightness <= max(most, from_half))]
    # Of a handful of pixels none may lie between the two.
    middle = np.median(some if len(some) else lab[lit], axis=0)
    return float(middle[0]), float(middle[1]), float(middle[2])


def _nearest_pair(shown: list[tuple[float, float, float]], *, alike: float) -> list[int] | None:
    """The two groups that are most nearly one colour; None when all differ.

    Groups are also alike where the darker one is the lighter one's colour in less light: raised to
    its lightness it is the same. Less than a sixth of the light is no shade that petals cast on
    one another, so that white petals with black tips keep two colours; deep shade goes with any.
    """
    colours = np.array(shown)
    first, second = np.triu_indices(len(shown), k=1)
    one, other = colours[first], colours[second]
    swapped = (one[:, 0] > other[:, 0])[:, None]
    dark, light = np.where(swapped, other, one), np.where(swapped, one, other)
    raised = (light[:, :1] + 16.0) / (dark[:, :1] + 16.0)
    lifted = np.column_stack([light[:, 0], dark[:, 1:] * raised])
    as_shade = ciede2000(lifted, light)
    as_shade[raised[:, 0] > 6.0 ** (1.0 / 3.0)] = np.inf
    as_shade[(dark[:, 0] < _DEEP_SHADE) & (light[:, 0] >= _DEEP_SHADE)] = 0.0
    away = np.minimum(ciede2000(one, other), as_shade)
    best = int(np.argmin(away))
    return [int(first[best]), int(second[best])] if away[best] < alike else None
