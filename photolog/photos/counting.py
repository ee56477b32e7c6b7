"""What the file names say of two photos: a camera counts on, so a gap or a leap can be seen."""

from __future__ import annotations

import re
from pathlib import PurePath

from photolog.photos.facts import PhotoFacts, moment

__all__ = ["doubt_between"]

# A camera counts its files on; a longer leap is another count, not so many lost photos.
# What follows the number, as in "LF350394-edited" or "LF350394 (2)", is a copy's.
_COUNTED = re.compile(r"(\D*)(\d{3,7})(?:\D+\d?\D?)?")
_NUMBERED = re.compile(r"(\D*)\d{3}")
_MOST_SKIPPED = 50
_COUNTER_DIGITS = 4


def doubt_between(one: PhotoFacts, other: PhotoFacts) -> str:
    """What the names of two photos say against one camera having taken them in a row; "" nothing.

    A lost photo may have been the next tag. Two phones of one model that write no serial number
    pass for one camera, and only their counting tells them apart. Only names like LF350394 count;
    of those made of a date and a time, the beginning alone is compared.
    """
    first, last = (PurePath(photo.name).stem for photo in sorted((one, other), key=moment))
    two_cameras = f"{first} and {last} don't follow each other: they may be of two cameras"
    counted = _COUNTED.fullmatch(first), _COUNTED.fullmatch(last)
    if counted[0] is None or counted[1] is None:
        begun = _NUMBERED.match(first), _NUMBERED.match(last)
        if begun[0] is None or begun[1] is None:
            return ""
        neither_counts = counted[0] is None and counted[1] is None
        return "" if neither_counts and begun[0][1] == begun[1][1] else two_cameras
    if counted[0][1] != counted[1][1]:
        return two_cameras
    digits = counted[0][2]
    skipped = _counted_on(digits, counted[1][2]) - 1
    copied = skipped == -1 and one.taken_at == other.taken_at
    if skipped == 0 or copied:
        return ""
    if not 0 <= skipped <= _MOST_SKIPPED:
        return two_cameras
    missing = f"{counted[0][1]}{_next_number(digits)}"
    return f"by their numbers a photo between them is missing ({missing})"


def _counted_on(digits: str, later: str) -> int:
    """How far a camera counted from one number to a later one; its counter rolls over at the end.

    The last four digits are the counter, and 0001 (in some cameras 0000) follows 9999.
    """
    counter = min(len(digits), _COUNTER_DIGITS)
    highest = int("9" * counter)
    rolled = len(digits) == len(later) and digits[:-counter] == later[:-counter]
    if int(later) >= int(digits) or not rolled:
        return int(later) - int(digits)
    return highest - int(digits[-counter:]) + max(int(later[-counter:]), 1)


def _next_number(digits: str) -> str:
    counter = min(len(digits), _COUNTER_DIGITS)
    if digits[-counter:] == "9" * counter:
        return digits[:-counter] + f"{1:0{counter}d}"
    return f"{int(digits) + 1:0{len(digits)}d}"
