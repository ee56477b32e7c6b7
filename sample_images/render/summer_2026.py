"""The seedlings' blooms of January to March 2026."""

from __future__ import annotations

from shot import Shot, bloom_shot

__all__ = ["SUMMER_2026"]


SUMMER_2026: tuple[Shot, ...] = (
    bloom_shot("LF350203.JPG", "2026-01-18T10:04:31", 31, 0, tilt=6, tilt_from=260, turn=2),
    bloom_shot("LF350204.JPG", "2026-01-18T10:07:12", 32, 0, tilt=10, tilt_from=80, turn=-4),
    bloom_shot("LF350205.JPG", "2026-01-18T10:09:48", 33, 0, tilt=5, tilt_from=180, turn=5),
    bloom_shot("LF350206.JPG", "2026-01-18T10:12:20", 34, 0, tilt=9, tilt_from=270, turn=-2),
    bloom_shot(
        "LF350207.JPG",
        "2026-01-18T10:31:05",
        31,
        0,
        seed=3109,
        card="",
        pegged=False,
        tilt=14,
        tilt_from=250,
        turn=-3,
        distance_mm=430,
        expect="not measured",
        notes="no card: history only; the tag hangs beside the bloom",
    ),
    bloom_shot(
        "LF350241.JPG",
        "2026-02-14T18:40:02",
        31,
        1,
        light="evening",
        neighbour=33,
        tilt=7,
        tilt_from=300,
        turn=-3,
        notes="a neighbour's tag, 0033, small in the background",
    ),
    bloom_shot(
        "LF350242.JPG", "2026-02-14T18:43:37", 32, 1, light="evening", tilt=4, tilt_from=10, turn=3
    ),
    bloom_shot(
        "LF350243.HEIC",
        "2026-02-14T18:46:11",
        33,
        1,
        light="evening",
        tilt=12,
        tilt_from=240,
        turn=-5,
        notes="HEIC",
    ),
    bloom_shot(
        "LF350244.JPG", "2026-02-14T18:49:50", 34, 1, light="evening", tilt=6, tilt_from=100, turn=4
    ),
    bloom_shot(
        "LF350246.JPG",
        "2026-02-14T19:20:33",
        33,
        1,
        light="evening",
        tilt=8,
        tilt_from=200,
        turn=1,
        blur_px=2.5,
        shake_px=34.0,
        expect="refused",
        expect_match="waiting",
        notes="blurred by movement: neither card nor tag can be read",
    ),
    bloom_shot(
        "LF350287.JPG",
        "2026-03-14T09:15:44",
        31,
        2,
        light="overcast",
        tilt=9,
        tilt_from=220,
        turn=88,
        orientation=6,
        notes="turned by EXIF (Orientation 6)",
    ),
    bloom_shot(
        "LF350288.JPG",
        "2026-03-14T09:18:09",
        32,
        2,
        light="overcast",
        tilt=7,
        tilt_from=330,
        turn=-6,
    ),
    bloom_shot(
        "LF350289.JPG", "2026-03-14T09:20:57", 33, 2, light="overcast", tilt=8, tilt_from=90, turn=3
    ),
    bloom_shot(
        "LF350290.JPG",
        "2026-03-14T09:23:30",
        34,
        2,
        light="overcast",
        tilt=13,
        tilt_from=250,
        turn=-3,
    ),
    bloom_shot(
        "LF350291.JPG",
        "2026-03-14T09:26:02",
        34,
        2,
        light="overcast",
        tilt=9,
        tilt_from=265,
        turn=2,
        cut_to=0.4,
        expect="refused",
        expect_match="no plant",
        notes="the file breaks off at 40 %: it can't be taken in",
    ),
)
