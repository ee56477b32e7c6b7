"""Reading every mark in a picture in one pass: scale cards, tags and word cards."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace
from typing import Literal, cast

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.designs import DESIGNS, CardDesign, design_named, design_of_mark
from measure.card.marks import TAG_LEFT, TAG_PITCH, TAG_RIGHT, WORD_MARKS, tag_of_marks
from measure.card.second_look import look_for_fellow
from measure.card.sharpness import blur_of_board, blur_of_marks
from measure.results import MarksSeen, Picture, Points, SeenCard, SeenTag, SeenWord

__all__ = ["board_of", "board_points_mm", "plane_of_card", "read_marks"]

Gray = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class _Mark:
    """One mark read: its id, its corners clockwise from its own top left, its side."""

    id: int
    corners: Points

    @property
    def side_px(self) -> float:
        edges = self.corners - np.roll(self.corners, -1, axis=0)
        return float(np.linalg.norm(edges, axis=1).mean())

    @property
    def centre(self) -> NDArray[np.float64]:
        return cast("NDArray[np.float64]", self.corners.mean(axis=0))


def read_marks(
    picture: Picture,
    *,
    detect_longest_px: int = 2048,
    smallest_mark_share: float = 0.02,
    pegged_within_mm: float = 40.0,
) -> MarksSeen:
    """Cards, tags and word cards in a picture, from one detection pass over all marks.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
        Red, green, blue, upright.
    detect_longest_px : int
        Larger pictures are searched at this size; positions are then refined at full size. When
        nothing at all was read so, the search is made once more at full size.
    smallest_mark_share : float
        Smallest perimeter of a mark, as a share of the picture's longer side.
    pegged_within_mm : float
        A tag whose middle lies this near the card, in the card's plane and of a tag's size there,
        counts as pegged to it.

    Returns
    -------
    MarksSeen
        Corner positions are (x, y) pixels of the full picture.
    """
    gray = _gray(picture)
    marks = _detect(gray, longest_px=detect_longest_px, smallest_share=smallest_mark_share)
    if not marks and max(gray.shape) > detect_longest_px:
        marks = _detect(gray, longest_px=max(gray.shape), smallest_share=smallest_mark_share / 2)

    cards = _cards(gray, [m for m in marks if design_of_mark(m.id) is not None])
    marks += _missing_halves(gray, marks)
    tags = _tags(marks)
    if cards:
        tags = [_with_pegging(tag, cards[0], within_mm=pegged_within_mm) for tag in tags]
    words = sorted(
        (
            SeenWord(mark=m.id, corners=m.corners, side_px=m.side_px)
            for m in marks
            if m.id in WORD_MARKS
        ),
        key=lambda word: -word.side_px,
    )
    strangers = sorted({m.id for m in marks if _is_stranger(m.id)})
    return MarksSeen(
        cards=tuple(cards),
        tags=tuple(_merged(tags)),
        words=tuple(words),
        strangers=tuple(strangers),
        sharpness_px=_sharpness(gray, cards, marks),
    )


def board_of(design: CardDesign) -> cv2.aruco.CharucoBoard:
    """OpenCV's description of the design's chequered board, in millimetres."""
    return _board(design.name)


def board_points_mm(design: CardDesign, corner_ids: NDArray[np.int64]) -> Points:
    """(N, 2) positions on the card, in mm from its top left, of the board corners of these ids."""
    per_row = design.squares_x - 1
    column, row = corner_ids % per_row, corner_ids // per_row
    return np.column_stack(
        [
            design.board_left_mm + (column + 1) * design.square_mm,
            design.board_top_mm + (row + 1) * design.square_mm,
        ]
    ).astype(np.float64)


def plane_of_card(card: SeenCard) -> NDArray[np.float64] | None:
    """(3, 3) homography from card millimetres to picture pixels; None with under 4 corners."""
    if len(card.corner_ids) < 4:
        return None
    found = board_points_mm(design_named(card.design), card.corner_ids)
    if np.linalg.matrix_rank(found - found.mean(axis=0), tol=1e-6) < 2:
        return None
    plane, _ = cv2.findHomography(found, card.corners, 0)
    return None if plane is None else np.asarray(plane, dtype=np.float64)


def _gray(picture: Picture) -> Gray:
    if picture.ndim != 3 or picture.shape[2] != 3 or picture.dtype != np.uint8:
        msg = f"a picture is (H, W, 3) uint8, got {picture.shape} {picture.dtype}"
        raise ValueError(msg)
    return np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


@functools.cache
def _board(name: str) -> cv2.aruco.CharucoBoard:
    design = design_named(name)
    return cv2.aruco.CharucoBoard(
        (design.squares_x, design.squares_y),
        design.square_mm,
        design.mark_mm,
        _dictionary(),
        np.array(design.marks, dtype=np.int32),
    )


@functools.cache
def _dictionary() -> cv2.aruco.Dictionary:
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)


def _detect(gray: Gray, *, longest_px: int, smallest_share: float) -> list[_Mark]:
    shrink = max(1.0, max(gray.shape) / longest_px)
    small = gray
    if shrink > 1.0:
        size = (round(gray.shape[1] / shrink), round(gray.shape[0] / shrink))
        small = np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = smallest_share
    detector = cv2.aruco.ArucoDetector(_dictionary(), parameters)
    corners, ids, _ = detector.detectMarkers(small)
    if ids is None:
        return []
    back = np.array([gray.shape[1] / small.shape[1], gray.shape[0] / small.shape[0]])
    return [
        _Mark(int(mark), (np.asarray(quad, np.float64).reshape(4, 2) + 0.5) * back - 0.5)
        for mark, quad in zip(np.ravel(ids), corners, strict=True)
    ]


def _is_stranger(mark: int) -> bool:
    known = mark in TAG_LEFT or mark in TAG_RIGHT or mark in WORD_MARKS
    return not known and design_of_mark(mark) is None


def _cards(gray: Gray, marks: list[_Mark]) -> list[SeenCard]:
    """The cards seen, best first; one stray mark beside a well seen card is no second card."""
    cards: list[SeenCard] = []
    for design in DESIGNS:
        of_design = [m for m in marks if m.id in design.marks]
        while of_design:
            one, of_design = _one_card_of(design, of_design)
            cards.append(_read_board(gray, design, one))
    cards.sort(key=lambda card: (-len(card.corner_ids), -card.n_marks))
    return [card for i, card in enumerate(cards) if i == 0 or card.n_marks >= 3]


def _one_card_of(design: CardDesign, marks: list[_Mark]) -> tuple[list[_Mark], list[_Mark]]:
    """Split the marks into those of one card and the rest, by the plane that most agree on."""
    if len({m.id for m in marks}) == len(marks) and len(marks) < 4:
        return marks, []
    best: list[_Mark] = []
    for seed in marks:
        near = [m for m in marks if _fits(design, seed, m)]
        if len(near) > len(best):
            best = near
    unique: dict[int, _Mark] = {}
    for mark in sorted(best, key=lambda m: -m.side_px):
        unique.setdefault(mark.id, mark)
    chosen = list(unique.values())
    return chosen, [m for m in marks if all(m is not c for c in chosen)]


def _fits(design: CardDesign, seed: _Mark, other: _Mark) -> bool:
    """Whether ``other`` lies where the card seen at ``seed`` would have it, roughly."""
    if seed is other:
        return True
    quads = {m: _mark_quad_mm(design, m) for m in {seed.id, other.id}}
    plane = cv2.getPerspectiveTransform(
        quads[seed.id].astype(np.float32), seed.corners.astype(np.float32)
    )
    # A plane carried from one small mark is loose: it only has to tell two cards apart.
    steps = np.linalg.norm(quads[other.id].mean(0) - quads[seed.id].mean(0)) / design.mark_mm
    affine = _affine_of(seed.corners, quads[seed.id])
    target = quads[other.id].mean(axis=0)
    centres = [
        cv2.perspectiveTransform(target.reshape(1, 1, 2), np.asarray(plane, np.float64)).ravel(),
        affine @ np.append(target, 1.0),
    ]
    off = min(float(np.linalg.norm(c - other.centre)) for c in centres)
    return off < seed.side_px * (0.5 + 0.25 * float(steps))


def _affine_of(corners: Points, quad_mm: Points) -> NDArray[np.float64]:
    design_matrix = np.column_stack([quad_mm, np.ones(4)])
    return np.asarray(np.linalg.lstsq(design_matrix, corners, rcond=None)[0].T, np.float64)


def _mark_quad_mm(design: CardDesign, mark: int) -> Points:
    """(4, 2) corners of one board mark, in mm from the board's top left, clockwise."""
    index = design.marks.index(mark)
    quad = np.asarray(_board(design.name).getObjPoints()[index], np.float64).reshape(4, 3)
    return quad[:, :2]


