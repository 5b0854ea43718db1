"""Dimensions and leader notes, drawn by the habits of ISO 129-1 and ISO 128.

Thin extension lines with a gap at the part, running a little past the dimension line; filled arrowheads; the figure
above the line, readable from below or from the right; heads turn outside when there is no room, and so does the figure.
(Habits as commonly taught, from memory; the standards are not quoted.) Everything here is sheet millimetres, y up.
"""

from __future__ import annotations

import math

from lodestring.drawing.figures import drawn
from lodestring.drawing.geometry import Frame, Point
from lodestring.drawing.look import Role
from lodestring.drawing.pen import Pen
from lodestring.drawing.picture import Anchor, Dimension, DimensionKind, Leader, LeaderEnd
from lodestring.drawing.text import LINE, text_width_mm
from lodestring.quantity import USUAL, Units

GAP = 0.8
"""Between the part and its extension line."""
BEYOND = 1.4
"""How far an extension line runs past the dimension line."""
ABOVE = 0.25
"""Between the line and the figure above it, over the font size."""
HEAD = 0.8
"""Length of an arrowhead over the font size."""
SIGN = {DimensionKind.DIAMETER: "⌀", DimensionKind.RADIUS: "R"}


def words(dimension: Dimension, units: Units = USUAL) -> str:
    """The figure as written: the given text, or the length with ⌀ or R before it; in mm, or as the maker chose."""
    if dimension.text is not None:
        return dimension.text
    return SIGN.get(dimension.kind, "") + drawn(dimension.length(), units)


def draw_dimension(pen: Pen, dimension: Dimension, frame: Frame) -> None:
    """Extension lines, dimension line, heads and figure; HORIZONTAL and VERTICAL are the frame's, turned with it."""
    a, b = frame.point(dimension.a), frame.point(dimension.b)
    if dimension.kind in SIGN:
        _round(pen, dimension, a, b)
        return
    if dimension.kind is DimensionKind.ALIGNED:
        along = _unit(a, b)
        left = (-along[1], along[0])
        level = _dot(a, left) + dimension.offset
    else:
        flat = dimension.kind is DimensionKind.HORIZONTAL
        along = (frame.cos, frame.sin) if flat else (-frame.sin, frame.cos)
        left = (-frame.sin, frame.cos) if flat else (frame.cos, frame.sin)
        far = max if dimension.offset >= 0 else min
        level = far(_dot(a, left), _dot(b, left)) + dimension.offset
    feet = []
    for point in (a, b):
        reach = level - _dot(point, left)
        foot = (point[0] + reach * left[0], point[1] + reach * left[1])
        feet.append(foot)
        if abs(reach) > GAP:
            sign = math.copysign(1.0, reach)
            start, end = _step(point, left, sign * GAP), _step(foot, left, sign * BEYOND)
            pen.line(start, end, dimension.role)
    _measured(pen, dimension, feet[0], feet[1])


def _measured(pen: Pen, d: Dimension, p: Point, q: Point) -> None:
    """The dimension line between its feet, heads and figure."""
    turn = _readable(math.degrees(math.atan2(q[1] - p[1], q[0] - p[0])))
    along = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    if _dot(q, along) < _dot(p, along):
        p, q = q, p
    length, head = math.dist(p, q), HEAD * d.size
    figure = words(d)
    width = text_width_mm(figure, d.size)
    inside = length >= 3 * head
    fits = width + 0.6 <= length
    first, last = p, q
    if not inside:
        first, last = _step(p, along, -2 * head), _step(q, along, 2 * head)
    at, anchor = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2), "middle"
    if not fits:
        clear = 1.25 * head if not inside else 0.4 * d.size
        if d.outside_at is Anchor.START:
            at, anchor = _step(p, along, -clear), "end"
            first = _step(p, along, -clear - width)
        else:
            at, anchor = _step(q, along, clear), "start"
            last = _step(q, along, clear + width)
    pen.line(first, last, d.role)
    pen.head(p, turn + (180 if inside else 0), head, d.role)
    pen.head(q, turn + (0 if inside else 180), head, d.role)
    up = (-along[1], along[0])
    pen.text(_step(at, up, ABOVE * d.size), figure, d.size, d.role, anchor=anchor, rotation=turn)


