"""A season comparison as plain text for the terminal."""

from __future__ import annotations

from textwrap import fill

from photolog.book.seasons import SeasonComparison
from photolog.comparing.changes import Comparison, PooledChange, VarietyChange
from photolog.comparing.figures import change_text, ratio_text
from photolog.comparing.words import NUMBER_WORDS, SIZE_WORDS, Words
from photolog.reports.wording import change_span, mean_text
from photolog.tables import table

__all__ = ["seasons_text"]


def seasons_text(compared: SeasonComparison) -> str:
    """Both seasons by size and by number, what was left out, and why; lines of at most 80."""
    parts = [f"Clumps of season {compared.second} beside {compared.first}"]
    for title, comparison, words, unit in (
        ("Size (spread)", compared.size, SIZE_WORDS, "mm"),
        ("Number (tubers seen)", compared.number, NUMBER_WORDS, ""),
    ):
        parts += ["", title, _changes(comparison, unit)]
        parts += _too_few(comparison)
        parts += [_pooled(pooled, words) for pooled in comparison.pooled]
    parts += ["", "n: clumps compared. The ± and the figures in brackets: 95 % intervals."]
    if compared.unlike:
        parts += ["", "Not grown alike, which may be part of the change:"]
        parts += [
            fill(one, 78, initial_indent="  ", subsequent_indent="    ") for one in compared.unlike
        ]
    if compared.doubtful:
        parts += ["", "Used, but look at these again:"]
        parts += [
            fill(
                f"photo {photo.record.id}, {photo.record.name} ({photo.variety}): "
                + " ".join(doubt.sentence for doubt in photo.doubts),
                78,
                initial_indent="  ",
                subsequent_indent="    ",
            )
            for photo in compared.doubtful
        ]
    if compared.left_out:
        parts += ["", "Left out:"]
        parts += [
            fill(
                f"photo {one.photo_id}, {one.name}: {one.why} {one.remedy}".rstrip(),
                78,
                initial_indent="  ",
                subsequent_indent="    ",
            )
            for one in compared.left_out
        ]
    return "\n".join(parts)


def _changes(comparison: Comparison, unit: str) -> str:
    rows = [_row(change) for change in comparison.rows]
    first, second = (
        f"{y}, {unit}" if unit else f"{y}" for y in (comparison.first, comparison.second)
    )
    head = ("variety", "n", first, second, "ratio", "")
    return table(head, rows, right="lrrrl")


def _too_few(comparison: Comparison) -> list[str]:
    """Why nothing can be said of a variety, a line each."""
    return [
        fill(f"{_named(row)}: {row.why}.", 80, subsequent_indent="  ")
        for row in comparison.rows
        if row.word == "too few to say" and row.why
    ]


def _named(row: VarietyChange) -> str:
    stage = f", {row.stage}" if row.stage and row.stage != "as lifted" else ""
    return f"{row.variety}{stage}"


def _row(change: VarietyChange) -> tuple[str, ...]:
    clumps = (
        str(change.n_same) if change.n_same else f"{change.n_first or '-'}/{change.n_second or '-'}"
    )
    return (
        _named(change),
        clumps,
        mean_text(change.first, ""),
        mean_text(change.second, ""),
        ratio_text(change.change.ratio, change.change.interval95, to="–") if change.change else "",
        change.word,
    )


def _pooled(pooled: PooledChange, words: Words) -> str:
    stage = "" if pooled.stage in (None, "as lifted") else f" ({pooled.stage})"
    if pooled.ratio is None or pooled.interval95 is None:
        return fill(f"All together{stage}: {pooled.why or pooled.word}.", 80)
    best = change_text(pooled.ratio, down=words.down, up=words.up)
    return fill(
        f"All {pooled.n_varieties} varieties together{stage}: {pooled.word} "
        f"(best guess {best}; 95 %: {change_span(pooled, words)}).",
        80,
    )
