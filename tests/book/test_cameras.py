"""Cameras and their clocks."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest

from photolog.book import StockBook, cameras, clocks, daybook, photo_sizes
from photolog.book.cameras import ClockCorrection
from photolog.book.errors import Unknown, WrongEntry
from photolog.photos.file_numbers import CountedSpan
from photolog.terms import EventKind
from tests.records import factories

NOON = datetime(2026, 2, 14, 12, 0)
POCKET = "Larkfield Pocket 28"


@pytest.fixture
def pocket(book: StockBook) -> str:
    with book.writing() as session:
        cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        cameras.find_or_add(session, make="Larkfield", model="Larkfield Pocket 28", serial="")
    return POCKET


def pocket_photo(book: StockBook, at: datetime | None, name: str | None = None) -> int:
    """A photo of the pocket camera, or of none where there is no date."""
    with book.writing() as session:
        camera_id = cameras.find_or_add(session, make="Larkfield", model=POCKET, serial="")
        given = {} if name is None else {"original_name": name}
        photo = factories.photo(session, taken_at=at, camera_id=camera_id, **given)
        return int(photo.id)


def taken_at(book: StockBook, *photo_ids: int) -> list[datetime | None]:
    """When photos were taken by their cameras' clocks, as put right."""
    with book.reading() as session:
        found = {
            one.id: one.taken_at for one in photo_sizes.photos_numbered(book, session, *photo_ids)
        }
    return [found[photo_id] for photo_id in photo_ids]


def test_a_camera_is_added_once(book: StockBook, pocket: str) -> None:
    with book.writing() as session:
        first = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        again = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        other = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="77")
    assert first == again != other
    assert [one.label for one in cameras.every(book)] == [
        "Larkfield Field 35",
        "Larkfield Field 35 no. 77",
        "Larkfield Pocket 28",
    ]


def test_a_camera_that_says_nothing_has_a_label(book: StockBook) -> None:
    with book.writing() as session:
        cameras.find_or_add(session, make="", model="", serial="")
    assert cameras.every(book)[0].label == "a camera that does not name itself"


def test_an_hour_fast_is_put_right(book: StockBook, pocket: str) -> None:
    view = clocks.set_clock(book, "larkfield pocket 28", add_seconds=-3600).camera
    assert cameras.corrected(NOON, view.corrections) == datetime(2026, 2, 14, 11, 0)


def test_without_a_correction_the_clock_stands() -> None:
    assert cameras.corrected(NOON, ()) == NOON


def test_each_correction_holds_until_the_next() -> None:
    summer = ClockCorrection(since=datetime(2025, 9, 28, 3), add_seconds=3600, note="")
    right = ClockCorrection(since=datetime(2026, 4, 5, 3), add_seconds=0, note="set right")
    assert cameras.corrected(datetime(2025, 9, 28, 2, 59), [right, summer]).hour == 2
    assert cameras.corrected(datetime(2025, 9, 28, 3), [right, summer]).hour == 4
    assert cameras.corrected(datetime(2026, 4, 5, 3), [right, summer]).hour == 3


def test_one_with_an_end_gives_way_to_the_one_before() -> None:
    always = ClockCorrection(since=cameras.BEGINNING, add_seconds=60, note="")
    summer = ClockCorrection(
        since=datetime(2025, 9, 28, 3), until=datetime(2026, 4, 5, 3), add_seconds=3660, note=""
    )
    said = [datetime(2025, 9, 1, 12), datetime(2025, 12, 1, 12), datetime(2026, 4, 5, 3)]
    assert [(cameras.corrected(one, [summer, always]) - one).seconds for one in said] == [
        60,
        3660,
        60,
    ]


def test_one_for_what_was_counted_so_leaves_the_others() -> None:
    fallen = ClockCorrection(
        since=datetime(2020, 1, 1),
        add_seconds=3600,
        note="",
        span=CountedSpan(counted_as="LF", first=101, last=110),
    )
    said = datetime(2020, 1, 2, 12)
    assert cameras.corrected(said, [fallen], "LF0105.JPG").hour == 13
    assert cameras.corrected(said, [fallen], "LF0111.JPG").hour == 12


def test_set_again_from_the_same_moment_it_is_put_right(book: StockBook, pocket: str) -> None:
    clocks.set_clock(book, pocket, add_seconds=3600)
    view = clocks.set_clock(book, pocket, add_seconds=-3600).camera
    assert [one.add_seconds for one in view.corrections] == [-3600]


