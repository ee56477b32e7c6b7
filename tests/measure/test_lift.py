"""The dome against closed forms, and what holds for every outline."""

import math

import numpy as np
import pytest

from measure.lift import DOMES, dome_of, fit_dome, on_level
from measure.planar import hull_of, widest_of
from measure.results import FORMS
from measure.scenes import Camera, look_at


def rays_to(camera: Camera, places: np.ndarray) -> np.ndarray:
    """Rays to the outline of (N, 3) places, from the drawn camera's own axes."""
    seen = camera.project(places)
    seen = seen[hull_of(seen)]
    width, height = camera.size_px
    flat = (seen - [(width - 1) / 2, (height - 1) / 2]) / camera.focal_px
    return np.column_stack([flat, np.ones(len(flat))]) @ camera.axes


def spheroid(radius: float, half_height: float, centre: tuple[float, float, float]) -> np.ndarray:
    polar, turn = np.meshgrid(np.linspace(0, math.pi, 361), np.linspace(0, 2 * math.pi, 720))
    p, t = polar.ravel(), turn.ravel()
    shell = np.column_stack(
        [
            radius * np.sin(p) * np.cos(t),
            radius * np.sin(p) * np.sin(t),
            half_height * np.cos(p),
        ]
    )
    return shell + np.asarray(centre)


@pytest.mark.parametrize("tilt_deg", [0.0, 12.0, 35.0])
@pytest.mark.parametrize("half_height", [0.1, 0.3, 0.5])
def test_a_spheroid_comes_back_whole(tilt_deg: float, half_height: float) -> None:
    camera = look_at((60.0, 20.0, 0.0), distance_mm=420.0, tilt_deg=tilt_deg, tilt_towards_deg=50.0)
    shell = spheroid(50.0, half_height * 100.0, (0.0, 0.0, 30.0))
    found = fit_dome(
        camera.eye_mm, rays_to(camera, shell), gap_mm=20.0, rise=0.1, half_height=half_height
    )
    assert found.diameter_mm == pytest.approx(100.0, rel=1e-3)
    assert found.middle_mm == pytest.approx([0.0, 0.0], abs=0.1)
    assert np.linalg.norm(found.outline_mm, axis=1) == pytest.approx(50.0, rel=2e-3)


def test_a_ball_reads_too_wide_in_its_middle_plane_by_the_closed_form() -> None:
    # facts, from the tangent cone: seen from D, a ball reads 1/sqrt(1-(R/D)^2) too wide in the
    # plane through its centre; 100 mm at 400 mm: 0.79 %.
    camera = look_at((0.0, 0.0, 0.0), distance_mm=400.0)
    rays = rays_to(camera, spheroid(50.0, 50.0, (0.0, 0.0, 0.0)))
    on_plane = widest_of(on_level(camera.eye_mm, rays, 0.0)).length
    assert on_plane / 100.0 == pytest.approx(1.0 / math.sqrt(1.0 - (50.0 / 400.0) ** 2), rel=2e-4)
    assert on_plane / 100.0 - 1.0 == pytest.approx(0.0079, abs=1e-4)
    dome = fit_dome(camera.eye_mm, rays, gap_mm=0.0, rise=0.0, half_height=0.5)
    assert dome.diameter_mm == pytest.approx(100.0, rel=2e-4)


@pytest.mark.parametrize("height_mm", [5.0, 20.0, 50.0])
def test_a_flat_disc_above_the_card_reads_long_by_h_over_z_less_h(height_mm: float) -> None:
    # facts: h 5, 20, 50 mm at 600 mm read 0.8, 3.4 and 9.1 % too long.
    camera = look_at((0.0, 0.0, 0.0), distance_mm=600.0)
    turn = np.linspace(0, 2 * math.pi, 2000)
    disc = np.column_stack([60 * np.cos(turn), 60 * np.sin(turn), 0 * turn + height_mm])
    rays = rays_to(camera, disc)
    unlifted = widest_of(on_level(camera.eye_mm, rays, 0.0)).length
    assert unlifted / 120.0 - 1.0 == pytest.approx(height_mm / (600.0 - height_mm), rel=1e-4)
    lifted = widest_of(on_level(camera.eye_mm, rays, height_mm)).length
    assert lifted == pytest.approx(120.0, rel=1e-5)


def test_twice_as_large_and_twice_as_far_is_twice_as_large() -> None:
    sizes = []
    for scale in (1.0, 2.0):
        camera = look_at((0, 0, 0), distance_mm=400 * scale, tilt_deg=15, focal35_mm=26)
        shell = spheroid(45.0 * scale, 30.0 * scale, (0.0, 10.0 * scale, 20.0 * scale))
        dome = fit_dome(
            camera.eye_mm, rays_to(camera, shell), gap_mm=2.0 * scale, rise=0.2, half_height=0.33
        )
        sizes.append(dome.diameter_mm)
    assert sizes[1] == pytest.approx(2.0 * sizes[0], rel=1e-4)


def test_a_known_lean_is_undone() -> None:
    lean = math.tan(math.radians(15.0))
    shell = spheroid(50.0, 20.0, (0.0, 0.0, 0.0))
    c, s = math.cos(math.radians(15.0)), math.sin(math.radians(15.0))
    turned = shell @ np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]).T + [0, 0, 25.0]
    camera = look_at((0, 0, 0), distance_mm=400, tilt_deg=10, tilt_towards_deg=90)
    dome = fit_dome(
        camera.eye_mm,
        rays_to(camera, turned),
        gap_mm=25.0,
        rise=0.0,
        half_height=0.2,
        axis_lean=(lean, 0.0),
    )
    assert dome.diameter_mm == pytest.approx(100.0, rel=1e-3)


def test_every_form_has_a_dome_and_the_unknown_is_less_sure() -> None:
    assert set(DOMES) == set(FORMS)
    unknown = dome_of(None, "behind").shape
    for form in FORMS:
        if form != "miscellaneous":
            assert DOMES[form].u_rise < unknown.u_rise
            assert DOMES[form].u_half_height < unknown.u_half_height
    assert DOMES["ball"].half_height > DOMES["decorative"].half_height > DOMES["single"].half_height


def test_a_given_lift_overrides_form_and_holding() -> None:
    for held in ("behind", "level", "bench"):
        dome = dome_of("ball", held, lift_mm=22.0)  # type: ignore[arg-type]
        assert dome.height_mm(80.0) == dome.height_mm(150.0) == 22.0


def test_an_impossible_lift_is_told() -> None:
    with pytest.raises(ValueError, match="from -100 to 300 mm, got 4000"):
        dome_of("ball", "behind", lift_mm=4000.0)


def test_a_bloom_behind_the_camera_is_told() -> None:
    camera = look_at((0, 0, 0), distance_mm=100.0)
    turn = np.linspace(0, 2 * math.pi, 100)
    ring = np.column_stack([60 * np.cos(turn), 60 * np.sin(turn), 0 * turn])
    with pytest.raises(ValueError, match="no bloom can look like this"):
        fit_dome(camera.eye_mm, rays_to(camera, ring), gap_mm=0.0, rise=2.0, half_height=0.5)
