"""Corrections that photos propose: listed with their evidence, confirmed, refused, taken back."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import numpy as np
import pytest
from sqlalchemy import select

from photolog.book import (
    StockBook,
    cameras,
    clock_proposals,
    clocks,
    photo_sizes,
    plants,
    varieties,
)
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.fallen_clocks import fallen_clocks
from photolog.records import PhotoRow
from photolog.terms import ClockReason
from tests.records import factories

TAGS = range(11, 36)
FIRST = date(2026, 3, 10)


class Phones:
    """Two cameras that photograph the tags of a garden together, straight into a stock book."""

    def __init__(self, book: StockBook, *, seed: int = 1) -> None:
        self.book = book
        self.rng = np.random.default_rng(seed)
        self.counters = {"Field 35": 100, "Pocket 28": 5000}
        with book.writing() as session:
            self.ids = {
                model: cameras.find_or_add(session, make="Larkfield", model=model, serial="")
                for model in self.counters
            }
        self.photos: dict[str, list[int]] = {model: [] for model in self.counters}

    def round(self, day: date, *, pocket: timedelta | datetime = timedelta()) -> None:
        """``pocket``: what the second camera's clock adds, or what it showed at 14:00."""
        at = datetime.combine(day, time(14))
        added = pocket if isinstance(pocket, timedelta) else pocket - at
        with self.book.writing() as session:
            for tag in TAGS:
                at += timedelta(seconds=20 + float(self.rng.exponential(40)))
                for model in self.counters:
                    if self.rng.random() < 0.15:
                        continue
                    self.counters[model] += 1
                    said = at + timedelta(seconds=float(self.rng.uniform(0, 40)))
                    if model == "Pocket 28":
                        said += added
                    one = {"number": tag, "half": None, "side_px": 300.0, "pegged": False}
                    photo = factories.photo(
                        session,
                        original_name=f"{model[0]}K{self.counters[model]:04d}.JPG",
                        taken_at=said.replace(microsecond=0),
                        taken_offset="+13:00" if model == "Field 35" else None,
                        camera_id=self.ids[model],
                        marks={"tags": [one], "cards": [], "words": []},
                    )
                    self.photos[model].append(photo.id)

    def hours(self, model: str) -> set[int]:
        with self.book.reading() as session:
            records = photo_sizes.photos_numbered(self.book, session, *self.photos[model])
        return {one.taken_at.hour for one in records if one.taken_at is not None}


@pytest.fixture
def ahead(book: StockBook) -> Phones:
    """A pocket camera seven hours ahead, on two days beside a phone."""
    phones = Phones(book)
    for n in range(2):
        phones.round(FIRST + timedelta(days=n), pocket=timedelta(hours=7))
    return phones


def test_another_zone_is_proposed_and_said_as_such(book: StockBook, ahead: Phones) -> None:
    (one,) = clock_proposals.proposed(book)
    assert (one.camera, one.kind) == ("Larkfield Pocket 28", ClockReason.ANOTHER_ZONE)
    assert one.add_seconds == -7 * 3600
    assert (one.since, one.until, one.span) == (None, None, None)
    assert "tags that Larkfield Field 35 photographed on 2 days too say so" in one.because
    assert ahead.hours("Pocket 28") == {21}


def test_where_nothing_speaks_for_either_that_is_said(book: StockBook, ahead: Phones) -> None:
    (one,) = clock_proposals.proposed(book)
    assert "may as well be" not in one.because
    with book.writing() as session:
        for row in session.scalars(select(PhotoRow)):
            row.taken_offset = None
    (one,) = clock_proposals.proposed(book)
    assert "It may as well be the clock of Larkfield" in one.because


def test_nothing_holds_until_it_is_confirmed(book: StockBook, ahead: Phones) -> None:
    (one,) = clock_proposals.proposed(book)
    (learnt,) = clock_proposals.confirm(book, [one.id])
    assert learnt.photos == len(ahead.photos["Pocket 28"])
    assert ahead.hours("Pocket 28") == {14}
    assert clock_proposals.proposed(book) == ()
    clocks.take_back(book, learnt.correction.id)
    assert ahead.hours("Pocket 28") == {21}
    (again,) = clock_proposals.proposed(book)
    assert (again.camera, again.add_seconds) == (one.camera, one.add_seconds)


