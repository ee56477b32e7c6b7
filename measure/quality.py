"""The one list of flags and refusals, each with a sentence and a remedy in a grower's words."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["REFUSALS", "SENTENCES", "Flag", "MeasureError", "Refusal"]


class Flag(StrEnum):
    """A size was measured, but something about the photo makes it doubtful."""

    OUTLINE_UNSURE = "outline unsure"
    TOUCHES_EDGE = "touches the edge of the picture"
    OTHERS_IN_VIEW = "others in view"
    LIKE_GROUND = "much like its ground"
    BLURRED = "a little blurred"
    CARD_FAR = "card far from the subject"
    CARD_PARTLY_HIDDEN = "card partly hidden"
    CARD_BENT = "card bent"
    CARD_COVERED = "something on the card"
    GLARE = "glare on the card"
    SHADOW_EDGE = "shadow across the subject"
    TOO_DARK = "too dark"
    TOO_BRIGHT = "too bright"
    OBLIQUE = "taken at a slant"
    LENS_UNKNOWN = "lens unknown"
    ULTRA_WIDE = "ultra-wide lens"
    CROPPED = "cropped or zoomed"
    SHRUNK = "shrunk"
    FORM_UNKNOWN = "form not told"
    AXIS_UNSURE = "side view askew"
    COUNT_UNSURE = "count unsure"
    SIZE_UNSURE = "size unsure"
    NO_RULER_READING = "printing not checked with a ruler"


SENTENCES: dict[Flag, tuple[str, str]] = {
    Flag.OUTLINE_UNSURE: (
        "The outline may not follow the subject.",
        "Look at the outline on the picture; correct it by hand, or take it again before a plain, "
        "different-coloured background.",
    ),
    Flag.TOUCHES_EDGE: (
        "The subject reaches the edge of the picture, so part of it may be missing.",
        "Step back until all of it is in the picture.",
    ),
    Flag.OTHERS_IN_VIEW: (
        "More than one is in view; the one nearest the card was measured.",
        "Move the others out of the picture, or check that the right one was taken.",
    ),
    Flag.LIKE_GROUND: (
        "The clump and what it lies on are of nearly the same colour.",
        "Lay a plain sheet underneath, white, grey or blue, and take it again.",
    ),
    Flag.BLURRED: ("The picture is a little blurred.", "Hold still, tap to focus on the card."),
    Flag.CARD_FAR: (
        "The card is far from the subject.",
        "Lay or hold the card right beside what is measured.",
    ),
    Flag.CARD_PARTLY_HIDDEN: (
        "Part of the card's chequered board is hidden.",
        "Keep leaves, soil and fingers off the board.",
    ),
    Flag.CARD_BENT: (
        "The card is not flat.",
        "Stick the card to something rigid; lay it flat.",
    ),
    Flag.CARD_COVERED: (
        "Something lies on the card: soil, a leaf, or the edge of the clump.",
        "Brush the card clean and lay the clump beside it, none of it on the card.",
    ),
    Flag.GLARE: (
        "Light is mirrored by the card.",
        "Turn the card or yourself until nothing shines on it; print on matt paper.",
    ),
    Flag.SHADOW_EDGE: (
        "The edge of a shadow falls across what is measured, or across the card.",
        "Put bloom or clump and card wholly into the shade, or wholly into the sun.",
    ),
    Flag.TOO_DARK: (
        "The picture is too dark.",
        "Take it in daylight, or in open shade; tap on the card so that the phone brightens it.",
    ),
    Flag.TOO_BRIGHT: (
        "The bloom came out too bright to tell its colours; its size is right all the same.",
        "Take it in the shade, or tap on the bloom so that the phone darkens the picture.",
    ),
    Flag.OBLIQUE: (
        "The picture was taken at a slant.",
        "Hold the phone square above, or square in front of, the card.",
    ),
    Flag.LENS_UNKNOWN: (
        "The file does not say which lens was used, so the size is less sure.",
        "Use the photo as the camera made it, not one sent through a messaging program.",
    ),
    Flag.ULTRA_WIDE: (
        "The picture was taken with an ultra-wide lens, which draws things out towards its edges.",
        "Use the phone's main lens (1×), and step back if not all of it fits in.",
    ),
    Flag.CROPPED: (
        "The picture was cropped or zoomed, so the size is less sure.",
        "Use the whole photo as the camera made it, without zoom.",
    ),
    Flag.SHRUNK: (
        "The picture was made smaller after it was taken, as messaging programs do.",
        "Copy the photo itself from the phone or camera and use that.",
    ),
    Flag.FORM_UNKNOWN: (
        "The flower's form was not told, so its depth had to be guessed.",
        "Enter the variety's form (ball, cactus, decorative …).",
    ),
    Flag.AXIS_UNSURE: (
        "Which way the bloom faces is not clear from the side.",
        "Hold the bloom upright beside the card, its stem straight down and in view, the phone "
        "level with it.",
    ),
    Flag.COUNT_UNSURE: (
        "Some seeds lie so close that the count may be out by a few.",
        "Look at the outlines on the picture; push touching seeds apart and take it again.",
    ),
    Flag.SIZE_UNSURE: (
        "The size can't be told to within 8 %.",
        "Step back to twice as far, which halves it, square to the card. Enter a bloom's form, or "
        "how high the ends of a clump stand.",
    ),
    Flag.NO_RULER_READING: (
        "The card's printing was not checked with a ruler.",
        "Lay a ruler on the two 100 mm bars and enter what it reads.",
    ),
}


class Refusal(StrEnum):
    """Why a picture can't be measured at all."""

    NO_CARD = "no card"
    CARD_HIDDEN = "card hidden"
    CARD_FAR_AWAY = "card too small"
    CARD_OBLIQUE = "card too slanted"
    CARD_BLURRED = "card blurred"
    CARD_UNKNOWN = "card of an unknown design"
    TWO_CARDS = "two cards"
    NO_SUBJECT = "no subject"
    SUBJECT_CUT_OFF = "subject cut off"
    SUBJECT_ON_CARD = "subject on the card"
    OUTLINE_FAILED = "outline failed"
    SHOTS_TOO_ALIKE = "shots from too alike distances"
    SHOTS_MOVED = "bloom moved between the shots"
    SHOTS_CARDS_DIFFER = "shots with different cards"
    SEEDS_HEAPED = "seeds in a heap"


