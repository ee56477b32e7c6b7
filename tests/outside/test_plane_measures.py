"""Widest measure, least width, ring and area against closed forms and scikit-image.

Closed forms: school geometry of triangle, rectangle, ellipse, regular and Reuleaux polygons.
scikit-image: ``regionprops`` (``feret_diameter_max``, ``area``) on filled pictures. OpenCV's
``minEnclosingCircle`` is a second, independent reading of the ring.
"""

import math

import cv2
import numpy as np
import pytest
import skimage.draw
import skimage.measure as skm  # noqa: TID251 - so that the name `measure` stays ours

from measure.planar import area_of, least_width, ring_of, square_to, widest_of


def ellipse(a, b, *, turn=0.0, n=2_000, centre=(0.0, 0.0)):
    angle = np.linspace(0, 2 * np.pi, n, endpoint=False)
    points = np.stack([a * np.cos(angle), b * np.sin(angle)], axis=1)
    c, s = math.cos(turn), math.sin(turn)
    return points @ np.array([[c, s], [-s, c]]) + centre


def regular(n, radius):
    angle = np.arange(n) * 2 * np.pi / n
    return radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def test_rectangle():
    points = np.array([[0, 0], [30, 0], [30, 40], [0, 40.0]])
    assert widest_of(points).length == pytest.approx(50)
    assert least_width(points) == pytest.approx(30)
    assert ring_of(points) == pytest.approx(50)
    assert area_of(points) == pytest.approx(1200)


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.2])
def test_ellipse(turn):
    points = ellipse(60, 35, turn=turn, centre=(400, 300))
    assert widest_of(points).length == pytest.approx(120, rel=1e-6)
    assert least_width(points) == pytest.approx(70, rel=1e-6)
    assert ring_of(points) == pytest.approx(120, rel=1e-6)
    assert area_of(points) == pytest.approx(math.pi * 60 * 35, rel=1e-5)
    axis = np.array([math.cos(turn), math.sin(turn)])
    assert square_to(points, axis) == pytest.approx(70, rel=1e-6)


@pytest.mark.parametrize("sides", [3, 5, 7, 9])
def test_regular_polygons_of_odd_sides(sides):
    # Widest: between a corner and one of the two opposite; ring: through all corners.
    points = regular(sides, 50.0)
    widest = 2 * 50 * math.sin(math.pi * (sides // 2) / sides)
    height = 50 * (1 + math.cos(math.pi / sides))
    assert widest_of(points).length == pytest.approx(widest)
    assert least_width(points) == pytest.approx(height)
    assert ring_of(points) == pytest.approx(100)
    assert area_of(points) == pytest.approx(sides / 2 * 50**2 * math.sin(2 * math.pi / sides))


def test_reuleaux_triangle_is_as_wide_every_way_but_needs_a_larger_ring():
    corners = regular(3, 100 / math.sqrt(3))
    arcs = []
    for i in range(3):
        centre, start, end = corners[i], corners[(i + 1) % 3], corners[(i + 2) % 3]
        a, b = (math.atan2(*(p - centre)[::-1]) for p in (start, end))
        angle = np.linspace(a, a + (b - a + math.pi) % (2 * math.pi) - math.pi, 600)
        arcs.append(centre + 100 * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    points = np.concatenate(arcs)
    assert widest_of(points).length == pytest.approx(100, rel=1e-6)
    assert least_width(points) == pytest.approx(100, rel=1e-6)
    assert ring_of(points) == pytest.approx(200 / math.sqrt(3), rel=1e-6)
    area = (math.pi - math.sqrt(3)) / 2 * 100**2
    assert area_of(points) == pytest.approx(area, rel=1e-5)


def lumpy(rng, *, size=500):
    """An outline with bays, as of a clump, in pixels."""
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    radius = np.full_like(angle, 0.30 * size)
    for k in range(2, 9):
        radius += size * rng.normal(0, 0.05 / k) * np.cos(k * angle + rng.uniform(0, 6.28))
    return np.stack([size / 2 + radius * np.cos(angle), size / 2 + radius * np.sin(angle)], axis=1)


@pytest.mark.parametrize("seed", range(6))
def test_same_as_scikit_image_on_lumpy_outlines(seed):
    points = lumpy(np.random.default_rng(seed))
    filled = skimage.draw.polygon2mask((500, 500), points[:, ::-1])
    (region,) = skm.regionprops(filled.astype(np.uint8))
    # Their Feret diameter is taken round the pixels' outer edges: up to a pixel longer.
    assert widest_of(points).length == pytest.approx(region.feret_diameter_max, abs=1.5)
    assert area_of(points) == pytest.approx(region.area, rel=0.005)


@pytest.mark.parametrize("seed", range(6))
def test_ring_is_opencvs_enclosing_circle(seed):
    points = lumpy(np.random.default_rng(100 + seed))
    _, radius = cv2.minEnclosingCircle(points.astype(np.float32).reshape(-1, 1, 2))
    # OpenCV works in single precision and adds a little so that all points are inside.
    assert ring_of(points) == pytest.approx(2 * radius, rel=1e-4)


@pytest.mark.parametrize("seed", range(4))
def test_orders_that_hold_for_every_outline(seed):
    points = lumpy(np.random.default_rng(200 + seed))
    widest, ring, width = widest_of(points).length, ring_of(points), least_width(points)
    # Jung's theorem in the plane: the ring is at most 2 / sqrt(3) of the widest measure.
    assert width <= widest <= ring <= widest * 2 / math.sqrt(3) + 1e-9
    assert area_of(points) <= math.pi / 4 * widest**2
