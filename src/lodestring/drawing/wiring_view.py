"""The wiring on the bench: pickups with their wires by name, controls from behind, selector, jack, small parts.

Lines say what is joined; each joint is made at a terminal, in the order of the plan's list. Every ground symbol is a
wire to the one ground point.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lodestring.drawing import circuit_symbols as symbols
from lodestring.drawing.bench_parts import STRINGS, Bench, Tab, Thing
from lodestring.drawing.picture import Group, Sheet1to1
from lodestring.drawing.schematic_cells import Cell, Element, elements, rows
from lodestring.drawing.schematic_layout import lay_out
from lodestring.drawing.schematic_records import Side
from lodestring.drawing.schematic_wires import joints
from lodestring.drawing.shapes import Dot, Item, Line
from lodestring.drawing.top_view import sized
from lodestring.making.wiring_records import GROUND, JACK, MetalWire, WiringPart, WiringPlan

__all__ = ["wiring_view"]

PICKUPS, EARLY, CONTROLS, SMALL, LATE, JACKS = range(6)
"""Columns from the left; the selector stands before or after the controls."""
SOURCES = ("coil", "kept pickup")


def wiring_view(plan: WiringPlan) -> Sheet1to1:
    """The wiring picture of a plan."""
    things = {f"{column}-{i}": (column, thing) for i, (column, thing) in enumerate(_things(plan))}
    sided = _sided(things)
    cells = [Cell("coils" if c == PICKUPS else "bench", (), (), (c, 0), key=k) for k, (c, _) in things.items()]
    drawn = lay_out(cells, Bench(sided))
    lines: list[Item] = [Line(a, b) for _, a, b in drawn.wires]
    dots: list[Item] = [Dot(at) for at in joints(drawn)]
    return sized([Group((*lines, *dots), css="wires"), *drawn.items], _title(plan), _told(plan), 1.0)


def _things(plan: WiringPlan) -> Iterator[tuple[int, Thing]]:
    """Everything on the bench with its column; which side a wire leaves to is found later."""
    nets = plan.nets()
    sources = [p for p in plan.parts if p.kind in SOURCES]
    for pickup in dict.fromkeys(p.name.partition(".")[0] for p in sources):
        mine = [p for p in sources if p.name.partition(".")[0] == pickup]
        yield PICKUPS, _pickup(pickup, mine, [m for m in plan.metal if m.pickup == pickup], nets)
    loose = [m for m in plan.metal if not m.pickup]
    if loose:
        tabs = tuple(Tab(m.name, m.word, nets.get(m.node, m.node)) for m in loose)
        yield PICKUPS, Thing("pickup", STRINGS, (("bridge of the", False), ("instrument", False)), tabs)
    for part in plan.parts:
        words = tuple(symbols.label_lines(part.title, part.value))
        tabs = tuple(Tab(f"{part.name}-{i}", e.word, nets[e.node]) for i, e in enumerate(part.ends, 1))
        if part.kind == "control":
            yield CONTROLS, Thing("control", part.name, words, tabs)
        elif part.kind == "jack":
            yield JACKS, Thing("jack", part.name, words, tabs)
    yield from ((SMALL, row) for row in _small_rows(plan))
    if plan.terminals:
        tabs = tuple(Tab(f"selector-{t.letter}", t.letter, nets[t.node]) for t in plan.terminals)
        yield _selector_column(plan), Thing("selector", "selector", (("selector", False),), tabs)


def _small_rows(plan: WiringPlan) -> Iterator[Thing]:
    """Resistors and capacitors, those in a row on nets of their own as one thing; a grounded lead points right."""
    every = elements(plan)
    small = [e for e in every if isinstance(e.of, WiringPart) and e.of.kind in ("resistor", "capacitor")]
    for row in rows(small, [e for e in every if e not in small], plan.nets()[JACK]):
        if row[0].ends[0][1] == GROUND:
            row = tuple(e.turned() for e in row[::-1])
        parts = tuple(_small(e) for e in row)
        yield Thing("small", parts[0].name, (), (parts[0].tabs[0], parts[-1].tabs[1]), row=parts)


def _small(element: Element) -> Thing:
    part = element.of
    assert isinstance(part, WiringPart)  # noqa: S101 - contacts are no small parts
    tabs = tuple(Tab(f"{part.name}-{number}", "", net) for number, net in element.ends)
    words = tuple(symbols.label_lines(part.title, part.value))
    return Thing("small", part.name, words, tabs, part.kind == "capacitor")


def _pickup(name: str, coils: list[WiringPart], metal: list[MetalWire], nets: dict[str, str]) -> Thing:
    one = len(coils) == 1
    lines = [(f"{name} pickup", True)]
    tabs = []
    for coil in coils:
        if not one or coil.kind == "kept pickup":
            label = coil.name.partition(".")[2]
            lines.append((f"{label} coil {coil.value}" if label else f"kept, {coil.value}", False))
        else:
            lines.append((coil.value, False))
        prefix = "" if one else f"{coil.name.partition('.')[2]} "
        tabs += [Tab(f"{coil.name}-{i}", f"{prefix}{e.word}", nets[e.node]) for i, e in enumerate(coil.ends, 1)]
    tabs += [Tab(m.name, m.word, nets.get(m.node, m.node)) for m in metal]
    return Thing("pickup", name, tuple(lines), tuple(tabs))


def _selector_column(plan: WiringPlan) -> int:
    """Before the controls where most coil wires come to it, else after them."""
    nets = plan.nets()
    hot = {nets[e.node] for p in plan.parts if p.kind in SOURCES for e in p.ends} - {GROUND}
    mine = {nets[t.node] for t in plan.terminals} - {GROUND}
    return EARLY if len(hot & mine) * 2 > len(hot) else LATE


def _sided(things: dict[str, tuple[int, Thing]]) -> dict[str, Thing]:
    """Each terminal's wire leaves to the side where more of its net's other terminals are."""
    used = sorted({column for column, _ in things.values()})
    at: dict[str, list[int]] = {}
    for column, thing in things.values():
        for tab in thing.tabs:
            at.setdefault(tab.net, []).append(column)

    def side(column: int, place: int, tab: Tab) -> Side:
        right = sum(c > column for c in at[tab.net])
        left = sum(c < column for c in at[tab.net])
        if used[0] != column != used[-1] and right != left:
            return "right" if right > left else "left"
        return "right" if column == used[0] or (place and column != used[-1]) else "left"

    out = {}
    for key, (column, thing) in things.items():
        if thing.kind == "small":
            out[key] = _small_sided(thing)
        else:
            out[key] = replace(thing, tabs=tuple(replace(t, side=side(column, i, t)) for i, t in enumerate(thing.tabs)))
    return out


def _small_sided(thing: Thing) -> Thing:
    """A small part's leads leave where they point."""
    return replace(
        thing,
        row=tuple(
            replace(p, tabs=(replace(p.tabs[0], side="left"), replace(p.tabs[1], side="right"))) for p in thing.row
        ),
    )


def _title(plan: WiringPlan) -> str:
    return f"Wiring on the bench, {plan.circuit}"


def _told(plan: WiringPlan) -> str:
    listed = "; ".join(f"{j.what} to {j.to}" for j in plan.joints)
    return f"Controls seen from behind, tabs down. Every ground symbol is a wire to the one ground point. {listed}."
