"""What each card says: in plain words, for the front, the back and the edge of the sheet."""

from __future__ import annotations

from typing import Final

from measure.card.designs import CardKind

__all__ = ["CHECKING", "FRONT", "HOLDING", "PRINTING", "TITLES"]

TITLES: Final[dict[CardKind, str]] = {
    "pocket": "Pocket card: small blooms and seeds",
    "bloom": "Bloom card",
    "bench": "Bench card: lifted clumps",
}

FRONT: Final[dict[CardKind, tuple[str, ...]]] = {
    "pocket": (
        "Small bloom: card upright beside it, level with its widest petals.",
        "Seeds: on plain paper beside the card, none touching.",
    ),
    "bloom": (
        "Slide the card up behind the bloom: stem in the slot, bloom in front.",
        "Hold the phone square in front.",
        "All of the bloom and of the chequers in the picture.",
    ),
    "bench": (
        "Lay the clump beside the card, not on it.",
        "Hold the phone flat above, level with the bench, about 60 to 80 cm up.",
        "All of the clump, the chequers and the tag in the picture.",
        "Keep soil, roots and fingers off the chequers.",
    ),
}

HOLDING: Final[dict[CardKind, tuple[str, ...]]] = {
    "pocket": (
        "Peg the plant’s tag to the marked place before every photo.",
        "A small bloom: hold the card upright beside it, facing the phone, level with the bloom’s "
        "widest petals. Hold the phone square in front, about 30 to 40 cm away.",
        "Seeds: lay the card flat on plain paper, spread the seeds beside it so that none touch, "
        "and hold the phone flat above.",
        "The whole subject and all of the chequers must be in the picture, none in hard shadow.",
    ),
    "bloom": (
        "Peg the plant’s tag to the marked place before every photo.",
        "Slide the card up from below, behind the bloom, so that the stem runs into the slot. The "
        "bloom lies in front of the card, its back touching it. With a very large bloom stop when "
        "its lowest petals are just clear of the chequers.",
        "To let the card stand by itself: push a cane into the ground behind it and tie it with a "
        "twist of wire or string through both pairs of holes.",
        "Hold the phone square in front of the bloom, at 40 to 60 cm, without zoom.",
        "All of the bloom and of the chequers must be in the picture, none in hard shadow.",
    ),
    "bench": (
        "Peg the plant’s tag to the marked place before every photo.",
        "Lay the card flat on the bench and the clump beside it, on the same level: never on top "
        "of the card, and not hanging over its edge.",
        "Stand above both. Hold the phone flat, as level as the bench, about 60 to 80 cm up, "
        "without zoom.",
        "All of the clump and of the chequers must be in the picture, and nothing else that is a "
        "clump. Soft light is best; keep your own shadow off.",
    ),
}

PRINTING: Final[tuple[str, ...]] = (
    "Print on matt paper at full size: 100 %, not “fit to page”.",
    "Stick it to rigid board with glue all over, and let it dry flat under books.",
    "Cut along the outline with a sharp blade: fingers behind the rule, cut away from yourself.",
    "Seal the edges with varnish or clear matt tape. No gloss laminate: it mirrors the light.",
)

CHECKING: Final[tuple[str, ...]] = (
    "Lay a good steel rule on each of the two bars, read its length as finely as you can, and "
    "enter both readings in the stock book with today’s date. Photos taken with this card are "
    "then corrected.",
    "Check again when the card has been wet, or once a year.",
)
