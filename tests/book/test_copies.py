"""Copies: what is merged without a question, what is proposed, and the grower's word on it."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import select

from photolog.book import StockBook, copies, matching, proposals
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.intake import take_in
from photolog.book.photo_sizes import photos_showing
from photolog.records import PhotoRow
from photolog.terms import CopyState, MatchState, Subject
from tests.book.photographed import clump_picture, fill_garden, photo, sharp_picture
from tests.book.word_photos import WordShoot
from tests.photos.written import OFFSET_ORIGINAL, exif, write
from tests.records import factories

NOW = datetime(2026, 7, 1, tzinfo=UTC)
AT = datetime(2026, 5, 16, 14, 3, 22)


def take(book: StockBook, *paths):
    take_in(book, paths, workers=0, now=NOW)
    return copies.look(book)


def sent(folder, picture, *, name="IMG-0001", share=0.5, quality=60):
    """As a messaging program hands it on: smaller, coarser, without a date."""
    small = Image.fromarray(picture)
    small = small.resize((round(small.width * share), round(small.height * share)))
    return write(folder, name=name, image=small, quality=quality)


def cropped(folder, picture, at, *, name="LF350112 edited"):
    height, width = picture.shape[:2]
    part = Image.fromarray(picture[height // 10 : -height // 20, width // 8 : -width // 16])
    return write(folder, name=name, image=part, block=exif(original=f"{at:%Y:%m:%d %H:%M:%S}"))


def brighter(folder, picture, at, *, name="LF350112 (1)"):
    lit = (255 * (picture / 255.0) ** 0.7).astype(np.uint8)
    return write(
        folder,
        name=name,
        image=Image.fromarray(lit),
        block=exif(original=f"{at:%Y:%m:%d %H:%M:%S}"),
    )


def row(book: StockBook, photo_id: int) -> PhotoRow:
    with book.reading() as session:
        return session.get_one(PhotoRow, photo_id)


@pytest.mark.parametrize("sent_first", [False, True])
def test_a_copy_that_was_sent_is_proposed_whichever_came_first(book, tmp_path, sent_first):
    picture = clump_picture(11)
    original = photo(tmp_path, picture, AT, name="LF350112")
    copy = sent(tmp_path, picture)
    first, second = (copy, original) if sent_first else (original, copy)
    take(book, first)
    assert copies.proposed(book) == ()
    assert take(book, second).proposed == 1
    (one,) = copies.proposed(book)
    assert (one.name, one.of_name) == ("IMG-0001.jpg", "LF350112.jpg")
    assert one.because == (
        "The same picture, 600 × 450 pixels instead of 1200 × 900, without its date."
    )
    # Looked at once, it is not looked at again.
    assert copies.look(book).proposed == 0


def test_edited_copies_of_the_same_second_are_proposed(book, tmp_path):
    picture = clump_picture(11)
    original = photo(tmp_path, picture, AT, name="LF350112")
    take(book, original, cropped(tmp_path, picture, AT), brighter(tmp_path, picture, AT))
    said = {one.name: (one.of_name, one.because) for one in copies.proposed(book)}
    assert said["LF350112 (1).jpg"] == (
        "LF350112.jpg",
        "The same picture, taken in the same second. They may also be two shots from one place, "
        "one after the other: if so, say that they are apart.",
    )
    assert said["LF350112 edited.jpg"][0] == "LF350112.jpg"
    assert "cropped to 69 %" in said["LF350112 edited.jpg"][1]


def test_a_copy_that_was_turned_is_found_without_a_date(book, tmp_path):
    pictures = [clump_picture(None, seed=seed) for seed in range(12)]
    take(book, *(photo(tmp_path, one, AT + timedelta(minutes=n), name=f"LF35010{n}")
                 for n, one in enumerate(pictures)))  # fmt: skip
    take(book, sent(tmp_path, np.ascontiguousarray(np.rot90(pictures[7]))))
    (one,) = copies.proposed(book)
    assert one.of_name == "LF350107.jpg"
    assert "turned by 90°" in one.because


def test_other_clumps_on_the_same_bench_are_not_proposed(book, tmp_path):
    take(book, *(sent(tmp_path, clump_picture(None, seed=seed), name=f"a{seed}", share=0.8)
                 for seed in range(6)))  # fmt: skip
    assert copies.proposed(book) == ()


def test_two_shots_of_different_dates_are_never_proposed(book, tmp_path):
    picture = clump_picture(11)
    take(
        book,
        photo(tmp_path, picture, AT, name="LF350112"),
        # Another file: the noise of another shot would not matter, the date alone decides.
        brighter(tmp_path, picture, AT + timedelta(seconds=1), name="LF350113"),
    )
    assert copies.proposed(book) == ()


def test_shots_that_the_camera_counted_within_one_second_are_not_proposed(book, tmp_path):
    picture = clump_picture(11)
    take(
        book,
        photo(tmp_path, picture, AT, name="LF350112"),
        brighter(tmp_path, picture, AT, name="LF350113"),
    )
    assert copies.proposed(book) == ()


def test_the_same_pixels_in_another_kind_of_file_are_merged_without_a_question(book, tmp_path):
    picture = Image.fromarray(sharp_picture())
    jpeg = write(tmp_path, name="LF350112", image=picture, block=exif())
    with Image.open(jpeg) as opened:
        saved_again = Image.fromarray(np.asarray(opened))
    take(book, jpeg)
    found = take(book, write(tmp_path, "png", name="saved again", image=saved_again))
    assert found.proposed == 0
    (one,) = found.certain
    assert (one.name, one.of_name, one.state) == (
        "saved again.png",
        "LF350112.jpg",
        CopyState.COPY,
    )
    assert one.because == "Its pixels are the same to the last."
    assert copies.proposed(book) == ()
    assert row(book, one.photo_id).match_state is MatchState.NO_PLANT


@pytest.fixture
def garden(book, tmp_path):
    """A clump that its tag matched, and the copy of it that was sent."""
    fill_garden(book)
    picture = clump_picture(11)
    take(book, photo(tmp_path, picture, AT, name="LF350112"), sent(tmp_path, picture))
    matching.match_all(book)
    return book


def clumps(book: StockBook) -> list[str]:
    with book.reading() as session:
        return [one.name for one in photos_showing(book, session, Subject.CLUMP)]


def test_a_confirmed_copy_counts_nowhere_until_it_is_taken_back(garden):
    assert clumps(garden) == ["LF350112.jpg", "IMG-0001.jpg"]
    assert [one.name for one in matching.waiting(garden)] == ["IMG-0001.jpg"]
    (pair,) = copies.confirm(garden)
    assert pair.state is CopyState.COPY
    assert clumps(garden) == ["LF350112.jpg"]
    assert matching.waiting(garden) == ()
    # Matching anew leaves it so.
    matching.match_all(garden)
    assert row(garden, pair.photo_id).match_state is MatchState.NO_PLANT
    (back,) = copies.undo(garden, [pair.number])
    assert back.state is CopyState.PROPOSED
    assert clumps(garden) == ["LF350112.jpg", "IMG-0001.jpg"]
    assert [one.name for one in matching.waiting(garden)] == ["IMG-0001.jpg"]
    assert copies.look(garden).proposed == 0


def test_one_that_is_none_is_not_proposed_again(garden):
    (pair,) = copies.proposed(garden)
    copies.say_apart(garden, [pair.number])
    assert copies.proposed(garden) == ()
    assert copies.look(garden).proposed == 0
    assert clumps(garden) == ["LF350112.jpg", "IMG-0001.jpg"]
    copies.undo(garden, [pair.number])
    assert [one.number for one in copies.proposed(garden)] == [pair.number]


def test_what_was_decided_of_the_copy_alone_goes_to_the_photo_and_back(book, tmp_path):
    fill_garden(book)
    picture = clump_picture(None)
    take(book, photo(tmp_path, picture, AT, name="LF350112"), sent(tmp_path, picture))
    matching.match_all(book)
    (pair,) = copies.proposed(book)
    matching.decide(book, pair.photo_id, 12, on=AT.date())
    (done,) = copies.confirm(book, [pair.number])
    assert done.taken_over == ("whose it is, as you had said",)
    ours = [one for one in matching.matched(book) if one.photo_id == pair.of_photo_id]
    assert [(one.tag, one.by_hand) for one in ours] == [(12, True)]
    copies.undo(book, [pair.number])
    assert row(book, pair.of_photo_id).match_state is MatchState.WAITING
    ours = [one for one in matching.matched(book) if one.photo_id == pair.photo_id]
    assert [(one.tag, one.by_hand) for one in ours] == [(12, True)]


def test_deciding_a_copy_decides_the_photo_that_stands_for_it(book, tmp_path):
    fill_garden(book)
    picture = clump_picture(None)
    take(book, photo(tmp_path, picture, AT, name="LF350112"), sent(tmp_path, picture))
    matching.match_all(book)
    (pair,) = copies.confirm(book)
    done = matching.decide(book, [pair.photo_id, pair.of_photo_id], 12)
    assert done.photos == (pair.of_photo_id,)
    assert done.copies == {pair.photo_id: pair.of_photo_id}
    assert row(book, pair.photo_id).match_state is MatchState.NO_PLANT
    ours = [one for one in matching.matched(book) if one.photo_id == pair.of_photo_id]
    assert [(one.tag, one.by_hand) for one in ours] == [(12, True)]
    # The copy's own number takes it back too.
    assert matching.undo(book, pair.photo_id).photos == (pair.of_photo_id,)
    assert row(book, pair.of_photo_id).match_state is MatchState.WAITING
    assert row(book, pair.photo_id).match_state is MatchState.NO_PLANT


def test_what_was_decided_since_of_the_photo_itself_stays_when_the_copy_comes_back(book, tmp_path):
    fill_garden(book)
    picture = clump_picture(None)
    take(book, photo(tmp_path, picture, AT, name="LF350112"), sent(tmp_path, picture))
    matching.match_all(book)
    (pair,) = copies.proposed(book)
    matching.decide(book, pair.photo_id, 12, on=AT.date())
    copies.confirm(book)
    # Nothing that stands was said last: what was said of the copy comes back with it.
    with pytest.raises(WrongEntry, match="No photo was decided by hand"):
        matching.undo(book)
    matching.decide(book, pair.of_photo_id, 13)
    copies.undo(book, [pair.number])
    tags = {one.photo_id: (one.tag, one.by_hand) for one in matching.matched(book)}
    assert tags == {pair.photo_id: (12, True), pair.of_photo_id: (13, True)}


def test_two_undated_shots_from_one_place_are_said_to_be_perhaps_two(book, tmp_path):
    """Proposed, since nothing but the picture speaks; and the grower is told what to look for."""
    picture = clump_picture(11)
    noise = np.random.default_rng(5).normal(0.0, 2.0, picture.shape)
    again = np.clip(picture + noise, 0, 255).astype(np.uint8)
    take(book, *(photo(tmp_path, one, None, name=f"IMG-{n}")
                 for n, one in enumerate((picture, again))))  # fmt: skip
    (one,) = copies.proposed(book)
    assert one.because == (
        "The same picture, both without a date. They may also be two shots from one place, one "
        "after the other: if so, say that they are apart."
    )


def test_a_zone_that_only_the_copy_has_goes_to_the_photo_and_back(book, tmp_path):
    picture = clump_picture(11)
    lit = Image.fromarray((255 * (picture / 255.0) ** 0.7).astype(np.uint8)).resize((800, 600))
    block = exif(original=f"{AT:%Y:%m:%d %H:%M:%S}", details={OFFSET_ORIGINAL: "+12:00"})
    take(
        book,
        photo(tmp_path, picture, AT, name="LF350112"),
        write(tmp_path, name="edited", image=lit, block=block),
    )
    (pair,) = copies.confirm(book)
    assert pair.taken_over == ("its time zone",)
    assert row(book, pair.of_photo_id).taken_offset == "+12:00"
    copies.undo(book, [pair.number])
    assert row(book, pair.of_photo_id).taken_offset is None


def test_what_can_not_be_said_is_refused_in_a_sentence(garden):
    with pytest.raises(Unknown, match=r"^There is no pair 99 among the copies"):
        copies.confirm(garden, [99])
    (pair,) = copies.proposed(garden)
    with pytest.raises(WrongEntry, match="can't be changed so: nothing was said of it yet"):
        copies.undo(garden, [pair.number])
    copies.confirm(garden)
    with pytest.raises(WrongEntry, match="can't be changed so: it is a copy already"):
        copies.say_apart(garden, [pair.number])


def test_a_copy_of_a_copy_is_merged_with_the_photo_itself(book, tmp_path):
    picture = clump_picture(11)
    take(book, sent(tmp_path, picture, name="b", share=0.5))
    take(book, sent(tmp_path, picture, name="c", share=0.4))
    take(book, photo(tmp_path, picture, AT, name="LF350112"))
    copies.confirm(book)
    stand = {one.name: one.of_name for one in copies.every(book) if one.state is CopyState.COPY}
    assert set(stand) == {"b.jpg", "c.jpg"}
    with book.reading() as session:
        states = session.execute(select(PhotoRow.original_name, PhotoRow.match_state)).all()
    assert [name for name, state in states if state is MatchState.NO_PLANT] == ["b.jpg", "c.jpg"]


def test_a_photo_whose_original_is_lost_stops_nothing(book, tmp_path):
    picture = clump_picture(11)
    take_in(book, [photo(tmp_path, picture, AT, name="LF350112")], workers=0, now=NOW)
    for path in [*book.photos.rglob("*.jpg"), *book.made.rglob("*.jpg")]:
        path.unlink()
    assert take(book, sent(tmp_path, picture)).proposed == 0


def test_a_word_card_in_a_copy_proposes_nothing_of_its_own(book):
    fill_garden(book)
    shoot = WordShoot(book, AT)
    shoot.shot(tags=(11,), words="rotted")
    shoot.shot(tags=(11,), words="rotted")
    with book.writing() as session:
        # As it was sent: without its date.
        session.get_one(PhotoRow, 2).taken_at = None
        pair = factories.copy(session, photo_id=2, of_photo_id=1).id
    matching.match_all(book)
    assert [one.photo_id for one in proposals.proposed(book)] == [1, 2]
    copies.confirm(book, [pair])
    assert [one.photo_id for one in proposals.proposed(book)] == [1]
    assert len(proposals.confirm(book, None).confirmed) == 1
    copies.undo(book, [pair])
    assert [one.photo_id for one in proposals.proposed(book)] == [2]