def test_a_proposal_keeps_its_number_as_photos_come_in(book: StockBook, ahead: Phones) -> None:
    (one,) = clock_proposals.proposed(book)
    ahead.round(FIRST + timedelta(days=5), pocket=timedelta(hours=7))
    (again,) = clock_proposals.proposed(book)
    assert again.id == one.id
    assert "on 3 days" in again.because


def test_what_was_refused_is_not_proposed_again(book: StockBook, ahead: Phones) -> None:
    (one,) = clock_proposals.proposed(book)
    assert clock_proposals.refuse(book, [one.id]) == (one,)
    ahead.round(FIRST + timedelta(days=5), pocket=timedelta(hours=7))
    assert clock_proposals.proposed(book) == ()
    with pytest.raises(WrongEntry, match=f"Clock proposal {one.id} was turned down already"):
        clock_proposals.confirm(book, [one.id])
    with pytest.raises(Unknown, match="There is no clock proposal 99"):
        clock_proposals.confirm(book, [99])


def test_a_clock_put_right_by_half_is_put_right_for_the_rest(
    book: StockBook, ahead: Phones
) -> None:
    clocks.set_clock(book, "Larkfield Pocket 28", add_seconds=-6 * 3600)
    (one,) = clock_proposals.proposed(book)
    assert one.add_seconds == -7 * 3600
    clock_proposals.confirm(book, [one.id])
    assert ahead.hours("Pocket 28") == {14}
    (now,) = cameras.every(book)[1].corrections
    assert now.add_seconds == -7 * 3600
    # Taken back, the half holds again, and the rest is proposed again.
    clocks.take_back(book, now.id)
    (before,) = cameras.every(book)[1].corrections
    assert before.add_seconds == -6 * 3600
    assert [one.add_seconds for one in clock_proposals.proposed(book)] == [-7 * 3600]


def test_a_clock_that_fell_back_twice_is_put_right_each_time(book: StockBook) -> None:
    phones = Phones(book)
    days = [FIRST + timedelta(days=4 * n) for n in range(5)]
    for n, day in enumerate(days):
        phones.round(day, pocket=datetime(2020, 1, 1, 0, 9) if n in (1, 3) else timedelta())
    fallen = fallen_clocks(book)
    assert [one.said.year for one in fallen] == [2020, 2020]
    assert fallen[0].earliest is not None
    assert fallen[0].earliest.date() <= days[1] <= fallen[0].latest.date()
    proposed = clock_proposals.proposed(book)
    assert [one.kind for one in proposed] == [ClockReason.FIRST_DAY] * 2
    assert all(one.span is not None for one in proposed)
    clock_proposals.confirm(book, [one.id for one in proposed])
    with book.reading() as session:
        records = photo_sizes.photos_numbered(book, session, *phones.photos["Pocket 28"])
    assert {one.taken_at.date() for one in records if one.taken_at} == set(days)
    assert {one.taken_at.hour for one in records if one.taken_at} == {14}
    assert fallen_clocks(book) == ()
    assert clock_proposals.proposed(book) == ()


def test_it_costs_a_fixed_number_of_queries(book: StockBook, queries_of) -> None:
    phones = Phones(book)
    counted = []
    for n in range(2):
        phones.round(FIRST + timedelta(days=n))
        with queries_of() as seen:
            clock_proposals.proposed(book)
            fallen_clocks(book)
            cameras.every(book)
        counted.append(len(seen))
    assert counted[0] == counted[1]


def test_a_garden_without_photos_proposes_nothing(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    plants.add(book, variety="Tin Orchard", since=FIRST, tag=11)
    assert clock_proposals.proposed(book) == ()
    assert fallen_clocks(book) == ()


def test_a_first_day_before_the_garden_is_told_though_no_names_count(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    plants.add(book, variety="Tin Orchard", since=FIRST, tag=11)
    with book.writing() as session:
        camera_id = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        for n, at in enumerate(
            [datetime(2020, 1, 1, 0, 5), datetime(2020, 1, 3), datetime(2019, 8, 4)]
        ):
            factories.photo(session, original_name=f"bed {n}.jpg", taken_at=at, camera_id=camera_id)
    (one,) = fallen_clocks(book)
    assert (one.first_name, one.last_name) == ("bed 0.jpg", "bed 1.jpg")
    assert (one.said, one.by_counting) == (datetime(2020, 1, 1, 0, 5), False)
    clocks.learn_clock(book, one.photo_ids[0], true_time=datetime(2026, 3, 20, 9))
    assert fallen_clocks(book) == ()
