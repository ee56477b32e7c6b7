"""Gardens drawn with known changes between two seasons; every error is as large as is claimed."""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from photolog.comparing import Shot

DUG = {2024: datetime(2025, 5, 17, 14, 0), 2025: datetime(2026, 5, 16, 14, 0)}
LAY_SD, BETWEEN_SD = 0.03, 0.20


def drawn_shots(
    rng: np.random.Generator,
    changes: Sequence[float],
    *,
    clumps: Sequence[int],
    plant_sd: float = 0.0,
    printings: tuple[str, str] = ("a", "a"),
    u: float = 0.012,
    scale: float = 0.006,
    same_clumps: bool = True,
) -> tuple[list[Shot], list[float]]:
    """One photo of each clump in each of two seasons, and the true change of the clumps drawn.

    ``changes`` are the varieties' changes; each clump's own scatters round its variety's by
    ``plant_sd``. ``clumps`` says how many each variety has, over and over. Without
    ``same_clumps`` other clumps of the variety are measured in the second season.
    """
    scale_error = {name: rng.normal(0, scale) for name in dict.fromkeys(printings)}
    shots: list[Shot] = []
    own_changes = []
    for v, change in enumerate(changes):
        own = []
        for c in range(clumps[v % len(clumps)]):
            size = 220 * math.exp(rng.normal(0, BETWEEN_SD))
            own.append(change * math.exp(rng.normal(0, plant_sd)))
            later = size if same_clumps else 220 * math.exp(rng.normal(0, BETWEEN_SD))
            for season, true, printing in (
                (2024, size, printings[0]),
                (2025, later * own[-1], printings[1]),
            ):
                lay, read_wrong = rng.normal(0, LAY_SD), rng.normal(0, u)
                read = true * math.exp(lay + read_wrong + scale_error[printing])
                other = "" if same_clumps else f" of {season}"
                shots.append(
                    Shot(
                        plant=f"{v}-{c}{other}",
                        variety=f"variety {v}",
                        season=season,
                        stage=None,
                        taken_at=DUG[season] + timedelta(minutes=3 * len(shots)),
                        value=read,
                        u=u * read,
                        scale_u=scale * read,
                        printing=printing,
                    )
                )
        own_changes.append(math.exp(sum(math.log(x) for x in own) / len(own)))
    return shots, own_changes
