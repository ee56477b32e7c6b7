"""The shot list: every photograph in the order in which it was taken."""

from __future__ import annotations

from autumn_2025 import AUTUMN_2025
from autumn_2026 import AUTUMN_2026
from shot import Shot
from summer_2026 import SUMMER_2026

__all__ = ["SHOTS", "shot_named"]

SHOTS: tuple[Shot, ...] = (*AUTUMN_2025, *SUMMER_2026, *AUTUMN_2026)


def shot_named(name: str) -> Shot:
    """The shot of this file name; ``ValueError`` where there is none."""
    for shot in SHOTS:
        if shot.file == name or shot.file.partition(".")[0] == name:
            return shot
    msg = f"no shot {name!r} in the list"
    raise ValueError(msg)
