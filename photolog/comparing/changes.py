"""What comparing two seasons gives: frozen rows with ratios, intervals and words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from photolog.comparing.spreads import SizeKind, Spread
from photolog.comparing.words import Word

__all__ = ["Basis", "Change", "Comparison", "PooledChange", "SeasonMean", "VarietyChange"]

Basis = Literal["same clumps", "different clumps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonMean:
    """Typical size of a variety's clumps in one season: their geometric mean.

    ``half95`` is half the 95 % interval, from measuring, laying and the printing's scale: it is
    about the clumps that were measured.
    """

    value: float
    half95: float
    n_clumps: int
    n_photos: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Second season over first, with its 95 % interval.

    ``log_variance`` is the variance of the log ratio without the printings' scale; ``scale`` says
    how much of each printing's relative scale error is in it. A printing used alike in both
    seasons cancels and is not in ``scale`` at all.
    """

    ratio: float
    interval95: tuple[float, float]
    basis: Basis
    log_variance: float
    scale: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class VarietyChange:
    """One variety at one clump stage: both seasons, and the change where there is one.

    ``why`` says in a few words why it is too few to say; None otherwise. ``n_first`` and
    ``n_second`` count the clumps measured in each season, ``n_same`` those measured in both; where
    there are any of the last, only they are in the means and in the change.
    """

    variety: str
    stage: str | None
    first: SeasonMean | None
    second: SeasonMean | None
    n_first: int
    n_second: int
    n_same: int
    change: Change | None
    word: Word
    why: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledChange:
    """The change over the varieties measured at one stage.

    ``between_sd`` is the scatter between the varieties' true changes, on the log scale.
    """

    stage: str | None
    n_varieties: int
    ratio: float | None
    interval95: tuple[float, float] | None
    between_sd: float | None
    word: Word
    why: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two seasons by one quantity: a row for each variety and stage, pooled rows, and the scatters.

    ``change_scatter`` is None when no variety had two clumps measured in both seasons: each
    variety's interval is then about its one clump.
    """

    kind: SizeKind
    first: int
    second: int
    rows: tuple[VarietyChange, ...]
    pooled: tuple[PooledChange, ...]
    lay: Spread
    between: Spread
    change_scatter: Spread | None
