"""Keeping what the word cards propose: made anew whenever the photos are matched anew."""

from __future__ import annotations

import json
from collections.abc import Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from photolog.book.garden_facts import holder_of
from photolog.book.stock import StockRef, columns_of
from photolog.photos.facts import MatchSettings, PhotoFacts
from photolog.photos.garden import Garden, Holder
from photolog.photos.word_places import WordInView, WordsRead, read_words, words_in_view
from photolog.photos.words import ProposedWord, Told, propose_words
from photolog.records import PhotoRow, ProposalRow
from photolog.terms import ProposalState

__all__ = ["confirmed_for", "renew_proposals", "words_of"]


def renew_proposals(
    session: Session,
    photos: Sequence[PhotoFacts],
    garden: Garden,
    settings: MatchSettings,
    *,
    read: WordsRead | None = None,
) -> None:
    """Make the open proposals what the photos say now, within a transaction.

    What was confirmed or turned down stays as it is and is never proposed again; of what the
    grower put right, word, plant and number stay, and only what speaks against it is made anew.
    ``read``: the word cards, where they were read already.
    """
    read = read or read_words(photos, words_of(session, photos), garden, settings)
    rows = {
        (row.photo_id, row.mark): row
        for row in session.scalars(select(ProposalRow).order_by(ProposalRow.id))
    }
    if not read.words and not rows:
        return
    numbers = {fact.box_id: number for number, fact in garden.boxes.items()}
    found = propose_words(
        photos,
        read,
        garden,
        told={
            key: Told(
                meant=row.meant,
                holder=_holder(row),
                count=row.count,
                box=numbers.get(row.box_id or 0),
            )
            for key, row in rows.items()
            if row.by_hand and row.state is ProposalState.PROPOSED
        },
        turned_down={key for key, row in rows.items() if row.state is ProposalState.TURNED_DOWN},
    )
    wanted = {(one.photo_id, one.mark): one for one in found}
    for key, row in rows.items():
        if row.state is ProposalState.PROPOSED and key not in wanted:
            session.delete(row)
    for key, one in wanted.items():
        row = rows.get(key) or ProposalRow(photo_id=one.photo_id, mark=one.mark, by_hand=False)
        if row.state in (None, ProposalState.PROPOSED):
            _fill(row, one, garden)
            session.add(row)
    session.flush()


def words_of(session: Session, photos: Sequence[PhotoFacts]) -> dict[int, tuple[WordInView, ...]]:
    """The word cards of the photos that have some."""
    longest = {photo.photo_id: photo.longest_px for photo in photos if photo.has_word}
    if not longest:
        return {}
    read = session.execute(
        select(PhotoRow.id, func.json_extract(PhotoRow.marks, "$.words")).where(
            func.json_array_length(PhotoRow.marks, "$.words") > 0
        )
    )
    return {
        photo_id: words_in_view(json.loads(words), longest_px=longest[photo_id])
        for photo_id, words in read
        if photo_id in longest
    }


def confirmed_for(session: Session) -> dict[int, Holder]:
    """For whom the grower confirmed the word cards of a photo, where all are for the same."""
    rows = session.scalars(select(ProposalRow).where(ProposalRow.state == ProposalState.CONFIRMED))
    holders: dict[int, set[Holder]] = {}
    for row in rows:
        holder = _holder(row)
        if holder is not None:
            holders.setdefault(row.photo_id, set()).add(holder)
    return {photo_id: found.pop() for photo_id, found in holders.items() if len(found) == 1}


def _holder(row: ProposalRow) -> Holder | None:
    if row.plant_id is None and row.batch_id is None:
        return None
    return holder_of(row.plant_id, row.batch_id)


def _fill(row: ProposalRow, one: ProposedWord, garden: Garden) -> None:
    """Write what is proposed; SQLAlchemy leaves alone what is the same as before."""
    row.meant = one.meant.mark
    columns = (
        {"plant_id": None, "batch_id": None}
        if one.holder is None
        else columns_of(StockRef(one.holder.kind, one.holder.id))
    )
    row.plant_id, row.batch_id = columns["plant_id"], columns["batch_id"]
    known = None if one.box is None else garden.boxes.get(one.box)
    row.box_id = None if known is None else known.box_id
    row.on_date, row.at_time = one.on, one.at
    row.because, row.against = one.because, one.against
