"""A sheet of paper to draw on in millimetres from its top-left corner, saved as a PDF."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Literal

from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from photolog.prints.lettering import BOLD, PLAIN, register_lettering, unprintable

__all__ = ["A4_LANDSCAPE_MM", "A4_PORTRAIT_MM", "Sheet"]

A4_PORTRAIT_MM = (210.0, 297.0)
A4_LANDSCAPE_MM = (297.0, 210.0)

Align = Literal["left", "middle", "right"]

_POINTS_A_MM = 72.0 / 25.4


class Sheet:
    """One PDF under way; x runs right and y down, in millimetres, from the origin set last.

    Nothing in the finished file depends on when or where it was made, and viewers are asked to
    print it unscaled.
    """

    def __init__(self, size_mm: tuple[float, float], *, title: str) -> None:
        register_lettering()
        self.width_mm, self.height_mm = size_mm
        self._bytes = io.BytesIO()
        self._canvas: Any = Canvas(
            self._bytes, pagesize=(size_mm[0] * mm, size_mm[1] * mm), invariant=1, pageCompression=1
        )
        self._canvas.setTitle(title)
        self._canvas.setCreator("photolog")
        self._canvas.setViewerPreference("PrintScaling", "None")
        self._start_page()

    def finish(self) -> bytes:
        """The whole PDF."""
        self._canvas.restoreState()
        self._canvas.save()
        return self._bytes.getvalue()

    def next_page(self) -> None:
        """Begin another page of the same size."""
        self._canvas.restoreState()
        self._canvas.showPage()
        self._start_page()

    def _start_page(self) -> None:
        self._canvas.saveState()
        self._canvas.translate(0, self.height_mm * mm)

    @contextmanager
    def moved(
        self, x: float, y: float, *, half_turn: bool = False, scale: float = 1.0
    ) -> Iterator[None]:
        """Draw with the origin at (x, y), turned by half a turn about it or to a scale if asked."""
        self._canvas.saveState()
        self._canvas.translate(x * mm, -y * mm)
        if half_turn:
            self._canvas.rotate(180)
        if scale != 1.0:
            self._canvas.scale(scale, scale)
        yield
        self._canvas.restoreState()

    def fill_rects(
        self, rects: Sequence[tuple[float, float, float, float]], *, grey: float = 0.0
    ) -> None:
        """Fill rectangles (left, top, width, height) as one shape, so that none shows a seam."""
        path = self._canvas.beginPath()
        for left, top, width, height in rects:
            path.rect(left * mm, -(top + height) * mm, width * mm, height * mm)
        self._canvas.setFillGray(grey)
        self._canvas.drawPath(path, stroke=0, fill=1)

    def frame(
        self,
        left: float,
        top: float,
        width: float,
        height: float,
        *,
        line_mm: float = 0.2,
        grey: float = 0.0,
        dash_mm: tuple[float, float] | None = None,
        fill: float | None = None,
        round_mm: float = 0.0,
    ) -> None:
        """A rectangle's outline, dashed or rounded if asked, filled with a grey if one is given."""
        self._pen(line_mm, grey, dash_mm)
        if fill is not None:
            self._canvas.setFillGray(fill)
        self._canvas.roundRect(
            left * mm,
            -(top + height) * mm,
            width * mm,
            height * mm,
            round_mm * mm,
            stroke=1,
            fill=int(fill is not None),
        )

    def line(
        self,
        *points: tuple[float, float],
        line_mm: float = 0.2,
        grey: float = 0.0,
        dash_mm: tuple[float, float] | None = None,
    ) -> None:
        """A line through the points."""
        self._shape(points, line_mm, grey, dash_mm, fill=None, closed=False)

    def polygon(
        self,
        points: Sequence[tuple[float, float]],
        *,
        line_mm: float = 0.2,
        grey: float = 0.0,
        dash_mm: tuple[float, float] | None = None,
        fill: float | None = None,
    ) -> None:
        """A closed shape, filled with a grey if one is given."""
        self._shape(points, line_mm, grey, dash_mm, fill=fill, closed=True)

    def curve(
        self,
        points: Sequence[tuple[float, float]],
        *,
        closed: bool = True,
        line_mm: float = 0.2,
        grey: float = 0.0,
        fill: float | None = None,
    ) -> None:
        """A smooth curve through the points, closed unless told otherwise."""
        last = len(points) - 1
        path = self._canvas.beginPath()
        path.moveTo(points[0][0] * mm, -points[0][1] * mm)
        for i in range(len(points) if closed else last):
            if closed:
                before, here, there, after = (points[(i + k) % (last + 1)] for k in (-1, 0, 1, 2))
            else:
                before, here, there, after = (
                    points[min(max(i + k, 0), last)] for k in (-1, 0, 1, 2)
                )
            path.curveTo(
                (here[0] + (there[0] - before[0]) / 6) * mm,
                -(here[1] + (there[1] - before[1]) / 6) * mm,
                (there[0] - (after[0] - here[0]) / 6) * mm,
                -(there[1] - (after[1] - here[1]) / 6) * mm,
                there[0] * mm,
                -there[1] * mm,
            )
        self._pen(line_mm, grey, None)
        if closed:
            path.close()
        if fill is not None:
            self._canvas.setFillGray(fill)
        self._canvas.drawPath(path, stroke=1, fill=int(fill is not None))

    def circle(
        self,
        x: float,
        y: float,
        radius: float,
        *,
        line_mm: float = 0.2,
        grey: float = 0.0,
        dash_mm: tuple[float, float] | None = None,
        fill: float | None = None,
    ) -> None:
        """A circle about (x, y)."""
        self._pen(line_mm, grey, dash_mm)
        if fill is not None:
            self._canvas.setFillGray(fill)
        self._canvas.circle(x * mm, -y * mm, radius * mm, stroke=1, fill=int(fill is not None))

    def half_circle(
        self, x: float, y: float, radius: float, *, line_mm: float = 0.2, grey: float = 0.0
    ) -> None:
        """The lower half of a circle about (x, y)."""
        self._pen(line_mm, grey, None)
        box = ((x - radius) * mm, -(y + radius) * mm, (x + radius) * mm, -(y - radius) * mm)
        self._canvas.arc(*box, startAng=180, extent=180)

    def arrow(
        self, start: tuple[float, float], end: tuple[float, float], *, line_mm: float = 0.35
    ) -> None:
        """A line with a filled head at its end."""
        angle = math.atan2(end[1] - start[1], end[0] - start[0])
        head = 4.5 * line_mm + 0.8
        sides = [
            (end[0] - head * math.cos(angle + turn), end[1] - head * math.sin(angle + turn))
            for turn in (-0.42, 0.42)
        ]
        stop = (end[0] - 0.8 * head * math.cos(angle), end[1] - 0.8 * head * math.sin(angle))
        self.line(start, stop, line_mm=line_mm)
        self.polygon([end, *sides], line_mm=0.01, fill=0.0)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        size_mm: float,
        bold: bool = False,
        align: Align = "left",
        grey: float = 0.0,
    ) -> None:
        """One line of words with its baseline at y; ``size_mm`` is the type size (em)."""
        if missing := unprintable(words):
            msg = f"can't print {missing!r} in {words!r}: no lettering for it is carried"
            raise ValueError(msg)
        width = self.text_width(words, size_mm=size_mm, bold=bold)
        left = x - {"left": 0.0, "middle": width / 2, "right": width}[align]
        self._canvas.setFillGray(grey)
        self._canvas.setFont(BOLD if bold else PLAIN, size_mm * _POINTS_A_MM)
        self._canvas.drawString(left * mm, -y * mm, words)

    def text_width(self, words: str, *, size_mm: float, bold: bool = False) -> float:
        """Width of a line of words, in millimetres."""
        points = stringWidth(words, BOLD if bold else PLAIN, size_mm * _POINTS_A_MM)
        return float(points) / _POINTS_A_MM

    def paragraph(
        self,
        x: float,
        y: float,
        words: str,
        *,
        width_mm: float,
        size_mm: float,
        bold: bool = False,
        leading: float = 1.3,
    ) -> float:
        """Words broken into lines of at most ``width_mm``; returns the next line's baseline."""
        for line in self.broken(words, width_mm=width_mm, size_mm=size_mm, bold=bold):
            self.text(x, y, line, size_mm=size_mm, bold=bold)
            y += size_mm * leading
        return y

    def broken(
        self, words: str, *, width_mm: float, size_mm: float, bold: bool = False
    ) -> list[str]:
        """The lines into which ``paragraph`` breaks the words."""
        lines: list[str] = []
        for word in words.split():
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.text_width(longer, size_mm=size_mm, bold=bold) <= width_mm:
                lines[-1] = longer
            else:
                lines.append(word)
        return lines

    def _pen(self, line_mm: float, grey: float, dash_mm: tuple[float, float] | None) -> None:
        self._canvas.setStrokeGray(grey)
        self._canvas.setLineWidth(line_mm * mm)
        self._canvas.setLineJoin(1)
        self._canvas.setLineCap(0)
        self._canvas.setDash([d * mm for d in dash_mm] if dash_mm else [])

    def _shape(
        self,
        points: Sequence[tuple[float, float]],
        line_mm: float,
        grey: float,
        dash_mm: tuple[float, float] | None,
        *,
        fill: float | None,
        closed: bool,
    ) -> None:
        self._pen(line_mm, grey, dash_mm)
        path = self._canvas.beginPath()
        path.moveTo(points[0][0] * mm, -points[0][1] * mm)
        for x, y in points[1:]:
            path.lineTo(x * mm, -y * mm)
        if closed:
            path.close()
        if fill is not None:
            self._canvas.setFillGray(fill)
        self._canvas.drawPath(path, stroke=1, fill=int(fill is not None))
