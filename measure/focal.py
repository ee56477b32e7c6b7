"""The camera's focal length from what the photo's file says, and how far to trust it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from measure.quality import Flag
from measure.results import Optics

__all__ = ["Focal", "focal_of"]

_DIAGONAL_35MM = math.hypot(36.0, 24.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Focal:
    """Focal length in pixels, its relative standard uncertainty, and what was wrong with it.

    ``centre_u_px`` is how far the optical axis may lie from the picture's middle, one standard
    uncertainty across and down: (0, 0) but for a crop. ``if_cropped`` is what to think instead
    where the board itself shows that the picture was cropped off its middle.
    """

    px: float
    u_relative: float
    centre_u_px: tuple[float, float] = (0.0, 0.0)
    flags: tuple[Flag, ...] = ()
    if_cropped: Focal | None = None


def focal_of(
    optics: Optics,
    size_px: tuple[int, int],
    *,
    u_percent: float = 4.0,
    typical_focal35_mm: float = 26.0,
    u_percent_unknown: float = 25.0,
    centre_u_share: float = 0.15,
    same_size_percent: float = 2.0,
    same_shape_px: float = 1.5,
    wide_below_mm: float = 20.0,
) -> Focal:
    """Focal length of a picture of ``size_px`` (width, height) from what its file says.

    Parameters
    ----------
    optics : Optics
    size_px : (int, int)
    u_percent : float
        The 35 mm equivalent is read by the diagonal; makers differ by 4 % in what they mean by it.
    typical_focal35_mm, u_percent_unknown : float
        Taken where the file says nothing: a phone's main lens (our judgement).
    centre_u_share : float
        How far off its middle a picture of which nothing is known may have been cropped, as a
        share of its sides; only asked where the board shows it.
    same_size_percent : float
        A picture smaller by no more than this counts as whole: cameras trim a few pixels.
    same_shape_px : float
        A smaller picture whose sides fit the claimed shape to so many pixels was shrunk whole,
        which leaves the angle of view as it was: a crop by hand seldom keeps the shape so well.
    wide_below_mm : float
        35 mm equivalent under which the lens counts as ultra-wide.
    """
    width, height = size_px
    diagonal = math.hypot(width, height)
    focal35 = optics.focal35_mm
    if focal35 is None or not 5.0 <= focal35 <= 1000.0:
        unknown = Focal(
            px=typical_focal35_mm / _DIAGONAL_35MM * diagonal,
            u_relative=u_percent_unknown / 100.0,
            flags=(Flag.LENS_UNKNOWN,),
        )
        off = (centre_u_share * width, centre_u_share * height)
        cropped = replace(unknown, centre_u_px=off, flags=(Flag.LENS_UNKNOWN, Flag.CROPPED))
        return replace(unknown, if_cropped=cropped)
    flags = (Flag.ULTRA_WIDE,) if focal35 < wide_below_mm else ()
    whole = Focal(px=focal35 / _DIAGONAL_35MM * diagonal, u_relative=u_percent / 100.0, flags=flags)
    zoom = optics.digital_zoom
    if zoom is not None and zoom > 1.01:
        # Some cameras count their zoom into the 35 mm equivalent, some do not.
        u = math.hypot(u_percent / 100.0, math.log(zoom) / 2.0)
        return replace(
            whole, px=whole.px * math.sqrt(zoom), u_relative=u, flags=(*flags, Flag.CROPPED)
        )
    claimed = _claimed(optics, size_px)
    if claimed is None:
        return whole
    kept = [now / then for now, then in zip(size_px, claimed, strict=True)]
    if all(abs(share - 1.0) <= same_size_percent / 100.0 for share in kept):
        return whole
    cropped = _cropped(whole, size_px, claimed, focal35=focal35)
    off_shape = abs(width * claimed[1] - height * claimed[0]) / max(claimed)
    if off_shape <= same_shape_px and max(kept) < 1.0:
        # Wider all the same: cropped about its middle with the shape kept, it would look so too.
        u = 2.0 * u_percent / 100.0
        return replace(whole, u_relative=u, flags=(*flags, Flag.SHRUNK), if_cropped=cropped)
    return cropped


def _claimed(optics: Optics, size_px: tuple[int, int]) -> tuple[int, int] | None:
    """The size that the file claims, turned to lie as the picture does."""
    if optics.exif_size is None or min(optics.exif_size) <= 0:
        return None
    long, short = max(optics.exif_size), min(optics.exif_size)
    return (long, short) if size_px[0] >= size_px[1] else (short, long)


def _cropped(
    whole: Focal, size_px: tuple[int, int], claimed: tuple[int, int], *, focal35: float
) -> Focal:
    """A part of the claimed frame, shrunk perhaps: anything from not at all to all that fits."""
    least = min(1.0, max(now / then for now, then in zip(size_px, claimed, strict=True)))
    shrunk = math.sqrt(least)
    # Evenly likely between two ends: a standard deviation of a twelfth of the square.
    u_shrunk = -math.log(least) / math.sqrt(12.0)
    off = [
        max(shrunk * then - now, 0.05 * now) / math.sqrt(12.0)
        for now, then in zip(size_px, claimed, strict=True)
    ]
    return replace(
        whole,
        px=focal35 / _DIAGONAL_35MM * math.hypot(*claimed) * shrunk,
        u_relative=math.hypot(whole.u_relative, u_shrunk),
        centre_u_px=(off[0], off[1]),
        flags=(*whole.flags, Flag.CROPPED),
    )
