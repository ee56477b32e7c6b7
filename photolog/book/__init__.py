"""The stock book: what a grower can do with it, one file per noun; frozen views leave it."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from photolog.book.errors import BookError
    from photolog.book.stock import StockRef
    from photolog.book.stockbook import StockBook

__all__ = ["BookError", "StockBook", "StockRef"]

_MODULES = {"BookError": "errors", "StockBook": "stockbook", "StockRef": "stock"}


def __getattr__(name: str) -> object:
    # Only when asked for: processes that read and measure photos have no use for the database.
    if name not in _MODULES:
        msg = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(msg)
    return getattr(import_module(f"{__name__}.{_MODULES[name]}"), name)
