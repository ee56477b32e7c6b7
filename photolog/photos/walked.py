"""The order of plants as they were walked past, from the walks alone."""

from __future__ import annotations

from collections.abc import Sequence

from photolog.photos.garden import Holder

__all__ = ["walked_order"]

# Two that come one after the other count once, with one between them less, and so on.
_APART = 3
# Shorter pieces of a way are left to be put in between others.
_SHORTEST_PIECE = 4


def walked_order(walks: Sequence[Sequence[Holder]]) -> list[Holder]:
    """One way past the plants that the walks go along, whichever way each of them went.

    Plants that came next to each other most often are linked first, each to two others at most;
    the pieces of the way are laid one after the other as the walks go from one to the next. What
    was met too seldom is left out.
    """
    links: dict[tuple[Holder, Holder], float] = {}
    for walk in walks:
        for n, one in enumerate(walk):
            for apart, other in enumerate(walk[n + 1 : n + 1 + _APART], 1):
                if one != other:
                    pair = (one, other) if one < other else (other, one)
                    links[pair] = links.get(pair, 0.0) + 1.0 / apart**2
    pieces = [piece for piece in _linked(links) if len(piece) >= _SHORTEST_PIECE]
    return _one_after_the_other(pieces, links)


def _linked(links: dict[tuple[Holder, Holder], float]) -> list[list[Holder]]:
    """Pieces of the way, the strongest links first."""
    piece_of: dict[Holder, list[Holder]] = {}
    for pair in sorted(links, key=lambda pair: (-links[pair], pair)):
        first, second = (piece_of.setdefault(one, [one]) for one in pair)
        one, other = pair
        if first is second or one not in (first[0], first[-1]):
            continue
        if other not in (second[0], second[-1]):
            continue
        if first[-1] != one:
            first.reverse()
        if second[0] != other:
            second.reverse()
        first.extend(second)
        for moved in second:
            piece_of[moved] = first
    return list({id(piece): piece for piece in piece_of.values()}.values())


def _one_after_the_other(
    pieces: list[list[Holder]], links: dict[tuple[Holder, Holder], float]
) -> list[Holder]:
    """The pieces as one way, each joined on where walks went on from it most often."""
    left = sorted(pieces, key=len, reverse=True)
    if not left:
        return []
    way = left.pop(0)

    def linked(end: Sequence[Holder], begin: Sequence[Holder]) -> float:
        """How often walks go from the last few of one to the first few of the other."""
        return sum(
            links.get((one, other) if one < other else (other, one), 0.0)
            for one in end[-_APART:]
            for other in begin[:_APART]
        )

    while left:
        joined = max(
            (
                (linked(base, turned), number, base is not way, turned is not piece)
                for number, piece in enumerate(left)
                for base in (way, way[::-1])
                for turned in (piece, piece[::-1])
            ),
            key=lambda one: one[0],
        )
        _, number, at_begin, turn = joined
        piece = left.pop(number)
        way = [*(way[::-1] if at_begin else way), *(piece[::-1] if turn else piece)]
    return way
