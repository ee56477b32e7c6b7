"""The blind set's scene list: blooms and clumps drawn from seeds over all that varies outdoors.

No setting of the program was chosen on these pictures, and none may be: they are for measuring how
accurate it is, nothing else. A set whose pictures were looked at one by one is no blind test any
more; the next one is drawn from other seeds, everything else the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from bloom_kinds import FORMS
from petal_colours import COLOURS
from shot import Shot

__all__ = ["Scene", "scenes_of"]

BLOOMS, CLUMPS, SIDES = 72, 60, 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One picture to come.

    ``build`` is "spiral" or "whorl" for a bloom, "piled" or "beaded" for a clump. The lens is
    chosen for the distance: the longest that takes everything in.
    """

    shot: Shot
    build: str
    held: str
    form: str = ""
    colour: str = ""
    tubers: int = 0
    scale: float = 1.0

    @property
    def name(self) -> str:
        """The file's name without its ending."""
        return self.shot.file.split(".")[0]


_ACROSS_MM = {
    "single": (62, 110), "collerette": (75, 120), "anemone": (70, 110), "decorative": (90, 185),
    "ball": (75, 125), "pompon": (38, 54), "cactus": (110, 180), "semi-cactus": (110, 185),
    "waterlily": (95, 150), "stellar": (85, 140),
}  # fmt: skip

_UPRIGHT = ("foliage", "bed", "sky", "wall", "hand")
_BLOOM_BACKGROUNDS = ("foliage", "bed", "sky", "hand", "bench", "slate", "foliage", "bed", "wall")
_CLUMP_BACKGROUNDS = ("bench", "sacking", "slate", "sheet", "concrete", "damp soil")
_TUBERS = ("3", "4", "5", "5", "6", "6", "7", "7", "8", "9", "10", "11", "12", "13", "15")
_LIGHTS = ("sun", "overcast", "daylight", "dusk", "sun", "overcast")


