"""Where the camera stood: the card's plane, the camera's distance and tilt, and how sure it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.bend import fit_bend
from measure.card.board import board_points_mm
from measure.card.designs import design_named
from measure.focal import focal_of
from measure.pose_fit import axis_px, fit_pose, rotation_of, unbarrelled
from measure.quality import Flag, MeasureError, Refusal
from measure.results import CardReading, MarksSeen, Optics, Points, Printing, SeenCard
from measure.uncertainty import independent_parts

__all__ = ["Pose", "choose_card", "find_pose"]


Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pose:
    """The card in front of a pinhole camera.

    Attributes
    ----------
    state : (7,) or (9,) float array
        Rotation vector (rad), translation (mm) from card to camera axes, log of the focal length
        in pixels; in a cropped picture also how far the optical axis lies off the picture's middle,
        across and down, in pixels. Card axes: x right, y down, z *into* the card; heights are the
        negative of z.
    covariance : (7, 7) or (9, 9) float array
        Of ``state``.
    centre_px : (2,) float array
        The picture's middle, where the optical axis meets it unless the picture was cropped.
    barrel : float
        One standard uncertainty of the lens's radial distortion: the share by which the picture's
        far corner may be pushed outwards.
    barrel_state : (7,) float array
        The state had the lens that much distortion.
    reading : CardReading
    flags : tuple of Flag
    """

    state: Vector
    covariance: NDArray[np.float64]
    centre_px: Vector
    barrel: float
    barrel_state: Vector
    reading: CardReading
    flags: tuple[Flag, ...] = ()

    def rays(self, pixels: Points, *, state: Vector | None = None) -> tuple[Vector, Vector]:
        """The camera's place (3,) and the direction (N, 3) of each pixel's ray, in card axes.

        In millimetres, with the third axis turned so that heights above the card are positive.
        """
        s = self.state if state is None else state
        turn = rotation_of(s[:3])
        middle = axis_px(s, self.centre_px)
        seen = np.column_stack([(pixels - middle) / math.exp(s[6]), np.ones(len(pixels))])
        flip = np.array([1.0, 1.0, -1.0])
        return -(turn.T @ s[3:6]) * flip, (seen @ turn) * flip

    @property
    def eye_mm(self) -> Vector:
        """(3,) the camera's place in card axes, heights above the card positive."""
        return self.rays(np.zeros((1, 2)))[0]

    def project(self, places_mm: NDArray[np.float64], *, state: Vector | None = None) -> Points:
        """(N, 2) pixels of (N, 3) places: card x and y, and height above the card, in mm."""
        s = self.state if state is None else state
        flip = np.array([1.0, 1.0, -1.0])
        camera = (places_mm * flip) @ rotation_of(s[:3]).T + s[3:6]
        middle = axis_px(s, self.centre_px)
        return cast("Points", camera[:, :2] / camera[:, 2:] * math.exp(s[6]) + middle)

    def on_plane(
        self, pixels: Points, *, height_mm: float = 0.0, state: Vector | None = None
    ) -> Points:
        """(N, 2) card positions in mm where the pixels' rays meet the plane at this height."""
        eye, directions = self.rays(pixels, state=state)
        reach = (height_mm - eye[2]) / directions[:, 2]
        return cast("Points", eye[:2] + reach[:, None] * directions[:, :2])

    def unbarrelled(self, pixels: Points) -> Points:
        """The pixels as a lens without distortion would have shown them, for one sigma of it."""
        return unbarrelled(pixels, axis_px(self.state, self.centre_px), self.barrel)

    def shifts(self) -> list[tuple[str, Vector]]:
        """Changes of ``state`` by one standard uncertainty of each independent cause, named.

        What goes with the focal length is "lens"; what is left of the corners' scatter when it is
        held is "card pose", in six parts (eight with an unknown crop).
        """
        lens = self.covariance[:, 6] / math.sqrt(self.covariance[6, 6])
        rest = self.covariance - np.outer(lens, lens)
        # With the focal length held nothing of it is left; what rounding leaves is no part.
        others = np.delete(np.arange(len(self.state)), 6)
        parts = independent_parts(rest[np.ix_(others, others)])
        return [("lens", lens), *(("card pose", np.insert(part, 6, 0.0)) for part in parts)]

    def px_per_mm(self, *, at_mm: tuple[float, float]) -> float:
        """Scale in the picture at a place on the card, the mean of both directions."""
        x, y = at_mm
        corners = np.array([[x, y, 0.0], [x + 1.0, y, 0.0], [x, y + 1.0, 0.0]])
        a, b, c = self.project(corners)
        return float(math.sqrt(abs(float(np.linalg.det(np.array([b - a, c - a]))))))


