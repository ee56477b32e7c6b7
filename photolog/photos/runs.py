"""Reason two: runs, opened by a tag shot on one camera and closed as soon as anything is doubtful.

On a lifting day one tag has one clump: the first clump after the tag shot is its own, and a further
one waits unless it is evidently the same again. A photo without a card and without a readable tag
may be a tag shot that failed, so it closes the run as well. What the grower decided goes on like a
tag: a photo without a card that was said to be of a plant opens its run where tags are shot that
day, and what lies beside a decided subject and looks the same, or is its unread tag shot, is its.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from photolog.photos.beside_decided import unread_tag_shots
from photolog.photos.camera_days import camera_days, gap_s, told_lots
from photolog.photos.counting import doubt_between
from photolog.photos.facts import Candidate, MatchSettings, PhotoFacts, tag_text
from photolog.photos.garden import Garden, Holder
from photolog.photos.run_verdicts import RunVerdict, offered_by_names
from photolog.photos.tag_sides import Side, side_of_tag_shots
from photolog.photos.tags_read import TagVerdict, is_tag_shot

__all__ = ["RunVerdict", "follow_runs", "looks_the_same"]

# How sure each step is (judgement, no source).
_FIRST = 0.98
_FIRST_AT_PAUSE = 0.94
_FIRST_WITH_GAP = 0.9
_AGAIN = 0.96
_SIDE_UNCLEAR = 0.6
_SECOND = 0.3
_NO_CARD = 0.2
_AFTER_CLOSED = 0.2


@dataclass(slots=True)
class _Run:
    """An open run: its tag, its holder (None: nobody held the tag) and what it has had so far.

    ``tag`` None: the grower's word opened it. ``probability`` is that of its first subject: a
    further shot of it is no surer. ``again_only``: it began with its subject, so that only further
    shots of that are its.
    """

    tag: int | None
    holder: Holder | None
    because: str
    last: PhotoFacts
    subject: PhotoFacts | None = None
    probability: float = 1.0
    again_only: bool = False

    @property
    def opened_by(self) -> str:
        """What opened it, for a sentence."""
        if self.tag is None:
            return "the photo that you decided"
        return f"the tag shot of {tag_text(self.tag)}"


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
    """What runs say of the photos that have no tag of their own.

    Of dated photos of known cameras; of those whose day was told at once, by the order of their
    names, for the grower to decide.
    """
    photos = list(photos)
    found: dict[int, RunVerdict] = {}
    for lot in told_lots(photos):
        verdicts_of_lot = _of_day(lot, verdicts, garden, settings)
        found |= {photo_id: offered_by_names(one) for photo_id, one in verdicts_of_lot.items()}
    for _, day in camera_days(photos):
        found |= _of_day(day, verdicts, garden, settings)
    return found


def _of_day(
    day: list[PhotoFacts],
    verdicts: Mapping[int, TagVerdict],
    garden: Garden,
    settings: MatchSettings,
) -> dict[int, RunVerdict]:
    """What the runs of one camera's day, or of one lot, say."""
    side = side_of_tag_shots(day, verdicts, settings)
    if side == "after":
        day.reverse()
    tags_shot = settings.tag_shot != "learn" or any(
        is_tag_shot(photo, verdicts[photo.photo_id], settings) for photo in day
    )
    follower = _Follower(verdicts, garden, settings, side, tags_shot=tags_shot)
    found = follower.through(day)
    if tags_shot and side != "unclear":
        found |= {
            photo_id: RunVerdict(found=one, because=one.because)
            for photo_id, one in unread_tag_shots(day, verdicts, garden).items()
        }
    return found


class _Follower:
    """Goes through one camera's day in order and keeps the run that is open."""

    def __init__(
        self,
        verdicts: Mapping[int, TagVerdict],
        garden: Garden,
        settings: MatchSettings,
        side: Side,
        *,
        tags_shot: bool,
    ) -> None:
        self.tags_shot = tags_shot
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
            if photo.decided is not None and len(photo.decided) == 1:
                self._open_decided(photo, photo.decided[0])
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

    def _open_decided(self, photo: PhotoFacts, holder: Holder) -> None:
        """The grower's word opens a run, as a tag shot does, or goes on with the one there is."""
        if (self.run is not None and self.run.holder == holder) or photo.has_word:
            return
        if photo.shows is None and not self.tags_shot:
            return
        self.closed = None
        self.run = _Run(
            tag=None,
            holder=holder,
            because="You said whose photo it is.",
            last=photo,
            subject=photo if photo.shows is not None else None,
            again_only=photo.shows is not None,
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
        if run.again_only:
            self.run = None
            return None
        what = "a photo without card and without a readable tag"
        self._close(f"{what} came between: it may be a tag shot that failed")
        if run.holder is None:
            return None
        because = (
            f"It follows {run.opened_by}, but has neither card nor a readable "
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
            held_by = "of" if run.tag is None else "held by"
            because = (
                f"The first {photo.shows} {order} {run.opened_by} "
                f"({_lapse(apart_s)}), {held_by} {self.garden.named(run.holder)}."
            )
            if doubt:
                because += f" But {doubt}."
            return self._matched(run, because, probability)
        if self._same_again(run, photo):
            apart_s = gap_s(run.last, photo)
            run.last = photo
            because = (
                f"The same {photo.shows} again, {_lapse(apart_s)} from the last photo of it "
                f"({run.opened_by}, {self.garden.named(run.holder)})."
            )
            return self._matched(run, because, min(_AGAIN, run.probability))
        if run.again_only:
            self.run = None
            return None
        because = (
            f"A further {photo.shows} after {run.opened_by}: it may be another plant whose tag was "
            "not photographed."
        )
        self._close(f"a further {photo.shows} came between")
        return RunVerdict(
            because=because, candidates=(self._candidate(run, because, _SECOND),), disturbed=True
        )

    def _after_closed(self) -> RunVerdict | None:
        if self.closed is None or self.closed.run.holder is None:
            return None
        run = self.closed.run
        whose = "the photo that you decided" if run.tag is None else f"tag {tag_text(run.tag)}"
        because = f"The run of {whose} was closed: {self.closed.because}."
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


def _lapse(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
