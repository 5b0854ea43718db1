"""What passes between the layout of a schematic and what draws its cells."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from lodestring.drawing.geometry import Point
from lodestring.drawing.shapes import Item

Side = Literal["left", "right"]
Wire = tuple[str, Point, Point]
"""A net, and the two ends of a level or upright line."""


@dataclass(frozen=True, slots=True)
class Port:
    """Where a net leaves a cell: from (x, y) to that side of its column."""

    net: str
    side: Side
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Size:
    """What a cell needs: width, room above and below its (0, 0), the line its symbols stand on, its ports."""

    width: float
    up: float
    down: float
    axis: float
    ports: tuple[Port, ...]


@dataclass(slots=True)
class Drawn:
    """Items of the cells, wires by net, the outer points of all ends (grounds counted as one more), and the points at
    which pieces of wire ended before they were made whole."""

    items: list[Item] = field(default_factory=list)
    wires: list[Wire] = field(default_factory=list)
    points: list[Point] = field(default_factory=list)
    corners: list[Point] = field(default_factory=list)
