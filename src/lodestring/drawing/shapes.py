"""The shapes that can lie on a sheet, and what every item of a picture has in common. `picture.py` gives them on.

Records are checked when they are made; a coordinate that is no finite number raises DomainError with the item's name.
"""

from __future__ import annotations

import dataclasses
import math
import re
from dataclasses import dataclass
from typing import Any

from lodestring.drawing import geometry
from lodestring.drawing.geometry import ArcTo, Chain, LineTo, Point, Segment
from lodestring.drawing.look import Role
from lodestring.errors import DomainError

LARGEST = 1e5
"""No coordinate of a picture lies farther out than this, mm."""
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_.\-]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """What every item has: a role, and a name that becomes its id (letters, digits, `_`, `.`, `-`) if it needs one."""

    name: str = ""

    def __post_init__(self) -> None:
        check(self)

    def called(self) -> str:
        """`Circle 'rod-1'`, for error sentences."""
        return f"{type(self).__name__} '{self.name}'" if self.name else type(self).__name__


def check(item: Any) -> None:
    """Every number in the record finite and not absurd, and its name usable as an id; else DomainError."""
    label = item.called()
    if item.name and not _NAME.fullmatch(item.name):
        raise DomainError(
            f"the name of a {type(item).__name__} is a letter, then letters, digits, '_', '.' or '-'",
            repr(item.name),
            "a key path",
        )
    for field in dataclasses.fields(item):
        for number in _numbers(getattr(item, field.name)):
            if not (math.isfinite(number) and abs(number) <= LARGEST):
                raise DomainError(
                    f"{label}: {field.name} is finite and within {LARGEST:g} mm",
                    f"{number}",
                    "looking at the figure it was computed from",
                )


def _numbers(value: Any) -> list[float]:
    if isinstance(value, (int, float)):
        return [float(value)]
    if isinstance(value, (tuple, list)):
        return [n for v in value for n in _numbers(v)]
    if isinstance(value, (LineTo, ArcTo, Chain)):
        return [n for f in dataclasses.fields(value) for n in _numbers(getattr(value, f.name))]
    return []


def must(holds: bool, item: Item, sentence: str, came: object) -> None:
    """DomainError with the item's name unless `holds`."""
    if not holds:
        raise DomainError(f"{item.called()}: {sentence}", f"{came}")


@dataclass(frozen=True, slots=True)
class Line(Item):
    """A straight line."""

    a: Point
    b: Point
    role: Role = Role.VISIBLE


@dataclass(frozen=True, slots=True)
class CentreLine(Item):
    """A chain-dashed line drawn `beyond` mm (paper) past its ends, with a long dash across its middle."""

    a: Point
    b: Point
    beyond: float = 2.0
    role: Role = Role.CENTRE


@dataclass(frozen=True, slots=True)
class Polyline(Item):
    """Straight lines through two points or more."""

    points: tuple[Point, ...]
    role: Role = Role.VISIBLE
    closed: bool = False

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(len(self.points) >= 2, self, "at least two points", len(self.points))

    def chain(self) -> Chain:
        return Chain(self.points[0], tuple(LineTo(p) for p in self.points[1:]), self.closed)


@dataclass(frozen=True, slots=True)
class Strokes(Item):
    """Several open lines of one role, each through two points or more: one element however many they are."""

    runs: tuple[tuple[Point, ...], ...]
    role: Role = Role.VISIBLE

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(all(len(run) >= 2 for run in self.runs), self, "at least two points in each line", "fewer")


@dataclass(frozen=True, slots=True)
class Path(Item):
    """Straight lines and exact arcs; an arc's two ends must be equally far from its centre (to 1 micrometre)."""

    start: Point
    segments: tuple[Segment, ...]
    role: Role = Role.VISIBLE
    closed: bool = False

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(len(self.segments) >= 1, self, "at least one segment", "none")
        for at, segment in self.chain().joints():
            if isinstance(segment, ArcTo):
                r0, r1 = math.dist(at, segment.centre), math.dist(segment.to, segment.centre)
                must(r0 > 0 and abs(r0 - r1) < 1e-3, self, "an arc's ends lie on one circle", f"radii {r0:g}, {r1:g}")

    def chain(self) -> Chain:
        return Chain(self.start, self.segments, self.closed)


