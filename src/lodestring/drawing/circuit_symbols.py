"""Symbols of a schematic, after IEC 60617: inductor as half circles, resistor as rectangle, capacitor as two bars.

Each is drawn standing, its upper end at (x, y), its lower end `length` below; `lying` turns one to lie from left to
right. A symbol's connecting lines belong to it; each is a group `end` of its own, so that a drawing can be read back.
"""

from __future__ import annotations

from lodestring.drawing.geometry import ArcTo, Point
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Anchor, Group, Text
from lodestring.drawing.shapes import Item, Line, Path, Polyline, Rect
from lodestring.drawing.text import LINE, shorten, text_width_mm

SMALL, TINY = 2.6, 2.2
"""Font sizes, mm: names and values; ends."""
BODY, HALF = 8.0, 1.5
"""Length and half the width of a resistor's rectangle."""
ELEMENT, COIL = 12.0, 18.0
"""Length of a standing symbol with its connecting lines."""
TURNS = 4
WIDEST = 27.0
"""Names are broken into lines of at most this width, mm."""
PITCH = LINE * SMALL


def end(name: str, a: Point, b: Point, *more: Item, role: Role = Role.VISIBLE) -> Group:
    """The connecting line of one end; its outer point is `a`."""
    return Group((Line(a, b, role), *more), css="end", name=name)


def ground(at: Point) -> Group:
    """Ground: three bars, each shorter, below a point."""
    x, y = at
    bars = [
        Line((x - w, y - 1.4 - 0.8 * i), (x + w, y - 1.4 - 0.8 * i), Role.OUTLINE)
        for i, w in enumerate((2.2, 1.4, 0.6))
    ]
    return Group((Line(at, (x, y - 1.4)), *bars), css="ground")


GROUND_DEPTH = 3.4


def coil(top: Point, names: tuple[str, str]) -> list[Item]:
    """An inductor: half circles to the right."""
    x, y = top
    lead, turn = 2.0, (COIL - 4.0) / TURNS
    arcs = tuple(ArcTo((x, y - lead - turn * (i + 1)), (x, y - lead - turn * (i + 0.5)), False) for i in range(TURNS))
    return [
        end(names[0], top, (x, y - lead)),
        Path((x, y - lead), arcs, Role.COPPER),
        end(names[1], (x, y - COIL), (x, y - COIL + lead)),
    ]


def resistor(top: Point, names: tuple[str, str]) -> list[Item]:
    """A rectangle."""
    x, y = top
    lead = (ELEMENT - BODY) / 2
    return [
        end(names[0], top, (x, y - lead)),
        Rect((x, y - ELEMENT / 2), 2 * HALF, BODY, role=Role.VISIBLE),
        end(names[1], (x, y - ELEMENT), (x, y - ELEMENT + lead)),
    ]


def capacitor(top: Point, names: tuple[str, str]) -> list[Item]:
    """Two bars."""
    x, y = top
    middle, gap, half = y - ELEMENT / 2, 0.7, 2.3
    return [
        end(names[0], top, (x, middle + gap)),
        Line((x - half, middle + gap), (x + half, middle + gap), Role.OUTLINE),
        Line((x - half, middle - gap), (x + half, middle - gap), Role.OUTLINE),
        end(names[1], (x, y - ELEMENT), (x, middle - gap)),
    ]


def contact(top: Point, names: tuple[str, str], closed: bool) -> list[Item]:
    """A make contact: its blade leans to the right (up where it lies), or lies on it where it is closed."""
    x, y = top
    lead, blade = 3.4, ELEMENT - 6.8
    tip = (x, y - ELEMENT + lead) if closed else (x + 0.5 * blade, y - lead - 0.87 * blade)
    role = Role.OUTLINE if closed else Role.VISIBLE
    return [
        end(names[0], top, (x, y - lead), role=role),
        Line((x, y - lead), tip, Role.OUTLINE),
        end(names[1], (x, y - ELEMENT), (x, y - ELEMENT + lead), role=role),
    ]


def wiper(track: Point, to: float, y: float, name: str) -> Group:
    """The wiper's line from x = `to` with its arrowhead on the side of a track whose middle line is at track[0]."""
    x = track[0]
    side = 1.0 if to > x else -1.0
    tip = x + side * HALF
    head = Polyline(((tip + side * 1.5, y + 0.75), (tip, y), (tip + side * 1.5, y - 0.75)), Role.VISIBLE)
    return end(name, (to, y), (tip, y), head)


def lying(items: list[Item], at: Point) -> Group:
    """Symbols that stand below (0, 0), turned to lie from `at` to the right."""
    return Group(tuple(items), at, 90.0, css="lying")


def jack(at: Point, names: tuple[str, str]) -> list[Item]:
    """A jack: the spring that touches the tip, the sleeve as a bar, which is ground."""
    x, y = at
    spring = Polyline(((x + 4.0, y), (x + 6.5, y), (x + 8.0, y - 1.8), (x + 9.5, y)), Role.OUTLINE)
    return [
        end(names[0], at, (x + 4.0, y)),
        spring,
        Rect((x + 11.5, y - 3.5), 1.4, 9.0, role=Role.VISIBLE),
        end(names[1], (x + 4.0, y - 6.0), (x + 10.8, y - 6.0), ground((x + 4.0, y - 6.0))),
    ]


def label_lines(title: str, value: str) -> list[tuple[str, bool]]:
    """A name in one or two lines of at most WIDEST, then the value: (text, bold)."""
    lines: list[str] = []
    for word in title.split():
        if lines and text_width_mm(f"{lines[-1]} {word}", SMALL) <= WIDEST:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    if len(lines) > 2:
        lines = [lines[0], " ".join(lines[1:])]
    out = [(shorten(line, SMALL, WIDEST + 3.0), False) for line in lines]
    return out + ([(value, True)] if value else [])


def label_width(lines: list[tuple[str, bool]]) -> float:
    """Width of the widest line, mm."""
    return max((text_width_mm(t, SMALL, bold=b) for t, b in lines), default=0.0)


def label(at: Point, lines: list[tuple[str, bool]], anchor: Anchor = Anchor.START) -> list[Item]:
    """Lines of a label; `at` is the first one's baseline."""
    return [
        Text((at[0], at[1] - i * PITCH), text, SMALL, anchor, bold=bold or None) for i, (text, bold) in enumerate(lines)
    ]
