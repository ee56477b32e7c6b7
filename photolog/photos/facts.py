"""Photos as matching sees them, with the tags in view; and how it says whose each is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Literal

from photolog.photos.garden import Holder

__all__ = [
    "BoxFound",
    "Candidate",
    "Match",
    "MatchSettings",
    "PhotoFacts",
    "Reason",
    "Shows",
    "TagInView",
    "boxes_in_view",
    "moment",
    "tag_text",
    "tags_in_view",
]

Reason = Literal["tag", "run", "day book", "order", "copy"]

Shows = Literal["bloom", "clump"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchSettings:
    """How sure matching has to be, and what makes a tag shot and a run.

    The probabilities stated by matching and the limits here are judgement (no source): they are
    set so that a doubtful photo waits rather than lands on the wrong plant.

    Attributes
    ----------
    threshold : float
        What is less probable than this waits for the grower.
    pause_minutes : float
        A longer pause between two photos closes a run.
    tag_shot : "learn", "before" or "after"
        Whether the tag is shot before or after its plant; learnt from each day's photos.
    side_within_s : float
        Only plants within so many seconds of a tag shot teach on which side it is.
    tag_shot_share : float
        A tag shot's mark is at least this share of the picture's longer side.
    background_share : float
        Without a card, a tag whose mark is smaller than this share is in the background.
    background_ratio : float
        With a card, a tag seen at less than this ratio of the card's scale is in the background.
    beside_ratio : float
        With a card, a tag that isn't pegged to it lies beside it at this ratio of its scale or
        more; at less it may be a neighbour's, and waits.
    comparable_ratio : float
        Two tags whose marks differ by less than this factor are a choice for the grower.
    again_clump_s, again_bloom_s : float
        Within so many seconds of the last one, a further photo that looks the same is of the same
        clump or bloom.
    again_bits : int
        So many of 64 bits may differ between two pictures that look the same.
    """

    threshold: float = 0.95
    pause_minutes: float = 10.0
    tag_shot: Literal["learn", "before", "after"] = "learn"
    side_within_s: float = 30.0
    tag_shot_share: float = 0.06
    background_share: float = 0.02
    background_ratio: float = 0.5
    beside_ratio: float = 0.75
    comparable_ratio: float = 1.5
    again_clump_s: float = 10.0
    again_bloom_s: float = 30.0
    again_bits: int = 8

    def __post_init__(self) -> None:
        if not 0.5 <= self.threshold <= 1.0:
            msg = f"The threshold has to lie between 0.5 and 1, got {self.threshold:g}."
            raise ValueError(msg)
        if self.pause_minutes <= 0.0:
            msg = f"The pause has to be longer than nothing, got {self.pause_minutes:g} minutes."
            raise ValueError(msg)
        if self.tag_shot not in ("learn", "before", "after"):
            msg = f"Tag shots come 'before' or 'after', or 'learn', got {self.tag_shot!r}."
            raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class TagInView:
    """A tag in a photo; ``number`` None when only one half, then in ``half``, was read."""

    number: int | None
    half: tuple[Literal["left", "right"], int] | None
    side_px: float
    pegged: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFacts:
    """One photo as matching sees it.

    Attributes
    ----------
    taken_at : datetime or None
        Wall clock, the camera's correction added; None: no date that can be believed.
    subsec : str
        Decimals of the second, for the order within one second.
    put_back_s : int
        By how much its camera's clock was put back later that day, as its zones say: an hour that
        comes twice is put in order by this, and pauses are true.
    lot : int or None
        Its file has no date, and the grower told the day of it and others at once, which have the
        same number; ``subsec`` is then their order by name. None: it stands by itself.
    camera : int or None
        None where the file doesn't name its camera: such photos make no runs.
    shows : "bloom", "clump" or None
        What the card, or the grower, says that it shows; None: no card.
    has_word : bool
        Whether a word card was read.
    px_per_mm : float or None
        The card's scale.
    likeness : int or None
        64-bit sketch of the picture (``photolog.photos.hashes.likeness``).
    colour : tuple of three floats, or None
        A bloom's main colour as measured, CIELAB (D65), white balanced on the card.
    size_mm : tuple of two floats, or None
        How wide the bloom or the clump is as measured, and its standard uncertainty.
    roundness : float or None
        A clump's least width over its widest.
    boxes : tuple of int
        The numbers of the box tags in it.
    is_group : bool
        Whether the grower said that it shows several plants.
    decided : tuple of Holder, or None
        What the grower decided by hand (empty: no plant); None: nothing yet.
    """

    photo_id: int
    name: str
    taken_at: datetime | None
    subsec: str = ""
    put_back_s: int = 0
    lot: int | None = None
    date_problem: str | None = None
    camera: int | None
    longest_px: int
    shows: Shows | None
    has_card: bool
    has_word: bool = False
    px_per_mm: float | None = None
    tags: tuple[TagInView, ...] = ()
    likeness: int | None = None
    colour: tuple[float, float, float] | None = None
    size_mm: tuple[float, float] | None = None
    roundness: float | None = None
    boxes: tuple[int, ...] = ()
    is_group: bool = False
    decided: tuple[Holder, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxFound:
    """A box that a photo belongs to, and what says so."""

    box_id: int
    number: int
    because: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A plant or batch that a photo may belong to: the reason, in a sentence, how probable."""

    holder: Holder
    tag: int | None
    reason: Reason
    because: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """Where a photo stands after matching: with its plant or batch, or waiting and why.

    ``group`` are the plants and batches of a photo that shows several, ``found`` is then None.
    ``boxes`` are the boxes that it belongs to as well, whether it waits or not.
    """

    photo_id: int
    found: Candidate | None = None
    waiting_because: str | None = None
    contradiction: bool = False
    candidates: tuple[Candidate, ...] = field(default=())
    group: tuple[Candidate, ...] = field(default=())
    boxes: tuple[BoxFound, ...] = field(default=())

    @property
    def belongs_to(self) -> tuple[Candidate, ...]:
        """All plants and batches that it is matched to; none: it waits, or is of a box alone."""
        return self.group or (() if self.found is None else (self.found,))

    @property
    def box_alone(self) -> bool:
        """Whether it is of a box and of nothing else."""
        return bool(self.boxes) and not self.belongs_to and self.waiting_because is None


