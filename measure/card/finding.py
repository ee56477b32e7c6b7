"""Reading every mark in a picture in one pass: scale cards, tags, boxes and word cards."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.board import board_of, mark_quad_mm
from measure.card.candidates import candidates
from measure.card.designs import DESIGNS, CardDesign, design_of_mark
from measure.card.marks import BOX_LEFT, TAG_LEFT, TAG_RIGHT, WORD_MARKS
from measure.card.second_look import look_for_fellow
from measure.card.sharpness import blur_of_board, blur_of_marks
from measure.card.tags import Mark, boxes_each_once, each_once, pair_halves, with_pegging
from measure.results import MarksSeen, Picture, Points, SeenCard, SeenWord

__all__ = ["read_marks"]

Gray = NDArray[np.uint8]


def read_marks(
    picture: Picture,
    *,
    detect_longest_px: int = 2048,
    smallest_mark_share: float = 0.02,
    pegged_within_mm: float = 40.0,
) -> MarksSeen:
    """Cards, tags, boxes and word cards in a picture, from one detection pass over all marks.

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
    tags, boxes = pair_halves(marks)
    if cards:
        tags = [with_pegging(tag, cards[0], within_mm=pegged_within_mm) for tag in tags]
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
        tags=tuple(each_once(tags)),
        words=tuple(words),
        boxes=tuple(boxes_each_once(boxes)),
        strangers=tuple(strangers),
        sharpness_px=_sharpness(gray, cards, marks),
    )


def _gray(picture: Picture) -> Gray:
    if picture.ndim != 3 or picture.shape[2] != 3 or picture.dtype != np.uint8:
        msg = f"a picture is (H, W, 3) uint8, got {picture.shape} {picture.dtype}"
        raise ValueError(msg)
    return np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def _detect(gray: Gray, *, longest_px: int, smallest_share: float) -> list[Mark]:
    small = _shrunk(gray, longest_px=longest_px)
    among = candidates(small, smallest_share=smallest_share)
    if among is None:
        return []
    part = small[among.top : among.bottom, among.left : among.right]
    # Shares are of the whole picture; a thousandth of a pixel keeps its rounding.
    share = (max(small.shape) + 1e-3) / max(part.shape)
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = smallest_share * share
    parameters.maxMarkerPerimeterRate *= share
    detector = cv2.aruco.ArucoDetector(among.dictionary(), parameters)
    corners, places, _ = detector.detectMarkers(part)
    if places is None:
        return []
    ids = among.ids[np.ravel(places).astype(np.intp)]
    back = np.array([gray.shape[1] / small.shape[1], gray.shape[0] / small.shape[0]])
    corner = np.array([among.left, among.top])
    return [
        Mark(
            int(mark),
            (np.asarray(quad, np.float64).reshape(4, 2) + corner + 0.5) * back - 0.5,
        )
        for mark, quad in zip(ids, corners, strict=True)
    ]


def _shrunk(gray: Gray, *, longest_px: int) -> Gray:
    """The picture at ``longest_px``, or up to a tenth less where a whole number goes into it."""
    shrink = max(1.0, max(gray.shape) / longest_px)
    if shrink == 1.0:
        return gray
    # Averaging over whole pixels takes a thirtieth of the time that parts of pixels take.
    if math.ceil(shrink) <= shrink / 0.9:
        shrink = float(math.ceil(shrink))
    size = (round(gray.shape[1] / shrink), round(gray.shape[0] / shrink))
    return np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _is_stranger(mark: int) -> bool:
    known = (TAG_LEFT, TAG_RIGHT, BOX_LEFT, WORD_MARKS)
    return all(mark not in marks for marks in known) and design_of_mark(mark) is None


def _cards(gray: Gray, marks: list[Mark]) -> list[SeenCard]:
    """The cards seen, best first; one stray mark beside a well seen card is no second card."""
    cards: list[SeenCard] = []
    for design in DESIGNS:
        of_design = [m for m in marks if m.id in design.marks]
        while of_design:
            one, of_design = _one_card_of(design, of_design)
            cards.append(_read_board(gray, design, one))
    cards.sort(key=lambda card: (-len(card.corner_ids), -card.n_marks))
    return [card for i, card in enumerate(cards) if i == 0 or card.n_marks >= 3]


