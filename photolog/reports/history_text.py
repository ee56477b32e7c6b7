"""A plant's history as plain text for the terminal."""

from __future__ import annotations

from textwrap import fill

from photolog.book.history import HistoryPhoto, PlantHistory
from photolog.reports.wording import ratio_line, size_texts
from photolog.tables import table

__all__ = ["history_text"]

_SIZES = ("widest_mm", "ring_mm", "depth_mm", "spread_mm", "tubers", "seeds", "length_mm")


def history_text(told: PlantHistory) -> str:
    """Who it is, its day book, and its dated photos with their sizes; lines of at most 80."""
    form = f", {told.form}" if told.form else ""
    lines = [f"{told.variety}{form}: tag {told.tag}", f"{told.came_from}, since {told.since}"]
    if told.count is not None:
        lines.append(f"{told.left} of {told.count} {told.kind} left")
    if told.ended is not None:
        lines.append(f"{told.ended[0]} on {told.ended[1]}")
    for season in told.seasons:
        lifted = f"lifted {season.lifted_on}" if season.lifted_on else "not lifted"
        lines.append(f"Season {season.year}: planted out {season.planted_on}, {lifted}")
    if told.day_book:
        rows = [(f"{line.on}", str(line.what), "; ".join(line.details)) for line in told.day_book]
        lines += ["", table(("day", "what", ""), rows)]
    lines += ["", "Photos (±: 95 % intervals)" if told.photos else "No photos yet."]
    for photo in told.photos:
        lines.append(fill(_photo_line(photo), 80, subsequent_indent="    "))
    lines += [
        fill(f"{ratio.on}  {ratio_line(ratio)}", 80, subsequent_indent="    ")
        for ratio in told.ratios
    ]
    return "\n".join(lines)


def _photo_line(photo: HistoryPhoto) -> str:
    record = photo.record
    taken = f"{record.taken_at:%Y-%m-%d %H:%M}" if record.taken_at else "no date         "
    line = f"{taken}  photo {record.id}  {record.name}"
    if record.burst != record.id:
        line += f" (of one burst with photo {record.burst}: counts once)"
    measured = record.measured
    if photo.with_others:
        return f"{line}  with {photo.with_others} more, so no size of its own"
    if measured is None:
        return f"{line}  not measured"
    if measured.refused:
        return f"{line}  not measured: {measured.reason}"
    line += "  " + ", ".join(size_texts(measured.sizes, _SIZES))
    if measured.by_hand:
        line += f"  ({measured.how_made})"
    if measured.doubts:
        line += f"  (look again: {', '.join(doubt.flag for doubt in measured.doubts)})"
    return line