def test_taken_back_the_one_that_it_replaced_holds_again(book: StockBook, pocket: str) -> None:
    until = NOON + timedelta(days=40)
    photo_id = pocket_photo(book, NOON)
    clocks.set_clock(book, pocket, add_seconds=3600, until=until, note="first")
    clocks.set_clock(book, pocket, add_seconds=-60, note="second")
    # Said twice, it is one correction.
    clocks.set_clock(book, pocket, add_seconds=-60, note="second")
    third = clocks.learn_clock(book, photo_id, true_time=NOON - timedelta(hours=2)).correction
    back = clocks.take_back(book, third.id)
    assert (back.correction.add_seconds, back.photos) == (-7200, 1)
    assert back.again is not None
    assert (back.again.add_seconds, back.again.until, back.again.note) == (-60, None, "second")
    (first,) = clocks.take_back(book, third.id).camera.corrections
    assert (first.add_seconds, first.until, first.note) == (3600, until, "first")
    assert taken_at(book, photo_id) == [NOON + timedelta(hours=1)]
    last = clocks.take_back(book, first.id)
    assert last.again is None
    assert last.camera.corrections == ()


def test_learnt_from_one_photo_of_a_clock(book: StockBook, pocket: str) -> None:
    photo_id = pocket_photo(book, NOON, "LF0101.JPG")
    other = pocket_photo(book, NOON + timedelta(days=30))
    true = NOON - timedelta(hours=1, seconds=4)
    learnt = clocks.learn_clock(book, photo_id, true_time=true)
    assert [one.add_seconds for one in learnt.camera.corrections] == [-3604]
    assert learnt.correction.note == "by LF0101.JPG: 2026-02-14 10:59"
    assert learnt.photos == 2
    assert taken_at(book, photo_id, other) == [true, true + timedelta(days=30)]
    clocks.take_back(book, learnt.correction.id)
    assert taken_at(book, photo_id, other) == [NOON, NOON + timedelta(days=30)]


@pytest.mark.parametrize(
    ("said", "read", "true"),
    [
        (datetime(2026, 2, 14, 12, 0), time(12, 47), datetime(2026, 2, 14, 12, 47)),
        (datetime(2026, 2, 14, 23, 50), time(0, 10), datetime(2026, 2, 15, 0, 10)),
        (datetime(2026, 2, 14, 0, 10), time(23, 50), datetime(2026, 2, 13, 23, 50)),
        # Seven hours ahead, a clock in the evening already shows the next day.
        (datetime(2026, 2, 15, 1, 0), time(18, 0), datetime(2026, 2, 14, 18, 0)),
    ],
)
def test_what_a_clock_read_is_of_the_nearest_day(
    book: StockBook, pocket: str, said: datetime, read: time, true: datetime
) -> None:
    photo_id = pocket_photo(book, said)
    clocks.learn_clock(book, photo_id, at=read)
    assert taken_at(book, photo_id) == [true]


def test_a_clock_put_right_again_stays_for_its_own_time(book: StockBook, pocket: str) -> None:
    """A second photo of a clock puts right the correction that holds for it, and no other."""
    photos = [pocket_photo(book, NOON + timedelta(days=30 * n)) for n in range(3)]
    clocks.set_clock(book, pocket, add_seconds=600)
    clocks.set_clock(book, pocket, add_seconds=1200, since=NOON + timedelta(days=20))
    clocks.learn_clock(book, photos[2], at=time(12, 25))
    assert [one.minute for one in taken_at(book, *photos) if one] == [10, 25, 25]


def test_learnt_from_an_entry_of_the_day_book(book: StockBook, pocket: str) -> None:
    entry = daybook.enter(
        book, EventKind.FIRST_FROST, on=date(2026, 2, 14), at=time(14, 5), garden_wide=True
    )
    photo_id = pocket_photo(book, NOON)
    learnt = clocks.learn_from_entry(book, photo_id, entry.id)
    assert learnt.correction.add_seconds == 2 * 3600 + 5 * 60
    assert "first frost at 14:05 on 2026-02-14" in learnt.correction.note
    without = daybook.enter(book, EventKind.FIRST_FROST, on=date(2026, 2, 15), garden_wide=True)
    with pytest.raises(WrongEntry, match="says no hour"):
        clocks.learn_from_entry(book, photo_id, without.id)
    clocks.learn_from_entry(book, photo_id, without.id, at=time(9, 0))
    assert taken_at(book, photo_id) == [datetime(2026, 2, 15, 9, 0)]
    daybook.strike_out(book, without.id)
    with pytest.raises(Unknown, match="was struck out"):
        clocks.learn_from_entry(book, photo_id, without.id)


