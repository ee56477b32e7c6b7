"""A bloom's own depth from the plant's photos from the side of the same day, and over its width."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from measure import IDEAL_DEPTH_OVER_DIAMETER, OwnDepth, Size, depth_over_diameter
from photolog.book.photo_sizes import PhotoRecord, SizeFigure
from photolog.book.season_photos import LEAVING_OUT
from photolog.book.stock import StockRef
from photolog.comparing.occasions import by_burst, mean_of_burst
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
    return {
        key: OwnDepth(mm=depth.value, u_mm=depth.u)
        for key, depth in _depths(_by_day(records, Subject.BLOOM_SIDE, "depth_mm")).items()
    }


def depth_ratios(records: Sequence[PhotoRecord]) -> dict[StockRef, tuple[DepthRatio, ...]]:
    """Depth over diameter of each plant on each day on which it was measured both ways.

    What the printing of one card does to both alike cancels.
    """
    sides = _by_day(records, Subject.BLOOM_SIDE, "depth_mm")
    faces = _by_day(records, Subject.BLOOM_FACE, "diameter_mm")
    depths = _depths(sides)
    found: dict[StockRef, list[DepthRatio]] = {}
    for key in sorted(depths.keys() & faces.keys(), key=lambda one: one[1]):
        plant, day = key
        cards = {one.card for one in (*sides[key], *faces[key])}
        ratio = depth_over_diameter(
            depths[key], _typical(faces[key]), same_printing=len(cards) == 1
        )
        found.setdefault(plant, []).append(
            DepthRatio(on=day, value=ratio.value, u=ratio.u, interval95=ratio.interval95)
        )
    return {plant: tuple(ratios) for plant, ratios in found.items()}


class _Sized(NamedTuple):
    """One photo's size, the card with its printing that it was measured by, and its burst."""

    figure: SizeFigure
    card: tuple[str | None, str | None]
    burst: int


_ByDay = dict[tuple[StockRef, date], list[_Sized]]


def _depths(sides: _ByDay) -> dict[tuple[StockRef, date], Size]:
    return {key: _typical(sized, u_another=_U_OTHER_BLOOM) for key, sized in sides.items()}


def plant_and_day(record: PhotoRecord) -> tuple[StockRef, date] | None:
    """The one plant that a photo belongs to, and its day; None for several, a batch, or no date."""
    if len(record.subjects) != 1 or record.taken_at is None:
        return None
    stock = record.subjects[0].stock
    return (stock, record.taken_at.date()) if stock.kind == "plant" else None


def _by_day(records: Iterable[PhotoRecord], subject: Subject, name: str) -> _ByDay:
    """The sizes of this name that can be trusted, by plant and day."""
    found: _ByDay = {}
    for record in records:
        measured = record.measured
        if record.shows is not subject or measured is None:
            continue
        key, figure = plant_and_day(record), measured.sizes.get(name)
        doubted = not measured.accepted and any(d.flag in LEAVING_OUT for d in measured.doubts)
        if key is None or figure is None or figure.u is None or doubted or measured.turned_down:
            continue
        card = (measured.card_design, measured.printing)
        found.setdefault(key, []).append(_Sized(figure, card, record.burst))
    return found


def _typical(sized: Sequence[_Sized], *, u_another: float = 0.0) -> Size:
    """The mean, and how sure one bloom's size is: as measured, and as they scatter.

    A burst counts as one photo. ``u_another`` is by how much another bloom of the plant differs, as
    a share of the size.
    """
    occasions = [[one.figure for one in burst] for burst in by_burst(sized, lambda one: one.burst)]
    means = [mean_of_burst([(f.value, f.u or 0.0) for f in figures]) for figures in occasions]
    values = [value for value, _ in means]
    mean = math.fsum(values) / len(values)
    printing = math.fsum(
        math.fsum(f.components.get("printing", 0.0) for f in figures) / len(figures)
        for figures in occasions
    ) / len(occasions)
    own = math.fsum(u**2 for _, u in means) / len(means)
    if len(values) > 1:
        scatter = math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
        own = max(own, scatter + printing**2)
    u = math.hypot(math.sqrt(own), u_another * mean)
    return Size(
        value=mean,
        u=u,
        interval95=(mean - 1.96 * u, mean + 1.96 * u),
        components={"printing": printing, "the rest": math.sqrt(max(0.0, u**2 - printing**2))},
    )
