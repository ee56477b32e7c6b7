"""Statistics of sizes and counts: pure functions from measured figures to ratios and words."""

from photolog.comparing.changes import (
    Change,
    Comparison,
    PooledChange,
    SeasonMean,
    VarietyChange,
)
from photolog.comparing.clumps import ClumpSize, Shot, clump_sizes
from photolog.comparing.pooling import Pooled, fixed_effect, pool_random_effects
from photolog.comparing.ratios import compare_sizes
from photolog.comparing.spreads import SIZE_KINDS, SizeKind, Spread
from photolog.comparing.wilson import wilson_interval
from photolog.comparing.words import NUMBER_WORDS, SIZE_WORDS, Word, Words, say

__all__ = [
    "NUMBER_WORDS",
    "SIZE_KINDS",
    "SIZE_WORDS",
    "Change",
    "ClumpSize",
    "Comparison",
    "Pooled",
    "PooledChange",
    "SeasonMean",
    "Shot",
    "SizeKind",
    "Spread",
    "VarietyChange",
    "Word",
    "Words",
    "clump_sizes",
    "compare_sizes",
    "fixed_effect",
    "pool_random_effects",
    "say",
    "wilson_interval",
]
