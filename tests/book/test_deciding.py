"""The grower's word on photos: one, a run, along tags, an afternoon; what moves, and undoing it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from photolog.book import StockBook, clocks, daybook, matching, plants, tags, varieties
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.waiting_runs import likely, waiting_on, waiting_runs
from photolog.reports.waiting_page import waiting_page
from photolog.reports.waiting_text import (
    others_text,
    run_commands,
    waiting_brief,
    waiting_text,
)
from photolog.terms import EventKind
from tests.book.shoots_kept import keep
from tests.photos.garden import LIFTING, NOON, PLANTING, Shoot, tag
from tests.records import factories

ROW = range(12, 26)
ALIKE = 0x0F0F0F0F0F0F0F0F


def unlike(number: int) -> int:
    """A sketch far from that of every other plant."""
    return (0x9E3779B97F4A7C15 * number) & 0xFFFFFFFFFFFFFFFF


@pytest.fixture
def row(book: StockBook) -> StockBook:
    """Fourteen plants lifted in one afternoon, 0012 to 0025, and a spare one, 0041."""
    for number in (*ROW, 41):
        varieties.add(book, f"No. {number}")
        plants.add(book, variety=f"No. {number}", tag=number, since=date(2025, 10, 1))
    daybook.enter(book, EventKind.PLANTED_OUT, on=PLANTING, tags=[*ROW, 41])
    daybook.enter(book, EventKind.LIFTED, on=LIFTING, tags=list(ROW))
    return book


def an_afternoon(*, read: tuple[int, ...] = (12, 16, 21, 25)) -> tuple[Shoot, dict[int, int]]:
    """A tag shot and a clump of each plant, most tags unreadable; whose each photo truly is.

    0018 was not photographed, and of 0015 there are two shots.
    """
    shoot, truth = Shoot(at=NOON), {}
    for number in ROW:
        if number == 18:
            continue
        shoot.wait(seconds=170)
        truth[shoot.tag_shot(number) if number in read else shoot.photo()] = number
        shoot.wait(seconds=10)
        truth[shoot.subject(likeness=unlike(number))] = number
        if number == 15:
            shoot.wait(seconds=5)
            truth[shoot.subject(likeness=unlike(number))] = number
    return shoot, truth


def standing(book: StockBook) -> dict[int, int | None]:
    """The tag of each photo that is matched, by its number."""
    return {one.photo_id: one.tag for one in matching.matched(book)}


def test_the_whole_afternoon_is_one_proposal(row: StockBook) -> None:
    shoot, truth = an_afternoon()
    keep(row, *shoot.photos)
    matching.match_all(row)
    (run,) = waiting_runs(row)
    assert run.by_order
    assert run.on == LIFTING
    first = {one.photo_id: one.candidates[0] for one in run.photos}
    # Between 0021 and 0025 nothing is missing; between 0016 and 0021 one plant has no photo, and
    # nothing says which, so that none of these is proposed surely.
    for photo_id, candidate in first.items():
        if truth[photo_id] in (22, 23, 24):
            assert (candidate.tag, candidate.reason) == (truth[photo_id], "order")
            assert candidate.probability > 0.8
        if truth[photo_id] in (17, 19, 20):
            assert candidate.probability < 0.9
            assert truth[photo_id] in [one.tag for one in likely(by_id(run)[photo_id]).shown]
    text = waiting_text([run])
    assert text.startswith("19 photos of 16 May 2026, between 12:05 and 12:36 (Larkfield 1), ")
    assert "laid along the order of lifting: 17 likelier than" in " ".join(text.split())
    assert max(len(line) for line in text.splitlines()) <= 80


def by_id(run: object) -> dict[int, tuple[object, ...]]:
    return {one.photo_id: one.candidates for one in run.photos}  # type: ignore[attr-defined]


def test_an_afternoon_is_taken_at_once_with_exceptions_and_back_as_one(row: StockBook) -> None:
    shoot, truth = an_afternoon()
    keep(row, *shoot.photos)
    matching.match_all(row)
    before = standing(row)
    (run,) = waiting_runs(row)
    doubtful = [one for one in truth if truth[one] in (17, 19, 20)]
    taken = [one.photo_id for one in run.photos if one.photo_id not in doubtful]
    decided = matching.decide_as_proposed(row, taken)
    assert {one: truth[one] for one in decided.photos} == {
        one: standing(row)[one] for one in decided.photos
    }
    assert set(decided.photos) | set(decided.left) == set(taken)
    assert len(decided.photos) >= 10
    back = matching.undo(row)
    assert set(back.photos) == set(decided.photos)
    assert standing(row) == before
    with pytest.raises(WrongEntry, match="No photo was decided by hand"):
        matching.undo(row)


def test_only_what_is_sure_is_taken_where_that_is_asked(row: StockBook) -> None:
    shoot, truth = an_afternoon()
    keep(row, *shoot.photos)
    matching.match_all(row)
    ids = [one.photo_id for one in waiting_runs(row)[0].photos]
    sure = {
        one.photo_id for one in waiting_runs(row)[0].photos if one.candidates[0].probability >= 0.95
    }
    if not sure:
        with pytest.raises(WrongEntry, match="sure enough to be taken so"):
            matching.decide_as_proposed(row, ids, only_sure=True)
        return
    decided = matching.decide_as_proposed(row, ids, only_sure=True)
    assert set(decided.photos) == sure
    assert all(standing(row)[one] == truth[one] for one in decided.photos)


def test_deciding_one_says_what_moved_by_it(row: StockBook) -> None:
    shoot, truth = an_afternoon()
    keep(row, *shoot.photos)
    matching.match_all(row)
    failed = next(one for one in truth if truth[one] == 19)
    decided = matching.decide(row, failed, 19)
    assert decided.photos == (failed,)
    (moved,) = decided.moves.found
    assert truth[moved.photo_id] == 19
    assert [(one.tag, one.name) for one in moved.now] == [(19, "“No. 19”")]
    assert moved.was == ()
    back = matching.undo(row)
    assert [one.photo_id for one in back.moves.waiting] == [moved.photo_id]


def test_a_run_of_one_plant(row: StockBook) -> None:
    shoot = Shoot()
    ids = [shoot.wait(minutes=1).subject("bloom", likeness=unlike(n)) for n in range(7)]
    keep(row, *shoot.photos)
    matching.match_all(row)
    matching.decide(row, ids, 41)
    assert standing(row) == dict.fromkeys(ids, 41)
    matching.undo(row, ids[:2])
    assert standing(row) == dict.fromkeys(ids[2:], 41)
    matching.undo(row)
    assert standing(row) == {}


def test_photos_along_tags(row: StockBook) -> None:
    shoot, truth = an_afternoon(read=())
    keep(row, *shoot.photos)
    matching.match_all(row)
    run = [one for one in truth if truth[one] in (19, 20, 21, 22)]
    decided = matching.decide_along(row, run, [19, 20, 21, 22])
    assert decided.said == "along tag 0019, tag 0020, tag 0021, tag 0022"
    assert {one: standing(row)[one] for one in run} == {one: truth[one] for one in run}
    with pytest.raises(WrongEntry, match="8 photos of 4 plants, by their pauses, can't be laid"):
        matching.decide_along(row, run, [19, 20, 21])
    assert {one: standing(row)[one] for one in run} == {one: truth[one] for one in run}


def test_as_many_photos_as_tags_are_laid_one_by_one(row: StockBook) -> None:
    shoot = Shoot()
    ids = [shoot.wait(seconds=4).subject(likeness=ALIKE) for _ in range(3)]
    keep(row, *shoot.photos)
    matching.decide_along(row, ids, [12, 13, 14])
    assert standing(row) == dict(zip(ids, (12, 13, 14), strict=True))


def test_a_decision_over_another_is_taken_back_to_it(row: StockBook) -> None:
    shoot = Shoot()
    one, other = shoot.subject(likeness=ALIKE), shoot.wait(minutes=3).subject(likeness=~ALIKE & 1)
    keep(row, *shoot.photos)
    matching.decide(row, [one, other], 13)
    matching.decide(row, one, None)
    assert standing(row) == {other: 13}
    back = matching.undo(row)
    assert (back.photos, standing(row)) == ((one,), {one: 13, other: 13})
    assert [getattr(stands, "by_hand", None) for stands in back.stand] == [True]
    matching.undo(row)
    assert standing(row) == {}


def test_nothing_is_decided_where_one_of_several_can_not_be(row: StockBook) -> None:
    shoot = Shoot()
    dated = shoot.subject()
    undated = shoot.subject(taken_at=None, date_problem="The file has no date.")
    keep(row, *shoot.photos)
    matching.match_all(row)
    with pytest.raises(WrongEntry, match=f"Photo {undated} has no date"):
        matching.decide(row, [dated, undated], 13)
    with pytest.raises(Unknown, match="There is no photo 7 in"):
        matching.decide(row, [dated, 7], 13)
    with pytest.raises(
        WrongEntry, match=f"Photo {dated} says itself that it was taken on {LIFTING}"
    ):
        matching.decide(row, [dated, undated], 13, on=LIFTING - timedelta(days=1))
    assert standing(row) == {}
    matching.decide(row, [dated, undated], 13, on=LIFTING)
    assert standing(row) == {dated: 13, undated: 13}
    matching.undo(row)
    assert [one.photo_id for one in matching.waiting(row) if one.taken_at is None] == [undated]


def test_what_was_decided_by_hand_never_moves(row: StockBook) -> None:
    shoot = Shoot()
    by_hand = shoot.subject(tags=(tag(13, pegged=True),))
    by_tag = shoot.wait(minutes=5).subject(tags=(tag(14, pegged=True),))
    keep(row, *shoot.photos)
    matching.match_all(row)
    matching.decide(row, by_hand, 12)
    spare = plants.of_tag(row, 41, on=LIFTING).ref
    tags.hand_on(row, 14, to=spare, on=date(2026, 3, 1))
    tags.hand_on(row, 12, to=spare, on=date(2026, 3, 2))
    (moved,) = matching.match_anew(row)
    assert (moved.photo_id, moved.how) == (by_tag, "moved")
    assert [one.name for one in (*moved.was, *moved.now)] == ["“No. 14”", "“No. 41”"]
    kept = next(one for one in matching.matched(row) if one.by_hand)
    assert (kept.photo_id, kept.stock_name) == (by_hand, "“No. 12”")


def test_an_entry_struck_out_and_a_clock_put_right_move_photos(row: StockBook) -> None:
    shoot = Shoot(at=NOON + timedelta(hours=11, minutes=30))
    clump = shoot.subject(tags=(tag(13, pegged=True),))
    keep(row, *shoot.photos)
    matching.match_all(row)
    assert standing(row) == {clump: 13}
    lost = daybook.enter(row, EventKind.LOST, on=LIFTING - timedelta(days=9), tags=[13])
    assert [one.how for one in matching.match_anew(row)] == ["waits"]
    daybook.strike_out(row, lost.id)
    assert [one.how for one in matching.match_anew(row)] == ["found"]
    next_day = LIFTING + timedelta(days=1)
    tags.hand_on(row, 13, to=plants.of_tag(row, 14, on=LIFTING).ref, on=next_day)
    assert len(matching.match_anew(row)) == 0
    clocks.set_clock(row, "Larkfield 1", add_seconds=3600)
    (moved,) = matching.match_anew(row)
    assert (moved.how, [one.name for one in moved.now]) == ("moved", ["“No. 14”"])


def test_many_unlikely_candidates_are_counted_not_listed(row: StockBook) -> None:
    shoot = Shoot()
    shoot.subject(likeness=ALIKE)
    shoot.wait(minutes=30).subject(likeness=unlike(3))
    keep(row, *shoot.photos)
    matching.match_all(row)
    (run,) = waiting_runs(row)
    shown = likely(run.photos[0].candidates)
    assert len(shown.shown) == 3
    assert shown.others == 11
    assert others_text(shown.others, 0.008) == "and 11 others, none likelier than 1 in 100"
    assert others_text(1, 0.3) == "and 1 other, not likelier than 1 in 3"
    assert waiting_text([run]).count("No. ") <= 8


def test_the_page_has_each_photo_with_its_reason_and_what_to_type(row: StockBook) -> None:
    shoot, _ = an_afternoon()
    keep(row, *shoot.photos)
    matching.match_all(row)
    page = waiting_page(row, waiting_runs(row))
    for one in matching.waiting(row):
        assert f"photo {one.photo_id}<" in page
    # These originals are not there, and the page says so instead of failing.
    assert page.count("can't be shown") == len(matching.waiting(row))
    assert "photolog decide " in page
    assert "<script" not in page


def test_of_many_the_outings_are_named_and_the_day_stands_for_scattered_numbers(
    row: StockBook,
) -> None:
    shoot, _ = an_afternoon()
    scattered = [replace(one, photo_id=7 * one.photo_id) for one in shoot.photos]
    keep(row, *scattered)
    matching.match_all(row)
    (run,) = waiting_runs(row)
    assert [command for command, _ in run_commands(run)][
        -1
    ] == "photolog decide 2026-05-16 proposed"
    brief = waiting_brief([run] * 14, most_runs=2)
    assert brief.splitlines()[0] == "  12 older outings, and:"
    assert brief.count("19 photos of 16 May 2026") == 2
    assert "tag 00" not in brief
    assert waiting_on(row, LIFTING) == tuple(one.photo_id for one in run.photos)
    assert waiting_on(row, PLANTING) == ()


def test_a_fixed_number_of_queries_however_many_wait(row: StockBook, queries_of) -> None:  # type: ignore[no-untyped-def]
    def queries(first: int, last: int) -> int:
        shoot = Shoot(camera=first + 1)
        for number in range(first, last):
            shoot.wait(minutes=30).subject(likeness=unlike(number))
        keep(row, *shoot.photos)
        matching.match_all(row)
        with queries_of() as seen:
            waiting_page(row, waiting_runs(row))
            matching.match_anew(row)
        return len(seen)

    assert queries(0, 2) == queries(2, 30)


def test_a_thumbnail_stands_beside_each_photo(row: StockBook, tmp_path: Path) -> None:
    from photolog.book.intake import take_in
    from tests.book.photographed import photo, plain_picture

    photo(tmp_path, plain_picture(1), NOON, name="LF1")
    take_in(row, [tmp_path], workers=0)
    matching.match_all(row)
    assert waiting_page(row, waiting_runs(row)).count('<img src="data:image/jpeg') == 1


def test_what_looks_like_a_copy_is_offered_the_plant_of_the_other(row: StockBook) -> None:
    shoot, sent = Shoot(), Shoot(camera=2, at=NOON + timedelta(days=3))
    photo = shoot.subject(likeness=ALIKE)
    copy = sent.subject(likeness=ALIKE)
    keep(row, *shoot.photos, *sent.photos)
    with row.writing() as session:
        factories.copy(session, photo_id=copy, of_photo_id=photo)
    matching.match_all(row)
    decided = matching.decide(row, photo, 13)
    assert len(decided.moves) == 0
    (waits,) = matching.waiting(row)
    first = waits.candidates[0]
    assert (waits.photo_id, first.tag, first.reason) == (copy, 13, "copy")
    assert (
        first.because
        == f"It looks like a copy of photo {photo} (LF000101.JPG), which is of “No. 13”."
    )
    matching.decide_as_proposed(row, [copy])
    assert standing(row) == {photo: 13, copy: 13}
