"""Shapes of single seeds in closed form, and groups shared out among seeds."""

import math

import cv2
import numpy as np
import pytest

from measure.outline.seeds_choosing import SeedShape, learn_shape, part_of, share_out
from measure.outline.seeds_cutting import cut_everywhere
from measure.outline.seeds_doubt import thickness

Ellipse = tuple[float, float, float]  # x, y, turned degrees


def drawn(
    *ellipses: Ellipse, size: tuple[int, int] = (160, 160), axes: tuple[int, int] = (25, 8)
) -> np.ndarray:
    mask = np.zeros(size, np.uint8)
    for x, y, turned in ellipses:
        cv2.ellipse(mask, (round(x), round(y)), axes, turned, 0, 360, 1, -1)
    return mask


def test_the_axes_of_an_ellipse_are_its_own() -> None:
    y, x = np.mgrid[:200, :200]
    turn = math.radians(30.0)
    u = (x - 100) * math.cos(turn) + (y - 100) * math.sin(turn)
    v = -(x - 100) * math.sin(turn) + (y - 100) * math.cos(turn)
    part = part_of(*np.nonzero((u / 60.0) ** 2 + (v / 20.0) ** 2 <= 1.0))
    # Second moments of an ellipse: a quarter of its half axes, squared.
    assert part.axes() == pytest.approx((120.0, 40.0), rel=0.005)
    assert part.area == pytest.approx(math.pi * 60.0 * 20.0, rel=0.005)
    assert part.fullness() == pytest.approx(1.0, abs=0.02)


def test_the_fullness_of_rectangle_and_angle() -> None:
    rectangle = np.ones((20, 40), np.uint8)
    # Pick's theorem: exact for polygons through pixels.
    assert part_of(*np.nonzero(rectangle)).fullness() == pytest.approx(1.0)
    angle = np.zeros((41, 41), np.uint8)
    angle[:, :3] = 1
    angle[-3:] = 1
    # The hull adds the triangle between the two arms.
    assert part_of(*np.nonzero(angle)).fullness() < 0.4


@pytest.fixture
def shape() -> SeedShape:
    rng = np.random.default_rng(4)
    singles = []
    for _ in range(40):
        axes = (int(rng.integers(22, 29)), int(rng.integers(7, 10)))
        mask = drawn((80.0, 80.0, float(rng.uniform(0, 180))), axes=axes)
        singles.append(part_of(*np.nonzero(mask)))
    learnt = learn_shape(singles)
    assert learnt is not None
    return learnt


def test_the_shape_learnt_is_that_of_the_seeds_however_much_dust_there_is(
    shape: SeedShape,
) -> None:
    assert shape.length == pytest.approx(51.0, rel=0.06)
    assert shape.width == pytest.approx(17.0, rel=0.08)
    seeds = [part_of(*np.nonzero(drawn((80.0, 80.0, 9.0 * i)))) for i in range(8)]
    dust = [part_of(*np.nonzero(np.ones((4, 5))))] * 60
    learnt = learn_shape([*dust, *seeds])
    assert learnt is not None
    assert learnt.area == pytest.approx(seeds[0].area, rel=0.1)


@pytest.mark.parametrize(
    ("ellipses", "number"),
    [
        (((80, 80, 0),), 1),
        # End to end, crosswise end to side, side by side, and three in a ring.
        (((45, 80, 0), (95, 80, 10)), 2),
        (((80, 60, 0), (80, 92, 90)), 2),
        (((75, 70, 0), (85, 85, 8)), 2),
        (((60, 60, 60), (85, 80, 0), (108, 58, 120)), 3),
        (((50, 60, 0), (50, 75, 5), (98, 70, 40), (110, 110, 100)), 4),
    ],
)
def test_touching_seeds_are_shared_out(
    shape: SeedShape, ellipses: tuple[Ellipse, ...], number: int
) -> None:
    mask = drawn(*ellipses)
    pieces = cut_everywhere(mask, width_px=shape.width, length_px=shape.length)
    assert pieces.count >= number
    assert np.array_equal(pieces.labels > 0, mask > 0)
    shares = share_out([pieces], shape)[0]
    assert len(shares) == number
    for share in shares:
        middle = share.part.sums[1:3] / share.part.area
        assert min(math.dist(middle, e[:2]) for e in ellipses) < 5.0


def test_every_piece_belongs_to_one_seed_at_most(shape: SeedShape) -> None:
    mask = drawn((50, 60, 0), (50, 75, 5), (98, 70, 40))
    pieces = cut_everywhere(mask, width_px=shape.width, length_px=shape.length)
    used = [i for share in share_out([pieces], shape)[0] for i in share.pieces]
    assert len(used) == len(set(used))


def test_seeds_side_by_side_are_thin_and_a_heap_is_thick(shape: SeedShape) -> None:
    beside = drawn((75, 70, 0), (85, 85, 8), (80, 100, 0))
    heap = drawn(*[(60 + 9 * (i % 5), 60 + 9 * (i // 5), 29.0 * i) for i in range(30)])

    def thick(mask: np.ndarray) -> float:
        pieces = cut_everywhere(mask, width_px=shape.width, length_px=shape.length)
        return thickness(pieces, shape)

    assert thick(beside) < 0.3
    assert thick(heap) > 0.5
