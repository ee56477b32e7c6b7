"""One line that says how far a long job is: done, photos a second, time left."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from photolog.book.workers import Progress

__all__ = ["progress_line"]

_BAR = 20


@contextmanager
def progress_line(doing: str) -> Iterator[Callable[[Progress], None] | None]:
    """Give a callback that keeps one line up to date; None where nobody watches (a pipe)."""
    if not sys.stderr.isatty():
        yield None
        return

    def show(progress: Progress) -> None:
        filled = round(_BAR * progress.done / max(progress.total, 1))
        left = "" if progress.seconds_left is None else f", {progress.seconds_left:.0f} s left"
        typer.echo(
            f"\r{doing} [{'=' * filled}{' ' * (_BAR - filled)}] "
            f"{progress.done}/{progress.total}, {progress.per_second:.1f} photos/s{left}   ",
            err=True,
            nl=False,
        )

    try:
        yield show
    finally:
        typer.echo("\r" + " " * 79 + "\r", err=True, nl=False)
