"""Parts as they lie on the bench, measured and drawn: pickups by their wires, controls from behind, selector, jack.

A control is seen from behind, its tabs down: the tab its wiper reaches fully up is then at the left (common practice,
no source; the sheet says how to check it with a meter).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lodestring.drawing import circuit_symbols as symbols
from lodestring.drawing.circuit_symbols import GROUND_DEPTH, PITCH, SMALL, TINY, end
from lodestring.drawing.geometry import Point
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Anchor, Group, Level, Text
from lodestring.drawing.schematic_cells import Cell
from lodestring.drawing.schematic_records import Drawn, Port, Side, Size
from lodestring.drawing.shapes import Circle, Rect
from lodestring.drawing.text import text_width_mm
from lodestring.making.wiring_records import GROUND

STEP = 8.0
"""Between two wires of a pickup, or two terminals of the selector, mm."""
RADIUS, TAB, TIP = 11.0, 7.5, 14.0
"""A control: its case, its outer tabs from the middle, how far the tabs reach below the middle."""
LOWER = 4.0
"""Between the levels of two wires that leave a control."""
STRINGS = "strings"
"""The name of the thing that stands for the bridge of the instrument, from which the strings are grounded."""
LEAD = 7.0
"""A lead of a small part."""


@dataclass(frozen=True, slots=True)
class Tab:
    """A terminal: its name in the drawing, the word beside it, its net, the side its wire leaves to."""

    name: str
    word: str
    net: str
    side: Side = "right"


@dataclass(frozen=True, slots=True)
class Thing:
    """A part on the bench: kind (pickup, control, selector, small, jack), its words, its terminals.

    Small parts stand in a `row`, one or more; their thing's own terminals are the row's outer two.
    """

    kind: str
    name: str
    lines: tuple[tuple[str, bool], ...]
    tabs: tuple[Tab, ...]
    capacitor: bool = False
    row: tuple[Thing, ...] = ()


class Bench:
    """Measures and draws the things named by the keys of cells."""

    def __init__(self, things: Mapping[str, Thing]) -> None:
        make = {"pickup": _pickup, "control": _control, "selector": _selector, "small": _small, "jack": _jack}
        self._made = {key: make[thing.kind](thing) for key, thing in things.items()}

    def size(self, cell: Cell) -> Size:
        """How large a thing is, and where its wires leave."""
        return self._made[cell.key][0]

    def draw(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None:
        """The thing with its (0, 0) at `at`."""
        _, made = self._made[cell.key]
        x, y = at
        out.items.append(Group(tuple(made.items), at, css="part", name=f"part-{cell.key}"))
        out.points += [(px + x, py + y) for px, py in made.points]
        out.wires += [(net, (ax + x, ay + y), (bx + x, by + y)) for net, (ax, ay), (bx, by) in made.wires]


Made = tuple[Size, Drawn]


def _leave(tab: Tab, at: Point, width: float, out: Drawn, ports: list[Port], depth: float | None = None) -> None:
    """A wire from a terminal, down to `depth` first, to its side; or a ground symbol."""
    x, y = at
    out.points.append(at)
    if tab.net == GROUND:
        out.items.append(symbols.ground(at))
        out.points.append(at)
        return
    if depth is not None and depth != y:
        out.wires.append((tab.net, at, (x, depth)))
        y = depth
    edge = width if tab.side == "right" else 0.0
    ports.append(Port(tab.net, tab.side, edge, y))
    if abs(edge - x) > 1e-9:
        out.wires.append((tab.net, (x, y), (edge, y)))
    else:
        out.points.append((x, y))


def _pickup(thing: Thing) -> Made:
    """A rounded plate with its name; each wire leaves at the right with its word."""
    out, ports = Drawn(), list[Port]()
    words = max(text_width_mm(t.word, TINY) for t in thing.tabs) + 2.0
    body = max(symbols.label_width(list(thing.lines)) + 4.0, 22.0)
    width = body + words + 3.0
    high = STEP * (len(thing.tabs) - 1)
    room = max(PITCH * len(thing.lines), high) + 6.0
    middle = -high / 2
    role = Role.STEEL if thing.name == STRINGS else Role.PLATE
    out.items.append(Rect((body / 2, middle), body, room, 2.5, role))
    first = middle + (len(thing.lines) - 1) * PITCH / 2 - 0.3 * SMALL
    out.items += symbols.label((body / 2, first), list(thing.lines), Anchor.MIDDLE)
    for i, tab in enumerate(thing.tabs):
        y = -STEP * i
        at = (body + words, y)
        out.items += [
            end(f"end-{tab.name}", at, (body, y), role=Role.COPPER),
            Text((body + 1.0, y + 0.7), tab.word, TINY),
        ]
        _leave(tab, at, width, out, ports)
    up = max(room / 2 + middle, 2.0)
    return Size(width, up, max(room / 2 - middle, high + GROUND_DEPTH), width, tuple(ports)), out


def _control(thing: Thing) -> Made:
    """From behind: a round case, three tabs below. (0, 0) is its middle."""
    out, ports = Drawn(), list[Port]()
    lines = list(thing.lines)
    width = max(2 * RADIUS + 2.0, symbols.label_width(lines))
    x = width / 2
    out.items.append(Circle((x, 0.0), RADIUS, Role.VISIBLE))
    out.items += symbols.label((x, RADIUS + 1.6 + PITCH * (len(lines) - 1)), lines, Anchor.MIDDLE)
    places = [x - TAB, x, x + TAB]
    for tab, at in zip(thing.tabs, places, strict=True):
        out.items += [
            Rect((at, -TIP + 3.0), 3.0, 6.0, 1.4, Role.STEEL),
            Circle((at, -TIP + 1.6), 0.7, Role.PAPER),
            end(f"end-{tab.name}", (at, -TIP), (at, -TIP + 0.9)),
            Text((x + 0.92 * (at - x), -3.6), tab.word, TINY, Anchor.MIDDLE),
        ]
    low = -TIP - (6.0 if any(t.net == GROUND for t in thing.tabs) else 2.0)
    levels: dict[str, float] = {}
    by_side = [t for t in thing.tabs if t.side == "left"] + [t for t in thing.tabs[::-1] if t.side == "right"]
    for tab in by_side:
        if tab.net != GROUND and tab.net not in levels:
            levels[tab.net] = low - LOWER * len(levels)
    left_to: dict[str, Tab] = {}
    for tab, at in zip(thing.tabs, places, strict=True):
        first = left_to.setdefault(tab.net, tab)
        if first is tab or tab.net == GROUND:
            _leave(tab, (at, -TIP), width, out, ports, levels.get(tab.net))
        else:  # a second tab on the same net: a short wire to the first one's
            out.points.append((at, -TIP))
            start = places[thing.tabs.index(first)]
            out.wires += [
                (tab.net, (at, -TIP), (at, levels[tab.net])),
                (tab.net, (at, levels[tab.net]), (start, levels[tab.net])),
            ]
    up = RADIUS + 1.6 + PITCH * len(lines)
    down = max(-min(levels.values(), default=-TIP), TIP + GROUND_DEPTH) + 2.0
    return Size(width, up, down, x, tuple(ports)), out


def _selector(thing: Thing) -> Made:
    """A box with lettered terminals down both sides; (0, 0) is the first terminal's height."""
    out, ports = Drawn(), list[Port]()
    inner, width = 14.0, 24.0
    high = STEP * (len(thing.tabs) - 1)
    left = (width - inner) / 2
    out.items.append(Rect((width / 2, -high / 2), inner, high + 8.0, 1.0, Role.VISIBLE))
    lines = list(thing.lines)
    out.items += symbols.label((width / 2, 5.6 + PITCH * (len(lines) - 1)), lines, Anchor.MIDDLE)
    for i, tab in enumerate(thing.tabs):
        y = -STEP * i
        right = tab.side == "right"
        edge = left + inner if right else left
        at = (edge + (3.6 if right else -3.6), y)
        inside = edge + (-3.0 if right else 3.0)
        out.items += [
            Circle((edge, y), 1.0, Role.STEEL),
            end(f"end-{tab.name}", at, (edge, y)),
            Text((inside, y), tab.word, SMALL, Anchor.MIDDLE, Level.MIDDLE, bold=True),
        ]
        _leave(tab, at, width, out, ports)
    return Size(width, 5.6 + PITCH * len(lines) + 1.0, high + 4.0 + GROUND_DEPTH, 0.0, tuple(ports)), out


