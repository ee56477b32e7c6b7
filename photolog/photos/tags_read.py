"""Reason one: the tag in the photo, and who held it on the day the photo was taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from photolog.photos.facts import Candidate, MatchSettings, PhotoFacts, TagInView, tag_text
from photolog.photos.garden import Garden, Holder, Holding

__all__ = ["TagVerdict", "is_tag_shot", "near_tags", "read_tags", "seen_behind"]

TAG_MARK_MM = 20.0
"""Side of the smallest tag's marks as printed."""

# How sure each reading is (judgement, no source).
_PEGGED = 0.995
_NEAR = 0.97
_LARGEST = 0.96
_CHOICE = 0.9
_BEHIND = 0.6
_BACKGROUND = 0.3
_HALF = 0.8
_HELD_ANOTHER_DAY = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class TagVerdict:
    """What the tags in one photo say.

    ``kind``: "clear", one tag, held by ``found``; "unresolved", one tag, but nobody held it that
    day; "choice", two tags alike; "half", only half of a tag; "background", only a small one far
    off; "none". ``number`` is the tag that counts, where there is one.
    """

    kind: Literal["clear", "unresolved", "choice", "half", "background", "none"]
    number: int | None = None
    found: Candidate | None = None
    because: str = ""
    candidates: tuple[Candidate, ...] = ()

    @property
    def speaks(self) -> bool:
        """Whether there is a tag that belongs to what the photo shows, readable or not."""
        return self.kind not in ("none", "background")


def read_tags(photo: PhotoFacts, garden: Garden, settings: MatchSettings) -> TagVerdict:
    """What the tags in a photo say of whose it is."""
    tags = _one_of_each(photo.tags)
    pegged = [tag for tag in tags if tag.pegged]
    near = pegged or [tag for tag in tags if not _in_background(tag, photo, settings)]
    if not near:
        far = [tag for tag in tags if tag.number is not None]
        if not far:
            return TagVerdict(kind="none")
        numbers = ", ".join(tag_text(tag.number or 0) for tag in far)
        return TagVerdict(
            kind="background",
            because=f"Only a small tag in the background could be read ({numbers}).",
            candidates=_candidates(far, photo, garden, _BACKGROUND),
        )
    alike = [tag for tag in near if tag.side_px * settings.comparable_ratio >= near[0].side_px]
    if pegged:
        alike = pegged
    if len(alike) > 1:
        return _choice(alike, photo, garden)
    main = near[0]
    if main.number is None:
        return _half(main, photo, garden)
    if not main.pegged and _behind_the_card(main, photo, settings):
        how, probability = "further away than the card, so that it may be a neighbour's", _BEHIND
    elif main.pegged:
        how, probability = "pegged to the card", _PEGGED
    elif len(tags) > 1:
        how, probability = "the largest in the photo", _LARGEST
    else:
        how, probability = "in the photo", _NEAR
    return _resolved(main.number, photo, garden, how=how, probability=probability)


def near_tags(photo: PhotoFacts, settings: MatchSettings) -> list[TagInView]:
    """The tags of a photo that are not in its background, each once, largest first."""
    return [
        tag
        for tag in _one_of_each(photo.tags)
        if tag.pegged or not _in_background(tag, photo, settings)
    ]


def seen_behind(photo: PhotoFacts, garden: Garden, settings: MatchSettings) -> list[Holder]:
    """The plants whose tags are in the background of a photo."""
    if photo.taken_at is None:
        return []
    day = photo.taken_at.date()
    return [
        holding.holder
        for tag in photo.tags
        if tag.number is not None and not tag.pegged and _in_background(tag, photo, settings)
        for holding in garden.holdings_of_tag.get(tag.number, ())
        if holding.on(day)
    ]


def is_tag_shot(photo: PhotoFacts, verdict: TagVerdict, settings: MatchSettings) -> bool:
    """Whether a photo is of a tag alone: one tag, large in the picture, and no card."""
    if photo.has_card or verdict.kind not in ("clear", "unresolved"):
        return False
    side_px = max(tag.side_px for tag in photo.tags if tag.number == verdict.number)
    return side_px >= settings.tag_shot_share * photo.longest_px


def _one_of_each(tags: Sequence[TagInView]) -> list[TagInView]:
    """The tags largest first; of a number seen twice (both sides, two labels) the better one."""
    ranked = sorted(tags, key=lambda tag: (not tag.pegged, -tag.side_px))
    kept: list[TagInView] = []
    for tag in ranked:
        if tag.number is None or all(tag.number != other.number for other in kept):
            kept.append(tag)
    return sorted(kept, key=lambda tag: -tag.side_px)


def _in_background(tag: TagInView, photo: PhotoFacts, settings: MatchSettings) -> bool:
    if photo.px_per_mm is not None:
        return tag.side_px < settings.background_ratio * photo.px_per_mm * TAG_MARK_MM
    return tag.side_px < settings.background_share * photo.longest_px


