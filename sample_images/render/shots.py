"""The shot list: which plant was photographed when, how, and with what accident."""

from __future__ import annotations

from dataclasses import dataclass, replace

__all__ = ["CLUMPS", "SEEDLINGS", "SHOTS", "ClumpOf", "Seedling", "Shot", "shot_named"]

FIELD_35 = ("Larkfield", "Field 35", 35)
POCKET_28 = ("Larkfield", "Pocket 28", 28)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One photograph.

    ``distance_mm`` 0 lets the camera step back until everything is in the frame. ``turn`` is the
    handheld roll in degrees, ``tilt`` the angle between the camera's axis and the card's normal,
    ``tilt_from`` the side it leans to. ``laid`` turns the clump on the bench. ``blur_px`` is the
    lens and focus, ``shake_px`` a straight movement.
    """

    file: str
    folder: str
    taken_at: str
    subject: str
    tag: int | None
    card: str = ""
    surface: str = "bench"
    light: str = "daylight"
    pegged: bool = True
    seed: int = 1
    spread_mm: float = 0.0
    widest_mm: float = 0.0
    tilt: float = 8.0
    tilt_from: float = 200.0
    turn: float = 3.0
    laid: float = 0.0
    side: str = "right"
    distance_mm: float = 0.0
    blur_px: float = 0.6
    shake_px: float = 0.0
    shake_angle: float = 25.0
    camera: tuple[str, str, int] = FIELD_35
    offset: str = ""
    orientation: int = 1
    neighbour: int | None = None
    cut_to: float = 1.0
    expect: str = "measured"
    expect_match: str = "matched"
    notes: str = ""

    @property
    def path(self) -> str:
        """Folder and file, as in truth.csv."""
        return f"{self.folder}/{self.file}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClumpOf:
    """A plant's clump in the autumns of two seasons; ``change`` is the ratio of its spreads."""

    tag: int
    variety: str
    seed: int
    spread_mm: float
    change: float
    tubers: tuple[int, int]
    plumpness: float
    evenness: float = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Seedling:
    """A seedling of our own crosses: form, colours and its size on three dates."""

    tag: int
    name: str
    form: str
    card: str
    seed: int
    sizes_mm: tuple[float, float, float]


CLUMPS = {
    c.tag: c
    for c in (
        ClumpOf(tag=11, variety="Tin Orchard", seed=1103, spread_mm=262, change=0.80, tubers=(8, 8), plumpness=1.0),
        ClumpOf(tag=12, variety="Wherry Lamp", seed=1207, spread_mm=236, change=0.88, tubers=(8, 6), plumpness=0.86),
        ClumpOf(tag=13, variety="Aunt Petronel", seed=1311, spread_mm=222, change=1.00, tubers=(6, 8), plumpness=1.12),
        ClumpOf(tag=14, variety="Saltmarsh Linnet", seed=1415, spread_mm=248, change=0.93, tubers=(7, 7), plumpness=0.95),
        ClumpOf(tag=15, variety="Quillon Ferry", seed=1519, spread_mm=214, change=1.06, tubers=(9, 10), plumpness=0.84),
        ClumpOf(tag=16, variety="Tía Farola", seed=1623, spread_mm=226, change=1.125, tubers=(5, 6), plumpness=1.18),
        ClumpOf(tag=21, variety="Tin Orchard", seed=2127, spread_mm=246, change=0.80, tubers=(7, 7), plumpness=1.02),
        ClumpOf(tag=22, variety="Tía Farola", seed=2231, spread_mm=208, change=1.125, tubers=(6, 7), plumpness=1.14, evenness=0.6),
    )
}

SEEDLINGS = {
    s.tag: s
    for s in (
        Seedling(tag=31, name="T24-07", form="decorative", card="bloom-1", seed=3101, sizes_mm=(154, 149, 143)),
        Seedling(tag=32, name="T24-11", form="ball", card="bloom-1", seed=3203, sizes_mm=(97, 95, 91)),
        Seedling(tag=33, name="T24-15", form="cactus", card="bloom-1", seed=3305, sizes_mm=(138, 135, 129)),
        Seedling(tag=34, name="T24-22", form="single", card="pocket-1", seed=3407, sizes_mm=(87, 85, 82)),
    )
}