def _shuffled(rng: np.random.Generator, choices: tuple[str, ...], count: int) -> list[str]:
    """``count`` of them, each as often as the others, in random order."""
    rounds = -(-count // len(choices))
    return [str(c) for c in rng.permutation(np.tile(choices, rounds)[:count])]


def _generator(seed: int, drawn: int) -> np.random.Generator:
    """The random numbers of one kind of scene in one set."""
    return np.random.default_rng(seed + 1_000 * (drawn - 1))


def _numbered(kind: str, k: int, drawn: int) -> str:
    """A file's name: BL0001 in the first set, BL2001 in the second."""
    return f"{kind}{0 if drawn == 1 else drawn}{k + 1:03d}.JPG"


def _seed(base: int, drawn: int) -> int:
    """What one picture's own seed starts from."""
    return base + 1_000_000 * (drawn - 1)


def _hand_held(rng: np.random.Generator) -> dict[str, float]:
    return {
        "tilt": round(float(rng.choice([rng.uniform(0, 12), rng.uniform(8, 25)])), 1),
        "tilt_from": round(float(rng.uniform(0, 360)), 1),
        "turn": round(float(rng.normal(0, 5)), 1),
        "blur_px": round(float(rng.uniform(0.45, 0.85)), 2),
    }


def _blooms(drawn: int) -> list[Scene]:
    rng = _generator(20261125, drawn)
    forms = _shuffled(rng, FORMS, BLOOMS)
    colours = _shuffled(rng, tuple(c for c in COLOURS if c != "cream"), BLOOMS)
    backgrounds = _shuffled(rng, _BLOOM_BACKGROUNDS, BLOOMS)
    lights = _shuffled(rng, _LIGHTS, BLOOMS)
    builds = _shuffled(rng, ("spiral", "whorl"), BLOOMS)
    made = []
    for k, (form, background) in enumerate(zip(forms, backgrounds, strict=True)):
        across = float(rng.uniform(*_ACROSS_MM[form]))
        held = str(rng.choice(["behind", "level"]))
        if background == "hand":
            held = "level"
        elif background not in _UPRIGHT:
            held = "bench"
        card = {"behind": "bloom-1", "level": "pocket-1", "bench": "pocket-1"}[held]
        if held == "bench" and rng.uniform() < 0.4:
            card = "bench-1"
        if held == "behind":
            across = min(across, 165.0)
        hand = _hand_held(rng)
        upright = held == "behind" and rng.uniform() < 0.6
        shot = Shot(
            file=_numbered("BL", k, drawn),
            folder="blooms",
            taken_at=f"2026-02-{1 + k % 27:02d}T10:{k % 60:02d}:00",
            subject="bloom",
            tag=None,
            card=card,
            surface=background,
            light=lights[k],
            pegged=False,
            seed=_seed(70_000, drawn) + 13 * k,
            widest_mm=round(across, 1),
            distance_mm=round(float(rng.uniform(250, 900)), 0),
            opening_mm=3.0,
            **(hand | ({"turn": 88.0 + hand["turn"], "orientation": 6} if upright else {})),  # type: ignore[arg-type]
        )
        made.append(Scene(shot=shot, build=builds[k], held=held, form=form, colour=colours[k]))
    return made


def _clumps(drawn: int) -> list[Scene]:
    rng = _generator(20261126, drawn)
    backgrounds = _shuffled(rng, _CLUMP_BACKGROUNDS, CLUMPS)
    lights = _shuffled(rng, _LIGHTS, CLUMPS)
    builds = _shuffled(rng, ("piled", "beaded"), CLUMPS)
    # Most clumps have up to nine tubers; a third have more.
    counts = _shuffled(rng, _TUBERS, CLUMPS)
    made = []
    for k, background in enumerate(backgrounds):
        small = rng.uniform() < 0.2
        shot = Shot(
            file=_numbered("CL", k, drawn),
            folder="clumps",
            taken_at=f"2026-05-{1 + k % 30:02d}T14:{k % 60:02d}:00",
            subject="clump",
            tag=None,
            card="pocket-1" if small else "bench-1",
            surface=background,
            light=lights[k],
            pegged=False,
            seed=_seed(90_000, drawn) + 17 * k,
            laid=round(float(rng.uniform(0, 360)), 0),
            side=str(rng.choice(["left", "right"])),
            distance_mm=round(float(rng.uniform(300 if small else 450, 900)), 0),
            **_hand_held(rng),  # type: ignore[arg-type]
        )
        made.append(
            Scene(
                shot=shot,
                build=builds[k],
                held="bench",
                tubers=int(counts[k]),
                scale=round(float(rng.uniform(0.6, 0.85) if small else rng.uniform(0.85, 1.5)), 3),
            )
        )
    return made


def _sides(drawn: int) -> list[Scene]:
    """Blooms from the side, the pocket card upright beside them."""
    rng = _generator(20261128, drawn)
    forms = _shuffled(rng, FORMS, SIDES)
    colours = _shuffled(rng, tuple(c for c in COLOURS if c != "cream"), SIDES)
    backgrounds = _shuffled(rng, ("foliage", "bed", "sky", "wall"), SIDES)
    lights = _shuffled(rng, _LIGHTS, SIDES)
    builds = _shuffled(rng, ("spiral", "whorl"), SIDES)
    made = []
    for k, form in enumerate(forms):
        hand = _hand_held(rng)
        shot = Shot(
            file=_numbered("SI", k, drawn),
            folder="sides",
            taken_at=f"2026-02-{1 + k:02d}T11:{k:02d}:00",
            subject="bloom-side",
            tag=None,
            card="pocket-1",
            surface=backgrounds[k],
            light=lights[k],
            pegged=False,
            seed=_seed(110_000, drawn) + 19 * k,
            widest_mm=round(float(rng.uniform(*_ACROSS_MM[form])), 1),
            distance_mm=round(float(rng.uniform(300, 700)), 0),
            opening_mm=3.0,
            **(hand | {"tilt": round(hand["tilt"] * 0.5, 1)}),  # type: ignore[arg-type]
        )
        made.append(Scene(shot=shot, build=builds[k], held="level", form=form, colour=colours[k]))
    return made


@cache
def scenes_of(drawn: int = 1) -> tuple[Scene, ...]:
    """The scenes of the first set drawn, or of the second, third ... ninth.

    All shuffled, so that any first part of the list is balanced; then those from the side.

    Raises
    ------
    ValueError
        When ``drawn`` is not 1 to 9.
    """
    if not 1 <= drawn <= 9:
        msg = f"blind sets are numbered from 1 to 9, not {drawn}"
        raise ValueError(msg)
    every = [*_blooms(drawn), *_clumps(drawn)]
    order = _generator(20261127, drawn).permutation(len(every))
    return (*(every[k] for k in order), *_sides(drawn))
