"""A bloom's own depth from the plant's photos from the side of the same day, and over its width."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from measure import IDEAL_DEPTH_OVER_DIAMETER, OwnDepth, Size, depth_over_diameter
from photolog.book.photo_sizes import PhotoRecord, SizeFigure
from photolog.book.season_photos import LEAVING_OUT
from photolog.book.stock import StockRef
from photolog.terms import Subject

__all__ = ["IDEAL_RATIO", "DepthRatio", "depth_ratios", "depths_by_day", "plant_and_day"]

IDEAL_RATIO = IDEAL_DEPTH_OVER_DIAMETER
"""Depth over diameter that the trade calls ideal in fully double decorative blooms."""

# By how much one bloom of a plant is deeper than another on the same day, as a share of the depth,
# one standard uncertainty: the photo from the side may be of another bloom. Our judgement.
_U_OTHER_BLOOM = 0.06


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthRatio:
    """Depth over diameter of a plant's blooms of one day; ``interval95`` holds it with 95 %."""

    on: date
    value: float
    u: float
    interval95: tuple[float, float]


def depths_by_day(records: Iterable[PhotoRecord]) -> dict[tuple[StockRef, date], OwnDepth]:
    """The depth of each plant's blooms on each day on which it was measured from the side.

    Only photos of one plant and no other count, whose outline is not in doubt or that were
    accepted. The uncertainty holds by how much one bloom of a plant differs from another.
    """
    depths = {}
    for key, figures in _by_day(records, Subject.BLOOM_SIDE, "depth_mm").items():
        mean, u = _typical(figures)
        depths[key] = OwnDepth(mm=mean, u_mm=math.hypot(u, _U_OTHER_BLOOM * mean))
    return depths


def depth_ratios(records: Sequence[PhotoRecord]) -> dict[StockRef, tuple[DepthRatio, ...]]:
    """Depth over diameter of each plant on each day on which it was measured both ways.

    What the card's printing does to both alike is left in both, which makes the ratio a little less
    sure than it is.
    """
    depths = depths_by_day(records)
    faces = _by_day(records, Subject.BLOOM_FACE, "diameter_mm")
    found: dict[StockRef, list[DepthRatio]] = {}
    for key in sorted(depths.keys() & faces.keys(), key=lambda one: one[1]):
        plant, day = key
        depth = depths[key]
        ratio = depth_over_diameter(_size(depth.mm, depth.u_mm), _size(*_typical(faces[key])))
        found.setdefault(plant, []).append(
            DepthRatio(on=day, value=ratio.value, u=ratio.u, interval95=ratio.interval95)
        )
    return {plant: tuple(ratios) for plant, ratios in found.items()}


def plant_and_day(record: PhotoRecord) -> tuple[StockRef, date] | None:
    """The one plant that a photo belongs to, and its day; None for several, a batch, or no date."""
    if len(record.subjects) != 1 or record.taken_at is None:
        return None
    stock = record.subjects[0].stock
    return (stock, record.taken_at.date()) if stock.kind == "plant" else None


def _by_day(
    records: Iterable[PhotoRecord], subject: Subject, name: str
) -> dict[tuple[StockRef, date], list[SizeFigure]]:
    """The sizes of this name that can be trusted, by plant and day."""
    found: dict[tuple[StockRef, date], list[SizeFigure]] = {}
    for record in records:
        measured = record.measured
        if record.shows is not subject or measured is None:
            continue
        key, figure = plant_and_day(record), measured.sizes.get(name)
        doubted = not measured.accepted and any(d.flag in LEAVING_OUT for d in measured.doubts)
        if key is None or figure is None or figure.u is None or doubted or measured.turned_down:
            continue
        found.setdefault(key, []).append(figure)
    return found


def _typical(figures: Sequence[SizeFigure]) -> tuple[float, float]:
    """The mean, and how sure one bloom's size is: as measured, and as they scatter."""
    values = [figure.value for figure in figures]
    mean = math.fsum(values) / len(values)
    own = math.fsum((figure.u or 0.0) ** 2 for figure in figures) / len(figures)
    if len(values) == 1:
        return mean, math.sqrt(own)
    scatter = math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
    return mean, math.sqrt(max(own, scatter))


def _size(value: float, u: float) -> Size:
    return Size(value=value, u=u, interval95=(value - 2.0 * u, value + 2.0 * u))