def _read_board(gray: Gray, design: CardDesign, marks: list[_Mark]) -> SeenCard:
    detector = cv2.aruco.CharucoDetector(_board(design.name))
    corners, ids, _, _ = detector.detectBoard(
        gray,
        markerCorners=[m.corners.astype(np.float32).reshape(1, 4, 2) for m in marks],
        markerIds=np.array([m.id for m in marks], np.int32).reshape(-1, 1),
    )
    found = ids is not None and len(np.ravel(ids)) > 0
    points = np.asarray(corners, np.float64).reshape(-1, 2) if found else np.zeros((0, 2))
    numbers = np.ravel(np.asarray(ids)).astype(np.int64) if found else np.zeros(0, np.int64)
    if found:
        points = _refined(gray, points, side_px=float(np.median([m.side_px for m in marks])))
    order = np.argsort(numbers)
    return SeenCard(
        design=design.name, corner_ids=numbers[order], corners=points[order], n_marks=len(marks)
    )


def _refined(gray: Gray, points: Points, *, side_px: float) -> Points:
    """Board corners found once more, to a hundredth of a pixel.

    The window keeps clear of the marks, which begin an eighth of a square (a sixth of a mark) from
    the corner. A corner that runs away stays where it was.
    """
    half = int(np.clip(round(side_px * 2.0 / 15.0), 3, 15))
    start = points.astype(np.float32).reshape(-1, 1, 2)
    rule = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 60, 1e-3)
    better = cv2.cornerSubPix(gray, start.copy(), (half, half), (-1, -1), rule)
    better = np.asarray(better, np.float64).reshape(-1, 2)
    moved = np.linalg.norm(better - points, axis=1)
    return np.where((moved < 1.0)[:, None], better, points)