def _clump(file: str, folder: str, taken_at: str, tag: int, autumn: int, **more: object) -> Shot:
    plant = CLUMPS[tag]
    spread = plant.spread_mm * (plant.change if autumn else 1.0)
    seed = plant.seed + 50 * autumn
    shot = Shot(file=file, folder=folder, taken_at=taken_at, subject="clump", tag=tag, card="bench-1", spread_mm=spread, seed=seed)
    return replace(shot, **more)  # type: ignore[arg-type]


def _bloom(file: str, taken_at: str, tag: int, date: int, **more: object) -> Shot:
    seedling = SEEDLINGS[tag]
    shot = Shot(
        file=file, folder="summer-2026", taken_at=taken_at, subject="bloom", tag=tag, card=seedling.card, surface="foliage",
        widest_mm=seedling.sizes_mm[date], seed=seedling.seed + 10 * date,
    )
    return replace(shot, **more)  # type: ignore[arg-type]


A25, S26, A26 = "autumn-2025", "summer-2026", "autumn-2026"

SHOTS: tuple[Shot, ...] = (
    _clump("LF350112.JPG", A25, "2025-05-17T13:42:10", 11, 0, surface="bench", tilt=6, tilt_from=250, turn=4, laid=15),
    _clump("LF350113.JPG", A25, "2025-05-17T13:45:32", 12, 0, surface="bench", tilt=11, tilt_from=275, turn=-3, laid=80),
    _clump("LF350114.JPG", A25, "2025-05-17T13:48:05", 13, 0, surface="sacking", tilt=5, tilt_from=120, turn=6, laid=200, side="left"),
    _clump("LF350115.JPG", A25, "2025-05-17T13:51:41", 14, 0, surface="sacking", tilt=14, tilt_from=262, turn=-5, laid=310),
    _clump("LF350116.JPG", A25, "2025-05-17T13:54:20", 15, 0, surface="slate", tilt=8, tilt_from=300, turn=2, laid=140),
    _clump("LF350117.JPG", A25, "2025-05-17T13:57:56", 16, 0, surface="slate", tilt=4, tilt_from=30, turn=-8, laid=60, side="left"),
    _clump("LF350118.JPG", A25, "2025-05-17T17:21:14", 21, 0, surface="bench", light="dusk", tilt=9, tilt_from=255, turn=5, laid=250, blur_px=0.8),
    _clump("LF350119.JPG", A25, "2025-05-17T17:24:50", 22, 0, surface="sacking", light="dusk", tilt=12, tilt_from=285, turn=-2, laid=170, blur_px=0.8),
    _bloom("LF350203.JPG", "2026-01-18T10:04:31", 31, 0, tilt=6, tilt_from=260, turn=2),
    _bloom("LF350204.JPG", "2026-01-18T10:07:12", 32, 0, tilt=10, tilt_from=80, turn=-4),
    _bloom("LF350205.JPG", "2026-01-18T10:09:48", 33, 0, tilt=5, tilt_from=180, turn=5),
    _bloom("LF350206.JPG", "2026-01-18T10:12:20", 34, 0, tilt=9, tilt_from=270, turn=-2),
    _bloom(
        "LF350207.JPG", "2026-01-18T10:31:05", 31, 0, seed=3109, card="", pegged=False, tilt=14, tilt_from=250, turn=-3,
        distance_mm=430, expect="not measured", notes="no card: history only; the tag hangs beside the bloom",
    ),
    _bloom("LF350241.JPG", "2026-02-14T18:40:02", 31, 1, light="evening", neighbour=33, tilt=7, tilt_from=300, turn=-3, notes="a neighbour's tag, 0033, small in the background"),
    _bloom("LF350242.JPG", "2026-02-14T18:43:37", 32, 1, light="evening", tilt=4, tilt_from=10, turn=3),
    _bloom("LF350243.HEIC", "2026-02-14T18:46:11", 33, 1, light="evening", tilt=12, tilt_from=240, turn=-5, notes="HEIC"),
    _bloom("LF350244.JPG", "2026-02-14T18:49:50", 34, 1, light="evening", tilt=6, tilt_from=100, turn=4),
    _bloom(
        "LF350246.JPG", "2026-02-14T19:20:33", 33, 1, light="evening", tilt=8, tilt_from=200, turn=1, blur_px=2.5, shake_px=34.0,
        expect="refused", expect_match="waiting", notes="blurred by movement: neither card nor tag can be read",
    ),
    _bloom("LF350287.JPG", "2026-03-14T09:15:44", 31, 2, light="overcast", tilt=9, tilt_from=220, turn=88, orientation=6, notes="turned by EXIF (Orientation 6)"),
    _bloom("LF350288.JPG", "2026-03-14T09:18:09", 32, 2, light="overcast", tilt=7, tilt_from=330, turn=-6),
    _bloom("LF350289.JPG", "2026-03-14T09:20:57", 33, 2, light="overcast", tilt=8, tilt_from=90, turn=3),
    _bloom("LF350290.JPG", "2026-03-14T09:23:30", 34, 2, light="overcast", tilt=13, tilt_from=250, turn=-3),
    _bloom(
        "LF350291.JPG", "2026-03-14T09:26:02", 34, 2, light="overcast", tilt=9, tilt_from=265, turn=2, cut_to=0.4,
        expect="refused", expect_match="no plant", notes="the file breaks off at 40 %: it can't be taken in",
    ),
    _clump("LF350391.JPG", A26, "2026-05-16T14:10:25", 11, 1, surface="bench", tilt=7, tilt_from=265, turn=-4, laid=35),
    Shot(file="LF350392.JPG", folder=A26, taken_at="2026-05-16T14:13:02", subject="tag", tag=12, surface="bench", distance_mm=255, tilt=15, turn=7, expect="not measured", notes="tag shot"),
    _clump("LF350393.JPG", A26, "2026-05-16T14:13:18", 12, 1, surface="bench", pegged=False, tilt=10, tilt_from=240, turn=6, laid=120),
    Shot(file="LF350394.JPG", folder=A26, taken_at="2026-05-16T14:16:40", subject="tag", tag=13, surface="sacking", distance_mm=230, tilt=11, turn=-11, expect="not measured", notes="tag shot"),
    _clump("LF350395.JPG", A26, "2026-05-16T14:16:55", 13, 1, surface="sacking", pegged=False, tilt=6, tilt_from=100, turn=-6, laid=225, side="left"),
    Shot(
        file="LF350396.JPG", folder=A26, taken_at="2026-05-16T14:19:31", subject="tag", tag=14, surface="sacking", distance_mm=240, tilt=9, turn=4,
        blur_px=5.0, shake_px=52.0, shake_angle=64, expect="not measured", expect_match="waiting", notes="tag shot missed: too blurred to read",
    ),
    _clump(
        "LF350397.JPG", A26, "2026-05-16T14:19:47", 14, 1, surface="sacking", pegged=False, tilt=9, tilt_from=255, turn=3, laid=10,
        expect_match="waiting", notes="its tag shot was missed: must wait, not land on 0013",
    ),
    _clump("LF350398.JPG", A26, "2026-05-16T14:22:50", 15, 1, surface="slate", tilt=12, tilt_from=290, turn=-3, laid=95, offset="+12:00", notes="the one photo with a zone"),
    _clump("LF350399.JPG", A26, "2026-05-16T14:25:08", 16, 1, surface="slate", tilt=5, tilt_from=45, turn=8, laid=180, side="left"),
    _clump("LF350400.JPG", A26, "2026-05-16T17:12:36", 21, 1, surface="bench", light="dusk", tilt=8, tilt_from=270, turn=-5, laid=285, blur_px=0.8),
    _clump("LF350401.JPG", A26, "2026-05-16T17:15:59", 22, 1, surface="sacking", light="dusk", tilt=16, tilt_from=250, turn=4, laid=330, blur_px=0.8),
    _clump(
        "LP280057.JPG", A26, "2026-05-16T15:24:19", 15, 1, surface="slate", tilt=6, tilt_from=110, turn=-172, laid=95, camera=POCKET_28,
        notes="second camera, its clock an hour fast (taken at 14:24:19)",
    ),
    Shot(
        file="LF350420.JPG", folder=A26, taken_at="2026-06-06T11:02:45", subject="tray", tag=101, surface="bench", tilt=14, tilt_from=265, turn=2,
        distance_mm=790, expect="not measured", notes="tray of 40 pot tubers",
    ),
)


def shot_named(name: str) -> Shot:
    """The shot of this file name; ``ValueError`` where there is none."""
    for shot in SHOTS:
        if shot.file == name or shot.file.partition(".")[0] == name:
            return shot
    msg = f"no shot {name!r} in the list"
    raise ValueError(msg)
