"""What was measured in photos that tells plants apart: colour, size and how round a clump is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from photolog.photos.facts import Shows
from photolog.records import MeasurementRow, PhotoRow, SizeRow
from photolog.terms import Acceptance, HowMade, MeasureOf, MeasureStatus

__all__ = ["NOTHING_READ", "LikenessRead", "likeness_read"]

_OF: Mapping[MeasureOf, Shows] = {MeasureOf.BLOOM: "bloom", MeasureOf.CLUMP: "clump"}
_WIDEST: Mapping[Shows, str] = {"bloom": "widest_mm", "clump": "spread_mm"}
_LEAST = "width_mm"


class LikenessRead(TypedDict):
    """The part of ``PhotoFacts`` that comes from measuring."""

    colour: tuple[float, float, float] | None
    size_mm: tuple[float, float] | None
    roundness: float | None


NOTHING_READ: LikenessRead = {"colour": None, "size_mm": None, "roundness": None}


def likeness_read(
    session: Session, *where: ColumnElement[bool]
) -> dict[tuple[int, Shows], LikenessRead]:
    """By photo, and what it was measured as, what the measurement that stands says.

    The one that the grower accepted stands, else the newest by the program; none that was turned
    down or corrected.
    """
    rows = session.execute(
        select(
            MeasurementRow.id,
            MeasurementRow.photo_id,
            MeasurementRow.measured_of,
            MeasurementRow.acceptance,
            MeasurementRow.colours,
        )
        .join(PhotoRow, PhotoRow.id == MeasurementRow.photo_id)
        .where(
            MeasurementRow.status == MeasureStatus.MEASURED,
            MeasurementRow.how_made == HowMade.MEASURED,
            MeasurementRow.measured_of.in_(_OF),
            MeasurementRow.acceptance.in_((Acceptance.PROPOSED, Acceptance.ACCEPTED)),
            *where,
        )
        .order_by(MeasurementRow.id)
    )
    standing: dict[tuple[int, Shows], Any] = {}
    for row in rows:
        key = (row.photo_id, _OF[row.measured_of])
        before = standing.get(key)
        if before is None or before.acceptance is not Acceptance.ACCEPTED:
            standing[key] = row
    sizes = _sizes(session, *where)
    return {
        key: {
            "colour": _main_colour(row.colours),
            "size_mm": _size(sizes.get(row.id, {}).get(_WIDEST[key[1]])),
            "roundness": _roundness(sizes.get(row.id, {})) if key[1] == "clump" else None,
        }
        for key, row in standing.items()
    }


def _sizes(
    session: Session, *where: ColumnElement[bool]
) -> dict[int, dict[str, tuple[float, float | None]]]:
    rows = session.execute(
        select(SizeRow.measurement_id, SizeRow.name, SizeRow.value, SizeRow.u)
        .join(SizeRow.measurement)
        .join(PhotoRow, PhotoRow.id == MeasurementRow.photo_id)
        .where(SizeRow.name.in_((*_WIDEST.values(), _LEAST)), *where)
    )
    found: dict[int, dict[str, tuple[float, float | None]]] = {}
    for row in rows:
        found.setdefault(row.measurement_id, {})[row.name] = (row.value, row.u)
    return found


def _size(read: tuple[float, float | None] | None) -> tuple[float, float] | None:
    if read is None or read[0] <= 0.0:
        return None
    return read[0], read[1] if read[1] is not None else 0.0


def _roundness(sizes: Mapping[str, tuple[float, float | None]]) -> float | None:
    widest, least = sizes.get(_WIDEST["clump"]), sizes.get(_LEAST)
    if widest is None or least is None or widest[0] <= 0.0:
        return None
    return least[0] / widest[0]


def _main_colour(colours: dict[str, Any] | None) -> tuple[float, float, float] | None:
    """The colour with the largest share."""
    main = max((colours or {}).get("colours", ()), key=lambda one: one["share"], default=None)
    if main is None:
        return None
    lightness, a, b = main["lab"]
    return float(lightness), float(a), float(b)
