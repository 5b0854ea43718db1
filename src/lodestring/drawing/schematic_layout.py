"""Where the cells of a schematic stand and how the wires between them run.

Cells stand in columns; between two columns is a channel in which each net has one upright track of its own, so wires of
different nets only ever cross squarely and never lie on one another. A net that passes a column does so on a line of
its own, or along the head of a part that hangs from it. Every joint is a dot; a crossing without one is none.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from lodestring.drawing.geometry import Point
from lodestring.drawing.schematic_cells import Cell
from lodestring.drawing.schematic_records import Drawn, Port, Side, Size
from lodestring.drawing.schematic_tracks import ordered
from lodestring.drawing.schematic_wires import whole

GRID = 2.0
"""Ports of all cells lie on a grid, mm."""
GAP = 3.0
TRACK, MARGIN = 2.2, 2.6
PASSING = 1.5
"""Room above and below a wire that passes a column."""


class Draws(Protocol):
    """What measures a cell and draws it with its (0, 0) at a point."""

    def size(self, cell: Cell) -> Size: ...

    def draw(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None: ...


@dataclass(slots=True)
class Placed:
    """A cell, or a wire that passes a column (cell None), in its column."""

    cell: Cell | None
    size: Size
    column: int
    wanted: float = 0.0
    weight: float = 1.0
    y: float = 0.0
    passes: str = ""
    ports: list[Port] = field(default_factory=list)


def lay_out(cells: Sequence[Cell], drawer: Draws) -> Drawn:
    """Everything drawn: cells, wires by net, and the points at which joints may be."""
    columns = sorted({c.column for c in cells})
    placed = [Placed(c, drawer.size(c), columns.index(c.column)) for c in cells]
    for p in placed:
        p.ports = list(p.size.ports)
    every = placed + _passing(placed)
    _heights(every, len(columns), 0.0)
    tracks = [_tracks(every, channel) for channel in range(1, len(columns))]
    if any(t is None for t in tracks):
        # Wires would have to lie on one another: every other column half a grid lower leaves no two ports level.
        _heights(every, len(columns), GRID / 2)
        tracks = [_tracks(every, channel) for channel in range(1, len(columns))]
    return _drawn(every, len(columns), [t or () for t in tracks], drawer)


# ---- wires that pass a column ----


def _channels(p: Placed, port: Port) -> int:
    """The channel a port opens to: channel i lies left of column i."""
    return p.column + (1 if port.side == "right" else 0)


def _passing(placed: list[Placed]) -> list[Placed]:
    spans: dict[str, list[int]] = {}
    for p in placed:
        for port in p.ports:
            spans.setdefault(port.net, []).append(_channels(p, port))
    out = []
    for net, channels in spans.items():
        for column in range(min(channels), max(channels)):
            head = next((p for p in placed if p.column == column and _hangs(p, net)), None)
            if head is not None:
                head.passes = net
                head.ports.append(Port(net, "right", head.size.axis, 0.0))
                continue
            size = Size(0.0, PASSING, PASSING, 0.0, ())
            p = Placed(None, size, column, passes=net)
            p.ports = [Port(net, "left", 0.0, 0.0), Port(net, "right", 0.0, 0.0)]
            out.append(p)
    return out


def _hangs(p: Placed, net: str) -> bool:
    """Whether a cell hangs from the net, so that the net may run on along its head."""
    return p.cell is not None and p.cell.shape == "standing" and p.cell.nets[0] == net and not p.passes


# ---- heights ----


def _heights(every: list[Placed], columns: int, shift: float) -> None:
    """Column by column from the left: each as level as can be with where its wires come from."""
    known: dict[str, float] = {}
    for column in range(columns):
        here = [p for p in every if p.column == column]
        low = min(known.values(), default=0.0)
        for p in here:
            p.wanted, p.weight = _wanted(p, here, known, low)
        here.sort(key=lambda p: -p.wanted)
        offset = shift if column % 2 else 0.0
        _settle(here, offset)
        fresh: dict[str, tuple[float, tuple[float, float, float]]] = {}
        for p in here:
            for port in p.ports:
                if port.side == "right":
                    y = p.y + port.y
                    # go on level with what weighs most (a control's wiper before its bleed), else with the uppermost
                    key = (p.weight, -abs(y - known.get(port.net, y)), y)
                    old = fresh.get(port.net)
                    if old is None or key > old[1]:
                        fresh[port.net] = (y, key)
        known.update({net: y for net, (y, _) in fresh.items()})
    _level_coils(every)


def _level_coils(every: list[Placed]) -> None:
    """The first column once more, now level with what stands next to it; what is joined to nothing there follows on."""
    here = [p for p in every if p.column == 0]
    beside = [
        (p.weight, p.y + port.y, port.net) for p in every if p.column == 1 for port in p.ports if port.side == "left"
    ]
    for i, p in enumerate(here):
        found: list[tuple[float, float]] = []
        for port in p.ports:
            found = found or [(weight, y - port.y) for weight, y, net in beside if net == port.net]
        if found:
            p.wanted = max(found)[1]
        elif i:
            p.wanted = here[i - 1].wanted - here[i - 1].size.down - p.size.up - GAP
    _settle(here, 0.0)


def _wanted(p: Placed, here: list[Placed], known: dict[str, float], low: float) -> tuple[float, float]:
    if p.column == 0:
        before = here[: next(i for i, q in enumerate(here) if q is p)]
        return -sum(q.size.up + q.size.down + GAP for q in before), 1.0
    left = [known[port.net] - port.y for port in p.ports if port.side == "left" and port.net in known]
    if p.cell is None:
        return left[0] if left else low, 8.0
    if p.cell.shape == "lying":
        beside = _bypassed(p, here)
        if beside is not None and left:
            return left[0] + p.size.down + beside.size.up + GAP, 1.0
    return (left[0] if left else low - 8.0), 4.0 if p.cell.shape in ("control", "jack") else 2.0


def _bypassed(p: Placed, here: list[Placed]) -> Placed | None:
    """The control in the same column between the same nets: a treble bleed stands above it."""
    assert p.cell is not None  # noqa: S101 - asked only of cells
    nets = set(p.cell.nets)
    beside = (q for q in here if q.cell is not None and q.cell.shape == "control" and nets <= set(q.cell.nets))
    return next(beside, None)


def _settle(here: list[Placed], offset: float) -> None:
    """Heights nearest the wanted ones, in order, none on another: least sum of weighted distances."""
    down, total = [], 0.0
    for i, p in enumerate(here):
        if i:
            total += GRID * math.ceil((here[i - 1].size.down + p.size.up + GAP) / GRID)
        down.append(total)
    pools: list[tuple[float, list[tuple[float, float]]]] = []
    for p, d in zip(here, down, strict=True):
        members = [(-p.wanted - d, p.weight)]
        place = members[0][0]
        while pools and pools[-1][0] > place:
            members = pools.pop()[1] + members
            place = _median(members)
        pools.append((place, members))
    places = [place for place, members in pools for _ in members]
    for p, d, place in zip(here, down, places, strict=True):
        p.y = -(GRID * round(place / GRID) + d) - offset


def _median(members: list[tuple[float, float]]) -> float:
    half = sum(w for _, w in members) / 2
    passed = 0.0
    for value, weight in sorted(members):
        passed += weight
        if passed >= half:
            return value
    return members[-1][0]


# ---- tracks ----


def _sides(every: Iterable[Placed], channel: int) -> dict[str, tuple[list[float], list[float]]]:
    """Per net: heights at which it enters a channel from the left and from the right."""
    out: dict[str, tuple[list[float], list[float]]] = {}
    for p in every:
        for port in p.ports:
            if _channels(p, port) == channel:
                out.setdefault(port.net, ([], []))[0 if port.side == "right" else 1].append(p.y + port.y)
    return out


def _tracks(every: list[Placed], channel: int) -> tuple[str, ...] | None:
    """Nets that need a track in a channel, from left to right; None where no order keeps them apart."""
    return ordered(_sides(every, channel))


# ---- drawing ----


def _drawn(every: list[Placed], columns: int, tracks: Sequence[tuple[str, ...]], drawer: Draws) -> Drawn:
    widths = [max((p.size.width for p in every if p.column == c), default=0.0) for c in range(columns)]
    left, x = [], 0.0
    for c in range(columns):
        left.append(x)
        x += widths[c] + (2 * MARGIN + TRACK * max(len(tracks[c]) - 1, 0) if c < len(tracks) else 0.0)
    out = Drawn()
    for p in every:
        if p.cell is not None:
            drawer.draw(p.cell, p.size, (left[p.column] + _indent(p, widths), p.y), out)
    for c in range(1, columns):
        _channel(every, c, left, widths, tracks[c - 1], out)
    for p in every:
        if p.cell is None:
            out.wires.append((p.passes, (left[p.column], p.y), (left[p.column] + widths[p.column], p.y)))
    out.corners = [at for _, a, b in out.wires for at in (a, b)]
    out.wires = whole(out.wires)
    return out


def _indent(p: Placed, widths: Sequence[float]) -> float:
    """Coils stand at the right of their column, mirrored controls too, lying parts in its middle."""
    assert p.cell is not None  # noqa: S101 - asked only of cells
    room = widths[p.column] - p.size.width
    if p.cell.shape == "coils" or p.cell.mirrored:
        return room
    return room / 2 if p.cell.shape == "lying" else 0.0


def _channel(
    every: list[Placed], c: int, left: Sequence[float], widths: Sequence[float], tracks: tuple[str, ...], out: Drawn
) -> None:
    start = left[c - 1] + widths[c - 1] + MARGIN
    lanes = {net: start + TRACK * i for i, net in enumerate(tracks)}
    ports: dict[str, list[tuple[Side, Point]]] = {}
    for p in every:
        for port in p.ports:
            if _channels(p, port) == c:
                if p.cell is None:
                    x = left[p.column] + (widths[p.column] if port.side == "right" else 0.0)
                else:
                    x = left[p.column] + _indent(p, widths) + port.x
                ports.setdefault(port.net, []).append((port.side, (x, p.y + port.y)))
    for net, found in ports.items():
        if len(found) < 2:
            continue
        if net not in lanes:
            out.wires.append((net, found[0][1], found[1][1]))
            continue
        lane = lanes[net]
        ys = sorted({at[1] for _, at in found})
        out.wires += [(net, at, (lane, at[1])) for _, at in found]
        out.wires += [(net, (lane, a), (lane, b)) for a, b in itertools.pairwise(ys)]
