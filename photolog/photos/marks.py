"""Marks read in a photo as JSON and back, so that a photo is searched for marks only once."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from measure.card.designs import DESIGNS, design_named
from measure.results import MarksSeen, Points, SeenBox, SeenCard, SeenTag, SeenWord
from photolog.photos.facts import Shows
from photolog.terms import Subject

__all__ = ["card_scale", "marks_from_json", "marks_to_json", "shows_of_card", "subject_of_marks"]

_SHOWS: dict[str, Shows] = {design.name: design.subject for design in DESIGNS}

# From this share of the picture's longer side on, a tag without a card is what the photo is of.
_TAG_SHARE = 0.06


def marks_to_json(marks: MarksSeen) -> dict[str, Any]:
    """Everything read, as what JSON can hold; positions in pixels, (x, y)."""
    return {
        "cards": [
            {
                "design": card.design,
                "corner_ids": np.ravel(card.corner_ids).tolist(),
                "corners": card.corners.tolist(),
                "n_marks": card.n_marks,
                "mark_px": None if math.isnan(card.mark_px) else card.mark_px,
                "px_per_mm": card_scale(card),
            }
            for card in marks.cards
        ],
        "tags": [
            {
                "number": tag.number,
                "half": list(tag.half) if tag.half is not None else None,
                "corners": tag.corners.tolist(),
                "side_px": tag.side_px,
                "pegged": tag.pegged,
            }
            for tag in marks.tags
        ],
        "words": [
            {"mark": word.mark, "corners": word.corners.tolist(), "side_px": word.side_px}
            for word in marks.words
        ],
        "boxes": [
            {"number": box.number, "corners": box.corners.tolist(), "side_px": box.side_px}
            for box in marks.boxes
        ],
        "strangers": list(marks.strangers),
        "sharpness_px": None if math.isnan(marks.sharpness_px) else marks.sharpness_px,
    }


def marks_from_json(kept: dict[str, Any]) -> MarksSeen:
    """What ``marks_to_json`` wrote, as it was."""
    return MarksSeen(
        cards=tuple(
            SeenCard(
                design=card["design"],
                corner_ids=np.asarray(card["corner_ids"], dtype=np.int64),
                corners=_points(card["corners"]),
                n_marks=card["n_marks"],
                mark_px=math.nan if card.get("mark_px") is None else card["mark_px"],
            )
            for card in kept["cards"]
        ),
        tags=tuple(
            SeenTag(
                number=tag["number"],
                half=(tag["half"][0], tag["half"][1]) if tag["half"] else None,
                corners=_points(tag["corners"]),
                side_px=tag["side_px"],
                pegged=tag["pegged"],
            )
            for tag in kept["tags"]
        ),
        words=tuple(
            SeenWord(mark=word["mark"], corners=_points(word["corners"]), side_px=word["side_px"])
            for word in kept["words"]
        ),
        # Photos read before there were boxes have none.
        boxes=tuple(
            SeenBox(number=box["number"], corners=_points(box["corners"]), side_px=box["side_px"])
            for box in kept.get("boxes", ())
        ),
        strangers=tuple(kept["strangers"]),
        sharpness_px=math.nan if kept["sharpness_px"] is None else kept["sharpness_px"],
    )


def card_scale(card: SeenCard) -> float | None:
    """Pixels per millimetre over the card's board; None with fewer than two corners found.

    The median over pairs of corners: enough to tell near from far, never for measuring.
    """
    design = design_named(card.design)
    ids = np.ravel(card.corner_ids)
    across = design.squares_x - 1
    flat = np.stack([ids % across, ids // across], axis=1) * design.square_mm
    ratios: list[float] = []
    for one, other in itertools.combinations(range(len(ids)), 2):
        apart_mm = float(np.hypot(*(flat[one] - flat[other])))
        ratios.append(float(np.hypot(*(card.corners[one] - card.corners[other]))) / apart_mm)
    return float(np.median(ratios)) if ratios else None


def shows_of_card(design: str | None) -> Shows | None:
    """What a photo with this card shows unless the grower says otherwise; None without a card."""
    return _SHOWS.get(design) if design is not None else None


def subject_of_marks(marks: MarksSeen, *, longest_px: int) -> Subject:
    """What a photo with these marks is of, as far as the marks tell."""
    if marks.cards:
        shows = shows_of_card(marks.cards[0].design)
        return {"clump": Subject.CLUMP, "bloom": Subject.BLOOM_FACE}.get(
            shows or "", Subject.UNKNOWN
        )
    sides = [tag.side_px for tag in marks.tags] + [word.side_px for word in marks.words]
    sides += [box.side_px for box in marks.boxes]
    if sides and max(sides) >= _TAG_SHARE * longest_px:
        return Subject.TAGS
    return Subject.UNKNOWN


def _points(values: Any) -> Points:
    points: NDArray[np.float64] = np.asarray(values, dtype=np.float64).reshape(-1, 2)
    return points
