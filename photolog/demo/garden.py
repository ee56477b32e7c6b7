"""An invented garden of the southern hemisphere: Tollgate Ground, kept by Imke Tolland.

Its plants, tags and day book belong to the photographs of ``sample_images/``.
"""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

__all__ = [
    "BOUGHT",
    "BOUGHT_LATER",
    "CLUMPS",
    "DAY_BOOK",
    "EARLIER_HOLDER",
    "FORMS",
    "KEEPER",
    "NAME",
    "RULER_READINGS",
    "SEEDLINGS",
    "SEEDLINGS_PLANTED",
    "TODAY",
    "TRAY",
    "Entry",
]

NAME = "Tollgate Ground, Merrow Flat"
KEEPER = "Imke Tolland"

BOUGHT = dt.date(2023, 11, 4)

TODAY = dt.datetime(2026, 6, 20, 18, 0, tzinfo=dt.timezone(dt.timedelta(hours=12)))

# What a ruler read on the cards' two bars, across and along, and when.
RULER_READINGS = tuple(
    (design, 100.0, 100.0, dt.date(2024, 10, 12)) for design in ("bench-1", "bloom-1", "pocket-1")
)

# Tag and variety of every plant lifted in both autumns.
CLUMPS: dict[int, str] = {
    11: "Tin Orchard",
    12: "Wherry Lamp",
    13: "Aunt Petronel",
    14: "Saltmarsh Linnet",
    15: "Quillon Ferry",
    16: "Tía Farola",
    21: "Tin Orchard",
    22: "Tía Farola",
}

FORMS: dict[str, str] = {
    "Tin Orchard": "decorative",
    "Wherry Lamp": "ball",
    "Aunt Petronel": "waterlily",
    "Saltmarsh Linnet": "cactus",
    "Quillon Ferry": "decorative",
    "Tía Farola": "collerette",
    "Old Harbour Moth": "pompon",
}

# Tag 16 hung on another plant first; it rotted in store, and the tag went to a plant bought later.
EARLIER_HOLDER = (16, "Old Harbour Moth", BOUGHT, dt.date(2024, 10, 30))
BOUGHT_LATER = {16: dt.date(2024, 11, 2)}

# Tag, raiser's number and form of the seedlings of the garden's own crosses.
SEEDLINGS: dict[int, tuple[str, str]] = {
    31: ("T24-07", "decorative"),
    32: ("T24-11", "ball"),
    33: ("T24-15", "cactus"),
    34: ("T24-22", "single"),
}
SEEDLINGS_PLANTED = dt.date(2025, 11, 8)

# A tray of pot tubers: one tag and a count.
TRAY = (101, "Saltmarsh Linnet", 40, dt.date(2026, 6, 6))


class Entry(NamedTuple):
    """One line of the day book; no tags means the whole garden."""

    kind: str
    on: dt.date
    tags: tuple[int, ...] = ()
    note: str = ""


_LIFTED = tuple(CLUMPS)
_GROWN = (*CLUMPS, *SEEDLINGS)

DAY_BOOK: tuple[Entry, ...] = (
    Entry("planted out", BOUGHT, _LIFTED),
    Entry("lifted", dt.date(2024, 5, 18), _LIFTED),
    Entry("planted out", dt.date(2024, 11, 2), _LIFTED),
    Entry("first frost", dt.date(2025, 5, 9)),
    Entry("cut down", dt.date(2025, 5, 15), _LIFTED),
    Entry("lifted", dt.date(2025, 5, 17), _LIFTED),
    Entry("stored", dt.date(2025, 5, 31), _LIFTED, "in barely damp sand under the bench"),
    Entry("planted out", dt.date(2025, 11, 8), _GROWN),
    Entry("stopped", dt.date(2025, 12, 6), tuple(SEEDLINGS)),
    Entry("first bloom", dt.date(2026, 1, 16), tuple(SEEDLINGS)),
    Entry("first frost", dt.date(2026, 5, 11)),
    Entry("cut down", dt.date(2026, 5, 14), _GROWN),
    Entry("lifted", dt.date(2026, 5, 16), _LIFTED),
)
