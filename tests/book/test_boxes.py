"""Boxes: entered, photographed with what is in them, checked with word cards, decided by hand."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import select

from measure.scenes import tag_raster
from photolog.book import StockBook, boxes, daybook, history, matching, proposals, showing
from photolog.book.errors import AlreadyThere, Unknown, WrongTag
from photolog.book.intake import take_in
from photolog.book.prints import box_tags_to_print
from photolog.records import PhotoBoxRow, PhotoRow
from photolog.reports.history_text import history_text
from photolog.terms import EventKind, MatchState
from tests.book.photographed import LIFTED, fill_garden, photo
from tests.book.shoots_kept import keep
from tests.book.word_photos import WordShoot
from tests.photos.garden import Shoot, tag

STORED = datetime(2026, 6, 20, 10, 0)


@pytest.fixture
def store(book: StockBook) -> StockBook:
    """Four plants lifted, and two boxes."""
    fill_garden(book)
    boxes.add(book, 3, since=LIFTED, name="blue crate")
    boxes.add(book, 4, since=LIFTED)
    return book


def small(*numbers: int) -> tuple[object, ...]:
    return tuple(tag(number, side_px=40.0) for number in numbers)


def links(book: StockBook) -> list[tuple[int, int]]:
    with book.reading() as session:
        rows = session.scalars(select(PhotoBoxRow).order_by(PhotoBoxRow.id)).all()
        return [(row.photo_id, row.box.number) for row in rows]


def test_a_box_is_entered_once_called_otherwise_and_listed(store: StockBook) -> None:
    assert [(one.number, one.name, one.photos) for one in boxes.every(store)] == [
        (3, "blue crate", 0),
        (4, "", 0),
    ]
    assert boxes.rename(store, 4, "under the bench").name == "under the bench"
    with pytest.raises(AlreadyThere, match="Box 3 is in the stock book already"):
        boxes.add(store, 3, since=LIFTED)
    with pytest.raises(WrongTag, match="Boxes are numbered 1 to 399, got 400"):
        boxes.add(store, 400, since=LIFTED)
    with pytest.raises(Unknown, match=r"There is no box 9 in the stock book\. There are: 3, 4\."):
        boxes.rename(store, 9, "red")


def test_a_box_as_packed_is_in_the_history_of_each_and_gives_none_a_size(store: StockBook) -> None:
    shoot = Shoot(at=STORED)
    packed = shoot.subject(tags=small(11, 12, 13), boxes=(3,))
    keep(store, *shoot.photos)
    report = matching.match_all(store)
    assert (report.matched, report.waiting) == (1, 0)
    assert {one.tag for one in matching.matched(store)} == {11, 12, 13}
    assert links(store) == [(packed, 3)]
    assert boxes.every(store)[0].photos == 1
    for number in (11, 12, 13):
        (photo,) = history.of_tag(store, number).photos
        assert photo.with_others == 2
        assert photo.record.measured is None
        assert "with 2 more, so no size of its own" in " ".join(
            history_text(history.of_tag(store, number)).split()
        )
    assert history.of_tag(store, 14).photos == ()
    # Nothing is said twice, nor written twice.
    assert matching.match_all(store).changed == 0


def test_a_drawn_box_is_read_kept_and_matched(store: StockBook, tmp_path: Path) -> None:
    picture = np.full((900, 1200, 3), 120, np.uint8)
    lay = ((3, True, 60, 60), (11, False, 60, 420), (12, False, 420, 420), (13, False, 780, 420))
    for number, is_box, left, top in lay:
        raster = tag_raster(number, px_per_mm=3, box=is_box)
        high, wide = raster.shape
        picture[top : top + high, left : left + wide] = raster[..., None]
    photo(tmp_path, picture, STORED, name="LF1")
    take_in(store, [tmp_path], workers=0)
    matching.match_all(store)
    assert {one.tag for one in matching.matched(store)} == {11, 12, 13}
    told = boxes.get(store, 3)
    assert [one.name for one in told.photos] == ["LF1.jpg"]
    assert told.entries == ()


def test_a_box_alone_waits_for_nobody(store: StockBook) -> None:
    shoot = Shoot(at=STORED)
    alone = shoot.photo(boxes=(3,))
    keep(store, *shoot.photos)
    assert matching.match_all(store).matched == 1
    assert matching.waiting(store) == ()
    assert links(store) == [(alone, 3)]
    with store.reading() as session:
        assert session.get(PhotoRow, alone).match_state is MatchState.MATCHED  # type: ignore[union-attr]


def test_a_box_entered_later_takes_its_photos(store: StockBook) -> None:
    shoot = Shoot(at=STORED)
    photo = shoot.photo(boxes=(9,))
    keep(store, *shoot.photos)
    matching.match_all(store)
    (waits,) = matching.waiting(store)
    assert "photolog box 9 enters it" in waits.because
    boxes.add(store, 9, since=LIFTED)
    (moved,) = matching.match_anew(store)
    assert (moved.photo_id, moved.how) == (photo, "found")
    assert [(one.box, one.name) for one in moved.now] == [(9, "box 9")]


def test_what_is_said_to_be_a_group_belongs_to_all(store: StockBook) -> None:
    shoot = Shoot(at=STORED)
    vase = shoot.subject(tags=tuple(tag(n, side_px=60.0) for n in (11, 12)))
    keep(store, *shoot.photos)
    matching.match_all(store)
    assert matching.matched(store) == ()
    showing.tell(store, vase, "group")
    assert [one.how for one in matching.match_anew(store)] == ["found"]
    assert {one.tag for one in matching.matched(store)} == {11, 12}


def test_by_hand_a_photo_may_be_of_plants_and_a_box(store: StockBook) -> None:
    shoot = Shoot(at=STORED)
    photo = shoot.photo()
    keep(store, *shoot.photos)
    matching.match_all(store)
    decided = matching.decide(store, photo, [11, 12, "box 3"])
    assert decided.said == "tag 0011 and tag 0012 and box 3"
    assert {one.tag for one in matching.matched(store)} == {11, 12}
    assert links(store) == [(photo, 3)]
    matching.match_all(store)
    assert links(store) == [(photo, 3)]
    matching.decide(store, photo, ["box 4"])
    assert (matching.matched(store), links(store)) == ((), [(photo, 4)])
    matching.undo(store)
    assert {one.tag for one in matching.matched(store)} == {11, 12}
    assert links(store) == [(photo, 3)]
    matching.undo(store)
    assert (matching.matched(store), links(store)) == ((), [])
    with pytest.raises(Unknown, match="There is no box 7"):
        matching.decide(store, photo, "box 7")


def test_a_box_check_by_word_cards(store: StockBook) -> None:
    shoot = WordShoot(store, STORED)
    shoot.shot(boxes=(3,), words="checked")
    shoot.shot(tags=(11,), boxes=(3,), words="rotted")
    shoot.shot(boxes=(4,))
    shoot.shot(words="checked", after_s=5.0)
    matching.match_all(store)
    listed = proposals.proposed(store)
    assert [(one.word, one.tag, one.box, one.stock_name, one.ready) for one in listed] == [
        ("checked", None, 3, "box 3 (blue crate)", True),
        ("rotted", 11, None, "“Tin Orchard”", True),
        ("checked", None, 4, "box 4", True),
    ]
    assert listed[2].because == "Shown directly after the tag of box 4."
    done = proposals.confirm(store)
    assert len(done.confirmed) == 3
    entered = daybook.entries(store, first=date(2026, 6, 20))
    assert [(one.kind, one.place, one.tags) for one in entered] == [
        (EventKind.CHECKED, "box 3", ()),
        (EventKind.LOST, None, (11,)),
        (EventKind.CHECKED, "box 4", ()),
    ]
    matching.match_all(store)
    assert proposals.proposed(store) == ()
    told = boxes.get(store, 3)
    assert told.entries == ((date(2026, 6, 20), "checked"),)
    assert [one.name for one in told.photos] == ["LF000001.jpg", "LF000002.jpg"]
    proposals.undo(store)
    assert len(proposals.proposed(store)) == 3


def test_a_card_put_right_to_be_a_boxs(store: StockBook) -> None:
    shoot = WordShoot(store, STORED)
    shoot.shot(words="checked")
    matching.match_all(store)
    (one,) = proposals.proposed(store)
    assert not one.ready
    right = proposals.correct(store, one.id, tag="box 4")
    assert (right.box, right.stock, right.ready) == (4, None, True)
    matching.match_all(store)
    assert proposals.proposed(store)[0].box == 4
    back = proposals.correct(store, one.id, tag=11)
    assert (back.box, back.tag) == (None, 11)


def test_box_tags_bear_what_the_box_is_called(store: StockBook) -> None:
    assert box_tags_to_print([3, 4], book=store) != box_tags_to_print([3, 4])
    assert box_tags_to_print([4], book=store) == box_tags_to_print([4])
    with pytest.raises(WrongTag, match="Boxes are numbered 1 to 399, got 0"):
        box_tags_to_print([0])
