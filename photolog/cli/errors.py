"""Trouble becomes one line on stderr and an exit code, here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import typer

__all__ = ["fail", "user_errors"]


def fail(sentence: str) -> typer.Exit:
    """Print ``Error: sentence`` on stderr and give the exit to raise."""
    typer.echo(f"Error: {sentence}", err=True)
    return typer.Exit(1)


def _sentence_of(problem: OSError) -> str:
    if isinstance(problem, FileNotFoundError):
        return f"no such file or folder: {problem.filename}"
    if isinstance(problem, PermissionError):
        return f"not allowed to read or write {problem.filename}"
    return f"{problem.strerror}: {problem.filename}. Nothing more was written."


@contextmanager
def user_errors() -> Iterator[None]:
    """Turn what the book, the photos and the prints refuse into a sentence and exit code 1."""
    from photolog.book.errors import BookError
    from photolog.photos.kinds import PhotoError

    try:
        yield
    except (BookError, PhotoError) as problem:
        raise fail(str(problem)) from problem
    except OverflowError as problem:
        sentence = "A number is too large for the stock book: look at it again."
        raise fail(sentence) from problem
    except BrokenPipeError as closed:
        # What reads the lines (a pager, head) was closed: nobody is left to be told.
        raise typer.Exit(1) from closed
    except OSError as problem:
        raise fail(_sentence_of(problem)) from problem
