"""Bursts in the stock book: found, joined, split, taken back; what they count in comparisons."""

from datetime import UTC, datetime, timedelta

import cv2
import numpy as np
import pytest

from photolog.book import bursts, daybook, matching, measuring, seasons
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.intake import take_in
from photolog.book.photo_sizes import photos_showing
from photolog.terms import EventKind, Subject
from tests.book.photographed import clump_picture, fill_garden, photo

NOW = datetime(2027, 7, 1, tzinfo=UTC)
AT = datetime(2026, 5, 16, 14, 3, 22)


def shaken(picture, pixels):
    """The same a moment later: the hand moved by so many pixels."""
    moved = np.float32([[1, 0, pixels], [0, 1, -pixels]])
    return cv2.warpAffine(
        picture, moved, picture.shape[1::-1], borderMode=cv2.BORDER_REPLICATE
    ).astype(np.uint8)


@pytest.fixture
def shots(book, tmp_path):
    """Three shots of the clump of tag 11 within four seconds, one of that of tag 12 after them."""
    fill_garden(book)
    for n in range(3):
        at = AT + timedelta(seconds=2 * n)
        photo(tmp_path, shaken(clump_picture(11), 3 * n), at, name=f"LF35011{n}")
    photo(tmp_path, clump_picture(12), AT + timedelta(seconds=7), name="LF350113")
    take_in(book, [tmp_path / f"LF35011{n}.jpg" for n in range(4)], workers=0, now=NOW)
    matching.match_all(book)
    return book


def found(book):
    return [([one.photo_id for one in burst.photos], burst.by_hand) for burst in bursts.every(book)]


def records(book):
    with book.reading() as session:
        return [
            (one.id, one.burst, one.set_apart)
            for one in photos_showing(book, session, Subject.CLUMP)
        ]


def test_a_burst_is_found_and_ends_with_the_next_plant(shots):
    assert found(shots) == [([1, 2, 3], False)]
    assert records(shots) == [(1, 1, False), (2, 1, False), (3, 1, False), (4, 4, False)]


def test_the_grower_splits_joins_and_takes_back(shots):
    assert [[one.photo_id for one in b.photos] for b in bursts.apart(shots, [2])] == [[2]]
    assert found(shots) == [([1, 3], False), ([2], True)]
    assert records(shots) == [(1, 1, False), (2, 2, True), (3, 1, False), (4, 4, False)]
    bursts.together(shots, [4, 2])
    assert found(shots) == [([1, 3], False), ([2, 4], True)]
    assert records(shots)[1::2] == [(2, 2, False), (4, 2, False)]
    bursts.undo(shots, [4])
    assert found(shots) == [([1, 2, 3], False)]


def test_who_is_left_of_a_joined_burst_keeps_together(shots):
    bursts.together(shots, [1, 2, 4])
    bursts.apart(shots, [1])
    assert found(shots) == [([1], True), ([2, 4], True)]


def test_what_can_not_be_said_is_refused_in_a_sentence(shots):
    with pytest.raises(Unknown, match=r"^There is no photo 99 in the stock book\.$"):
        bursts.together(shots, [1, 99])
    with pytest.raises(WrongEntry, match=r"^A burst has at least two photos\.$"):
        bursts.together(shots, [1, 1])
    with pytest.raises(WrongEntry, match="Nothing was said of the burst of photo 1"):
        bursts.undo(shots, [1])


def test_a_burst_counts_once_in_a_comparison(shots, tmp_path):
    """The clump again a quarter of an hour later: two layings, whatever the first one's shots."""
    later = AT + timedelta(minutes=15)
    photo(tmp_path, clump_picture(11, seed=5), later, name="LF350130")
    next_year = AT + timedelta(days=365)
    photo(tmp_path, clump_picture(11, seed=7), next_year, name="LF350140")
    book = shots
    daybook.enter(book, EventKind.PLANTED_OUT, on=AT.date() + timedelta(days=170), tags=[11])
    daybook.enter(book, EventKind.LIFTED, on=next_year.date(), tags=[11])
    take_in(book, [tmp_path / "LF350130.jpg", tmp_path / "LF350140.jpg"], workers=0, now=NOW)
    matching.match_all(book)
    measuring.measure_all(book, workers=0)
    with book.reading() as session:
        sizes = {
            one.id: one.measured.sizes["spread_mm"].value
            for one in photos_showing(book, session, Subject.CLUMP)
            if one.measured and not one.measured.refused
        }
    burst_mean = float(np.exp(np.mean(np.log([sizes[n] for n in (1, 2, 3)]))))
    (row,) = [row for row in seasons.compare(book).rows if row.size and row.size.n_same]
    assert row.size.first.value == pytest.approx(np.sqrt(burst_mean * sizes[5]), rel=1e-6)
    # Set apart, its shots are three occasions beside the later one.
    bursts.apart(book, [1, 2, 3])
    (row,) = [row for row in seasons.compare(book).rows if row.size and row.size.n_same]
    assert row.size.first.value == pytest.approx(
        np.exp(np.mean(np.log([sizes[n] for n in (1, 2, 3, 5)]))), rel=1e-6
    )
