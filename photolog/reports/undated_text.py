"""Photos without a date in lines: what came together, and how their day is told once."""

from __future__ import annotations

from collections.abc import Sequence

from photolog.book.told_days import DayTold
from photolog.photos.undated import UndatedLot
from photolog.reports.wording import day_text
from photolog.spans import spans
from photolog.tables import lines_of

__all__ = ["told_text", "undated_text", "untold_text"]


def undated_text(lots: Sequence[UndatedLot]) -> str:
    """Each lot: its photos, what they look like, and the command that tells their day."""
    return "\n".join(_lot(lot) for lot in lots)


def told_text(told: DayTold) -> str:
    """A day just told, and for how many photos."""
    day = day_text(told.on) if told.on is not None else "several days"
    return lines_of(
        f"{_photos(len(told.photo_ids))} ({spans(told.photo_ids)}): {day}, in the order of their "
        "names, the hour unknown."
    )


def untold_text(told: DayTold) -> str:
    """A day just taken back."""
    return lines_of(f"{_photos(len(told.photo_ids))} ({spans(told.photo_ids)}): no day any more.")


def _lot(lot: UndatedLot) -> str:
    ids = [photo.photo_id for photo in lot.photos]
    first, last = lot.photos[0].name, lot.photos[-1].name
    one = len(ids) == 1
    names = first if one else f"{first} to {last}"
    said = f"{spans(ids)}: {_photos(len(ids))} without a date, {names}."
    if lot.sent:
        lost = "its date off and made it" if one else "their dates off and made them"
        said += f" A messaging program may have taken {lost} smaller."
    day = "DAY"
    if lot.named_day is not None:
        day = lot.named_day.isoformat()
        named = "Its name says" if one else "Their names say"
        said += f" {named} {day_text(lot.named_day)}, which may be the day of sending."
    command = f"photolog dated {spans(ids, sep=',')} --on {day}"
    return f"{lines_of(said)}\n{lines_of(command, indent=4)}"


def _photos(count: int) -> str:
    return "1 photo" if count == 1 else f"{count} photos"
