"""How each double form of bloom is built, as shares of the bloom's radius."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FORM_RECIPES", "Recipe"]


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """How a form is built, lengths as shares of the bloom's radius.

    The petals' tips lie on a spheroid: ``front`` is its half-height before the widest part,
    ``behind`` the one towards the stem, ``rise`` the height of the widest part above the back.
    ``first``, ``last`` are the tips' angles from the axis; ``crowding`` draws petals to the middle.
    ``broad`` is a petal's width, ``curl`` its edges' bend in degrees (towards the face positive),
    at foot and tip; ``arch`` how far its middle line is bowed forward; ``outline`` how its width
    runs from foot to tip.
    """

    petals: int
    front: float
    behind: float
    rise: float
    first: float
    last: float
    crowding: float
    broad: float
    narrow: float
    curl: tuple[float, float]
    arch: float
    outline: tuple[float, ...]
    jitter: float


FORM_RECIPES = {
    "decorative": Recipe(
        petals=172,
        front=0.62,
        behind=0.42,
        rise=0.36,
        first=3,
        last=113,
        crowding=0.76,
        broad=0.47,
        narrow=0.115,
        curl=(84, 30),
        arch=0.15,
        outline=(0.45, 0.62, 0.80, 0.95, 1.0, 0.96, 0.80, 0.52, 0.10),
        jitter=1.1,
    ),
    "ball": Recipe(
        petals=216,
        front=0.86,
        behind=0.80,
        rise=0.64,
        first=3,
        last=124,
        crowding=0.78,
        broad=0.41,
        narrow=0.135,
        curl=(140, 84),
        arch=0.10,
        outline=(0.55, 0.72, 0.86, 0.96, 1.0, 1.0, 0.95, 0.82, 0.34),
        jitter=0.7,
    ),
    "cactus": Recipe(
        petals=140,
        front=0.66,
        behind=0.40,
        rise=0.34,
        first=3,
        last=110,
        crowding=0.74,
        broad=0.40,
        narrow=0.12,
        curl=(50, -128),
        arch=0.12,
        outline=(0.62, 0.90, 1.0, 0.93, 0.78, 0.56, 0.30, 0.04),
        jitter=1.7,
    ),
    "pompon": Recipe(
        petals=190,
        front=0.94,
        behind=0.92,
        rise=0.80,
        first=3,
        last=140,
        crowding=0.80,
        broad=0.42,
        narrow=0.15,
        curl=(165, 120),
        arch=0.08,
        outline=(0.60, 0.76, 0.88, 0.97, 1.0, 1.0, 0.97, 0.86, 0.42),
        jitter=0.6,
    ),
    "semi-cactus": Recipe(
        petals=146,
        front=0.64,
        behind=0.42,
        rise=0.35,
        first=3,
        last=112,
        crowding=0.75,
        broad=0.40,
        narrow=0.12,
        curl=(60, -60),
        arch=0.13,
        outline=(0.56, 0.82, 1.0, 0.97, 0.86, 0.66, 0.38, 0.05),
        jitter=1.5,
    ),
    "waterlily": Recipe(
        petals=58,
        front=0.58,
        behind=0.20,
        rise=0.14,
        first=6,
        last=92,
        crowding=0.72,
        broad=0.55,
        narrow=0.22,
        curl=(70, 36),
        arch=-0.06,
        outline=(0.42, 0.62, 0.82, 0.96, 1.0, 0.93, 0.74, 0.44, 0.08),
        jitter=0.9,
    ),
    "stellar": Recipe(
        petals=96,
        front=0.60,
        behind=0.46,
        rise=0.36,
        first=4,
        last=112,
        crowding=0.74,
        broad=0.27,
        narrow=0.11,
        curl=(120, 70),
        arch=0.16,
        outline=(0.60, 0.80, 0.95, 1.0, 0.92, 0.72, 0.42, 0.06),
        jitter=1.3,
    ),
}
