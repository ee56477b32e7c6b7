"""A drawn picture seen in another light by a camera: sun, shade, lamp, gradient, glare, noise.

Light is multiplied onto linear reflectances in the cone responses of the Bradford transform, not in
the camera's own red, green and blue, and the camera puts a tone curve of its own on what it sees:
neither is what the program undoes.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from skimage.color.colorconv import rgb_from_xyz, xyz_from_rgb

from measure.scenes import Canvas, Patch, card_raster

__all__ = [
    "LAMP",
    "OPEN_SHADE",
    "OVERCAST",
    "SUN",
    "Scene",
    "drawn_bloom",
    "relit",
    "true_reflectance",
]

# Chromaticities of CIE illuminants for 2 degrees (CIE 15:2004, table T.3).
CHROMATICITIES = {
    "A": (0.44758, 0.40745),
    "D55": (0.33243, 0.34744),
    "D65": (0.31272, 0.32903),
    # Daylight of 12,000 K, a blue sky without sun, by the formula of CIE 15:2004, 3.1.
    "sky": (0.26971, 0.28084),
}
# Lam (1985), as in ICC.1:2010 annex E.
BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
# Paper and full ink as a spectrophotometer might give them, unlike what the program supposes.
PAPER, INK = 0.88, 0.028


@dataclass(frozen=True, kw_only=True)
class Scene:
    """How the light falls and what the camera does.

    ``gradient`` is the change of light across the picture's width (a share); ``adapted`` how much
    of the cast the camera's own white balance takes out; ``one_sided`` how much less light the side
    of the bloom turned away from the sun gets; ``curve`` the strength of the camera's S-curve.
    """

    light: str
    exposure: float = 0.85
    adapted: float = 0.7
    gradient: float = 0.0
    one_sided: float = 0.0
    curve: float = 0.35
    veil: float = 0.004
    noise: float = 0.01
    seed: int = 0


SUN = Scene(light="D55", gradient=0.10, one_sided=0.35, seed=1)
OPEN_SHADE = Scene(light="sky", exposure=0.6, adapted=0.5, gradient=-0.2, noise=0.015, seed=2)
OVERCAST = Scene(light="D65", exposure=0.9, adapted=1.0, veil=0.01, curve=0.2, seed=3)
LAMP = Scene(light="A", exposure=0.8, adapted=0.6, gradient=0.25, noise=0.02, seed=4)


def _straight(encoded):
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def _encoded(straight):
    x = np.clip(straight, 0.0, None)
    return np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055)


def _white(name):
    x, y = CHROMATICITIES[name]
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def true_reflectance(drawn):
    """Linear sRGB reflectances of what was drawn with these values (..., 3), 0 to 255."""
    ends = _straight(np.array([12.0, 250.0]) / 255.0)
    share = (_straight(np.asarray(drawn, np.float64) / 255.0) - ends[0]) / (ends[1] - ends[0])
    return INK + (PAPER - INK) * share


def drawn_bloom(scene, colour, *, inner=None, inner_scene=None):
    """The scene drawn without noise, its card with the grey backdrop that it is printed with.

    ``inner`` is the colour of a second, smaller bloom drawn into the first: ``inner_scene``'s.
    """
    design = scene.design
    raster = card_raster(design)
    if design.backdrop is not None:
        mm = [design.backdrop.left, design.backdrop.width, design.backdrop.top]
        left, wide, top, high = (round(8 * v) for v in [*mm, design.backdrop.height])
        raster[top : top + high, left : left + wide] = round(12 + 238 * design.backdrop_grey)
    canvas = Canvas(camera=scene.camera, background=(70, 92, 58))
    canvas.lay(Patch(raster=raster, corner_mm=(0.0, 0.0, 0.0), right=(1, 0, 0), down=(0, 1, 0)))
    pairs = [(scene.bloom, colour)] + ([(inner_scene.bloom, inner)] if inner is not None else [])
    for bloom, of in pairs:
        for petal, shade in zip(bloom.petals, bloom.shades, strict=True):
            red, green, blue = (round(shade * c) for c in of)
            canvas.fill(petal, (red, green, blue))
    return canvas.finish(blur_px=0.6, noise=0.0)


def relit(drawn, scene, *, bloom_px, shadow_px=None, shadow_depth=0.35, glare_px=None):
    """The picture drawn with ``finish(noise=0)`` as a camera would take it in that light.

    ``bloom_px`` (N, 2) is the bloom's outline, ``shadow_px`` a polygon in which only
    ``shadow_depth`` of the light falls, ``glare_px`` the (x, y, radius) of a shining spot.
    """
    height, width = drawn.shape[:2]
    reflectance = true_reflectance(np.arange(256)).astype(np.float32)[drawn]
    gain = BRADFORD @ _white(scene.light) / (BRADFORD @ _white("D65"))
    turn = np.linalg.inv(BRADFORD) @ np.diag(gain) @ BRADFORD
    seen = reflectance @ (rgb_from_xyz @ turn @ xyz_from_rgb).T.astype(np.float32)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    level = 1.0 + scene.gradient * (x / width - 0.5)
    middle = bloom_px.mean(axis=0).astype(np.float32)
    radius = np.float32(np.ptp(bloom_px, axis=0).max() / 2.0)
    mask = np.zeros((height, width), np.uint8)
    cv2.fillPoly(mask, [np.round(bloom_px).astype(np.int32)], 1)
    away = np.clip(((x - middle[0]) * 0.8 + (y - middle[1]) * 0.6) / radius, -1.0, 1.0)
    level = np.where(mask > 0, level * (1.0 - scene.one_sided * np.maximum(away, 0.0)), level)
    if shadow_px is not None:
        shade = np.zeros((height, width), np.float32)
        cv2.fillPoly(shade, [np.round(shadow_px).astype(np.int32)], 1.0)
        level = level * (1.0 - (1.0 - shadow_depth) * cv2.GaussianBlur(shade, (0, 0), 2.0))
    seen = seen * level[..., None] * scene.exposure + scene.veil
    if glare_px is not None:
        gx, gy, reach = glare_px
        spot = np.exp(-((((x - gx) ** 2 + (y - gy) ** 2) / reach**2) ** 2))
        seen = seen + 0.9 * spot[..., None]
    cast = rgb_from_xyz @ _white(scene.light) / (rgb_from_xyz @ _white("D65"))
    seen = seen / ((cast / cast[1]) ** scene.adapted).astype(np.float32)
    grain = np.random.default_rng(scene.seed).standard_normal(seen.shape, np.float32)
    seen = seen + grain * np.float32(scene.noise) * np.sqrt(np.clip(seen, 0.001, None))
    shown = np.clip(_encoded(seen), 0.0, 1.0)
    shown = (1 - scene.curve) * shown + scene.curve * shown * shown * (3.0 - 2.0 * shown)
    picture = np.clip(np.round(shown * 255.0), 0, 255).astype(np.uint8)
    _, jpeg = cv2.imencode(".jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])
    return np.ascontiguousarray(cv2.imdecode(jpeg, cv2.IMREAD_COLOR)[..., ::-1])
