"""Filling a template, and putting pictures into the page itself."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from photolog.photos.strips import StripSubject, cut_strip
from photolog.reports.wording import day_text, moment_text, time_text

__all__ = ["SIGNS", "Picture", "PictureStrip", "Sign", "as_data_uri", "fill", "strip_of"]


@dataclass(frozen=True, slots=True)
class Sign:
    """How a word is drawn: a style, and a sign so that colour is never the only difference."""

    css: str
    mark: str


SIGNS = MappingProxyType(
    {
        "smaller": Sign("down", "▼"),
        "fewer": Sign("down", "▼"),
        "larger": Sign("up", "▲"),
        "more": Sign("up", "▲"),
        "no clear change": Sign("none", "●"),
        "too few to say": Sign("few", "○"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture for a page; ``src`` None where it can't be shown, ``problem`` then says why."""

    src: str | None
    alt: str
    caption: str
    figures: str
    problem: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureStrip:
    """Pictures of one size in pixels and one scale; the bar in each is ``bar_mm`` long."""

    pictures: tuple[Picture, ...]
    width: int
    height: int
    bar_mm: int


def fill(template: str, **context: Any) -> str:
    """The page of a template, everything in it escaped."""
    return _templates().get_template(template).render(signs=SIGNS, **context)


def as_data_uri(jpeg: bytes) -> str:
    """A JPEG as an address that holds the picture itself."""
    return f"data:image/jpeg;base64,{base64.b64encode(jpeg).decode('ascii')}"


def strip_of(subjects: Sequence[StripSubject]) -> PictureStrip | None:
    """The subjects cut out at one scale, in their order; None without any."""
    if not subjects:
        return None
    strip = cut_strip(subjects)
    return PictureStrip(
        pictures=tuple(
            Picture(
                src=as_data_uri(piece.jpeg) if piece.jpeg else None,
                alt=piece.alt,
                caption=piece.caption,
                figures=piece.figures,
                problem=piece.problem,
            )
            for piece in strip.pieces
        ),
        width=strip.width_px,
        height=strip.height_px,
        bar_mm=strip.bar_mm,
    )


@cache
def _templates() -> Environment:
    environment = Environment(
        loader=PackageLoader("photolog.reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"day": day_text, "moment": moment_text, "clock": time_text}
    return environment
