"""Where in the picture the subject is to be looked for, and where card and tags lie instead."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.designs import CardDesign, design_named
from measure.card.sharpness import looks_blurred
from measure.pose import Pose, find_pose
from measure.quality import Flag, MeasureError, Refusal
from measure.quantity import Size
from measure.results import MarksSeen, Optics, Outline, Picture, Points, Printing

__all__ = [
    "Finder",
    "card_quad",
    "doubts_of",
    "find_beside",
    "keep_out_mask",
    "places_to_look",
    "pose_in",
    "scale_settings",
    "stands_apart",
]

_Found = TypeVar("_Found")

Finder = Callable[..., _Found]
"""``outline_bloom`` or ``find_clump``."""

# A tag is cut out and folded with this much round its marks, in sides of a mark.
_TAG_MARGIN = 0.45
# A main size whose ± reaches this share of it is flagged.
_VAGUE = 0.08


def card_quad(pose: Pose, *, printing: Printing, margin_mm: float = 0.0) -> Points:
    """(4, 2) pixels of the card's own corners, clockwise from its top left."""
    design = design_named(pose.reading.design)
    stretch = np.array([printing.across_mm, printing.along_mm]) / 100.0
    low = np.array([-margin_mm, -margin_mm])
    high = np.array([design.width_mm + margin_mm, design.height_mm + margin_mm])
    x0, y0 = low * stretch
    x1, y1 = high * stretch
    return pose.project(np.array([[x0, y0, 0.0], [x1, y0, 0.0], [x1, y1, 0.0], [x0, y1, 0.0]]))


def pose_in(picture: Picture, marks: MarksSeen, *, optics: Optics, printing: Printing) -> Pose:
    """Pose of the card in the picture; one too blurred to read any card is refused as blurred."""
    size_px = (picture.shape[1], picture.shape[0])
    try:
        return find_pose(marks, size_px=size_px, optics=optics, printing=printing)
    except MeasureError as error:
        if error.refusal is Refusal.NO_CARD and looks_blurred(picture):
            raise MeasureError(
                Refusal.CARD_BLURRED, "(No scale card could be read in it.)"
            ) from error
        raise


def stands_apart(pose: Pose, outline: Outline, *, far_from_boards: float = 2.5) -> bool:
    """Whether the subject's middle is further from the board's than so many of its longer sides."""
    design = design_named(pose.reading.design)
    wide = design.squares_x * design.square_mm
    high = design.squares_y * design.square_mm
    board = np.array([design.board_left_mm + wide / 2.0, design.board_top_mm + high / 2.0])
    subject = pose.on_plane(outline.points.mean(axis=0)[None])[0]
    return float(np.linalg.norm(subject - board)) > far_from_boards * max(wide, high)


def doubts_of(
    pose: Pose,
    outline: Outline,
    *,
    printing: Printing,
    main: Size | None = None,
    also: tuple[Flag, ...] = (),
) -> tuple[Flag, ...]:
    """What makes a measurement doubtful: card, outline, where they stand, the main size's ±.

    ``also`` comes after these.
    """
    flags = [*pose.flags, *outline.flags]
    if stands_apart(pose, outline):
        flags.append(Flag.CARD_FAR)
    if main is not None and main.interval95[1] - main.interval95[0] > 2 * _VAGUE * main.value:
        flags.append(Flag.SIZE_UNSURE)
    flags += also
    if printing == Printing():
        flags.append(Flag.NO_RULER_READING)
    return tuple(dict.fromkeys(flags))


def scale_settings(pose: Pose, *, printing: Printing) -> dict[str, float]:
    """What a measurement's scale was made with, to be kept beside it."""
    return {
        "across_mm": printing.across_mm,
        "along_mm": printing.along_mm,
        "printing_u_percent": printing.u_percent,
        "focal_px": math.exp(float(pose.state[6])),
    }


