"""Bringing a stock book's tables up to date, with a backup first."""

from photolog.records.migrations.running import (
    HEAD,
    KNOWN,
    UNFINISHED,
    back_up,
    bring_up_to_date,
    make_tables,
    version_of,
)

__all__ = [
    "HEAD",
    "KNOWN",
    "UNFINISHED",
    "back_up",
    "bring_up_to_date",
    "make_tables",
    "version_of",
]
