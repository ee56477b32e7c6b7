"""The waiting list in lines: each outing with what is proposed, and what to type."""

from __future__ import annotations

from collections.abc import Sequence

from photolog.book.waiting import WaitingCandidate, WaitingPhoto
from photolog.book.waiting_runs import WaitingRun, is_laid, likely
from photolog.reports.wording import day_text
from photolog.spans import spans
from photolog.tables import lines_of

__all__ = [
    "candidate_name",
    "how_likely",
    "laid_text",
    "others_text",
    "run_commands",
    "run_title",
    "same_in_a_row",
    "says_more",
    "waiting_brief",
    "waiting_text",
]

# How likely a candidate is, in words; the figure itself is kept in the stock book.
_HOW_LIKELY = ((0.95, "surely"), (0.7, "likely"), (0.25, "perhaps"), (0.0, "hardly"))
_NEAR_ENOUGH = 0.2
_NUMBERS = 7
_LONGEST_TYPED = 40
_ONE_IN = (2, 3, 5, 10, 20, 50, 100, 1000)


def waiting_text(runs: Sequence[WaitingRun]) -> str:
    """Every run with its photos, their likeliest plants, and what decides all of it at once."""
    lines: list[str] = []
    for run in runs:
        if lines:
            lines.append("")
        lines.append(lines_of(run_title(run)))
        for some in same_in_a_row(run):
            lines += _photo_lines(some, by_order=run.by_order)
        for command, takes in run_commands(run):
            lines.append(lines_of(command, indent=2))
            lines.append(lines_of(f"{takes}.", indent=4))
    return "\n".join(lines)


def waiting_brief(runs: Sequence[WaitingRun], *, most_runs: int = 12) -> str:
    """Each outing in a line, the newest of many, with what takes a whole one at once."""
    lines = []
    for run in runs[-most_runs:]:
        lines.append(lines_of(run_title(run).rstrip(":"), indent=2))
        lines += [lines_of(command, indent=4) for command, _ in run_commands(run)[-1:]]
    if len(runs) > most_runs:
        older = len(runs) - most_runs
        lines.insert(0, f"  {older} older outing{'' if older == 1 else 's'}, and:")
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
    sure, every = len(run.sure), len(run.proposed)
    counted = [
        f"{sure} sure" if sure else "",
        f"{every - sure} likelier than not" if every > sure else "",
        f"{len(run.photos) - every} open" if every < len(run.photos) else "",
    ]
    clumps = any(one.shows == "clump" for one in run.photos)
    order = "the order of lifting" if clumps else "their order in the bed"
    return f"{title}, laid along {order}: {', '.join(filter(None, counted))}."


def run_commands(run: WaitingRun) -> list[tuple[str, str]]:
    """What is typed to take a run that is laid along an order, and what each takes.

    Where the photos' numbers are many and scattered, the day stands for them.
    """
    if not run.by_order or not run.proposed:
        return []
    photos = spans((one.photo_id for one in run.photos), sep=",")
    sure, every = f"the {len(run.sure)} that are sure", f"the {len(run.proposed)}"
    if len(run.proposed) == len(run.photos):
        every = f"all {len(run.photos)}"
    if len(run.sure) < len(run.proposed):
        every += " that are likelier than not"
    if len(photos) > _LONGEST_TYPED:
        photos = f"{run.on}"
        sure, every = "what is sure of that day", "what is likelier than not of that day"
    found = []
    if 0 < len(run.sure) < len(run.proposed):
        found.append((f"photolog decide {photos} sure", f"takes {sure}"))
    back = "leave some out with --except, take it back with photolog undecide"
    found.append((f"photolog decide {photos} proposed", f"takes {every}; {back}"))
    return found


def same_in_a_row(run: WaitingRun) -> list[list[WaitingPhoto]]:
    """Photos in a row of which the same is proposed, together.

    Of an afternoon laid along an order that is the same plant, else for the same reason as well.
    """
    found: list[list[WaitingPhoto]] = []
    for photo in run.photos:
        said = _what_is_said(photo, by_order=run.by_order)
        if found and _what_is_said(found[-1][-1], by_order=run.by_order) == said:
            found[-1].append(photo)
        else:
            found.append([photo])
    return found


def laid_text(some: Sequence[WaitingPhoto]) -> str:
    """What an order says of photos: the plant, how likely, and the next one where that is near."""
    first = min(some, key=lambda one: one.candidates[0].probability)
    best, *others = first.candidates
    said = f"{candidate_name(best)}, {how_likely(best)}"
    if others and others[0].probability >= _NEAR_ENOUGH:
        said += f"; or {candidate_name(others[0])}"
    return said


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


def says_more(one: WaitingCandidate, photo: WaitingPhoto) -> bool:
    """Whether a candidate's reason says anything that its photo's does not say already."""
    return one.because not in photo.because.replace(" But: ", " ")


def _what_is_said(photo: WaitingPhoto, *, by_order: bool) -> tuple[object, ...]:
    if by_order and is_laid(photo):
        return (photo.candidates[0].stock, how_likely(photo.candidates[0]))
    shown = likely(photo.candidates)
    return (
        photo.because,
        tuple((one.stock, how_likely(one), one.because) for one in shown.shown),
    )


def _photo_lines(some: Sequence[WaitingPhoto], *, by_order: bool) -> list[str]:
    first = some[0]
    numbers = spans((one.photo_id for one in some), sep=",")
    when = f"{first.taken_at:%H:%M}" if first.taken_at else "no date"
    if by_order and is_laid(first):
        line = f"{numbers}  {when}  {laid_text(some)}"
        return [lines_of(line, indent=max(0, _NUMBERS - len(numbers)))]
    names = first.name if len(some) == 1 else f"{first.name} to {some[-1].name}"
    shown = likely(first.candidates)
    lines = [f"{numbers:>7}  {when}  {names}  {first.shows or ''}".rstrip()]
    lines.append(lines_of(first.because, indent=9))
    worth = [one for one in shown.shown if one.probability >= _NEAR_ENOUGH]
    for one in worth:
        why = f": {one.because}" if says_more(one, first) else ""
        lines.append(lines_of(f"{candidate_name(one)}, {how_likely(one)}{why}", indent=11))
    names_only = [candidate_name(one) for one in shown.shown[len(worth) :]]
    if more := others_text(shown.others, shown.at_most):
        names_only.append(more)
    if names_only:
        hardly = "" if not shown.shown[len(worth) :] else "hardly "
        lines.append(lines_of(f"{hardly}{', '.join(names_only)}", indent=11))
    return lines
