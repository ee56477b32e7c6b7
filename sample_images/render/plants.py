"""The invented plants: named varieties with their clumps, seedlings with their blooms."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CLUMPS", "SEEDLINGS", "ClumpOf", "Seedling"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClumpOf:
    """A plant's clump in the autumns of two seasons; ``change`` is the ratio of its spreads."""

    tag: int
    variety: str
    seed: int
    spread_mm: float
    change: float
    tubers: tuple[int, int]
    plumpness: float
    evenness: float = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Seedling:
    """A seedling of our own crosses: form, colours and its size on three dates."""

    tag: int
    name: str
    form: str
    card: str
    seed: int
    sizes_mm: tuple[float, float, float]


CLUMPS = {
    c.tag: c
    for c in (
        ClumpOf(
            tag=11,
            variety="Tin Orchard",
            seed=1103,
            spread_mm=262,
            change=0.80,
            tubers=(8, 8),
            plumpness=1.0,
        ),
        ClumpOf(
            tag=12,
            variety="Wherry Lamp",
            seed=1207,
            spread_mm=236,
            change=0.88,
            tubers=(8, 6),
            plumpness=0.86,
        ),
        ClumpOf(
            tag=13,
            variety="Aunt Petronel",
            seed=1311,
            spread_mm=222,
            change=1.00,
            tubers=(6, 8),
            plumpness=1.12,
        ),
        ClumpOf(
            tag=14,
            variety="Saltmarsh Linnet",
            seed=1415,
            spread_mm=248,
            change=0.93,
            tubers=(7, 7),
            plumpness=0.95,
        ),
        ClumpOf(
            tag=15,
            variety="Quillon Ferry",
            seed=1519,
            spread_mm=214,
            change=1.06,
            tubers=(9, 10),
            plumpness=0.84,
        ),
        ClumpOf(
            tag=16,
            variety="Tía Farola",
            seed=1623,
            spread_mm=226,
            change=1.125,
            tubers=(5, 6),
            plumpness=1.18,
        ),
        ClumpOf(
            tag=21,
            variety="Tin Orchard",
            seed=2127,
            spread_mm=246,
            change=0.80,
            tubers=(7, 7),
            plumpness=1.02,
        ),
        ClumpOf(
            tag=22,
            variety="Tía Farola",
            seed=2231,
            spread_mm=208,
            change=1.125,
            tubers=(6, 7),
            plumpness=1.14,
            evenness=0.6,
        ),
    )
}


SEEDLINGS = {
    s.tag: s
    for s in (
        Seedling(
            tag=31,
            name="T24-07",
            form="decorative",
            card="bloom-1",
            seed=3101,
            sizes_mm=(154, 149, 143),
        ),
        Seedling(
            tag=32, name="T24-11", form="ball", card="bloom-1", seed=3203, sizes_mm=(97, 95, 91)
        ),
        Seedling(
            tag=33,
            name="T24-15",
            form="cactus",
            card="bloom-1",
            seed=3305,
            sizes_mm=(138, 135, 129),
        ),
        Seedling(
            tag=34, name="T24-22", form="single", card="pocket-1", seed=3407, sizes_mm=(87, 85, 82)
        ),
    )
}
