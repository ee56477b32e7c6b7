"""Outlines of blooms in real photographs against outlines traced by hand.

    python tests/benchmarks/bench_outlines.py PICTURES TRACED

``PICTURES`` is a folder of JPEG files, ``TRACED`` one of JSON files of the same names, each
``{"points": [[x, y], ...], "cut_off": true or false}`` in pixels. The project carries no such
pictures but scikit-learn's dahlia (see ``tests/outside``); the figures in ``docs/figures.md`` were
measured on 97 photographs of an openly described dataset of flowers whose licence does not let them
be handed on.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import cv2
import numpy as np

from measure.outline.bloom import outline_bloom
from measure.outline.regions import widest_of
from measure.quality import Flag, MeasureError
from photolog.comparing.wilson import wilson_interval

__all__ = ["main"]

# Without a card the bloom nearest the middle is meant, and the picture's scale is anyone's guess:
# the shorter side is taken for so many millimetres, which only bounds the sizes looked for.
_SHORTER_SIDE_MM = 200.0


def _judged(picture: Path, traced: Path) -> tuple[float | None, bool, bool]:
    """Error of the widest measure in per cent (None: refused), whether flagged, whether cut off."""
    truth = json.loads(traced.read_text())
    pixels = cv2.imread(str(picture), cv2.IMREAD_COLOR_RGB)
    height, width = pixels.shape[:2]
    try:
        outline = outline_bloom(
            pixels,
            keep_out=np.zeros((height, width), dtype=bool),
            near=((width - 1) / 2, (height - 1) / 2),
            px_per_mm=min(height, width) / _SHORTER_SIDE_MM,
        )
    except MeasureError:
        return None, True, truth["cut_off"]
    wide = widest_of(np.array(truth["points"], dtype=np.float64))
    doubted = {Flag.OUTLINE_UNSURE, Flag.TOUCHES_EDGE} & set(outline.flags)
    return 100 * (widest_of(outline.points) / wide - 1), bool(doubted), truth["cut_off"]


def main() -> None:
    """Print how many are within 3 %, what is out by more than 10 %, and what was said of it."""
    pictures, traced = (Path(name) for name in sys.argv[1:3])
    results = {
        path.stem: _judged(path, traced / f"{path.stem}.json")
        for path in sorted(pictures.glob("*.jpg"))
        if (traced / f"{path.stem}.json").exists()
    }
    for title, chosen in (
        ("all", results),
        ("whole blooms", {k: v for k, v in results.items() if not v[2]}),
    ):
        errors = np.array([e for e, _, _ in chosen.values() if e is not None])
        good = int(np.count_nonzero(np.abs(errors) <= 3))
        low, high = wilson_interval(good, len(chosen))
        refused = sum(e is None for e, _, _ in chosen.values())
        flagged = sum(f for e, f, _ in chosen.values() if e is not None)
        silent = sum(e is not None and abs(e) > 10 and not f for e, f, _ in chosen.values())
        share = 100 * good / len(chosen)
        print(f"{title}: {len(chosen)} pictures")
        print(f"  within 3 %: {good}, {share:.0f} % (Wilson {100 * low:.0f} to {100 * high:.0f} %)")
        print(f"  median error {np.median(np.abs(errors)):.2f} %")
        print(f"  refused {refused}, flagged {flagged}; out by over 10 % and silent: {silent}")
    for name, (error, flagged, cut_off) in results.items():
        if error is None or abs(error) > 3:
            size = "refused" if error is None else f"{error:+.1f} %"
            said = " flagged" if flagged and error is not None else ""
            print(f"  {name}: {size}{said}{' cut off' if cut_off else ''}")


if __name__ == "__main__":
    main()
