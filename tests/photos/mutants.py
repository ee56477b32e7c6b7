"""Photo files spoilt in every way that we could think of, each kind with a date of its own."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from random import Random
from typing import Literal

from tests.photos.blocks import (
    ASCII,
    DIGITIZED,
    GPS_AT,
    INTEROP_AT,
    LONG,
    ORIGINAL,
    SIZES,
    Entry,
    block,
    entries,
    file_with,
)
from tests.photos.written import ENDINGS

__all__ = ["KINDS_OF_SEED", "Mutant", "dates_held", "mutants"]

KINDS_OF_SEED = (*ENDINGS, "png, in text", "jpeg, big end first")

BAD_DATES = (
    b"", b"\0", b" ", b"0000:00:00 00:00:00", b"    :  :     :  :  ", b"????:??:?? ??:??:??",
    b"2025:02:30 10:00:00", b"2025:13:01 10:00:00", b"2025:05:17 24:00:00",
    b"2025:05:17 23:59:60", b"2025:05:17", b"2025:05:17 ", b"14:03:22", b"20250517140322",
    b"2025-05-17T14:03:22Z", b"2025-05-17T14:03:22+12:00", b"2025:05:17 14:03:22.123456789",
    b"2025:05:17 14:03:22+99:99", b"2025:5:7 4:3:2", b"-025:05:17 14:03:22", b"99999:05:17 14:03",
    b"9999:12:31 23:59:59", b"0001:01:01 00:00:00", b"1970:01:01 00:00:00", b"1904:01:01 00:00:00",
    b"17:05:2025 14:03:22", b"05/17/2025 02:03 PM", b"Sat May 17 14:03:22 2025",
    b"2025:05:17 14:03:22 garbage", b"garbage 2025:05:17 14:03:22",
    b"2025:05:17 14:03:22\0\0\0\0002024:01:01 10:00:00",
    "٢٠٢٥:٠٥:١٧ ١٤:٠٣:٢٢".encode(), "２０２５:05:17 14:03:22".encode(),
    b"\xff\xfe2\x000\x002\x005\x00", b"\xff" * 19, b"\x80" * 19, b"2025:05:17\x0014:03:22",
    b"2025:05:17\n14:03:22", b"1779000000", b"1.779e9", b"NaN", b"%Y:%m:%d %H:%M:%S",
    b"2" * 70_000, b"2025:05:17 14:03:22" * 4_000, b":" * 19, b"2025:05:17 99:99:99",
    b"2025:05:00 14:03:22", b"2025:00:17 14:03:22", b"2024:02:29 12:00:00", b"2023:02:29 12:00:00",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """One spoilt file: made from a seed of this kind, in this way."""

    number: int
    kind: str
    way: str
    data: bytes

    @property
    def name(self) -> str:
        """A file name that ends as its kind's do."""
        return f"{self.number:06d}{ENDINGS[self.kind.split(',')[0]]}"


