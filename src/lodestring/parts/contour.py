"""Closed outlines of straight lines and arcs in the plane: what is cut, drawn and pulled up into solids. Metres."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lodestring.errors import DomainError

Point = tuple[float, float]
TINY = 1e-9
"""Shorter edges than this [m] are left out: a kernel refuses edges of no length."""


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight edge from `a` to `b`."""

    a: Point
    b: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc about `centre`: from angle `start` [rad] on by `sweep`, positive anticlockwise."""

    centre: Point
    radius: float
    start: float
    sweep: float

    def at(self, share: float) -> Point:
        """The point at a share (0..1) of the way."""
        angle = self.start + share * self.sweep
        return self.centre[0] + self.radius * math.cos(angle), self.centre[1] + self.radius * math.sin(angle)

    @property
    def a(self) -> Point:
        return self.at(0.0)

    @property
    def b(self) -> Point:
        return self.at(1.0)


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle."""

    centre: Point
    radius: float


Edge = Straight | Arc


@dataclass(frozen=True, slots=True)
class Loop:
    """Edges end to end, anticlockwise, closed."""

    edges: tuple[Edge, ...]


Contour = Circle | Loop


def rounded(length: float, width: float, corner: float, centre: Point = (0.0, 0.0)) -> Contour:
    """A rectangle with rounded corners about `centre`; an obround or a circle where the corner is half the width.

    Raises DomainError unless 0 <= corner <= half the shorter side and both sides are positive.
    """
    _fits(length, width, corner)
    return ended(length, width, corner, (), centre)


def _fits(length: float, width: float, corner: float) -> None:
    if not (length > 0.0 and width > 0.0 and -TINY <= corner <= min(length, width) / 2 + TINY):
        raise DomainError(
            "an outline has positive sides and corners of at most half the shorter one",
            f"{length * 1e3:.2f} x {width * 1e3:.2f} mm with corners of {corner * 1e3:.2f} mm",
            "a smaller corner",
        )


@dataclass(frozen=True, slots=True)
class Ear:
    """A tab at both ends in x with a half-round end: `reach` from the outline's end to its hole's middle."""

    reach: float
    radius: float


def ended(length: float, width: float, corner: float, ears: tuple[Ear, ...], centre: Point = (0.0, 0.0)) -> Contour:
    """A rounded rectangle, with one ear in the middle of each end where `ears` holds one.

    An ear's straight flanks run into the end: into its straight part, or into the corner's arc where that comes nearer
    to the middle than the flank.
    """
    _fits(length, width, corner)
    corner = min(corner, length / 2, width / 2)
    half_l, half_w = length / 2 - corner, width / 2 - corner
    if not ears:
        if half_l < TINY and half_w < TINY:
            return Circle(centre, corner)
        right = [*_corner(half_l, -half_w, corner, -90.0, 90.0), *_corner(half_l, half_w, corner, 0.0, 90.0)]
    else:
        right = _eared(half_l, half_w, corner, ears[0])
    left = [_turned(e) for e in right]
    return Loop(tuple(_moved(e, centre) for e in _joined([*right, *left])))


def _corner(x: float, y: float, radius: float, start: float, sweep: float) -> list[Edge]:
    if radius < TINY:
        return [Straight((x, y), (x, y))]
    return [Arc((x, y), radius, math.radians(start), math.radians(sweep))]


def _eared(half_l: float, half_w: float, corner: float, ear: Ear) -> list[Edge]:
    """The right end from below to above, with an ear."""
    if ear.radius > half_w + corner + TINY:
        raise DomainError(
            "an ear is at most as wide as the end it stands on", f"a radius of {ear.radius * 1e3:.2f} mm", "a wider end"
        )
    into_arc = max(ear.radius - half_w, 0.0)
    across = math.sqrt(max(corner**2 - into_arc**2, 0.0))
    flank, middle = half_l + across, half_l + corner + ear.reach
    if middle < flank:
        raise DomainError("an ear stands outside its plate", f"a reach of {ear.reach * 1e3:.2f} mm", "a longer ear")
    turned = math.degrees(math.atan2(-into_arc, across)) if corner > TINY else 0.0
    below = _corner(half_l, -half_w, corner, -90.0, turned + 90.0) if corner > TINY else [
        Straight((half_l, -half_w), (half_l, -half_w))
    ]  # fmt: skip
    above = _corner(half_l, half_w, corner, -turned, 90.0 + turned) if corner > TINY else [
        Straight((half_l, half_w), (half_l, half_w))
    ]  # fmt: skip
    r = ear.radius
    tab: list[Edge] = [
        Straight((flank, -r), (middle, -r)),
        Arc((middle, 0.0), r, -math.pi / 2, math.pi),
        Straight((middle, r), (flank, r)),
    ]
    return [*below, *tab, *above]