def _round(pen: Pen, d: Dimension, centre: Point, edge: Point) -> None:
    """A diameter or radius: the figure inside along the line if it fits, else outside on a shelf."""
    radius, along = math.dist(centre, edge), _unit(centre, edge)
    head, figure = HEAD * d.size, words(d)
    width = text_width_mm(figure, d.size)
    whole = d.kind is DimensionKind.DIAMETER
    start = _step(centre, along, -radius) if whole else centre
    room = math.dist(start, edge) - (2 if whole else 1) * head
    turn = math.degrees(math.atan2(along[1], along[0]))
    if room >= width + 0.6:
        pen.line(start, edge, d.role)
        pen.head(edge, turn, head, d.role)
        if whole:
            pen.head(start, turn + 180, head, d.role)
        read = _readable(turn)
        up = (-math.sin(math.radians(read)), math.cos(math.radians(read)))
        middle = _step(start, along, math.dist(start, edge) / 2)
        pen.text(_step(middle, up, ABOVE * d.size), figure, d.size, d.role, anchor="middle", rotation=read)
        return
    if d.offset < 0:
        along, turn = (-along[0], -along[1]), turn + 180
        edge = _step(centre, along, radius)
    knee = _step(edge, along, max(abs(d.offset), 1.5 * head))
    pen.line(knee, edge, d.role)
    pen.head(edge, turn + 180, head, d.role)
    _shelf(pen, knee, along[0], (figure,), d.size, d.role)


def draw_leader(pen: Pen, leader: Leader, frame: Frame) -> None:
    """The line from the point to the knee, its end, and the words on a shelf."""
    point, knee = frame.point(leader.point), frame.point(leader.to)
    if math.dist(point, knee) > 1e-6:
        pen.line(point, knee, leader.role)
        if leader.end is LeaderEnd.ARROW:
            turn = math.degrees(math.atan2(point[1] - knee[1], point[0] - knee[0]))
            pen.head(point, turn, HEAD * leader.size, leader.role)
    if leader.end is LeaderEnd.DOT:
        pen.dot(point, 0.45, leader.role)
    lines = leader.lines()
    _shelf(pen, knee, knee[0] - point[0], lines, leader.size, leader.role, name=leader.name)


def _shelf(
    pen: Pen, knee: Point, towards: float, lines: tuple[str, ...], size: float, role: Role, name: str = ""
) -> None:
    """A short level line on from the knee and the text beside it, on the side away from the point."""
    side = -1.0 if towards < -1e-6 else 1.0
    end = (knee[0] + side * 0.5 * size, knee[1])
    pen.line(knee, end, role)
    anchor = "start" if side > 0 else "end"
    at = (end[0] + side * 0.25 * size, end[1])
    for i, text in enumerate(lines):
        down = (i - (len(lines) - 1) / 2) * LINE * size
        label = name if i == 0 else ""
        pen.text((at[0], at[1] - down), text, size, role, anchor=anchor, middle=True, name=label)


def _readable(degrees: float) -> float:
    """The same line's direction in (-90, 90]: read from below, an upright line from the right."""
    turn = degrees % 180.0
    if turn > 90.0 + 1e-6:
        turn -= 180.0
    return 0.0 if abs(turn) < 1e-9 else turn


def _unit(a: Point, b: Point) -> Point:
    length = math.dist(a, b)
    return ((b[0] - a[0]) / length, (b[1] - a[1]) / length)


def _dot(p: Point, q: Point) -> float:
    return p[0] * q[0] + p[1] * q[1]


def _step(p: Point, direction: Point, distance: float) -> Point:
    return (p[0] + direction[0] * distance, p[1] + direction[1] * distance)
