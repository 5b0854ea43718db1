"""Where the wire leaves a plate: eyelets, the lead-out's hole, and the groove that brings the start wire out. Metres.

The free end of the plate lies between the last turn (belly, tape and a loose hand counted) and the plate's edge. The
eyelets stand side by side there, as far from coil and edge as they can; the groove runs from the core's round end to
the start's eyelet, so that the start wire climbs the plate outside the later turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.layout.obround import Obround, room_inside
from lodestring.parts.records import Groove, Point


@dataclass(frozen=True, slots=True)
class ExitsIn:
    """A plate about its coil's middle, the innermost turn, the coil's greatest outside, and the sizes needed.

    `end`: +1 or -1, the end of x at which the wire leaves; `web`: least material between two holes or to the edge;
    `holes`: (x, y, radius) of what stands there already.
    """

    length: float
    width: float
    corner: float
    inner: Obround
    outer_end: float
    end: int
    eyelet: float
    lead_out: float
    web: float
    groove_width: float
    groove_depth: float
    from_hole: float
    holes: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Exits:
    """Middles of the start's and the finish's eyelets and of the lead-out hole; None where there is no room."""

    start: Point | None
    finish: Point | None
    lead_out: Point | None
    groove: Groove | None


GRID = 0.2e-3
"""Places are tried on a grid this fine [m]."""


def exits(given: ExitsIn) -> Exits:
    """The wire's ways out of a plate; all None where its free end is too small for two eyelets.

    Of the places with room for eyelets and lead-out the one with most to spare; else that with most for the eyelets.
    """
    best: tuple[bool, float] = (False, -1.0)
    found: tuple[Point, Point | None] | None = None
    for x, y in _grid(given):
        slack = min(_slack(given, x, y, given.eyelet / 2), 2 * y - given.eyelet - given.web)
        if slack < 0.0 or (best[0] and slack <= best[1] + 1e-12):
            continue
        lead, over = _lead_out(given, (x, y))
        rank = (lead is not None, min(slack, over) if lead is not None else slack)
        if rank > (best[0], best[1] + 1e-12):
            best, found = rank, ((x, y), lead)
    if found is None:
        return Exits(None, None, None, None)
    (x, y), lead = found
    start = (given.end * x, y)
    return Exits(start, (given.end * x, -y), lead, _groove(given, start))


def _grid(given: ExitsIn) -> list[Point]:
    """Candidates in the quarter x > 0, y > 0 beyond the coil's end, outermost last."""
    near = given.inner.s / 2 + given.inner.r
    nx, ny = int((given.length / 2 - near) / GRID), int(given.width / 2 / GRID)
    return [(near + i * GRID, j * GRID) for j in range(ny, 0, -1) for i in range(nx + 1)]


def _slack(given: ExitsIn, x: float, y: float, radius: float) -> float:
    """What is left over, beyond the web, to the edge and (without web) to the outermost turn."""
    edge = room_inside(given.length, given.width, given.corner, x, y) - radius - given.web
    coil = math.hypot(max(x - given.inner.s / 2, 0.0), y) - given.inner.r - given.outer_end - radius
    others = [math.dist((given.end * x, y), (hx, hy)) - r - radius - given.web for hx, hy, r in given.holes]
    return min(edge, coil, *others) if others else min(edge, coil)


def _lead_out(given: ExitsIn, eyelet: Point) -> tuple[Point | None, float]:
    """On the middle line, as far from eyelets, coil and edge as it can be; and what is left over there."""
    near = given.inner.s / 2 + given.inner.r
    best, place = 0.0, None
    for i in range(int((given.length / 2 - near) / GRID) + 1):
        x = near + i * GRID
        apart = math.dist((x, 0.0), eyelet) - (given.eyelet + given.lead_out) / 2 - given.web
        slack = min(_slack(given, x, 0.0, given.lead_out / 2), apart)
        if slack >= 0.0 and (place is None or slack > best + 1e-12):
            best, place = slack, (given.end * x, 0.0)
    return place, best


def _groove(given: ExitsIn, eyelet: Point) -> Groove:
    """From just outside the core's round end, clear of every pole piece's hole, to the eyelet's middle."""
    half = given.groove_width / 2
    x = given.inner.s / 2 + given.inner.r + half
    for hx, hy, radius in given.holes:
        if abs(hy) < radius + given.from_hole + half and given.end * hx < x:
            beside = math.sqrt(max((radius + given.from_hole + half) ** 2 - hy**2, 0.0))
            x = max(x, given.end * hx + beside)
    return Groove((given.end * x, 0.0), eyelet, given.groove_width, given.groove_depth)
