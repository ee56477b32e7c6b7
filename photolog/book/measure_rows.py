"""Measurements and refusals as the rows that the stock book keeps of them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime

from measure import Size
from photolog.book.measure_photo import Figures, Unmeasured
from photolog.book.measure_tasks import MeasureTask
from photolog.book.reading import made_by
from photolog.records import MeasurementRow, SizeRow
from photolog.terms import HowMade, MeasureOf, MeasureStatus

__all__ = ["measured_row", "read_off_row", "refused_row"]


def measured_row(
    task: MeasureTask, figures: Figures, *, how: HowMade = HowMade.MEASURED
) -> MeasurementRow:
    """What was measured in a photo, by the program or on an outline or callipers set by hand."""
    only_ends = how is HowMade.CALLIPERS
    return MeasurementRow(
        photo_id=task.photo_id,
        measured_of=MeasureOf(task.of),
        status=MeasureStatus.MEASURED,
        how_made=how,
        made_by=made_by(),
        made_at=datetime.now(UTC),
        card_design=figures.card.design,
        printing_id=task.printing_id,
        card_corners=figures.card.corners,
        card_residual_px=figures.card.residual_px,
        tilt_deg=figures.card.tilt_deg,
        distance_mm=figures.card.distance_mm,
        lift_mm=figures.lift_mm,
        lift_u_mm=figures.lift_u_mm,
        settings={**figures.settings, "asked": task.asked if how is HowMade.MEASURED else {}},
        flags=figures.flags,
        outline=None if only_ends else figures.outline,
        outline_confidence=None if only_ends else figures.outline_confidence,
        edge_sigma_px=figures.edge_sigma_px,
        callipers=figures.callipers,
        mm_per_px=figures.mm_per_px,
        colours=_colours(figures),
        sizes=[
            SizeRow(
                name=name,
                value=size.value,
                u=size.u,
                low=size.low,
                high=size.high,
                components=size.components,
            )
            for name, size in figures.sizes.items()
        ],
    )


def read_off_row(
    photo_id: int, of: MeasureOf, sizes: Mapping[str, Size], *, on: date
) -> MeasurementRow:
    """Readings of a tape or a ring on a day; they need neither card nor scale."""
    return MeasurementRow(
        photo_id=photo_id,
        measured_of=of,
        status=MeasureStatus.MEASURED,
        how_made=HowMade.READ_OFF,
        read_on=on,
        made_by=made_by(),
        made_at=datetime.now(UTC),
        settings={},
        flags=[],
        sizes=[
            SizeRow(
                name=name,
                value=size.value,
                u=size.u,
                low=size.interval95[0],
                high=size.interval95[1],
                components=dict(size.components),
            )
            for name, size in sizes.items()
        ],
    )


def refused_row(task: MeasureTask, refused: Unmeasured) -> MeasurementRow:
    """Why a photo could not be measured."""
    return MeasurementRow(
        photo_id=task.photo_id,
        measured_of=MeasureOf(task.of),
        status=MeasureStatus.REFUSED,
        how_made=HowMade.MEASURED,
        refusal=refused.refusal,
        reason=refused.reason,
        remedy=refused.remedy,
        made_by=made_by(),
        made_at=datetime.now(UTC),
        card_design=refused.card_design,
        printing_id=task.printing_id,
        settings={"asked": task.asked},
        flags=[],
    )


def _colours(figures: Figures) -> dict[str, object] | None:
    if figures.colours is None:
        return None
    return {**figures.colours._asdict(), "colours": [c._asdict() for c in figures.colours.colours]}
