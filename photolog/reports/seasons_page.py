"""The page that sets one season's clumps beside another's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from photolog.book.season_photos import ClumpPhoto
from photolog.book.seasons import SeasonComparison
from photolog.comparing.changes import Comparison, PooledChange, VarietyChange
from photolog.comparing.figures import change_text, ratio_text
from photolog.comparing.spreads import Spread
from photolog.comparing.words import Words
from photolog.photos.strips import StripSubject
from photolog.reports.chart import Chart, ratio_chart
from photolog.reports.pages import Picture, fill, strip_of
from photolog.reports.wording import change_span, day_text, listed, mean_text, size_texts

__all__ = ["seasons_page"]

_STRIP_SIZES = ("spread_mm", "tubers")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A row of the table, in words."""

    name: str
    stage: str
    clumps: str
    first: str
    second: str
    ratio: str
    span: str
    word: str
    why: str | None
    pooled: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """One quantity: its summary, chart and table."""

    ident: str
    title: str
    caption: str
    sentences: tuple[str, ...]
    said: tuple[tuple[str, str], ...]
    stage: str | None
    chart: Chart | None
    chart_title: str
    chart_words: str
    lines: tuple[_Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Beside:
    """One plant's clumps of both seasons, side by side."""

    title: str
    pictures: tuple[Picture, ...]


def seasons_page(comparison: SeasonComparison) -> str:
    """One self-contained HTML page of a season comparison, with same-scale strips."""
    size = _part(
        comparison.size, ident="size", title="Size", quantity="spread (widest measure)", unit="mm"
    )
    number = _part(
        comparison.number, ident="number", title="Number", quantity="number of tubers", unit=""
    )
    pictured = sorted(comparison.photos, key=lambda p: (p.variety, p.tag or "", p.plant.id))
    strip = strip_of([_subject(photo) for photo in pictured if _can_cut(photo)])
    return fill(
        "seasons.html.j2",
        first=comparison.first,
        second=comparison.second,
        parts=[size, number],
        strip=strip,
        beside=_beside(pictured, strip.pictures if strip else ()),
        unlike=comparison.unlike,
        doubtful=comparison.doubtful,
        left_out=comparison.left_out,
        notes=_notes(comparison),
        n_photos=len(comparison.photos),
    )


def _part(comparison: Comparison, *, ident: str, title: str, quantity: str, unit: str) -> _Part:
    words = comparison.kind.words
    several = len({row.stage for row in comparison.rows}) > 1
    lines = [_line(row, words=words, unit=unit) for row in comparison.rows]
    lines += [_pooled_line(one, words=words) for one in comparison.pooled]
    first, second = comparison.first, comparison.second
    chart = ratio_chart(comparison)
    return _Part(
        ident=ident,
        title=title,
        caption=(
            f"{quantity[:1].upper()}{quantity[1:]} of the clumps, by variety. The ± and the "
            "figures in brackets are 95 % intervals: the truth lies within 19 times in 20."
        ),
        sentences=tuple(
            _sentence(one, words=words, first=first, second=second, several=several)
            for one in comparison.pooled
        ),
        said=_by_word(comparison),
        stage=None if several or not comparison.rows else lines[0].stage,
        chart=chart,
        chart_title=f"Season {second} over season {first}: {quantity}",
        chart_words="; ".join(f"{row.label} {row.figures}, {row.word}" for row in chart.rows)
        if chart
        else "",
        lines=tuple(lines),
    )


def _line(row: VarietyChange, *, words: Words, unit: str) -> _Line:
    change = row.change
    if change is None:
        clumps = f"{row.n_first} and {row.n_second}"
    elif change.basis == "same clumps":
        clumps = "same clump" if row.n_same == 1 else f"same {row.n_same} clumps"
    else:
        clumps = f"{row.n_first} and {row.n_second} others"
    return _Line(
        name=row.variety,
        stage=row.stage or "stage not told",
        clumps=clumps,
        first=mean_text(row.first, unit),
        second=mean_text(row.second, unit),
        ratio=ratio_text(change.ratio, change.interval95) if change else "–",
        span=_change_words(change.ratio, words) if change else "",
        word=row.word,
        why=row.why,
        pooled=False,
    )


def _pooled_line(one: PooledChange, *, words: Words) -> _Line:
    known = one.ratio is not None and one.interval95 is not None
    return _Line(
        name="All varieties",
        stage=one.stage or "stage not told",
        clumps=f"{one.n_varieties} varieties" if one.n_varieties != 1 else "1 variety",
        first="",
        second="",
        ratio=ratio_text(one.ratio, one.interval95) if known and one.ratio else "–",
        span=_change_words(one.ratio, words) if one.ratio is not None else "",
        word=one.word,
        why=one.why,
        pooled=True,
    )


def _change_words(ratio: float, words: Words) -> str:
    return change_text(ratio, down=words.down, up=words.up)


def _sentence(one: PooledChange, *, words: Words, first: int, second: int, several: bool) -> str:
    """What the pooled row says, as a sentence."""
    of = f" ({one.stage or 'stage not told'})" if several else ""
    if one.ratio is None:
        return f"Over all varieties{of}: too few to say; {one.why}."
    middle = _change_words(one.ratio, words)
    apart = one.between_sd or 0.0
    differ = f" The varieties differ in this by about {100 * apart:.0f} %." if apart >= 0.01 else ""
    return (
        f"Over {one.n_varieties} varieties{of}, season {second} beside {first}: {one.word}. "
        f"The best guess is {middle}; 95 % interval {change_span(one, words)}.{differ}"
    )


def _by_word(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """Each word with the varieties of which it is said."""
    words = comparison.kind.words
    said = []
    for word in (words.down, words.up, "no clear change", "too few to say"):
        names = dict.fromkeys(row.variety for row in comparison.rows if row.word == word)
        if names:
            said.append((word, listed(names)))
    return tuple(said)


def _can_cut(photo: ClumpPhoto) -> bool:
    measured = photo.record.measured
    return measured is not None and measured.outline is not None and bool(measured.mm_per_px)


def _subject(photo: ClumpPhoto) -> StripSubject:
    record = photo.record
    measured = record.measured
    if measured is None or measured.outline is None or measured.mm_per_px is None:
        msg = f"{record.name} has no outline to cut along"
        raise ValueError(msg)
    when = day_text(record.taken_at) if record.taken_at else "no date"
    return StripSubject(
        photo=record.path,
        outline=measured.outline,
        mm_per_px=measured.mm_per_px,
        caption=f"{photo.season}: {when}",
        figures=", ".join(size_texts(measured.sizes, _STRIP_SIZES)),
    )


def _beside(photos: Sequence[ClumpPhoto], pictures: Sequence[Picture]) -> list[_Beside]:
    rest = iter(pictures)
    groups: dict[tuple[str, str | None], list[Picture]] = {}
    for photo in photos:
        if _can_cut(photo):
            groups.setdefault((photo.variety, photo.tag), []).append(next(rest))
    return [
        _Beside(
            title=f"{variety}, tag {tag}" if tag else variety,
            pictures=tuple(group),
        )
        for (variety, tag), group in groups.items()
    ]


def _notes(comparison: SeasonComparison) -> list[str]:
    """What the ± rest on, in words."""
    size, number = comparison.size, comparison.number
    notes = [
        "A season is named by the year in which the plants were planted out.",
        "Where the same clumps were measured in both seasons, only these are compared, each with "
        "itself. Sizes are typical ones (geometric means).",
        f"A clump laid again does not read the same: {_percent(size.lay)} in spread "
        f"and {_percent(number.lay)} in number, {_rests_on(size.lay, 'layings')}. This is in the ± "
        "of the seasons, but not in that of a single photo.",
        "The card's scale is the same error in every size taken with one printing. Between seasons "
        "measured with the same printing it cancels; else it is in the ±, and averaging does not "
        "make it smaller.",
        "Smaller or larger is said when the whole 95 % interval lies on one side of no change. "
        "Otherwise it is no clear change, unless the interval reaches more than a quarter (for "
        "numbers a half) either way: then there are too few to say.",
    ]
    scatter = size.change_scatter
    if scatter is None:
        notes.append(
            "Each variety's ± speaks of the very clumps that were measured: how differently other "
            "clumps of it may have changed can't be told, because no variety has two clumps "
            "measured in both seasons."
        )
    else:
        notes.append(
            "How differently clumps of one variety changed is in the ± as far as the pairs show "
            f"it: {_percent(scatter)}, from {scatter.observed} more clumps than varieties."
        )
    if any(row.change and row.change.basis == "different clumps" for row in size.rows):
        notes.append(
            "Where other clumps were measured in the second season, clumps of one variety are "
            f"taken to differ by {_percent(size.between)}, {_rests_on(size.between, 'clumps')}."
        )
    return notes


def _percent(spread: Spread) -> str:
    return f"about {spread.sd * 100:.1f} %" if spread.sd < 0.1 else f"about {spread.sd * 100:.0f} %"


def _rests_on(spread: Spread, what: str) -> str:
    if spread.prior is None:
        return f"seen in {spread.observed} repeated {what}"
    if spread.observed == 0:
        return "which is our own judgement, not measured"
    prior = f"{100 * spread.prior:.0f} %"
    return f"from {spread.observed} repeated {what} and our own judgement of {prior}"
