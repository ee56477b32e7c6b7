"""The stock book: what a grower can do with it, one file per noun; frozen views leave it."""

from photolog.book.errors import BookError
from photolog.book.stock import StockRef
from photolog.book.stockbook import StockBook

__all__ = ["BookError", "StockBook", "StockRef"]
