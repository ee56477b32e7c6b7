"""An entry that is missing speaks against nothing that tags say; one that is there does."""

from datetime import date, datetime, timedelta

from photolog.photos.facts import Match
from photolog.photos.garden import DayFact, Garden
from photolog.terms import EventKind, LossCause
from tests.photos.garden import LIFTING, Shoot, garden, matched, plant, tag

IN_BLOOM = datetime(2027, 2, 10, 11, 0)
PLANTED_AGAIN = date(2026, 11, 7)


def next_summer(*others: int, own: tuple[DayFact, ...] = ()) -> Garden:
    """All four lifted in May 2026; of the next planting these are entered."""
    planted = (
        DayFact(kind=EventKind.PLANTED_OUT, on=PLANTED_AGAIN, holder=plant(number))
        for number in others
    )
    more = (
        DayFact(kind=EventKind.PLANTED_OUT, on=PLANTED_AGAIN, holder=plant(number))
        for number in (901, 902)
    )
    return garden(events=[*planted, *more, *own])


def blooms(own: Garden, *days: int) -> list[Match]:
    shoot = Shoot(at=IN_BLOOM)
    for day in days:
        shoot.at = IN_BLOOM + timedelta(days=day)
        shoot.subject("bloom", tags=(tag(11, pegged=True),))
    return list(matched(shoot, garden=own).values())


def test_a_tag_read_on_two_days_outweighs_a_planting_that_was_not_entered():
    found = blooms(next_summer(12, 13), 0, 7)
    assert [one.found.holder for one in found if one.found] == [plant(11), plant(11)]
    assert "entry seems to be missing" in found[0].found.because


def test_on_one_day_alone_it_waits():
    (one,) = blooms(next_summer(12, 13), 0)
    assert one.found is None
    assert one.contradiction


def test_where_nobody_else_was_planted_out_either_it_waits():
    """Then it is more likely that the camera's date is wrong."""
    found = blooms(garden(), 0, 7)
    assert [one.found for one in found] == [None, None]


def test_an_entry_that_rules_it_out_is_never_outweighed():
    rotted = DayFact(
        kind=EventKind.LOST, on=date(2026, 8, 1), holder=plant(11), cause=LossCause.ROTTED
    )
    found = blooms(next_summer(12, 13, own=(rotted,)), 0, 7, 14)
    assert all(one.found is None and one.contradiction for one in found)


def test_planted_out_only_later_that_summer_is_never_outweighed():
    later = DayFact(kind=EventKind.PLANTED_OUT, on=date(2027, 3, 1), holder=plant(11))
    found = blooms(next_summer(12, 13, own=(later,)), 0, 7)
    assert all(one.found is None and one.contradiction for one in found)


def lifted(*tags: int, own: tuple[DayFact, ...] = ()) -> Match:
    shoot = Shoot()
    shoot.subject(tags=(tag(11, pegged=True),))
    (one,) = matched(shoot, garden=garden(lifted=tags, events=own)).values()
    return one


def test_a_clump_among_others_lifted_that_day_is_matched_though_its_entry_is_missing():
    one = lifted(12, 13, 14)
    assert one.found is not None
    assert "entry seems to be missing" in one.found.because


def test_where_nothing_else_was_lifted_it_waits():
    one = lifted(12)
    assert one.found is None
    assert one.contradiction


def test_lifted_on_another_day_it_waits():
    other_day = DayFact(kind=EventKind.LIFTED, on=LIFTING + timedelta(days=9), holder=plant(11))
    one = lifted(12, 13, 14, own=(other_day,))
    assert one.found is None
    assert one.contradiction
