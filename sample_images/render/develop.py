"""Linear light to a camera's file: lens, sensor, tone, JPEG or HEIC, EXIF, and the accidents."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from shot import Shot

__all__ = ["develop", "write_photo"]

Floats = NDArray[np.float32]

_EXIF = 0x8769
_MAKE, _MODEL, _ORIENTATION, _SOFTWARE, _DATE = 0x010F, 0x0110, 0x0112, 0x0131, 0x0132


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How the camera renders a light: what the bright parts reach, white balance, noise, ISO."""

    bright: float
    balance: tuple[float, float, float]
    noise: float
    iso: int
    exposure: tuple[int, int]


LOOKS = {
    "daylight": Look(bright=0.86, balance=(1.02, 1.0, 0.97), noise=1.6, iso=100, exposure=(1, 250)),
    "sun": Look(bright=0.90, balance=(1.02, 1.0, 0.98), noise=1.4, iso=64, exposure=(1, 500)),
    "overcast": Look(bright=0.84, balance=(1.0, 1.0, 1.01), noise=2.0, iso=200, exposure=(1, 125)),
    "evening": Look(bright=0.82, balance=(1.03, 1.0, 0.94), noise=1.6, iso=320, exposure=(1, 125)),
    "dusk": Look(bright=0.52, balance=(0.90, 1.0, 1.16), noise=5.0, iso=1600, exposure=(1, 30)),
}


def _lens(light: Floats, shot: Shot) -> Floats:
    """Focus, a straight movement while the shutter was open, then light falling off outwards."""
    out = cv2.GaussianBlur(light, (0, 0), shot.blur_px) if shot.blur_px > 0 else light
    if shot.shake_px > 0:
        size = int(shot.shake_px) | 1
        kernel = np.zeros((size, size), np.float32)
        turn = np.radians(shot.shake_angle)
        arm = np.array([np.cos(turn), np.sin(turn)]) * (size - 1) / 2
        middle = (size - 1) / 2
        a, b = (
            tuple(np.rint([middle + k * arm[0], middle + k * arm[1]]).astype(int).tolist())
            for k in (-1, 1)
        )
        cv2.line(kernel, a, b, 1.0, 1, cv2.LINE_AA)
        out = cv2.filter2D(out, -1, kernel / kernel.sum())
    high, wide = out.shape[:2]
    y, x = np.mgrid[-1 : 1 : high * 1j, -1 : 1 : wide * 1j]
    off = ((x * wide) ** 2 + (y * high) ** 2) / (wide**2 + high**2)
    return out * (1 - 0.20 * off[..., None]).astype(np.float32)


def _tone(linear: Floats) -> Floats:
    """A camera's curve: gamma, a soft S, and a shoulder so that highlights don't clip hard."""
    x = np.clip(linear, 0, None)
    x = np.where(x > 0.72, 0.72 + 0.28 * (1 - np.exp(-(x - 0.72) / 0.28)), x)
    encoded = np.where(
        x <= 0.0031308, 12.92 * x, 1.055 * np.power(np.maximum(x, 1e-6), 1 / 2.4) - 0.055
    )
    steep = encoded * encoded * (3 - 2 * encoded)
    return (0.62 * encoded + 0.38 * steep).astype(np.float32)


def _vivid(shown: Floats, amount: float) -> Floats:
    grey = (shown @ np.array([0.30, 0.59, 0.11], np.float32))[..., None]
    return grey + (shown - grey) * amount


def develop(light: Floats, shot: Shot) -> NDArray[np.uint8]:
    """(H, W, 3) uint8 picture, as the sensor lies, of a scene's linear light."""
    look = LOOKS[shot.light]
    rng = np.random.default_rng(shot.seed * 7 + sum(map(ord, shot.file)))
    seen = _lens(light.astype(np.float32), shot)
    level = float(np.quantile(seen.max(axis=2), 0.985))
    seen = seen / level * look.bright * float(rng.uniform(0.93, 1.05))
    seen *= np.array(look.balance, np.float32) * rng.uniform(0.985, 1.015, 3).astype(np.float32)
    # Shot noise grows with the light; the rest stays. A little of it spreads to the neighbours,
    # as it does when colours are worked out from a sensor's mosaic.
    sigma = look.noise * np.sqrt(1.0e-5 * np.clip(seen, 0, None) * 3 + 1.6e-6)
    grain = rng.normal(size=seen.shape).astype(np.float32)
    grain = 0.75 * grain + 0.9 * cv2.GaussianBlur(grain, (0, 0), 0.8)
    seen = seen + sigma * grain
    shown = _vivid(_tone(seen), 1.05)
    soft = cv2.GaussianBlur(shown, (0, 0), 1.1)
    return np.clip((shown + 0.30 * (shown - soft)) * 255 + 0.5, 0, 255).astype(np.uint8)


def _exif(shot: Shot, size: tuple[int, int]) -> Image.Exif:
    make, model, focal35 = shot.camera
    look = LOOKS[shot.light]
    stamp = shot.taken_at.replace("-", ":").replace("T", " ")
    exif = Image.Exif()
    exif[_MAKE], exif[_MODEL], exif[_SOFTWARE] = make, model, "1.2"
    exif[_ORIENTATION], exif[_DATE] = shot.orientation, stamp
    inner = exif.get_ifd(_EXIF)
    inner.update(
        {
            0x829A: look.exposure,
            0x829D: (56, 10),
            0x8827: look.iso,
            0x9000: b"0231",
            0x9003: stamp,
            0x9004: stamp,
            0x9290: f"{sum(map(ord, shot.file)) % 100:02d}",
            0x9291: f"{sum(map(ord, shot.file)) % 100:02d}",
            0x920A: (focal35 * 10, 60),
            0xA001: 1,
            0xA002: size[0],
            0xA003: size[1],
            0xA404: (1, 1),
            0xA405: focal35,
        }
    )
    if shot.offset:
        inner.update({0x9010: shot.offset, 0x9011: shot.offset, 0x9012: shot.offset})
    return exif


def write_photo(picture: NDArray[np.uint8], shot: Shot, folder: Path, *, quality: int = 90) -> Path:
    """Write the file as the camera would, cut short where the shot says so.

    A shot with Orientation 6 is already painted with the camera on its side.
    """
    file = folder / shot.folder / shot.file
    file.parent.mkdir(parents=True, exist_ok=True)
    image = Image.fromarray(picture)
    exif = _exif(shot, image.size).tobytes()
    if file.suffix == ".HEIC":
        import pillow_heif

        pillow_heif.from_pillow(image).save(file, quality=62, exif=exif)
        return file
    held = io.BytesIO()
    image.save(held, "JPEG", quality=quality, subsampling="4:2:0", exif=exif, optimize=True)
    data = held.getvalue()
    file.write_bytes(data[: int(len(data) * shot.cut_to)])
    return file
