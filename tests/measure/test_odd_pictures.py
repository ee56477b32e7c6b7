"""Cropped, zoomed, shrunk, ultra-wide and bent: told apart, and the size still within its ±.

Corners are put where a camera would see them, so that only the geometry is tested.
"""

import itertools

import numpy as np
import pytest

from measure.bloom import size_bloom
from measure.card.board import board_points_mm
from measure.clump import size_clump
from measure.pose import find_pose
from measure.quality import Flag
from measure.results import MarksSeen, Optics, Outline, Printing, SeenCard
from measure.staging import stage_bloom, stage_clump
from tests.measure.troubled import bent

READ = Printing(u_percent=0.15)
WHOLE = (0, 0, 1600, 1200)
VIEWS = [(2.0, 1), (8.0, 2), (15.0, 3), (22.0, 4), (12.0, 5)]


def sized(
    of,
    *,
    tilt_deg,
    seed,
    box=WHOLE,
    shrink=1.0,
    optics=None,
    sag_mm=0.0,
    across=True,
    corner_px=0.1,
    **camera,
):
    """Flags, misfit (mm) and (measured - true) / u of a subject whose outline is exact.

    ``box`` is what was cut out of the picture, ``shrink`` what it was then shrunk by, ``sag_mm``
    how high the card's middle stands above its ends.
    """
    stage = stage_bloom if of == "bloom" else stage_clump
    first = {"form": "decorative", "widest_mm": 130.0} if of == "bloom" else {"spread_mm": 230.0}
    scene = stage(**first, seed=seed, tilt_deg=tilt_deg, tilt_towards_deg=37.0 * seed, **camera)
    design = scene.design
    places = bent(
        board_points_mm(design, np.arange(design.n_corners)), design, sag_mm=sag_mm, across=across
    )

    def in_cut(pixels):
        return (pixels - np.array(box[:2]) + 0.5) * shrink - 0.5

    rng = np.random.default_rng(seed)
    seen = in_cut(scene.camera.project(places)) + rng.normal(0.0, corner_px, (len(places), 2))
    card = SeenCard(
        design=design.name, corner_ids=np.arange(len(seen)), corners=seen, n_marks=len(design.marks)
    )
    pose = find_pose(
        MarksSeen(cards=(card,), sharpness_px=0.7),
        size_px=(round((box[2] - box[0]) * shrink), round((box[3] - box[1]) * shrink)),
        optics=scene.optics if optics is None else optics,
        printing=READ,
    )
    outline = Outline(points=in_cut(scene.outline()), confidence=1.0, edge_sigma_px=0.3)
    if of == "bloom":
        made = size_bloom(outline, pose=pose, form="decorative", printing=READ)
        size, true = made.sizes["widest_mm"], scene.bloom.widest_mm
    else:
        made = size_clump(outline, pose=pose, printing=READ)
        size, true = made.sizes["spread_mm"], scene.clump.spread_mm
    misfit_mm = pose.reading.residual_px / pose.px_per_mm(at_mm=(100.0, 150.0))
    return set(made.flags), misfit_mm, (size.value - true) / size.u, size.value / true - 1.0


CLAIMS = Optics(focal35_mm=26.0, exif_size=(1600, 1200))


@pytest.mark.parametrize("of", ["bloom", "clump"])
@pytest.mark.parametrize(
    ("box", "shrink", "optics", "flag"),
    [
        ((480, 200, 1600, 1200), 1.0, CLAIMS, Flag.CROPPED),
        ((0, 150, 1150, 1200), 0.6, CLAIMS, Flag.CROPPED),
        (WHOLE, 0.5, CLAIMS, Flag.SHRUNK),
        (WHOLE, 1.0, Optics(), Flag.LENS_UNKNOWN),
        ((400, 300, 1600, 1200), 1.0, Optics(), Flag.LENS_UNKNOWN),
        ((320, 240, 1280, 960), 1.0, Optics(focal35_mm=26.0, digital_zoom=5 / 3), Flag.CROPPED),
        ((320, 240, 1280, 960), 1.0, Optics(focal35_mm=43.3, digital_zoom=5 / 3), Flag.CROPPED),
    ],
)
def test_the_size_is_within_its_uncertainty(of, box, shrink, optics, flag):
    pulls = []
    for tilt_deg, seed in VIEWS[:4] if of == "bloom" else VIEWS[1:3]:
        flags, _, pull, _ = sized(
            of, tilt_deg=tilt_deg, seed=seed, box=box, shrink=shrink, optics=optics
        )
        assert flag in flags
        pulls.append(pull)
    # Two to four of a normal distribution: all within 3, most within 2.
    assert max(np.abs(pulls)) < 3.0
    assert np.median(np.abs(pulls)) < 1.5


@pytest.mark.parametrize("tilt_deg", [8.0, 15.0, 22.0])
def test_a_crop_that_kept_the_shape_is_told_from_a_shrunk_picture_by_the_board(tilt_deg):
    box = (480, 360, 1600, 1200)
    for of in ("bloom", "clump"):
        told = {
            name: sized(of, tilt_deg=tilt_deg, seed=2, box=part, shrink=by, optics=CLAIMS)[0]
            for name, part, by in (("cropped", box, 1.0), ("shrunk", WHOLE, 0.7))
        }
        assert Flag.SHRUNK in told["shrunk"]
        assert Flag.CROPPED not in told["shrunk"]
        assert {Flag.CROPPED, Flag.SHRUNK} & told["cropped"]
        if of == "bloom":
            assert Flag.CROPPED in told["cropped"]
            assert Flag.SHRUNK not in told["cropped"]


def test_a_whole_picture_carries_none_of_these_flags():
    for of, (tilt_deg, seed) in itertools.product(("bloom", "clump"), VIEWS[:3]):
        flags, misfit_mm, _, _ = sized(of, tilt_deg=tilt_deg, seed=seed, optics=CLAIMS)
        assert flags == set()
        assert misfit_mm < 0.1


@pytest.mark.parametrize("distortion", [-0.025, 0.025])
def test_an_ultra_wide_lens_is_flagged_and_its_distortion_is_in_the_uncertainty(distortion):
    for of, distance_mm in (("bloom", 240.0), ("clump", 390.0)):
        view = {"focal35_mm": 13.0, "distance_mm": distance_mm}
        for tilt_deg, seed in VIEWS[1:2]:
            straight = sized(of, tilt_deg=tilt_deg, seed=seed, **view)
            pushed = sized(of, tilt_deg=tilt_deg, seed=seed, distortion=distortion, **view)
            assert Flag.ULTRA_WIDE in pushed[0]
            assert abs(pushed[2] - straight[2]) < 1.0


def test_a_bent_card_is_flagged_before_it_costs_much():
    for of, sag_mm in (("bloom", 8.0), ("clump", 8.0)):
        shares = []
        for tilt_deg, seed in VIEWS[:3]:
            flags, misfit_mm, _, error = sized(of, tilt_deg=tilt_deg, seed=seed, sag_mm=sag_mm)
            _, flat_mm, _, flat_error = sized(of, tilt_deg=tilt_deg, seed=seed)
            assert Flag.CARD_BENT in flags, (of, seed, misfit_mm)
            assert misfit_mm > 2.0 * flat_mm
            shares.append(abs(error - flat_error))
        assert max(shares) < 0.035
    # A card that gives a millimetre is as good as flat.
    for of in ("bloom", "clump"):
        assert Flag.CARD_BENT not in sized(of, tilt_deg=8.0, seed=2, sag_mm=1.0)[0]
