"""Pictures in, sizes out: millimetres with an uncertainty, from a photo that shows a scale card."""

from measure.bloom import measure_bloom
from measure.by_callipers import size_by_hand_callipers
from measure.by_hand import ByHandError, placed_px, size_by_hand_outline, size_by_tape
from measure.card.finding import read_marks
from measure.clump import measure_clump
from measure.depth_ratio import IDEAL_DEPTH_OVER_DIAMETER, depth_over_diameter
from measure.overlay import draw_overlay
from measure.own_depth import DepthError, OwnDepth
from measure.quality import REFUSALS, SENTENCES, Flag, MeasureError, Refusal
from measure.quantity import Size
from measure.results import (
    FORMS,
    CardReading,
    Form,
    Held,
    Lift,
    MarksSeen,
    Measurement,
    Optics,
    Outline,
    Picture,
    Printing,
    SeenCard,
    SeenTag,
    SeenWord,
)
from measure.seeds import measure_seeds
from measure.side import measure_bloom_side
from measure.two_shots import Shot, measure_two_shots

__all__ = [
    "FORMS",
    "IDEAL_DEPTH_OVER_DIAMETER",
    "REFUSALS",
    "SENTENCES",
    "ByHandError",
    "CardReading",
    "DepthError",
    "Flag",
    "Form",
    "Held",
    "Lift",
    "MarksSeen",
    "MeasureError",
    "Measurement",
    "Optics",
    "Outline",
    "OwnDepth",
    "Picture",
    "Printing",
    "Refusal",
    "SeenCard",
    "SeenTag",
    "SeenWord",
    "Shot",
    "Size",
    "depth_over_diameter",
    "draw_overlay",
    "measure_bloom",
    "measure_bloom_side",
    "measure_clump",
    "measure_seeds",
    "measure_two_shots",
    "placed_px",
    "read_marks",
    "size_by_hand_callipers",
    "size_by_hand_outline",
    "size_by_tape",
]
