"""Pictures as frozen records: a sheet at 1:1 and the things that can lie on it.

All lengths are millimetres, x to the right, y UP; angles are degrees, anticlockwise. `Sheet1to1.origin` says where the
drawing's (0, 0) lies, measured from the sheet's lower left corner. Text sizes, arrowheads, line widths, hatch spacings
and a dimension's offset are millimetres on the paper, also inside a scaled group. `svg.svg` draws them.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from lodestring.drawing.geometry import ArcTo, LineTo, Point
from lodestring.drawing.look import Role
from lodestring.drawing.shapes import (
    CentreLine,
    Circle,
    Closed,
    Dot,
    Hatch,
    Item,
    Line,
    Obround,
    Path,
    Polyline,
    Rect,
    Region,
    arc,
    centre_cross,
    check,
    must,
)
from lodestring.drawing.text import clean
from lodestring.errors import DomainError, LodestringError

__all__ = [
    "FONT_SIZE",
    "Anchor",
    "ArcTo",
    "Arrow",
    "CentreLine",
    "Circle",
    "Closed",
    "Dimension",
    "DimensionKind",
    "Dot",
    "Group",
    "Hatch",
    "Item",
    "Leader",
    "LeaderEnd",
    "Level",
    "Line",
    "LineTo",
    "Obround",
    "Path",
    "Point",
    "Polyline",
    "Rect",
    "Region",
    "Role",
    "Sheet1to1",
    "Text",
    "arc",
    "centre_cross",
    "described",
]

FONT_SIZE = 3.2
"""The usual font size, mm: 9 pt, with capitals 2.1 mm high."""


class Anchor(StrEnum):
    """Which end of a text its point is."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


class Level(StrEnum):
    """Which height of a text its point is: the baseline, or half the capitals' height."""

    BASELINE = "baseline"
    MIDDLE = "middle"


class DimensionKind(StrEnum):
    """HORIZONTAL and VERTICAL measure along x or y, ALIGNED along a to b; DIAMETER and RADIUS a circle."""

    HORIZONTAL = "horizontal"
    VERTICAL = "vertical"
    ALIGNED = "aligned"
    DIAMETER = "diameter"
    RADIUS = "radius"


class LeaderEnd(StrEnum):
    """ARROW touches an edge, DOT lies inside a surface."""

    ARROW = "arrow"
    DOT = "dot"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Text(Item):
    """Text; a tuple is several lines. `knock_out` lays paper under it, for text on hatching."""

    at: Point
    text: str | tuple[str, ...]
    size: float = FONT_SIZE
    anchor: Anchor = Anchor.START
    level: Level = Level.BASELINE
    rotation: float = 0.0
    role: Role = Role.NOTE
    bold: bool | None = None  # None: as the role has it
    knock_out: bool = False

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(self.size > 0, self, "a size above 0", self.size)

    def lines(self) -> tuple[str, ...]:
        return (self.text,) if isinstance(self.text, str) else self.text


@dataclass(frozen=True, slots=True)
class Dimension(Item):
    """A measured length, drawn by the habits of ISO 129-1 (see dimension.py).

    a, b: the two points measured; for DIAMETER and RADIUS the centre and a point on the circle. offset: where the
    dimension line stands, mm on paper: above (+) the higher point or below (-) the lower for HORIZONTAL, right (+) or
    left (-) for VERTICAL, left (+) of a to b for ALIGNED; for DIAMETER and RADIUS how far outside the circle the text
    stands if it does not fit inside (negative: the other way, along the drawn line). text: None writes the length.
    outside_at: the end a text goes to when it is wider than the length.
    """

    kind: DimensionKind
    a: Point
    b: Point
    offset: float = 8.0
    text: str | None = None
    size: float = FONT_SIZE
    outside_at: Anchor = Anchor.END
    role: Role = Role.DIMENSION

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(self.length() > 0, self, "two points apart in the direction measured", f"{self.a} and {self.b}")
        must(self.size > 0, self, "a size above 0", self.size)

    def length(self) -> float:
        """What is measured, mm (a radius for RADIUS, a diameter for DIAMETER)."""
        dx, dy = self.b[0] - self.a[0], self.b[1] - self.a[1]
        if self.kind is DimensionKind.HORIZONTAL:
            return abs(dx)
        if self.kind is DimensionKind.VERTICAL:
            return abs(dy)
        return math.hypot(dx, dy) * (2 if self.kind is DimensionKind.DIAMETER else 1)


@dataclass(frozen=True, slots=True)
class Leader(Item):
    """A note with a line to the point it speaks of; the text stands beside `to`, away from the point."""

    point: Point
    to: Point
    text: str | tuple[str, ...]
    size: float = FONT_SIZE
    end: LeaderEnd = LeaderEnd.ARROW
    role: Role = Role.NOTE

    def lines(self) -> tuple[str, ...]:
        return (self.text,) if isinstance(self.text, str) else self.text


@dataclass(frozen=True, slots=True)
class Arrow(Item):
    """An arrow along a path, arcs allowed: a direction of winding, a way of insertion. `head` is mm on paper."""

    path: Path
    head: float = 3.0
    role: Role = Role.NOTE


@dataclass(frozen=True, slots=True)
class Group(Item):
    """Items in a frame of their own: scaled, then turned, then moved to `at`.

    `scale` enlarges geometry alone (a detail at 2:1): texts, heads, line widths stay, dimensions tell the true length.
    """

    items: tuple[Item, ...]
    at: Point = (0.0, 0.0)
    rotation: float = 0.0
    scale: float = 1.0
    css: str = "group"

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(self.scale > 0, self, "a scale above 0", self.scale)
        must(bool(re.fullmatch(r"[a-z][a-z0-9-]*", self.css)), self, "a class of a-z, 0-9, '-'", repr(self.css))


@dataclass(frozen=True, slots=True)
class Sheet1to1:
    """A drawing at 1:1. size_mm: width, height. title, desc: what it is and shows, for those who cannot see it."""

    size_mm: Point
    items: tuple[Item, ...]
    title: str
    desc: str
    origin: Point = (0.0, 0.0)
    name: str = ""

    def __post_init__(self) -> None:
        check(self)
        if not (self.size_mm[0] > 0 and self.size_mm[1] > 0):
            raise DomainError("a sheet has sides above 0 mm", f"{self.size_mm}")
        described(self.title, self.desc)

    def called(self) -> str:
        return "Sheet1to1"


def described(title: str, desc: str) -> None:
    """A picture tells in words what it is and what it shows; LodestringError if not."""
    for what, text in (("title", title), ("description", desc)):
        if not clean(text).strip():
            raise LodestringError(
                f"a picture has a {what} for those who cannot see it", "an empty one", "a short sentence"
            )
