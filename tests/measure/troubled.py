"""Drawn pictures with one thing wrong in each: what a grower's photo may have."""

from __future__ import annotations

import dataclasses
import functools

import cv2
import numpy as np

from measure import measure_bloom, measure_clump, read_marks
from measure.placing import pose_in
from measure.results import Printing
from measure.scenes import look_at
from measure.staging import stage_bloom, stage_clump
from tests.measure.relit import OVERCAST, drawn_bloom, relit

__all__ = [
    "READ",
    "bent",
    "bent_card",
    "bloom_flags",
    "bloom_picture",
    "bloom_scene",
    "clump_flags",
    "clump_picture",
    "clump_scene",
    "covered_board",
    "half_in_shade",
    "moved_clump",
    "on_board",
    "pose_flags",
    "second_bloom",
    "soiled_card",
]

READ = Printing(u_percent=0.15)
ORANGE = (228, 120, 50)


@functools.cache
def bloom_scene():
    return stage_bloom("decorative", widest_mm=125.0, seed=3, size_px=(1200, 900))


@functools.cache
def clump_scene():
    return stage_clump(spread_mm=230.0, seed=1)


@functools.cache
def _drawn_bloom():
    return drawn_bloom(bloom_scene(), ORANGE)


def bloom_picture(light=OVERCAST, **trouble):
    """The bloom before its card in this light; ``trouble`` as for ``relit``."""
    return relit(_drawn_bloom(), light, bloom_px=bloom_scene().outline(), **trouble)


@functools.cache
def clump_picture(blur_px=0.7):
    return clump_scene().canvas(tag=12).finish(blur_px=blur_px)


def bloom_flags(picture, *, form="decorative", printing=READ, optics=None):
    made = measure_bloom(
        picture,
        marks=read_marks(picture),
        optics=optics or bloom_scene().optics,
        form=form,
        printing=printing,
    )
    return set(made.flags)


def clump_flags(picture, *, scene=None, printing=READ):
    optics = (scene or clump_scene()).optics
    made = measure_clump(picture, marks=read_marks(picture), optics=optics, printing=printing)
    return set(made.flags)


def pose_flags(picture, *, optics=None):
    """Flags of the card and the lens alone."""
    marks = read_marks(picture)
    return set(pose_in(picture, marks, optics=optics or clump_scene().optics, printing=READ).flags)


def on_board(scene, across, down):
    """The pixel at a share of the board across and down."""
    design = scene.design
    x = design.board_left_mm + across * design.squares_x * design.square_mm
    y = design.board_top_mm + down * design.squares_y * design.square_mm
    return scene.camera.project(np.array([[x, y, 0.0]]))[0]


def half_in_shade(outline, *, angle=0.4, off=0.0):
    """A polygon that covers all beyond a line across the outline, ``off`` radii off its middle."""
    middle, radius = outline.mean(axis=0), np.ptp(outline, axis=0).max() / 2.0
    out = np.array([np.cos(angle), np.sin(angle)])
    along = np.array([-out[1], out[0]])
    at = middle + off * radius * out
    near = [at + 3000 * along, at - 3000 * along]
    return np.array([*near, near[1] + 3000 * out, near[0] + 3000 * out])


def covered_board(scene, picture, *, share):
    """A leaf over so much of the board, from its left."""
    design = scene.design
    left, top = design.board_left_mm - 2.0, design.board_top_mm - 2.0
    right = left + share * design.squares_x * design.square_mm
    bottom = top + design.squares_y * design.square_mm + 4.0
    leaf = np.array([[left, top, 0], [right, top, 0], [right, bottom, 0], [left, bottom, 0]])
    covered = picture.copy()
    cv2.fillPoly(covered, [np.round(scene.camera.project(leaf)).astype(np.int32)], (60, 96, 40))
    return covered


