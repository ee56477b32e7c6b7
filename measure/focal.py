"""The camera's focal length from what the photo's file says, and how far to trust it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from measure.quality import Flag
from measure.results import Optics

__all__ = ["Focal", "focal_of"]

_DIAGONAL_35MM = math.hypot(36.0, 24.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Focal:
    """Focal length in pixels, its relative standard uncertainty, and what was wrong with it."""

    px: float
    u_relative: float
    flags: tuple[Flag, ...] = ()


def focal_of(
    optics: Optics,
    size_px: tuple[int, int],
    *,
    u_percent: float = 4.0,
    u_percent_cropped: float = 15.0,
    typical_focal35_mm: float = 26.0,
    u_percent_unknown: float = 25.0,
) -> Focal:
    """Focal length of a picture of ``size_px`` (width, height) from what its file says.

    The 35 mm equivalent is read by the diagonal; makers differ by 4 % in what they mean by it,
    hence ``u_percent``. A picture smaller than its file claims was either shrunk whole, which
    changes nothing in the angle of view, or cropped; which of them is told from its shape, and
    doubted either way. 26 mm is typical of a phone's main lens (our judgement).
    """
    width, height = size_px
    diagonal = math.hypot(width, height)
    flags: list[Flag] = []
    focal35 = optics.focal35_mm
    if focal35 is None or not 5.0 <= focal35 <= 1000.0:
        return Focal(
            px=typical_focal35_mm / _DIAGONAL_35MM * diagonal,
            u_relative=u_percent_unknown / 100.0,
            flags=(Flag.LENS_UNKNOWN,),
        )
    u = u_percent
    if optics.exif_size is not None and min(optics.exif_size) > 0:
        claimed = sorted(optics.exif_size)
        actual = sorted((width, height))
        if claimed != actual:
            flags.append(Flag.CROPPED)
            same_shape = abs(claimed[1] / claimed[0] / (actual[1] / actual[0]) - 1.0) < 0.01
            if same_shape and actual[1] <= claimed[1]:
                u = 2.0 * u_percent  # most likely shrunk whole
            else:
                u = u_percent_cropped
                # Cut from the claimed frame without shrinking, as far as can be told.
                if actual[0] <= claimed[0] and actual[1] <= claimed[1]:
                    diagonal = math.hypot(*claimed)
    if optics.digital_zoom is not None and optics.digital_zoom > 1.01:
        flags.append(Flag.CROPPED)
        u = max(u, u_percent_cropped)
    return Focal(
        px=focal35 / _DIAGONAL_35MM * diagonal,
        u_relative=u / 100.0,
        flags=tuple(dict.fromkeys(flags)),
    )
