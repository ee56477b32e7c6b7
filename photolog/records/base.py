# ruff: noqa: ARG002  (SQLAlchemy hands every column type the dialect)
"""The declarative base, and the column types that SQLite's STRICT tables take.

STRICT tables know TEXT, INTEGER, REAL and BLOB only, so everything is kept as one of these: dates
and times as ISO 8601 text (which sorts as it should), closed lists as their words, yes and no as 1
and 0, settings and points as JSON text.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time
from enum import StrEnum
from typing import Annotated, Any, TypeVar

from sqlalchemy import (
    REAL,
    CheckConstraint,
    Dialect,
    Integer,
    MetaData,
    Text,
    TypeDecorator,
)
from sqlalchemy.orm import DeclarativeBase, mapped_column
from sqlalchemy.schema import SchemaItem

from photolog import terms

__all__ = [
    "Base",
    "Instant",
    "IsoDate",
    "IsoInstant",
    "IsoTime",
    "IsoWallClock",
    "Json",
    "JsonText",
    "Key",
    "Millimetres",
    "Pixels",
    "Probability",
    "TextOf",
    "WallClock",
    "YesNo",
    "is_probability",
    "one_of",
    "one_set",
    "strict",
]

E = TypeVar("E", bound=StrEnum)

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class IsoDate(TypeDecorator[date]):
    """A day, kept as ``2026-05-17``."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        """Write the day; a moment is refused, since its time would be lost unseen."""
        if isinstance(value, datetime):
            msg = f"a day was expected, got the moment {value.isoformat()}"
            raise TypeError(msg)
        return None if value is None else value.isoformat()

    def process_result_value(self, value: str | None, dialect: Dialect) -> date | None:
        """Read the day."""
        return None if value is None else date.fromisoformat(value)


class IsoTime(TypeDecorator[time]):
    """A time of day by the clock on the wall, kept as ``14:05:00``."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: time | None, dialect: Dialect) -> str | None:
        """Write the time to the second."""
        return None if value is None else value.isoformat(timespec="seconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> time | None:
        """Read the time."""
        return None if value is None else time.fromisoformat(value)


class IsoWallClock(TypeDecorator[datetime]):
    """A moment by the clock on the wall (a camera's), without a zone."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """Write the moment; one with a zone is refused, since the zone has its own column."""
        if value is not None and value.tzinfo is not None:
            msg = f"a wall clock has no zone, got {value.isoformat()}"
            raise TypeError(msg)
        return None if value is None else value.isoformat()

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        """Read the moment, without a zone."""
        return None if value is None else datetime.fromisoformat(value)


class IsoInstant(TypeDecorator[datetime]):
    """A moment of this computer's, kept in UTC."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """Write the moment in UTC; one without a zone is refused."""
        if value is None:
            return None
        if value.tzinfo is None:
            msg = f"a moment needs its zone, got {value.isoformat()}"
            raise TypeError(msg)
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        """Read the moment, in UTC."""
        return None if value is None else datetime.fromisoformat(value)


class YesNo(TypeDecorator[bool]):
    """Yes or no, kept as 1 and 0."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> int | None:
        """Write 1 or 0."""
        return None if value is None else int(value)

    def process_result_value(self, value: int | None, dialect: Dialect) -> bool | None:
        """Read a bool."""
        return None if value is None else bool(value)


class JsonText(TypeDecorator[Any]):
    """Anything that JSON can hold, kept as compact text; NaN is refused."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """Write the text, keys in order, so that equal values are equal text."""
        if value is None:
            return None
        return json.dumps(
            value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
        )

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """Read what was written; tuples come back as lists."""
        return None if value is None else json.loads(value)


class TextOf(TypeDecorator[E]):
    """A word of one closed list, kept as the word."""

    impl = Text
    cache_ok = True

    def __init__(self, words: type[E]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: E | str | None, dialect: Dialect) -> str | None:
        """Write the word; ``ValueError`` where it is not in the list."""
        return None if value is None else self.words(value).value

    def process_result_value(self, value: str | None, dialect: Dialect) -> E | None:
        """Read the word."""
        return None if value is None else self.words(value)


Key = Annotated[int, mapped_column(primary_key=True)]
"""A row's number within its table."""

WallClock = Annotated[datetime, mapped_column(IsoWallClock())]
"""A camera's clock: no zone."""

Instant = Annotated[datetime, mapped_column(IsoInstant())]
"""This computer's clock, in UTC."""

Json = Annotated[Any, mapped_column(JsonText())]
"""JSON text; what is in it is said beside the column."""

Millimetres = Annotated[float, mapped_column(REAL())]
Pixels = Annotated[int, mapped_column(Integer())]

Probability = Annotated[float, mapped_column(REAL())]
"""From 0 to 1; a CHECK stands beside each."""

_WORD_LISTS: tuple[type[StrEnum], ...] = tuple(getattr(terms, name) for name in terms.__all__)


class Base(DeclarativeBase):
    """What every table shares: names of constraints, and one SQLite type for each Python type."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {  # noqa: RUF012  (SQLAlchemy reads it as a plain class attribute)
        str: Text(),
        int: Integer(),
        float: REAL(),
        bool: YesNo(),
        date: IsoDate(),
        time: IsoTime(),
        **{words: TextOf(words) for words in _WORD_LISTS},
    }


def strict(*items: SchemaItem) -> tuple[Any, ...]:
    """Constraints and indexes of one table, as ``__table_args__`` of a STRICT table."""
    return (*items, {"sqlite_strict": True})


def one_of(column: str, *lists: type[StrEnum]) -> CheckConstraint:
    """A CHECK that a column holds a word of these lists (NULL passes)."""
    words = ", ".join(f"'{word.value}'" for words in lists for word in words)
    return CheckConstraint(f"{column} IN ({words})", name=f"{column}_known")


def one_set(*columns: str) -> CheckConstraint:
    """A CHECK that exactly one of these columns is not NULL."""
    terms_of_sum = " + ".join(f"({column} IS NOT NULL)" for column in columns)
    return CheckConstraint(f"{terms_of_sum} = 1", name=f"one_{'_'.join(columns)}")


def is_probability(column: str) -> CheckConstraint:
    """A CHECK that a column runs from 0 to 1."""
    return CheckConstraint(f"{column} BETWEEN 0.0 AND 1.0", name=f"{column}_0_to_1")
