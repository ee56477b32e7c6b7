"""Colours of blooms that are no seedling of the garden's, by name."""

from __future__ import annotations

__all__ = ["COLOURS", "Palette"]

Palette = dict[str, tuple[float, float, float]]
"""A bloom's colours, linear: foot, middle and tip of the petals."""

COLOURS: dict[str, Palette] = {
    "white": {"foot": (0.70, 0.74, 0.52), "middle": (0.82, 0.82, 0.78), "tip": (0.86, 0.86, 0.84)},
    "cream": {"foot": (0.78, 0.66, 0.26), "middle": (0.84, 0.78, 0.56), "tip": (0.86, 0.82, 0.68)},
    "yellow": {"foot": (0.74, 0.44, 0.02), "middle": (0.84, 0.62, 0.03), "tip": (0.86, 0.70, 0.09)},
    "orange": {"foot": (0.74, 0.26, 0.02), "middle": (0.82, 0.22, 0.02), "tip": (0.84, 0.18, 0.02)},
    "bronze": {"foot": (0.62, 0.30, 0.05), "middle": (0.56, 0.21, 0.07), "tip": (0.48, 0.16, 0.08)},
    "pink": {"foot": (0.74, 0.42, 0.40), "middle": (0.76, 0.30, 0.44), "tip": (0.80, 0.42, 0.56)},
    "red": {"foot": (0.44, 0.02, 0.012), "middle": (0.56, 0.014, 0.018), "tip": (0.62, 0.02, 0.03)},
    "purple": {"foot": (0.20, 0.02, 0.22), "middle": (0.30, 0.04, 0.34), "tip": (0.38, 0.09, 0.44)},
    "near-black": {
        "foot": (0.05, 0.003, 0.008),
        "middle": (0.07, 0.004, 0.010),
        "tip": (0.11, 0.007, 0.015),
    },
    "bicolour": {
        "foot": (0.50, 0.01, 0.03),
        "middle": (0.56, 0.03, 0.06),
        "tip": (0.86, 0.84, 0.80),
    },
}
"""``cream`` is kept for the collar of collerettes."""
