"""One season beside another: the ratio of sizes for each variety and over all of them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from unicodedata import combining, normalize

from photolog.comparing.changes import (
    Basis,
    Change,
    Comparison,
    PooledChange,
    SeasonMean,
    VarietyChange,
)
from photolog.comparing.clumps import ClumpSize, Shot, clump_sizes, scale_sds
from photolog.comparing.pooling import normal_quantile, pool_random_effects, t_quantile
from photolog.comparing.spreads import (
    SizeKind,
    Spread,
    between_clumps,
    change_scatter,
    lay_scatter,
)
from photolog.comparing.words import say

__all__ = ["compare_sizes"]


@dataclass(frozen=True, slots=True)
class _Scatters:
    lay: Spread
    between: Spread
    change: Spread | None
    scale: Mapping[str, float]


def compare_sizes(shots: Sequence[Shot], *, kind: SizeKind, first: int, second: int) -> Comparison:
    """Compare two seasons by one quantity, photo to clump to variety to all varieties.

    ``shots`` may hold other seasons too: they say how far clumps scatter. Rows are in order of
    variety and stage. Nothing is NaN: what can't be said has the word "too few to say" and a
    reason. ``ValueError`` when both seasons are the same.
    """
    if first == second:
        msg = f"two different seasons are needed, got {first} twice"
        raise ValueError(msg)
    clumps = clump_sizes(shots, floor_u=kind.floor_u)
    lay = lay_scatter(clumps, prior=kind.lay_prior)
    groups = _by_variety(clumps, first, second)
    pairs = [[(d, v) for d, v, _ in _pairs(one, two, lay.sd)] for one, two in groups.values()]
    scatters = _Scatters(
        lay=lay,
        between=between_clumps(clumps, lay_sd=lay.sd, prior=kind.between_prior),
        change=change_scatter(pairs),
        scale=scale_sds(shots),
    )
    rows = tuple(
        _row(
            variety,
            stage,
            one,
            two,
            groups=groups,
            scatters=scatters,
            kind=kind,
            years=(first, second),
        )
        for (variety, stage), (one, two) in sorted(groups.items(), key=_alphabetical)
    )
    stages = dict.fromkeys(row.stage for row in rows)
    return Comparison(
        kind=kind,
        first=first,
        second=second,
        rows=rows,
        pooled=tuple(_pooled(stage, rows, scale=scatters.scale, kind=kind) for stage in stages),
        lay=lay,
        between=scatters.between,
        change_scatter=scatters.change,
    )


def _alphabetical(item: tuple[tuple[str, str | None], object]) -> tuple[str, str, str]:
    """As in an index: accents and capitals make no difference."""
    variety, stage = item[0]
    plain = "".join(c for c in normalize("NFKD", variety) if not combining(c)).casefold()
    return plain, variety, stage or ""


_Groups = dict[tuple[str, str | None], tuple[list[ClumpSize], list[ClumpSize]]]


def _by_variety(clumps: Sequence[ClumpSize], first: int, second: int) -> _Groups:
    groups: _Groups = {}
    for clump in clumps:
        if clump.season in (first, second):
            one, two = groups.setdefault((clump.variety, clump.stage), ([], []))
            (one if clump.season == first else two).append(clump)
    return groups


def _pairs(
    one: Sequence[ClumpSize], two: Sequence[ClumpSize], lay_sd: float
) -> list[tuple[float, float, tuple[ClumpSize, ClumpSize]]]:
    """For each clump in both seasons: log change, its variance, and the two."""
    earlier = {clump.plant: clump for clump in one}
    return [
        (
            late.log_value - early.log_value,
            late.variance(lay_sd=lay_sd) + early.variance(lay_sd=lay_sd),
            (early, late),
        )
        for late in two
        if (early := earlier.get(late.plant)) is not None
    ]


def _row(
    variety: str,
    stage: str | None,
    one: Sequence[ClumpSize],
    two: Sequence[ClumpSize],
    *,
    groups: _Groups,
    scatters: _Scatters,
    kind: SizeKind,
    years: tuple[int, int],
) -> VarietyChange:
    pairs = _pairs(one, two, scatters.lay.sd)
    n_first, n_second = len(one), len(two)
    change: Change | None = None
    why = None
    if pairs:
        change = _change_of_same(pairs, scatters)
        one, two = [early for _, _, (early, _) in pairs], [late for _, _, (_, late) in pairs]
    elif min(len(one), len(two)) >= 2:
        change = _change_of_different(one, two, scatters)
    else:
        why = _why_none(variety, stage, one, two, groups=groups, years=years)
    word = say(change.interval95 if change else None, words=kind.words)
    if change and word == "too few to say":
        why = "the interval is too wide to call it unchanged"
    return VarietyChange(
        variety=variety,
        stage=stage,
        first=_season_mean(one, scatters),
        second=_season_mean(two, scatters),
        n_first=n_first,
        n_second=n_second,
        n_same=len(pairs),
        change=change,
        word=word,
        why=why,
    )


def _change_of_same(
    pairs: Sequence[tuple[float, float, tuple[ClumpSize, ClumpSize]]], scatters: _Scatters
) -> Change:
    """Mean change of the clumps measured in both seasons, each counting the same."""
    n = len(pairs)
    scale: dict[str, float] = defaultdict(float)
    for _, _, (early, late) in pairs:
        _add_scale(scale, late.scale, 1 / n)
        _add_scale(scale, early.scale, -1 / n)
    measured = math.fsum(variance for _, variance, _ in pairs) / n**2
    parts = [(measured, math.inf)]
    if scatters.change is not None:
        parts.append((scatters.change.sd**2 / n, scatters.change.degrees))
    mean = math.fsum(d for d, _, _ in pairs) / n
    return _change(mean, parts, scale, basis="same clumps", scale_sd=scatters.scale)


def _change_of_different(
    one: Sequence[ClumpSize], two: Sequence[ClumpSize], scatters: _Scatters
) -> Change:
    """Change from the clumps of one season to other clumps of the same variety in the next."""
    scale: dict[str, float] = defaultdict(float)
    measured = difference = spread = 0.0
    for clumps, sign in ((one, -1.0), (two, 1.0)):
        n = len(clumps)
        for clump in clumps:
            _add_scale(scale, clump.scale, sign / n)
        difference += sign * math.fsum(clump.log_value for clump in clumps) / n
        measured += math.fsum(c.variance(lay_sd=scatters.lay.sd) for c in clumps) / n**2
        spread += scatters.between.sd**2 / n
    parts = [(measured, math.inf), (spread, scatters.between.degrees)]
    return _change(difference, parts, scale, basis="different clumps", scale_sd=scatters.scale)


def _change(
    log_ratio: float,
    parts: Sequence[tuple[float, float]],
    scale: Mapping[str, float],
    *,
    basis: Basis,
    scale_sd: Mapping[str, float],
) -> Change:
    own = math.fsum(variance for variance, _ in parts)
    total = own + _scale_variance(scale, scale_sd)
    # Welch-Satterthwaite: a scatter known from few clumps widens the interval by its share.
    thin = math.fsum(variance**2 / degrees for variance, degrees in parts)
    half = t_quantile(total**2 / thin if thin > 0 else math.inf) * math.sqrt(total)
    return Change(
        ratio=math.exp(log_ratio),
        interval95=(math.exp(log_ratio - half), math.exp(log_ratio + half)),
        basis=basis,
        log_variance=own,
        scale={printing: share for printing, share in scale.items() if abs(share) > 1e-12},
    )


def _pooled(
    stage: str | None, rows: Sequence[VarietyChange], *, scale: Mapping[str, float], kind: SizeKind
) -> PooledChange:
    changes = [row.change for row in rows if row.stage == stage and row.change is not None]
    if len(changes) < 2:
        return PooledChange(
            stage=stage,
            n_varieties=len(changes),
            ratio=None,
            interval95=None,
            between_sd=None,
            word=say(None),
            why="fewer than two varieties can be compared",
        )
    pooled = pool_random_effects(
        [math.log(change.ratio) for change in changes],
        [change.log_variance for change in changes],
    )
    shared: dict[str, float] = defaultdict(float)
    for change, weight in zip(changes, pooled.weights, strict=True):
        _add_scale(shared, change.scale, weight)
    # The scale error is common to all varieties: averaging over them does not make it smaller,
    # so it is left out of the pooling and added to the pooled interval once.
    half = math.hypot(
        (pooled.interval[1] - pooled.interval[0]) / 2,
        normal_quantile() * math.sqrt(_scale_variance(shared, scale)),
    )
    interval = (math.exp(pooled.mean - half), math.exp(pooled.mean + half))
    word = say(interval, words=kind.words)
    return PooledChange(
        stage=stage,
        n_varieties=len(changes),
        ratio=math.exp(pooled.mean),
        interval95=interval,
        between_sd=math.sqrt(pooled.tau2),
        word=word,
        why="the varieties differ too much, or are too few" if word == "too few to say" else None,
    )


def _season_mean(clumps: Sequence[ClumpSize], scatters: _Scatters) -> SeasonMean | None:
    if not clumps:
        return None
    n = len(clumps)
    scale: dict[str, float] = defaultdict(float)
    for clump in clumps:
        _add_scale(scale, clump.scale, 1 / n)
    variance = math.fsum(c.variance(lay_sd=scatters.lay.sd) for c in clumps) / n**2
    variance += _scale_variance(scale, scatters.scale)
    value = math.exp(math.fsum(clump.log_value for clump in clumps) / n)
    return SeasonMean(
        value=value,
        half95=value * normal_quantile() * math.sqrt(variance),
        n_clumps=n,
        n_photos=sum(clump.n_photos for clump in clumps),
    )


def _why_none(
    variety: str,
    stage: str | None,
    one: Sequence[ClumpSize],
    two: Sequence[ClumpSize],
    *,
    groups: _Groups,
    years: tuple[int, int],
) -> str:
    how = stage or "with its stage not told"
    for n, year, which in ((len(one), years[0], 0), (len(two), years[1], 1)):
        if n == 0:
            others = sorted(
                other or "stage not told"
                for (name, other), seasons in groups.items()
                if name == variety and other != stage and seasons[which]
            )
            unlike = f" ({', '.join(others)}: not alike)" if others else ""
            return f"no clump measured {how} in {year}{unlike}"
    year = years[0] if len(one) < 2 else years[1]
    return f"not the same clumps in both seasons, and only one in {year}"


def _add_scale(into: dict[str, float], shares: Mapping[str, float], factor: float) -> None:
    for printing, share in shares.items():
        into[printing] += factor * share


def _scale_variance(shares: Mapping[str, float], sds: Mapping[str, float]) -> float:
    return math.fsum((share * sds.get(printing, 0.0)) ** 2 for printing, share in shares.items())
