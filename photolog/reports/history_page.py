"""The page of one plant's history: seasons, strips of its photos, sizes, day book."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from photolog.book.history import HistoryPhoto, PlantHistory
from photolog.book.photo_sizes import MeasuredSizes
from photolog.photos.decode import open_upright
from photolog.photos.kinds import PhotoError
from photolog.photos.strips import StripSubject
from photolog.reports.pages import Picture, PictureStrip, as_data_uri, fill, strip_of
from photolog.reports.wording import day_text, moment_text, ratio_line, size_texts

__all__ = ["history_page"]

_SIZES = {
    "bloom": ("widest_mm", "diameter_mm", "ring_mm", "area_cm2"),
    "bloom-side": ("depth_mm", "across_mm"),
    "clump": ("spread_mm", "width_mm", "area_cm2", "tubers", "longest_tuber_mm"),
    "seeds": ("seeds", "length_mm"),
}
_LEADING = {
    "bloom": ("widest_mm",),
    "bloom-side": ("depth_mm",),
    "clump": ("spread_mm", "tubers"),
    "seeds": ("seeds",),
}
_TITLES = {
    "bloom": "Blooms",
    "bloom-side": "Blooms from the side",
    "clump": "Clumps",
    "seeds": "Seeds",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A photo in the table, in words."""

    number: int
    name: str
    when: str
    season: str
    shows: str
    sizes: tuple[str, ...]
    remarks: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """Photos of one kind at one scale."""

    title: str
    strip: PictureStrip


def history_page(history: PlantHistory) -> str:
    """One self-contained HTML page of a plant's history, with same-scale strips."""
    kinds: dict[str, list[HistoryPhoto]] = {}
    others = []
    for photo in history.photos:
        measured = photo.record.measured
        if _can_cut(photo) and measured is not None:
            kinds.setdefault(measured.measured_of, []).append(photo)
        else:
            others.append(photo)
    shown = []
    for kind, photos in kinds.items():
        strip = strip_of([_subject(photo) for photo in photos])
        if strip is not None:
            shown.append(_Shown(title=_TITLES.get(kind, kind.capitalize()), strip=strip))
    return fill(
        "history.html.j2",
        history=history,
        shown=shown,
        others=_small_pictures(others),
        ratios=[f"{day_text(one.on)}: {ratio_line(one)}" for one in history.ratios],
        rows=[_row(photo) for photo in history.photos],
    )


def _can_cut(photo: HistoryPhoto) -> bool:
    measured = photo.record.measured
    return (
        measured is not None
        and not measured.refused
        and measured.outline is not None
        and bool(measured.mm_per_px)
    )


def _subject(photo: HistoryPhoto) -> StripSubject:
    record = photo.record
    measured = record.measured
    if measured is None or measured.outline is None or measured.mm_per_px is None:
        msg = f"{record.name} has no outline to cut along"
        raise ValueError(msg)
    names = _LEADING.get(measured.measured_of, tuple(measured.sizes))
    figures = ", ".join(size_texts(measured.sizes, names))
    if measured.doubts or measured.turned_down:
        figures = f"{figures} (doubtful)" if figures else "doubtful"
    return StripSubject(
        photo=record.path,
        outline=measured.outline,
        mm_per_px=measured.mm_per_px,
        caption=day_text(record.taken_at) if record.taken_at else "no date",
        figures=figures,
    )


def _row(photo: HistoryPhoto) -> _Row:
    record, measured = photo.record, photo.record.measured
    sizes: list[str] = []
    remarks: list[str] = []
    if photo.with_others:
        more = f"{photo.with_others} more"
        remarks.append(f"Belongs to {more}, so that no size in it is this one's alone.")
    elif measured is None:
        remarks.append("Not measured.")
    elif measured.refused:
        remarks += [text for text in (measured.reason, measured.remedy) if text]
    else:
        sizes = size_texts(measured.sizes, _SIZES.get(measured.measured_of, tuple(measured.sizes)))
        if measured.turned_down:
            remarks.append("You turned this measurement down.")
        elif measured.by_hand:
            remarks.append(_by_hand(measured))
        elif measured.accepted:
            remarks.append("Accepted by you.")
        for doubt in measured.doubts:
            remarks.append(f"{doubt.sentence} {doubt.remedy}".strip())
    shows = "not told" if record.shows == "unknown" else str(record.shows)
    return _Row(
        number=record.id,
        name=record.name,
        when=moment_text(record.taken_at, day_told=record.day_told),
        season="–" if photo.season is None else str(photo.season),
        shows=f"{shows}, {photo.stage}" if photo.stage else shows,
        sizes=tuple(sizes),
        remarks=tuple(remarks),
        because="Matched by hand." if photo.by_hand else photo.because,
    )


def _by_hand(measured: MeasuredSizes) -> str:
    """How it was made, on which day where it was read off, and what the program measured."""
    day = f", {day_text(measured.read_on)}" if measured.read_on else ""
    beside = ", ".join(size_texts(measured.beside, measured.sizes))
    own = f" photolog measured {beside}." if beside else ""
    return f"Your own size, {measured.how_made}{day}.{own}"


def _small_pictures(photos: Sequence[HistoryPhoto], *, longest_px: int = 320) -> list[Picture]:
    """Photos that have no size, small and whole; at no common scale."""
    pictures = []
    for photo in photos:
        record = photo.record
        when = day_text(record.taken_at) if record.taken_at else "no date"
        shows = "" if record.shows == "unknown" else str(record.shows)
        src, problem = None, None
        try:
            small = Image.fromarray(open_upright(record.path))
            small.thumbnail((longest_px, longest_px))
            kept = io.BytesIO()
            small.save(kept, "JPEG", quality=80)
            src = as_data_uri(kept.getvalue())
        except (PhotoError, OSError) as error:
            problem = str(error) or type(error).__name__
        pictures.append(
            Picture(
                src=src,
                alt=f"Photo of {when}{f', {shows}' if shows else ''}, not measured",
                caption=when,
                figures=shows,
                problem=problem,
            )
        )
    return pictures
