"""Settings of a stock book: each with its default, what it is for, and what it may be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from photolog.book.errors import Unknown, WrongEntry
from photolog.book.nearest import did_you_mean, nearest_names
from photolog.book.stockbook import StockBook
from photolog.book.wording import WORDS
from photolog.records import SettingRow

__all__ = ["SETTINGS", "Setting", "Value", "every", "get", "put"]

Value = str | float


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One setting; ``read`` turns what was typed into its value, ``ValueError`` if it can't be."""

    default: Value
    about: str
    read: Callable[[str], Value]


def _one_of(*words: str) -> Callable[[str], Value]:
    def read(typed: str) -> Value:
        if typed not in words:
            msg = f"it is one of: {', '.join(words)}"
            raise ValueError(msg)
        return typed

    return read


def _between(low: float, high: float) -> Callable[[str], Value]:
    def read(typed: str) -> Value:
        try:
            value = float(typed)
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            msg = f"it is a number from {low:g} to {high:g}"
            raise ValueError(msg)
        return value

    return read


SETTINGS: dict[str, Setting] = {
    "match_threshold": Setting(
        default=0.95,
        about="How sure a match must be to be made without asking, from 0.5 to 1.",
        read=_between(0.5, 1.0),
    ),
    "run_pause_minutes": Setting(
        default=10.0,
        about="After so many minutes without a photo, a tag shot no longer speaks for the next.",
        read=_between(1.0, 240.0),
    ),
    "tag_shot": Setting(
        default="learn",
        about="Whether you photograph the tag before or after its plant; learn: from each day.",
        read=_one_of("learn", "before", "after"),
    ),
    **{
        f"word.{term}": Setting(
            default=choices[0],
            about=f"What you call it: {', '.join(choices)}.",
            read=_one_of(*choices),
        )
        for term, choices in WORDS.items()
    },
}


def get(book: StockBook, name: str) -> Value:
    """A setting's value, or its default where it was never set; ``Unknown`` for its name."""
    known = _named(name)
    with book.reading() as session:
        row = session.get(SettingRow, name)
        value: Value = known.default if row is None else row.value
        return value


def put(book: StockBook, name: str, value: Value) -> Value:
    """Set a setting; ``WrongEntry`` says what it may be."""
    known = _named(name)
    try:
        checked = known.read(str(value))
    except ValueError as wrong:
        msg = f"The setting {name} can't be {value!r}: {wrong}."
        raise WrongEntry(msg) from wrong
    with book.writing() as session:
        session.merge(SettingRow(name=name, value=checked))
    return checked


def every(book: StockBook) -> dict[str, Value]:
    """All settings with their values, set or default."""
    with book.reading() as session:
        rows = {row.name: row.value for row in session.query(SettingRow)}
        return {name: rows.get(name, one.default) for name, one in SETTINGS.items()}


def _named(name: str) -> Setting:
    if name not in SETTINGS:
        msg = (
            f"There is no setting {name!r}.{did_you_mean(nearest_names(name, SETTINGS))} "
            f"There are: {', '.join(SETTINGS)}."
        )
        raise Unknown(msg)
    return SETTINGS[name]
