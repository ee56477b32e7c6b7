"""The trade's words as closed lists: what happened, where stock came from, stages and states.

Everything that keeps, matches, compares or prints these words imports them from here, so that a
word is spelt once. What a grower reads may be another word of their country's for the same thing
(see ``photolog.book.wording``); what is kept in the tables is always the word here.
"""

from __future__ import annotations

from enum import StrEnum

__all__ = [
    "Acceptance",
    "BatchKind",
    "BloomStage",
    "CameFrom",
    "ClockReason",
    "ClumpStage",
    "CopyState",
    "EventKind",
    "GrownFrom",
    "HowMade",
    "LossCause",
    "MatchState",
    "MeasureOf",
    "MeasureStatus",
    "ProposalState",
    "Subject",
    "VarietyKind",
]


class EventKind(StrEnum):
    """What the day book can say happened."""

    CHILLED = "chilled"
    SOWN = "sown"
    PRICKED_OUT = "pricked out"
    POTTED = "potted"
    CUTTINGS_TAKEN = "cuttings taken"
    ROOTED = "rooted"
    PLANTED_OUT = "planted out"
    STAYED = "stayed in the ground"
    STOPPED = "stopped"
    DISBUDDED = "disbudded"
    BUD_SECURED = "bud secured"
    FIRST_BLOOM = "first bloom"
    CROSSED = "crossed"
    POD_TAKEN = "pod taken"
    FIRST_FROST = "first frost"
    CUT_DOWN = "cut down"
    LIFTED = "lifted"
    WASHED = "washed"
    DRIED = "dried"
    TRIMMED = "trimmed"
    TREATED = "treated"
    WEIGHED = "weighed"
    DIVIDED = "divided"
    STORED = "stored"
    CHECKED = "checked"
    LOST = "lost"
    ROGUED = "rogued"
    SPORTED = "sported"
    KEPT = "kept"
    ANOTHER_YEAR = "another year"
    DISCARDED = "discarded"
    GIVEN_AWAY = "given away"
    SHOWN = "shown"
    RENAMED = "renamed"
    SAME_AS = "found to be the same as"
    SPLIT_OFF = "split off"


class LossCause(StrEnum):
    """Why something was lost or rogued."""

    DRIED_OUT = "dried out"
    ROTTED = "rotted"
    FROSTED = "frosted"
    EATEN = "eaten"
    LABEL_LOST = "label lost"
    VIRUS = "virus"
    GALL = "gall"
    OTHER = "other"


class CameFrom(StrEnum):
    """Where a plant or a batch came from."""

    BOUGHT = "bought"
    DIVISION = "division of"
    CUTTING = "cutting of"
    SEED = "seed of a cross"
    POT_TUBER = "pot tuber"
    STAYED = "stayed in the ground"


class GrownFrom(StrEnum):
    """What a plant was grown from in one season."""

    BOUGHT = "a bought plant"
    CUTTING = "a cutting"
    SEED = "seed"
    POT_TUBER = "a pot tuber"
    DIVISION = "a division"
    CLUMP = "its own clump"
    STAYED = "stayed in the ground"


class VarietyKind(StrEnum):
    """A named variety, or a seedling raised here that still goes under its raiser's number."""

    NAMED = "named"
    SEEDLING = "seedling"


class BatchKind(StrEnum):
    """What a batch is a counted group of."""

    POT_TUBERS = "pot tubers"
    CUTTINGS = "cuttings"
    SEEDLINGS = "seedlings"
    SINGLE_TUBERS = "single tubers"


class BloomStage(StrEnum):
    """How far open a bloom was when it was photographed."""

    OPENING = "opening"
    AT_ITS_BEST = "at its best"
    GOING_OVER = "going over"


class ClumpStage(StrEnum):
    """What had been done to a clump when it was photographed."""

    AS_LIFTED = "as lifted"
    WASHED = "washed"
    TRIMMED = "trimmed"
    DRIED = "dried"


class Subject(StrEnum):
    """What a photo shows."""

    BLOOM_FACE = "bloom face"
    BLOOM_SIDE = "bloom side"
    CLUMP = "clump"
    SEEDS = "seeds"
    WHOLE_PLANT = "whole plant"
    GROUP = "group"
    TAGS = "tags"
    UNKNOWN = "unknown"


class MatchState(StrEnum):
    """Where a photo stands: matched to its plants, waiting for the grower, or of no plant."""

    MATCHED = "matched"
    WAITING = "waiting"
    NO_PLANT = "no plant"


class MeasureOf(StrEnum):
    """What was measured in a photo."""

    BLOOM = "bloom"
    BLOOM_SIDE = "bloom-side"
    CLUMP = "clump"
    SEEDS = "seeds"


class MeasureStatus(StrEnum):
    """Whether a photo could be measured."""

    MEASURED = "measured"
    REFUSED = "refused"


class HowMade(StrEnum):
    """How a measurement came about: by the program alone, or by the grower's hand."""

    MEASURED = "measured"
    OUTLINE = "outline by hand"
    CALLIPERS = "callipers by hand"
    READ_OFF = "tape or ring"


class Acceptance(StrEnum):
    """What the grower said of a measurement; corrected: another was made by hand in its place."""

    PROPOSED = "proposed"
    ACCEPTED = "accepted"
    CORRECTED = "corrected"
    TURNED_DOWN = "turned down"


class ClockReason(StrEnum):
    """What makes the program propose that a camera's clock was out."""

    OTHER_CAMERA = "other camera"
    ANOTHER_ZONE = "another zone"
    SUMMER_TIME = "summer time"
    FIRST_DAY = "first day"


class ProposalState(StrEnum):
    """What the grower said of an entry or a correction that photos propose."""

    PROPOSED = "proposed"
    CONFIRMED = "confirmed"
    TURNED_DOWN = "turned down"


class CopyState(StrEnum):
    """What is said of a photo that looks like a copy of another one."""

    PROPOSED = "proposed"
    COPY = "copy"
    APART = "apart"
