"""Whose the word cards in photos are: by the tag in the photo, or in the one directly before."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from photolog.photos.camera_days import camera_days, gap_s
from photolog.photos.counting import doubt_between
from photolog.photos.dates_doubted import doubted_dates
from photolog.photos.facts import MatchSettings, PhotoFacts, tag_text
from photolog.photos.garden import Garden, Holder
from photolog.photos.lost_labels import labels_by_order
from photolog.photos.tags_read import TagVerdict, read_tags
from photolog.terms import LossCause
from photolog.word_cards import word_of_mark

__all__ = ["Whose", "WordInView", "WordsRead", "read_words", "whose_words", "words_in_view"]

# So soon after another card, a card is for the same plant, and the same card the same shot again;
# later it may be of the next plant, whose tag was not read (judgement, no source).
_AT_ONCE_S = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WordInView:
    """A word card's mark in a photo, and its side in pixels."""

    mark: int
    side_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Whose:
    """Whose the cards in a photo are, and why, where that is not its own ``tag`` photographed.

    ``tag`` None: by its place among the photos, or by the grower's word (``by_hand``). ``box`` is
    the number of the box whose tag is in the photo, or in the one before; its cards are the box's
    where the word can be about a box, and no plant is named.
    """

    holder: Holder | None
    because: str
    doubt: str | None = None
    tag: int | None = None
    by_hand: bool = False
    box: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WordsRead:
    """The word cards by photo, whose they are, and which photos have a date that can't be right."""

    words: Mapping[int, Sequence[WordInView]]
    whose: Mapping[int, Whose]
    doubted: Collection[int]


def words_in_view(words: Iterable[Mapping[str, Any]], *, longest_px: int) -> tuple[WordInView, ...]:
    """The word cards of a photo from the words kept with it as JSON, but none in the background."""
    least_px = MatchSettings().background_share * longest_px
    return tuple(
        WordInView(mark=int(word["mark"]), side_px=float(word["side_px"]))
        for word in words
        if word["side_px"] >= least_px
    )


def read_words(
    photos: Sequence[PhotoFacts],
    words: Mapping[int, Sequence[WordInView]],
    garden: Garden,
    settings: MatchSettings,
    *,
    doubted: Collection[int] | None = None,
) -> WordsRead:
    """All that photos, entries and matches need to know of the word cards, worked out once.

    ``doubted``: the photos whose date is doubted, where that is known already.
    """
    if not words:
        return WordsRead(words={}, whose={}, doubted=doubted or ())
    return WordsRead(
        words=words,
        whose=whose_words(photos, words, garden, settings),
        doubted=doubted_dates(photos) if doubted is None else doubted,
    )


def whose_words(
    photos: Sequence[PhotoFacts],
    words: Mapping[int, Sequence[WordInView]],
    garden: Garden,
    settings: MatchSettings,
) -> dict[int, Whose]:
    """Whose the word cards are, for each photo that has some."""
    found = _whose_by_place(photos, words, garden, settings)
    for photo in photos:
        if words.get(photo.photo_id) and photo.photo_id not in found:
            own = _by_itself(photo, read_tags(photo, garden, settings))
            found[photo.photo_id] = own or Whose(
                holder=None, because="There is no tag in the photo."
            )
    return found


def _whose_by_place(
    photos: Iterable[PhotoFacts],
    words: Mapping[int, Sequence[WordInView]],
    garden: Garden,
    settings: MatchSettings,
) -> dict[int, Whose]:
    """Whose the word cards are in the photos that have a place on a camera's day."""
    found: dict[int, Whose] = {}
    every_day = camera_days(photos)
    days = [(on, day) for on, day in every_day if any(words.get(photo.photo_id) for photo in day)]
    if not days:
        return found
    verdicts = {
        photo.photo_id: read_tags(photo, garden, settings)
        for _, day in every_day
        for photo in day
        if photo.tags or words.get(photo.photo_id)
    }
    photographed: dict[date, set[int]] = {}
    for on, day in every_day:
        for photo in day:
            verdict = verdicts.get(photo.photo_id)
            if verdict is not None and verdict.speaks and verdict.number is not None:
                photographed.setdefault(on, set()).add(verdict.number)
    for on, day in days:
        lost = [photo for photo in day if _shows_lost_label(photo, words, verdicts)]
        by_order = (
            labels_by_order(
                lost, day, verdicts, garden, photographed=photographed.get(on, frozenset())
            )
            if lost
            else {}
        )
        found.update(_Follower(words, verdicts, by_order, garden, settings).through(day))
    return found


