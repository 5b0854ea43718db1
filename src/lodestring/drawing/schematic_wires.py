"""Wires of a schematic once all are run: pieces made whole, and where three or more meet in a dot."""

from __future__ import annotations

from collections.abc import Iterable

from lodestring.drawing.geometry import Point
from lodestring.drawing.schematic_records import Drawn, Wire


def whole(wires: Iterable[Wire]) -> list[Wire]:
    """The same wires: pieces of one net that touch or lie on one another in a line made one, none without length."""
    runs: dict[tuple[str, bool, float], list[tuple[float, float]]] = {}
    for net, (ax, ay), (bx, by) in wires:
        upright = abs(ax - bx) < 1e-6
        if upright and abs(ay - by) < 1e-6:
            continue
        run = sorted((ay, by) if upright else (ax, bx))
        runs.setdefault((net, upright, round(ax if upright else ay, 3)), []).append((run[0], run[1]))
    out: list[Wire] = []
    for (net, upright, at), pieces in runs.items():
        joined: list[list[float]] = []
        for low, high in sorted(pieces):
            if joined and low <= joined[-1][1] + 1e-6:
                joined[-1][1] = max(joined[-1][1], high)
            else:
                joined.append([low, high])
        out += [(net, (at, a), (at, b)) if upright else (net, (a, at), (b, at)) for a, b in joined]
    return out


def joints(drawn: Drawn) -> list[Point]:
    """Points at which three or more ends and wires meet."""
    ends: dict[Point, int] = dict.fromkeys(map(_key, drawn.corners), 0)
    for at in drawn.points:
        ends[_key(at)] = ends.get(_key(at), 0) + 1
    for _, a, b in drawn.wires:
        for at in (a, b):
            ends[_key(at)] = ends.get(_key(at), 0) + 1
    for at in ends:
        ends[at] += 2 * sum(_within(at, wire) for wire in drawn.wires)
    return [at for at, count in ends.items() if count >= 3]


def _key(at: Point) -> Point:
    return (round(at[0], 3), round(at[1], 3))


def _within(at: Point, wire: Wire) -> bool:
    """Whether a point lies inside a wire, not at its ends."""
    _, (ax, ay), (bx, by) = wire
    x, y = at
    if abs(ax - bx) < 1e-6:
        return abs(x - ax) < 1e-3 and min(ay, by) + 1e-3 < y < max(ay, by) - 1e-3
    return abs(y - ay) < 1e-3 and min(ax, bx) + 1e-3 < x < max(ax, bx) - 1e-3
