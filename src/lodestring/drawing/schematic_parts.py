"""The cells of a schematic, measured and drawn. A cell's (0, 0) is where its column begins, at its uppermost wire."""

from __future__ import annotations

import math

from lodestring.drawing import circuit_symbols as symbols
from lodestring.drawing.circuit_symbols import COIL, ELEMENT, GROUND_DEPTH, PITCH, SMALL, TINY
from lodestring.drawing.geometry import Point
from lodestring.drawing.picture import Anchor, Group, Text
from lodestring.drawing.schematic_cells import Cell, Element
from lodestring.drawing.schematic_records import Drawn, Port, Side, Size
from lodestring.drawing.shapes import Item
from lodestring.drawing.text import text_width_mm
from lodestring.making.wiring_records import GROUND, SwitchContact, WiringPart, WiringPlan

TOP, WIPER, BOTTOM = 1, 2, 3
BESIDE = 14.0
"""Room below a coil whose lower end is no ground, for the contact that hangs from it."""


class Drawer:
    """Measures and draws the cells of one plan; `position` (from 1) draws its contacts closed."""

    def __init__(self, plan: WiringPlan, position: int | None, bold: frozenset[str]) -> None:
        self._plan = plan
        self._position = position
        self._bold = bold

    # ---- words ----

    def _lines(self, element: Element) -> list[tuple[str, bool]]:
        of = element.of
        if isinstance(of, WiringPart):
            return symbols.label_lines(of.title, of.value)
        numbers = " ".join(map(str, of.positions))
        letters = f"{self._plan.letter(of.a)}–{self._plan.letter(of.b)}"
        return [(numbers, True), (letters, False)]

    def _words(self, element: Element) -> float:
        return symbols.label_width(self._lines(element))

    # ---- sizes ----

    def size(self, cell: Cell) -> Size:
        """How large a cell is, and where its ports are."""
        return {
            "coils": self._coils_size,
            "standing": self._standing_size,
            "lying": self._lying_size,
            "control": self._control_size,
            "jack": self._jack_size,
        }[cell.shape](cell)

    def _coils_size(self, cell: Cell) -> Size:
        axis = max(self._words(e) for e in cell.elements) + 2.5
        top, bottom = cell.nets
        low = -COIL * len(cell.elements)
        ports = [Port(net, "right", axis, y) for net, y in ((top, 0.0), (bottom, low)) if net != GROUND]
        ends = max(text_width_mm(_word(e, n), TINY) for e in cell.elements for n in (1, 2))
        room = GROUND_DEPTH if bottom == GROUND else BESIDE
        return Size(axis + 3.0 + ends, 2.0, -low + room, axis, tuple(ports))

    def _standing_size(self, cell: Cell) -> Size:
        axis = 3.0
        right = max(_beside(e) + self._words(e) for e in cell.elements)
        top, bottom = cell.nets
        low = -ELEMENT * len(cell.elements)
        ports = [Port(net, "left", axis, y) for net, y in ((top, 0.0), (bottom, low)) if net != GROUND]
        return Size(axis + right, 2.0, -low + (GROUND_DEPTH if bottom == GROUND else 1.0), axis, tuple(ports))

    def _slot(self, element: Element) -> float:
        return max(ELEMENT, math.ceil(self._words(element) + 2.0))

    def _lying_size(self, cell: Cell) -> Size:
        width = sum(self._slot(e) for e in cell.elements)
        up = max(_above(e) + PITCH * (len(self._lines(e)) - (1 if _is_contact(e) else 0)) for e in cell.elements)
        ports = (Port(cell.nets[0], "left", 0.0, 0.0), Port(cell.nets[1], "right", width, 0.0))
        return Size(width, up, 4.6 if any(_is_contact(e) for e in cell.elements) else 2.5, 0.0, ports)

    def _control_size(self, cell: Cell) -> Size:
        (element,) = cell.elements
        top, wiper, bottom = cell.nets
        axis = 7.5 if top == GROUND else 5.0
        width = axis + 4.0 + self._words(element) + 1.0
        if wiper == GROUND:
            width = max(width, axis + 9.0)
        near: Side = "right" if cell.mirrored else "left"
        far: Side = "left" if cell.mirrored else "right"

        def at(x: float) -> float:
            return width - x if cell.mirrored else x

        ports = []
        if top != GROUND:
            ports.append(Port(top, near, at(axis), 0.0))
        if wiper != GROUND:
            ports.append(Port(wiper, far, at(axis + 4.0), -ELEMENT / 2))
        if bottom != GROUND:
            ports.append(Port(bottom, near, at(axis), -ELEMENT))
        down = max(ELEMENT + GROUND_DEPTH, -_label_top(wiper) + PITCH * len(self._lines(element)))
        return Size(width, 2.0, down, at(axis), tuple(ports))

    def _jack_size(self, cell: Cell) -> Size:
        (element,) = cell.elements
        return Size(14.0 + self._words(element), 4.0, 6.0 + GROUND_DEPTH, 0.0, (Port(cell.nets[0], "left", 0.0, 0.0),))

    # ---- drawing ----

    def draw(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None:
        """A cell with its (0, 0) at `at`."""
        {
            "coils": self._coils,
            "standing": self._standing,
            "lying": self._lying,
            "control": self._control,
            "jack": self._jack,
        }[cell.shape](cell, size, at, out)

    def _coils(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None:
        x, y = at[0] + size.axis, at[1]
        for element in cell.elements:
            lines = self._lines(element)
            if element.name in self._bold:
                lines = [(t, True) for t, _ in lines]
            items = symbols.coil((x, y), _names(element))
            first = y - COIL / 2 + (len(lines) - 1) * PITCH / 2 - 0.3 * SMALL
            items += symbols.label((x - 2.5, first), lines, Anchor.END)
            items.append(Text((x + 2.2, y - 2.7), _word(element, 1), TINY))
            items.append(Text((x + 2.2, y - COIL + 1.0), _word(element, 2), TINY))
            out.points += [(x, y), (x, y - COIL)]
            self._keep(element, items, out)
            y -= COIL
        self._grounds(cell, (x, at[1]), (x, y), out)

    def _standing(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None:
        x, y = at[0] + size.axis, at[1]
        for element in cell.elements:
            items = self._symbol(element, (x, y))
            lines = self._lines(element)
            first = y - ELEMENT / 2 + (len(lines) - 1) * PITCH / 2 - 0.3 * SMALL
            items += symbols.label((x + _beside(element), first), lines)
            out.points += [(x, y), (x, y - ELEMENT)]
            self._tie(element, (x, y), items, out)
            self._keep(element, items, out)
            y -= ELEMENT
        self._grounds(cell, (x, at[1]), (x, y), out)

    def _lying(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None:
        x, y = at
        for element in cell.elements:
            slot = self._slot(element)
            left = x + (slot - ELEMENT) / 2
            net = element.ends[0][1], element.ends[1][1]
            middle: list[Item] = self._symbol(element, (0.0, 0.0))
            items: list[Item] = [symbols.lying(middle, (left, y))]
            lines = self._lines(element)
            if _is_contact(element):
                items.append(Text((x + slot / 2, y + _above(element)), lines[0][0], SMALL, Anchor.MIDDLE, bold=True))
                items.append(Text((x + slot / 2, y - 3.4), lines[1][0], SMALL, Anchor.MIDDLE))
            else:
                first = y + _above(element) + (len(lines) - 1) * PITCH
                items += symbols.label((x + slot / 2, first), lines, Anchor.MIDDLE)
            out.points += [(left, y), (left + ELEMENT, y)]
            if left > x:
                out.wires += [(net[0], (x, y), (left, y)), (net[1], (left + ELEMENT, y), (x + slot, y))]
            if element.tied is not None:
                self._tie_lying(element, (left, y), middle, out)
                items[0] = symbols.lying(middle, (left, y))
            self._keep(element, items, out)
            x += slot

    def _control(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None:
        (element,) = cell.elements
        top, wiper, bottom = cell.nets
        x, y = at[0] + size.axis, at[1]
        side = -1.0 if cell.mirrored else 1.0
        names = {number: f"end-{element.name}-{number}" for number in (TOP, WIPER, BOTTOM)}
        middle = y - ELEMENT / 2
        items = symbols.resistor((x, y), (names[TOP], names[BOTTOM]))
        items.append(symbols.wiper((x, middle), x + side * 4.0, middle, names[WIPER]))
        out.points += [(x, y), (x + side * 4.0, middle), (x, y - ELEMENT)]
        if top == GROUND:
            self._ground_at((x - side * 4.5, y), (x, y), out)
        if wiper == GROUND:
            self._ground_at((x + side * 6.0, middle), (x + side * 4.0, middle), out)
        if bottom == GROUND:
            self._ground_at((x, y - ELEMENT), (x, y - ELEMENT), out)
        anchor = Anchor.END if cell.mirrored else Anchor.START
        items += symbols.label((x + side * 4.0, y + _label_top(wiper)), self._lines(element), anchor)
        self._keep(element, items, out)

    def _jack(self, cell: Cell, size: Size, at: Point, out: Drawn) -> None:
        (element,) = cell.elements
        items = symbols.jack(at, _names(element))
        items += symbols.label((at[0] + 13.5, at[1] - 4.3), self._lines(element))
        out.points.append(at)
        self._keep(element, items, out)

    # ---- pieces ----

    def _symbol(self, element: Element, top: Point) -> list[Item]:
        names = _names(element)
        if isinstance(element.of, SwitchContact):
            return symbols.contact(top, names, self._position in element.of.positions)
        return symbols.capacitor(top, names) if element.of.kind == "capacitor" else symbols.resistor(top, names)

    def _keep(self, element: Element, items: list[Item], out: Drawn) -> None:
        css = "contact" if _is_contact(element) else "part"
        out.items.append(Group(tuple(items), css=css, name=f"part-{element.name}"))

    def _tie(self, element: Element, top: Point, items: list[Item], out: Drawn) -> None:
        """The wiper of a variable resistor, wired to its tied end."""
        if element.tied is None:
            return
        x, y = top
        net = next(n for number, n in element.ends if number == element.tied)
        foot = y if element.ends[0][0] == element.tied else y - ELEMENT
        middle, side = y - ELEMENT / 2, x + 4.0
        items.append(symbols.wiper((x, middle), side, middle, f"end-{element.name}-{WIPER}"))
        out.wires += [(net, (side, middle), (side, foot)), (net, (side, foot), (x, foot))]
        out.points.append((side, middle))

    def _tie_lying(self, element: Element, left: Point, items: list[Item], out: Drawn) -> None:
        """The same of one that lies: `items` are still standing, the wire is not."""
        x, y = left
        net = next(n for number, n in element.ends if number == element.tied)
        foot = x if element.ends[0][0] == element.tied else x + ELEMENT
        items.append(symbols.wiper((0.0, -ELEMENT / 2), -4.0, -ELEMENT / 2, f"end-{element.name}-{WIPER}"))
        corner = (x + ELEMENT / 2, y - 4.0)
        out.wires += [(net, corner, (foot, y - 4.0)), (net, (foot, y - 4.0), (foot, y))]
        out.points.append(corner)

    def _grounds(self, cell: Cell, top: Point, bottom: Point, out: Drawn) -> None:
        if cell.nets[0] == GROUND:
            self._ground_at((top[0] + 4.5, top[1]), top, out)
        if cell.nets[-1] == GROUND:
            self._ground_at(bottom, bottom, out)

    def _ground_at(self, at: Point, end: Point, out: Drawn) -> None:
        out.items.append(symbols.ground(at))
        out.points.append(at)
        if at != end:
            out.wires.append((GROUND, end, at))


def _is_contact(element: Element) -> bool:
    return isinstance(element.of, SwitchContact)


def _names(element: Element) -> tuple[str, str]:
    (one, _), (two, _) = element.ends[0], element.ends[-1]
    return f"end-{element.name}-{one}", f"end-{element.name}-{two}"


def _word(element: Element, place: int) -> str:
    """What the upper (1) or lower (2) end of a coil is called."""
    of = element.of
    number = element.ends[place - 1][0]
    return of.ends[number - 1].word if isinstance(of, WiringPart) else ""


def _beside(element: Element) -> float:
    """Where the words of a standing symbol begin, right of its line."""
    return 5.2 if element.tied is not None else 3.6


def _above(element: Element) -> float:
    """Height of the words over a lying symbol's line."""
    return 3.6 if _is_contact(element) else 3.2


def _label_top(wiper: str) -> float:
    """Baseline of the first line of a control's words."""
    return -ELEMENT / 2 - (6.2 if wiper == GROUND else 3.4)
