"""The sample photographs' true sizes and owners, read from truth.csv."""

import csv
from pathlib import Path

__all__ = ["SAMPLES", "TRUTH"]

SAMPLES = Path(__file__).parent.parent / "sample_images"


def _read():
    path = SAMPLES / "truth.csv"
    with path.open(encoding="utf-8", newline="") as lines:
        return {f"{row['folder']}/{row['file']}": row for row in csv.DictReader(lines)}


TRUTH = _read()