def _one_card_of(design: CardDesign, marks: list[Mark]) -> tuple[list[Mark], list[Mark]]:
    """Split the marks into those of one card and the rest, by the plane that most agree on."""
    if len({m.id for m in marks}) == len(marks) and len(marks) < 4:
        return marks, []
    best: list[Mark] = []
    # The largest are the surest; among six there is one of the card that most are of.
    for seed in sorted(marks, key=lambda m: -m.side_px)[:6]:
        near = _fitting(design, seed, marks)
        if len(near) > len(best):
            best = near
    unique: dict[int, Mark] = {}
    for mark in sorted(best, key=lambda m: -m.side_px):
        unique.setdefault(mark.id, mark)
    chosen = list(unique.values())
    return chosen, [m for m in marks if all(m is not c for c in chosen)]


def _fitting(design: CardDesign, seed: Mark, marks: list[Mark]) -> list[Mark]:
    """Those marks that lie where the card seen at ``seed`` would have them, roughly."""
    own = mark_quad_mm(design, seed.id)
    plane = cv2.getPerspectiveTransform(own.astype(np.float32), seed.corners.astype(np.float32))
    targets = np.array([mark_quad_mm(design, m.id).mean(axis=0) for m in marks])
    # A plane carried from one small mark is loose: it only has to tell two cards apart.
    steps = np.linalg.norm(targets - own.mean(axis=0), axis=1) / design.mark_mm
    affine = _affine_of(seed.corners, own)
    by_plane = cv2.perspectiveTransform(targets.reshape(-1, 1, 2), np.asarray(plane, np.float64))
    by_affine = np.column_stack([targets, np.ones(len(marks))]) @ affine.T
    seen = np.array([m.centre for m in marks])
    off = np.minimum(
        np.linalg.norm(np.asarray(by_plane).reshape(-1, 2) - seen, axis=1),
        np.linalg.norm(by_affine - seen, axis=1),
    )
    fits = off < seed.side_px * (0.5 + 0.25 * steps)
    return [m for m, fit in zip(marks, fits, strict=True) if fit or m is seed]


def _affine_of(corners: Points, quad_mm: Points) -> NDArray[np.float64]:
    design_matrix = np.column_stack([quad_mm, np.ones(4)])
    return np.asarray(np.linalg.lstsq(design_matrix, corners, rcond=None)[0].T, np.float64)


def _read_board(gray: Gray, design: CardDesign, marks: list[Mark]) -> SeenCard:
    detector = cv2.aruco.CharucoDetector(board_of(design))
    corners, ids, _, _ = detector.detectBoard(
        gray,
        markerCorners=[m.corners.astype(np.float32).reshape(1, 4, 2) for m in marks],
        markerIds=np.array([m.id for m in marks], np.int32).reshape(-1, 1),
    )
    found = ids is not None and len(np.ravel(ids)) > 0
    side_px = float(np.median([m.side_px for m in marks]))
    points = np.asarray(corners, np.float64).reshape(-1, 2) if found else np.zeros((0, 2))
    numbers = np.ravel(np.asarray(ids)).astype(np.int64) if found else np.zeros(0, np.int64)
    if found:
        points = _refined(gray, points, side_px=side_px)
    order = np.argsort(numbers)
    return SeenCard(
        design=design.name,
        corner_ids=numbers[order],
        corners=points[order],
        n_marks=len(marks),
        mark_px=side_px,
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


def _missing_halves(gray: Gray, marks: list[Mark]) -> list[Mark]:
    """What a closer look finds beside halves that stand alone."""
    looks = [
        look_for_fellow(gray, tag.corners, side=tag.half[0])
        for tag in pair_halves(marks)[0]
        if tag.half is not None
    ]
    return [Mark(*look) for look in looks if look is not None]


def _sharpness(gray: Gray, cards: list[SeenCard], marks: list[Mark]) -> float:
    for card in cards:
        blur = blur_of_board(gray, card)
        if math.isfinite(blur):
            return blur
    return blur_of_marks(gray, [m.corners for m in marks])