def fallen(book: StockBook) -> tuple[list[int], list[int]]:
    """Sound photos, and twice a stretch of counting in which the clock fell back to 2020."""
    sound, back = [], []
    for n in range(60):
        sound_day = datetime(2026, 2, 1, 10) + timedelta(days=n)
        is_back = n in (20, 21, 22, 40, 41)
        began = 20 if n < 30 else 40
        said = datetime(2020, 1, 1, 0, 5) + timedelta(days=n - began) if is_back else sound_day
        (back if is_back else sound).append(pocket_photo(book, said, f"LF{101 + n:04d}.JPG"))
    return sound, back


def test_a_clock_that_fell_back_twice_is_put_right_for_each_time(
    book: StockBook, pocket: str
) -> None:
    sound, back = fallen(book)
    before = taken_at(book, *sound)
    with pytest.raises(WrongEntry, match="Say on which day it was taken"):
        clocks.learn_clock(book, back[0], at=time(10, 0))
    first = clocks.learn_clock(book, back[0], at=time(10, 0), on=date(2026, 2, 21))
    second = clocks.learn_clock(book, back[3], at=time(10, 0), on=date(2026, 3, 13))
    assert (first.photos, second.photos) == (3, 2)
    assert first.correction.span == CountedSpan(counted_as="LF", first=121, last=123)
    assert taken_at(book, *sound) == before
    assert taken_at(book, *back) == [
        *(datetime(2026, 2, 21, 10) + timedelta(days=n) for n in range(3)),
        *(datetime(2026, 3, 13, 10) + timedelta(days=n) for n in range(2)),
    ]


def test_a_day_alone_leaves_the_hours(book: StockBook, pocket: str) -> None:
    _, back = fallen(book)
    clocks.learn_clock(book, back[1], on=date(2026, 2, 22))
    assert taken_at(book, *back[:2]) == [datetime(2026, 2, 21, 0, 5), datetime(2026, 2, 22, 0, 5)]


def test_years_out_is_no_correction_for_all_photos(book: StockBook, pocket: str) -> None:
    """Names that don't count can't tell which photos were taken meanwhile; the dates still can."""
    sound = pocket_photo(book, NOON, "garden.jpg")
    back = [pocket_photo(book, datetime(2020, 1, 1 + n), f"bed {n}.jpg") for n in range(3)]
    learnt = clocks.learn_clock(book, back[0], true_time=datetime(2026, 3, 1, 9, 0))
    assert learnt.photos == 3
    assert taken_at(book, sound, back[2]) == [NOON, datetime(2026, 3, 3, 9, 0)]


def test_bad_input_is_said(book: StockBook, pocket: str) -> None:
    with pytest.raises(Unknown, match=r"from a camera 'Pocket 29'\. Did you mean Larkfield Pocket"):
        clocks.set_clock(book, "Pocket 29", add_seconds=60)
    with pytest.raises(WrongEntry, match="A clock can't be 115740 days out"):
        clocks.set_clock(book, pocket, add_seconds=9_999_999_999)
    with pytest.raises(WrongEntry, match=r"can't end \(.* 11:59\) before it begins \(.* 12:00\)"):
        clocks.set_clock(
            book, pocket, add_seconds=60, since=NOON, until=NOON - timedelta(minutes=1)
        )
    with pytest.raises(Unknown, match="There is no photo 5"):
        clocks.learn_clock(book, 5, true_time=NOON)
    with pytest.raises(Unknown, match="There is no clock correction 5"):
        clocks.take_back(book, 5)
    with book.writing() as session:
        undated = factories.photo(session, taken_at=None).id
    with pytest.raises(WrongEntry, match="does not say when or with which camera"):
        clocks.learn_clock(book, undated, true_time=NOON)
    with pytest.raises(WrongEntry, match="Say what the clock in the photo read"):
        clocks.learn_clock(book, pocket_photo(book, NOON))


def test_an_hour_that_comes_twice_or_never_teaches_nothing(
    book: StockBook, pocket: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    photo_id = pocket_photo(book, datetime(2026, 4, 5, 1, 0))
    monkeypatch.setattr(clocks, "comes_twice", lambda moment: moment.hour == 2)
    monkeypatch.setattr(clocks, "never_comes", lambda moment: moment.hour == 3)
    with pytest.raises(WrongEntry, match="02:30 came twice in the night of 2026-04-05"):
        clocks.learn_clock(book, photo_id, at=time(2, 30))
    with pytest.raises(WrongEntry, match="03:30 never came in the night"):
        clocks.learn_clock(book, photo_id, at=time(3, 30))


def test_the_beginning_is_before_every_camera() -> None:
    assert cameras.BEGINNING.date() < date(1975, 1, 1)
