"""Matching all photos anew, by one function for every occasion, and saying what moved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book import settings as book_settings
from photolog.book.garden_facts import garden_facts, photo_facts
from photolog.book.matches_kept import keep_matches
from photolog.book.moves import Moves
from photolog.book.proposing import confirmed_for, renew_proposals, words_of
from photolog.book.stockbook import StockBook
from photolog.book.waiting import WaitingPhoto, waiting
from photolog.photos.afternoons import lay_afternoons
from photolog.photos.copies_settled import offer_to_copies
from photolog.photos.dates_doubted import doubted_dates
from photolog.photos.facts import Match, MatchSettings
from photolog.photos.groups import as_decided, match_groups, with_boxes
from photolog.photos.matching import match_photos
from photolog.photos.word_matches import match_word_photos
from photolog.photos.word_places import read_words
from photolog.records import CopyRow, PhotoRow, PhotoSubjectRow
from photolog.records.copies import is_no_copy
from photolog.terms import CopyState, MatchState

__all__ = ["MatchReport", "match_all", "match_anew", "match_settings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchReport:
    """How all photos stand after matching.

    ``by_reason`` counts the matched ones ("tag", "run", "day book", "by hand"); ``moves`` are those
    that stand otherwise than before, ``changed`` how many; ``contradictions`` are the waiting ones
    that the day book speaks against.
    """

    matched: int
    waiting: int
    no_plant: int
    by_reason: Mapping[str, int]
    moves: Moves
    contradictions: tuple[WaitingPhoto, ...]

    @property
    def changed(self) -> int:
        """How many stand otherwise than before."""
        return len(self.moves)


def match_settings(book: StockBook) -> MatchSettings:
    """What the grower set for matching, the rest by default."""
    side = str(book_settings.get(book, "tag_shot"))
    return MatchSettings(
        threshold=float(book_settings.get(book, "match_threshold")),
        pause_minutes=float(book_settings.get(book, "run_pause_minutes")),
        tag_shot="before" if side == "before" else "after" if side == "after" else "learn",
    )


def match_anew(book: StockBook, *, settings: MatchSettings | None = None) -> Moves:
    """Match every photo that was not decided by hand, and propose what word cards say, anew.

    To be called after anything that matching rests on has changed: a decision, an entry of the day
    book, a tag's holder, a clock. It can be run at any time and as often as wanted: what it finds
    depends only on photos, tags, day book and what was decided by hand, never on an earlier run.
    A photo that was matched and no longer can be waits again. Gives what moved.
    """
    with book.writing() as session:
        return _matched_anew(session, settings or match_settings(book))[0]


def match_all(book: StockBook, *, settings: MatchSettings | None = None) -> MatchReport:
    """Do what ``match_anew`` does, and say how all photos stand."""
    with book.writing() as session:
        moves, matches = _matched_anew(session, settings or match_settings(book))
        states: Counter[MatchState] = Counter(session.scalars(select(PhotoRow.match_state)))
        reasons = session.execute(
            select(PhotoSubjectRow.photo_id, PhotoSubjectRow.reason).distinct()
        )
        by_reason: Counter[str] = Counter(reason for _, reason in reasons)
        against = waiting(
            book, only=[match.photo_id for match in matches.values() if match.contradiction]
        )
    return MatchReport(
        matched=states[MatchState.MATCHED],
        waiting=states[MatchState.WAITING],
        no_plant=states[MatchState.NO_PLANT],
        by_reason=MappingProxyType(dict(by_reason)),
        moves=moves,
        contradictions=against,
    )


def _matched_anew(session: Session, settings: MatchSettings) -> tuple[Moves, Mapping[int, Match]]:
    session.flush()
    photos = photo_facts(session, is_no_copy())
    garden = garden_facts(session)
    doubted = doubted_dates(photos)
    read = read_words(photos, words_of(session, photos), garden, settings, doubted=doubted)
    groups = match_groups(photos, garden, settings, doubted=doubted)
    settled = as_decided(photos, groups)
    single = match_photos(settled, garden, settings, doubted=doubted)
    found = match_word_photos(
        (*groups.values(), *lay_afternoons(single, settled, garden, settings)),
        photos,
        read,
        garden,
        confirmed=confirmed_for(session),
        settings=settings,
    )
    offered = offer_to_copies(found, photos, _like_copies(session), garden)
    matches = {match.photo_id: match for match in with_boxes(offered, photos, garden)}
    moves = keep_matches(session, matches, photos, garden)
    renew_proposals(session, photos, garden, settings, read=read)
    return moves, matches


def _like_copies(session: Session) -> list[tuple[int, int]]:
    """The photos that look like copies of one another, and of which nothing was said yet."""
    rows = session.execute(
        select(CopyRow.photo_id, CopyRow.of_photo_id)
        .where(CopyRow.state == CopyState.PROPOSED)
        .order_by(CopyRow.id)
    )
    return [(row.photo_id, row.of_photo_id) for row in rows]
