"""Chains of straight lines and exact circular arcs, rigid frames, and straight hatching clipped to a region.

Coordinates are mm with y up. Nothing is flattened: an arc stays an arc to the end.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from lodestring.errors import DomainError

Point = tuple[float, float]

MOST_HATCH_LINES = 4000
"""A finer hatching than this is a slip, and would take the memory of whoever opens the picture."""


@dataclass(frozen=True, slots=True)
class LineTo:
    """A straight line to `to`."""

    to: Point


@dataclass(frozen=True, slots=True)
class ArcTo:
    """A circular arc about `centre` to `to`; anticlockwise (y up) unless said otherwise."""

    to: Point
    centre: Point
    anticlockwise: bool = True


Segment = LineTo | ArcTo


@dataclass(frozen=True, slots=True)
class Chain:
    """A start and the segments from there on. A closed chain returns to its start by a straight line if need be."""

    start: Point
    segments: tuple[Segment, ...]
    closed: bool = False

    def joints(self) -> Iterator[tuple[Point, Segment]]:
        """Each segment with the point it starts from, the closing line included."""
        at = self.start
        for segment in self.segments:
            yield at, segment
            at = segment.to
        if self.closed and at != self.start:
            yield at, LineTo(self.start)


@dataclass(frozen=True, slots=True)
class Frame:
    """Local millimetres to sheet millimetres: scale, then rotate anticlockwise, then move."""

    x: float = 0.0
    y: float = 0.0
    cos: float = 1.0
    sin: float = 0.0
    scale: float = 1.0

    def inside(self, move: Point, degrees: float, scale: float) -> Frame:
        """The frame of a group placed in this one."""
        at = self.point(move)
        c, s = cos_sin(degrees)
        return Frame(at[0], at[1], self.cos * c - self.sin * s, self.sin * c + self.cos * s, self.scale * scale)

    def point(self, p: Point) -> Point:
        x, y = p[0] * self.scale, p[1] * self.scale
        return (self.x + self.cos * x - self.sin * y, self.y + self.sin * x + self.cos * y)

    def turned(self, degrees: float) -> float:
        """A local direction as a sheet direction, in degrees."""
        return degrees + math.degrees(math.atan2(self.sin, self.cos))

    def chain(self, chain: Chain) -> Chain:
        return Chain(self.point(chain.start), tuple(self._segment(s) for s in chain.segments), chain.closed)

    def _segment(self, segment: Segment) -> Segment:
        if isinstance(segment, LineTo):
            return LineTo(self.point(segment.to))
        return ArcTo(self.point(segment.to), self.point(segment.centre), segment.anticlockwise)


def cos_sin(degrees: float) -> tuple[float, float]:
    """Exact at quarter turns, so that a plate turned by 90 degrees keeps clean coordinates."""
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    turn = degrees % 360.0
    return exact.get(turn) or (math.cos(math.radians(turn)), math.sin(math.radians(turn)))


def polar(centre: Point, radius: float, degrees: float) -> Point:
    """The point `radius` from the centre in the direction `degrees`."""
    c, s = cos_sin(degrees)
    return (centre[0] + radius * c, centre[1] + radius * s)


def circle(centre: Point, radius: float) -> Chain:
    """Two half circles, anticlockwise from the right."""
    right, left = (centre[0] + radius, centre[1]), (centre[0] - radius, centre[1])
    return Chain(right, (ArcTo(left, centre), ArcTo(right, centre)), closed=True)


def arc(centre: Point, radius: float, start: float, sweep: float) -> Chain:
    """From `start` degrees through `sweep` degrees, positive anticlockwise, less than a whole turn."""
    middle, end = polar(centre, radius, start + sweep / 2), polar(centre, radius, start + sweep)
    up = sweep > 0
    return Chain(polar(centre, radius, start), (ArcTo(middle, centre, up), ArcTo(end, centre, up)))


def rectangle(centre: Point, width: float, height: float, corner: float) -> Chain:
    """Anticlockwise about its centre, with exact quarter circles of radius `corner`; 0 is a sharp corner."""
    (cx, cy), w, h, r = centre, width / 2, height / 2, corner
    if r == 0:
        corners = [(cx + w, cy - h), (cx + w, cy + h), (cx - w, cy + h)]
        return Chain((cx - w, cy - h), tuple(LineTo(p) for p in corners), closed=True)
    turns = [(1, -1, 270.0), (1, 1, 0.0), (-1, 1, 90.0), (-1, -1, 180.0)]
    segments: list[Segment] = []
    at = (cx - w + r, cy - h)
    for sx, sy, degrees in turns:
        middle = (cx + sx * (w - r), cy + sy * (h - r))
        for to, arced in ((polar(middle, r, degrees), False), (polar(middle, r, degrees + 90), True)):
            if arced:
                segments.append(ArcTo(to, middle))
            elif math.dist(at, to) > 1e-9:
                segments.append(LineTo(to))
            at = to
    start = (cx - w + r, cy - h)
    segments[-1] = ArcTo(start, (cx - w + r, cy - h + r))  # to the start exactly, whatever rounding did
    return Chain(start, tuple(segments), closed=True)


def obround(centre: Point, straight: float, radius: float) -> Chain:
    """Two half circles of `radius` about points `straight` apart along x, and the two lines that join them."""
    (cx, cy), s = centre, straight / 2
    right, left = (cx + s, cy), (cx - s, cy)
    segments: list[Segment] = [ArcTo((cx + s, cy + radius), right)]
    if s:
        segments.append(LineTo((cx - s, cy + radius)))
    segments.append(ArcTo((cx - s, cy - radius), left))
    return Chain((cx + s, cy - radius), tuple(segments), closed=True)


def arc_angles(start: Point, a: ArcTo) -> tuple[float, float]:
    """Start angle and signed sweep in radians; start and end in one place is a whole turn."""
    (cx, cy) = a.centre
    first = math.atan2(start[1] - cy, start[0] - cx)
    last = math.atan2(a.to[1] - cy, a.to[0] - cx)
    sweep = (last - first) % math.tau if a.anticlockwise else -((first - last) % math.tau)
    if start == a.to:
        sweep = math.tau if a.anticlockwise else -math.tau
    return first, sweep


def extreme_points(chain: Chain) -> list[Point]:
    """Points whose bounding box is the chain's: ends, and where an arc points along an axis."""
    points = [chain.start]
    for start, segment in chain.joints():
        points.append(segment.to)
        if isinstance(segment, ArcTo):
            first, sweep = arc_angles(start, segment)
            radius = math.dist(start, segment.centre)
            points += [polar(segment.centre, radius, 90.0 * k) for k in _quarters(first, sweep)]
    return points


