"""Connections to the stock book's file: pragmas, one engine to write, one to read."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import Connection, Engine, create_engine, event

__all__ = ["APPLICATION_ID", "BUSY_TIMEOUT_MS", "Begin", "engine_for"]

# Marks the file as ours (SQLite keeps it in the header); the letters "plog".
APPLICATION_ID = 0x706C6F67

BUSY_TIMEOUT_MS = 5_000

Begin = Literal["BEGIN IMMEDIATE", "BEGIN"]


def engine_for(
    path: Path,
    *,
    begin: Begin,
    foreign_keys: bool = True,
    busy_timeout_ms: int = BUSY_TIMEOUT_MS,
) -> Engine:
    """Make an engine for an existing stock book file.

    Parameters
    ----------
    path : Path
        The SQLite file. It is never made here: a missing one fails on first use.
    begin : "BEGIN IMMEDIATE" or "BEGIN"
        How its transactions start. Whoever means to write takes the write lock at once: a
        transaction that reads first and writes later can't wait for the lock (its reading would
        be out of date) and fails at once with "database is locked". Readers take plain BEGIN and,
        thanks to the write-ahead log, never wait.
    foreign_keys : bool
        Off only for migrations, which rebuild tables: with foreign keys on, rebuilding a parent
        table would delete every child row.
    busy_timeout_ms : int
        How long to wait for another program's lock.
    """
    # mode=rw: SQLite would otherwise make an empty file where the book is missing.
    engine = create_engine(
        f"sqlite:///file:{_quoted(path)}?mode=rw&uri=true",
        connect_args={"timeout": busy_timeout_ms / 1000},
    )

    @event.listens_for(engine, "connect")
    def set_up(connection: sqlite3.Connection, _record: Any) -> None:
        # The driver's own transaction handling leaves tables made or dropped outside the
        # transaction; with None it keeps out of the way, and BEGIN is ours.
        connection.isolation_level = None
        connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")
        if begin == "BEGIN IMMEDIATE":
            connection.execute("PRAGMA journal_mode = WAL")
            # FULL, not NORMAL: in write-ahead mode NORMAL keeps the file whole but may lose the
            # last transactions when the power goes. A photo that photolog said it took in must
            # still be there, so each commit is synced; it costs one fsync a commit, little beside
            # the fsync of the photo itself.
            connection.execute("PRAGMA synchronous = FULL")
        else:
            connection.execute("PRAGMA query_only = ON")

    @event.listens_for(engine, "begin")
    def start(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine


def _quoted(path: Path) -> str:
    from urllib.parse import quote

    return quote(str(path.resolve()))
