"""A small invented garden and its photos, for the tests of matching."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from photolog.photos.facts import Match, MatchSettings, PhotoFacts, TagInView
from photolog.photos.garden import DayFact, Garden, Holder, HolderFact, Holding
from photolog.photos.matching import match_photos
from photolog.terms import EventKind

LIFTING = date(2026, 5, 16)
PLANTING = date(2025, 11, 8)
NOON = datetime(2026, 5, 16, 12, 0)

TAGS = {11: "Tin Orchard", 12: "Wherry Lamp", 13: "Aunt Petronel", 14: "Saltmarsh Linnet"}


def plant(tag: int) -> Holder:
    """The plant that holds a tag in this garden."""
    return Holder("plant", tag)


TRAY = Holder("batch", 101)


def garden(
    *,
    events: Sequence[DayFact] = (),
    holdings: Sequence[Holding] = (),
    lifted: Sequence[int] = (),
) -> Garden:
    """Four plants planted out for season 2025 and a tray; ``lifted``: entered in the day book."""
    return Garden(
        holdings=[
            *(Holding(tag=tag, holder=plant(tag), from_date=date(2024, 11, 2)) for tag in TAGS),
            Holding(tag=101, holder=TRAY, from_date=date(2026, 6, 1)),
            *holdings,
        ],
        holders={
            **{
                plant(tag): HolderFact(name=name, since=date(2024, 10, 1))
                for tag, name in TAGS.items()
            },
            TRAY: HolderFact(name="40 pot tubers", since=date(2026, 6, 1)),
        },
        events=[
            *(
                DayFact(kind=EventKind.LIFTED, on=LIFTING, holder=plant(tag))
                for tag in (lifted or TAGS)
            ),
            *(DayFact(kind=EventKind.PLANTED_OUT, on=PLANTING, holder=plant(tag)) for tag in TAGS),
            *events,
        ],
    )


def tag(number: int | None, *, side_px: float = 60.0, pegged: bool = False) -> TagInView:
    """A tag in a photo; number None: only its left half was read."""
    half = None if number is not None else ("left", 0)
    return TagInView(number=number, half=half, side_px=side_px, pegged=pegged)


class Shoot:
    """Photos taken one after the other with one camera."""

    def __init__(self, *, camera: int | None = 1, at: datetime = NOON) -> None:
        self.photos: list[PhotoFacts] = []
        self.camera = camera
        self.at = at

    def wait(self, *, seconds: float = 0.0, minutes: float = 0.0) -> Shoot:
        """Let time pass."""
        self.at += timedelta(seconds=seconds, minutes=minutes)
        return self

    def photo(self, **facts: object) -> int:
        """Take a photo and return its number; without facts, one that nothing can be read in."""
        number = len(self.photos) + 1 + 100 * (self.camera or 0)
        given: dict[str, object] = {
            "photo_id": number,
            "name": f"LF{number:06d}.JPG",
            "taken_at": self.at,
            "camera": self.camera,
            "longest_px": 1600,
            "shows": None,
            "has_card": False,
        }
        given.update(facts)
        self.photos.append(PhotoFacts(**given))  # type: ignore[arg-type]
        return number

    def subject(self, shows: str = "clump", **facts: object) -> int:
        """A photo with a card beside its subject."""
        return self.photo(**{"shows": shows, "has_card": True, "px_per_mm": 3.0} | facts)

    def tag_shot(self, number: int, **facts: object) -> int:
        """A close shot of a tag."""
        return self.photo(tags=(tag(number, side_px=200.0),), **facts)


def matched(
    *shoots: Shoot, garden: Garden, settings: MatchSettings | None = None
) -> dict[int, Match]:
    """All photos matched, by photo number."""
    photos = [photo for shoot in shoots for photo in shoot.photos]
    return {match.photo_id: match for match in match_photos(photos, garden, settings)}


def found(match: Match) -> tuple[Holder, str] | None:
    """Whose it is and by which reason; None: it waits."""
    return (match.found.holder, match.found.reason) if match.found is not None else None
