"""What a run says of one photo, and what of that is left where only names say the order."""

from __future__ import annotations

from dataclasses import dataclass, replace

from photolog.photos.facts import Candidate

__all__ = ["RunVerdict", "offered_by_names"]

# How sure a plant is, at most, that only the order of names speaks for (judgement, no source).
_NAMES_ONLY = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class RunVerdict:
    """What the run that a photo stands in says: a candidate, or only why there is none.

    ``disturbed``: something came between, so that nothing weaker may match this photo by itself.
    """

    found: Candidate | None = None
    because: str = ""
    candidates: tuple[Candidate, ...] = ()
    disturbed: bool = False


def offered_by_names(one: RunVerdict) -> RunVerdict:
    """The same as an offer: nothing says when photos were taken that only names put in order."""
    if one.found is None:
        return one
    because = (
        f"{one.found.because} But the order is only that of the files' names, and their hours are "
        "not known."
    )
    probability = min(one.found.probability, _NAMES_ONLY)
    offered = replace(one.found, because=because, probability=probability)
    return RunVerdict(
        because=because, candidates=(offered, *one.candidates), disturbed=one.disturbed
    )