def _quarters(first: float, sweep: float) -> range:
    """Whole numbers k with k quarter turns strictly inside the arc."""
    low, high = sorted((first / (math.pi / 2), (first + sweep) / (math.pi / 2)))
    return range(math.floor(low + 1e-9) + 1, math.ceil(high - 1e-9))


def bounds(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """Left, bottom, right, top."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def hatching(chains: Iterable[Chain], degrees: float, spacing: float) -> list[tuple[Point, Point]]:
    """Straight lines at `degrees`, `spacing` mm apart, clipped to the closed chains by the even-odd rule.

    The lines lie on one grid through the sheet's origin, so that neighbouring parts hatched alike stay in step.
    """
    c, s = cos_sin(degrees)
    turned = Frame(cos=c, sin=-s)  # bring the hatching to the horizontal
    pieces = [piece for chain in chains for piece in monotone(turned.chain(chain))]
    if not pieces:
        return []
    low = math.ceil(min(min(p.y0, p.y1) for p in pieces) / spacing)
    high = math.floor(max(max(p.y0, p.y1) for p in pieces) / spacing)
    if high - low > MOST_HATCH_LINES:
        raise DomainError(f"a hatching has at most {MOST_HATCH_LINES} lines", f"{high - low + 1}", "a wider spacing")
    back = Frame(cos=c, sin=s)
    lines = []
    for k in range(low, high + 1):
        y = k * spacing
        crossings = sorted(p.at(y) for p in pieces if min(p.y0, p.y1) <= y < max(p.y0, p.y1))
        for x0, x1 in zip(crossings[::2], crossings[1::2], strict=False):
            if x1 - x0 > 1e-6:
                lines.append((back.point((x0, y)), back.point((x1, y))))
    return lines


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of boundary on which y only rises or only falls, so that the half-open rule counts each joint once.

    A line at height y meets it where min(y0, y1) <= y < max(y0, y1), at x = `at(y)`.
    """

    x0: float
    y0: float
    x1: float
    y1: float
    centre: Point | None = None
    radius: float = 0.0
    side: float = 1.0  # +1: the arc lies right of its centre

    def at(self, y: float) -> float:
        if self.centre is None:
            return self.x0 + (self.x1 - self.x0) * (y - self.y0) / (self.y1 - self.y0)
        rise = y - self.centre[1]
        return self.centre[0] + self.side * math.sqrt(max(self.radius**2 - rise**2, 0.0))


def monotone(chain: Chain) -> Iterator[Piece]:
    """A closed chain in its pieces."""
    for start, segment in chain.joints():
        if isinstance(segment, LineTo):
            yield Piece(start[0], start[1], segment.to[0], segment.to[1])
            continue
        first, sweep = arc_angles(start, segment)
        radius = math.dist(start, segment.centre)
        tops = [k * math.pi / 2 for k in _quarters(first, sweep) if k % 2]
        cuts = [first, *(tops if sweep > 0 else reversed(tops)), first + sweep]
        ends = [start, *(polar(segment.centre, radius, math.degrees(a)) for a in cuts[1:-1]), segment.to]
        for (p, q), (a, b) in zip(pairwise(ends), pairwise(cuts), strict=True):
            side = 1.0 if math.cos((a + b) / 2) >= 0 else -1.0
            yield Piece(p[0], p[1], q[0], q[1], segment.centre, radius, side)