REFUSALS: dict[Refusal, tuple[str, str]] = {
    Refusal.NO_CARD: (
        "No scale card in the picture.",
        "Put the card beside it, or go closer if it lies there, and take it again.",
    ),
    Refusal.CARD_HIDDEN: (
        "Too much of the card's chequered board is hidden.",
        "Move what lies on the board and take it again.",
    ),
    Refusal.CARD_FAR_AWAY: (
        "The card is too small in the picture.",
        "Go closer, so that the card is at least a sixth of the picture's width.",
    ),
    Refusal.CARD_OBLIQUE: (
        "The card is seen too much from the side.",
        "Hold the phone square to the card and take it again.",
    ),
    Refusal.CARD_BLURRED: (
        "The picture is too blurred.",
        "Hold still, tap to focus on the card, and take it again.",
    ),
    Refusal.CARD_UNKNOWN: (
        "The card is of a design this version does not know.",
        "Install the newer photolog, or print a card with this one.",
    ),
    Refusal.TWO_CARDS: (
        "Two scale cards are in the picture.",
        "Leave one of them out and take it again.",
    ),
    Refusal.NO_SUBJECT: (
        "Nothing to measure was found beside the card.",
        "Put the bloom or the clump beside the card, before a plain background.",
    ),
    Refusal.SUBJECT_CUT_OFF: (
        "The subject is cut off by the edge of the picture.",
        "Step back until all of it is in the picture.",
    ),
    Refusal.SUBJECT_ON_CARD: (
        "Part of the clump, or something else, lies on the card.",
        "Lay the card beside the clump with nothing on it; brush soil and leaves off it.",
    ),
    Refusal.OUTLINE_FAILED: (
        "The subject can't be told from its background.",
        "Put something plain of another colour behind or underneath it and take it again.",
    ),
    Refusal.SHOTS_TOO_ALIKE: (
        "The photos were taken from distances too alike to tell how high the bloom stands.",
        "Take one from as near as all of it fits in, and one from at least twice as far.",
    ),
    Refusal.SHOTS_MOVED: (
        "The bloom moved against the card between the photos, or one outline is wrong.",
        "Tie bloom and card to the same cane, wait for still air, and take both again without "
        "touching either.",
    ),
    Refusal.SEEDS_HEAPED: (
        "Seeds lie over one another, so that they can't be counted.",
        "Spread them out on the paper until none lies on another, and take it again.",
    ),
    Refusal.SHOTS_CARDS_DIFFER: (
        "The photos show different scale cards.",
        "Leave the same card in its place for both and take them again.",
    ),
}


class MeasureError(Exception):
    """A picture that can't be measured: why, and what the grower can do."""

    def __init__(self, refusal: Refusal, detail: str = "") -> None:
        self.refusal = refusal
        sentence, self.remedy = REFUSALS[refusal]
        self.reason = f"{sentence} {detail}".strip()
        super().__init__(self.reason)