@dataclass(frozen=True, slots=True)
class Circle(Item):
    """A circle."""

    centre: Point
    radius: float
    role: Role = Role.VISIBLE

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(self.radius > 0, self, "a radius above 0", self.radius)

    def chain(self) -> Chain:
        return geometry.circle(self.centre, self.radius)


@dataclass(frozen=True, slots=True)
class Dot(Item):
    """A disc full of ink: a joint of two wires."""

    centre: Point
    radius: float = 0.55
    role: Role = Role.NOTE

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(self.radius > 0, self, "a radius above 0", self.radius)


@dataclass(frozen=True, slots=True)
class Rect(Item):
    """A rectangle about its centre, corners rounded by `corner`."""

    centre: Point
    width: float
    height: float
    corner: float = 0.0
    role: Role = Role.VISIBLE

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(self.width > 0 and self.height > 0, self, "sides above 0", f"{self.width:g} x {self.height:g}")
        fits = 0 <= self.corner <= min(self.width, self.height) / 2
        must(fits, self, "a corner radius of 0 to half the shorter side", self.corner)

    def chain(self) -> Chain:
        return geometry.rectangle(self.centre, self.width, self.height, self.corner)


@dataclass(frozen=True, slots=True)
class Obround(Item):
    """A stadium along x: half circles of `radius` about two points `straight` apart (a group turns it)."""

    centre: Point
    straight: float
    radius: float
    role: Role = Role.VISIBLE

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        must(
            self.radius > 0 and self.straight >= 0,
            self,
            "radius above 0, straight part not below 0",
            (f"{self.radius:g}, {self.straight:g}"),
        )

    def chain(self) -> Chain:
        return geometry.obround(self.centre, self.straight, self.radius)


Closed = Circle | Rect | Obround | Path | Polyline


def closed_only(item: Item, shapes: tuple[Closed, ...]) -> None:
    """DomainError unless there are shapes and all of them are closed."""
    must(len(shapes) > 0, item, "at least one closed shape", "none")
    for shape in shapes:
        closed = not isinstance(shape, (Path, Polyline)) or shape.closed
        must(closed, item, "closed shapes only", f"an open {shape.called()}")


@dataclass(frozen=True, slots=True)
class Region(Item):
    """Several closed shapes as one surface by the even-odd rule: a shape within a shape is a hole."""

    shapes: tuple[Closed, ...]
    role: Role = Role.COPPER

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        closed_only(self, self.shapes)


@dataclass(frozen=True, slots=True)
class Hatch(Item):
    """Hatching of a surface (even-odd, see Region) by explicit lines; `spacing` is mm on the paper."""

    shapes: tuple[Closed, ...]
    angle: float = 45.0
    spacing: float = 1.5
    role: Role = Role.HATCH

    def __post_init__(self) -> None:
        Item.__post_init__(self)
        closed_only(self, self.shapes)
        must(self.spacing >= 0.1, self, "a spacing of 0.1 mm or more", self.spacing)


def arc(centre: Point, radius: float, start: float, sweep: float, role: Role = Role.VISIBLE, name: str = "") -> Path:
    """An open arc from `start` degrees through `sweep` degrees (anticlockwise if positive, less than 360)."""
    chain = geometry.arc(centre, radius, start, sweep)
    return Path(chain.start, chain.segments, role, name=name)


def centre_cross(centre: Point, radius: float, beyond: float = 1.5, clear: float = 0.0) -> tuple[CentreLine, ...]:
    """The two centre lines of a circle; with `clear` they leave that much about the centre free, for a letter there."""
    (x, y), r = centre, radius
    if clear <= 0:
        return (CentreLine((x - r, y), (x + r, y), beyond), CentreLine((x, y - r), (x, y + r), beyond))
    far = r + beyond
    stubs = ((1, 0), (-1, 0), (0, 1), (0, -1))
    return tuple(CentreLine((x + i * clear, y + j * clear), (x + i * far, y + j * far), 0.0) for i, j in stubs)
