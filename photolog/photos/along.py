"""What is laid along an order of plants, visits and who may come, and what is found by it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from photolog.photos.garden import Holder
from photolog.photos.habits import Habits

__all__ = ["Aligned", "Place", "Visit", "Walkers", "likeliest_places"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """Photos in a row that are evidently of one plant.

    ``sure`` is the plant where it is known. Else ``likelihood`` says how well what is seen (colour,
    half a tag) fits a plant, relative to any plant whatever; a plant it doesn't name fits as well
    as any. ``again`` is the probability that it is of the same plant as the visit before it, from
    the time between them and how alike they look.
    """

    sure: Holder | None = None
    likelihood: Mapping[Holder, float] | None = None
    again: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place in an order and the plant in it, with the probability that it stands just here.

    The probabilities of one plant's places sum to 1.
    """

    holder: Holder
    share: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Walkers:
    """Who may come before the camera.

    ``shown`` is the probability with which a plant of the order is photographed by one who walks
    past it (0.6 where it isn't named). ``elsewhere`` names plants that the order doesn't list, with
    the probability that they are shown somewhere along it. ``seen_already`` are plants with a sure
    visit of their own that day: another visit to one of them is improbable. ``habits`` say how the
    grower walks on other days.
    """

    shown: Mapping[Holder, float] = field(default_factory=dict)
    elsewhere: Mapping[Holder, float] = field(default_factory=dict)
    seen_already: frozenset[Holder] = frozenset()
    habits: Habits = field(default_factory=Habits)


@dataclass(frozen=True, slots=True, kw_only=True)
class Aligned:
    """Each visit's plants with their probability, the most probable first; how well all fits.

    What is missing to 1 is the probability of a plant that isn't known of. ``log_fit`` is the
    natural logarithm of the likelihood of the sure visits by this order; the larger the better.
    ``followed``: the sure visits mostly went along it.
    """

    plants: Sequence[Sequence[tuple[Holder, float]]]
    log_fit: float
    followed: bool = True


def likeliest_places(order: Sequence[Place]) -> dict[Holder, int]:
    """Where in an order each of its plants most probably stands."""
    found: dict[Holder, int] = {}
    for n, place in enumerate(order):
        if place.holder not in found or place.share > order[found[place.holder]].share:
            found[place.holder] = n
    return found
