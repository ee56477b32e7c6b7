"""What was measured in photos reaches matching, and decides where the order leaves two plants."""

from datetime import date, datetime, timedelta

import pytest

from photolog.book import daybook, matching, plants, varieties
from photolog.book.garden_facts import garden_facts, photo_facts
from photolog.photos.garden import Holder
from photolog.records import PhotoRow
from photolog.terms import Acceptance, EventKind, MatchState
from tests.records import factories

PLANTED = date(2026, 11, 7)
FIRST_DAY = datetime(2027, 1, 20, 11, 0)
RED, WHITE = [38.0, 62.0, 34.0], [90.0, -2.0, 8.0]
N_PLANTS = 14


def bloom(session, *, at, tag, camera_id, lab=None):
    """A photo of a bloom with its tag pegged to the card (None: it could not be read)."""
    pegged = {"number": tag, "half": None, "side_px": 60.0, "pegged": True}
    row = factories.photo(
        session,
        original_name=f"LF{int((at - FIRST_DAY).total_seconds()) + 100000:07d}.JPG",
        taken_at=at,
        camera_id=camera_id,
        subject="bloom face",
        marks={
            "cards": [{"design": "bloom-1", "px_per_mm": 3.0}],
            "tags": [pegged] if tag is not None else [],
            "words": [],
        },
    )
    if lab is not None:
        measured(session, row.id, lab)
    return row.id


def measured(session, photo_id, lab, *, widest_mm=110.0, **given):
    """A measurement of a bloom whose second colour is a smaller one."""
    row = factories.measurement(
        session,
        photo_id=photo_id,
        measured_of="bloom",
        card_design="bloom-1",
        colours={
            "colours": [
                {"lab": [50.0, 0.0, 0.0], "share": 0.2, "word": "grey"},
                {"lab": lab, "share": 0.8, "word": "red"},
            ],
            "balanced_on": "card",
            "too_bright": 0.0,
        },
        **given,
    )
    factories.size(session, measurement_id=row.id, name="widest_mm", value=widest_mm, u=2.0)
    return row


def facts_of(book, photo_id):
    with book.reading() as session:
        (found,) = photo_facts(session, PhotoRow.id == photo_id)
        return found


@pytest.fixture
def one_bloom(book):
    with book.writing() as session:
        return bloom(session, at=FIRST_DAY, tag=None, camera_id=None)


def test_the_main_colour_and_the_size_are_read(book, one_bloom):
    assert facts_of(book, one_bloom).colour is None
    with book.writing() as session:
        measured(session, one_bloom, RED)
    found = facts_of(book, one_bloom)
    assert found.colour == tuple(RED)
    assert found.size_mm == (110.0, 2.0)
    assert found.roundness is None


def test_the_newest_stands_unless_another_was_accepted(book, one_bloom):
    with book.writing() as session:
        measured(session, one_bloom, RED, widest_mm=100.0)
        measured(session, one_bloom, WHITE, widest_mm=120.0)
    assert facts_of(book, one_bloom).size_mm == (120.0, 2.0)
    with book.writing() as session:
        measured(session, one_bloom, RED, widest_mm=105.0, acceptance=Acceptance.ACCEPTED)
        measured(session, one_bloom, WHITE, widest_mm=130.0)
    assert facts_of(book, one_bloom).size_mm == (105.0, 2.0)


def test_what_was_turned_down_says_nothing(book, one_bloom):
    with book.writing() as session:
        measured(session, one_bloom, RED, acceptance=Acceptance.TURNED_DOWN)
    assert facts_of(book, one_bloom).colour is None


def test_a_clump_has_its_spread_and_how_round_it_is(book):
    with book.writing() as session:
        row = factories.photo(
            session,
            subject="clump",
            marks={"cards": [{"design": "bench-1", "px_per_mm": 3.0}], "tags": [], "words": []},
        )
        made = factories.measurement(session, photo_id=row.id)
        factories.size(session, measurement_id=made.id, name="spread_mm", value=300.0, u=6.0)
        factories.size(session, measurement_id=made.id, name="width_mm", value=210.0, u=5.0)
        photo_id = row.id
    found = facts_of(book, photo_id)
    assert found.size_mm == (300.0, 6.0)
    assert found.roundness == pytest.approx(0.7)


def test_plants_of_one_variety_share_its_number(book):
    varieties.add(book, "Tin Orchard")
    varieties.add(book, "Wherry Lamp")
    for tag, name in ((1, "Tin Orchard"), (2, "Tin Orchard"), (3, "Wherry Lamp")):
        plants.add(book, variety=name, since=PLANTED, tag=tag)
    with book.reading() as session:
        holders = garden_facts(session).holders
    one, other, third = (holders[Holder("plant", n)].variety for n in (1, 2, 3))
    assert one == other
    assert one != third


def colour_of(number):
    """Each plant's own: far apart in lightness, red against green, and yellow against blue."""
    return [30.0 + 4.0 * number, 60.0 - 9.0 * (number * 5 % 14), -30.0 + 7.0 * (number * 3 % 14)]


@pytest.mark.parametrize("tag", [7, 8, None])
def test_colour_decides_between_two_plants_that_the_order_leaves(book, tag):
    """Every plant is photographed on four days; on the fifth, three shots lie between 6 and 9.

    Their tag could not be read: of plant 7, or of 8. Without a colour they wait.
    """
    for number in range(1, N_PLANTS + 1):
        varieties.add(book, f"Variety No. {number}")
        plants.add(book, variety=f"Variety No. {number}", since=date(2026, 10, 1), tag=number)
    for number in range(1, N_PLANTS + 1):
        daybook.enter(book, EventKind.PLANTED_OUT, on=PLANTED, tags=[number])
    with book.writing() as session:
        camera_id = factories.camera(session).id
        for day in range(4):
            for number in range(1, N_PLANTS + 1):
                at = FIRST_DAY + timedelta(days=5 * day, minutes=2 * number)
                near = [value + (day - 1.5) for value in colour_of(number)]
                bloom(session, at=at, tag=number, camera_id=camera_id, lab=near)
        last = FIRST_DAY + timedelta(days=20)
        for number in (1, 2, 3, 4, 5, 6, 9, 10, 11, 12, 13, 14):
            at = last + timedelta(minutes=2 * number)
            bloom(session, at=at, tag=number, camera_id=camera_id)
        lab = colour_of(tag) if tag is not None else None
        for shot in range(3):
            at = last + timedelta(minutes=14, seconds=4 * shot)
            photo_id = bloom(session, at=at, tag=None, camera_id=camera_id, lab=lab)
    matching.match_all(book)
    with book.reading() as session:
        row = session.get(PhotoRow, photo_id)
        if tag is None:
            assert row.match_state is MatchState.WAITING
            first = {row.candidates[n].plant_id for n in (0, 1)}
            assert first == {7, 8}
        else:
            assert row.match_state is MatchState.MATCHED
            assert [subject.plant_id for subject in row.subjects] == [tag]
