"""Seeds told from the paper that they lie on, under uneven light, whichever is the darker."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.seeds_sheet import sheet_in

__all__ = ["Contrast", "contrast_with_paper"]

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

# Below this a picture is mostly noise: differences are shares of no less, on the scale of 255.
_DARKEST = 24.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contrast:
    """How much each pixel differs from the paper: 0 is paper, 1 what most seeds look like.

    ``noise`` is the scatter of bare paper on the same scale. ``level`` is where seeds end: values
    above it are seed. ``lighter`` is by what share of their own lightness seeds are lighter than
    the paper, negative where darker. ``off_sheet`` is where neither paper nor seeds were looked
    for.
    """

    values: Floats
    level: float
    lighter: float
    noise: float
    off_sheet: Mask

    def on_the_way(self, share: float) -> float:
        """The value that is this share of the way from paper to seed in light.

        Where seeds are the lighter, values bunch up towards them.
        """
        if self.lighter <= 0.0:
            return share
        times = 1.0 / max(1.0 - self.lighter, 0.1)
        return share * times / (1.0 + share * (times - 1.0))


def contrast_with_paper(
    picture: NDArray[np.uint8],
    *,
    keep_out: Mask,
    gap_px: float | None = None,
    coarse_px: int = 240,
    level: float = 0.62,
) -> Contrast | None:
    """Contrast of every pixel with the paper around it; None where nothing stands out.

    Whether seeds are the darker or the lighter is tried both ways: seeds are islands with a sharp
    rim all round, the paper between them is not. The paper is then found again from bare paper
    alone in ever smaller neighbourhoods, so that it follows a soft shadow's edge between seeds.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    keep_out : (H, W) bool array
        True where neither paper nor seeds are looked for.
    gap_px : float, optional
        Seeds, or tight groups of them, are narrower than this. A quarter of the picture when not
        told.
    coarse_px : int
        Longer side of the picture in which the paper is found.
    level : float
        Share of the seeds' contrast at which they end.
    """
    height, width = picture.shape[:2]
    shrink = max(1.0, max(height, width) / coarse_px)
    size = (max(8, round(width / shrink)), max(8, round(height / shrink)))
    small = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8).astype(
        np.float32
    )
    out = cv2.resize(keep_out.astype(np.uint8) * 255, size, interpolation=cv2.INTER_AREA) > 0
    if out.mean() > 0.95:
        return None
    sheet, bare = sheet_in(small, known=~out)
    if (sheet < ~out).any():
        off = cv2.resize((~sheet).astype(np.uint8), (width, height), interpolation=cv2.INTER_LINEAR)
        keep_out = keep_out | (off > 0)
        out = ~sheet
    gap = min(size) / 4.0 if gap_px is None else gap_px / shrink
    tries = [_paper(small, ~out, bare, gap_px=gap, darker=darker) for darker in (True, False)]
    paper = max(tries, key=lambda paper: _islands(small, paper, ~out))
    # What seeds look like is learnt from every third pixel; the rest is one pass a channel.
    sparse = np.ascontiguousarray(picture[1::3, 1::3], np.float32)
    inside = ~keep_out[1::3, 1::3]
    coarse = np.asarray(
        cv2.resize(paper, sparse.shape[1::-1], interpolation=cv2.INTER_LINEAR), np.float32
    )
    difference = _difference(sparse, coarse)[inside]
    far = _size_of(difference)
    noise = float(np.percentile(far, 30))
    strong = far > max(6.0 * noise, 0.08, _otsu(far))
    if strong.sum() < 4:
        return None
    typical = np.median(difference[strong], axis=0)
    length = float(np.linalg.norm(typical))
    if length < 0.08:
        return None
    along = np.zeros((height, width), np.float32)
    for channel, weight in enumerate(typical / length**2):
        ground = cv2.resize(
            np.ascontiguousarray(paper[..., channel]),
            (width, height),
            interpolation=cv2.INTER_LINEAR,
        )
        value = picture[..., channel].astype(np.float32)
        along += np.float32(weight) * _difference(value, np.asarray(ground, np.float32))
    along[keep_out] = 0.0
    return Contrast(
        values=along,
        level=level,
        lighter=float(typical.mean()),
        noise=noise / length,
        off_sheet=keep_out,
    )


def _paper(small: Floats, known: Mask, surely: Mask, *, gap_px: float, darker: bool) -> Floats:
    """The paper under seeds that are darker (or lighter) than it and narrower than the gap."""
    filled = _filled(small, known, reach_px=gap_px / 2.0)
    filled[known] = small[known]
    calm = cv2.GaussianBlur(filled, (0, 0), 1.0)
    k = 2 * round(gap_px / 2.0) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (k, k))
    what = cv2.MORPH_CLOSE if darker else cv2.MORPH_OPEN
    paper = np.asarray(cv2.morphologyEx(calm, what, disc), np.float32)
    for reach in (0.5, 0.3, 0.2):
        far = _size_of(_difference(small, paper))
        bare = known & (surely | (far < _bare_below(far[known])))
        bare = cv2.erode(bare.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
        paper = _filled(small, bare, reach_px=reach * gap_px)
    return paper


def _islands(small: Floats, paper: Floats, known: Mask) -> float:
    """How much what differs from the paper looks like islands with a sharp rim all round."""
    far = np.where(known, _size_of(_difference(small, paper)), 0.0)
    cut = max(0.05, _otsu(far[known]))
    mask = (far > cut).astype(np.uint8)
    if not mask.any():
        return 0.0
    contrast = float(np.median(far[mask > 0]))
    grey = small.mean(axis=2)
    slope = np.hypot(cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1)) / 8.0
    rim = (cv2.morphologyEx(mask, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8)) > 0) & known
    if not rim.any():
        return 0.0
    sharp = float(np.mean(slope[rim] / np.maximum(paper.mean(axis=2)[rim] * contrast, 1.0)))
    outlines, _ = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    hulls = sum(cv2.contourArea(cv2.convexHull(o)) + len(o) / 2.0 for o in outlines)
    return sharp * min(1.0, float(mask.sum()) / max(1.0, hulls))


def _difference(values: Floats, paper: Floats) -> Floats:
    """Difference from the paper as a share of the brighter of the two, channel by channel."""
    brighter = np.maximum(np.maximum(values, paper), _DARKEST)
    return np.asarray((values - paper) / brighter, np.float32)


def _size_of(difference: Floats) -> Floats:
    """Root mean square of the channels."""
    return np.asarray(np.sqrt(np.mean(difference**2, axis=-1)), np.float32)


def _bare_below(far: NDArray[np.floating]) -> float:
    """Differences below this are bare paper."""
    return float(max(0.06, min(3.0 * float(np.median(far)), _otsu(far))))


def _otsu(far: NDArray[np.floating]) -> float:
    """The difference that parts the two heaps in a histogram best."""
    largest = max(float(np.percentile(far, 99.5)), 1e-3)
    steps = np.clip(far * (255.0 / largest), 0, 255).astype(np.uint8).reshape(-1, 1)
    best, _ = cv2.threshold(steps, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    return float(best) * largest / 255.0


def _filled(values: Floats, known: Mask, *, reach_px: float) -> Floats:
    """Smoothed over what is known; where nothing near is known, from further away."""
    weight = known.astype(np.float32)
    made = np.zeros_like(values)
    left = np.ones(values.shape[:2], np.float32)
    reach = reach_px
    for _ in range(5):
        near = _spread(weight, reach)
        smooth = _spread(values * weight[..., None], reach)
        trust = np.clip(near / 0.15, 0.0, 1.0) * left
        made += smooth / np.maximum(near, 1e-6)[..., None] * trust[..., None]
        left = left - trust
        if left.max() < 1e-3:
            break
        reach *= 2.0
    rest = values[known].mean(axis=0) if known.any() else values.mean(axis=(0, 1))
    return np.asarray(made + left[..., None] * rest, np.float32)


def _spread(values: Floats, reach_px: float) -> Floats:
    """Smoothed by two boxes, whose time does not grow with their size."""
    k = 2 * round(min(1.25 * reach_px, min(values.shape[:2]) / 2.0 - 1.0)) + 1
    once = cv2.blur(values, (k, k), borderType=cv2.BORDER_REFLECT)
    return np.asarray(cv2.blur(once, (k, k), borderType=cv2.BORDER_REFLECT), np.float32)
