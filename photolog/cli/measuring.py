"""Sizes of photos, without a stock book."""

from __future__ import annotations

import json
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from photolog.cli.errors import user_errors
from photolog.tables import lines_of

__all__ = ["measure", "size_text"]

# What stands in the table, in this order; the other sizes are in --json.
_SHOWN = {
    "widest_mm": "widest",
    "diameter_mm": "diameter",
    "ring_mm": "ring",
    "spread_mm": "spread",
    "width_mm": "width",
    "area_cm2": "area",
    "tubers": "tubers",
    "longest_tuber_mm": "longest tuber",
    "depth_mm": "depth",
    "across_mm": "across",
    "seeds": "seeds",
    "length_mm": "usual length",
}
# Said once under all photos; in --json it stands with each.
_NO_RULER = "printing not checked with a ruler"
_RULER_HINT = (
    "The ± holds for a card whose printing was not checked. Lay a ruler on the card's two bars "
    "and say what it reads with --ruler, and it becomes smaller."
)
_UNITS = {"mm": " mm", "cm2": " cm²"}


class Of(StrEnum):
    """What is measured."""

    BLOOM = "bloom"
    BLOOM_SIDE = "bloom-side"
    CLUMP = "clump"
    SEEDS = "seeds"


class HeldAs(StrEnum):
    """How the card was held to a bloom."""

    LEVEL = "level"
    BEHIND = "behind"
    BENCH = "bench"


def size_text(name: str, low: float, value: float, high: float) -> str:
    """A size as a grower reads it: ``98.2 ± 1.8 mm``; a count with its range: ``7 (6 to 9)``."""
    unit = _UNITS.get(name.rsplit("_", 1)[-1], "")
    if not unit:
        return f"{value:.0f} ({low:.0f} to {high:.0f})"
    half = (high - low) / 2
    digits = 0 if half >= 10 else 1
    return f"{value:.{digits}f} ± {half:.{digits}f}{unit}"


def _shown(result: dict[str, Any]) -> list[str]:
    """One photo's sizes, or why there are none, in lines of at most 80."""
    lines = [" + ".join(Path(one).name for one in (result["photo"], *result["together_with"]))]
    if result["status"] != "measured":
        return [*lines, lines_of(f"not measured: {result['reason']} {result['remedy']}", indent=2)]
    for name, words in _SHOWN.items():
        if name in result["sizes"]:
            size = result["sizes"][name]
            low, high = size["interval95"]
            lines.append(f"  {words:<15}{size_text(name, low, size['value'], high)}")
    if result["colours"] is not None:
        lines.append(f"  {'colours':<15}{_colour_words(result['colours'])}")
    doubts = [flag for flag in result["flags"] if flag != _NO_RULER]
    return [*lines, *(f"  {'look again':<15}{flag}" for flag in doubts)]


def _colour_words(colours: dict[str, Any]) -> str:
    """Main colours and their shares: ``yellow 80 %, red 20 %``; like words are put together."""
    shares: dict[str, float] = {}
    for colour in colours["colours"]:
        shares[colour["word"]] = shares.get(colour["word"], 0.0) + colour["share"]
    if len(shares) == 1:
        return next(iter(shares))
    return ", ".join(f"{word} {100.0 * share:.0f} %" for word, share in shares.items())


def measure(
    photos: Annotated[list[Path], typer.Argument(help="Photo files.", show_default=False)],
    of: Annotated[Of, typer.Option(help="What the photos show.", show_default=False)],
    form: Annotated[
        str | None, typer.Option(help="The bloom's form: ball, cactus, decorative, single …")
    ] = None,
    held: Annotated[
        HeldAs | None,
        typer.Option(
            help="The card: level with the widest petals, behind the bloom, or on the bench."
        ),
    ] = None,
    lift_mm: Annotated[
        float | None,
        typer.Option(help="Height of the outline above the card, where it was measured."),
    ] = None,
    two_shots: Annotated[
        bool,
        typer.Option(
            "--two-shots",
            help="The photos show one bloom from near and far: solve them together.",
        ),
    ] = False,
    ruler: Annotated[
        tuple[float, float] | None,
        typer.Option(help="What a ruler reads on the card's two bars, across and along."),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON object a line, with every figure.")
    ] = False,
    overlay: Annotated[
        Path | None,
        typer.Option(help="A folder for the pictures with outline and callipers drawn in."),
    ] = None,
) -> None:
    """Measure blooms, clumps or seeds in photos, without a stock book.

    Example: photolog measure clump.jpg --of clump --overlay drawn
    """
    from photolog.book.measure_files import measure_files

    results: list[dict[str, Any]] = []
    with user_errors():
        for result in measure_files(
            photos,
            of=of.value,
            form=form,
            held=None if held is None else held.value,
            lift_mm=lift_mm,
            printing=ruler,
            overlay_dir=overlay,
            two_shots=two_shots,
        ):
            results.append(result)
            if as_json:
                typer.echo(json.dumps(result, ensure_ascii=False))
    if not as_json:
        for shown in map(_shown, results):
            typer.echo("\n".join(shown))
        if any(_NO_RULER in result["flags"] for result in results):
            typer.echo(lines_of(_RULER_HINT))
    if not any(result["status"] == "measured" for result in results):
        raise typer.Exit(1)
