"""One photo measured, from its file to plain figures, fit to travel between processes."""

from __future__ import annotations

import errno
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal, NamedTuple

import cv2
import numpy as np
from PIL import Image

from measure import (
    Form,
    Held,
    MarksSeen,
    MeasureError,
    Measurement,
    Optics,
    Picture,
    Printing,
    draw_overlay,
    measure_bloom,
    read_marks,
)
from measure.again import again
from measure.card.designs import DESIGNS, CardKind
from measure.clump import measure_clump
from measure.lift import LiftError
from measure.results import Points
from photolog.photos.decode import opened, upright_pixels
from photolog.photos.exif import taken_from
from photolog.photos.kinds import PhotoError
from photolog.photos.marks import marks_from_json
from photolog.photos.thumbnails import save_jpeg

__all__ = [
    "CardRead",
    "Figures",
    "MeasureJob",
    "Of",
    "SizeRead",
    "Unmeasured",
    "held_as_printed",
    "measure_photo",
]

Of = Literal["bloom", "clump"]

# Outlines are kept to a quarter of a pixel: finer than they are sure, with a tenth of the points.
_OUTLINE_WITHIN_PX = 0.25

_HELD_BY_KIND: dict[CardKind, Held] = {"pocket": "level", "bloom": "behind", "bench": "bench"}
_HELD_BY_DESIGN = {design.name: _HELD_BY_KIND[design.kind] for design in DESIGNS}


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureJob:
    """A photo to measure, with all that measuring asks.

    ``held`` None: as the card's printed instructions say. ``optics`` None: read from the file.
    ``marks`` is what was kept at intake; None: searched for now. ``overlay`` is where the picture
    with the outline drawn in goes; None: nowhere.
    """

    photo_id: int | None = None
    path: Path
    of: Of
    form: Form | None = None
    held: Held | None = None
    lift_mm: float | None = None
    printing: Printing = field(default_factory=Printing)
    optics: Optics | None = None
    marks: dict[str, Any] | None = None
    overlay: Path | None = None


class SizeRead(NamedTuple):
    """One size; ``u``, ``low`` and ``high`` None where they could not be estimated."""

    value: float
    u: float | None
    low: float | None
    high: float | None
    components: dict[str, float]
    again: dict[str, float]


class CardRead(NamedTuple):
    """The card as it was found."""

    design: str
    corners: int
    residual_px: float
    tilt_deg: float
    distance_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """A measurement as plain figures; ``outline`` and ``callipers`` are lists of [x, y] pixels."""

    sizes: dict[str, SizeRead]
    card: CardRead
    lift_mm: float
    lift_u_mm: float
    flags: list[str]
    outline: list[list[float]]
    outline_confidence: float
    edge_sigma_px: float | None
    callipers: list[list[float]]
    mm_per_px: float
    settings: dict[str, Any]
    overlay: Path | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmeasured:
    """Why a photo could not be measured, and what to do.

    ``refusal`` is measure's own word; None: the file itself could not be read, or the height told
    for it can't be. ``card_design`` is the card in it, where one was found.
    """

    refusal: str | None
    reason: str
    remedy: str
    card_design: str | None = None


def held_as_printed(card_design: str) -> Held:
    """How a card is held by those who follow the drawing printed on it."""
    return _HELD_BY_DESIGN.get(card_design, "behind")


def measure_photo(job: MeasureJob) -> Figures | Unmeasured:
    """Measure one photo; what is refused comes back as ``Unmeasured``."""
    try:
        with opened(job.path) as image:
            optics = job.optics or _optics_of(image, job.path)
            picture = upright_pixels(image)
    except PhotoError as error:
        return Unmeasured(refusal=None, reason=error.reason, remedy=error.remedy)
    marks = read_marks(picture) if job.marks is None else marks_from_json(job.marks)
    try:
        measurement = _measured(picture, marks, optics, job)
    except (MeasureError, LiftError) as error:
        return Unmeasured(
            refusal=error.refusal.value if isinstance(error, MeasureError) else None,
            reason=error.reason,
            remedy=error.remedy,
            card_design=marks.cards[0].design if marks.cards else None,
        )
    overlay = _draw(picture, measurement, marks, job.overlay)
    return _figures(measurement, overlay)


def _optics_of(image: Image.Image, path: Path) -> Optics:
    taken = taken_from(image, path)
    return Optics(
        focal35_mm=taken.focal35_mm, exif_size=taken.exif_size, digital_zoom=taken.digital_zoom
    )


def _measured(picture: Picture, marks: MarksSeen, optics: Optics, job: MeasureJob) -> Measurement:
    if job.of == "clump":
        return measure_clump(
            picture, marks=marks, optics=optics, lift_mm=job.lift_mm, printing=job.printing
        )
    return measure_bloom(
        picture,
        marks=marks,
        optics=optics,
        form=job.form,
        held=job.held or held_as_printed(marks.cards[0].design if marks.cards else ""),
        lift_mm=job.lift_mm,
        printing=job.printing,
    )


def _draw(
    picture: Picture, measurement: Measurement, marks: MarksSeen, overlay: Path | None
) -> Path | None:
    """The overlay written, or None; a full disk costs the overlay, not the measurement."""
    if overlay is None:
        return None
    try:
        save_jpeg(draw_overlay(picture, measurement, marks=marks), overlay)
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            return None
        raise
    return overlay


def _figures(measurement: Measurement, overlay: Path | None) -> Figures:
    card = measurement.card
    outline = measurement.outline
    return Figures(
        sizes={
            name: SizeRead(
                value=float(size.value),
                u=_finite(size.u),
                low=_finite(size.interval95[0]),
                high=_finite(size.interval95[1]),
                components={
                    source: float(u) for source, u in size.components.items() if math.isfinite(u)
                },
                again=again(measurement.of, name, float(size.value)),
            )
            for name, size in measurement.sizes.items()
        },
        card=CardRead(
            design=card.design,
            corners=int(card.corners),
            residual_px=float(card.residual_px),
            tilt_deg=float(card.tilt_deg),
            distance_mm=float(card.distance_mm),
        ),
        lift_mm=float(measurement.lift.value),
        lift_u_mm=float(measurement.lift.u),
        flags=[flag.value for flag in measurement.flags],
        outline=_listed(_thinned(outline.points)),
        outline_confidence=float(np.clip(outline.confidence, 0.0, 1.0)),
        edge_sigma_px=_finite(outline.edge_sigma_px),
        callipers=_listed(measurement.callipers),
        mm_per_px=float(measurement.mm_per_px),
        settings=_plain(measurement.settings),
        overlay=overlay,
    )


def _thinned(points: Points) -> Points:
    """The outline with those points left out that lie on it anyway."""
    kept = cv2.approxPolyDP(points.astype(np.float32).reshape(-1, 1, 2), _OUTLINE_WITHIN_PX, True)
    thinned: Points = np.asarray(kept, dtype=np.float64).reshape(-1, 2)
    return thinned if len(thinned) >= 3 else points


def _listed(points: Points) -> list[list[float]]:
    return [[round(float(x), 2), round(float(y), 2)] for x, y in points]


def _plain(settings: Mapping[str, Any]) -> dict[str, Any]:
    """Settings as JSON can hold them."""
    plain: dict[str, Any] = {}
    for name, value in settings.items():
        if isinstance(value, (bool, str)) or value is None:
            plain[name] = value
        else:
            plain[name] = _finite(float(value))
    return plain


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
