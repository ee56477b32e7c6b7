"""The stage of what a photo shows: a bloom's, or a clump's, told by hand or by the day book."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from photolog.book.errors import Unknown, WrongEntry
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.plant_seasons import Happening, clump_stage_on
from photolog.book.stockbook import StockBook
from photolog.records import PhotoRow
from photolog.terms import BloomStage, ClumpStage, Subject

__all__ = ["Stage", "stage_of", "stages_of_subject", "tell"]

Stage = BloomStage | ClumpStage

_BLOOMS = (Subject.BLOOM_FACE, Subject.BLOOM_SIDE)


def stages_of_subject(subject: Subject) -> tuple[Stage, ...]:
    """The stages that what a photo shows can have; none for trays, seeds and tags."""
    if subject in _BLOOMS:
        return tuple(BloomStage)
    if subject is Subject.CLUMP:
        return tuple(ClumpStage)
    return ()


def tell(book: StockBook, photo_id: int, stage: Stage | str) -> Stage:
    """Say at which stage a photo's bloom or clump was; it holds for all that the photo belongs to.

    Raises ``Unknown`` for the photo or the stage, ``WrongEntry`` where the photo shows something
    that has no such stage, or belongs to no plant yet.
    """
    with book.writing() as session:
        photo = session.get(PhotoRow, photo_id)
        if photo is None:
            msg = f"There is no photo {photo_id} in the stock book."
            raise Unknown(msg)
        known = _stage_named(stage)
        if known not in stages_of_subject(photo.subject):
            msg = f"Photo {photo_id} shows: {photo.subject}. It can't be '{known}'."
            raise WrongEntry(msg)
        if not photo.subjects:
            msg = f"Photo {photo_id} belongs to no plant yet. Match it first."
            raise WrongEntry(msg)
        for one in photo.subjects:
            one.stage = known.value
        return known


def stage_of(
    told: str | None,
    subject: Subject,
    happenings: Iterable[Happening],
    taken_at: datetime | None,
) -> Stage | None:
    """The stage of one photo of one plant: as told, else a clump's by the day book; None: unknown.

    ``told`` is the ``stage`` of the photo's row for that plant, ``taken_at`` its date as put right.
    """
    if told is not None:
        return _stage_named(told)
    if subject is Subject.CLUMP and taken_at is not None:
        return clump_stage_on(happenings, taken_at.date(), taken_at.time())
    return None


def _stage_named(word: Stage | str) -> Stage:
    stages: list[Stage] = [*BloomStage, *ClumpStage]
    wanted = fold(word)
    for stage in stages:
        if fold(stage.value) == wanted:
            return stage
    words = [stage.value for stage in stages]
    msg = (
        f"There is no stage {word!r}.{did_you_mean(nearest_names(word, words))} "
        f"There are: {', '.join(words)}."
    )
    raise Unknown(msg)
