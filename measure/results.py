"""What goes into a measurement beside the picture, and the frozen results that come out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from measure.quality import Flag
from measure.quantity import Size

__all__ = [
    "FORMS",
    "BloomColours",
    "CardReading",
    "Form",
    "Held",
    "Lift",
    "MainColour",
    "MarksSeen",
    "Measurement",
    "Optics",
    "Outline",
    "Picture",
    "Points",
    "Printing",
    "SeenBox",
    "SeenCard",
    "SeenTag",
    "SeenWord",
]

Picture = NDArray[np.uint8]
"""(H, W, 3) uint8, red green blue, upright."""

Points = NDArray[np.float64]
"""(N, 2) float64, (x, y) in pixels, pixel centres at integers, x right, y down."""

Form = Literal[
    "single",
    "anemone",
    "collerette",
    "waterlily",
    "decorative",
    "ball",
    "pompon",
    "cactus",
    "semi-cactus",
    "fimbriated",
    "orchid",
    "double orchid",
    "peony",
    "stellar",
    "miscellaneous",
]
FORMS: tuple[Form, ...] = Form.__args__  # type: ignore[attr-defined]

Held = Literal["level", "behind", "bench"]
"""How the card was held: level with the widest petals, at the bloom's back, both on the bench."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Optics:
    """What the photo's file says of the lens; None where it says nothing.

    ``exif_size`` is the pixel size (width, height, as stored before turning upright) that the file
    claims: where it disagrees with the picture's own, the picture was cropped or shrunk.
    """

    focal35_mm: float | None = None
    exif_size: tuple[int, int] | None = None
    digital_zoom: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Printing:
    """A ruler's reading of the two 100 mm bars of one printing; 100 and 100 when not read.

    ``u_percent`` is the standard uncertainty of the scale in per cent: 0.15 after a ruler reading
    to half a millimetre, 0.6 when nothing was read (printers that fit to page are off by more,
    which is why the reading is asked for).
    """

    across_mm: float = 100.0
    along_mm: float = 100.0
    u_percent: float = 0.6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenTag:
    """A tag in a picture. ``number`` is None when only one half was read; ``half`` says which.

    ``half`` is None when both were read, else the side and its two figures; it narrows the tag to
    a hundred numbers. ``corners`` are of both marks together, or of the one that was read,
    clockwise from the top left as printed; ``side_px`` is the side of one mark. ``pegged`` says
    that it sits on the card or close beside it, in its plane.
    """

    number: int | None
    half: tuple[Literal["left", "right"], int] | None
    corners: Points
    side_px: float
    pegged: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenBox:
    """A box's tag in a picture: its number, corners and side as of a ``SeenTag``."""

    number: int
    corners: Points
    side_px: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenWord:
    """A word card's mark in a picture."""

    mark: int
    corners: Points
    side_px: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenCard:
    """A scale card in a picture: its board corners found, by id.

    ``mark_px`` is the median side of the marks read on it; NaN where that was not kept.
    """

    design: str
    corner_ids: NDArray[np.int64]
    corners: Points
    n_marks: int
    mark_px: float = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MarksSeen:
    """Everything that one detection pass read in a picture, largest first.

    ``strangers`` are mark ids read that belong to no tag, box, word card or known card design.
    ``sharpness_px`` is the blur (one sigma, pixels) at the marks; NaN when there are none.
    """

    cards: tuple[SeenCard, ...] = ()
    tags: tuple[SeenTag, ...] = ()
    words: tuple[SeenWord, ...] = ()
    boxes: tuple[SeenBox, ...] = ()
    strangers: tuple[int, ...] = ()
    sharpness_px: float = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """The subject's outline, closed (the last point joins the first), and how far to trust it.

    ``confidence`` runs from 0 to 1. ``edge_sigma_px`` is the standard error of one end of a length.
    ``others`` counts further subjects of the same kind in view.
    """

    points: Points
    confidence: float
    edge_sigma_px: float
    flags: tuple[Flag, ...] = ()
    others: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CardReading:
    """What the card told: which design, how well it fits, and where the camera stood."""

    design: str
    corners: int
    residual_px: float
    tilt_deg: float
    distance_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """Height above the card of what makes the outline, in mm, with its standard uncertainty."""

    value: float
    u: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MainColour:
    """One main colour: CIELAB for D65 and 2 degrees, its share of the bloom, and a plain word."""

    lab: tuple[float, float, float]
    share: float
    word: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BloomColours:
    """A bloom's one to four main colours, the largest share first; the shares add up to 1.

    They compare with those of other photos taken with a card of the same printing; they are no
    match to a colour chart. ``balanced_on`` says what the light was judged by: the card's "greys",
    or its bare "paper" where the greys could not be used (less sure). ``too_bright`` is the share
    of the bloom that the camera cut off as too bright, left out where enough else is there.
    """

    colours: tuple[MainColour, ...]
    balanced_on: Literal["greys", "paper"]
    too_bright: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measurement:
    """One subject measured in one picture.

    ``sizes`` is keyed by name with the unit in it: ``widest_mm``, ``diameter_mm``, ``ring_mm``,
    ``area_cm2`` of a bloom; ``depth_mm``, ``across_mm`` of one from the side; ``spread_mm``,
    ``width_mm``, ``area_cm2``, ``tubers``, ``longest_tuber_mm`` of a clump; ``seeds`` and
    ``length_mm``, the median, of seeds. ``parts`` are the outlines of all seeds counted.
    ``callipers`` are the two ends of the widest measure in pixels.
    ``mm_per_px`` is the scale at the subject: its widest measure in mm over that in pixels.
    ``settings`` holds every option used, so that the number can be made again. ``colours`` are a
    bloom's, where enough of the card was seen to judge the light by.
    """

    of: Literal["bloom", "bloom-side", "clump", "seeds"]
    sizes: Mapping[str, Size]
    card: CardReading
    lift: Lift
    outline: Outline
    callipers: Points
    mm_per_px: float
    flags: tuple[Flag, ...] = ()
    settings: Mapping[str, str | float | None] = field(default_factory=lambda: MappingProxyType({}))
    colours: BloomColours | None = None
    parts: tuple[Points, ...] = ()
