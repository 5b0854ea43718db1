"""A sheet's items, one by one, onto the pen."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lodestring.drawing import geometry
from lodestring.drawing.dimension import draw_dimension, draw_leader
from lodestring.drawing.geometry import ArcTo, Chain, Frame, LineTo, Point
from lodestring.drawing.look import LOOKS, Part, Role
from lodestring.drawing.pen import Pen
from lodestring.drawing.picture import (
    Arrow,
    CentreLine,
    Circle,
    Closed,
    Dimension,
    Dot,
    Group,
    Hatch,
    Item,
    Leader,
    Level,
    Line,
    Obround,
    Path,
    Polyline,
    Rect,
    Region,
    Text,
)
from lodestring.drawing.shapes import Strokes
from lodestring.drawing.text import LINE
from lodestring.errors import DomainError

SMALLEST_LETTER = 1.2
"""A magnet's letter smaller than this (mm) is left out; its hatching still tells which end it is."""


def draw(pen: Pen, items: Iterable[Item], frame: Frame) -> None:
    """All items in their order, the first at the back."""
    for item in items:
        _draw(pen, item, frame)


def _draw(pen: Pen, item: Item, frame: Frame) -> None:
    match item:
        case Line():
            pen.line(frame.point(item.a), frame.point(item.b), item.role, item.name)
        case CentreLine():
            a, b = _longer(frame.point(item.a), frame.point(item.b), item.beyond)
            pen.line(a, b, item.role, item.name, centred=True)
        case Dot():
            pen.dot(frame.point(item.centre), item.radius, item.role)
        case Circle() | Rect() | Obround() | Path() | Polyline():
            _shape(pen, item, frame)
        case Strokes():
            runs = [[frame.point(p) for p in run] for run in item.runs]
            pen.runs(runs, item.role, item.name)
            pen.points += [p for run in runs for p in run]
        case Region():
            chains = [frame.chain(s.chain()) for s in item.shapes]
            pen.chains(chains, item.role, item.name)
            _own_hatching(pen, item.role, chains)
        case Hatch():
            chains = [frame.chain(s.chain()) for s in item.shapes]
            pen.lines(geometry.hatching(chains, item.angle, item.spacing), item.role, Part.SHAPE)
        case Text():
            _text(pen, item, frame)
        case Dimension():
            draw_dimension(pen, item, frame)
        case Leader():
            draw_leader(pen, item, frame)
        case Arrow():
            _arrow(pen, item, frame)
        case Group():
            pen.open_group(item.css, item.name)
            draw(pen, item.items, frame.inside(item.at, item.rotation, item.scale))
            pen.close_group()
        case _:
            raise DomainError("a sheet holds the items of picture.py", type(item).__name__)


def _shape(pen: Pen, item: Closed, frame: Frame) -> None:
    chain = frame.chain(item.chain())
    if isinstance(item, Circle):
        pen.circle(frame.point(item.centre), item.radius * frame.scale, item.role, item.name)
    else:
        pen.chains([chain], item.role, item.name)
    if not chain.closed:
        return
    _own_hatching(pen, item.role, [chain])
    letter = LOOKS[item.role].letter
    if letter:
        left, bottom, right, top = geometry.bounds(geometry.extreme_points(chain))
        size = min(3.2, 0.56 * (right - left), 0.56 * (top - bottom))
        if size >= SMALLEST_LETTER:
            middle = ((left + right) / 2, (bottom + top) / 2)
            pen.circle(middle, 0.54 * size, Role.PAPER)
            pen.text(middle, letter, size, item.role, anchor="middle", middle=True, bold=True)


def _own_hatching(pen: Pen, role: Role, chains: list[Chain]) -> None:
    look = LOOKS[role]
    if look.hatch is not None:
        lines = geometry.hatching(chains, look.hatch, look.hatch_spacing)
        pen.lines(lines, role, Part.HATCH)


def _text(pen: Pen, item: Text, frame: Frame) -> None:
    turn = frame.turned(item.rotation)
    c, s = geometry.cos_sin(turn)
    x, y = frame.point(item.at)
    lines = item.lines()
    middle = item.level is Level.MIDDLE
    first = (len(lines) - 1) / 2 * LINE * item.size if middle else 0.0
    for i, line in enumerate(lines):
        up = first - i * LINE * item.size
        pen.text(
            (x - s * up, y + c * up),
            line,
            item.size,
            item.role,
            anchor=item.anchor,
            middle=middle,
            rotation=turn,
            bold=item.bold,
            knock_out=item.knock_out,
            name=item.name if i == 0 else "",
        )


def _arrow(pen: Pen, item: Arrow, frame: Frame) -> None:
    """The path, cut back so that its stroke does not show past the tip, and the head along the chord of that piece."""
    chain = frame.chain(item.path.chain())
    *before, (start, last) = chain.joints()
    head = min(item.head, 0.8 * _length(start, last))
    tip, back = last.to, _before_end(start, last, head)
    short = _before_end(start, last, 0.7 * head)
    end = LineTo(short) if isinstance(last, LineTo) else ArcTo(short, last.centre, last.anticlockwise)
    pen.chains([Chain(chain.start, (*(s for _, s in before), end))], item.role, item.name)
    pen.head(tip, math.degrees(math.atan2(tip[1] - back[1], tip[0] - back[0])), head, item.role)


def _length(start: Point, segment: LineTo | ArcTo) -> float:
    if isinstance(segment, LineTo):
        return math.dist(start, segment.to)
    return abs(geometry.arc_angles(start, segment)[1]) * math.dist(start, segment.centre)


def _before_end(start: Point, segment: LineTo | ArcTo, distance: float) -> Point:
    """The point of the segment `distance` mm (along it) before its end."""
    if isinstance(segment, LineTo):
        share = distance / (math.dist(start, segment.to) or 1.0)
        (x0, y0), (x1, y1) = start, segment.to
        return (x1 + (x0 - x1) * share, y1 + (y0 - y1) * share)
    first, sweep = geometry.arc_angles(start, segment)
    radius = math.dist(start, segment.centre)
    angle = first + sweep - math.copysign(distance / radius, sweep)
    return geometry.polar(segment.centre, radius, math.degrees(angle))


def _longer(a: Point, b: Point, beyond: float) -> tuple[Point, Point]:
    length = math.dist(a, b) or 1.0
    dx, dy = (b[0] - a[0]) / length * beyond, (b[1] - a[1]) / length * beyond
    return (a[0] - dx, a[1] - dy), (b[0] + dx, b[1] + dy)