def moment(photo: PhotoFacts) -> tuple[datetime, float, str, int]:
    """What dated photos of one camera are put in order by."""
    if photo.taken_at is None:
        msg = f"{photo.name} has no date"
        raise ValueError(msg)
    at = photo.taken_at - timedelta(seconds=photo.put_back_s)
    return at, float(f"0.{photo.subsec or 0}"), photo.name, photo.photo_id


def tag_text(number: int) -> str:
    """A tag's number as printed on it."""
    return f"{number:04d}"


def tags_in_view(marks: Mapping[str, Any] | None) -> tuple[TagInView, ...]:
    """The tags of a photo, from the marks kept with it as JSON."""
    if marks is None:
        return ()
    return tuple(
        TagInView(
            number=tag["number"],
            half=(tag["half"][0], int(tag["half"][1])) if tag["half"] else None,
            side_px=float(tag["side_px"]),
            pegged=bool(tag["pegged"]),
        )
        for tag in marks["tags"]
    )


def boxes_in_view(marks: Mapping[str, Any] | None, *, least_px: float = 0.0) -> tuple[int, ...]:
    """The numbers of the box tags of a photo, largest first, from the marks kept as JSON.

    Those whose marks are smaller than ``least_px`` are in the background.
    """
    seen = [] if marks is None else marks.get("boxes", [])
    large = [box for box in seen if box["side_px"] >= least_px]
    return tuple(dict.fromkeys(int(box["number"]) for box in large))
