"""One photo measured, from its file to plain figures, fit to travel between processes."""

from __future__ import annotations

import errno
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, Literal, NamedTuple

import cv2
import numpy as np
from PIL import Image

from measure import (
    Form,
    Held,
    MeasureError,
    Measurement,
    Optics,
    OwnDepth,
    Printing,
    Shot,
    draw_overlay,
    measure_bloom,
    measure_bloom_side,
    measure_clump,
    measure_seeds,
    measure_two_shots,
    read_marks,
)
from measure.again import again
from measure.lift import LiftError
from measure.own_depth import DepthError
from measure.placing import pose_in
from measure.results import BloomColours, Points
from photolog.photos.decode import opened, upright_pixels
from photolog.photos.exif import taken_from
from photolog.photos.kinds import PhotoError
from photolog.photos.marks import marks_from_json
from photolog.photos.thumbnails import save_jpeg

__all__ = [
    "CardRead",
    "ColourRead",
    "ColoursRead",
    "Figures",
    "MeasureJob",
    "Of",
    "SizeRead",
    "Unmeasured",
    "figures_of",
    "measure_photo",
]

Of = Literal["bloom", "bloom-side", "clump", "seeds"]

# Outlines are kept to a quarter of a pixel: finer than they are sure, with a tenth of the points.
_OUTLINE_WITHIN_PX = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureJob:
    """A photo to measure, with all that measuring asks.

    ``held`` None: not told, so that the card's design is gone by; a bloom from the side is then
    taken to be level with its card. ``depth`` is the bloom's own, from the side. ``optics`` None:
    read from the file. ``marks`` is what was kept at intake; None: searched for now. ``overlay`` is
    where the picture with the outline drawn in goes; None: nowhere. ``more_shots`` are further
    photos of the same bloom, from nearer or farther, to be solved together with this one.
    """

    photo_id: int | None = None
    path: Path
    of: Of
    form: Form | None = None
    held: Held | None = None
    lift_mm: float | None = None
    depth: OwnDepth | None = None
    printing: Printing = field(default_factory=Printing)
    optics: Optics | None = None
    marks: dict[str, Any] | None = None
    overlay: Path | None = None
    more_shots: tuple[Path, ...] = ()


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


class ColourRead(NamedTuple):
    """One main colour of a bloom: CIELAB (D65, 2 degrees), its share of the bloom, a plain word."""

    lab: tuple[float, float, float]
    share: float
    word: str


class ColoursRead(NamedTuple):
    """A bloom's main colours, the largest share first, and how the light was judged."""

    colours: list[ColourRead]
    balanced_on: str
    too_bright: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """A measurement as plain figures; ``outline`` and ``callipers`` are lists of [x, y] pixels.

    ``colours`` None: not of a bloom's face, or too little of the card's greys was seen.
    """

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
    colours: ColoursRead | None
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


def measure_photo(job: MeasureJob) -> Figures | Unmeasured:
    """Measure one photo; what is refused comes back as ``Unmeasured``."""
    shots: list[Shot] = []
    try:
        for path in (job.path, *job.more_shots):
            with opened(path) as image:
                optics = job.optics or _optics_of(image, path)
                picture = upright_pixels(image)
            marks = read_marks(picture) if job.marks is None else marks_from_json(job.marks)
            shots.append(Shot(picture=picture, marks=marks, optics=optics))
    except PhotoError as error:
        # Of several photos the grower has to be told which.
        which = f"{path.name}: " if job.more_shots else ""
        return Unmeasured(refusal=None, reason=which + error.reason, remedy=error.remedy)
    try:
        measurement = _measured(shots, job)
    except (MeasureError, LiftError) as error:
        cards = [shot.marks.cards[0].design for shot in shots if shot.marks.cards]
        return Unmeasured(
            refusal=error.refusal.value if isinstance(error, MeasureError) else None,
            reason=error.reason,
            remedy=error.remedy,
            card_design=cards[0] if cards else None,
        )
    overlay = None
    if job.overlay is not None:
        overlay = _draw(_drawn_on(shots, measurement, job), measurement, job.overlay)
    return figures_of(measurement, overlay)


def _optics_of(image: Image.Image, path: Path) -> Optics:
    taken = taken_from(image, path)
    return Optics(
        focal35_mm=taken.focal35_mm, exif_size=taken.exif_size, digital_zoom=taken.digital_zoom
    )


def _measured(shots: list[Shot], job: MeasureJob) -> Measurement:
    if len(shots) > 1:
        return measure_two_shots(shots, form=job.form, held=job.held, printing=job.printing)
    (shot,) = shots
    picture, marks, optics, printing = shot.picture, shot.marks, shot.optics, job.printing
    if job.of == "clump":
        return measure_clump(
            picture, marks=marks, optics=optics, lift_mm=job.lift_mm, printing=printing
        )
    if job.of == "seeds":
        return measure_seeds(picture, marks=marks, optics=optics, printing=printing)
    if job.of == "bloom-side":
        held = job.held or "level"
        return measure_bloom_side(picture, marks=marks, optics=optics, held=held, printing=printing)
    bloom = partial(
        measure_bloom,
        picture,
        marks=marks,
        optics=optics,
        form=job.form,
        held=job.held,
        lift_mm=job.lift_mm,
        printing=printing,
    )
    try:
        return bloom(depth=job.depth)
    except DepthError:
        # A depth that can't be this bloom's was of another one.
        return bloom()


def _drawn_on(shots: list[Shot], measurement: Measurement, job: MeasureJob) -> Shot:
    """The shot that the measurement's outline is of: the nearest of several."""
    if len(shots) == 1:
        return shots[0]
    poses = [
        pose_in(shot.picture, shot.marks, optics=shot.optics, printing=job.printing)
        for shot in shots
    ]
    off = [abs(pose.reading.distance_mm - measurement.card.distance_mm) for pose in poses]
    return shots[int(np.argmin(off))]


def _draw(shot: Shot, measurement: Measurement, overlay: Path) -> Path | None:
    """The overlay written; None on a full disk, which costs the overlay, not the measurement."""
    try:
        save_jpeg(draw_overlay(shot.picture, measurement, marks=shot.marks), overlay)
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            return None
        raise
    return overlay


def figures_of(measurement: Measurement, overlay: Path | None = None) -> Figures:
    """A measurement as plain figures."""
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
        colours=_colours(measurement.colours),
        overlay=overlay,
    )


def _colours(colours: BloomColours | None) -> ColoursRead | None:
    if colours is None:
        return None
    return ColoursRead(
        colours=[
            ColourRead(
                lab=(round(c.lab[0], 2), round(c.lab[1], 2), round(c.lab[2], 2)),
                share=round(c.share, 4),
                word=c.word,
            )
            for c in colours.colours
        ],
        balanced_on=colours.balanced_on,
        too_bright=round(colours.too_bright, 4),
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
