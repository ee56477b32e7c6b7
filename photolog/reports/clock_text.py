"""Cameras and their clocks in lines: what was put right, what is proposed, what fell back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from photolog.book.cameras import BEGINNING, CameraView, ClockCorrection
from photolog.book.clock_proposals import ClockProposal
from photolog.book.clocks import Learnt
from photolog.book.fallen_clocks import FallenClock
from photolog.book.telling_apart import CameraLines
from photolog.photos.file_numbers import CountedSpan
from photolog.spans import spans
from photolog.tables import lines_of
from photolog.terms import ClockReason

__all__ = ["amount_text", "clocks_text", "learnt_text", "proposal_text", "taken_back_text"]

_MINUTE, _HOUR, _DAY = 60, 3600, 86_400

_LOOKS_LIKE = {
    ClockReason.OTHER_CAMERA: "",
    ClockReason.ANOTHER_ZONE: "perhaps it is set to another zone",
    ClockReason.SUMMER_TIME: "it was not changed when clocks were put forward or back",
    ClockReason.FIRST_DAY: "it had fallen back to its first day",
}


def amount_text(add_seconds: int) -> str:
    """By how much a clock is out: ``47 minutes slow``, ``7 hours fast``, ``right``."""
    if add_seconds == 0:
        return "right"
    seconds = abs(add_seconds)
    minutes = round(seconds / _MINUTE)
    if seconds >= 2 * _DAY:
        hours = round(seconds / _HOUR)
        parts = [f"{hours // 24:,} days", _number(hours % 24, "hour")]
    elif minutes >= 60:
        parts = [_number(minutes // 60, "hour"), _number(minutes % 60, "minute")]
    elif minutes >= 10:
        parts = [_number(minutes, "minute")]
    else:
        parts = [_number(seconds // _MINUTE, "minute"), _number(seconds % _MINUTE, "second")]
    said = " ".join(part for part in parts if part)
    return f"{said} {'slow' if add_seconds > 0 else 'fast'}"


def clocks_text(
    cameras: Sequence[CameraView],
    proposals: Sequence[ClockProposal],
    fallen: Sequence[FallenClock],
    several: Sequence[CameraLines] = (),
) -> str:
    """Every camera with its corrections; what is proposed, what fell back, what may be two."""
    if not cameras:
        return "No photo in the stock book names its camera."
    lines = []
    for camera in cameras:
        lines.append(f"{camera.label}: {_photos(camera.photos)}")
        for one in camera.corrections:
            note = f" ({one.note})" if one.note else ""
            said = f"{one.id}  {amount_text(one.add_seconds)}, {_when(one)}{note}"
            lines.append(lines_of(said, indent=_indent(one.id)))
    if proposals:
        numbers = spans((one.id for one in proposals), sep=",")
        lines += [
            "",
            lines_of(
                f"Proposed, and not used until you say so (photolog clock-confirm {numbers}, or "
                f"clock-refuse {numbers}):"
            ),
            *(proposal_text(one) for one in proposals),
        ]
    lines += [line for one in fallen for line in ("", _fallen(one))]
    lines += [line for one in several for line in ("", _several(one))]
    return "\n".join(lines)


def proposal_text(one: ClockProposal) -> str:
    """A proposal by its number: which camera, by how much, when, and what says so."""
    looks_like = _LOOKS_LIKE[one.kind]
    if one.kind is ClockReason.ANOTHER_ZONE and abs(one.add_seconds) == _HOUR:
        looks_like = (
            "perhaps it was not changed when clocks were put forward or back, or it is set to "
            "another zone"
        )
    said = (
        f"{one.id}  {one.camera}: {amount_text(one.add_seconds)}, "
        f"{_span_text(one.since, one.until, one.span)}{f': {looks_like}' if looks_like else ''}."
    )
    return f"{lines_of(said, indent=_indent(one.id))}\n{lines_of(one.because, indent=7)}"


def learnt_text(learnt: Learnt) -> str:
    """A clock just put right, and for how many photos."""
    one = learnt.correction
    return lines_of(
        f"{learnt.camera.label}: {amount_text(one.add_seconds)}, {_when(one)}: "
        f"{_photos(learnt.photos)}."
    )


def taken_back_text(learnt: Learnt) -> str:
    """A correction just taken back."""
    one = learnt.correction
    said = (
        f"{learnt.camera.label}: no longer {amount_text(one.add_seconds)}, {_when(one)}: "
        f"{_photos(learnt.photos)}."
    )
    if learnt.again is not None:
        again = learnt.again
        said += f" As before, it is {amount_text(again.add_seconds)}, {_when(again)}."
    return lines_of(said)


def _indent(number: int) -> int:
    return max(0, 5 - len(str(number)))


def _when(one: ClockCorrection) -> str:
    return _span_text(one.since, one.until, one.span)


def _span_text(since: datetime | None, until: datetime | None, span: CountedSpan | None) -> str:
    if since == BEGINNING:
        since = None
    if span is not None:
        return (
            f"photos {span.counted_as}{span.first:04d} to {span.counted_as}{span.last:04d}"
            f"{f' dated from {since:%Y-%m-%d}' if since else ''}"
        )
    if since is None and until is None:
        return "always"
    parts = []
    if since is not None:
        parts.append(f"from {since:%Y-%m-%d %H:%M}")
    if until is not None:
        parts.append(f"until {until:%Y-%m-%d %H:%M}")
    return f"{' '.join(parts)} on its own clock"


def _fallen(one: FallenClock) -> str:
    count = len(one.photo_ids)
    names = one.first_name if count == 1 else f"{one.first_name} to {one.last_name}"
    when = "nothing but you can say when they were taken"
    if not one.by_counting:
        when = "that is before anything in your stock book"
    elif one.earliest is not None and one.latest is not None:
        when = (
            f"by their numbers they were taken from {one.earliest:%Y-%m-%d} to "
            f"{one.latest:%Y-%m-%d}"
        )
    first_week = one.said.month == 1 and one.said.day <= 7
    what = "the clock fell back to its first day" if first_week else "the clock was wrong"
    dated = f"is dated {one.said:%Y-%m-%d}" if count == 1 else f"are dated {one.said:%Y-%m-%d} on"
    return lines_of(
        f"{one.camera}: {what}. {_photos(count)} ({names}) {dated}; {when}. Put that right with "
        f"one whose time you know: photolog clock-read {one.photo_ids[0]} 14:05 --on DAY"
    )


def _several(one: CameraLines) -> str:
    spans_of = [
        f"{line.first_name} to {line.last_name} ({_photos(len(line.photo_ids))})"
        for line in one.lines
    ]
    other = min(one.lines, key=lambda line: len(line.photo_ids))
    return lines_of(
        f"{one.camera}: its files are counted in {len(one.lines)} lines side by side, "
        f"{' and '.join(spans_of)}: perhaps they are {len(one.lines)} cameras of one model. Tell "
        f"one from the other by one of its photos: photolog camera-apart {other.photo_ids[0]} NAME"
    )


def _photos(count: int) -> str:
    return "1 photo" if count == 1 else f"{count} photos"


def _number(count: int, unit: str) -> str:
    return f"{count} {unit}{'' if count == 1 else 's'}" if count else ""