class _Follower:
    """Goes through one camera's day in order and keeps whose tag was photographed last."""

    def __init__(
        self,
        words: Mapping[int, Sequence[WordInView]],
        verdicts: Mapping[int, TagVerdict],
        by_order: Mapping[int, tuple[Holder | None, str]],
        garden: Garden,
        settings: MatchSettings,
    ) -> None:
        self.words = words
        self.verdicts = verdicts
        self.by_order = by_order
        self.garden = garden
        self.settings = settings
        self.whose: Whose | None = None
        self.last: PhotoFacts | None = None
        self.shown: dict[int, PhotoFacts] = {}

    def through(self, day: Sequence[PhotoFacts]) -> dict[int, Whose]:
        """Whose the cards are, for each photo that has some."""
        found: dict[int, Whose] = {}
        for photo in day:
            own = _by_itself(photo, self.verdicts.get(photo.photo_id))
            has_words = bool(self.words.get(photo.photo_id))
            if own is None and photo.photo_id in self.by_order:
                holder, because = self.by_order[photo.photo_id]
                own = Whose(holder=holder, because=because)
            if own is not None or not has_words:
                self.whose, self.shown = own, {}
            if has_words:
                found[photo.photo_id] = own or self._by_the_one_before(photo)
                self.shown |= dict.fromkeys(
                    (word.mark for word in self.words[photo.photo_id]), photo
                )
            self.last = photo
        return found

    def _by_the_one_before(self, photo: PhotoFacts) -> Whose:
        whose, last = self.whose, self.last
        if whose is None or last is None:
            came = "no tag in the one before" if last is not None else "none was taken before"
            return Whose(holder=None, because=f"There is no tag in the photo, and {came}.")
        if whose.holder is None and whose.box is None:
            return whose
        if gap_s(last, photo) > 60.0 * self.settings.pause_minutes:
            self.whose = None
            return Whose(
                holder=None,
                because=f"More than {self.settings.pause_minutes:g} minutes passed since the last "
                "tag.",
            )
        again = [
            self.shown[word.mark] for word in self.words[photo.photo_id] if word.mark in self.shown
        ]
        if any(gap_s(one, photo) > _AT_ONCE_S for one in again):
            self.whose = None
            return Whose(
                holder=None,
                because="The same word was shown just before: it may be of another plant whose tag "
                "was not photographed.",
            )
        doubt = doubt_between(last, photo)
        if doubt:
            doubt = f"{doubt[0].upper()}{doubt[1:]}."
        elif self.shown and gap_s(last, photo) > _AT_ONCE_S:
            doubt = "The photo before has a card already: the tag of this one may be missing."
        # What was doubtful once stays so for the cards that follow.
        self.whose = replace(
            whose,
            because=(
                "Shown directly after the photo that you decided."
                if whose.by_hand
                else f"Shown directly after the tag of box {whose.box}."
                if whose.box is not None
                else whose.because or f"Shown directly after tag {tag_text(whose.tag or 0)}."
            ),
            doubt=doubt or whose.doubt,
        )
        return self.whose


def _by_itself(photo: PhotoFacts, verdict: TagVerdict | None) -> Whose | None:
    """Whose a photo is by the grower's word or its own tag; None where neither says anything."""
    if photo.decided is not None and len(photo.decided) == 1:
        return Whose(holder=photo.decided[0], because="You said whose photo it is.", by_hand=True)
    box = photo.boxes[0] if len(photo.boxes) == 1 else None
    if verdict is None or not verdict.speaks:
        if len(photo.boxes) > 1:
            named = ", ".join(str(number) for number in photo.boxes)
            because = f"The tags of several boxes are in the photo ({named})."
            return Whose(holder=None, because=because)
        if box is None:
            return None
        return Whose(holder=None, because=f"Only the tag of box {box} is in the photo.", box=box)
    if verdict.found is None:
        because = verdict.because
        if verdict.kind == "choice":
            numbers = ",".join(str(tag.number) for tag in photo.tags if tag.number is not None)
            because = f"{because} Of all of them it is entered by: photolog did WORD {numbers}"
        return Whose(holder=None, because=because, box=box)
    return Whose(holder=verdict.found.holder, because="", tag=verdict.number)


def _shows_lost_label(
    photo: PhotoFacts,
    words: Mapping[int, Sequence[WordInView]],
    verdicts: Mapping[int, TagVerdict],
) -> bool:
    cards = (word_of_mark(word.mark) for word in words.get(photo.photo_id, ()))
    if not any(card is not None and card.cause is LossCause.LABEL_LOST for card in cards):
        return False
    return _by_itself(photo, verdicts.get(photo.photo_id)) is None
