"""The harness as a schematic by the usual conventions, symbols after IEC 60617, drawn from the wiring plan.

Signal runs from the coils at the left to the jack at the right; each ground has its own symbol. A contact of the
selector carries the numbers of the positions in which it is closed, and the letters of its two terminals.
"""

from __future__ import annotations

import itertools

from lodestring.drawing.look import Role
from lodestring.drawing.picture import Group, Sheet1to1
from lodestring.drawing.schematic_cells import cells
from lodestring.drawing.schematic_layout import lay_out
from lodestring.drawing.schematic_parts import Drawer
from lodestring.drawing.schematic_wires import joints
from lodestring.drawing.shapes import Dot, Item, Line
from lodestring.drawing.top_view import sized
from lodestring.errors import DomainError
from lodestring.making.wiring_records import GROUND, WiringPlan, joined_nodes

__all__ = ["schematic"]


def schematic(plan: WiringPlan, position: str | None = None) -> Sheet1to1:
    """The schematic; with a position's name its contacts are drawn closed and what they join in thick lines.

    Raises DomainError for a position there is not.
    """
    number = _number(plan, position)
    lit = _lit(plan, number)
    drawn = lay_out(cells(plan), Drawer(plan, number, lit))
    nets = plan.nets()
    bright = {nets[n] for n in lit if n in nets}
    lines: list[Item] = [Line(a, b, Role.OUTLINE if net in bright else Role.VISIBLE) for net, a, b in drawn.wires]
    dots: list[Item] = [Dot(at) for at in joints(drawn)]
    items: list[Item] = [Group((*lines, *dots), css="wires"), *drawn.items]
    return sized(items, _title(plan, number), _told(plan, number), 1.0)


def _number(plan: WiringPlan, position: str | None) -> int | None:
    if position is None:
        return None
    found = next((p.number for p in plan.positions if p.name == position), None)
    if found is None:
        raise DomainError(
            "a schematic shows a position there is",
            f'"{position}"',
            f"one of {', '.join(p.name for p in plan.positions)}",
        )
    return found


def _lit(plan: WiringPlan, number: int | None) -> frozenset[str]:
    """Coils and nodes that signal passes in a position: what hangs together with the jack, ground left aside."""
    if number is None:
        return frozenset()
    pairs = [*plan.wires, *((c.a, c.b) for c in plan.contacts if number in c.positions)]
    nodes = [e.node for p in plan.parts for e in p.ends]
    grounded = {n for n, net in joined_nodes(nodes, pairs).items() if net == GROUND}
    links = [p for p in pairs if not grounded & {*p}]
    for part in plan.parts:
        free = [e.node for e in part.ends if e.node not in grounded]
        links += list(itertools.pairwise(free))
    reached = joined_nodes(nodes, links)
    mine = {n for n in reached if reached[n] == reached["jack"] and n not in grounded}
    sources = {p.name for p in plan.parts if p.kind in ("coil", "kept pickup") and mine & {e.node for e in p.ends}}
    return frozenset(mine | sources)


def _title(plan: WiringPlan, number: int | None) -> str:
    where = "" if number is None else f", position {number}: {plan.positions[number - 1].name}"
    return f"Schematic of the harness, {plan.circuit}{where}"


def _told(plan: WiringPlan, number: int | None) -> str:
    coils = [p.title for p in plan.parts if p.kind in ("coil", "kept pickup")]
    rest = [f"{p.title} {p.value}".strip() for p in plan.parts if p.kind not in ("coil", "kept pickup")]
    out = f"Symbols after IEC 60617. From left to right: {', '.join(coils)}; {', '.join(rest)}. "
    if plan.contacts:
        out += "A contact is closed in the positions numbered beside it: "
        out += ", ".join(f"{p.number} {p.name}" for p in plan.positions) + ". "
    return out + "A dot is a joint; lines that cross without one are not joined."
