"""What the light does to a picture and what lies on the card: told, and not seen where it isn't."""

from dataclasses import replace

import numpy as np
import pytest

from measure import read_marks
from measure.doubts import bloom_doubts, clump_doubts, lying_on_card_cm2
from measure.greys import grey_places
from measure.lighting import shadow_edge
from measure.placing import pose_in
from measure.quality import Flag
from measure.results import Outline
from measure.staging import stage_bloom
from tests.measure.relit import OPEN_SHADE, OVERCAST, SUN, drawn_bloom, relit
from tests.measure.troubled import (
    READ,
    bloom_picture,
    bloom_scene,
    clump_picture,
    clump_scene,
    half_in_shade,
    moved_clump,
    on_board,
    soiled_card,
)


def doubts_of(scene, picture):
    pose = pose_in(picture, read_marks(picture), optics=scene.optics, printing=READ)
    outline = Outline(points=scene.outline(), confidence=1.0, edge_sigma_px=0.3)
    places = grey_places(picture, pose, printing=READ, keep_off=outline.points)
    if scene is bloom_scene():
        return set(bloom_doubts(picture, outline, places))
    return set(clump_doubts(picture, outline, places, pose=pose, printing=READ))


@pytest.mark.parametrize("form", ["single", "cactus", "ball"])
def test_a_shadow_s_edge_is_told_from_shading_and_from_petals(form):
    scene = stage_bloom(form, widest_mm=125.0, seed=3, size_px=(1000, 750))
    outline = scene.outline()
    drawn = drawn_bloom(scene, (228, 120, 50))
    for light in (SUN, OPEN_SHADE):
        assert shadow_edge(relit(drawn, light, bloom_px=outline), outline) < 0.3
    for angle, off in ((0.4, 0.0), (2.0, 0.3)):
        shade = half_in_shade(outline, angle=angle, off=off)
        picture = relit(drawn, SUN, bloom_px=outline, shadow_px=shade, shadow_depth=0.3)
        # ln(1 / 0.3) is 1.2; the camera's curve makes a little more or less of it.
        assert 0.8 < shadow_edge(picture, outline) < 1.6


def test_two_colours_of_petals_are_no_shadow():
    scene = stage_bloom("decorative", widest_mm=125.0, seed=3, size_px=(1000, 750))
    inner = stage_bloom("decorative", widest_mm=70.0, seed=6, size_px=(1000, 750))
    drawn = drawn_bloom(scene, (240, 238, 228), inner=(110, 20, 40), inner_scene=inner)
    picture = relit(drawn, SUN, bloom_px=scene.outline())
    assert shadow_edge(picture, scene.outline()) < 0.8


def test_wholly_in_shade_and_wholly_in_sun_raise_nothing():
    for light in (SUN, OPEN_SHADE, replace(OVERCAST, exposure=0.35)):
        assert doubts_of(bloom_scene(), bloom_picture(light)) == set()


def test_a_shadow_across_the_clump_s_card():
    scene = clump_scene()
    card = scene.camera.project(
        np.array([[10.0, 10, 0], [280.0, 10, 0], [280.0, 190, 0], [10.0, 190, 0]])
    )
    outline = scene.outline()
    picture = relit(
        clump_picture(),
        OVERCAST,
        bloom_px=outline,
        shadow_px=half_in_shade(card, angle=0.5, off=-0.2),
        shadow_depth=0.4,
    )
    assert Flag.SHADOW_EDGE in doubts_of(scene, picture)
    assert doubts_of(scene, relit(clump_picture(), OVERCAST, bloom_px=outline)) == set()


def test_soil_on_the_board_is_no_glare_and_a_shine_is_no_soil():
    soiled = soiled_card(clump_scene(), clump_picture(), radius_mm=13.0, middle_mm=(108.0, 70.0))
    assert doubts_of(clump_scene(), soiled) == {Flag.CARD_COVERED}
    glare = relit(
        clump_picture(),
        OVERCAST,
        bloom_px=clump_scene().outline(),
        glare_px=(*on_board(clump_scene(), 0.5, 0.5), 45.0),
    )
    assert doubts_of(clump_scene(), glare) == {Flag.GLARE}


@pytest.mark.parametrize("radius_mm", [8.0, 15.0])
def test_the_area_of_what_lies_on_the_card(radius_mm):
    picture = soiled_card(clump_scene(), clump_picture(), radius_mm=radius_mm)
    pose = pose_in(picture, read_marks(picture), optics=clump_scene().optics, printing=READ)
    covered = lying_on_card_cm2(picture, pose, printing=READ)
    assert covered == pytest.approx(np.pi * radius_mm**2 / 100.0, rel=0.12, abs=0.1)


def test_nothing_lies_on_a_clean_card_even_in_lamplight():
    for light in (SUN, OPEN_SHADE, replace(OVERCAST, light="A", adapted=0.3)):
        picture = relit(clump_picture(), light, bloom_px=clump_scene().outline())
        pose = pose_in(picture, read_marks(picture), optics=clump_scene().optics, printing=READ)
        assert lying_on_card_cm2(picture, pose, printing=READ) < 0.3


def test_a_clump_on_the_card_is_seen_before_it_costs_much():
    # At 30 mm over the edge a drawn clump still measures right, at 70 it reads 6 % small.
    areas = []
    for by_mm in (-10.0, -50.0, -90.0):
        scene = moved_clump(by_mm=by_mm)
        picture = scene.canvas().finish()
        pose = pose_in(picture, read_marks(picture), optics=scene.optics, printing=READ)
        areas.append(lying_on_card_cm2(picture, pose, printing=READ))
    assert areas[0] < 0.3
    assert areas[0] < areas[1] < areas[2]
    assert areas[2] > 10.0
