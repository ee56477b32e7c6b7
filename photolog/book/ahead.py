"""Days that lie ahead: what has not happened yet is not entered."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from photolog.book.errors import WrongEntry

__all__ = ["clock", "refuse_ahead"]


def clock() -> datetime:
    """The moment that counts as now where none is given."""
    return datetime.now(UTC)


def refuse_ahead(on: date, *, now: datetime | None) -> None:
    """Raise ``WrongEntry`` for a day later than tomorrow; ``now`` None: by the clock.

    Tomorrow is let through: east of the computer's time zone, or by a clock that is slow, it may
    have begun.
    """
    today = (clock() if now is None else now).date()
    if on > today + timedelta(days=1):
        msg = (
            f"{on} is still to come (today is {today}). Enter what happened once it has happened; "
            "if the day is right, set the computer's clock."
        )
        raise WrongEntry(msg)
