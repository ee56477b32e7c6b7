"""The waiting list in lines: each outing with what is proposed, and what to type."""

from __future__ import annotations

from collections.abc import Sequence

from photolog.book.waiting import WaitingCandidate, WaitingPhoto
from photolog.book.waiting_runs import WaitingRun, is_sure, likely
from photolog.reports.wording import day_text
from photolog.spans import spans
from photolog.tables import lines_of

__all__ = [
    "candidate_name",
    "how_likely",
    "others_text",
    "run_title",
    "same_in_a_row",
    "waiting_text",
]

# How likely a candidate is, in words; the figure itself is kept in the stock book.
_HOW_LIKELY = ((0.95, "surely"), (0.7, "likely"), (0.25, "perhaps"), (0.0, "hardly"))
_ONE_IN = (2, 3, 5, 10, 20, 50, 100, 1000)


def waiting_text(runs: Sequence[WaitingRun]) -> str:
    """Every run with its photos, their likeliest plants, and what decides all of it at once."""
    lines: list[str] = []
    for run in runs:
        if lines:
            lines.append("")
        lines.append(lines_of(run_title(run)))
        for some in same_in_a_row(run.photos):
            lines += _photo_lines(some)
        if run.by_order:
            numbers = spans((one.photo_id for one in run.photos), sep=",")
            lines.append(lines_of(f"photolog decide {numbers} proposed", indent=2))
            left = len(run.unsure)
            takes = f"takes the {len(run.sure)} that are sure"
            lines.append(lines_of(f"{takes}; {left} more wait." if left else f"{takes}.", indent=4))
    return "\n".join(lines)


def run_title(run: WaitingRun) -> str:
    """When, with which camera, how many photos, and how many of them are sure."""
    photos = "1 photo" if len(run.photos) == 1 else f"{len(run.photos)} photos"
    if run.on is None or run.first_at is None or run.last_at is None:
        return f"Without a date or a known camera: {photos}."
    at, until = f"{run.first_at:%H:%M}", f"{run.last_at:%H:%M}"
    span = f"at {at}" if at == until else f"between {at} and {until}"
    title = f"{photos} of {day_text(run.on)}, {span} ({run.camera})"
    if not run.by_order:
        return f"{title}:"
    unsure = len(run.unsure)
    return f"{title}, laid along their order: {len(run.sure)} sure, {unsure or 'none'} not."


def same_in_a_row(photos: Sequence[WaitingPhoto]) -> list[list[WaitingPhoto]]:
    """Photos in a row of which the same is proposed for the same reason, together."""
    found: list[list[WaitingPhoto]] = []
    for photo in photos:
        if found and _what_is_said(found[-1][-1]) == _what_is_said(photo):
            found[-1].append(photo)
        else:
            found.append([photo])
    return found


def candidate_name(one: WaitingCandidate) -> str:
    """A candidate's tag and name: ``tag 0012 “Wherry Lamp”``."""
    return f"tag {one.tag:04d} {one.name}" if one.tag else f"{one.name}, without a tag"


def how_likely(one: WaitingCandidate) -> str:
    """A candidate's probability in a word: surely, likely, perhaps, hardly."""
    return next(word for least, word in _HOW_LIKELY if one.probability >= least)


def others_text(others: int, at_most: float) -> str:
    """The candidates that are not shown, counted; '' where there are none."""
    if not others:
        return ""
    plants = "1 other" if others == 1 else f"{others} others"
    one_in = max((n for n in _ONE_IN if at_most <= 1.0 / n), default=1)
    least = "" if one_in == 1 else f", none likelier than 1 in {one_in}"
    return f"and {plants}{least if others > 1 else least.replace('none', 'not')}"


def _what_is_said(photo: WaitingPhoto) -> tuple[object, ...]:
    shown = likely(photo.candidates)
    return (
        photo.because,
        tuple((one.stock, how_likely(one), one.because) for one in shown.shown),
        is_sure(photo),
    )


def _photo_lines(some: Sequence[WaitingPhoto]) -> list[str]:
    first = some[0]
    numbers = spans((one.photo_id for one in some), sep=",")
    names = first.name if len(some) == 1 else f"{first.name} to {some[-1].name}"
    when = f"{first.taken_at:%H:%M}" if first.taken_at else "no date"
    shown = likely(first.candidates)
    if is_sure(first):
        said = f"{candidate_name(first.candidates[0])}"
        return [lines_of(f"{numbers:>5}  {names}  {when}  {said}", indent=0)]
    lines = [f"{numbers:>5}  {names}  {when}  {first.shows or ''}".rstrip()]
    lines.append(lines_of(first.because, indent=7))
    for one in shown.shown:
        why = "" if one.because == first.because else f": {one.because}"
        lines.append(lines_of(f"{candidate_name(one)}, {how_likely(one)}{why}", indent=9))
    if more := others_text(shown.others, shown.at_most):
        lines.append(lines_of(more, indent=9))
    return lines
