"""Same-scale strips: photos cut to their subjects, all shown at one common size per millimetre."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from photolog.photos.decode import open_upright
from photolog.photos.kinds import PhotoError

__all__ = ["Strip", "StripPiece", "StripSubject", "cut_strip"]

_GROUND = (236, 232, 222)
_INK = (52, 50, 45)
_BARS_MM = (200, 100, 50, 20, 10, 5, 2, 1)
_FOOT_SHARE = 0.12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripSubject:
    """One photo and what to cut from it.

    Attributes
    ----------
    photo : Path
        The photo as it was taken in.
    outline : (N, 2) float array
        The subject's outline in the upright photo, (x, y) pixels, at least three points.
    mm_per_px : float
        Scale at the subject, above zero.
    caption : str
        What stands under the picture: the date.
    figures : str
        The sizes in words and figures ("spread 238 ± 8 mm"), for the caption and for those who
        can't see the picture.
    """

    photo: Path
    outline: NDArray[np.float64]
    mm_per_px: float
    caption: str
    figures: str = ""

    def __post_init__(self) -> None:
        points = np.asarray(self.outline, dtype=np.float64)
        if points.ndim != 2 or points.shape[1] != 2 or len(points) < 3:
            msg = f"an outline is (N, 2) with at least three points, got shape {points.shape}"
            raise ValueError(msg)
        if not np.isfinite(points).all():
            msg = "an outline's points must be finite numbers"
            raise ValueError(msg)
        if not (math.isfinite(self.mm_per_px) and self.mm_per_px > 0):
            msg = f"millimetres per pixel must be above zero, got {self.mm_per_px}"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class StripPiece:
    """One picture of a strip: a JPEG without any of the photo's own data, and its words.

    ``jpeg`` is empty when the photo could not be read; ``problem`` then says why.
    """

    jpeg: bytes
    caption: str
    figures: str
    alt: str
    problem: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Pieces in the order of the subjects; every picture is ``width_px`` by ``height_px``.

    ``px_per_mm`` holds in all of them, so shown at one width they compare true sizes; the bar
    drawn at the foot of each is ``bar_mm`` long.
    """

    pieces: tuple[StripPiece, ...]
    width_px: int
    height_px: int
    px_per_mm: float
    bar_mm: int


def cut_strip(
    subjects: Sequence[StripSubject],
    *,
    longest_px: int = 420,
    margin_mm: float = 6.0,
    jpeg_quality: int = 82,
) -> Strip:
    """Cut each subject along its outline, with a margin, and draw all at one scale.

    The common scale is the largest at which the biggest subject fits into ``longest_px`` and no
    photo is blown up beyond its own pixels. A photo that can't be read leaves a piece without a
    picture and does not stop the others. ``ValueError`` when there is no subject.
    """
    if not subjects:
        msg = "a strip needs at least one subject"
        raise ValueError(msg)
    sizes_mm = [np.ptp(s.outline, axis=0) * s.mm_per_px + 2 * margin_mm for s in subjects]
    widest_mm = max(float(size[0]) for size in sizes_mm)
    highest_mm = max(float(size[1]) for size in sizes_mm)
    px_per_mm = min(longest_px / max(widest_mm, highest_mm), max(1 / s.mm_per_px for s in subjects))
    width = max(1, math.ceil(widest_mm * px_per_mm))
    foot = max(34, round(_FOOT_SHARE * width))
    height = max(1, math.ceil(highest_mm * px_per_mm)) + foot
    bar_mm = next((bar for bar in _BARS_MM if bar * px_per_mm <= 0.5 * width), _BARS_MM[-1])
    pieces = []
    for subject in subjects:
        alt = f"{subject.caption}: {subject.figures}" if subject.figures else subject.caption
        jpeg, problem = b"", None
        try:
            picture = _cut(subject, (width, height), foot, px_per_mm=px_per_mm, margin_mm=margin_mm)
        except (PhotoError, OSError) as error:
            problem = str(error) or type(error).__name__
        else:
            _draw_bar(picture, bar_mm, foot, px_per_mm=px_per_mm)
            jpeg = _as_jpeg(picture, jpeg_quality)
        pieces.append(
            StripPiece(
                jpeg=jpeg,
                caption=subject.caption,
                figures=subject.figures,
                alt=alt,
                problem=problem,
            )
        )
    return Strip(
        pieces=tuple(pieces),
        width_px=width,
        height_px=height,
        px_per_mm=px_per_mm,
        bar_mm=bar_mm,
    )


