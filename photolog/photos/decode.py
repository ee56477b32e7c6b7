"""Opening a photo once: its size from the header first, then upright pixels in one colour space."""

from __future__ import annotations

import logging
import os
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import BinaryIO, NamedTuple

import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from photolog.photos.jpeg import plain_jpeg_pixels
from photolog.photos.kinds import NAMES, Kind, PhotoError, sniff

__all__ = [
    "MAX_MEGAPIXELS",
    "Header",
    "header",
    "open_upright",
    "opened",
    "upright_pixels",
]

MAX_MEGAPIXELS = 100.0
"""Larger pictures are refused from their header: decoding them could take all memory."""

_FORMATS: dict[Kind, tuple[str, ...]] = {
    "jpeg": ("JPEG", "MPO"),
    "png": ("PNG",),
    "tiff": ("TIFF",),
    "webp": ("WEBP",),
    "heic": ("HEIF",),
    "avif": ("AVIF",),
}

_DNG_VERSION_TAG = 50706

_COPY_AGAIN = "Copy it from the camera or phone again."

# What is wrong with a file is said as ``PhotoError``, and not on the terminal besides.
logging.getLogger("PIL").setLevel(logging.CRITICAL)

# These decode what is missing as grey without a word. JPEG is no such kind (and cameras fill up its
# end with zeros), PNG has its checksums, and a TIFF may end in black.
_SILENT_KINDS: tuple[Kind, ...] = ("webp", "heic", "avif")
_EMPTY_END = 8192

pi_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)


class Header(NamedTuple):
    """What a photo's header says: pixel size as stored, before turning upright, and the kind."""

    width: int
    height: int
    kind: Kind


@contextmanager
def opened(path: Path, *, max_megapixels: float = MAX_MEGAPIXELS) -> Iterator[Image.Image]:
    """The file opened by its real kind, its size checked, not yet decoded.

    Raises ``PhotoError`` when it can't be opened or is larger than ``max_megapixels``; what goes
    wrong with the pixels inside the ``with`` block comes out as ``PhotoError`` too.
    """
    kind = sniff(path)
    if kind in _SILENT_KINDS:
        _check_end(path, kind)
    with warnings.catch_warnings():
        # Pillow warns of odd metadata and of large pictures; sizes are checked here instead.
        warnings.simplefilter("ignore")
        try:
            with Image.open(path, formats=_FORMATS[kind]) as image:
                _check_size(image, max_megapixels=max_megapixels)
                _check_not_raw(image)
                yield image
        except PhotoError:
            raise
        except Image.DecompressionBombError as error:
            pixels = re.search(r"\((\d+) pixels\)", str(error))
            size = f"{int(pixels[1]) / 1e6:.0f}" if pixels else "too many"
            raise _too_large(size, max_megapixels) from None
        except UnidentifiedImageError:
            msg = f"The file starts like a {NAMES[kind]} photo but can't be opened; it is damaged."
            raise PhotoError(
                msg,
                _COPY_AGAIN,
            ) from None
        except MemoryError:
            msg = "There is not enough memory to open the photo."
            raise PhotoError(msg, "Close other programs.") from None
        except Exception as error:
            # Damaged files make the decoders raise nearly anything.
            msg = "The photo is damaged or cut short."
            raise PhotoError(msg, _COPY_AGAIN) from error


def header(path: Path) -> Header:
    """Pixel size as stored and kind, without decoding; ``PhotoError`` as from ``opened``."""
    with opened(path) as image:
        return Header(image.width, image.height, sniff(path))


def open_upright(path: Path, *, max_megapixels: float = MAX_MEGAPIXELS) -> NDArray[np.uint8]:
    """The photo's pixels, upright, as sRGB: (H, W, 3) uint8, red green blue.

    The file's own turning (EXIF orientation, HEIC rotation) is applied once; a colour profile in
    the file is converted to sRGB; see-through parts are laid on white. Raises ``PhotoError``.
    """
    with opened(path, max_megapixels=max_megapixels) as image:
        return upright_pixels(image)


def upright_pixels(image: Image.Image) -> NDArray[np.uint8]:
    """Pixels of an opened image, upright, as sRGB: (H, W, 3) uint8; it may itself be turned."""
    if not _needs_profile(image) and (plain := plain_jpeg_pixels(image)) is not None:
        return plain
    image.load()
    # Whatever is wrong with the camera's notes, the picture itself is there.
    with suppress(Exception):
        ImageOps.exif_transpose(image, in_place=True)
    return np.asarray(_as_srgb(image), dtype=np.uint8)


