"""Matching a stock book's photos: from real files through marks to plants, by hand and back."""

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select

from photolog.book import StockRef, clocks, daybook, matching, plants, settings, tags
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.intake import take_in
from photolog.records import PhotoRow, PhotoSubjectRow
from photolog.terms import EventKind, MatchState
from tests.book.photographed import (
    LIFTED,
    clump_picture,
    fill_garden,
    photo,
    plain_picture,
    tag_picture,
)

NOW = datetime(2026, 7, 1, tzinfo=UTC)
NOON = datetime(2026, 5, 16, 12, 0)


@pytest.fixture
def afternoon(book, tmp_path):
    """A lifting afternoon: 0011 pegged, 0012 by tag shot, 0013's tag shot too blurred to read."""
    fill_garden(book)
    shots = [
        (clump_picture(11), 0),
        (tag_picture(12), 120),
        (clump_picture(None, seed=4), 135),
        (plain_picture(), 260),
        (clump_picture(None, seed=5), 275),
    ]
    folder = tmp_path / "card"
    folder.mkdir()
    for number, (picture, seconds) in enumerate(shots):
        photo(folder, picture, NOON + timedelta(seconds=seconds), name=f"LF35010{number}")
    photo(folder, clump_picture(11, seed=9), None, name="LF350109")
    report = take_in(book, [folder], workers=0, now=NOW)
    assert len(report.taken) == 6
    return book


def plant_of(book, tag: int) -> StockRef:
    return plants.of_tag(book, tag, on=LIFTED).ref


def standing(book) -> dict[str, object]:
    """The tag of each matched photo, or None for one that waits, by the photo's name."""
    names = {one.name: None for one in matching.waiting(book)}
    return names | {one.name: one.tag for one in matching.matched(book)}


def test_from_files_to_plants(afternoon):
    report = matching.match_all(afternoon)
    assert standing(afternoon) == {
        "LF350100.jpg": 11,
        "LF350101.jpg": 12,
        "LF350102.jpg": 12,
        "LF350103.jpg": None,
        "LF350104.jpg": None,
        "LF350109.jpg": None,
    }
    assert (report.matched, report.waiting, report.no_plant) == (3, 3, 0)
    assert dict(report.by_reason) == {"tag": 2, "run": 1}
    assert report.changed == 3
    by_name = {one.name: one for one in matching.matched(afternoon)}
    assert by_name["LF350102.jpg"].stock == plant_of(afternoon, 12)
    assert by_name["LF350102.jpg"].because.startswith("The first clump after the tag shot of 0012")


def test_waiting_photos_come_with_reason_and_candidates(afternoon):
    matching.match_all(afternoon)
    waits = {one.name: one for one in matching.waiting(afternoon)}
    missed = waits["LF350104.jpg"]
    assert "may be a tag shot that failed" in missed.because
    assert missed.shows == "clump"
    # Lifted that day and without a clump photo yet: 0013 and 0014.
    assert {one.tag for one in missed.candidates[:2]} == {13, 14}
    assert missed.candidates[0].reason == "day book"
    assert [one.probability for one in missed.candidates] == sorted(
        (one.probability for one in missed.candidates), reverse=True
    )
    undated = waits["LF350109.jpg"]
    assert undated.because.startswith("The file carries no camera data, so no date.")
    assert [one.tag for one in undated.candidates] == [11]


def test_matching_again_changes_nothing(afternoon):
    matching.match_all(afternoon)
    with afternoon.reading() as session:
        before = list(session.execute(select(PhotoSubjectRow.id, PhotoSubjectRow.matched_at)))
    assert matching.match_all(afternoon).changed == 0
    with afternoon.reading() as session:
        assert (
            list(session.execute(select(PhotoSubjectRow.id, PhotoSubjectRow.matched_at))) == before
        )


