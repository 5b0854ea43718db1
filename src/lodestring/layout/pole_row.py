"""The pole pieces of one coil: where each stands, how high, and the obround the coil goes round.

Frame of the pickup: origin at its middle on the top plate's upper face, x along its long axis, y toward the nut, z out
of the body. Metres. Pole pieces are numbered from string 1 on.
"""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.layout.obround import Disc, Obround, blade_obround, hull


@dataclass(frozen=True, slots=True)
class RowIn:
    """Layout of a coil's pole pieces.

    kind: "one per string" | "two per string" | "blade" | "listed" | "none". `crossings`: x of the strings served,
    string 1 first. `radius` is the rod's, `wall` what lies between rod and first turn. `core` is (length, width) of the
    wall's outside where there are no pole pieces. `place` is the coil's middle from the pickup's (toward the nut).
    """

    kind: str
    crossings: tuple[float, ...]
    place: float
    radius: float
    wall: float
    apart: float = 0.0
    blade: tuple[float, float] = (0.0, 0.0)
    listed: tuple[tuple[float, float], ...] = ()
    core: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Row:
    """Centres of the pole pieces, the string index (from 0, within the strings served) each stands under or None,
    and the obround of the innermost turn."""

    centres: tuple[tuple[float, float], ...]
    under: tuple[int | None, ...]
    inner: Obround


def pole_row(given: RowIn) -> Row:
    """Place the pole pieces and find the coil's inner obround. Raises DomainError where that is impossible."""
    y = given.place
    if given.kind == "none":
        length, width = given.core
        return Row((), (), Obround(max(length - width, 0.0), width / 2, 0.0, y))
    if given.kind == "blade":
        length, thickness = given.blade
        middle = (given.crossings[0] + given.crossings[-1]) / 2
        return Row(((middle, y),), (None,), blade_obround(length, thickness, given.wall, middle, y))
    if given.kind == "listed":
        centres = given.listed
        under: tuple[int | None, ...] = tuple(_nearest(x, given.crossings) for x, _ in centres)
    elif given.kind == "two per string":
        half = given.apart / 2 * (1 if given.crossings[0] >= given.crossings[-1] else -1)
        centres = tuple((x + side, y) for x in given.crossings for side in (half, -half))
        under = tuple(i for i in range(len(given.crossings)) for _ in (0, 1))
    else:
        centres = tuple((x, y) for x in given.crossings)
        under = tuple(range(len(centres)))
    discs = [Disc(cx, cy, given.radius) for cx, cy in centres]
    return Row(centres, under, hull(discs, given.wall))


def _nearest(x: float, crossings: tuple[float, ...]) -> int:
    return min(range(len(crossings)), key=lambda i: abs(crossings[i] - x))


def nearest_pair(centres: tuple[tuple[float, float], ...]) -> tuple[int, int, float] | None:
    """Indices and centre distance of the two pole pieces that stand closest; None for fewer than two."""
    best: tuple[int, int, float] | None = None
    for i, (x1, y1) in enumerate(centres):
        for j in range(i + 1, len(centres)):
            distance = float(((x1 - centres[j][0]) ** 2 + (y1 - centres[j][1]) ** 2) ** 0.5)
            if best is None or distance < best[2]:
                best = (i, j, distance)
    return best