def mutants(*, count: int, seed: int, only: tuple[int, int] = (0, 1)) -> Iterator[Mutant]:
    """So many mutants, the kinds and the ways in turn; the same for the same seed.

    ``only``: from which on, and every how manieth of them.
    """
    ways = list(WAYS)
    for number in range(only[0], count, only[1]):
        rng = Random(seed * 1_000_003 + number)
        kind = KINDS_OF_SEED[number % len(KINDS_OF_SEED)]
        way = ways[number // len(KINDS_OF_SEED) % len(ways)]
        yield Mutant(number=number, kind=kind, way=way, data=WAYS[way](rng, kind, number))


def dates_held(data: bytes) -> set[datetime]:
    """Every moment that a file's bytes hold in digits, also where it holds them as hex text."""
    found = set(_dates(data))
    for run in re.findall(rb"(?:[0-9a-fA-F]{2}\s?){40,}", data):
        found |= set(
            _dates(bytes.fromhex(re.sub(rb"[^0-9a-fA-F]", b"", run)[: len(run) // 2 * 2].decode()))
        )
    return found


def _dates(data: bytes) -> Iterator[datetime]:
    shape = rb"(?=(\d{4})[:\-/.](\d{1,2})[:\-/.](\d{1,2})[ T]+(\d{1,2}):(\d{1,2}):(\d{1,2}))"
    for *most, second in re.findall(shape, data):
        # What stands behind a text that ends after one digit may be a digit too.
        for last in {second, second[:1]}:
            with suppress(ValueError):
                yield datetime(*(int(part) for part in (*most, last)))  # type: ignore[arg-type]


def date_of(kind: str, number: int) -> bytes:
    """A seed's own date: no two seeds of a run share one."""
    second, minute = number % 60, number // 60 % 60
    hour, day = number // 3600 % 24, 1 + number // 86_400 % 28
    month = 1 + KINDS_OF_SEED.index(kind)
    return f"2025:{month:02d}:{day:02d} {hour:02d}:{minute:02d}:{second:02d}".encode()


def _order(kind: str) -> Literal["<", ">"]:
    return ">" if kind == "jpeg, big end first" else "<"


def _whole(rng: Random, kind: str, number: int) -> bytes:
    root, photo = entries(date_of(kind, number), rng)
    return file_with(kind, block(root, photo, order=_order(kind)))


def _changed(
    change: Callable[[Random, list[Entry], list[Entry]], dict[str, int] | None],
) -> Callable[[Random, str, int], bytes]:
    """A file whose block was made from entries that ``change`` spoilt; it may give pointers too."""

    def made(rng: Random, kind: str, number: int) -> bytes:
        root, photo = entries(date_of(kind, number), rng)
        pointers = change(rng, root, photo) or {}
        spoilt = block(root, photo, order=_order(kind), **pointers)
        if kind in ("webp", "avif", "heic"):
            # What they would look at themselves is left to the reader.
            return _put_in(kind, spoilt, rng, number)
        return file_with(kind, spoilt)

    return made


def _put_in(kind: str, spoilt: bytes, rng: Random, number: int) -> bytes:
    try:
        return file_with(kind, spoilt)
    except Exception:
        whole = _whole(rng, kind, number)
        root, photo = entries(date_of(kind, number), rng)
        at = whole.find(b"II*\0")
        length = len(block(root, photo))
        return whole[:at] + spoilt[:length].ljust(length, b"\0") + whole[at + length :]


def _bad_date(rng: Random, _: list[Entry], photo: list[Entry]) -> None:
    bad = rng.choice(BAD_DATES)
    if rng.random() < 0.3 and bad:
        cut = rng.randrange(len(bad[:40]))
        bad = bad[:cut] + rng.randbytes(rng.randrange(3)) + bad[cut:]
    both = rng.random() < 0.5
    count = len(bad) if rng.random() < 0.5 else len(bad) + 1
    for at, (tag, _, _, _) in enumerate(photo):
        if tag == ORIGINAL or (both and tag == DIGITIZED):
            photo[at] = (tag, ASCII, count, bad + b"\0" * (count - len(bad)))


def _wrong_type(rng: Random, root: list[Entry], photo: list[Entry]) -> None:
    for _ in range(rng.randrange(1, 6)):
        found, at = _one_of(rng, root, photo)
        tag, _, count, value = found[at]
        kind = rng.choice((*SIZES, 0, 13, 255, 65_535))
        fits = rng.random() < 0.5
        found[at] = (tag, kind, len(value) // SIZES.get(kind, 1) if fits else count, value)


def _huge_count(rng: Random, root: list[Entry], photo: list[Entry]) -> None:
    for _ in range(rng.randrange(1, 6)):
        found, at = _one_of(rng, root, photo)
        tag, kind, _, value = found[at]
        count = rng.choice((0, 0xFFFFFFFF, 0x7FFFFFFF, 0x10000000, 1_000_000, 65_536, 2**31))
        found[at] = (tag, kind, count, value.ljust(8, b"\0"))


def _one_of(rng: Random, root: list[Entry], photo: list[Entry]) -> tuple[list[Entry], int]:
    """An entry to spoil; half the time one of the two dates, which come first."""
    if rng.random() < 0.5:
        return photo, rng.randrange(2)
    found = rng.choice((root, photo))
    return found, rng.randrange(len(found))


def _pointers(rng: Random, root: list[Entry], photo: list[Entry]) -> dict[str, int]:
    """Directories that point at themselves, at each other, at values, before and behind all."""
    where = (0, 4, 8, 9, 10, 22, 100, 200, 400, 0xFFFFFFFF, 0x7FFFFFFF, rng.randrange(600))
    photo.append((INTEROP_AT, LONG, 1, rng.choice(where).to_bytes(4, "little")))
    root.append((GPS_AT, LONG, 1, rng.choice(where).to_bytes(4, "little")))
    found = {}
    if rng.random() < 0.7:
        found["next_at"] = rng.choice(where)
    if rng.random() < 0.5:
        found["photo_at"] = rng.choice(where)
    return found


def _doubled(rng: Random, root: list[Entry], photo: list[Entry]) -> None:
    for _ in range(rng.choice((1, 3, 2_000))):
        photo.append(rng.choice(photo[:10]))
    rng.shuffle(photo)
    if rng.random() < 0.5:
        root.extend(photo[:3])


def _flipped(rng: Random, kind: str, number: int) -> bytes:
    data = bytearray(_whole(rng, kind, number))
    for _ in range(rng.choice((1, 2, 5, 20))):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return bytes(data)


def _flipped_in_block(rng: Random, kind: str, number: int) -> bytes:
    data = bytearray(_whole(rng, kind, number))
    date = date_of(kind, number)
    at = data.find(date)
    low = max(0, (at if at >= 0 else len(data) // 3) - 250)
    high = min(len(data), low + 450)
    for _ in range(rng.choice((1, 2, 5, 20))):
        data[rng.randrange(low, high)] ^= 1 << rng.randrange(8)
    return bytes(data)


def _cut(rng: Random, kind: str, number: int) -> bytes:
    data = _whole(rng, kind, number)
    return data[: rng.randrange(len(data))]


def _zeros_at_the_end(rng: Random, kind: str, number: int) -> bytes:
    data = _whole(rng, kind, number)
    kept = rng.randrange(len(data))
    return data[:kept] + bytes(len(data) - kept)


def _block_cut(rng: Random, kind: str, number: int) -> bytes:
    root, photo = entries(date_of(kind, number), rng)
    spoilt = block(root, photo, order=_order(kind))
    spoilt = spoilt[: rng.randrange(16, len(spoilt))]
    return _put_in(kind, spoilt, rng, number) if kind != "tiff" else _cut(rng, kind, number)


def _moved(rng: Random, kind: str, number: int) -> bytes:
    """A piece taken out, doubled, or put somewhere else."""
    data = _whole(rng, kind, number)
    at, length = rng.randrange(len(data)), rng.randrange(1, 200)
    piece, rest = data[at : at + length], data[:at] + data[at + length :]
    to = rng.randrange(len(rest) + 1)
    return rng.choice((rest, data[:to] + piece + data[to:], rest[:to] + piece + rest[to:]))


def _spliced(rng: Random, kind: str, number: int) -> bytes:
    """The beginning of one file and the end of another, of any kind."""
    one = _whole(rng, kind, number)
    other = _whole(rng, rng.choice(KINDS_OF_SEED), number + 1)
    return one[: rng.randrange(len(one))] + other[rng.randrange(len(other)) :]


def _noise_in_block(rng: Random, kind: str, number: int) -> bytes:
    spoilt = rng.choice((b"II*\0", b"MM\0*", b"II+\0")) + rng.randbytes(rng.randrange(4, 600))
    if kind == "tiff":
        return spoilt
    return _put_in(kind, spoilt, rng, number)


WAYS: dict[str, Callable[[Random, str, int], bytes]] = {
    "bits flipped anywhere": _flipped,
    "bits flipped in the camera's notes": _flipped_in_block,
    "cut short": _cut,
    "zeros at the end": _zeros_at_the_end,
    "notes cut short": _block_cut,
    "pieces moved": _moved,
    "two files spliced": _spliced,
    "noise for notes": _noise_in_block,
    "dates of bad shapes": _changed(_bad_date),
    "wrong types": _changed(_wrong_type),
    "huge counts": _changed(_huge_count),
    "pointers in circles": _changed(_pointers),
    "entries doubled": _changed(_doubled),
}
