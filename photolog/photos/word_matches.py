"""Whose a photo of word cards alone is: that of whom the cards speak, so that it need not wait."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from photolog.photos.contradictions import contradiction
from photolog.photos.facts import Candidate, Match, MatchSettings, PhotoFacts
from photolog.photos.garden import Garden, Holder
from photolog.photos.word_places import Whose, WordsRead

__all__ = ["match_word_photos"]

# How sure it is (judgement, no source): directly after a tag or a photo that the grower decided, by
# the grower's word on its entry, and by the order of the tags before and after, which orders the
# candidates but matches nothing.
_AFTER_TAG = 0.97
_CONFIRMED = 0.99
_BY_PLACE = 0.8


def match_word_photos(
    matches: Iterable[Match],
    photos: Sequence[PhotoFacts],
    read: WordsRead,
    garden: Garden,
    *,
    confirmed: Mapping[int, Holder],
    settings: MatchSettings,
) -> list[Match]:
    """The same matches, with the photos that show word cards and no subject matched by them.

    ``confirmed`` is for whom the grower confirmed the cards, by photo. A photo that has found its
    plant, whose date is doubted, or that the day book speaks against, stands as it was.
    """
    if not read.words:
        return list(matches)
    by_id = {photo.photo_id: photo for photo in photos}
    settled = []
    for match in matches:
        photo = by_id[match.photo_id]
        cards = read.whose.get(match.photo_id)
        stands = (
            bool(match.belongs_to)
            or match.box_alone
            or match.contradiction
            or match.photo_id in read.doubted
        )
        if cards is None or stands or photo.shows is not None:
            settled.append(match)
        else:
            settled.append(
                _settled(
                    match,
                    photo,
                    cards,
                    garden,
                    confirmed=confirmed.get(match.photo_id),
                    threshold=settings.threshold,
                )
            )
    return settled


def _settled(
    match: Match,
    photo: PhotoFacts,
    whose: Whose,
    garden: Garden,
    *,
    confirmed: Holder | None,
    threshold: float,
) -> Match:
    holder = confirmed or whose.holder
    if photo.taken_at is None:
        return match
    if holder is None:
        return Match(
            photo_id=match.photo_id,
            waiting_because=f"A word card, but nobody can say for whom. {whose.because}",
            candidates=match.candidates,
        )
    because = whose.because
    if confirmed is not None:
        because, probability = "You confirmed for whom the word card is.", _CONFIRMED
    elif (whose.tag is not None or whose.by_hand) and whose.doubt is None:
        probability = _AFTER_TAG
    else:
        because, probability = f"{because} {whose.doubt or ''}".strip(), _BY_PLACE
    found = Candidate(
        holder=holder, tag=whose.tag, reason="run", because=because, probability=probability
    )
    against = contradiction(holder, shows=None, taken_at=photo.taken_at, garden=garden)
    if against is None and probability >= threshold:
        return Match(photo_id=match.photo_id, found=found)
    others = tuple(one for one in match.candidates if one.holder != holder)
    return Match(
        photo_id=match.photo_id,
        waiting_because=f"{because} But: {against}" if against else f"Not sure enough: {because}",
        contradiction=against is not None,
        candidates=(found, *others),
    )
