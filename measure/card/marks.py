"""How the 587 marks of the AprilTag 36h11 family are shared out, once and for good.

A printed mark outlives the program version that printed it, so nothing here may ever move.
"""

from __future__ import annotations

__all__ = [
    "BOX_LEFT",
    "BOX_NUMBERS",
    "CARD_MARKS",
    "TAG_LEFT",
    "TAG_NUMBERS",
    "TAG_PITCH",
    "TAG_RIGHT",
    "WORD_MARKS",
    "box_of_marks",
    "check_letter",
    "marks_of_box",
    "marks_of_tag",
    "tag_of_marks",
]

# A tag carries two marks side by side and so its number in two halves: tag 0423 has left mark 4 and
# right mark 23. A hundred left and a hundred right marks give 9,999 tags from 200 ids.
TAG_LEFT = range(100)
TAG_RIGHT = range(100, 200)
WORD_MARKS = range(200, 260)
# A box's tag carries a left mark of these and a right mark of a tag's, so that no plant's tag reads
# as a box's: box 203 has the third left mark of these and right mark 3.
BOX_LEFT = range(260, 264)
# 264 to 299 are kept free for what is not thought of yet.
CARD_MARKS = range(300, 587)

TAG_NUMBERS = range(1, 10_000)
BOX_NUMBERS = range(1, 400)

# From the middle of a tag's left mark to that of its right one, in sides of a mark: a gap of two
# modules, so that each mark keeps its white margin even when the other's ink has run.
TAG_PITCH = 1.25

# No I, O, S or Z, which a wet pencil turns into figures.
_CHECK_LETTERS = "ABCDEFGHJKLMNPQRTUV"


def marks_of_tag(number: int) -> tuple[int, int]:
    """Left and right mark id of the tag with this number (1 to 9999)."""
    if number not in TAG_NUMBERS:
        msg = f"tags are numbered 1 to 9999, got {number}"
        raise ValueError(msg)
    return TAG_LEFT[number // 100], TAG_RIGHT[number % 100]


def tag_of_marks(left: int, right: int) -> int:
    """Number of the tag that carries these two marks, left and right as printed."""
    if left not in TAG_LEFT or right not in TAG_RIGHT:
        msg = f"marks {left} and {right} are not the two halves of a tag"
        raise ValueError(msg)
    return TAG_LEFT.index(left) * 100 + TAG_RIGHT.index(right)


def marks_of_box(number: int) -> tuple[int, int]:
    """Left and right mark id of the tag of the box with this number (1 to 399)."""
    if number not in BOX_NUMBERS:
        msg = f"boxes are numbered 1 to 399, got {number}"
        raise ValueError(msg)
    return BOX_LEFT[number // 100], TAG_RIGHT[number % 100]


def box_of_marks(left: int, right: int) -> int:
    """Number of the box whose tag carries these two marks, left and right as printed."""
    if left not in BOX_LEFT or right not in TAG_RIGHT:
        msg = f"marks {left} and {right} are not the two halves of a box's tag"
        raise ValueError(msg)
    return BOX_LEFT.index(left) * 100 + TAG_RIGHT.index(right)


def check_letter(number: int) -> str:
    """Check letter printed beside a tag's number.

    The digits weighted 2, 3, 5, 7 and summed modulo the prime 19: every single wrong digit and
    every swap of neighbours gives another letter (tested over all ten thousand numbers).
    """
    digits = [int(d) for d in f"{number:04d}"]
    return _CHECK_LETTERS[sum(w * d for w, d in zip((2, 3, 5, 7), digits, strict=True)) % 19]
