"""All commands under one name."""

from __future__ import annotations

from typing import Annotated

import typer

from photolog import __version__
from photolog.cli import (
    boxes,
    bursts,
    by_hand,
    cards,
    clocks,
    comparing,
    copies,
    dating,
    daybook,
    deciding,
    demo,
    details,
    judging,
    measuring,
    photos,
    proposals,
    stock,
    taking_in,
)

__all__ = ["app"]

app = typer.Typer(
    help="Dated, matched and measured photo records for people who grow dahlias.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"photolog {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version.")
    ] = False,
) -> None:
    """Read the options that stand before a command."""


for _command in (
    demo.demo,
    cards.card,
    cards.tags,
    cards.word_cards,
    boxes.box_tags,
    cards.ruler,
    measuring.measure,
    stock.start,
    stock.variety,
    stock.plant,
    stock.batch,
    boxes.box,
    boxes.boxes,
    stock.split,
    stock.divide,
    stock.tag_off,
    details.hand_on,
    details.rename,
    details.grown,
    stock.stock,
    daybook.did,
    daybook.day_book,
    daybook.strike_out,
    taking_in.intake,
    copies.copies,
    bursts.bursts,
    photos.match,
    deciding.waiting,
    deciding.decide,
    deciding.undecide,
    clocks.clock,
    clocks.clock_read,
    clocks.clock_confirm,
    clocks.clock_refuse,
    clocks.clock_undo,
    clocks.camera_apart,
    dating.dated,
    proposals.proposed,
    proposals.confirm,
    proposals.correct,
    proposals.refuse,
    proposals.unconfirm,
    details.shows,
    details.stage,
    judging.accept,
    judging.turn_down,
    by_hand.by_hand,
    comparing.seasons,
    comparing.history,
):
    app.command()(_command)
