"""Corrections of cameras' clocks that their photos propose, for the grower to confirm."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from photolog.photos.clock_nights import Zone, changes_between, own_zone
from photolog.photos.clock_offsets import Agreement, Stretch, agreement, stretches
from photolog.photos.clock_shots import Seen, Shot, first_sights
from photolog.photos.dates_doubted import DoubtedBlock
from photolog.photos.file_numbers import CountedSpan
from photolog.terms import ClockReason

__all__ = ["ProposedClock", "proposed_clocks"]

# What is less is no matter for dates and runs; nearer than this to whole or half hours a clock is
# taken to be out by just that (judgement, no source).
_LEAST_S = 120.0
_NEAR_S = 90.0
_HALF_HOUR_S, _HOUR_S = 1800, 3600

# Countries that change their clocks do so in these months (the zones' own tables, from memory).
_CHANGE_MONTHS = (3, 4, 9, 10, 11)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedClock:
    """Seconds to add to what a camera's clock said, all told, and what says so.

    Attributes
    ----------
    since, until : datetime or None
        From when and up to when on the camera's own clock; None: from its first, to its last photo.
    span : CountedSpan or None
        Only for the photos that it counted so.
    found : Agreement
        In seconds to be added to the clock as corrected until now.
    correction : int or None
        The number of the correction that holds for these photos until now.
    either : bool
        Nothing but the number of photos says that it is this camera's clock and not the others'.
    """

    camera: int
    kind: ClockReason
    since: datetime | None
    until: datetime | None
    span: CountedSpan | None
    add_s: int
    found: Agreement
    correction: int | None = None
    either: bool = False


def proposed_clocks(
    shots: Sequence[Shot],
    doubted: Sequence[DoubtedBlock],
    *,
    learnt: Collection[int] = (),
    added_s: Mapping[int, int] | None = None,
    zone: Zone = own_zone,
) -> list[ProposedClock]:
    """What cameras that photographed the same tags at the same time say of each other's clocks.

    Parameters
    ----------
    shots : sequence of Shot
        All dated photos of known cameras.
    doubted : sequence of DoubtedBlock
        Photos whose clock fell back to its first day.
    learnt : collection of int
        Cameras whose clock the grower has put right: they are believed before others.
    added_s : mapping from a correction's number to seconds
        What the corrections that hold now add.
    zone : callable
        The garden's zone, which tells in which night clocks are changed.

    Of two cameras the one that is believed less is proposed to be wrong: phones, whose files name
    their zone, are set by their network; then come cameras put right, then those that agree with
    most others, then those with most photos.
    """
    fallen = {photo.photo_id for block in doubted for photo in block.photos}
    sound = [shot for shot in shots if shot.photo_id not in fallen]
    sights: dict[int, list[Seen]] = {}
    for one in first_sights(sound):
        sights.setdefault(one.shot.camera, []).append(one)
    found: list[ProposedClock] = []
    believed: list[Seen] = []
    added_s = added_s or {}
    in_order, trusted = _by_belief(sound, sights, learnt)
    for camera in in_order:
        own = sights.get(camera, [])
        parts = stretches(own, believed) if believed else [Stretch(seen=tuple(own), agreement=None)]
        if not any(part.n_days for part in parts):
            parts = _of_another_date(own, believed) or parts
        found += _of_camera(camera, parts, [s for s in sound if s.camera == camera], added_s, zone)
        believed += [one for part in parts if not _is_out(part.agreement) for one in part.seen]
    by_id = {shot.photo_id: shot for shot in shots}
    for block in doubted:
        proposed = _of_block([by_id[p.photo_id] for p in block.photos], block, believed, added_s)
        if proposed is not None:
            found.append(proposed)
    return [
        replace(one, either=not trusted.intersection(one.found.cameras))
        if one.kind is not ClockReason.FIRST_DAY
        else one
        for one in found
    ]


def _of_another_date(own: Sequence[Seen], others: Sequence[Seen]) -> list[Stretch]:
    """A clock of which no day is another's: by days or years out, if several days say the same."""
    said = agreement(own, others, earliest_s=-math.inf, latest_s=math.inf)
    if said is None or said.n_days < 2:
        return []
    return [Stretch(seen=tuple(own), agreement=said)]


def _is_out(found: Agreement | None) -> bool:
    return found is not None and abs(found.add_s) >= _LEAST_S


def _by_belief(
    shots: Iterable[Shot], sights: Mapping[int, Sequence[Seen]], learnt: Collection[int]
) -> tuple[list[int], set[int]]:
    """The cameras, the one that is believed most first, and those that something speaks for."""
    of_camera: dict[int, list[Shot]] = {}
    for shot in shots:
        of_camera.setdefault(shot.camera, []).append(shot)
    with_zone = {
        camera: sum(shot.zone_s is not None for shot in some) > len(some) / 2
        for camera, some in of_camera.items()
    }
    alike = dict.fromkeys(of_camera, 0)
    cameras = sorted(of_camera)
    for n, one in enumerate(cameras):
        for other in cameras[n + 1 :]:
            said = agreement(sights.get(one, ()), sights.get(other, ()))
            if said is not None and not _is_out(said):
                alike[one] += 1
                alike[other] += 1
    trusted = {
        camera for camera in cameras if with_zone[camera] or camera in learnt or alike[camera]
    }
    in_order = sorted(
        cameras,
        key=lambda camera: (
            -with_zone[camera],
            -(camera in learnt),
            -alike[camera],
            -len(of_camera[camera]),
            camera,
        ),
    )
    return in_order, trusted


