"""What the waiting list and the list of undated photos say, and that they say it once."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from photolog.book.stock import StockRef
from photolog.book.waiting import WaitingCandidate, WaitingPhoto
from photolog.photos.undated import UndatedLot, UndatedPhoto
from photolog.reports.undated_text import undated_text
from photolog.reports.waiting_text import says_more

NAMES = ("IMG-20260516-0008.jpg", "IMG-20260516-0009.jpg")


@pytest.mark.parametrize(
    ("because", "candidate", "more"),
    [
        ("Nothing says whose it is.", "First in bloom that day.", True),
        ("Not sure enough: It stands between 26 and 28.", "It stands between 26 and 28.", False),
        ("Tag 0011 is pegged. But: It was lost.", "Tag 0011 is pegged. It was lost.", False),
        ("Tag 0011 is pegged. But: It was lost.", "Tag 0012 hangs behind.", True),
    ],
)
def test_a_candidate_repeats_nothing(because: str, candidate: str, more: bool) -> None:
    one = WaitingCandidate(
        stock=StockRef("plant", 1),
        tag=11,
        name="“Tin Orchard”",
        reason="tag",
        because=candidate,
        probability=0.6,
    )
    photo = WaitingPhoto(
        photo_id=1, name="LF1.jpg", taken_at=None, shows=None, because=because, candidates=(one,)
    )
    assert says_more(one, photo) is more


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (1, "taken its date off and made it smaller. Its name says 16 May 2026"),
        (2, "taken their dates off and made them smaller. Their names say 16 May 2026"),
    ],
)
def test_one_undated_photo_is_no_lot_of_many(count: int, said: str) -> None:
    photos = tuple(
        UndatedPhoto(
            photo_id=number,
            name=name,
            taken_in_at=datetime(2026, 5, 17, 20, tzinfo=UTC),
            longest_px=1600,
            bare=True,
        )
        for number, name in enumerate(NAMES[:count], start=1)
    )
    lot = UndatedLot(photos=photos, sent=True, named_day=date(2026, 5, 16))
    assert said in " ".join(undated_text([lot]).split())