def _cut(
    subject: StripSubject, size: tuple[int, int], foot: int, *, px_per_mm: float, margin_mm: float
) -> Image.Image:
    """The subject on plain ground, standing in the middle of the frame above its foot."""
    photo = Image.fromarray(open_upright(subject.photo))
    zoom = px_per_mm * subject.mm_per_px
    frame = (size[0], size[1] - foot)
    middle = (subject.outline.min(axis=0) + subject.outline.max(axis=0)) / 2
    # Where the frame's top-left pixel centre lies in the photo; pixel centres are at integers.
    origin = middle - (np.array(frame, dtype=np.float64) - 1) / 2 / zoom
    left, top = (float(origin[i]) + 0.5 - 0.5 / zoom for i in (0, 1))
    box = (left, top, left + frame[0] / zoom, top + frame[1] / zoom)
    cropped = _resize_box(photo, box, frame)

    points = [(float(x), float(y)) for x, y in (subject.outline - origin) * zoom]
    mask = Image.new("L", frame, 0)
    draw = ImageDraw.Draw(mask)
    draw.polygon(points, fill=255)
    draw.line([*points, points[0], points[1]], fill=255, width=_odd(margin_mm * px_per_mm))
    # Half the margin sharp, then fading out, so that nothing is cut off at the frame.
    mask = mask.filter(ImageFilter.GaussianBlur(max(0.8, 0.2 * margin_mm * px_per_mm)))
    inside = _resize_box(Image.new("L", photo.size, 255), box, frame)

    picture = Image.new("RGB", size, _GROUND)
    picture.paste(cropped, (0, 0), ImageChops.darker(mask, inside))
    return picture


def _resize_box(
    photo: Image.Image, box: tuple[float, float, float, float], size: tuple[int, int]
) -> Image.Image:
    """Resample a box of the photo that may reach beyond its edges; what lies outside is black."""
    left, top, right, bottom = box
    x0, y0 = math.floor(left) - 2, math.floor(top) - 2
    part = photo.crop((x0, y0, math.ceil(right) + 2, math.ceil(bottom) + 2))
    return part.resize(
        size,
        Image.Resampling.LANCZOS if photo.mode == "RGB" else Image.Resampling.BILINEAR,
        box=(left - x0, top - y0, right - x0, bottom - y0),
    )


def _draw_bar(picture: Image.Image, bar_mm: int, foot: int, *, px_per_mm: float) -> None:
    draw = ImageDraw.Draw(picture)
    length = bar_mm * px_per_mm
    left, y = 8.0, picture.height - 0.35 * foot
    draw.line([(left, y), (left + length, y)], fill=_INK, width=3)
    for x in (left, left + length):
        draw.line([(x, y - 0.16 * foot), (x, y + 0.16 * foot)], fill=_INK, width=2)
    draw.text(
        (left + length + 8, y),
        f"{bar_mm} mm",
        fill=_INK,
        anchor="lm",
        font=ImageFont.load_default(size=round(0.52 * foot)),
    )


def _as_jpeg(picture: Image.Image, quality: int) -> bytes:
    kept = BytesIO()
    picture.save(kept, "JPEG", quality=quality, optimize=True)
    return kept.getvalue()


def _odd(width: float) -> int:
    return max(1, 2 * round(width / 2) + 1)