def choose_card(marks: MarksSeen) -> SeenCard:
    """The one card to measure by; ``MeasureError`` when there is none, or two, or a strange one."""
    if not marks.cards:
        strange = [m for m in marks.strangers if m >= 300]
        if len(strange) >= 3:
            raise MeasureError(Refusal.CARD_UNKNOWN)
        raise MeasureError(Refusal.NO_CARD)
    if len(marks.cards) > 1:
        raise MeasureError(Refusal.TWO_CARDS)
    return marks.cards[0]


def find_pose(
    marks: MarksSeen,
    *,
    size_px: tuple[int, int],
    optics: Optics,
    printing: Printing,
    min_corners: int = 6,
    small_mark_px: float = 16.0,
    min_square_px: float = 9.0,
    max_tilt_deg: float = 60.0,
    oblique_from_deg: float = 30.0,
    max_blur_mm: float = 1.2,
    blurred_from_mm: float = 0.6,
    max_blur_of_square: float = 0.12,
    max_blur_of_cell: float = 0.3,
    hidden_from_share: float = 0.6,
    bent_chance: float = 0.003,
    bent_from_mm: float = 0.5,
    bent_from_px: float = 0.1,
    corner_sigma_px: float = 0.05,
    flatness_mm: float = 0.05,
    barrel_percent: float = 0.6,
    wide_barrel_percent: float = 2.5,
    crop_evidence: float = 10.0,
) -> Pose:
    """Pose of the one card in the picture; ``MeasureError`` says why there can be none.

    Parameters
    ----------
    marks : MarksSeen
    size_px : (width, height) of the picture
    optics, printing : Optics, Printing
    min_corners : int
        Fewer board corners than this: refused as hidden, or as too far away when the marks read
        have a side of less than ``small_mark_px``, two pixels for each of a mark's eight cells:
        then it is for their size that the others could not be read.
    min_square_px : float
        Smaller squares of the board than this: refused as too far away.
    max_tilt_deg, oblique_from_deg : float
        Angle between the line of sight and the card's normal: refused above, flagged above.
    max_blur_mm, blurred_from_mm : float
        Blur (one sigma) at the card, in mm on the card: refused above, flagged above.
    max_blur_of_square : float
        Blur as a share of a square: refused above, whatever it is in mm.
    max_blur_of_cell : float
        Blur as a share of one of a mark's eight cells: above, marks that are missing are missing
        for the blur, not because something hides them (drawn cards lose half of theirs at 0.4).
    hidden_from_share : float
        Flagged as partly hidden when less than this share of the board's corners was seen.
    bent_chance : float
        Flagged as bent when no more than this share of flat cards look so, see ``fit_bend``, were
        every corner off by itself. In small pictures neighbours are off alike: flat cards of two of
        our 640-pixel pictures came out at 0.001 and 0.006.
    bent_from_mm : float
        And when the board reaches at least this far to both sides of its plane, together: bent by
        less than that a card costs about half a per cent of a size.
    bent_from_px : float
        And when the bend moves a corner by so much, root mean square.
    corner_sigma_px : float
        Least standard error of one board corner in one direction, from blur and noise.
    flatness_mm : float
        What paper that is not quite flat, or stretched by damp, adds to it, on the card.
    barrel_percent : float
        Radial distortion that is left in pictures as cameras write them, one standard
        uncertainty, at the picture's far corner (our judgement).
    wide_barrel_percent : float
        The same for an ultra-wide lens.
    crop_evidence : float
        By how much a crop off the middle must fit the board better (in half chi squared) before a
        picture whose file does not tell is taken for cropped.
    """
    card = choose_card(marks)
    design = design_named(card.design)
    count = len(card.corner_ids)
    unread_for_blur = marks.sharpness_px > max_blur_of_cell * card.mark_px / 8.0
    if count < min_corners or _on_one_line(board_points_mm(design, card.corner_ids)):
        if count < min_corners and card.mark_px < small_mark_px:
            raise MeasureError(Refusal.CARD_FAR_AWAY)
        if count < min_corners and unread_for_blur:
            raise MeasureError(Refusal.CARD_BLURRED)
        raise MeasureError(
            Refusal.CARD_HIDDEN, f"(Read {count} of the board's {design.n_corners} points.)"
        )
    places = board_points_mm(design, card.corner_ids) * _stretch(printing)
    centre = np.array([(size_px[0] - 1) / 2.0, (size_px[1] - 1) / 2.0])
    focal = focal_of(optics, size_px)

    plane, _ = cv2.findHomography(places, card.corners, 0)
    square_px = _square_px(np.asarray(plane, np.float64), places.mean(axis=0), design.square_mm)
    if square_px < min_square_px:
        raise MeasureError(Refusal.CARD_FAR_AWAY)
    blur_px = marks.sharpness_px
    blur_mm = blur_px / square_px * design.square_mm
    if blur_mm > max_blur_mm or blur_px > max_blur_of_square * square_px:
        raise MeasureError(Refusal.CARD_BLURRED)

    sigma_px = math.hypot(corner_sigma_px, flatness_mm * square_px / design.square_mm)
    fit = fit_pose(places, card.corners, centre, focal, sigma_px=sigma_px)
    if focal.if_cropped is not None:
        cropped = fit_pose(places, card.corners, centre, focal.if_cropped, sigma_px=sigma_px)
        if fit.cost - cropped.cost > crop_evidence:
            fit, focal = cropped, focal.if_cropped
    state, residual = fit.state, fit.rms_px
    barrel = (wide_barrel_percent if Flag.ULTRA_WIDE in focal.flags else barrel_percent) / 100.0
    straight = unbarrelled(card.corners, axis_px(state, centre), barrel)
    barrel_state = fit_pose(places, straight, centre, focal, sigma_px=sigma_px).state
    eye = -(rotation_of(state[:3]).T @ state[3:6])
    middle = np.append(places.mean(axis=0), 0.0)
    sight = eye - middle
    distance = float(np.linalg.norm(sight))
    tilt = math.degrees(math.acos(min(1.0, abs(float(sight[2])) / distance)))
    if tilt > max_tilt_deg:
        raise MeasureError(Refusal.CARD_OBLIQUE)

    flags = list(focal.flags)
    if tilt > oblique_from_deg:
        flags.append(Flag.OBLIQUE)
    if blur_mm > blurred_from_mm:
        flags.append(Flag.BLURRED)
    if count < hidden_from_share * design.n_corners and not unread_for_blur:
        flags.append(Flag.CARD_PARTLY_HIDDEN)
    bend = fit_bend(
        places, card.corners, design=design, state=state, centre=centre, focal=focal, barrel=barrel
    )
    if bend.chance <= bent_chance and bend.sag_mm >= bent_from_mm and bend.moved_px >= bent_from_px:
        flags.append(Flag.CARD_BENT)
    reading = CardReading(
        design=design.name,
        corners=count,
        residual_px=residual,
        tilt_deg=tilt,
        distance_mm=distance,
    )
    return Pose(
        state=state,
        covariance=fit.covariance,
        centre_px=centre,
        barrel=barrel,
        barrel_state=barrel_state,
        reading=reading,
        flags=tuple(flags),
    )


def _stretch(printing: Printing) -> Vector:
    """True size of the printed card over its nominal size, across and along."""
    for name, reading in (("across", printing.across_mm), ("along", printing.along_mm)):
        if not 80.0 <= reading <= 120.0:
            msg = f"the 100 mm bar {name} the card can't read {reading} mm: lay the ruler on again"
            raise ValueError(msg)
    return np.array([printing.across_mm, printing.along_mm]) / 100.0


def _on_one_line(points: Points) -> bool:
    if len(points) < 3:
        return True
    spread = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    return bool(spread[1] < 1e-6 * max(spread[0], 1.0))


def _square_px(plane: NDArray[np.float64], at: Vector, square_mm: float) -> float:
    corners = (at + square_mm * np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])).reshape(-1, 1, 2)
    a, b, c = np.asarray(cv2.perspectiveTransform(corners, plane), np.float64).reshape(3, 2)
    return float(min(np.linalg.norm(b - a), np.linalg.norm(c - a)))
