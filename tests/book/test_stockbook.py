"""Beginning and opening a stock book, and what belongs together in it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from sqlalchemy import text

from photolog.book import BookError, StockBook, varieties
from photolog.book.errors import AlreadyThere, BookMissing, FolderInUse, NotAStockBook, Unknown


def names(book: StockBook) -> list[str]:
    return [one.name for one in varieties.every(book)]


def test_a_stock_book_is_one_folder(tmp_path: Path) -> None:
    folder = tmp_path / "Tollgate 100% – größer"
    with StockBook.start(folder) as book:
        varieties.add(book, "Tin Orchard")
    assert sorted(path.name for path in folder.iterdir()) == [
        "backups",
        "book.sqlite3",
        "made",
        "photos",
    ]
    with StockBook.open(str(folder)) as again:
        assert names(again) == ["Tin Orchard"]


def test_a_stock_book_carried_elsewhere_opens(book: StockBook, tmp_path: Path) -> None:
    varieties.add(book, "Tin Orchard")
    book.close()
    shutil.copytree(book.folder, tmp_path / "elsewhere")
    with StockBook.open(tmp_path / "elsewhere") as moved:
        assert names(moved) == ["Tin Orchard"]


def test_it_begins_in_an_empty_folder_also_where_the_file_manager_was(tmp_path: Path) -> None:
    (tmp_path / ".DS_Store").touch()
    StockBook.start(tmp_path).close()


def test_it_never_begins_among_other_things(tmp_path: Path) -> None:
    for name in ("letter.txt", "b", "c", "d"):
        (tmp_path / name).touch()
    with pytest.raises(FolderInUse, match=r"already holds other things \(b, c, d …\)\. Give a new"):
        StockBook.start(tmp_path)
    assert not (tmp_path / "book.sqlite3").exists()


def test_photos_without_their_book_are_other_things(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "ab").touch()
    with pytest.raises(FolderInUse, match=r"already holds other things \(photos\)"):
        StockBook.start(tmp_path)


def test_it_never_begins_over_another(book: StockBook) -> None:
    with pytest.raises(FolderInUse, match="is a stock book already"):
        StockBook.start(book.folder)


def test_it_never_begins_in_a_file(tmp_path: Path) -> None:
    (tmp_path / "list.txt").touch()
    with pytest.raises(FolderInUse, match="is a file"):
        StockBook.start(tmp_path / "list.txt")


def test_a_missing_stock_book_says_how_to_begin_one(tmp_path: Path) -> None:
    with pytest.raises(
        BookMissing, match=r"no stock book in .*nowhere.* begin one: photolog start"
    ):
        StockBook.open(tmp_path / "nowhere")
    assert not (tmp_path / "nowhere").exists()


def test_a_folder_in_the_place_of_the_file_is_no_book(tmp_path: Path) -> None:
    (tmp_path / "book.sqlite3").mkdir()
    with pytest.raises(NotAStockBook, match="is not a stock book"):
        StockBook.open(tmp_path)


def test_what_an_error_leaves_is_nothing(book: StockBook) -> None:
    with pytest.raises(AlreadyThere, match="WHERRY LAMP is in the stock book already, as Wherry"):
        add_three(book, "Tin Orchard", "Wherry Lamp", "WHERRY LAMP")
    assert names(book) == []


def add_three(book: StockBook, *called: str) -> None:
    with book.writing():
        for name in called:
            varieties.add(book, name)


def test_an_error_caught_inside_drops_only_the_inner_part(book: StockBook) -> None:
    with book.writing():
        varieties.add(book, "Tin Orchard")
        with pytest.raises(AlreadyThere, match="already"):
            add_three(book, "Wherry Lamp", "Quillon Ferry", "Tin Orchard")
        varieties.add(book, "Saltmarsh Linnet")
    assert names(book) == ["Saltmarsh Linnet", "Tin Orchard"]


def test_reading_inside_writing_sees_what_was_written(book: StockBook) -> None:
    with book.writing():
        varieties.add(book, "Tin Orchard")
        assert names(book) == ["Tin Orchard"]


def test_a_backup_in_use_opens_as_a_book(book: StockBook, tmp_path: Path) -> None:
    varieties.add(book, "Tin Orchard")
    with book.writing():
        varieties.add(book, "not committed yet")
        book.back_up(tmp_path / "safe" / "book.sqlite3")
    with StockBook.open(tmp_path / "safe") as copy, copy.reading() as session:
        assert session.execute(text("SELECT name FROM variety")).scalars().all() == ["Tin Orchard"]


def test_every_error_is_a_book_error() -> None:
    assert issubclass(Unknown, BookError)
    assert issubclass(BookMissing, BookError)
