"""Photos that the day book speaks against only because an entry was forgotten."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from photolog.photos.contradictions import Contradiction, spoken_against
from photolog.photos.facts import Candidate, PhotoFacts, Shows
from photolog.photos.garden import Garden, Holder
from photolog.photos.orders import SHOWN_BY
from photolog.terms import EventKind

__all__ = ["Forgotten"]

_SEASON = timedelta(days=200)
_DAY = timedelta(days=1)
_OF_CLUMPS = tuple(kind for kinds in SHOWN_BY["clump"] for kind in kinds)
# So many days with the tag read show that a plant grows; so many other plants that day's work
# (judgement, no source).
_FEWEST_DAYS, _FEWEST_OTHERS = 2, 3


class Forgotten:
    """Where tags outweigh an entry that is missing: never one that rules the photo out.

    A bloom: the plant's tag was read on two days or more of that season, and others were planted
    out between its last lifting and the photo. A clump: others were lifted or looked at that day,
    and its own lifting is entered on no other.
    """

    def __init__(
        self,
        read: Sequence[tuple[PhotoFacts, Candidate]],
        garden: Garden,
    ) -> None:
        """``read`` are the photos with the plant that a tag or a run surely says."""
        self._garden = garden
        self._days: dict[tuple[Holder, Shows | None], set[date]] = {}
        for photo, found in read:
            if photo.taken_at is not None:
                days = self._days.setdefault((found.holder, photo.shows), set())
                days.add(photo.taken_at.date())
        self._days_of: Mapping[EventKind, Mapping[date, set[Holder]]] = {
            kind: self._entered(kind) for kind in (EventKind.PLANTED_OUT, *_OF_CLUMPS)
        }

    def outweighs(self, photo: PhotoFacts, found: Candidate) -> str:
        """What lets a photo stand that the day book speaks against; "" nothing does."""
        if photo.taken_at is None:
            return ""
        against = spoken_against(
            found.holder, shows=photo.shows, taken_at=photo.taken_at, garden=self._garden
        )
        if against is None or not against.missing or against.since is None:
            return ""
        day = photo.taken_at.date()
        if photo.shows == "bloom":
            return self._grows(found.holder, day, against)
        return self._lifted(found.holder, day) if found.reason in ("tag", "run") else ""

    def _grows(self, holder: Holder, day: date, against: Contradiction) -> str:
        days = {
            on
            for on in self._days.get((holder, "bloom"), ())
            if abs(on - day) < _SEASON and against.since is not None and on > against.since
        }
        planted = {
            other
            for on, others in self._days_of[EventKind.PLANTED_OUT].items()
            if against.since is not None and against.since < on <= day
            for other in others
        }
        if len(days) < _FEWEST_DAYS or len(planted - {holder}) < _FEWEST_OTHERS:
            return ""
        return (
            f"The day book doesn't have it planted out again after {against.since}, but its tag "
            f"was read beside blooms on {len(days)} days since: the entry seems to be missing."
        )

    def _lifted(self, holder: Holder, day: date) -> str:
        others = {
            other
            for on in (day - _DAY, day, day + _DAY)
            for kind in _OF_CLUMPS
            for other in self._days_of[kind].get(on, ())
        }
        if len(others - {holder}) < _FEWEST_OTHERS:
            return ""
        return (
            f"The day book doesn't have it lifted, but {len(others)} others lifted or looked at "
            "about that day: the entry seems to be missing."
        )

    def _entered(self, kind: EventKind) -> dict[date, set[Holder]]:
        found: dict[date, set[Holder]] = {}
        for entry in self._garden.events:
            if entry.kind is kind and entry.holder is not None:
                found.setdefault(entry.on, set()).add(entry.holder)
        return found
