"""Pictures in, sizes out: millimetres with an uncertainty, from a photo that shows a scale card."""

from measure.bloom import measure_bloom
from measure.card.finding import read_marks
from measure.clump import measure_clump
from measure.overlay import draw_overlay
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

__all__ = [
    "FORMS",
    "REFUSALS",
    "SENTENCES",
    "CardReading",
    "Flag",
    "Form",
    "Held",
    "Lift",
    "MarksSeen",
    "MeasureError",
    "Measurement",
    "Optics",
    "Outline",
    "Picture",
    "Printing",
    "Refusal",
    "SeenCard",
    "SeenTag",
    "SeenWord",
    "Size",
    "draw_overlay",
    "measure_bloom",
    "measure_clump",
    "measure_seeds",
    "read_marks",
]