def _check_end(path: Path, kind: Kind) -> None:
    """Refuse a file whose end is missing though its length is right, as while it is copied."""
    try:
        with path.open("rb") as file:
            length = file.seek(0, os.SEEK_END)
            end = min(length, _riff_end(file) if kind == "webp" else _last_box_end(file, length))
            file.seek(end - min(_EMPTY_END, end // 4))
            last = file.read(end - file.tell())
    except OSError as error:
        msg = f"The file can't be read ({error.strerror or error})."
        raise PhotoError(msg, "Check the card or disk that it is on.") from error
    if last.count(0) == len(last):
        msg = "The end of the file holds nothing but zeros, as after a copy that broke off."
        raise PhotoError(msg, _COPY_AGAIN)


def _riff_end(file: BinaryIO) -> int:
    """Where a WebP says that it ends; what is behind that is padding."""
    file.seek(4)
    return 8 + int.from_bytes(file.read(4), "little")


def _last_box_end(file: BinaryIO, length: int) -> int:
    """Where the last box of a HEIC or AVIF ends that is not there to fill room (ISO 14496-12)."""
    at = end = 0
    while at + 8 <= length:
        file.seek(at)
        head = file.read(16)
        size, name = int.from_bytes(head[:4], "big"), head[4:8]
        if size == 1:
            size = int.from_bytes(head[8:16], "big")
        if size == 0 and name.isalnum():
            # It runs to the end of the file.
            return length
        if size < 8 or not name.isalnum():
            break
        at += size
        if name not in (b"free", b"skip"):
            end = at
    return end


def _check_size(image: Image.Image, *, max_megapixels: float) -> None:
    megapixels = image.width * image.height / 1e6
    if megapixels > max_megapixels:
        size = f"{megapixels:.0f} ({image.width} × {image.height})"
        raise _too_large(size, max_megapixels)
    if image.width < 16 or image.height < 16:
        msg = f"The picture is only {image.width} × {image.height} pixels."
        raise PhotoError(
            msg,
            "Take in the photo as the camera made it.",
        )


def _too_large(size: str, max_megapixels: float) -> PhotoError:
    return PhotoError(
        f"The picture has {size} megapixels; at most {max_megapixels:.0f} are taken.",
        "Save a smaller copy of it, unless something is wrong with the file.",
    )


def _check_not_raw(image: Image.Image) -> None:
    tags = getattr(image, "tag_v2", None)
    if tags is not None and _DNG_VERSION_TAG in tags:
        msg = "The file is a camera's raw file."
        raise PhotoError(
            msg,
            "Take in the JPEG that the camera wrote beside it, or save it as JPEG or TIFF.",
        )


def _as_srgb(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I"):
        image = _sixteen_to_eight(image)
    if image.mode == "F":
        msg = "The picture holds numbers, not colours."
        raise PhotoError(msg, "Save it as an ordinary JPEG, PNG or TIFF.")
    profile = image.info.get("icc_profile")
    if image.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info:
        image = _on_white(image)
    if profile and image.mode in ("RGB", "L", "CMYK"):
        transform = _to_srgb(bytes(profile), image.mode)
        if transform is not None:
            return ImageCms.applyTransform(image, transform) or image
    return image if image.mode == "RGB" else image.convert("RGB")


def _needs_profile(image: Image.Image) -> bool:
    """Whether the file's colour profile, if any, makes its colours others than sRGB's."""
    profile = image.info.get("icc_profile")
    return profile is not None and _to_srgb(bytes(profile), image.mode) is not None


def _sixteen_to_eight(image: Image.Image) -> Image.Image:
    # Pillow's own conversion cuts at 255 instead of scaling.
    values = np.asarray(image).astype(np.float64)
    top = 65535.0 if values.max(initial=0.0) > 255.0 else 255.0
    return Image.fromarray(np.clip(values * (255.0 / top) + 0.5, 0, 255).astype(np.uint8))


def _on_white(image: Image.Image) -> Image.Image:
    see_through = image.convert("RGBA")
    white = Image.new("RGBA", see_through.size, (255, 255, 255, 255))
    return Image.alpha_composite(white, see_through).convert("RGB")


@lru_cache(maxsize=8)
def _to_srgb(profile: bytes, mode: str) -> ImageCms.ImageCmsTransform | None:
    """The conversion from this profile to sRGB; None when none is needed or the profile is bad."""
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        if mode == "RGB" and "srgb" in ImageCms.getProfileDescription(source).lower():
            return None
        return ImageCms.buildTransform(
            source,
            ImageCms.createProfile("sRGB"),
            mode,
            "RGB",
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        # A damaged profile is as good as none: most cameras mean sRGB.
        return None