def _small(thing: Thing) -> Made:
    """Small parts in a row, with two leads each: a disc is a capacitor, a long body a resistor."""
    out, ports = Drawn(), list[Port]()
    row = thing.row
    slots = [max(_body(t) + 2 * LEAD, symbols.label_width(list(t.lines)) + 2.0) for t in row]
    width, left = sum(slots), 0.0
    for i, (part, slot) in enumerate(zip(row, slots, strict=True)):
        x, body, lines = left + slot / 2, _body(part), list(part.lines)
        out.items.append(
            Circle((x, 0.0), body / 2, Role.VISIBLE) if part.capacitor else Rect((x, 0.0), body, 3.4, 1.6, Role.VISIBLE)
        )
        out.items += symbols.label((x, _over(part) + PITCH * (len(lines) - 1)), lines, Anchor.MIDDLE)
        for tab, side, inner in zip(part.tabs, (-1.0, 1.0), (i > 0, i < len(row) - 1), strict=True):
            far = slot / 2 if inner else min(slot / 2, body / 2 + LEAD - 2.0)
            at = (x + side * far, 0.0)
            out.items.append(end(f"end-{tab.name}", at, (x + side * body / 2, 0.0)))
            if inner:
                out.points.append(at)
            else:
                _leave(tab, at, width, out, ports)
        left += slot
    up = max(_over(t) + PITCH * len(t.lines) for t in row)
    return Size(width, up, max(4.0, GROUND_DEPTH), 0.0, tuple(ports)), out


def _body(part: Thing) -> float:
    return 7.0 if part.capacitor else 9.0


def _over(part: Thing) -> float:
    """Height of the words over a small part."""
    return 4.6 if part.capacitor else 3.0


def _jack(thing: Thing) -> Made:
    """A round jack with its two terminals at the left."""
    out, ports = Drawn(), list[Port]()
    x, radius, reach = 18.0, 6.0, 10.0
    out.items += [Circle((x, -4.0), radius, Role.VISIBLE), Circle((x, -4.0), 2.6, Role.VISIBLE)]
    lines = list(thing.lines)
    out.items += symbols.label((x, radius - 4.0 + 1.6 + PITCH * (len(lines) - 1)), lines, Anchor.MIDDLE)
    for i, tab in enumerate(thing.tabs):
        y = -STEP * i
        at = (x - radius - reach + 2.0, y)
        half = (radius**2 - (y + 4.0) ** 2) ** 0.5
        out.items += [
            end(f"end-{tab.name}", at, (x - half, y)),
            Text((at[0] + 0.6, y + 0.7), tab.word, TINY),
        ]
        _leave(tab, at, x + radius, out, ports)
    return Size(x + radius, radius - 4.0 + 1.6 + PITCH, 8.0 + GROUND_DEPTH, 0.0, tuple(ports)), out
