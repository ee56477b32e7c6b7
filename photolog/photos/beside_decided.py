"""What the grower's word on one photo says of the one beside it: its tag shot, left unread."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from photolog.photos.camera_days import gap_s
from photolog.photos.counting import doubt_between
from photolog.photos.facts import Candidate, PhotoFacts
from photolog.photos.garden import Garden
from photolog.photos.tags_read import TagVerdict

__all__ = ["unread_tag_shots"]

# How sure it is, and how soon the subject comes (judgement, no source).
_BESIDE_DECIDED = 0.96
_BESIDE_WITHIN_S = 60.0


def unread_tag_shots(
    day: Sequence[PhotoFacts], verdicts: Mapping[int, TagVerdict], garden: Garden
) -> dict[int, Candidate]:
    """Photos without card and tag directly before a decided subject, in the order of tag first."""
    found = {}
    for shot, subject in pairwise(day):
        decided = subject.decided or ()
        bare = (
            shot.decided is None
            and shot.shows is None
            and not shot.has_word
            and not verdicts[shot.photo_id].speaks
        )
        if not bare or subject.shows is None or len(decided) != 1:
            continue
        if gap_s(shot, subject) > _BESIDE_WITHIN_S or doubt_between(shot, subject):
            continue
        because = (
            f"It lies beside the {subject.shows} that you decided, where its tag shot is: "
            f"{garden.named(decided[0])}."
        )
        found[shot.photo_id] = Candidate(
            holder=decided[0],
            tag=None,
            reason="run",
            because=because,
            probability=_BESIDE_DECIDED,
        )
    return found