def _tags(marks: list[_Mark]) -> list[SeenTag]:
    """Tags from left and right halves side by side; a half without its fellow stays a half."""
    lefts = [m for m in marks if m.id in TAG_LEFT]
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
    for _, i, j in pairs:
        if i in used_left or j in used_right:
            continue
        used_left.add(i)
        used_right.add(j)
        left, right = lefts[i], rights[j]
        if (left.id, right.id) == (TAG_LEFT[0], TAG_RIGHT[0]):
            continue  # 0000 is never printed
        corners = np.array([left.corners[0], right.corners[1], right.corners[2], left.corners[3]])
        tags.append(
            SeenTag(
                number=tag_of_marks(left.id, right.id),
                half=None,
                corners=corners,
                side_px=(left.side_px + right.side_px) / 2,
                pegged=False,
            )
        )
    tags += [_half("left", m) for i, m in enumerate(lefts) if i not in used_left]
    tags += [_half("right", m) for j, m in enumerate(rights) if j not in used_right]
    return tags


def _missing_halves(gray: Gray, marks: list[_Mark]) -> list[_Mark]:
    """What a closer look finds beside halves that stand alone."""
    looks = [
        look_for_fellow(gray, tag.corners, side=tag.half[0])
        for tag in _tags(marks)
        if tag.half is not None
    ]
    return [_Mark(*look) for look in looks if look is not None]


def _half(side: Literal["left", "right"], mark: _Mark) -> SeenTag:
    figures = (TAG_LEFT if side == "left" else TAG_RIGHT).index(mark.id)
    return SeenTag(
        number=None, half=(side, figures), corners=mark.corners, side_px=mark.side_px, pegged=False
    )


def _pairing_cost(left: _Mark, right: _Mark) -> float:
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


def _axes(mark: _Mark) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The mark's own x and y edges, as mean vectors in pixels."""
    a, b, c, d = mark.corners
    return ((b - a) + (c - d)) / 2, ((d - a) + (c - b)) / 2


def _with_pegging(tag: SeenTag, card: SeenCard, *, within_mm: float) -> SeenTag:
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


def _merged(tags: list[SeenTag]) -> list[SeenTag]:
    """Each tag once, largest first; of several of one number the pegged one, then the largest."""
    ordered = sorted(tags, key=lambda tag: (not tag.pegged, -tag.side_px))
    kept: dict[object, SeenTag] = {}
    for tag in ordered:
        kept.setdefault(tag.number if tag.number is not None else tag.half, tag)
    return sorted(kept.values(), key=lambda tag: -tag.side_px)


def _sharpness(gray: Gray, cards: list[SeenCard], marks: list[_Mark]) -> float:
    for card in cards:
        blur = blur_of_board(gray, card)
        if math.isfinite(blur):
            return blur
    return blur_of_marks(gray, [m.corners for m in marks])
