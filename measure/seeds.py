"""Seeds on a sheet of paper measured: picture and marks to a count and the usual length."""

from __future__ import annotations

import math
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from measure.budget import Cause, Lengths, budget_of, changed_by, pose_causes, share_of
from measure.outline.seeds import SeedCount, count_seeds
from measure.placing import doubts_of, keep_out_mask, pose_in, scale_settings
from measure.planar import hull_of
from measure.pose import Pose
from measure.quality import Flag
from measure.quantity import Size
from measure.results import (
    Lift,
    MarksSeen,
    Measurement,
    Optics,
    Outline,
    Picture,
    Points,
    Printing,
)

__all__ = ["measure_seeds", "size_seeds"]


def measure_seeds(
    picture: Picture,
    *,
    marks: MarksSeen,
    optics: Optics | None = None,
    printing: Printing | None = None,
) -> Measurement:
    """Count the seeds that lie on paper beside the card, and measure their usual length.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    marks : MarksSeen
        From ``read_marks`` of the same picture.
    optics : Optics, optional
        What the file says of the lens.
    printing : Printing, optional
        The ruler's reading of the card.

    Raises
    ------
    MeasureError
        When they can't be counted: the reason and what to do about it.
    """
    printing = printing or Printing()
    pose = pose_in(picture, marks, optics=optics or Optics(), printing=printing)
    size_px = (picture.shape[1], picture.shape[0])
    middle = np.array([[(size_px[0] - 1) / 2.0, (size_px[1] - 1) / 2.0]])
    x, y = pose.on_plane(middle)[0]
    count = count_seeds(
        picture,
        keep_out=keep_out_mask(size_px, pose, marks, printing=printing),
        px_per_mm=pose.px_per_mm(at_mm=(float(x), float(y))),
    )
    return size_seeds(count, pose=pose, printing=printing)


def size_seeds(
    count: SeedCount,
    *,
    pose: Pose,
    printing: Printing,
    height_mm: float = 0.8,
    u_height_mm: float = 0.5,
    u_end_mm: float = 0.08,
) -> Measurement:
    """Sizes of seeds already found.

    ``height_mm`` is that of a seed's rim above the card, with its standard uncertainty
    ``u_height_mm``; ``u_end_mm`` by how much a seed's tip is placed too far in or out in all seeds
    alike.
    """
    ends = count.ends.reshape(-1, 2)

    def sizes_from(
        points: Points, state: NDArray[np.float64], height: float = height_mm
    ) -> Lengths:
        places = pose.on_plane(points, height_mm=height, state=state).reshape(-1, 2, 2)
        lengths = np.linalg.norm(places[:, 1] - places[:, 0], axis=1)
        return {"length_mm": float(np.median(lengths))}

    lengths = sizes_from(ends, pose.state)
    causes = [
        Cause(name="outline", effects={"length_mm": math.sqrt(2.0) * u_end_mm}),
        Cause(name="cutting", effects={"length_mm": _u_of_cutting(count, pose)}),
        share_of("printing", lengths, percent=printing.u_percent),
        changed_by("lift", lambda s: sizes_from(ends, pose.state, height_mm + s * u_height_mm)),
        *pose_causes(pose, ends, sizes_from),
    ]
    sizes = {
        "seeds": Size(
            value=float(count.seeds),
            u=count.u,
            interval95=(float(count.interval95[0]), float(count.interval95[1])),
            components={"touching or not seeds": count.u},
        ),
        **budget_of(lengths, causes),
    }
    all_points = np.concatenate(count.hulls)
    outline = Outline(
        points=all_points[hull_of(all_points)],
        confidence=1.0,
        edge_sigma_px=count.edge_sigma_px,
        flags=count.flags,
    )
    apart = np.linalg.norm(count.ends[:, 1] - count.ends[:, 0], axis=1)
    usual = int(np.argsort(apart, kind="stable")[len(apart) // 2])
    return Measurement(
        of="seeds",
        sizes=MappingProxyType(sizes),
        card=pose.reading,
        lift=Lift(value=height_mm, u=u_height_mm),
        outline=outline,
        callipers=count.ends[usual],
        mm_per_px=lengths["length_mm"] / float(np.median(apart)),
        # The card lies beside the sheet as a whole: how far off its middle is says nothing.
        flags=tuple(
            flag
            for flag in doubts_of(pose, outline, printing=printing)
            if flag is not Flag.CARD_FAR
        ),
        settings=MappingProxyType(
            {
                "height_mm": height_mm,
                "u_end_mm": u_end_mm,
                **scale_settings(pose, printing=printing),
            }
        ),
        parts=count.hulls,
    )


def _u_of_cutting(count: SeedCount, pose: Pose) -> float:
    """What the seeds cut out of groups do to the median: those of the doubtful, misplaced by one.

    Each seed wrongly cut moves the median by half a place among the ordered lengths, up or down.
    """
    places = pose.on_plane(count.ends.reshape(-1, 2)).reshape(-1, 2, 2)
    lengths = np.linalg.norm(places[:, 1] - places[:, 0], axis=1)
    n = len(lengths)
    low, high = np.percentile(lengths, (35, 65))
    a_place = float(high - low) / max(1.0, 0.3 * n)
    cut = float(np.sum(~count.alone))
    return a_place * (0.5 * count.u + 0.5 * math.sqrt(cut))
