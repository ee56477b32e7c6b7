"""Word cards beside tags propose day book entries: confirmed, put right, turned down, undone."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime

import pytest

from photolog.book import StockBook, batches, daybook, matching, plants, proposals, varieties
from photolog.book.errors import AlreadyThere, Unknown, WrongEntry
from photolog.terms import EventKind, LossCause
from tests.book.word_photos import WordShoot

PLANTED, LIFTED = date(2025, 11, 8), date(2026, 5, 16)
MORNING = datetime(2026, 5, 16, 8, 30)
VARIETIES = ("Tin Orchard", "Wherry Lamp", "Aunt Petronel", "Saltmarsh Linnet")


def fill(book: StockBook, numbers: range) -> None:
    for name in VARIETIES:
        varieties.add(book, name)
    for number in numbers:
        variety = VARIETIES[number % len(VARIETIES)]
        plants.add(book, variety=variety, since=date(2025, 10, 1), tag=number)
    daybook.enter(book, EventKind.PLANTED_OUT, on=PLANTED, tags=list(numbers))


@pytest.fixture
def garden(book: StockBook) -> StockBook:
    fill(book, range(11, 17))
    return book


@pytest.fixture
def shoot(garden: StockBook) -> WordShoot:
    return WordShoot(garden, MORNING)


def listed(book: StockBook) -> list[tuple[str, int | None, bool]]:
    """Every open proposal: its word, the tag of whose it is, and whether it is ready."""
    matching.match_all(book)
    return [(one.word, one.tag, one.ready) for one in proposals.proposed(book)]


def entered(book: StockBook) -> list[tuple[str, LossCause | None, tuple[int, ...]]]:
    return [
        (entry.kind.value, entry.cause, entry.tags) for entry in daybook.entries(book, first=LIFTED)
    ]


def test_a_days_lifting_of_sixty_plants_is_recorded_without_typing(book: StockBook) -> None:
    # 60 plants in 6 rows of 10 by number; the middle rows are walked the other way.
    fill(book, range(101, 161))
    losses = {
        104: "rotted", 109: "rotted", 112: "rotted", 118: "rotted", 123: "eaten", 124: "eaten",
        131: "dried out", 145: "frosted", 146: "rotted", 157: "eaten",
    }  # fmt: skip
    without_label = (115, 136)
    shoot = WordShoot(book, MORNING)
    for row in range(6):
        numbers = range(101 + 10 * row, 111 + 10 * row)
        for number in numbers if row % 2 == 0 else reversed(numbers):
            if number in without_label:
                shoot.shot(words="lifted, label lost")
            elif number in losses and number % 2:
                shoot.shot(tags=(number,), words="lifted")
                shoot.shot(words=losses[number], after_s=7.0)
            elif number in losses:
                shoot.shot(tags=(number,), words=f"lifted, {losses[number]}")
            else:
                shoot.shot(tags=(number,), words="lifted")
    matching.match_all(book)

    done = proposals.confirm(book)

    assert done.left == ()
    by_hand = Counter((kind, cause) for kind, cause, _ in entered(book))
    assert by_hand == {
        ("lifted", None): 60,
        ("lost", LossCause.ROTTED): 5,
        ("lost", LossCause.EATEN): 3,
        ("lost", LossCause.DRIED_OUT): 1,
        ("lost", LossCause.FROSTED): 1,
        ("lost", LossCause.LABEL_LOST): 2,
    }
    lost = {tags[0]: cause.value for kind, cause, tags in entered(book) if cause is not None}
    assert lost == losses | dict.fromkeys(without_label, "label lost")
    lifted = [tags[0] for kind, _, tags in entered(book) if kind == "lifted"]
    assert sorted(lifted) == list(range(101, 161))
    # Matching again, and a second confirming, add nothing.
    assert listed(book) == []
    assert proposals.confirm(book).confirmed == ()
    assert len(entered(book)) == 72
    # Nor does a photo of a card wait for anybody's word.
    assert matching.waiting(book) == ()


def test_a_word_with_the_tag_or_directly_after_it(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,), words="lifted")
    shoot.shot(tags=(12,))
    shoot.shot(words="lifted")
    shoot.shot(words="rotted", after_s=8.0)
    assert listed(shoot.book) == [
        ("lifted", 11, True),
        ("lifted", 12, True),
        ("rotted", 12, True),
    ]


def test_a_card_some_time_after_another_card_may_be_of_the_next_plant(shoot: WordShoot) -> None:
    # The tag of the second plant is in the photo, but too soiled to be read.
    shoot.shot(tags=(11,), words="checked")
    shoot.shot(words="rotted")
    shoot.shot(words="eaten", after_s=5.0)
    assert listed(shoot.book) == [
        ("checked", 11, True),
        ("rotted", 11, False),
        ("eaten", 11, False),
    ]
    assert {one.against for one in proposals.proposed(shoot.book)} == {
        None,
        "The photo before has a card already: the tag of this one may be missing.",
    }


def test_anything_between_and_nobody_is_named(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,))
    shoot.shot()
    between = shoot.shot(words="lifted")
    shoot.shot(tags=(12,))
    late = shoot.shot(words="lifted", after_s=700.0)
    assert listed(shoot.book) == [("lifted", None, False), ("lifted", None, False)]
    first, second = proposals.proposed(shoot.book)
    assert (first.photo, second.photo) == (between, late)
    assert first.because == "There is no tag in the photo, and no tag in the one before."
    assert second.because == "More than 10 minutes passed since the last tag."


def test_another_camera_does_not_come_between(garden: StockBook) -> None:
    one, other = WordShoot(garden, MORNING), WordShoot(garden, MORNING, first=500)
    one.shot(tags=(11,))
    other.shot(tags=(12,))
    one.shot(words="lifted")
    assert listed(garden) == [("lifted", 11, True)]


def test_a_photo_missing_between_is_said_and_not_confirmed_with_the_rest(
    shoot: WordShoot,
) -> None:
    shoot.shot(tags=(11,))
    shoot.number += 1
    shoot.shot(words="rotted")
    assert listed(shoot.book) == [("rotted", 11, False)]
    (one,) = proposals.proposed(shoot.book)
    assert one.against == "By their numbers a photo between them is missing (LF000002)."
    assert proposals.confirm(shoot.book).confirmed == ()
    (done,) = proposals.confirm(shoot.book, [one.id]).confirmed
    assert entered(shoot.book) == [("lost", LossCause.ROTTED, (11,))]
    assert done.entry is not None


def test_the_same_word_again_may_be_of_another_plant(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,), words="lifted")
    shoot.shot(words="lifted", after_s=4.0)
    shoot.shot(words="lifted", after_s=90.0)
    assert listed(shoot.book) == [("lifted", 11, True), ("lifted", None, False)]


def test_two_photos_of_one_card_and_one_plant_propose_it_once(shoot: WordShoot) -> None:
    for _ in range(3):
        shoot.shot(tags=(11,), words="lifted")
    assert listed(shoot.book) == [("lifted", 11, True)]
    proposals.confirm(shoot.book)
    assert listed(shoot.book) == []
    assert entered(shoot.book) == [("lifted", None, (11,))]


def test_what_is_in_the_day_book_is_not_proposed(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,), words="lifted, washed")
    daybook.enter(shoot.book, EventKind.LIFTED, on=LIFTED, tags=[11])
    assert listed(shoot.book) == [("washed", 11, True)]


def test_a_lost_plant_is_not_lifted_with_the_rest(shoot: WordShoot) -> None:
    daybook.enter(shoot.book, EventKind.LOST, on=date(2026, 2, 1), tags=[13], cause="rotted")
    shoot.shot(tags=(12,), words="lifted")
    shoot.shot(tags=(13,), words="lifted")
    assert listed(shoot.book) == [("lifted", 12, True), ("lifted", 13, False)]
    done = proposals.confirm(shoot.book)
    assert [one.tag for one in done.confirmed] == [12]
    (left,) = done.left
    assert left.against is not None
    assert "was lost (rotted) on 2026-02-01, before this photo" in left.against


@pytest.mark.parametrize(
    ("words", "against"),
    [
        ("washed", "was planted out on 2025-11-08 and is not entered as lifted since."),
        ("keep, discard", "was shown with “keep” the same day as well."),
        ("label lost", "can't be lost: it was photographed."),
    ],
)
def test_what_contradicts_is_said(shoot: WordShoot, words: str, against: str) -> None:
    shoot.shot(tags=(11,), words=words)
    matching.match_all(shoot.book)
    first = proposals.proposed(shoot.book)[0]
    assert first.against is not None
    assert first.against.endswith(against)
    assert proposals.confirm(shoot.book).confirmed == ()


def test_lifted_twice_is_said_but_washed_after_lifted_is_right(shoot: WordShoot) -> None:
    daybook.enter(shoot.book, EventKind.LIFTED, on=date(2026, 5, 1), tags=[14])
    shoot.shot(tags=(11,), words="lifted")
    shoot.shot(words="washed", after_s=6.0)
    shoot.shot(tags=(14,), words="lifted")
    assert listed(shoot.book) == [
        ("lifted", 11, True),
        ("washed", 11, True),
        ("lifted", 14, False),
    ]


def test_a_batch_is_asked_how_many(garden: StockBook) -> None:
    batches.add(garden, variety="Tin Orchard", count=40, kind="pot tubers", since=LIFTED, tag=301)
    shoot = WordShoot(garden, datetime(2026, 7, 4, 10))
    shoot.shot(tags=(301,), words="checked, rotted")
    assert listed(garden) == [("checked", 301, True), ("rotted", 301, False)]
    proposals.confirm(garden)
    (rotted,) = proposals.proposed(garden)
    assert rotted.against is not None
    assert "how many of the batch of 40 pot tubers" in rotted.against
    assert proposals.correct(garden, rotted.id, count=3).ready
    proposals.confirm(garden)
    assert batches.of_tag(garden, 301, on=date(2026, 7, 5)).left == 37


def test_put_right_it_stays_so_and_is_confirmed_as_meant(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,), words="eaten")
    matching.match_all(shoot.book)
    (one,) = proposals.proposed(shoot.book)
    right = proposals.correct(shoot.book, one.id, tag="12", word="rotted")
    assert (right.id, right.tag, right.word, right.by_hand, right.ready) == (
        one.id, 12, "rotted", True, True,
    )  # fmt: skip
    assert listed(shoot.book) == [("rotted", 12, True)]
    proposals.confirm(shoot.book)
    assert entered(shoot.book) == [("lost", LossCause.ROTTED, (12,))]
    assert listed(shoot.book) == []


def test_put_right_to_what_is_entered_already_is_refused(shoot: WordShoot) -> None:
    daybook.enter(shoot.book, EventKind.LIFTED, on=LIFTED, tags=[12])
    shoot.shot(tags=(11,), words="lifted")
    matching.match_all(shoot.book)
    (one,) = proposals.proposed(shoot.book)
    with pytest.raises(AlreadyThere, match="“lifted” is in the day book of 2026-05-16 already"):
        proposals.correct(shoot.book, one.id, tag=12)
    with pytest.raises(Unknown, match="There is no word card 'sung to'"):
        proposals.correct(shoot.book, one.id, word="sung to")
    with pytest.raises(WrongEntry, match="A number belongs to a batch"):
        proposals.correct(shoot.book, one.id, count=2)
    assert listed(shoot.book) == [("lifted", 11, True)]


def test_turned_down_it_never_comes_again_and_can_be_taken_back(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,), words="rotted")
    shoot.shot(tags=(11,), words="rotted")
    matching.match_all(shoot.book)
    (one,) = proposals.proposed(shoot.book)
    proposals.turn_down(shoot.book, [one.id])
    assert listed(shoot.book) == []
    assert [left.id for left in proposals.turned_down(shoot.book)] == [one.id]
    with pytest.raises(Unknown, match="stands as turned down"):
        proposals.confirm(shoot.book, [one.id])
    proposals.undo(shoot.book, [one.id])
    assert listed(shoot.book) == [("rotted", 11, True)]


def test_undoing_strikes_out_the_entries_of_the_last_confirming(shoot: WordShoot) -> None:
    with pytest.raises(WrongEntry, match="nothing to take back"):
        proposals.undo(shoot.book)
    shoot.shot(tags=(11,), words="lifted")
    listed(shoot.book)
    proposals.confirm(shoot.book)
    shoot.shot(tags=(12,), words="lifted, rotted")
    shoot.shot(tags=(13,), words="lifted")
    listed(shoot.book)
    proposals.confirm(shoot.book)
    back = proposals.undo(shoot.book).entries
    assert [(one.word, one.tag) for one in back] == [
        ("lifted", 12), ("rotted", 12), ("lifted", 13),
    ]  # fmt: skip
    assert entered(shoot.book) == [("lifted", None, (11,))]
    assert len(daybook.entries(shoot.book, first=LIFTED, struck_out=True)) == 4
    proposals.confirm(shoot.book)
    assert len(entered(shoot.book)) == 4


def test_an_entry_struck_out_in_the_day_book_is_not_proposed_again(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,), words="lifted")
    listed(shoot.book)
    (one,) = proposals.confirm(shoot.book).confirmed
    assert one.entry is not None
    daybook.strike_out(shoot.book, one.entry)
    assert listed(shoot.book) == []
    proposals.undo(shoot.book)
    assert listed(shoot.book) == [("lifted", 11, True)]


def test_a_tag_photo_decided_by_hand_speaks_for_the_card_after_it(shoot: WordShoot) -> None:
    shoot.shot()
    shoot.shot(words="lifted")
    assert listed(shoot.book) == [("lifted", None, False)]
    matching.decide(shoot.book, 1, 15)
    assert listed(shoot.book) == [("lifted", 15, True)]


def test_two_tags_and_one_word_are_the_growers_to_settle(shoot: WordShoot) -> None:
    shoot.shot(tags=(11, 12), words="discard")
    assert listed(shoot.book) == [("discard", None, False)]
    (one,) = proposals.proposed(shoot.book)
    with pytest.raises(WrongEntry, match="Nobody can say whose “discard”"):
        proposals.confirm(shoot.book, [one.id])
    proposals.correct(shoot.book, one.id, tag=12)
    assert listed(shoot.book) == [("discard", 12, True)]


def test_a_lost_label_is_nobodys_where_the_order_does_not_tell(shoot: WordShoot) -> None:
    shoot.shot(tags=(16,), words="lifted")
    shoot.shot(tags=(11,), words="lifted")
    shoot.shot(words="label lost")
    shoot.shot(tags=(15,), words="lifted")
    shoot.shot(tags=(12,), words="lifted")
    assert ("label lost", None, False) in listed(shoot.book)
    (one,) = (one for one in proposals.proposed(shoot.book) if one.word == "label lost")
    assert one.because.startswith(
        "It has no tag. In the ground and not photographed that day: 0013 ("
    )
    assert "0014 (" in one.because


def test_a_day_book_changed_afterwards_changes_what_is_proposed(shoot: WordShoot) -> None:
    shoot.shot(tags=(11,), words="lifted")
    assert listed(shoot.book) == [("lifted", 11, True)]
    daybook.enter(shoot.book, EventKind.LIFTED, on=LIFTED, tags=[11])
    # Confirmed without matching again in between, it is still not entered twice.
    assert proposals.confirm(shoot.book).confirmed == ()
    assert len(entered(shoot.book)) == 1


def test_a_photo_of_a_card_alone_finds_its_plant_or_says_why_not(shoot: WordShoot) -> None:
    shoot.shot(words="lifted")
    shoot.shot(tags=(11,))
    shoot.shot(words="lifted")
    shoot.number += 1
    shoot.shot(words="eaten")
    matching.match_all(shoot.book)
    by_name = {one.name: one for one in matching.matched(shoot.book)}
    assert by_name["LF000003.jpg"].tag == 11
    assert by_name["LF000003.jpg"].because == "Shown directly after tag 0011."
    first, last = matching.waiting(shoot.book)
    assert first.because.startswith("A word card, but nobody can say for whom. There is no tag in")
    assert last.because.startswith("Not sure enough: Shown directly after tag 0011. By their num")
    assert [one.tag for one in last.candidates] == [11]


def test_confirmed_for_somebody_the_photo_is_theirs(shoot: WordShoot) -> None:
    shoot.shot(words="lifted")
    matching.match_all(shoot.book)
    (one,) = proposals.proposed(shoot.book)
    proposals.correct(shoot.book, one.id, tag=14)
    assert len(matching.waiting(shoot.book)) == 1
    proposals.confirm(shoot.book)
    (photo,) = matching.matched(shoot.book)
    assert (photo.tag, photo.because) == (14, "You confirmed for whom the word card is.")
    proposals.undo(shoot.book)
    assert matching.matched(shoot.book) == ()


def test_a_date_against_the_cameras_counting_is_not_confirmed_with_the_rest(
    shoot: WordShoot,
) -> None:
    for tag in (11, 12, 13):
        shoot.shot(tags=(tag,), words="lifted")
    shoot.shot(tags=(14,), words="lifted", after_s=-86_400.0 * 120)
    shoot.shot(tags=(15,), words="lifted", after_s=86_400.0 * 120)
    assert sorted(listed(shoot.book)) == [
        ("lifted", 11, True),
        ("lifted", 12, True),
        ("lifted", 13, True),
        ("lifted", 14, False),
        ("lifted", 15, True),
    ]
    (doubted,) = (one for one in proposals.proposed(shoot.book) if one.tag == 14)
    assert doubted.against == "By its camera's counting the date of the photo can't be right."
