"""Measuring photo files without a stock book: one plain record for each, ready for JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, get_args

from measure import FORMS, Form, Held, Printing
from photolog.book.errors import WrongEntry
from photolog.book.measure_photo import Figures, MeasureJob, Of, Unmeasured, measure_photo
from photolog.book.printings import RULER_U_PERCENT
from photolog.book.workers import Lost, run_in_workers

__all__ = ["measure_file", "measure_files"]


def measure_file(
    path: Path | str,
    *,
    of: str,
    form: str | None = None,
    held: str | None = None,
    lift_mm: float | None = None,
    printing: tuple[float, float] | None = None,
    overlay_dir: Path | None = None,
) -> dict[str, Any]:
    """Measure one photo file; see ``measure_files``."""
    records = measure_files(
        [path],
        of=of,
        form=form,
        held=held,
        lift_mm=lift_mm,
        printing=printing,
        overlay_dir=overlay_dir,
    )
    return next(records)


def measure_files(
    paths: Iterable[Path | str],
    *,
    of: str,
    form: str | None = None,
    held: str | None = None,
    lift_mm: float | None = None,
    printing: tuple[float, float] | None = None,
    overlay_dir: Path | None = None,
    two_shots: bool = False,
    workers: int = 0,
) -> Iterator[dict[str, Any]]:
    """Measure photo files, one record for each in their order; a bad one never stops the rest.

    Parameters
    ----------
    paths : photo files
    of : "bloom", "bloom-side", "clump" or "seeds"
    form : the bloom's form, where it is known
    held : "level", "behind" or "bench"; None: not told
    lift_mm : height of the outline of a bloom's face or a clump above the card, where measured
    printing : what a ruler read on the card's two 100 mm bars, across and along, in mm
    overlay_dir : folder for the pictures with outline and callipers drawn in
    two_shots : the photos show one bloom from near and far, and are solved together to one record
    workers : processes to measure in; 0: this one

    Yields
    ------
    dict
        ``photo``, ``together_with`` (the photos solved with it), ``of``, ``status`` ("measured" or
        "refused"), ``reason``, ``remedy``, ``sizes`` (each with ``value``, ``u``, ``interval95``,
        ``components``, and in ``again`` what is to be added when it is compared with another
        photo's), ``card``, ``lift_mm``, ``flags``, ``outline_confidence``, ``colours`` of a bloom
        (``colours`` with ``lab``, ``share`` and ``word`` each, ``balanced_on``, ``too_bright``);
        what there is nothing of is None or empty.

    Raises ``WrongEntry`` for options that can't be, before anything is measured.
    """
    checked_of = _one_of(of, get_args(Of), "Photos are measured of")
    checked_form: Form | None = _one_of(form, FORMS, "Forms are") if form is not None else None
    checked_held: Held | None = (
        _one_of(held, get_args(Held), "The card is held") if held is not None else None
    )
    if lift_mm is not None and not -500.0 <= lift_mm <= 500.0:
        msg = f"The outline can't be {lift_mm:g} mm above the card."
        raise WrongEntry(msg)
    files = [Path(path) for path in paths]
    if lift_mm is not None and (checked_of not in ("bloom", "clump") or two_shots):
        msg = "A height is told of one photo of a bloom's face or of a clump, and of no other."
        raise WrongEntry(msg)
    if two_shots and (checked_of != "bloom" or len(files) < 2):
        msg = "Solved together are two photos or more of one bloom's face, from near and from far."
        raise WrongEntry(msg)
    read = _printing(printing)
    names = _overlay_names(files)
    firsts = files[:1] if two_shots else files
    jobs = [
        MeasureJob(
            path=path,
            of=checked_of,
            form=checked_form,
            held=checked_held,
            lift_mm=lift_mm,
            printing=read,
            overlay=overlay_dir / name if overlay_dir is not None else None,
            more_shots=tuple(files[1:]) if two_shots else (),
        )
        for path, name in zip(firsts, names, strict=False)
    ]
    return _records(jobs, workers=workers)


def _records(jobs: list[MeasureJob], *, workers: int) -> Iterator[dict[str, Any]]:
    for job, outcome in run_in_workers(measure_photo, jobs, workers=workers):
        if isinstance(outcome, Figures):
            yield _measured(job, outcome)
        elif isinstance(outcome, Unmeasured):
            yield _refused(job, outcome.reason, outcome.remedy)
        else:
            yield _refused(job, *_lost(outcome))


def _measured(job: MeasureJob, figures: Figures) -> dict[str, Any]:
    return {
        "photo": str(job.path),
        "together_with": [str(path) for path in job.more_shots],
        "of": job.of,
        "status": "measured",
        "reason": None,
        "remedy": None,
        "sizes": {
            name: {
                "value": size.value,
                "u": size.u,
                "interval95": [size.low, size.high],
                "components": size.components,
                "again": size.again,
            }
            for name, size in figures.sizes.items()
        },
        "card": figures.card._asdict(),
        "lift_mm": {"value": figures.lift_mm, "u": figures.lift_u_mm},
        "flags": figures.flags,
        "outline_confidence": figures.outline_confidence,
        "colours": _colours(figures),
    }


def _colours(figures: Figures) -> dict[str, Any] | None:
    if figures.colours is None:
        return None
    colours = [
        {"lab": list(c.lab), "share": c.share, "word": c.word} for c in figures.colours.colours
    ]
    return {**figures.colours._asdict(), "colours": colours}


def _refused(job: MeasureJob, reason: str, remedy: str | None) -> dict[str, Any]:
    return {
        "photo": str(job.path),
        "together_with": [str(path) for path in job.more_shots],
        "of": job.of,
        "status": "refused",
        "reason": reason,
        "remedy": remedy,
        "sizes": {},
        "card": None,
        "lift_mm": None,
        "flags": [],
        "outline_confidence": None,
        "colours": None,
    }


def _lost(lost: Lost) -> tuple[str, str]:
    return lost.because, "Open the photo in another program and save it again as JPEG."


def _one_of(word: str, words: tuple[Any, ...], what: str) -> Any:
    if word not in words:
        msg = f"{what}: {', '.join(words)}; not {word!r}."
        raise WrongEntry(msg)
    return word


def _printing(read: tuple[float, float] | None) -> Printing:
    if read is None:
        return Printing()
    across_mm, along_mm = read
    if not all(80.0 <= one <= 120.0 for one in read):
        msg = (
            f"A ruler can't read {across_mm:g} and {along_mm:g} mm on bars printed to be 100 mm. "
            "Lay it on the two bars and give what it reads, across first."
        )
        raise WrongEntry(msg)
    return Printing(across_mm=across_mm, along_mm=along_mm, u_percent=RULER_U_PERCENT)


def _overlay_names(files: list[Path]) -> list[str]:
    """A name for each photo's overlay; photos of one name from several folders keep apart."""
    seen: Counter[str] = Counter()
    names = []
    for file in files:
        seen[file.stem] += 1
        again = f"-{seen[file.stem]}" if seen[file.stem] > 1 else ""
        names.append(f"{file.stem}{again}-outline.jpg")
    return names
