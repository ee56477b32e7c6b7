"""The printed scale cards as data: sizes in millimetres, marks, and what each is for.

Card coordinates: the origin is the card's top-left corner as printed, x to the right, y down, both
in millimetres; height above the card, towards the camera, is positive. A design that has been
printed never changes: a better one gets a new name and other marks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from measure.card.marks import CARD_MARKS

__all__ = [
    "DESIGNS",
    "GREY_STEPS",
    "CardDesign",
    "CardKind",
    "Rect",
    "design_named",
    "design_of_mark",
]

CardKind = Literal["pocket", "bloom", "bench"]

# Printed from left to right in each card's row of greys: 1 is bare paper, 0 is full ink.
GREY_STEPS: tuple[float, ...] = (1.0, 0.8, 0.6, 0.4, 0.2, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A rectangle on the card, in millimetres from its top-left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CardDesign:
    """One printed card.

    Attributes
    ----------
    name : str
        Design and its version, printed on the card and stored with every measurement.
    kind : "pocket", "bloom" or "bench"
    width_mm, height_mm : float
        The card itself, after cutting out.
    squares_x, squares_y : int
        Chessboard squares; the corners that give the scale are the inner ones.
    square_mm, mark_mm : float
        Side of a square, and of the mark inside each white square.
    board_left_mm, board_top_mm : float
        The board's top-left corner.
    first_mark : int
        The board's marks are this id and the following ones, in OpenCV's ChArUco order.
    tag_area : Rect
        Where the plant's tag is pegged, so that it is always in the frame.
    bar_across, bar_along : tuple of (x, y)
        Where each 100 mm ruler bar starts; it runs right, or down.
    greys : Rect
        A row of grey steps from paper white to black.
    subject : "bloom" or "clump"
        What a photo with this card shows unless the grower says otherwise.
    slot : Rect or None
        Cut out for the stem; open at the top edge, round at its lower end.
    subject_at : (x, y) or None
        Where the middle of the subject lies when the card is used as drawn; None where it lies
        beside the card, on any side of it.
    cane_holes : tuple of (x, y)
        Middles of the holes, ``cane_hole_mm`` wide, by which a cane is tied behind the card.
    cane_hole_mm : float
    backdrop : Rect or None
        The part behind the subject, printed in one even grey: white petals, dark ones and leaves
        all stand out from it.
    backdrop_grey : float
        Its shade; 1 is bare paper, 0 is full ink.
    """

    name: str
    kind: CardKind
    width_mm: float
    height_mm: float
    squares_x: int
    squares_y: int
    square_mm: float
    mark_mm: float
    board_left_mm: float
    board_top_mm: float
    first_mark: int
    tag_area: Rect
    bar_across: tuple[float, float]
    bar_along: tuple[float, float]
    greys: Rect
    subject: Literal["bloom", "clump"]
    slot: Rect | None = None
    subject_at: tuple[float, float] | None = None
    cane_holes: tuple[tuple[float, float], ...] = ()
    cane_hole_mm: float = 4.0
    backdrop: Rect | None = None
    backdrop_grey: float = 0.6

    def __post_init__(self) -> None:
        if self.marks.start not in CARD_MARKS or self.marks.stop - 1 not in CARD_MARKS:
            msg = f"card {self.name} uses marks outside those kept for cards"
            raise ValueError(msg)

    @property
    def marks(self) -> range:
        """The mark ids of this card's board."""
        return range(self.first_mark, self.first_mark + self.squares_x * self.squares_y // 2)

    @property
    def n_corners(self) -> int:
        """Inner chessboard corners on the whole board."""
        return (self.squares_x - 1) * (self.squares_y - 1)


DESIGNS: tuple[CardDesign, ...] = (
    CardDesign(
        name="pocket-1",
        kind="pocket",
        width_mm=105.0,
        height_mm=148.0,
        squares_x=5,
        squares_y=4,
        square_mm=15.0,
        mark_mm=11.25,
        board_left_mm=5.0,
        board_top_mm=80.0,
        first_mark=300,
        tag_area=Rect(left=4.0, top=4.0, width=62.0, height=34.0),
        bar_across=(2.5, 146.0),
        bar_along=(100.0, 24.0),
        greys=Rect(left=5.0, top=64.0, width=75.0, height=12.0),
        subject="bloom",
    ),
    CardDesign(
        name="bloom-1",
        kind="bloom",
        width_mm=200.0,
        height_mm=287.0,
        squares_x=9,
        squares_y=4,
        square_mm=20.0,
        mark_mm=15.0,
        board_left_mm=10.0,
        board_top_mm=160.0,
        first_mark=320,
        tag_area=Rect(left=132.0, top=246.0, width=62.0, height=36.0),
        bar_across=(10.0, 275.0),
        bar_along=(195.0, 140.0),
        greys=Rect(left=10.0, top=246.0, width=96.0, height=14.0),
        subject="bloom",
        slot=Rect(left=96.0, top=0.0, width=8.0, height=80.0),
        subject_at=(100.0, 76.0),
        cane_holes=((115.0, 112.0), (127.0, 112.0), (115.0, 268.0), (127.0, 268.0)),
        backdrop=Rect(left=0.0, top=0.0, width=200.0, height=134.0),
    ),
    CardDesign(
        name="bench-1",
        kind="bench",
        width_mm=287.0,
        height_mm=200.0,
        squares_x=8,
        squares_y=5,
        square_mm=25.0,
        mark_mm=18.75,
        board_left_mm=8.0,
        board_top_mm=8.0,
        first_mark=350,
        tag_area=Rect(left=216.0, top=5.0, width=66.0, height=36.0),
        bar_across=(8.0, 190.0),
        bar_along=(280.0, 48.0),
        greys=Rect(left=8.0, top=142.0, width=120.0, height=20.0),
        subject="clump",
    ),
)

_BY_MARK = {mark: design for design in DESIGNS for mark in design.marks}
_BY_NAME = {design.name: design for design in DESIGNS}


def design_of_mark(mark: int) -> CardDesign | None:
    """The card design that carries this mark on its board, or None."""
    return _BY_MARK.get(mark)


def design_named(name: str) -> CardDesign:
    """The card design of this name; ``ValueError`` lists the known ones."""
    if name not in _BY_NAME:
        msg = f"no card design {name!r}; known are {', '.join(_BY_NAME)}"
        raise ValueError(msg)
    return _BY_NAME[name]
