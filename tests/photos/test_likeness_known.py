"""Likeness by what was measured: whose colours and sizes a photo fits, and what it can't tell."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest

from photolog.photos.facts import PhotoFacts
from photolog.photos.garden import DayFact, Garden, Holder, HolderFact
from photolog.photos.likeness_known import LikenessKnown
from photolog.terms import EventKind

SUMMER, LIFTED, WINTER = datetime(2025, 8, 20, 11), datetime(2025, 10, 26), datetime(2026, 1, 18)
RED, WHITE, PINK = (38.0, 62.0, 34.0), (90.0, -2.0, 8.0), (60.0, 40.0, -4.0)
# Two plants of each variety; the third variety's second plant was never photographed.
COLOURS = {1: RED, 2: RED, 3: WHITE, 4: WHITE, 5: PINK}
VARIETIES = {1: 1, 2: 1, 3: 2, 4: 2, 5: 3, 6: 3}


def plant(number):
    return Holder("plant", number)


GARDEN = Garden(
    holdings=[],
    holders={
        plant(n): HolderFact(name=f"No. {n}", since=date(2024, 1, 1), variety=variety)
        for n, variety in VARIETIES.items()
    },
    events=[
        DayFact(kind=EventKind.PLANTED_OUT, on=date(year, 5, 14), holder=plant(1))
        for year in (2025, 2026)
    ],
)


def taken(number=0, *, shows="bloom", at=SUMMER, **measured):
    return PhotoFacts(
        photo_id=number,
        name=f"LF{number}",
        taken_at=at,
        camera=1,
        longest_px=4000,
        shows=shows,
        has_card=True,
        **measured,
    )


def blooms(rng, n_each=6, scatter=4.0):
    return [
        (
            taken(colour=tuple(np.array(colour) + rng.normal(0.0, scatter, 3))),
            plant(number),
        )
        for number, colour in COLOURS.items()
        for _ in range(n_each)
    ]


@pytest.fixture(scope="module")
def known():
    return LikenessKnown(blooms(np.random.default_rng(3)), GARDEN)


def test_a_colour_speaks_for_its_plants_and_against_others(known):
    fits = known.likelihood([taken(colour=RED)])
    assert min(fits[plant(1)], fits[plant(2)]) > 20.0
    assert max(fits[plant(3)], fits[plant(4)], fits[plant(5)]) < 0.2


def test_two_of_one_variety_are_not_told_apart_by_colour(known):
    fits = known.likelihood([taken(colour=RED)])
    assert 0.5 < fits[plant(1)] / fits[plant(2)] < 2.0


def test_a_plant_without_photos_is_expected_to_look_like_its_variety(known):
    fits = known.likelihood([taken(colour=PINK)])
    assert fits[plant(6)] == pytest.approx(fits[plant(5)], rel=0.5)


def test_an_odd_colour_among_good_ones_does_not_decide(known):
    """Two shots show the plant's red and one a white bloom behind it; the mean is nobody's."""
    fits = known.likelihood([taken(colour=RED), taken(colour=RED), taken(colour=WHITE)])
    assert fits[plant(1)] > 5.0
    assert fits[plant(1)] > 50.0 * fits[plant(3)]


def test_an_odd_colour_alone_never_rules_its_plant_out(known):
    fits = known.likelihood([taken(colour=(10.0, 0.0, -60.0))])
    assert min(fits.values()) >= 0.04


def test_the_likelihood_ratio_is_right_where_the_truth_is_known():
    """Of photos given odds for one of two plants as likely before, that share is of it.

    Two colours three scatters apart, so that many photos are doubtful; drawn 3000 times.
    """
    rng = np.random.default_rng(11)
    one, other = np.array([50.0, 20.0, 20.0]), np.array([58.0, 20.0, 20.0])
    garden = Garden(
        holdings=[],
        holders={plant(n): HolderFact(name="", since=date(2024, 1, 1)) for n in (1, 2)},
        events=[],
    )

    def shot(colour):
        return taken(colour=tuple(colour + rng.normal(0.0, 4.0, 3)))

    known = LikenessKnown(
        [(shot(colour), plant(n)) for n, colour in ((1, one), (2, other)) for _ in range(60)],
        garden,
    )
    stated, right = [], []
    for _ in range(3000):
        is_one = rng.random() < 0.5
        fits = known.likelihood([shot(one if is_one else other)])
        share = fits[plant(1)] / (fits[plant(1)] + fits[plant(2)])
        stated.append(max(share, 1.0 - share))
        right.append((share > 0.5) == is_one)
    stated, right = np.array(stated), np.array(right)
    # Never surer than right: the drift between weeks, not drawn here, only makes it more careful.
    for low, high in ((0.5, 0.7), (0.7, 0.85), (0.85, 1.0)):
        inside = (stated >= low) & (stated < high)
        assert inside.sum() > 150
        assert right[inside].mean() > stated[inside].mean() - 0.03


def test_a_bloom_of_another_size_speaks_against_a_plant():
    rng = np.random.default_rng(5)
    sizes = {1: 90.0, 3: 240.0}
    known = LikenessKnown(
        [
            (taken(size_mm=(mm * float(np.exp(rng.normal(0.0, 0.1))), 2.0)), plant(n))
            for n, mm in sizes.items()
            for _ in range(15)
        ],
        GARDEN,
    )
    fits = known.likelihood([taken(size_mm=(230.0, 3.0))])
    assert fits[plant(3)] > 1.0 > 5.0 * fits[plant(1)]
    unsure = known.likelihood([taken(size_mm=(230.0, 120.0))])
    assert unsure[plant(1)] > fits[plant(1)]


def test_a_clump_is_known_again_within_its_winter_alone():
    rng = np.random.default_rng(8)
    clumps = {n: (180.0 + 30.0 * n, 0.5 + 0.05 * n) for n in range(1, 6)}
    known = LikenessKnown(
        [
            (
                taken(
                    shows="clump",
                    at=LIFTED + timedelta(minutes=n),
                    size_mm=(mm * float(np.exp(rng.normal(0.0, 0.04))), 4.0),
                    roundness=roundness + float(rng.normal(0.0, 0.03)),
                ),
                plant(n),
            )
            for n, (mm, roundness) in clumps.items()
            for _ in range(5)
        ],
        GARDEN,
    )
    mm, roundness = clumps[5]
    checked = known.likelihood(
        [taken(shows="clump", at=WINTER, size_mm=(mm, 4.0), roundness=roundness)]
    )
    assert max(checked, key=lambda one: checked[one]) == plant(5)
    a_year_later = datetime(2026, 10, 26)
    assert not known.likelihood(
        [taken(shows="clump", at=a_year_later, size_mm=(mm, 4.0), roundness=roundness)]
    )


def test_few_photos_say_nothing():
    known = LikenessKnown(blooms(np.random.default_rng(3), n_each=3), GARDEN)
    assert known.likelihood([taken(colour=RED)]) == {}


def test_what_was_not_measured_says_nothing(known):
    assert known.likelihood([taken()]) == {}
