"""The page of what waits: each outing with small pictures, likeliest plants, what to type."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from photolog.book.originals import thumbnails_of
from photolog.book.stock import StockRef
from photolog.book.stockbook import StockBook
from photolog.book.waiting import WaitingPhoto
from photolog.book.waiting_runs import Example, WaitingRun, examples, is_laid, likely
from photolog.photos.facts import Shows
from photolog.photos.kinds import PhotoError
from photolog.reports.pages import Picture, as_data_uri, fill
from photolog.reports.waiting_text import (
    candidate_name,
    how_likely,
    others_text,
    run_commands,
    run_title,
    same_in_a_row,
    says_more,
)
from photolog.reports.wording import moment_text
from photolog.spans import spans

__all__ = ["waiting_page"]

# So many photos in a row of which the same is said are shown; the others are counted.
_MOST_PICTURES = 6

_Alike = Mapping[tuple[StockRef, Shows | None], Example]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidate:
    """A likely plant in words, with a photo of it to compare with where there is one."""

    name: str
    how: str
    because: str
    picture: Picture | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Photos:
    """Photos in a row of which the same is said."""

    numbers: str
    because: str
    pictures: tuple[Picture, ...]
    more_pictures: int
    candidates: tuple[_Candidate, ...]
    others: str
    command: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """One outing."""

    title: str
    commands: tuple[tuple[str, str], ...]
    photos: tuple[_Photos, ...]


def waiting_page(book: StockBook, runs: Sequence[WaitingRun]) -> str:
    """One self-contained HTML page of all that waits, as ``waiting_runs`` gives it."""
    alike = examples(book, runs)
    photos = [one for run in runs for one in run.photos]
    small = thumbnails_of(
        book, [*(one.photo_id for one in photos), *(one.photo_id for one in alike.values())]
    )
    return fill(
        "waiting.html.j2",
        count=len(photos),
        runs=[_run(run, alike, small) for run in runs],
    )


def _run(run: WaitingRun, alike: _Alike, small: Mapping[int, Path | PhotoError]) -> _Run:
    return _Run(
        title=run_title(run).rstrip(":."),
        commands=tuple(run_commands(run)),
        photos=tuple(
            _photos(some, alike, small, by_order=run.by_order) for some in same_in_a_row(run)
        ),
    )


def _photos(
    some: Sequence[WaitingPhoto],
    alike: _Alike,
    small: Mapping[int, Path | PhotoError],
    *,
    by_order: bool,
) -> _Photos:
    first = some[0]
    # The title says of all that they are laid along an order; each need not say it again.
    laid = by_order and is_laid(first)
    shown = likely(first.candidates)
    numbers = spans((one.photo_id for one in some), sep=",")
    best = first.candidates[0] if first.candidates else None
    tag = best.tag if best is not None else None
    return _Photos(
        numbers=numbers,
        because="" if laid else first.because,
        pictures=tuple(
            _picture(
                one.photo_id,
                small,
                alt=f"Photo {one.photo_id}",
                caption=moment_text(one.taken_at),
                figures=f"{one.name}, photo {one.photo_id}",
            )
            for one in some[:_MOST_PICTURES]
        ),
        more_pictures=max(0, len(some) - _MOST_PICTURES),
        candidates=tuple(
            _Candidate(
                name=candidate_name(one),
                how=how_likely(one),
                because="" if laid or not says_more(one, first) else one.because,
                picture=_example(alike.get((one.stock, first.shows)), small),
            )
            for one in shown.shown
        ),
        others=others_text(shown.others, shown.at_most),
        command=None if tag is None else f"photolog decide {numbers} {tag}",
    )


def _example(found: Example | None, small: Mapping[int, Path | PhotoError]) -> Picture | None:
    if found is None:
        return None
    return _picture(
        found.photo_id,
        small,
        alt=f"A photo of it, {moment_text(found.taken_at)}",
        caption="",
        figures=f"as on {moment_text(found.taken_at)}",
    )


def _picture(
    photo_id: int,
    small: Mapping[int, Path | PhotoError],
    *,
    alt: str,
    caption: str,
    figures: str,
) -> Picture:
    path = small.get(photo_id)
    if isinstance(path, Path):
        src, problem = as_data_uri(path.read_bytes()), None
    else:
        src, problem = None, str(path or "it is gone")
    return Picture(src=src, alt=alt, caption=caption, figures=figures, problem=problem)
