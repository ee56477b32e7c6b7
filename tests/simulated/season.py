"""Two simulated seasons of photos with the truth of whose each is, for the tests of matching.

Three cameras: one 47 minutes slow, one that falls back to its first day in mid-season, one seven
hours ahead in its first season. What goes wrong, and how often, is judgement (no source); the
share of runs whose tag is read, 85 in 100, is what the garden is asked to give.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any, Literal

import numpy as np

from photolog.photos.facts import PhotoFacts, Shows, TagInView
from photolog.photos.garden import Garden, Holder
from tests.simulated.beds import Beds, any_colour, grow

__all__ = ["Season", "simulated_season"]

_SLOW = timedelta(minutes=-47)
_AHEAD = timedelta(hours=7)
_FIRST_DAY = datetime(2024, 1, 1)

_TAG_READ = 0.85
_NOT_PHOTOGRAPHED = 0.04
_LOST_PHOTO = 0.01
_DOUBLED = 0.02
_NEIGHBOURS_TAG = 0.1
_CLUMP_TWICE = 0.15
_BLOOM_AGAIN = 0.35
_OUT_OF_TURN = 0.02
_COLOUR_SCATTER = 4.0
_BLOOM_SCATTER, _CLUMP_SCATTER = 0.1, 0.05
_NOT_MEASURED, _ANOTHER_COLOUR = 0.08, 0.02
_DAYS_UNNOTICED = 3
_MARK_MM = 20.0

Style = Literal["pegged", "tag first", "tag after"]
_Clock = Callable[[datetime], datetime]


@dataclass(frozen=True, kw_only=True)
class Season:
    """Photos in no order, whose each truly is, and the garden as it stands in the book.

    ``failed`` are shots of a tag that can't be read, ``read_share`` is of the runs with a tag read.
    """

    garden: Garden
    photos: Sequence[PhotoFacts]
    truth: Mapping[int, Holder]
    failed: frozenset[int]
    read_share: float


def simulated_season(
    seed: int, *, holders: int = 300, bloom_days: int = 13, tag_read: float = _TAG_READ
) -> Season:
    """Two seasons of a garden of so many plants and batches, drawn from a seed."""
    rng = np.random.default_rng(seed)
    beds = grow(rng, holders=holders, bloom_days=bloom_days)
    shoot = _Shoot(rng, beds, tag_read)
    # Its battery was changed, and the grower notices after a few days of photos.
    middle = bloom_days // 2
    reset_on = beds.bloom_days[2025][middle : middle + _DAYS_UNNOTICED]

    def clock(camera: int, day: date) -> _Clock:
        if camera == 1:
            return lambda at: at + _SLOW
        if camera == 2 and day in reset_on:
            began = datetime.combine(reset_on[0], time(9))
            return lambda at: _FIRST_DAY + (at - began)
        if camera == 3 and day.year == 2024:
            return lambda at: at + _AHEAD
        return lambda at: at

    for day in sorted({*beds.in_bloom, *beds.lifted, *beds.checked}):
        nth = day.toordinal()
        for part, some in enumerate(_parts(beds.in_bloom.get(day, ()), 3)):
            camera = 1 + (part + nth) % 3
            walk = list(reversed(some)) if rng.random() < 0.15 else some
            shoot.walk(day, camera, walk, "bloom", clock(camera, day), hour=10 + nth % 6)
        for part, some in enumerate(_parts(beds.lifted.get(day, ()), 2)):
            camera = 1 + (part + nth) % 3
            shoot.walk(day, camera, some, "clump", clock(camera, day), hour=12 + 2 * part)
        for some in _parts(beds.checked.get(day, ()), 1):
            shoot.walk(day, 1, some, "clump", clock(1, day), hour=11)

    order = rng.permutation(len(shoot.photos))
    photos, truth, failed = [], {}, set()
    for number, at in enumerate(order, 1):
        photos.append(replace(shoot.photos[at], photo_id=number))
        truth[number] = shoot.owners[at]
        if at in shoot.failed:
            failed.add(number)
    return Season(
        garden=beds.garden,
        photos=photos,
        truth=truth,
        failed=frozenset(failed),
        read_share=shoot.read / shoot.runs,
    )


def _parts(holders: Sequence[Holder], parts: int) -> list[Sequence[Holder]]:
    each = max(-(-len(holders) // parts), 1)
    return [holders[nth * each : (nth + 1) * each] for nth in range(parts)]


class _Shoot:
    """Goes through the garden with a camera, and notes whose each photo is."""

    def __init__(self, rng: np.random.Generator, beds: Beds, tag_read: float) -> None:
        self.rng = rng
        self.beds = beds
        self.tag_read = tag_read
        self.photos: list[PhotoFacts] = []
        self.owners: list[Holder] = []
        self.failed: set[int] = set()
        self.runs = self.read = 0
        self.counters = {1: 350100, 2: 1200, 3: 77000}
        self.tags = {one.holder: one.tag for one in beds.garden.holdings}

    def walk(
        self,
        day: date,
        camera: int,
        holders: Sequence[Holder],
        shows: Shows,
        clock: _Clock,
        *,
        hour: int,
    ) -> None:
        """One round past these plants, in order but for a few taken out of turn."""
        order = list(holders)
        for at in range(len(order) - 1):
            if self.rng.random() < _OUT_OF_TURN:
                order[at], order[at + 1] = order[at + 1], order[at]
        style = self._style(camera)
        at_time = datetime.combine(day, time(hour))
        for nth, holder in enumerate(order):
            if self.rng.random() < _NOT_PHOTOGRAPHED:
                continue
            at_time += timedelta(seconds=8.0 + float(self.rng.lognormal(3.2, 0.8)))
            if self.rng.random() < 0.02:
                at_time += timedelta(minutes=float(self.rng.uniform(5, 30)))
            beside = order[max(nth - 1, 0)] if nth else order[-1]
            at_time = self._run(
                at_time, camera, holder, beside=beside, shows=shows, style=style, clock=clock
            )

    def _style(self, camera: int) -> Style:
        draw = self.rng.random()
        if camera == 1:
            return "pegged" if draw < 0.7 else "tag first"
        if camera == 2:
            return "tag first" if draw < 0.6 else "pegged"
        return "tag after" if draw < 0.35 else "tag first"

    def _run(
        self,
        at: datetime,
        camera: int,
        holder: Holder,
        *,
        beside: Holder,
        shows: Shows,
        style: Style,
        clock: _Clock,
    ) -> datetime:
        read = bool(self.rng.random() < self.tag_read)
        self.runs += 1
        self.read += read
        # A pegging grower still photographs a tag by itself now and then.
        if style == "pegged" and self.rng.random() < 0.08:
            style = "tag first"
        likeness = int(self.rng.integers(2**63))
        more = _CLUMP_TWICE if shows == "clump" else _BLOOM_AGAIN
        shots = 1
        while shots < 4 and self.rng.random() < more:
            shots += 1
        if style == "tag first":
            at = self._tag_shot(at, camera, holder, clock, read=read)
        for nth in range(shots):
            own = self._pegged(holder, read=read) if style == "pegged" else ()
            self._subject(
                at,
                camera,
                holder,
                beside=beside,
                shows=shows,
                likeness=likeness,
                own=own,
                clock=clock,
            )
            if nth + 1 < shots:
                at += timedelta(seconds=float(self.rng.uniform(3, 14)))
        if style == "tag after":
            at += timedelta(seconds=float(self.rng.uniform(4, 12)))
            at = self._tag_shot(at, camera, holder, clock, read=read)
        return at

    def _tag_shot(
        self, at: datetime, camera: int, holder: Holder, clock: _Clock, *, read: bool
    ) -> datetime:
        """The tag close up; not read: blurred, only half of it legible, or forgotten."""
        tags: tuple[TagInView, ...] = ()
        if read:
            side_px = float(self.rng.uniform(140, 400))
            tags = (TagInView(number=self.tags[holder], half=None, side_px=side_px, pegged=False),)
        else:
            draw = self.rng.random()
            if draw < 0.2:
                return at
            if draw < 0.4:
                tags = (self._half(holder, pegged=False, side_px=220.0),)
        self._keep(at, camera, holder, clock, tags=tags, failed=not read)
        return at + timedelta(seconds=float(self.rng.uniform(4, 12)))

    def _pegged(self, holder: Holder, *, read: bool) -> tuple[TagInView, ...]:
        side_px = 3.0 * _MARK_MM
        if read and self.rng.random() < 0.97:
            number = self.tags[holder]
            return (TagInView(number=number, half=None, side_px=side_px, pegged=True),)
        if self.rng.random() < 0.2:
            return (self._half(holder, pegged=True, side_px=side_px),)
        return ()

    def _half(self, holder: Holder, *, pegged: bool, side_px: float) -> TagInView:
        number = self.tags[holder]
        half: tuple[Literal["left", "right"], int]
        half = ("left", number // 100) if self.rng.random() < 0.5 else ("right", number % 100)
        return TagInView(number=None, half=half, side_px=side_px, pegged=pegged)

    def _subject(
        self,
        at: datetime,
        camera: int,
        holder: Holder,
        *,
        beside: Holder,
        shows: Shows,
        likeness: int,
        own: tuple[TagInView, ...],
        clock: _Clock,
    ) -> None:
        tags = own
        if self.rng.random() < _NEIGHBOURS_TAG:
            # Mostly well behind the card, now and then nearly level with it.
            ratio = self.rng.uniform(0.1, 0.45) if self.rng.random() < 0.95 else 0.6
            side_px = 3.0 * _MARK_MM * float(ratio)
            other = TagInView(number=self.tags[beside], half=None, side_px=side_px, pegged=False)
            tags = (*own, other)
        measured = self._measured(at, holder, shows) if self.rng.random() > _NOT_MEASURED else {}
        flips = int(sum(1 << int(bit) for bit in np.flatnonzero(self.rng.random(63) < 0.05)))
        self._keep(
            at,
            camera,
            holder,
            clock,
            tags=tags,
            shows=shows,
            likeness=likeness ^ flips,
            **measured,
        )

    def _measured(self, at: datetime, holder: Holder, shows: Shows) -> dict[str, Any]:
        """What measuring finds of a bloom or a clump."""
        if shows == "bloom":
            true = self.beds.colour[holder]
            if self.rng.random() < _ANOTHER_COLOUR:
                # A wilted bloom, or an outline about the neighbour's.
                true = any_colour(self.rng)
            scatter = self.rng.normal(0.0, _COLOUR_SCATTER, 3)
            size_mm = self.beds.bloom_mm[holder] * float(
                np.exp(self.rng.normal(0.0, _BLOOM_SCATTER))
            )
            return {
                "colour": (true[0] + scatter[0], true[1] + scatter[1], true[2] + scatter[2]),
                "size_mm": (size_mm, 0.015 * size_mm),
            }
        # A clump in store is the one that was lifted the autumn before.
        spread_mm, roundness = self.beds.clump[holder, at.year - (at.month < 6)]
        spread_mm *= float(np.exp(self.rng.normal(0.0, _CLUMP_SCATTER)))
        roundness += float(self.rng.normal(0.0, _CLUMP_SCATTER))
        return {"size_mm": (spread_mm, 0.02 * spread_mm), "roundness": roundness}

    def _keep(
        self,
        at: datetime,
        camera: int,
        holder: Holder,
        clock: _Clock,
        *,
        tags: tuple[TagInView, ...],
        shows: Shows | None = None,
        likeness: int | None = None,
        failed: bool = False,
        **measured: Any,
    ) -> None:
        self.counters[camera] += 1
        if self.rng.random() < _LOST_PHOTO:
            return
        prefix = {1: "LF", 2: "GRD_", 3: "P"}[camera]
        name = f"{prefix}{self.counters[camera]}"
        photo = PhotoFacts(
            photo_id=0,
            name=f"{name}.JPG",
            taken_at=clock(at).replace(microsecond=0),
            camera=camera,
            longest_px=4000 if shows is not None else 1600,
            shows=shows,
            has_card=shows is not None,
            px_per_mm=3.0 if shows is not None else None,
            tags=tags,
            likeness=likeness,
            **measured,
        )
        copies = [photo]
        if self.rng.random() < _DOUBLED:
            copies.append(replace(photo, name=f"{name}-edited.JPG"))
        for copy in copies:
            if failed:
                self.failed.add(len(self.photos))
            self.photos.append(copy)
            self.owners.append(holder)
