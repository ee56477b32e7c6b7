"""How the domes of `measure.lift` were fitted, and what they leave: run by hand, prints a table.

Every form is fitted on one half of its procedural blooms, each seen from several cameras with its
exact outline and leaning as real ones do, and tried on the other half. The figures say how well a
dome stands for a drawn bloom; a real one is not a drawn one, and the uncertainties in the table
are wider for that.

Then, by slant, what a dome of the table's depth misses once its height is known: for our own blooms
and for those of ``measure.other_shapes``, to which nothing is fitted. It is the ground for the
component "depth times tilt".
"""

from __future__ import annotations

import sys

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation

from measure.lift import DOMES, FittedDome, dome_of, fit_dome, on_level, slant_percent
from measure.other_shapes import stack_bloom
from measure.planar import hull_of, widest_of
from measure.results import Form
from measure.scenes import Camera, look_at
from measure.shapes import BloomForm, grow_bloom
from measure.staging import rim_height_mm

FORMS: tuple[BloomForm, ...] = ("single", "waterlily", "decorative", "cactus", "ball", "pompon")
View = tuple[NDArray[np.float64], NDArray[np.float64], float, float]
GAP_MM = 3.0
LEAN_DEG = 5.0
SLANTS_DEG = (0.0, 8.0, 16.0, 25.0)


def views_of(form: BloomForm, seeds: range, *, views_each: int = 4) -> list[View]:
    """Camera, rays to the exact outline's hull, true widest measure, gap."""
    views: list[View] = []
    for seed in seeds:
        rng = np.random.default_rng(1000 + seed)
        bloom = grow_bloom(form, widest_mm=float(rng.uniform(60, 200)), seed=seed)
        leaning = bloom.moved(to_mm=(0.0, 0.0, 0.0), lean=leant(*rng.normal(0, LEAN_DEG, 2)))
        lowest = float(leaning.points[:, 2].min())
        placed = leaning.moved(to_mm=(0.0, 0.0, GAP_MM - lowest))
        true = placed.widest_mm
        for _ in range(views_each):
            camera = look_at(
                (float(rng.uniform(-20, 20)), float(rng.uniform(-20, 80)), 0.0),
                distance_mm=float(rng.uniform(350, 750)),
                tilt_deg=float(rng.uniform(0, 20)),
                tilt_towards_deg=float(rng.uniform(0, 360)),
            )
            views.append((camera.eye_mm, rays_to(camera, placed.points), true, GAP_MM))
    return views


def rays_to(camera: Camera, places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rays (N, 3) to the hull of the outline of places (M, 3)."""
    seen = camera.project(places)
    seen = seen[hull_of(seen)]
    width, height = camera.size_px
    flat = (seen - [(width - 1) / 2, (height - 1) / 2]) / camera.focal_px
    return np.asarray(np.column_stack([flat, np.ones(len(flat))]) @ camera.axes)


def leant(about_x_deg: float, about_y_deg: float) -> NDArray[np.float64]:
    """Rotation that leans a bloom's axis; its back then touches the card with one side only."""
    turn = Rotation.from_euler("xy", [about_x_deg, about_y_deg], degrees=True)
    return np.asarray(turn.as_matrix(), dtype=np.float64)


def errors(
    views: list[View], half_height: float, rise: float, behind: float
) -> NDArray[np.float64]:
    """Relative errors of the widest measure, in per cent."""
    found = [
        widest_of(
            fit_dome(
                eye, rays, gap_mm=gap, rise=rise, half_height=half_height, behind=behind
            ).outline_mm
        ).length
        for eye, rays, _, gap in views
    ]
    return 100.0 * (np.array(found) / np.array([v[2] for v in views]) - 1.0)


def main(blooms: int = 24, forms: tuple[BloomForm, ...] = FORMS) -> None:
    """Print, by form: fitted half-height and rise, and what they, the table and no lift leave."""
    print(
        f"{'form':12s} half  rise | fitted on {blooms}, tried on as many: mean sd | table | no lift"
    )
    for form in forms:
        first = views_of(form, range(blooms))
        second = views_of(form, range(blooms, 2 * blooms))

        behind = DOMES[form].behind

        def cost(
            p: NDArray[np.float64], views: list[View] = first, behind: float = behind
        ) -> float:
            return float(np.mean(errors(views, abs(p[0]) + 0.01, p[1], behind) ** 2))

        best = minimize(
            cost, [0.25, 0.2], method="Nelder-Mead", options={"maxfev": 60, "xatol": 2e-3}
        )
        half, rise = abs(best.x[0]) + 0.01, best.x[1]
        left = errors(second, half, rise, behind)
        of_table: Form = form
        table = errors(second, DOMES[of_table].half_height, DOMES[of_table].rise, behind)
        flat = [100 * (widest_of(on_level(e, d, 0.0)).length / t - 1) for e, d, t, _ in second]
        print(
            f"{form:12s} {half:.3f} {rise:.3f} | {left.mean():+.2f} {left.std():.2f} | "
            f"{table.mean():+.2f} {table.std():.2f} | {np.mean(flat):+.2f} {np.std(flat):.2f}"
        )


def by_slant(blooms: int, forms: tuple[BloomForm, ...] = FORMS) -> None:
    """Print what is left at several slants, the height known: mean and sd in per cent."""
    print("\nheight known, by slant: ours; others, mean sd %, and what is claimed for the slant")
    for form in forms:
        dome = DOMES[form]
        for tilt_deg in SLANTS_DEG:
            left = []
            for grow in (grow_bloom, stack_bloom):
                off = []
                for seed in range(blooms):
                    rng = np.random.default_rng([2000, seed])
                    bloom = grow(form, widest_mm=float(rng.uniform(60, 160)), seed=seed)
                    camera = look_at(
                        (0.0, 0.0, rim_height_mm(bloom)),
                        distance_mm=float(rng.uniform(400, 750)),
                        tilt_deg=tilt_deg,
                        tilt_towards_deg=float(rng.uniform(0, 360)),
                    )
                    fitted = fit_dome(
                        camera.eye_mm,
                        rays_to(camera, bloom.points),
                        gap_mm=rim_height_mm(bloom),
                        rise=0.0,
                        half_height=dome.half_height,
                        behind=dome.behind,
                    )
                    off.append(100 * (widest_of(fitted.outline_mm).length / bloom.widest_mm - 1))
                left.append(f"{np.mean(off):+.2f} {np.std(off):.2f}")
            known = dome_of(form, "behind", lift_mm=0.0)
            up = 100.0 * np.array([np.sin(np.radians(tilt_deg)), 0.0, np.cos(np.radians(tilt_deg))])
            middle = FittedDome(
                outline_mm=np.zeros((0, 2)), middle_mm=np.zeros(2), diameter_mm=100.0
            )
            claimed = slant_percent(known, eye=up, fitted=middle)
            print(f"{form:12s} {tilt_deg:4.0f} deg | {left[0]}; {left[1]} | {claimed:.2f}")


if __name__ == "__main__":
    asked = tuple(form for form in FORMS if form in sys.argv[2:])
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 24
    main(count, asked or FORMS)
    by_slant(count, asked or FORMS)
