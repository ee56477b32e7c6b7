"""The command line: one file per noun, each command one call to the stock book and a print."""

from __future__ import annotations

import sys

__all__ = ["main"]

_NO_OPENCV = (
    "photolog can't load OpenCV, which it reads pictures with: {problem}\n"
    "On Debian or Ubuntu run:  apt-get install libgl1 libglib2.0-0\n"
)


# What the loader names when a system library that OpenCV needs is missing.
_SIGNS_OF_OPENCV = ("cv2", "libGL", "libgthread", "libglib")


def main() -> None:
    """Run the command line; a missing system library becomes a sentence, not a traceback."""
    try:
        from photolog.cli.app import app

        app()
    except ImportError as problem:
        if not any(sign in str(problem) for sign in _SIGNS_OF_OPENCV):
            raise
        sys.stderr.write(_NO_OPENCV.format(problem=problem))
        sys.exit(1)