def _of_camera(
    camera: int,
    parts: Sequence[Stretch],
    shots: Sequence[Shot],
    added_s: Mapping[int, int],
    zone: Zone,
) -> list[ProposedClock]:
    """One camera's stretches that are out, each with the nearest before and after that is known."""
    known = _beyond_chance(parts)
    had = [added_s.get(part.seen[0].shot.correction or 0, 0) for part in known]
    amounts = [
        _rounded(part.agreement, before_s) if part.agreement is not None else before_s
        for part, before_s in zip(known, had, strict=True)
    ]
    began: list[datetime | None] = [None]
    for nth in range(1, len(known)):
        step = amounts[nth] - amounts[nth - 1]
        began.append(_began(known[nth - 1], known[nth], step, shots, zone))
    began.append(None)
    found = []
    for nth, part in enumerate(known):
        if part.agreement is None or amounts[nth] == had[nth]:
            continue
        since, until = began[nth], began[nth + 1]
        by_an_hour = [
            moment is not None
            and moment.month in _CHANGE_MONTHS
            and abs(amounts[nth] - amounts[other]) == _HOUR_S
            for moment, other in ((since, nth - 1), (until, min(nth + 1, len(known) - 1)))
        ]
        kind = ClockReason.OTHER_CAMERA
        if any(by_an_hour) and abs(amounts[nth]) == _HOUR_S:
            kind = ClockReason.SUMMER_TIME
        elif amounts[nth] and not amounts[nth] % _HALF_HOUR_S:
            kind = ClockReason.ANOTHER_ZONE
        found.append(
            ProposedClock(
                camera=camera,
                kind=kind,
                since=since,
                until=until,
                span=None,
                add_s=amounts[nth],
                found=part.agreement,
                correction=part.seen[0].shot.correction,
            )
        )
    return found


def _beyond_chance(parts: Sequence[Stretch]) -> list[Stretch]:
    """The stretches whose agreement is no likeness of two rounds on a single day, by chance.

    A clock is not out on one day only between others that say nothing of it, though they could,
    nor on several days by another amount each.
    """
    known = [part for part in parts if part.agreement is not None]
    single = [
        part
        for part in known
        if part.agreement is not None and part.agreement.n_days == 1 and _is_out(part.agreement)
    ]
    silent = sum(part.n_days for part in parts if part.agreement is None)
    silent += sum(part.n_days - 1 for part in single)
    if len(single) + silent > 1:
        return [part for part in known if part not in single]
    return known


def _rounded(said: Agreement, had_s: int) -> int:
    """What is to be added, all told: whole or half hours where it is so near, else to the second.

    ``had_s`` is added already, and stays where nothing more is said.
    """
    if not _is_out(said):
        return had_s
    add_s = had_s + said.add_s
    halves = round(add_s / _HALF_HOUR_S) * _HALF_HOUR_S
    return halves if abs(add_s - halves) <= _NEAR_S else round(add_s)


def _began(
    before: Stretch, part: Stretch, step_s: int, shots: Sequence[Shot], zone: Zone
) -> datetime:
    """From when on the camera's clock it was out by another amount than before.

    The night in which the clocks were changed by just that where one lies between, else the
    midnight before the first photo that shows it, or that photo itself.
    """
    last, first = before.seen[-1].shot.clock, part.seen[0].shot.clock
    changes = changes_between(last, first, zone) if last < first else []
    fitting = [moment for moment, by_s in changes if by_s == step_s]
    if len(fitting) == 1:
        return fitting[0]
    first = min(
        (s.clock for s in shots if last < s.clock and s.clock.date() == first.date()),
        default=first,
    )
    midnight = datetime.combine(first.date(), time())
    return midnight if last < midnight else first


def _of_block(
    shots: Sequence[Shot],
    block: DoubtedBlock,
    believed: Sequence[Seen],
    added_s: Mapping[int, int],
) -> ProposedClock | None:
    """A stretch of photos counted while the clock had fallen back, by other cameras' photos."""
    seen = first_sights(shots)
    others = [one for one in believed if one.shot.camera != shots[0].camera]
    first, last = block.dates[0], block.dates[-1]
    a_day = timedelta(days=1)
    bounds = {"earliest_s": -math.inf, "latest_s": math.inf}
    if first.earliest is not None and last.latest is not None:
        bounds = {
            "earliest_s": (first.earliest - a_day - shots[0].at).total_seconds(),
            "latest_s": (last.latest + a_day - shots[-1].at).total_seconds(),
        }
    said = agreement(seen, others, **bounds)
    if said is None:
        return None
    correction = shots[0].correction
    clocks = [shot.clock for shot in shots]
    return ProposedClock(
        camera=shots[0].camera,
        kind=ClockReason.FIRST_DAY,
        since=datetime.combine(min(clocks).date(), time()),
        until=datetime.combine(max(clocks).date() + a_day, time()),
        span=block.span,
        add_s=round(said.add_s) + (0 if correction is None else added_s.get(correction, 0)),
        found=said,
        correction=correction,
    )
