"""How matching stands against the truth of a simulated season."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from photolog.photos.facts import Match
from tests.simulated.season import Season

__all__ = ["Band", "Judged", "judge"]

_BANDS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95, 0.98, 1.0)


@dataclass(frozen=True, kw_only=True)
class Band:
    """Candidates with a probability from ``low`` to ``high``: how many, stated mean, right."""

    low: float
    high: float
    number: int
    stated: float
    right: float


@dataclass(frozen=True, kw_only=True)
class Judged:
    """Matched on their own and wrong among them; the right one among three of the rest; bands.

    ``wrong`` lists (photo id, reason); ``missed`` counts why the rest waits without the right
    plant among its first three candidates.
    """

    photos: int
    matched: int
    wrong: Sequence[tuple[int, str]]
    waiting: int
    in_first_three: int
    reasons: Counter[str]
    missed: Counter[str]
    bands: Sequence[Band]

    @property
    def matched_share(self) -> float:
        """Share of all photos matched on their own."""
        return self.matched / self.photos

    @property
    def first_three_share(self) -> float:
        """Share of the waiting whose right plant is among the first three candidates."""
        return self.in_first_three / self.waiting if self.waiting else 1.0


def judge(season: Season, matches: Sequence[Match]) -> Judged:
    """Count, against the truth, what matching made of a season."""
    wrong, reasons, missed = [], Counter[str](), Counter[str]()
    in_three = waiting = 0
    stated: list[tuple[float, bool]] = []
    for match in matches:
        true = season.truth[match.photo_id]
        first = match.found or next(iter(match.candidates), None)
        if first is not None:
            stated.append((first.probability, first.holder == true))
        if match.found is not None:
            reasons[match.found.reason] += 1
            if match.found.holder != true:
                wrong.append((match.photo_id, match.found.because))
            continue
        waiting += 1
        if any(one.holder == true for one in match.candidates[:3]):
            in_three += 1
        else:
            missed[(match.waiting_because or "")[:40]] += 1
    return Judged(
        photos=len(matches),
        matched=len(matches) - waiting,
        wrong=wrong,
        waiting=waiting,
        in_first_three=in_three,
        reasons=reasons,
        missed=missed,
        bands=_bands(stated),
    )


def _bands(stated: Sequence[tuple[float, bool]]) -> list[Band]:
    bands = []
    for low, high in itertools.pairwise(_BANDS):
        inside = [
            (p, right) for p, right in stated if low <= p < high or (high == 1.0 and p == 1.0)
        ]
        if inside:
            bands.append(
                Band(
                    low=low,
                    high=high,
                    number=len(inside),
                    stated=sum(p for p, _ in inside) / len(inside),
                    right=sum(right for _, right in inside) / len(inside),
                )
            )
    return bands
