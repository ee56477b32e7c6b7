"""Two phones of one model: noticed, told apart, later photos shared out, and put together again."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from photolog.book import StockBook, cameras, clocks, telling_apart
from photolog.book.errors import Unknown, WrongEntry
from photolog.records import PhotoRow
from tests.records import factories

JUNE = datetime(2026, 6, 1, 10)
FIELD = {"make": "Larkfield", "model": "Field 35", "serial": ""}


def take(book: StockBook, number: int, at: datetime) -> int:
    """A photo as intake enters it, by the number in its name."""
    name = f"LF{number:04d}.JPG"
    with book.writing() as session:
        camera_id = cameras.find_or_add(session, **FIELD, name=name)
        photo = factories.photo(session, original_name=name, taken_at=at, camera_id=camera_id)
        return int(photo.id)


@pytest.fixture
def phones(book: StockBook) -> tuple[StockBook, list[int], list[int]]:
    """Three days on which two phones of one model take turns: LF0401 on and LF5121 on."""
    one, other = [], []
    for n in range(24):
        at = JUNE + timedelta(days=n // 8, minutes=10 * (n % 8))
        if n % 4 < 2:
            one.append(take(book, 401 + len(one), at))
        else:
            other.append(take(book, 5121 + len(other), at))
    return book, one, other


def label_of(book: StockBook, photo_id: int) -> str:
    with book.reading() as session:
        return cameras.view_of(session.get_one(PhotoRow, photo_id).camera).label


def test_they_are_noticed(phones) -> None:
    book, one, other = phones
    (found,) = telling_apart.lines_side_by_side(book)
    assert found.camera == "Larkfield Field 35"
    assert [set(line.photo_ids) for line in found.lines] == [set(one), set(other)]
    assert (found.lines[1].first_name, found.lines[1].last_name) == ("LF5121.JPG", "LF5132.JPG")


def test_told_apart_each_has_its_clock_and_its_later_photos(phones) -> None:
    book, one, other = phones
    clocks.set_clock(book, "Larkfield Field 35", add_seconds=60)
    told = telling_apart.tell_apart(book, other[3], "Imke")
    assert (told.camera, told.photos) == ("Larkfield Field 35 (Imke)", 12)
    assert {label_of(book, photo_id) for photo_id in other} == {"Larkfield Field 35 (Imke)"}
    assert {label_of(book, photo_id) for photo_id in one} == {"Larkfield Field 35"}
    assert telling_apart.lines_side_by_side(book) == ()
    # Both clocks stay as they were until one of them is put right.
    clocks.learn_clock(book, other[0], true_time=JUNE + timedelta(minutes=67))
    by_label = {view.label: view for view in cameras.every(book)}
    assert [c.add_seconds for c in by_label["Larkfield Field 35"].corrections] == [60]
    assert [c.add_seconds for c in by_label["Larkfield Field 35 (Imke)"].corrections] == [2820]
    later = JUNE + timedelta(days=5)
    assert label_of(book, take(book, 5140, later)) == "Larkfield Field 35 (Imke)"
    assert label_of(book, take(book, 430, later)) == "Larkfield Field 35"
    assert label_of(book, take(book, 9000, later)) == "Larkfield Field 35"


def test_put_together_again(phones) -> None:
    book, _, other = phones
    telling_apart.tell_apart(book, other[0], "Imke")
    back = telling_apart.put_together(book, other[5])
    assert (back.camera, back.other) == ("Larkfield Field 35 (Imke)", "Larkfield Field 35")
    assert [view.label for view in cameras.every(book)] == ["Larkfield Field 35"]
    assert len(telling_apart.lines_side_by_side(book)) == 1


def test_what_can_not_be_told_apart_is_said(phones) -> None:
    book, one, other = phones
    with pytest.raises(Unknown, match="There is no photo 99"):
        telling_apart.tell_apart(book, 99, "Imke")
    with pytest.raises(WrongEntry, match="Give the other camera a name"):
        telling_apart.tell_apart(book, one[0], "  ")
    with pytest.raises(WrongEntry, match="was not told from another one"):
        telling_apart.put_together(book, one[0])
    telling_apart.tell_apart(book, other[0], "Imke")
    with pytest.raises(WrongEntry, match="counted in one line, as by one camera"):
        telling_apart.tell_apart(book, one[0], "Jory")
    with book.writing() as session:
        undated = factories.photo(session, taken_at=None).id
    with pytest.raises(WrongEntry, match="does not say with which camera"):
        telling_apart.tell_apart(book, undated, "Imke")


def test_a_serial_number_needs_no_telling_apart(book: StockBook) -> None:
    with book.writing() as session:
        camera_id = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="7")
        for n in range(24):
            number = 401 + n if n % 4 < 2 else 5121 + n
            factories.photo(
                session,
                original_name=f"LF{number:04d}.JPG",
                taken_at=JUNE + timedelta(minutes=10 * n),
                camera_id=camera_id,
            )
    assert telling_apart.lines_side_by_side(book) == ()
