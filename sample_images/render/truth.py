"""The true sizes of every shot, from its geometry alone, and the table that holds them."""

from __future__ import annotations

import csv
from pathlib import Path

import cv2
import numpy as np
from camera import focal_px
from layout import Layout, lay_out
from meshes import Floats, Mesh
from plane_measures import least_width, ring, square_to_widest, visible_share, widest
from plants import CLUMPS, SEEDLINGS
from shot import Shot
from shots import SHOTS

__all__ = [
    "COLUMNS",
    "area_cm2",
    "bloom_sizes",
    "clump_sizes",
    "side_sizes",
    "true_row",
    "write_table",
]

RASTER_MM = 0.2
"""Side of the cells that areas are counted in."""

SEEN_SHARE = 1 / 3
"""A tuber counts as visible when the camera sees this share of its own silhouette."""

COLUMNS = (
    "file", "folder", "taken_at", "camera", "subject", "tag", "variety", "form", "card", "held",
    "widest_mm", "diameter_mm", "ring_mm", "bloom_area_cm2", "depth_mm", "rim_height_mm",
    "spread_mm", "width_mm", "clump_area_cm2", "tubers_total", "tubers_visible", "longest_tuber_mm",
    "camera_height_mm", "tilt_deg", "expect", "expect_match", "notes", "background", "light",
)  # fmt: skip


def area_cm2(meshes: list[Mesh]) -> float:
    """Area of the union of the meshes' faces, projected along z, in cells of 0.2 mm.

    A cell belongs to a face when its middle lies in it, decided on a raster four times finer.
    """
    fine = RASTER_MM / 4
    cloud = np.vstack([m.points[:, :2] for m in meshes])
    low = cloud.min(0) - 1
    wide, tall = (np.ceil((cloud.max(0) + 1 - low) / fine)).astype(int)
    cells = np.zeros((tall, wide), np.uint8)
    for mesh in meshes:
        corners = np.rint((mesh.points[:, :2] - low) / fine * 16 - 8).astype(np.int32)
        for quad in corners[mesh.quads]:
            cv2.fillConvexPoly(cells, quad, 1, cv2.LINE_8, 4)
    # A filled face also takes the cells that its border only touches: half a fine cell all round.
    outlines, _ = cv2.findContours(cells, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    border = sum(cv2.arcLength(np.asarray(o).reshape(-1, 1, 2), closed=True) for o in outlines)
    return float((int(cells.sum()) - border / 2) * fine**2 / 100)


def _dense(mesh: Mesh) -> Floats:
    """Points all over a mesh, close enough to leave no hole in the depth buffer."""
    a, b, c, d = (mesh.points[mesh.quads[:, k]] for k in range(4))
    steps = (np.arange(10) + 0.5) / 10
    u, v = (w.ravel()[:, None, None] for w in np.meshgrid(steps, steps))
    return ((1 - u) * ((1 - v) * a + v * b) + u * ((1 - v) * d + v * c)).reshape(-1, 3)


def _tubers_visible(layout: Layout) -> int:
    groups: dict[str, Floats] = {}
    for mesh in layout.subject:
        if mesh.part.startswith("tuber") or mesh.part in ("crown", "stalk"):
            own = _dense(mesh)
            groups[mesh.part] = np.vstack([groups[mesh.part], own]) if mesh.part in groups else own
    seen = layout.camera
    shares = visible_share(
        groups, eye=seen.eye, right=seen.right, down=seen.down, cell=2.0 / focal_px(seen.focal35_mm)
    )
    return sum(share >= SEEN_SHARE for name, share in shares.items() if name.startswith("tuber"))


def clump_sizes(layout: Layout) -> dict[str, str]:
    points = layout.measured_points
    body = [m for m in layout.subject if m.part == "crown" or m.part.startswith("tuber")]
    longest = max(
        float(np.linalg.norm(np.diff(line[:, :2], axis=0), axis=1).sum()) for line in layout.lines
    )
    return {
        "spread_mm": f"{widest(points):.2f}",
        "width_mm": f"{least_width(points):.2f}",
        "clump_area_cm2": f"{area_cm2(body):.2f}",
        "tubers_total": str(len(layout.lines)),
        "tubers_visible": str(_tubers_visible(layout)),
        "longest_tuber_mm": f"{longest:.2f}",
    }


def bloom_sizes(layout: Layout) -> dict[str, str]:
    points = layout.measured_points
    across = widest(points)
    cloud = np.vstack([m.points for m in layout.subject])
    middle = (points.min(0) + points.max(0)) / 2
    rim = np.hypot(*(cloud[:, :2] - middle).T) > 0.47 * across
    return {
        "widest_mm": f"{across:.2f}",
        "diameter_mm": f"{(across + square_to_widest(points)) / 2:.2f}",
        "ring_mm": f"{ring(points):.2f}",
        "bloom_area_cm2": f"{area_cm2(list(layout.subject)):.2f}",
        "depth_mm": f"{np.ptp(cloud[:, 2]):.1f}",
        "rim_height_mm": f"{np.median(cloud[rim, 2]):.1f}",
    }


def side_sizes(layout: Layout) -> dict[str, str]:
    """Depth of a bloom along its own axis, from the back of its lowest petal to its front."""
    cloud = np.vstack([m.points for m in layout.subject if m.part in ("petal", "disc")])
    return {"depth_mm": f"{np.ptp(cloud @ layout.axis):.2f}"}


def true_row(shot: Shot) -> dict[str, str]:
    """One line of truth.csv."""
    layout = lay_out(shot)
    plant = CLUMPS.get(shot.tag or 0)
    seedling = SEEDLINGS.get(shot.tag or 0)
    row = {
        "file": shot.file,
        "folder": shot.folder,
        "taken_at": shot.taken_at + shot.offset,
        "camera": " ".join(shot.camera[:2]),
        "subject": shot.subject,
        "tag": f"{shot.tag:04d}" if shot.tag else "",
        "variety": plant.variety
        if plant
        else seedling.name
        if seedling
        else "Saltmarsh Linnet"
        if shot.tag == 101
        else "",
        "form": seedling.form if seedling and shot.subject == "bloom" else "",
        "card": shot.card,
        "held": layout.held,
        "camera_height_mm": f"{layout.camera.eye[2]:.1f}",
        "tilt_deg": f"{shot.tilt:g}",
        "expect": shot.expect,
        "expect_match": shot.expect_match,
        "notes": shot.notes,
        "background": shot.surface,
        "light": shot.light,
    }
    if shot.subject == "clump":
        row |= clump_sizes(layout)
    elif shot.subject == "bloom":
        row |= bloom_sizes(layout)
    return row


def write_table(into: Path, *, shots: tuple[Shot, ...] = SHOTS) -> None:
    """Write truth.csv for the shots, in the order of the list."""
    with into.open("w", newline="", encoding="utf-8") as out:
        table = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
        table.writeheader()
        table.writerows(true_row(shot) for shot in shots)