def _behind_the_card(tag: TagInView, photo: PhotoFacts, settings: MatchSettings) -> bool:
    if photo.px_per_mm is None:
        return False
    return tag.side_px < settings.beside_ratio * photo.px_per_mm * TAG_MARK_MM


def _resolved(
    number: int, photo: PhotoFacts, garden: Garden, *, how: str, probability: float
) -> TagVerdict:
    """The tag's holder on the photo's day, or why there is none."""
    holdings = garden.holdings_of_tag.get(number, ())
    tag = tag_text(number)
    if not holdings:
        because = (
            f"Tag {tag} is {how}, but no plant or batch in the stock book ever held it. "
            "Enter the one that does, and match again."
        )
        return TagVerdict(kind="unresolved", number=number, because=because)
    if photo.taken_at is None:
        because = f"Tag {tag} is {how}, but without a date nobody can say who held it then."
        every = _shared(holdings, because, garden, _CHOICE)
        return TagVerdict(kind="unresolved", number=number, because=because, candidates=every)
    day = photo.taken_at.date()
    holding = next((holding for holding in holdings if holding.on(day)), None)
    if holding is None:
        because = (
            f"Tag {tag} is {how}, but nobody held it on {day}. {_when_held(holdings, garden)} "
            "Put right the tag's dates or the camera's clock, or say whose photo it is."
        )
        others = _shared(holdings, because, garden, _HELD_ANOTHER_DAY)
        return TagVerdict(kind="unresolved", number=number, because=because, candidates=others)
    found = Candidate(
        holder=holding.holder,
        tag=number,
        reason="tag",
        because=f"Tag {tag} is {how}, held on {day} by {garden.named(holding.holder)}.",
        probability=probability,
    )
    return TagVerdict(kind="clear", number=number, found=found, because=found.because)


def _choice(tags: Sequence[TagInView], photo: PhotoFacts, garden: Garden) -> TagVerdict:
    numbers = [tag_text(tag.number) for tag in tags if tag.number is not None]
    if len(numbers) < len(tags):
        because = f"A second tag beside {', '.join(numbers)} could be read only in part."
        if not numbers:
            because = "Two tags are in the photo, neither of them readable."
    else:
        because = f"Several tags are in the photo ({', '.join(numbers)}): the choice is yours."
    return TagVerdict(
        kind="choice", because=because, candidates=_candidates(tags, photo, garden, _CHOICE)
    )


def _half(tag: TagInView, photo: PhotoFacts, garden: Garden) -> TagVerdict:
    """Half a tag narrows it to a hundred numbers: those held that day are candidates, no more."""
    side, figures = tag.half or ("left", 0)
    shape = f"{figures:02d}••" if side == "left" else f"••{figures:02d}"
    because = f"Only half of the tag could be read: {shape}."
    day = photo.taken_at.date() if photo.taken_at is not None else None
    fitting = [
        holding
        for holding in garden.holdings
        if (holding.tag // 100 if side == "left" else holding.tag % 100) == figures
        and (day is None or holding.on(day))
    ]
    return TagVerdict(
        kind="half", because=because, candidates=_shared(fitting, because, garden, _HALF)
    )


def _candidates(
    tags: Sequence[TagInView], photo: PhotoFacts, garden: Garden, total: float
) -> tuple[Candidate, ...]:
    """The holders of these tags on the photo's day, ``total`` shared out by the tags' size."""
    sizes = sum(tag.side_px for tag in tags)
    found: dict[Holder, Candidate] = {}
    for tag in tags:
        if tag.number is None:
            continue
        verdict = _resolved(
            tag.number,
            photo,
            garden,
            how="in the photo",
            probability=total * tag.side_px / sizes,
        )
        if verdict.found is not None:
            found.setdefault(verdict.found.holder, verdict.found)
    return tuple(found.values())


def _shared(
    holdings: Sequence[Holding], because: str, garden: Garden, total: float
) -> tuple[Candidate, ...]:
    """One candidate for each holder, the probability shared out evenly."""
    holders: dict[Holder, int] = {}
    for holding in holdings:
        holders.setdefault(holding.holder, holding.tag)
    return tuple(
        Candidate(
            holder=holder,
            tag=number,
            reason="tag",
            because=f"{because} {garden.named(holder)} held tag {tag_text(number)}.",
            probability=total / len(holders),
        )
        for holder, number in holders.items()
    )


def _when_held(holdings: Sequence[Holding], garden: Garden) -> str:
    def span(holding: Holding) -> str:
        until: date | None = holding.until_date
        end = f" to {until}" if until is not None else " on"
        return f"{garden.named(holding.holder)} held it from {holding.from_date}{end}"

    return "; ".join(span(holding) for holding in holdings) + "."
