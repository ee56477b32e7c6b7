"""Tags from their two halves: which belong together, and which hang on the card."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal, cast

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.board import plane_of_card
from measure.card.designs import design_named
from measure.card.marks import (
    BOX_LEFT,
    TAG_LEFT,
    TAG_PITCH,
    TAG_RIGHT,
    box_of_marks,
    tag_of_marks,
)
from measure.results import Points, SeenBox, SeenCard, SeenTag

__all__ = ["Mark", "boxes_each_once", "each_once", "pair_halves", "with_pegging"]


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """One mark read: its id, its corners clockwise from its own top left, its side."""

    id: int
    corners: Points

    @property
    def side_px(self) -> float:
        """Mean length of its four sides."""
        edges = self.corners - np.roll(self.corners, -1, axis=0)
        return float(np.linalg.norm(edges, axis=1).mean())

    @property
    def centre(self) -> NDArray[np.float64]:
        """Mean of its corners."""
        return cast("NDArray[np.float64]", self.corners.mean(axis=0))


def pair_halves(marks: list[Mark]) -> tuple[list[SeenTag], list[SeenBox]]:
    """Tags and box tags from left and right halves side by side.

    A tag's half without its fellow stays a half; a box's left half alone says nothing.
    """
    lefts = [m for m in marks if m.id in TAG_LEFT or m.id in BOX_LEFT]
    rights = [m for m in marks if m.id in TAG_RIGHT]
    pairs = sorted(
        (
            (cost, i, j)
            for i, left in enumerate(lefts)
            for j, right in enumerate(rights)
            if math.isfinite(cost := _pairing_cost(left, right))
        ),
    )
    used_left: set[int] = set()
    used_right: set[int] = set()
    tags: list[SeenTag] = []
    boxes: list[SeenBox] = []
    for _, i, j in pairs:
        if i in used_left or j in used_right:
            continue
        used_left.add(i)
        used_right.add(j)
        left, right = lefts[i], rights[j]
        if right.id == TAG_RIGHT[0] and left.id in (TAG_LEFT[0], BOX_LEFT[0]):
            continue  # neither tag 0000 nor box 0 is ever printed
        corners = np.array([left.corners[0], right.corners[1], right.corners[2], left.corners[3]])
        side_px = (left.side_px + right.side_px) / 2
        if left.id in BOX_LEFT:
            number = box_of_marks(left.id, right.id)
            boxes.append(SeenBox(number=number, corners=corners, side_px=side_px))
            continue
        tags.append(
            SeenTag(
                number=tag_of_marks(left.id, right.id),
                half=None,
                corners=corners,
                side_px=side_px,
                pegged=False,
            )
        )
    alone = [m for i, m in enumerate(lefts) if i not in used_left and m.id in TAG_LEFT]
    tags += [_half("left", m) for m in alone]
    tags += [_half("right", m) for j, m in enumerate(rights) if j not in used_right]
    return tags, boxes


def with_pegging(tag: SeenTag, card: SeenCard, *, within_mm: float) -> SeenTag:
    """The tag, marked as pegged where it lies on the card or near it, and of a tag's size there."""
    plane = plane_of_card(card)
    if plane is None:
        return tag
    design = design_named(card.design)
    on_card = cv2.perspectiveTransform(tag.corners.reshape(-1, 1, 2), np.linalg.inv(plane))
    on_card = np.asarray(on_card, np.float64).reshape(-1, 2)
    edges = np.linalg.norm(on_card - np.roll(on_card, -1, axis=0), axis=1)
    side_mm = float((edges[1] + edges[3]) / 2)
    x, y = on_card.mean(axis=0)
    outside = math.hypot(max(-x, 0.0, x - design.width_mm), max(-y, 0.0, y - design.height_mm))
    # A tag is up to a few millimetres nearer than the card, and soft or curled: hence the room.
    of_tag_size = any(0.8 * size < side_mm < 1.2 * size for size in (20.0, 30.0))
    return replace(tag, pegged=bool(of_tag_size and outside <= within_mm))


def each_once(tags: Iterable[SeenTag]) -> list[SeenTag]:
    """Each tag once, largest first; of several of one number the pegged one, then the largest."""
    ordered = sorted(tags, key=lambda tag: (not tag.pegged, -tag.side_px))
    kept: dict[object, SeenTag] = {}
    for tag in ordered:
        kept.setdefault(tag.number if tag.number is not None else tag.half, tag)
    return sorted(kept.values(), key=lambda tag: -tag.side_px)


def boxes_each_once(boxes: Iterable[SeenBox]) -> list[SeenBox]:
    """Each box once, largest first."""
    kept: dict[int, SeenBox] = {}
    for box in sorted(boxes, key=lambda box: -box.side_px):
        kept.setdefault(box.number, box)
    return list(kept.values())


def _half(side: Literal["left", "right"], mark: Mark) -> SeenTag:
    figures = (TAG_LEFT if side == "left" else TAG_RIGHT).index(mark.id)
    return SeenTag(
        number=None, half=(side, figures), corners=mark.corners, side_px=mark.side_px, pegged=False
    )


def _pairing_cost(left: Mark, right: Mark) -> float:
    """How badly two halves sit side by side; infinite when they can't be one tag.

    Their middles are printed ``TAG_PITCH`` marks apart along the left mark's own upper edge; the
    allowance is for tags seen aslant or curled.
    """
    across, down = _axes(left)
    basis = np.column_stack([across, down])
    if abs(np.linalg.det(basis)) < 1.0:
        return math.inf
    step, drop = np.linalg.solve(basis, right.centre - left.centre)
    ratio = right.side_px / left.side_px
    right_across, _ = _axes(right)
    along = float(across @ right_across / (np.linalg.norm(across) * np.linalg.norm(right_across)))
    if not (1.0 < step < 1.7 and abs(drop) < 0.35 and 0.7 < ratio < 1.43 and along > 0.85):
        return math.inf
    return abs(float(step) - TAG_PITCH) + abs(float(drop)) + abs(math.log(ratio))


def _axes(mark: Mark) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The mark's own x and y edges, as mean vectors in pixels."""
    a, b, c, d = mark.corners
    return ((b - a) + (c - d)) / 2, ((d - a) + (c - b)) / 2
