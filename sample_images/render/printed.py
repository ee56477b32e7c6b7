"""The project's own cards and tags as pictures, from the PDFs that a grower would print."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
from PIL import Image
from plants import CLUMPS, SEEDLINGS
from shots import SHOTS

from measure.card.designs import DESIGNS
from photolog.prints import TagToPrint, card_pdf, card_place_mm, tags_pdf
from photolog.prints.tags import TAG_LAYOUTS, tag_places_mm

__all__ = ["DOTS_PER_MM", "write_textures"]

DOTS_PER_MM = 14
"""About 356 dots per inch."""


def _page(pdf: bytes) -> Image.Image:
    document = pypdfium2.PdfDocument(pdf)
    return document[0].render(scale=DOTS_PER_MM * 25.4 / 72).to_pil().convert("RGB")


def _cut(page: Image.Image, left: float, top: float, width: float, height: float) -> Image.Image:
    box = [round(v * DOTS_PER_MM) for v in (left, top, left + width, top + height)]
    return page.crop((box[0], box[1], box[2], box[3]))


def _names() -> dict[int, str]:
    names = {c.tag: c.variety for c in CLUMPS.values()}
    names |= {s.tag: s.name for s in SEEDLINGS.values()}
    return names | {
        shot.tag: "Saltmarsh Linnet" for shot in SHOTS if shot.subject == "tray" and shot.tag
    }


def write_textures(into: Path) -> None:
    """Each card's front as DESIGN.png and each tag's front as tag-NUMBER.png, cut to size."""
    into.mkdir(parents=True, exist_ok=True)
    for design in DESIGNS:
        left, top = card_place_mm(design)
        page = _page(card_pdf(design, printed_on="2025-03-02"))
        _cut(page, left, top, design.width_mm, design.height_mm).save(into / f"{design.name}.png")
    layout = TAG_LAYOUTS["tied"]
    left, top = tag_places_mm("tied")[0]
    for number, name in sorted(_names().items()):
        page = _page(tags_pdf([TagToPrint(number=number, name=name)]))
        # The lower half of the unfolded tag is its front.
        front = _cut(page, left, top + layout.height_mm, layout.width_mm, layout.height_mm)
        front.save(into / f"tag-{number:04d}.png")
