"""Tags: read as printed, and whose each one is on a day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from photolog.book import StockBook, StockRef, batches, plants, tags, varieties
from photolog.book.errors import AlreadyThere, Unknown, WrongTag
from photolog.book.plants import PlantView

PUT_ON = date(2023, 11, 4)
HANDED_ON = date(2024, 10, 30)
DAY = timedelta(days=1)


@pytest.fixture
def moth(book: StockBook) -> PlantView:
    varieties.add(book, "Old Harbour Moth")
    return plants.add(book, variety="Old Harbour Moth", tag=16, since=PUT_ON)


@pytest.fixture
def farola(book: StockBook, moth: PlantView) -> PlantView:
    varieties.add(book, "Tía Farola")
    plant = plants.add(book, variety="Tía Farola", since=HANDED_ON)
    tags.hand_on(book, 16, to=plant.ref, on=HANDED_ON)
    return plant


@pytest.mark.parametrize("typed", [16, "16", "0016", "0016-K", "16k", "0016 K", " 0016-k "])
def test_read_as_printed_or_typed(typed: str | int) -> None:
    assert tags.parse(typed) == 16


def test_printed_and_read_back_all_ten_thousand() -> None:
    for number in range(1, 10_000):
        assert tags.parse(tags.printed(number)) == number


@pytest.mark.parametrize("typed", ["0", "10000", "sixteen", "-16", "16-KK", "", "1 6"])
def test_what_is_no_tag(typed: str) -> None:
    with pytest.raises(WrongTag, match=r"is no tag\. Tags are numbered 1 to 9999, printed like"):
        tags.parse(typed)


def test_a_wrong_check_letter_is_noticed() -> None:
    with pytest.raises(WrongTag, match="0016-A can't be right: 0016 has the check letter K"):
        tags.parse("0016-A")


def test_a_figure_misread_is_always_noticed_by_the_letter() -> None:
    """Each of the 9 x 4 wrong figures of a printed tag gives another check letter."""
    letter = tags.printed(1234)[-1]
    for place in range(4):
        for figure in "0123456789":
            misread = "1234"[:place] + figure + "1234"[place + 1 :]
            if misread in ("1234", "0000"):
                continue
            with pytest.raises(WrongTag, match="has the check letter"):
                tags.parse(f"{misread}-{letter}")


def test_who_held_a_tag_is_answered_by_the_date(
    book: StockBook, moth: PlantView, farola: PlantView
) -> None:
    def whose(day: date) -> StockRef | None:
        held = tags.holder(book, "0016-K", on=day)
        return None if held is None else held.stock

    assert whose(PUT_ON - DAY) is None
    assert whose(PUT_ON) == moth.ref
    assert whose(HANDED_ON - DAY) == moth.ref
    assert whose(HANDED_ON) == farola.ref
    assert whose(date(2040, 1, 1)) == farola.ref


def test_a_tag_is_never_taken_silently(book: StockBook, moth: PlantView) -> None:
    with pytest.raises(
        WrongTag,
        match=r"0016-K has been on Old Harbour Moth since 2023-11-04\. Use another tag or",
    ):
        plants.add(book, variety="Old Harbour Moth", tag=16, since=HANDED_ON)
    assert len(plants.every(book)) == 1


def test_a_tag_taken_off_is_free(book: StockBook, moth: PlantView) -> None:
    tags.take_off(book, 16, on=date(2024, 8, 2))
    assert tags.holder(book, 16, on=date(2024, 8, 2)) is None
    plants.add(book, variety="Old Harbour Moth", tag=16, since=date(2024, 9, 1))
    with pytest.raises(AlreadyThere, match="was taken off Old Harbour Moth on 2024-08-02 already"):
        tags.take_off(book, 16, on=date(2024, 7, 1))


def test_a_tag_on_nothing_that_day_says_where_it_was(
    book: StockBook, moth: PlantView, farola: PlantView
) -> None:
    with pytest.raises(
        Unknown,
        match=r"was on nothing on 2020-01-01\. It was on Old Harbour Moth from 2023-11-04 until "
        "2024-10-30; has been on Tía Farola since 2024-10-30",
    ):
        tags.resolve(book, 16, on=date(2020, 1, 1))


def test_an_unknown_tag_offers_the_nearest(book: StockBook, farola: PlantView) -> None:
    with pytest.raises(
        Unknown, match=r"0061-V is not in the stock book\. Did you mean 0016-K \(Tía Farola\)\?"
    ):
        tags.resolve(book, 61, on=HANDED_ON)


def test_a_wrong_letter_offers_tags_of_the_book_that_fit_it(
    book: StockBook, farola: PlantView
) -> None:
    with pytest.raises(WrongTag, match=r"0018-K can't be right: .* mean 0016-K \(Tía Farola\)\?"):
        tags.resolve(book, "0018-K", on=HANDED_ON)


def test_an_empty_book_offers_nothing(book: StockBook) -> None:
    with pytest.raises(Unknown, match=r"is not in the stock book\.$"):
        tags.resolve(book, 61, on=HANDED_ON)


def test_put_right_on_the_same_day_the_first_never_held_it(
    book: StockBook, moth: PlantView
) -> None:
    other = plants.add(book, variety="Old Harbour Moth", since=PUT_ON)
    tags.hand_on(book, 16, to=other.ref, on=PUT_ON)
    (only,) = tags.holdings(book, 16)
    assert (only.stock, only.since, only.until) == (other.ref, PUT_ON, None)


def test_the_past_can_be_filled_in_but_not_over_what_is_there(
    book: StockBook, moth: PlantView
) -> None:
    earlier = plants.add(book, variety="Old Harbour Moth", since=date(2022, 1, 1))
    tags.hand_on(book, 16, to=earlier.ref, on=date(2022, 1, 1), until=PUT_ON)
    assert [one.stock for one in tags.holdings(book, 16)] == [earlier.ref, moth.ref]
    with pytest.raises(WrongTag, match="Use another tag or another day, or take it off there"):
        tags.hand_on(book, 16, to=moth.ref, on=date(2021, 1, 1), until=date(2022, 6, 1))
    with pytest.raises(WrongTag, match="can't be put on on 2021-01-01 and taken off on 2021-01-01"):
        tags.hand_on(book, 16, to=moth.ref, on=date(2021, 1, 1), until=date(2021, 1, 1))


def test_handing_on_to_who_has_it_is_said(book: StockBook, moth: PlantView) -> None:
    with pytest.raises(AlreadyThere, match="has been on this Old Harbour Moth since 2023-11-04"):
        tags.hand_on(book, 16, to=moth.ref, on=HANDED_ON)


def test_a_tag_goes_to_a_batch_as_well(book: StockBook, moth: PlantView) -> None:
    tray = batches.add(
        book, variety="Old Harbour Moth", count=40, kind="pot tubers", since=date(2024, 6, 1)
    )
    held = tags.hand_on(book, 16, to=tray.ref, on=date(2024, 9, 1))
    assert held.stock == tray.ref


def test_a_tag_goes_to_nothing_that_is_not_there(book: StockBook) -> None:
    with pytest.raises(Unknown, match="There is no plant 99 in the stock book"):
        tags.hand_on(book, 16, to=StockRef("plant", 99), on=HANDED_ON)


def test_one_plant_may_carry_two_tags(book: StockBook, moth: PlantView) -> None:
    tags.hand_on(book, 17, to=moth.ref, on=HANDED_ON)
    assert [one.number for one in plants.get(book, moth.ref).tags] == [16, 17]
