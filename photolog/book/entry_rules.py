"""What makes no sense as a day book entry, each said in a sentence."""

from __future__ import annotations

from photolog.book.errors import WrongEntry
from photolog.book.plant_seasons import ENDS
from photolog.book.stock import StockRef
from photolog.terms import EventKind, LossCause

__all__ = ["refuse_senseless"]

_ENTERED_ELSEWHERE = {
    EventKind.SPLIT_OFF: "split the batch",
    EventKind.RENAMED: "rename the variety",
}


def refuse_senseless(
    kind: EventKind,
    *,
    about: list[StockRef],
    garden_wide: bool,
    has_other: bool,
    count: int | None,
    cause: LossCause | None,
    weight_g: float | None,
) -> None:
    """Raise ``WrongEntry`` where what was given does not make an entry of this kind."""
    msg = ""
    if kind in _ENTERED_ELSEWHERE:
        msg = f"'{kind}' is entered by itself: {_ENTERED_ELSEWHERE[kind]}."
    elif garden_wide and (about or has_other):
        msg = f"'{kind}' is either of the whole garden, or of some tags, a bed, a box or a variety."
    elif not (about or has_other or garden_wide):
        msg = f"'{kind}' needs to say what it happened to: tags, a bed or box, or the whole garden."
    elif kind in ENDS and not about:
        msg = f"'{kind}' needs the tags of what it happened to."
    elif count is not None and (len(about) != 1 or about[0].kind != "batch"):
        msg = "A count belongs to an entry about one batch only."
    elif count is not None and count < 1:
        msg = f"A count starts at 1, got {count}."
    elif cause is not None and kind not in (EventKind.LOST, EventKind.ROGUED):
        msg = f"'{kind}' has no cause; only lost and rogued have one."
    elif kind is EventKind.WEIGHED and weight_g is None:
        msg = "'weighed' needs the weight in grams."
    elif weight_g is not None and not 0 < weight_g < 1e6:
        msg = f"A weight in grams is above 0, got {weight_g:g}."
    if msg:
        raise WrongEntry(msg)
