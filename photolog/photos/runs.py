"""Reason two: runs, opened by a tag shot on one camera and closed as soon as anything is doubtful.

On a lifting day one tag has one clump: the first clump after the tag shot is its own, and a further
one waits unless it is evidently the same again. A photo without a card and without a readable tag
may be a tag shot that failed, so it closes the run as well.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from photolog.photos.camera_days import camera_days, gap_s
from photolog.photos.counting import doubt_between
from photolog.photos.facts import (
    Candidate,
    Garden,
    Holder,
    MatchSettings,
    PhotoFacts,
    tag_text,
)
from photolog.photos.tags_read import TagVerdict, is_tag_shot

__all__ = ["RunVerdict", "Side", "follow_runs", "looks_the_same", "side_of_tag_shots"]

# How sure each step is (judgement, no source).
_FIRST = 0.98
_FIRST_AT_PAUSE = 0.94
_FIRST_WITH_GAP = 0.9
_AGAIN = 0.96
_SIDE_UNCLEAR = 0.6
_SECOND = 0.3
_NO_CARD = 0.2
_AFTER_CLOSED = 0.2

Side = Literal["before", "after", "unclear"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunVerdict:
    """What the run that a photo stands in says: a candidate, or only why there is none.

    ``disturbed``: something came between, so that nothing weaker may match this photo by itself.
    """

    found: Candidate | None = None
    because: str = ""
    candidates: tuple[Candidate, ...] = ()
    disturbed: bool = False


@dataclass(slots=True)
class _Run:
    """An open run: its tag, its holder (None: nobody held the tag) and what it has had so far.

    ``probability`` is that of its first subject: a further shot of it is no surer.
    """

    tag: int
    holder: Holder | None
    because: str
    last: PhotoFacts
    subject: PhotoFacts | None = None
    probability: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Closed:
    """A run just closed, and why: the next photo may still be offered its plant."""

    run: _Run
    because: str


def follow_runs(
    photos: Iterable[PhotoFacts],
    verdicts: Mapping[int, TagVerdict],
    garden: Garden,
    settings: MatchSettings,
) -> dict[int, RunVerdict]:
    """What runs say of the dated photos of known cameras that have no tag of their own."""
    found: dict[int, RunVerdict] = {}
    for _, day in camera_days(photos):
        side = side_of_tag_shots(day, verdicts, settings)
        if side == "after":
            day.reverse()
        found.update(_Follower(verdicts, garden, settings, side).through(day))
    return found


def side_of_tag_shots(
    day: Sequence[PhotoFacts], verdicts: Mapping[int, TagVerdict], settings: MatchSettings
) -> Side:
    """Whether one day's tag shots on one camera come before or after their plants.

    Each tag shot speaks for the nearer in time of its two neighbours that have no tag of their
    own, if that one is near: from plant to plant takes longer than from a tag to its plant.
    Shooting the tag first is the rule; the other way has to show at least twice, and a day that
    says both leaves it to the grower. Where the settings say it, nothing is learnt.
    """
    if settings.tag_shot != "learn":
        return settings.tag_shot
    before = after = tag_shots = 0
    for at, photo in enumerate(day):
        if not is_tag_shot(photo, verdicts[photo.photo_id], settings):
            continue
        tag_shots += 1
        gaps = [
            gap_s(photo, day[beside])
            if 0 <= beside < len(day) and _is_bare_subject(day[beside], verdicts)
            else math.inf
            for beside in (at - 1, at + 1)
        ]
        if min(gaps) <= settings.side_within_s:
            before += gaps[1] < gaps[0]
            after += gaps[0] < gaps[1]
    if after == 0 or before >= 4 * after:
        return "before"
    if after >= 2 and after >= 4 * before and 4 * after >= 3 * tag_shots:
        return "after"
    return "unclear"


class _Follower:
    """Goes through one camera's day in order and keeps the run that is open."""

    def __init__(
        self,
        verdicts: Mapping[int, TagVerdict],
        garden: Garden,
        settings: MatchSettings,
        side: Side,
    ) -> None:
        self.verdicts = verdicts
        self.garden = garden
        self.settings = settings
        self.side = side
        self.run: _Run | None = None
        self.closed: _Closed | None = None

    def through(self, day: Sequence[PhotoFacts]) -> dict[int, RunVerdict]:
        """A verdict for each photo of whom the runs say anything."""
        found: dict[int, RunVerdict] = {}
        for photo in day:
            verdict = self._next(photo)
            if verdict is not None and photo.decided is None:
                found[photo.photo_id] = verdict
        return found

    def _next(self, photo: PhotoFacts) -> RunVerdict | None:
        self._close_after_pause(photo)
        tags = self.verdicts[photo.photo_id]
        if is_tag_shot(photo, tags, self.settings):
            self._open(photo, tags)
            return None
        if photo.decided is not None or tags.speaks:
            self._pass_owned(photo, tags)
            return None
        if photo.shows is None and photo.has_word:
            # A word card after a tag shot says what happened to that plant; the run goes on.
            if self.run is not None:
                self.run.last = photo
            return None
        if photo.shows is None:
            return self._without_card()
        return self._subject(photo)

    def _close_after_pause(self, photo: PhotoFacts) -> None:
        pause_s = 60.0 * self.settings.pause_minutes
        if self.run is not None and gap_s(self.run.last, photo) > pause_s:
            self._close(f"more than {self.settings.pause_minutes:g} minutes passed")
        if self.closed is not None and gap_s(self.closed.run.last, photo) > pause_s:
            self.closed = None

    def _open(self, photo: PhotoFacts, tags: TagVerdict) -> None:
        holder = tags.found.holder if tags.found is not None else None
        if photo.decided is not None:
            holder = photo.decided[0] if len(photo.decided) == 1 else None
        self.closed = None
        self.run = _Run(
            tag=tags.number or 0,
            holder=holder,
            because=tags.because,
            last=photo,
        )

    def _close(self, because: str) -> None:
        if self.run is not None:
            self.closed = _Closed(run=self.run, because=because)
        self.run = None

    def _pass_owned(self, photo: PhotoFacts, tags: TagVerdict) -> None:
        """A photo that says by itself, or by hand, whose it is: another's closes the run."""
        if self.run is None:
            return
        if photo.decided is not None:
            owners: tuple[Holder, ...] = photo.decided
        else:
            surely = tags.found is not None and tags.found.probability >= self.settings.threshold
            owners = (tags.found.holder,) if tags.found is not None and surely else ()
        if self.run.holder is not None and self.run.holder in owners:
            self.run.last = photo
            if photo.shows is not None:
                self.run.subject = photo
        else:
            self._close("a photo with another tag came between")

    def _without_card(self) -> RunVerdict | None:
        run = self.run
        if run is None:
            return None
        what = "a photo without card and without a readable tag"
        self._close(f"{what} came between: it may be a tag shot that failed")
        if run.holder is None:
            return None
        because = (
            f"It follows the tag shot of {tag_text(run.tag)}, but has neither card nor a readable "
            "tag: it may be the next plant's tag."
        )
        return RunVerdict(
            because=because,
            candidates=(self._candidate(run, because, _NO_CARD),),
            disturbed=True,
        )

    def _subject(self, photo: PhotoFacts) -> RunVerdict | None:
        run = self.run
        if run is None:
            return self._after_closed()
        if run.holder is None:
            self._close("its tag is of no known plant")
            return RunVerdict(because=f"By the tag shot beside it: {run.because}", disturbed=True)
        if run.subject is None:
            apart_s = gap_s(run.last, photo)
            probability = _FIRST - (_FIRST - _FIRST_AT_PAUSE) * apart_s / (
                60.0 * self.settings.pause_minutes
            )
            doubt = doubt_between(run.last, photo)
            if doubt:
                probability = _FIRST_WITH_GAP
            run.subject = run.last = photo
            run.probability = probability
            order = "before" if self.side == "after" else "after"
            because = (
                f"The first {photo.shows} {order} the tag shot of {tag_text(run.tag)} "
                f"({_lapse(apart_s)}), held by {self.garden.named(run.holder)}."
            )
            if doubt:
                because += f" But {doubt}."
            return self._matched(run, because, probability)
        if self._same_again(run, photo):
            apart_s = gap_s(run.last, photo)
            run.last = photo
            because = (
                f"The same {photo.shows} again, {_lapse(apart_s)} from the last photo of it "
                f"(tag shot of {tag_text(run.tag)}, {self.garden.named(run.holder)})."
            )
            return self._matched(run, because, min(_AGAIN, run.probability))
        because = (
            f"A further {photo.shows} on one tag shot ({tag_text(run.tag)}): it may be another "
            "plant whose tag was not photographed."
        )
        self._close(f"a further {photo.shows} came between")
        return RunVerdict(
            because=because, candidates=(self._candidate(run, because, _SECOND),), disturbed=True
        )

    def _after_closed(self) -> RunVerdict | None:
        if self.closed is None or self.closed.run.holder is None:
            return None
        run = self.closed.run
        because = f"The run of tag {tag_text(run.tag)} was closed: {self.closed.because}."
        return RunVerdict(
            because=because,
            candidates=(self._candidate(run, because, _AFTER_CLOSED),),
            disturbed=True,
        )

    def _same_again(self, run: _Run, photo: PhotoFacts) -> bool:
        if run.subject is None:
            return False
        copied = gap_s(run.last, photo) == 0.0 and run.last.shows == photo.shows
        if not copied and doubt_between(run.last, photo):
            return False
        return looks_the_same(run.last if run.last.shows else run.subject, photo, self.settings)

    def _matched(self, run: _Run, because: str, probability: float) -> RunVerdict:
        if self.side == "unclear":
            because += " But that day's tag shots don't show whether they come before or after."
            probability = _SIDE_UNCLEAR
        return RunVerdict(
            found=self._candidate(run, because, probability),
            because=because,
            disturbed=self.side == "unclear",
        )

    def _candidate(self, run: _Run, because: str, probability: float) -> Candidate:
        if run.holder is None:
            msg = "a run of no known plant has no candidate"
            raise ValueError(msg)
        return Candidate(
            holder=run.holder, tag=run.tag, reason="run", because=because, probability=probability
        )


def looks_the_same(one: PhotoFacts, other: PhotoFacts, settings: MatchSettings) -> bool:
    """Whether two photos of one camera are evidently two shots of the same clump or bloom.

    They were taken within seconds of each other and look the same. Of blooms without a sketch of
    the picture the time alone decides, of clumps never: on a lifting day the next one comes soon.
    """
    if one.shows is None or one.shows != other.shows:
        return False
    within_s = settings.again_bloom_s if one.shows == "bloom" else settings.again_clump_s
    if gap_s(one, other) > within_s:
        return False
    if one.likeness is None or other.likeness is None:
        return one.shows == "bloom"
    return (one.likeness ^ other.likeness).bit_count() <= settings.again_bits


def _is_bare_subject(photo: PhotoFacts, verdicts: Mapping[int, TagVerdict]) -> bool:
    return photo.shows is not None and not verdicts[photo.photo_id].speaks


def _lapse(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