def find_beside(
    finder: Finder[_Found],
    picture: Picture,
    pose: Pose,
    marks: MarksSeen,
    *,
    printing: Printing,
    typical_mm: float,
) -> _Found:
    """The subject, looked for at each likely place until one has it.

    ``MeasureError`` from the last place when none has.
    """
    size_px = (picture.shape[1], picture.shape[0])
    keep_out = keep_out_mask(size_px, pose, marks, printing=printing)
    refusal = MeasureError(Refusal.NO_SUBJECT)
    for near in places_to_look(size_px, pose, printing=printing, typical_mm=typical_mm):
        x, y = pose.on_plane(np.array([near]))[0]
        scale = pose.px_per_mm(at_mm=(float(x), float(y)))
        try:
            return finder(picture, keep_out=keep_out, near=near, px_per_mm=scale)
        except MeasureError as error:
            refusal = error
            if error.refusal is not Refusal.NO_SUBJECT:
                break
    raise refusal


def keep_out_mask(
    size_px: tuple[int, int],
    pose: Pose,
    marks: MarksSeen,
    *,
    printing: Printing,
    margin_mm: float = 1.5,
) -> NDArray[np.bool_]:
    """(H, W) true where the card and every tag and word card lie, with a little room round them."""
    mask = np.zeros((size_px[1], size_px[0]), np.uint8)
    _fill(mask, card_quad(pose, printing=printing, margin_mm=margin_mm))
    quads = [tag.corners for tag in marks.tags] + [word.corners for word in marks.words]
    for quad in quads:
        a, b, c, d = quad
        # Sides of one mark along and down the tag, whose quad is 2.25 marks wide or one.
        down = ((d - a) + (c - b)) / 2.0
        wide = (b - a + c - d) / 2.0
        longer = float(np.linalg.norm(wide)) / max(float(np.linalg.norm(down)), 1e-9)
        right = wide / max(1.0, longer)
        grow = _TAG_MARGIN * np.array([-right - down, right - down, right + down, down - right])
        _fill(mask, quad + grow)
    return mask.view(np.bool_)


def places_to_look(
    size_px: tuple[int, int], pose: Pose, *, printing: Printing, typical_mm: float
) -> list[tuple[float, float]]:
    """Pixels near which the subject should lie, the likeliest first.

    In front of the card where its design says so; else beside it, on the side with most room in
    the picture first. ``typical_mm`` is how large such a subject is.
    """
    design = design_named(pose.reading.design)
    if design.subject_at is not None:
        x, y = design.subject_at
        place = pose.project(np.array([[x, y, 0.0]]))[0]
        return [(float(place[0]), float(place[1]))]
    return _beside(size_px, pose, design, printing=printing, typical_mm=typical_mm)


def _beside(
    size_px: tuple[int, int],
    pose: Pose,
    design: CardDesign,
    *,
    printing: Printing,
    typical_mm: float,
) -> list[tuple[float, float]]:
    width, height = size_px
    quad = card_quad(pose, printing=printing)
    middle = quad.mean(axis=0)
    scale = pose.px_per_mm(at_mm=(design.width_mm / 2.0, design.height_mm / 2.0))
    rooms: list[tuple[float, tuple[float, float]]] = []
    for i in range(4):
        edge = (quad[i] + quad[(i + 1) % 4]) / 2.0
        outwards = (edge - middle) / max(float(np.linalg.norm(edge - middle)), 1e-9)
        room = _room(edge, outwards, width=width, height=height)
        step = min(room / 2.0, 0.75 * typical_mm * scale)
        x, y = edge + step * outwards
        rooms.append((-room, (float(x), float(y))))
    return [place for room, place in sorted(rooms) if -room > 0.15 * typical_mm * scale]


def _room(
    start: NDArray[np.float64], direction: NDArray[np.float64], *, width: int, height: int
) -> float:
    """How far one can go from a point in a direction before the picture ends."""
    far = float(np.hypot(width, height))
    for at, step, size in zip(start.tolist(), direction.tolist(), (width, height), strict=True):
        if step > 1e-9:
            far = min(far, (size - 1 - at) / step)
        elif step < -1e-9:
            far = min(far, -at / step)
    return max(0.0, far)


def _fill(mask: NDArray[np.uint8], quad: Points) -> None:
    cv2.fillConvexPoly(mask, np.round(quad * 16).astype(np.int32).reshape(-1, 1, 2), 1, shift=4)
