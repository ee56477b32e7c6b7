"""Days told for many photos at once: matched by them, taken back, and files that know better."""

from datetime import UTC, date, datetime

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import select

from photolog.book import StockBook, matching, photo_sizes, told_days
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.garden_facts import photo_facts
from photolog.book.intake import take_in
from photolog.photos.facts import moment
from photolog.records import PhotoRow
from tests.book.photographed import clump_picture, fill_garden, photo, plain_picture
from tests.photos.written import exif, write

NOW = datetime(2026, 7, 1, tzinfo=UTC)
LIFTED = date(2026, 5, 16)


@pytest.fixture
def sent(book: StockBook, tmp_path) -> StockBook:
    """Four clumps whose photos a messaging program has stripped, and one with its date."""
    fill_garden(book)
    folder = tmp_path / "messages"
    folder.mkdir()
    for n, tag in enumerate((11, 12, 13, 14)):
        photo(folder, clump_picture(tag, seed=20 + n), None, name=f"IMG-20260517-{n + 8}")
    take_in(book, [folder], workers=0, now=NOW)
    photo(tmp_path, clump_picture(11, seed=30), datetime(2026, 5, 16, 12), name="LF350100")
    take_in(book, [tmp_path / "LF350100.jpg"], workers=0, now=NOW)
    matching.match_all(book)
    return book


def names(book: StockBook) -> dict[int, str]:
    with book.reading() as session:
        rows = session.execute(select(PhotoRow.id, PhotoRow.original_name)).all()
        return {row.id: row.original_name for row in rows}


def told(book: StockBook, photo_id: int) -> date | None:
    with book.reading() as session:
        return session.get_one(PhotoRow, photo_id).told_on


def test_the_lot_is_noticed_and_told_once(sent):
    (lot,) = told_days.undated(sent)
    assert [one.name for one in lot.photos] == [f"IMG-20260517-{n}.jpg" for n in (8, 9, 10, 11)]
    assert lot.sent
    assert lot.named_day == date(2026, 5, 17)
    done = told_days.tell_day(sent, [one.photo_id for one in lot.photos], on=LIFTED)
    assert told_days.undated(sent) == ()
    assert len(matching.match_anew(sent).found) == 4
    assert [names(sent)[photo_id] for photo_id in done.photo_ids] == [
        one.name for one in lot.photos
    ]
    by_name = {one.name: one for one in matching.matched(sent)}
    assert by_name["IMG-20260517-10.jpg"].tag == 13
    assert by_name["IMG-20260517-10.jpg"].taken_at.date() == LIFTED


def test_their_order_is_that_of_their_names_and_they_stand_in_no_run(sent):
    (lot,) = told_days.undated(sent)
    ids = [one.photo_id for one in lot.photos]
    told_days.tell_day(sent, sorted(ids, reverse=True), on=LIFTED)
    with sent.reading() as session:
        facts = [one for one in photo_facts(session) if one.photo_id in ids]
    assert [one.photo_id for one in sorted(facts, key=moment)] == ids
    assert {one.camera for one in facts} == {None}


def test_taken_back_they_wait_again(sent):
    (lot,) = told_days.undated(sent)
    first, *others = [one.photo_id for one in lot.photos]
    told_days.tell_day(sent, others, on=LIFTED)
    told_days.tell_day(sent, [first], on=date(2026, 5, 15))
    matching.match_anew(sent)
    assert told_days.untell_day(sent).photo_ids == (first,)
    back = told_days.untell_day(sent)
    assert (list(back.photo_ids), back.on) == (others, LIFTED)
    assert len(matching.match_anew(sent).waiting) == 3
    with pytest.raises(WrongEntry, match="No day was told for any photo"):
        told_days.untell_day(sent)
    with pytest.raises(WrongEntry, match=f"No day was told for photo {first}"):
        told_days.untell_day(sent, [first])


def test_told_again_the_new_day_counts(sent):
    (lot,) = told_days.undated(sent)
    ids = [one.photo_id for one in lot.photos]
    told_days.tell_day(sent, ids, on=LIFTED)
    told_days.tell_day(sent, ids, on=date(2026, 5, 17))
    with sent.reading() as session:
        found = {one.taken_at.date() for one in photo_sizes.photos_numbered(sent, session, *ids)}
    assert found == {date(2026, 5, 17)}
    assert set(told_days.untell_day(sent).photo_ids) == set(ids)


def test_a_day_told_with_a_decision_gives_way_to_the_lots(sent):
    (lot,) = told_days.undated(sent)
    ids = [one.photo_id for one in lot.photos]
    told_days.tell_day(sent, ids, on=LIFTED)
    matching.match_anew(sent)
    before = matching.matched(sent)
    matching.decide(sent, ids[1], 14, on=date(2026, 5, 15))
    matching.decide(sent, ids[1], 13, on=date(2026, 5, 14))
    matching.undo(sent)
    assert told(sent, ids[1]) == date(2026, 5, 15)
    matching.undo(sent)
    assert told(sent, ids[1]) == LIFTED
    after = matching.matched(sent)
    assert [(one.photo_id, one.tag, one.taken_at) for one in after] == [
        (one.photo_id, one.tag, one.taken_at) for one in before
    ]
    assert set(told_days.untell_day(sent).photo_ids) == set(ids)


def test_a_day_told_for_the_lot_since_stays(sent):
    (lot,) = told_days.undated(sent)
    ids = [one.photo_id for one in lot.photos]
    matching.decide(sent, ids[0], 14, on=date(2026, 5, 15))
    told_days.tell_day(sent, ids, on=LIFTED)
    matching.undo(sent)
    assert {told(sent, one) for one in ids} == {LIFTED}


def test_what_can_not_be_told_is_said(sent):
    (lot,) = told_days.undated(sent)
    ids = [one.photo_id for one in lot.photos]
    (dated,) = [number for number, name in names(sent).items() if name.startswith("LF")]
    with pytest.raises(WrongEntry, match=f"Photo {dated} has a date of its own"):
        told_days.tell_day(sent, [*ids, dated], on=LIFTED)
    with pytest.raises(Unknown, match="There are no photos 98-99 in the stock book"):
        told_days.tell_day(sent, [*ids, 98, 99], on=LIFTED)
    with pytest.raises(WrongEntry, match="is still to come"):
        told_days.tell_day(sent, ids, on=date(2031, 1, 1))
    assert told_days.undated(sent) == (lot,)
    told_days.tell_day(sent, ids, on=LIFTED)
    matching.decide(sent, ids[0], 14)
    with pytest.raises(WrongEntry, match=r"was decided by hand, by that day. Take that back first"):
        told_days.untell_day(sent)


def test_the_same_picture_with_its_date_is_taken_over(book, tmp_path):
    """A photo sent without its date, and months later found on the phone as it was taken."""
    pixels = Image.fromarray(np.asarray(plain_picture(7)))
    bare = write(tmp_path, "png", name="sent", image=pixels)
    take_in(book, [bare], workers=0, now=NOW)
    told_days.tell_day(book, [1], on=date(2026, 5, 15))
    own = write(
        tmp_path, "png", name="own", image=pixels, block=exif(original="2026:05:16 14:03:22")
    )
    (known,) = take_in(book, [own], workers=0, now=NOW).known
    assert known.taken_over == (
        "its date 2026-05-16 14:03:22 (and no longer 2026-05-15, the day that you told), "
        "its camera Field 35, its lens"
    )
    with book.reading() as session:
        (record,) = photo_sizes.photos_numbered(book, session, 1)
    assert (record.taken_at, record.day_told) == (datetime(2026, 5, 16, 14, 3, 22), False)
