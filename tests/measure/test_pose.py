"""Where the camera stood, against scenes that know it, and what is refused."""

import math

import numpy as np
import pytest

from measure.card.designs import DESIGNS, CardDesign, design_named
from measure.card.finding import read_marks
from measure.focal import focal_of
from measure.pose import Pose, find_pose
from measure.quality import Flag, MeasureError
from measure.results import MarksSeen, Optics, Printing
from measure.scenes import Camera, Canvas, Patch, card_raster, look_at


def scene(
    design: CardDesign, *, blur_px: float = 0.7, hide: float = 0.0, **view: float
) -> tuple[Camera, MarksSeen]:
    settings = {"distance_mm": 600.0, "tilt_deg": 12.0} | view
    camera = look_at((design.width_mm / 2, design.height_mm / 2, 0.0), **settings)  # type: ignore[arg-type]
    canvas = Canvas(camera=camera)
    raster = card_raster(design)
    if hide:
        raster[:, : round(hide * raster.shape[1])] = 90
    canvas.lay(Patch(raster=raster, corner_mm=(0.0, 0.0, 0.0), right=(1, 0, 0), down=(0, 1, 0)))
    return camera, read_marks(canvas.finish(blur_px=blur_px))


def pose_of(camera: Camera, marks: MarksSeen, **optics: float) -> Pose:
    return find_pose(
        marks,
        size_px=camera.size_px,
        optics=Optics(**({"focal35_mm": camera.focal35_mm} | optics)),  # type: ignore[arg-type]
        printing=Printing(),
    )


@pytest.mark.parametrize("design", DESIGNS, ids=lambda d: d.name)
@pytest.mark.parametrize("tilt_deg", [2.0, 20.0, 45.0])
def test_camera_is_found_where_it_stands(design: CardDesign, tilt_deg: float) -> None:
    camera, marks = scene(design, tilt_deg=tilt_deg, tilt_towards_deg=70.0, turned_deg=15.0)
    pose = pose_of(camera, marks)
    eye, _ = pose.rays(np.zeros((1, 2)))
    assert np.linalg.norm(eye - camera.eye_mm) < 0.035 * 600.0
    board = [
        design.board_left_mm + design.squares_x * design.square_mm / 2,
        design.board_top_mm + design.squares_y * design.square_mm / 2,
        0.0,
    ]
    away = float(np.linalg.norm(camera.eye_mm - board))
    assert pose.reading.distance_mm == pytest.approx(away, rel=0.04)
    assert pose.reading.residual_px < 0.1


@pytest.mark.parametrize("tilt_deg", [0.0, 15.0, 40.0])
def test_lengths_on_the_card_come_back(tilt_deg: float) -> None:
    camera, marks = scene(design_named("bench-1"), tilt_deg=tilt_deg, tilt_towards_deg=25.0)
    pose = pose_of(camera, marks)
    ends = np.array([[-100.0, 60.0, 0.0], [330.0, 150.0, 0.0]])
    found = pose.on_plane(camera.project(ends))
    length = float(np.linalg.norm(found[1] - found[0]))
    assert length == pytest.approx(math.hypot(430.0, 90.0), rel=1e-3)


def test_projecting_and_casting_back_agree() -> None:
    camera, marks = scene(design_named("bench-1"))
    pose = pose_of(camera, marks)
    places = np.array([[10.0, 20.0, 30.0], [200.0, 90.0, 30.0]])
    back = pose.on_plane(pose.project(places), height_mm=30.0)
    assert np.allclose(back, places[:, :2], atol=1e-8)


def test_a_ruler_reading_stretches_the_scale() -> None:
    camera, marks = scene(design_named("bench-1"), tilt_deg=5.0)
    ends = camera.project(np.array([[50.0, 50.0, 0.0], [250.0, 50.0, 0.0]]))
    lengths = []
    for across in (100.0, 97.0):
        pose = find_pose(
            marks,
            size_px=camera.size_px,
            optics=Optics(focal35_mm=26.0),
            printing=Printing(across_mm=across, along_mm=across, u_percent=0.15),
        )
        a, b = pose.on_plane(ends)
        lengths.append(float(np.linalg.norm(b - a)))
    assert lengths[1] == pytest.approx(0.97 * lengths[0], rel=1e-4)