def _turned(edge: Edge) -> Edge:
    """Half a turn about the origin."""
    if isinstance(edge, Straight):
        return Straight((-edge.a[0], -edge.a[1]), (-edge.b[0], -edge.b[1]))
    return Arc((-edge.centre[0], -edge.centre[1]), edge.radius, edge.start + math.pi, edge.sweep)


def _moved(edge: Edge, by: Point) -> Edge:
    if isinstance(edge, Straight):
        return Straight((edge.a[0] + by[0], edge.a[1] + by[1]), (edge.b[0] + by[0], edge.b[1] + by[1]))
    return Arc((edge.centre[0] + by[0], edge.centre[1] + by[1]), edge.radius, edge.start, edge.sweep)


def _joined(edges: list[Edge]) -> list[Edge]:
    """A straight edge put in wherever one edge does not begin where the last ends; edges of no length left out."""
    kept = list(edges)
    out: list[Edge] = []
    for i, edge in enumerate(kept):
        before = kept[i - 1]
        if math.dist(before.b, edge.a) > TINY:
            out.append(Straight(before.b, edge.a))
        if not (isinstance(edge, Straight) and math.dist(edge.a, edge.b) < TINY) and not (
            isinstance(edge, Arc) and abs(edge.sweep) * edge.radius < TINY
        ):
            out.append(edge)
    return out


def polygon(points: Iterable[Point]) -> Loop:
    """Straight edges through points, anticlockwise."""
    at = list(points)
    return Loop(tuple(Straight(a, b) for a, b in zip(at, [*at[1:], at[0]], strict=True)))


def area(contour: Contour) -> float:
    """Enclosed area [m2], by Green's theorem over each edge."""
    if isinstance(contour, Circle):
        return math.pi * contour.radius**2
    total = 0.0
    for e in contour.edges:
        total += (e.a[0] * e.b[1] - e.b[0] * e.a[1]) / 2
        if isinstance(e, Arc):  # the segment between chord and arc
            total += e.radius**2 * (e.sweep - math.sin(e.sweep)) / 2
    return total


def box(contour: Contour) -> tuple[float, float, float, float]:
    """(left, bottom, right, top) [m]."""
    if isinstance(contour, Circle):
        (x, y), r = contour.centre, contour.radius
        return x - r, y - r, x + r, y + r
    points = [p for e in contour.edges for p in (e.a, e.b, *_extremes(e))]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _extremes(edge: Edge) -> list[Point]:
    if isinstance(edge, Straight):
        return []
    out = []
    for quarter in range(4):
        along = (quarter * math.pi / 2 - edge.start) % (2 * math.pi)
        if edge.sweep < 0:
            along -= 2 * math.pi
        share = along / edge.sweep
        if 0.0 <= share <= 1.0:
            out.append(edge.at(share))
    return out


def distance(contour: Contour, point: Point) -> float:
    """Least distance [m] from a point to the contour's line, inside or outside."""
    if isinstance(contour, Circle):
        return abs(math.dist(contour.centre, point) - contour.radius)
    return min(_edge_distance(e, point) for e in contour.edges)


def _edge_distance(edge: Edge, p: Point) -> float:
    ends = min(math.dist(edge.a, p), math.dist(edge.b, p))
    if isinstance(edge, Straight):
        dx, dy = edge.b[0] - edge.a[0], edge.b[1] - edge.a[1]
        share = ((p[0] - edge.a[0]) * dx + (p[1] - edge.a[1]) * dy) / (dx * dx + dy * dy)
        if not 0.0 <= share <= 1.0:
            return ends
        return math.dist((edge.a[0] + share * dx, edge.a[1] + share * dy), p)
    along = (math.atan2(p[1] - edge.centre[1], p[0] - edge.centre[0]) - edge.start) % (2 * math.pi)
    if edge.sweep < 0:
        along -= 2 * math.pi
    if 0.0 <= along / edge.sweep <= 1.0:
        return abs(math.dist(edge.centre, p) - edge.radius)
    return ends
