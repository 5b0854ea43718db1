"""The parts of a harness as cells of a schematic, each in its column.

A net's level is how many parts lie between it and the jack. Coils stand at the left; then, level by level toward the
jack at the right, what hangs from a net of that level (to ground, or between two of them) and what leads on to the
next. Two-ended parts in a row on a net of their own make one cell, so that a tone control stands on its capacitor.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from lodestring.making.wiring_records import GROUND, JACK, SwitchContact, WiringPart, WiringPlan

Shape = Literal["coils", "standing", "lying", "control", "jack", "bench"]


@dataclass(frozen=True, slots=True)
class Element:
    """A part or contact as it is drawn: its name, the part or contact, and its two ends' (number, net), upper first.

    A control with its wiper joined to one of its ends is two-ended too; `tied` is the number of that end.
    """

    name: str
    of: WiringPart | SwitchContact
    ends: tuple[tuple[int, str], ...]
    tied: int | None = None

    def turned(self) -> Element:
        """The same, the other end up."""
        return Element(self.name, self.of, self.ends[::-1], self.tied)


@dataclass(slots=True)
class Cell:
    """Elements drawn together; `nets` of a two-ended row are its upper (left) and lower (right) net. On the bench `key`
    says which thing it is."""

    shape: Shape
    elements: tuple[Element, ...]
    nets: tuple[str, ...]
    column: tuple[int, int] = (0, 0)
    mirrored: bool = False
    key: str = ""


def element_nets(element: Element) -> tuple[str, ...]:
    """Nets of an element's ends."""
    return tuple(net for _, net in element.ends)


def elements(plan: WiringPlan) -> list[Element]:
    """Every part and contact, the jack left out."""
    nets = plan.nets()
    out = []
    for part in plan.parts:
        if part.kind == "jack":
            continue
        ends = tuple((i, nets[e.node]) for i, e in enumerate(part.ends, 1))
        if part.kind == "control":
            (_, top), (_, wiper), (_, bottom) = ends
            if wiper in (top, bottom) and top != bottom:
                # drawn as a variable resistor: its free end up, the wiper tied to the other
                free, tied = (3, 1) if wiper == top else (1, 3)
                pair = ((free, ends[free - 1][1]), (tied, wiper))
                out.append(Element(part.name, part, pair, tied))
                continue
        out.append(Element(part.name, part, ends))
    for i, contact in enumerate(plan.contacts, 1):
        out.append(Element(f"contact-{i}", contact, ((1, nets[contact.a]), (2, nets[contact.b]))))
    return out


def cells(plan: WiringPlan) -> list[Cell]:
    """All cells with their columns, the jack's last."""
    every = elements(plan)
    sources = [e for e in every if is_source(e)]
    others = [e for e in every if not is_source(e)]
    jack_net = plan.nets()[JACK]
    made = [Cell("coils", row, (row[0].ends[0][1], row[-1].ends[1][1])) for row in rows(sources, others, jack_net)]
    rest = _made(rows(others, sources, jack_net))
    levels = _levels(rest, jack_net)
    deepest = max(levels.values(), default=0)
    for cell in made:
        _upright(cell, levels, deepest)
    hanging: dict[str, int] = {}
    for cell in rest:
        _place(cell, levels, deepest, hanging)
    part = next(p for p in plan.parts if p.kind == "jack")
    jack = Element(JACK, part, ((1, jack_net), (2, GROUND)))
    return [*made, *rest, Cell("jack", (jack,), (jack_net, GROUND), (2 * deepest + 3, 0))]


def is_source(element: Element) -> bool:
    """Whether it is a coil or a kept pickup."""
    return isinstance(element.of, WiringPart) and element.of.kind in ("coil", "kept pickup")


def rows(mine: list[Element], others: list[Element], jack_net: str) -> list[tuple[Element, ...]]:
    """Two-ended elements that follow one another on nets which nothing else touches, as rows."""
    touching: dict[str, list[Element]] = {}
    for element in [*mine, *others]:
        for net in element_nets(element):
            touching.setdefault(net, []).append(element)

    def private(net: str) -> bool:
        found = touching[net]
        return (
            net not in (GROUND, jack_net)
            and len(found) == 2
            and found[0] is not found[1]
            and all(e in mine and len(e.ends) == 2 and not _is_contact(e) for e in found)
        )

    taken: set[str] = set()
    out = []
    for element in mine:
        if element.name in taken:
            continue
        row = [element]
        taken.add(element.name)
        if len(element.ends) == 2:
            for forward in (True, False):
                while private(net := row[-1].ends[1][1] if forward else row[0].ends[0][1]):
                    following = next((e for e in touching[net] if e.name not in taken), None)
                    if following is None:
                        break
                    taken.add(following.name)
                    first = following.ends[0][1] == net
                    turned = following if first == forward else following.turned()
                    row = [*row, turned] if forward else [turned, *row]
        out.append(tuple(row))
    return out


def _is_contact(element: Element) -> bool:
    return isinstance(element.of, SwitchContact)


def _made(rows: Iterable[tuple[Element, ...]]) -> list[Cell]:
    out = []
    for row in rows:
        if len(row[0].ends) == 3:
            out.append(Cell("control", row, element_nets(row[0])))
        else:
            out.append(Cell("standing", row, (row[0].ends[0][1], row[-1].ends[1][1])))
    return out


def _levels(made: list[Cell], jack_net: str) -> dict[str, int]:
    """Cells between each net and the jack's, ground left aside; nets joined to the jack by coils alone are left out."""
    near: dict[str, set[str]] = {}
    for cell in made:
        signal = [n for n in cell.nets if n != GROUND]
        for net in signal:
            near.setdefault(net, set()).update(signal)
    levels = {jack_net: 0}
    edge = [jack_net]
    while edge:
        following = []
        for net in edge:
            for other in sorted(near.get(net, ())):
                if other not in levels:
                    levels[other] = levels[net] + 1
                    following.append(other)
        edge = following
    return levels


def _level(net: str, levels: dict[str, int], deepest: int) -> int:
    return levels.get(net, deepest)


def _upright(cell: Cell, levels: dict[str, int], deepest: int) -> None:
    """The coil's end nearer the jack up; ground down."""
    top, bottom = cell.nets
    if bottom != GROUND and (top == GROUND or _level(bottom, levels, deepest) < _level(top, levels, deepest)):
        _turn(cell)


def _turn(cell: Cell) -> None:
    cell.elements = tuple(e.turned() for e in cell.elements[::-1])
    cell.nets = cell.nets[::-1]


def _place(cell: Cell, levels: dict[str, int], deepest: int, hanging: dict[str, int]) -> None:
    depth = {n: _level(n, levels, deepest) for n in cell.nets if n != GROUND}
    if cell.shape == "control":
        top, wiper, _ = cell.nets
        high = max(depth.values(), default=0)
        if len(depth) > 1 and min(depth.values()) < high:
            cell.column = (2 * (deepest - high) + 2, 0)
            cell.mirrored = depth.get(wiper, high) > depth.get(top, high)
            return
        hang = next((n for n in cell.nets if n != GROUND), GROUND)
    else:
        if cell.nets[0] == GROUND:
            _turn(cell)
        top, bottom = cell.nets
        if bottom != GROUND and depth[top] != depth[bottom]:
            if depth[top] < depth[bottom]:
                _turn(cell)
            cell.shape = "lying"
            cell.column = (2 * (deepest - max(depth.values())) + 2, 0)
            return
        hang = top
    at = hanging.get(hang, 0)
    hanging[hang] = at + 1
    cell.column = (2 * (deepest - depth.get(hang, 0)) + 1, at)