def bent(places, design, *, sag_mm, across=True):
    """(N, 3) where places on a card come to lie that is bent into an arc, its length kept."""
    axis = 0 if across else 1
    length = (design.width_mm, design.height_mm)[axis]
    along = np.linspace(0.0, length, 400)
    height = sag_mm * (1.0 - (2.0 * along / length - 1.0) ** 2)
    steps = np.sqrt(np.diff(along) ** 2 - np.diff(height) ** 2)
    there = np.concatenate([[0.0], np.cumsum(steps)])
    there += (length - there[-1]) / 2.0
    moved = np.column_stack([places, np.interp(places[:, axis], along, height)])
    moved[:, axis] = np.interp(places[:, axis], along, there)
    return moved


def bent_card(scene, picture, *, sag_mm):
    """The picture with the card bent across, its middle nearer than its ends.

    Each pixel is looked up where the flat card has what the bent one shows there, found by putting
    the difference of the two projections right a few times.
    """
    design, camera = scene.design, scene.camera
    rim = np.array([[0.0, 0], [design.width_mm, 0], [design.width_mm, design.height_mm]])
    rim = np.vstack([rim, [[0.0, design.height_mm]]])

    def flat(places):
        return camera.project(np.column_stack([places, np.zeros(len(places))]))

    seen = np.vstack([flat(rim), camera.project(bent(rim, design, sag_mm=sag_mm))])
    low = np.floor(seen.min(axis=0)).astype(int)
    high = np.ceil(seen.max(axis=0)).astype(int)
    columns, rows = np.meshgrid(np.arange(low[0], high[0]), np.arange(low[1], high[1]))
    wanted = np.column_stack([columns.ravel(), rows.ravel()]).astype(np.float64)
    to_card, _ = cv2.findHomography(flat(rim), rim, 0)
    look = wanted.copy()
    for _ in range(4):
        places = cv2.perspectiveTransform(look.reshape(-1, 1, 2), to_card).reshape(-1, 2)
        look += wanted - camera.project(bent(places, design, sag_mm=sag_mm))
    places = cv2.perspectiveTransform(look.reshape(-1, 1, 2), to_card).reshape(-1, 2)
    where = flat(places).astype(np.float32).reshape(*columns.shape, 2)
    out = picture.copy()
    out[low[1] : high[1], low[0] : high[0]] = cv2.remap(
        picture, where[..., 0], where[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
    )
    return out


def moved_clump(*, by_mm, distance_mm=None):
    """The scene with its clump moved to the right, or onto the card where negative."""
    scene = clump_scene()
    moved = dataclasses.replace(scene, clump=scene.clump.moved(to_mm=(by_mm, 0.0, 0.0)))
    if distance_mm is None:
        return moved
    low, high = 0.0, moved.clump.points[:, 0].max()
    camera = look_at(((low + high) / 2.0, 100.0, 0.0), distance_mm=distance_mm, tilt_deg=6.0)
    return dataclasses.replace(moved, camera=camera)


@functools.cache
def second_bloom():
    """Two blooms of one colour, one before the card and one beside it; their optics."""
    scene = stage_bloom(
        "decorative", widest_mm=110.0, seed=3, distance_mm=620.0, size_px=(1200, 900)
    )
    canvas = scene.canvas(colour=ORANGE)
    for petal in scene.bloom.moved(to_mm=(190.0, 10.0, 0.0)).petals:
        canvas.fill(petal, ORANGE)
    return canvas.finish(), scene.optics


def soiled_card(scene, picture, *, radius_mm, middle_mm=(180.0, 178.0)):
    """A round crumb of brown soil, on bare paper of the bench card unless said otherwise."""
    turn = np.linspace(0.0, 2.0 * np.pi, 40)
    round_about = np.array(middle_mm) + radius_mm * np.column_stack([np.cos(turn), np.sin(turn)])
    places = np.column_stack([round_about, np.zeros(len(turn))])
    soiled = picture.copy()
    cv2.fillPoly(soiled, [np.round(scene.camera.project(places)).astype(np.int32)], (92, 66, 42))
    return soiled
