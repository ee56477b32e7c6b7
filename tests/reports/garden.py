"""A small made-up garden with photos drawn and measurements entered by hand, for the tests."""

import hashlib
from datetime import UTC, date, datetime

import numpy as np
from PIL import Image, ImageDraw

from photolog.book import StockBook, daybook, plants, varieties
from photolog.book.measure_tasks import MEASURED_OF
from photolog.book.originals import original_path
from photolog.book.stock import columns_of
from photolog.records import MeasurementRow, PhotoRow, PhotoSubjectRow, SizeRow
from photolog.terms import (
    Acceptance,
    EventKind,
    MatchState,
    MeasureOf,
    MeasureStatus,
    Subject,
)

PLANTED = {2024: date(2024, 11, 2), 2025: date(2025, 11, 8)}
LIFTED = {2024: date(2025, 5, 17), 2025: date(2026, 5, 16)}
NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
MM_PER_PX = 0.5


def planted_and_lifted(book: StockBook, tags: dict[int, str]) -> StockBook:
    """Enter these plants, each planted out and lifted in seasons 2024 and 2025."""
    for name in dict.fromkeys(tags.values()):
        varieties.add(book, name, form="decorative")
    for number, name in tags.items():
        plants.add(book, variety=name, tag=number, since=date(2024, 11, 2))
    for season in (2024, 2025):
        daybook.enter(book, "planted out", on=PLANTED[season], tags=list(tags))
        daybook.enter(book, "lifted", on=LIFTED[season], tags=list(tags))
    daybook.enter(book, EventKind.FIRST_FROST, on=date(2025, 5, 9), garden_wide=True)
    return book


def blob(spread_mm: float, *, seed: int) -> tuple[Image.Image, np.ndarray]:
    """A picture of something like a clump of this spread, and its outline in pixels."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    radius = 0.5 + 0.18 * np.abs(np.sin(2.5 * angle + rng.uniform(0, 3))) * rng.uniform(0.6, 1)
    points = np.stack([radius * np.cos(angle), 0.7 * radius * np.sin(angle)], axis=1)
    widest = max(np.linalg.norm(points[:, None] - points[None], axis=2).ravel())
    points = points / widest * spread_mm / MM_PER_PX + [400, 300]
    image = Image.new("RGB", (800, 600), (150, 140, 125))
    draw = ImageDraw.Draw(image)
    draw.polygon([tuple(p) for p in points], fill=(120, 78, 45))
    for _ in range(60):
        x, y = rng.normal([400, 300], [50, 30])
        draw.ellipse([x, y, x + 9, y + 5], fill=(150, 104, 64))
    return image, points


def enter_photo(
    book: StockBook,
    tag: int | None,
    taken_at: datetime | None,
    *,
    name: str,
    spread_mm: float | None = None,
    u: float | None = 3.0,
    scale_u: float = 0.0,
    tubers: float | None = None,
    flags: tuple[str, ...] = (),
    refused: tuple[str, str] | None = None,
    acceptance: Acceptance = Acceptance.PROPOSED,
    waiting: str | None = None,
    stage: str | None = None,
    subject: Subject = Subject.CLUMP,
    printing_id: int | None = None,
) -> int:
    """Enter a photo with its match and its measurement, as intake, matching and measuring would."""
    seed = int(hashlib.sha256(name.encode()).hexdigest()[:8], 16)
    image, outline = blob(spread_mm or 200.0, seed=seed)
    sha256 = hashlib.sha256(name.encode()).hexdigest()
    path = original_path(book, sha256, "jpeg")
    path.parent.mkdir(parents=True, exist_ok=True)
    exif = Image.Exif()
    exif.get_ifd(0x8825)[2] = (41.0, 12.0, 5.0)
    exif[0x010F] = "Larkfield"
    image.save(path, exif=exif)
    with book.writing() as session:
        photo = PhotoRow(
            sha256=sha256,
            content_sha256=sha256,
            original_name=name,
            file_kind="jpeg",
            n_bytes=path.stat().st_size,
            width_px=800,
            height_px=600,
            taken_at=taken_at,
            taken_in_at=NOW,
            subject=subject,
            match_state=MatchState.WAITING if tag is None else MatchState.MATCHED,
            waiting_because=waiting,
        )
        session.add(photo)
        session.flush()
        if tag is not None:
            day = taken_at.date() if taken_at else LIFTED[2025]
            stock = plants.of_tag(book, tag, on=day).ref
            photo.subjects.append(
                PhotoSubjectRow(
                    **columns_of(stock),
                    reason="tag",
                    because="Its tag is in the picture.",
                    probability=0.99,
                    stage=stage,
                    matched_at=NOW,
                )
            )
        if refused is not None or spread_mm is not None:
            session.add(
                _measurement(
                    photo.id,
                    outline,
                    spread_mm=spread_mm,
                    u=u,
                    scale_u=scale_u,
                    tubers=tubers,
                    flags=flags,
                    refused=refused,
                    acceptance=acceptance,
                    printing_id=printing_id,
                    measured_of=MeasureOf(MEASURED_OF.get(subject, "bloom")),
                )
            )
        return photo.id


def add_measurement(book: StockBook, photo_id: int, *, spread_mm: float) -> None:
    """Measure a photo again, as a newer version would: one more row."""
    _, outline = blob(spread_mm, seed=photo_id)
    with book.writing() as session:
        session.add(
            _measurement(
                photo_id,
                outline,
                spread_mm=spread_mm,
                u=3.0,
                scale_u=0.0,
                tubers=None,
                flags=(),
                refused=None,
                acceptance=Acceptance.PROPOSED,
                printing_id=None,
                measured_of=MeasureOf.CLUMP,
            )
        )


def _measurement(
    photo_id,
    outline,
    *,
    spread_mm,
    u,
    scale_u,
    tubers,
    flags,
    refused,
    acceptance,
    printing_id,
    measured_of,
) -> MeasurementRow:
    row = MeasurementRow(
        photo_id=photo_id,
        measured_of=measured_of,
        status=MeasureStatus.REFUSED if refused else MeasureStatus.MEASURED,
        refusal="no card" if refused else None,
        reason=refused[0] if refused else None,
        remedy=refused[1] if refused else None,
        made_by="measure 0.1.0",
        made_at=NOW,
        card_design="bench-1",
        printing_id=printing_id,
        settings={},
        flags=list(flags),
        acceptance=acceptance,
    )
    if refused:
        return row
    row.outline = [[float(x), float(y)] for x, y in outline]
    row.mm_per_px = MM_PER_PX
    name = "spread_mm" if measured_of is MeasureOf.CLUMP else "widest_mm"
    half = None if u is None else 1.96 * u
    row.sizes.append(
        SizeRow(
            name=name,
            value=spread_mm,
            u=u,
            low=None if half is None else spread_mm - half,
            high=None if half is None else spread_mm + half,
            components={"printing": scale_u, "edge": u or 0.0},
        )
    )
    if tubers is not None:
        row.sizes.append(
            SizeRow(
                name="tubers", value=tubers, u=1.0, low=tubers - 1, high=tubers + 2, components={}
            )
        )
    return row