def test_by_hand_stays_and_can_be_taken_back(afternoon):
    matching.match_all(afternoon)
    waits = {one.name: one.photo_id for one in matching.waiting(afternoon)}
    clump, blurred = waits["LF350104.jpg"], waits["LF350103.jpg"]
    matching.decide(afternoon, clump, 13)
    matching.decide(afternoon, blurred, None)
    report = matching.match_all(afternoon)
    assert (report.waiting, report.no_plant, report.by_reason["by hand"]) == (1, 1, 1)
    assert standing(afternoon)["LF350104.jpg"] == 13
    (waits_again,) = matching.undo(afternoon, clump).stand
    assert isinstance(waits_again, matching.WaitingPhoto)
    assert waits_again.photo_id == clump
    assert waits_again.because.startswith("The run of tag 0012 was closed")
    assert standing(afternoon)["LF350104.jpg"] is None
    with pytest.raises(WrongEntry, match="was not matched by hand"):
        matching.undo(afternoon, clump)


def test_a_division_of_which_there_are_photos_is_not_struck_out(afternoon):
    (piece, _) = plants.divide(afternoon, 11, on=LIFTED, tags=[11, 61])
    matching.match_all(afternoon)
    (own,) = [one.photo_id for one in matching.matched(afternoon) if one.stock == piece.ref]
    (entry,) = daybook.entries(afternoon, kinds=[EventKind.DIVIDED])
    with pytest.raises(WrongEntry, match=r"more is known of its pieces: 0011-N\."):
        daybook.strike_out(afternoon, entry.id)
    assert standing(afternoon)["LF350100.jpg"] == 11
    matching.decide(afternoon, own, None)
    daybook.strike_out(afternoon, entry.id)
    (again,) = matching.undo(afternoon, own).stand
    assert isinstance(again, matching.MatchedPhoto)
    assert again.stock == plant_of(afternoon, 11) != piece.ref


def test_by_hand_overrules_a_tag(afternoon):
    matching.match_all(afternoon)
    pegged = next(one.photo_id for one in matching.matched(afternoon) if one.tag == 11)
    matching.decide(afternoon, pegged, "0014")
    matching.match_all(afternoon)
    assert standing(afternoon)["LF350100.jpg"] == 14
    (again,) = matching.undo(afternoon, pegged).stand
    assert isinstance(again, matching.MatchedPhoto)
    assert (again.photo_id, again.tag, again.reason, again.by_hand) == (pegged, 11, "tag", False)


def test_a_photo_without_date_needs_the_day(afternoon):
    matching.match_all(afternoon)
    undated = next(one.photo_id for one in matching.waiting(afternoon) if one.taken_at is None)
    with pytest.raises(WrongEntry, match="has no date, so nobody can say who held tag 0011"):
        matching.decide(afternoon, undated, 11)
    matching.decide(afternoon, undated, 11, on=LIFTED)
    assert standing(afternoon)["LF350109.jpg"] == 11
    told = next(one for one in matching.matched(afternoon) if one.photo_id == undated)
    assert told.taken_at == NOON
    matching.match_all(afternoon)
    assert standing(afternoon)["LF350104.jpg"] is None
    matching.undo(afternoon, undated)
    assert standing(afternoon)["LF350109.jpg"] is None
    assert [one.photo_id for one in matching.waiting(afternoon) if not one.taken_at] == [undated]


def test_a_day_told_does_not_overrule_the_cameras_date(afternoon):
    matching.match_all(afternoon)
    pegged = next(one.photo_id for one in matching.matched(afternoon) if one.tag == 11)
    with pytest.raises(WrongEntry, match=f"says itself that it was taken on {NOON.date()}"):
        matching.decide(afternoon, pegged, 12, on=date(2026, 5, 1))
    told = next(one for one in matching.matched(afternoon) if one.photo_id == pegged)
    assert (told.taken_at, told.tag) == (NOON, 11)


def test_a_photo_may_belong_to_several(afternoon):
    matching.match_all(afternoon)
    photo_id = next(one.photo_id for one in matching.waiting(afternoon))
    pair = (plant_of(afternoon, 13), plant_of(afternoon, 14))
    matching.decide_stock(afternoon, photo_id, *pair)
    assert {one.stock for one in matching.matched(afternoon) if one.photo_id == photo_id} == {*pair}
    with pytest.raises(Unknown, match="There is no plant 999"):
        matching.decide_stock(afternoon, photo_id, StockRef("plant", 999))


def test_unknown_photo_and_tag(afternoon):
    with pytest.raises(Unknown, match="There is no photo 99"):
        matching.decide(afternoon, 99, 11)
    with pytest.raises(Unknown, match="77"):
        matching.decide(afternoon, 1, 77)