def test_an_impossible_ruler_reading_is_told() -> None:
    camera, marks = scene(design_named("bench-1"))
    with pytest.raises(ValueError, match="bar across the card can't read 10"):
        find_pose(marks, size_px=camera.size_px, optics=Optics(), printing=Printing(across_mm=10.0))


def test_focal_length_by_the_diagonal() -> None:
    # facts: f_px = f35 / 43.27 * diagonal; a 3:2 picture of 3600 x 2400 has 100 px a millimetre.
    focal = focal_of(Optics(focal35_mm=35.0), (3600, 2400))
    assert focal.px == pytest.approx(3500.0)
    assert focal.u_relative == pytest.approx(0.04)
    assert focal.flags == ()


@pytest.mark.parametrize(
    ("optics", "flag", "least_u"),
    [
        (Optics(), Flag.LENS_UNKNOWN, 0.2),
        (Optics(focal35_mm=0.0), Flag.LENS_UNKNOWN, 0.2),
        (Optics(focal35_mm=26.0, exif_size=(4000, 3000)), Flag.SHRUNK, 0.06),
        (Optics(focal35_mm=26.0, exif_size=(3000, 4000)), Flag.SHRUNK, 0.06),
        (Optics(focal35_mm=26.0, exif_size=(3000, 3000)), Flag.CROPPED, 0.1),
        (Optics(focal35_mm=26.0, exif_size=(1200, 900)), Flag.CROPPED, 0.04),
        (Optics(focal35_mm=26.0, digital_zoom=2.0), Flag.CROPPED, 0.1),
        (Optics(focal35_mm=13.0), Flag.ULTRA_WIDE, 0.04),
    ],
)
def test_a_doubtful_lens_is_wider_and_flagged(optics: Optics, flag: Flag, least_u: float) -> None:
    focal = focal_of(optics, (1600, 1200))
    assert flag in focal.flags
    assert focal.u_relative >= least_u


def test_a_picture_turned_upright_is_not_a_crop() -> None:
    assert focal_of(Optics(focal35_mm=26.0, exif_size=(1600, 1200)), (1200, 1600)).flags == ()


def test_a_few_pixels_trimmed_are_no_crop() -> None:
    assert focal_of(Optics(focal35_mm=26.0, exif_size=(4032, 3024)), (4000, 3000)).flags == ()


@pytest.mark.parametrize(
    ("trouble", "sentence"),
    [
        ({"distance_mm": 6000.0, "focal35_mm": 40.0}, "No scale card|too small"),
        ({"tilt_deg": 68.0, "distance_mm": 400.0}, "too much from the side"),
        ({"blur_px": 5.5, "distance_mm": 500.0}, "too blurred|No scale card"),
        ({"hide": 0.55}, "chequered board is hidden"),
    ],
)
def test_refused_with_a_sentence(trouble: dict[str, float], sentence: str) -> None:
    camera, marks = scene(design_named("bench-1"), **trouble)
    with pytest.raises(MeasureError, match=sentence):
        pose_of(camera, marks)


def test_no_card_and_a_card_of_a_later_version() -> None:
    with pytest.raises(MeasureError, match="No scale card"):
        find_pose(MarksSeen(), size_px=(800, 600), optics=Optics(), printing=Printing())
    later = MarksSeen(strangers=(400, 401, 402, 403))
    with pytest.raises(MeasureError, match="does not know"):
        find_pose(later, size_px=(800, 600), optics=Optics(), printing=Printing())


def test_upside_down_is_all_right() -> None:
    camera, marks = scene(design_named("pocket-1"), turned_deg=180.0)
    assert pose_of(camera, marks).flags == ()