def test_a_match_falls_when_what_it_rests_on_falls(afternoon):
    matching.match_all(afternoon)
    assert standing(afternoon)["LF350100.jpg"] == 11
    daybook.enter(afternoon, EventKind.LOST, on=date(2026, 2, 1), tags=[11], cause="rotted")
    report = matching.match_all(afternoon)
    assert standing(afternoon)["LF350100.jpg"] is None
    (against,) = report.contradictions
    assert "was lost (rotted) on 2026-02-01, before this photo" in against.because


def test_a_tag_handed_on_moves_its_later_photos_only(book, tmp_path):
    fill_garden(book)
    for number, day in enumerate((date(2025, 12, 1), date(2026, 4, 1))):
        at = datetime.combine(day, NOON.time())
        photo(tmp_path, tag_picture(12), at, name=f"LF{number}", kind="png" if number else "jpeg")
    take_in(book, [tmp_path], workers=0, now=NOW)
    tags.hand_on(book, 12, to=plant_of(book, 13), on=date(2026, 3, 1))
    matching.match_all(book)
    stocks = [one.stock for one in matching.matched(book)]
    assert stocks[1] == plants.of_tag(book, 13, on=LIFTED).ref
    assert stocks[0] != stocks[1]


def test_a_batch_is_matched_by_its_tag(book, tmp_path):
    fill_garden(book)
    photo(tmp_path, tag_picture(101, mark_px=40), datetime(2026, 6, 6, 11), name="LF1")
    take_in(book, [tmp_path], workers=0, now=NOW)
    matching.match_all(book)
    (tray,) = matching.matched(book)
    assert (tray.stock.kind, tray.tag) == ("batch", 101)
    assert tray.stock_name == "the batch of 40 pot tubers of “Saltmarsh Linnet”"


def test_a_clock_put_right_counts(book, tmp_path):
    fill_garden(book)
    fast = datetime(2026, 5, 17, 0, 30)
    photo(tmp_path, clump_picture(11), fast, name="LF1", camera="Pocket 28")
    take_in(book, [tmp_path], workers=0, now=NOW)
    clocks.set_clock(book, "Larkfield Pocket 28", add_seconds=-3600)
    matching.match_all(book)
    (one,) = matching.matched(book)
    assert one.taken_at == datetime(2026, 5, 16, 23, 30)
    assert "held on 2026-05-16" in one.because


def test_what_the_grower_set_is_used(afternoon):
    settings.put(afternoon, "match_threshold", 0.99)
    assert matching.match_settings(afternoon).threshold == 0.99
    matching.match_all(afternoon)
    assert standing(afternoon)["LF350102.jpg"] is None
    settings.put(afternoon, "tag_shot", "after")
    settings.put(afternoon, "run_pause_minutes", 20)
    assert matching.match_settings(afternoon).tag_shot == "after"
    assert matching.match_settings(afternoon).pause_minutes == 20.0


def test_what_was_told_of_a_match_survives_matching_again(afternoon):
    matching.match_all(afternoon)
    with afternoon.writing() as session:
        for row in session.scalars(select(PhotoSubjectRow)):
            row.stage = "washed"
    settings.put(afternoon, "match_threshold", 0.97)
    daybook.enter(afternoon, EventKind.WASHED, on=LIFTED, tags=[11])
    matching.match_all(afternoon)
    with afternoon.reading() as session:
        assert set(session.scalars(select(PhotoSubjectRow.stage))) == {"washed"}


def test_a_fixed_number_of_queries_however_many_photos(book, tmp_path, queries_of):
    fill_garden(book)

    def queries(first: int, last: int) -> int:
        for number in range(first, last):
            at = NOON + timedelta(minutes=number)
            photo(tmp_path, plain_picture(number), at, name=f"LF{number}")
        take_in(book, [tmp_path], workers=0, now=NOW)
        matching.match_all(book)
        with queries_of() as seen:
            matching.match_all(book)
            matching.waiting(book)
            matching.matched(book)
        return len(seen)

    assert queries(0, 2) == queries(2, 12)
    with book.reading() as session:
        assert set(session.scalars(select(PhotoRow.match_state))) == {MatchState.WAITING}
