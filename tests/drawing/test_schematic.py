"""The schematic says what the plan says: read back from its lines and dots it is the same circuit."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from schematic_reader import read_schematic
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from wired_sets import HARNESSES, harnessed, several

from lodestring.assess.report import Assessment
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Group, Sheet1to1
from lodestring.drawing.schematic import schematic
from lodestring.drawing.shapes import Dot, Item, Line, Rect
from lodestring.drawing.svg import overlapping_texts, svg, text_boxes
from lodestring.drawing.wiring_view import wiring_view
from lodestring.errors import DomainError
from lodestring.making.wiring_plan import wiring_plan
from lodestring.making.wiring_records import (
    End,
    PhaseCheck,
    SwitchContact,
    SwitchTerminal,
    WiringPart,
    WiringPlan,
    WiringPosition,
)

Nets = dict[str, int]


def expected(plan: WiringPlan) -> Nets:
    """Net of every end by its name in the schematic, from the plan's nodes and wires."""
    at = {f"{part.name}-{i}": end.node for part in plan.parts for i, end in enumerate(part.ends, 1)}
    for i, contact in enumerate(plan.contacts, 1):
        at[f"contact-{i}-1"], at[f"contact-{i}-2"] = contact.a, contact.b
    return joined(plan, at)


def expected_on_the_bench(plan: WiringPlan) -> Nets:
    """The same of the wiring picture: the selector's terminals for its contacts, and the metal's wires."""
    at = {f"{part.name}-{i}": end.node for part in plan.parts for i, end in enumerate(part.ends, 1)}
    at |= {f"selector-{t.letter}": t.node for t in plan.terminals}
    at |= {m.name: m.node for m in plan.metal}
    return joined(plan, at)


def joined(plan: WiringPlan, at: dict[str, str]) -> Nets:
    """Ends by net; scipy joins the nodes."""
    nodes = sorted({*at.values(), *(n for w in plan.wires for n in w), "ground"})
    number = {n: i for i, n in enumerate(nodes)}
    rows, columns = [number[a] for a, _ in plan.wires], [number[b] for _, b in plan.wires]
    graph = coo_array((np.ones(len(rows)), (rows, columns)), shape=(len(nodes), len(nodes)))
    labels = connected_components(graph, directed=False)[1]
    out = {name: int(labels[number[node]]) for name, node in at.items()}
    out["ground"] = int(labels[number["ground"]])
    return out


def groups(net: dict[str, int]) -> set[frozenset[str]]:
    found: dict[int, set[str]] = {}
    for name, number in net.items():
        found.setdefault(number, set()).add(name)
    return {frozenset(g) for g in found.values()}


def check(picture: Sheet1to1, wanted: Nets) -> None:
    """The picture joins what is wanted and nothing else, and can be read: no text struck through or on another."""
    read = read_schematic(svg(picture, ids="x"))
    assert read.faults == []
    # every end once, none that is not in the plan
    assert Counter(read.names) == Counter(n for n in wanted if n != "ground")
    net = dict(read.net)
    # all ground symbols are one net, which is how a schematic is read
    ground = -1
    net = {n: ground if i in read.grounds else i for n, i in net.items()}
    net["ground"] = ground
    assert groups(net) == groups(wanted)
    assert overlapping_texts(picture) == ()
    assert not list(struck(picture))


def struck(picture: Sheet1to1) -> list[str]:
    """Words and rectangles that a wire runs through."""
    wires = [
        w for g in picture.items if isinstance(g, Group) and g.css == "wires" for w in g.items if isinstance(w, Line)
    ]
    out = []
    boxes = [(b.text, b.corners) for b in text_boxes(picture)]
    boxes += [("a rectangle", corners(r)) for r in rectangles(picture.items)]
    for text, found in boxes:
        left, right = min(x for x, _ in found), max(x for x, _ in found)
        low, high = min(y for _, y in found), max(y for _, y in found)
        for w in wires:
            (ax, ay), (bx, by) = w.a, w.b
            if (
                max(ax, bx) > left + 0.05
                and min(ax, bx) < right - 0.05
                and max(ay, by) > low + 0.05
                and min(ay, by) < high - 0.05
            ):
                out.append(f"{text}: {w.a} to {w.b}")
    return out


def corners(r: Rect) -> list[tuple[float, float]]:
    (x, y), w, h = r.centre, r.width / 2, r.height / 2
    return [(x - w, y - h), (x + w, y + h)]


def rectangles(items: tuple[Item, ...], dx: float = 0.0, dy: float = 0.0) -> list[Rect]:
    """Those that stand; lying ones are turned in their group and left out here."""
    out = []
    for item in items:
        if isinstance(item, Rect):
            out.append(Rect((item.centre[0] + dx, item.centre[1] + dy), item.width, item.height))
        elif isinstance(item, Group) and not item.rotation:
            out += rectangles(item.items, dx + item.at[0], dy + item.at[1])
    return out


# ---- drawn from plans made at random ----

INNER = [f"n{i}" for i in range(1, 6)]


@st.composite
def plans(draw: st.DrawFn) -> WiringPlan:
    """Any parts on any nodes: what no ready circuit has, an own netlist may."""
    count = draw(st.integers(1, 4))
    coils = [
        WiringPart(f"p{i}.main", "coil", f"p{i} coil", "6.4 kOhm",
                   (End("finish", f"p{i}.main.finish"), End("start", f"p{i}.main.start")))
        for i in range(count)
    ]  # fmt: skip
    loose = [e.node for c in coils for e in c.ends]
    rails = [*INNER, "jack", "ground"]
    some = st.sampled_from([*rails, *loose])
    parts: list[WiringPart] = []
    for i in range(draw(st.integers(0, 7))):
        kind = draw(st.sampled_from(["resistor", "capacitor", "control"]))
        number = 3 if kind == "control" else 2
        nodes = draw(st.lists(some, min_size=number, max_size=number).filter(lambda n: len(set(n)) > 1))
        words = ("top", "wiper", "bottom") if number == 3 else ("one end", "other end")
        ends = tuple(End(w, n) for w, n in zip(words, nodes, strict=True))
        parts.append(WiringPart(f"part{i}", kind, f"part{i} {kind}", "22 nF", ends))  # type: ignore[arg-type]
    wires = tuple(draw(st.lists(st.tuples(st.sampled_from(loose), some), max_size=5)))
    pairs = draw(st.lists(st.tuples(some, some), max_size=6))
    jack = WiringPart("jack", "jack", "jack", "", (End("hot", "jack"), End("ground", "ground")))
    every = (*coils, *parts, jack)

    def plan(contacts: tuple[SwitchContact, ...]) -> WiringPlan:
        return WiringPlan("own netlist", every, wires, contacts, (), (), (), (), (), PhaseCheck((), ()), ())

    bare = plan(tuple(SwitchContact(a, b, (1,)) for a, b in pairs))
    nets = bare.nets()
    assume(nets["jack"] != nets["ground"])
    kept: dict[frozenset[str], SwitchContact] = {}
    for a, b in pairs:
        if nets[a] != nets[b]:
            kept.setdefault(frozenset((nets[a], nets[b])), SwitchContact(a, b, (1, 2)))
    out = plan(tuple(kept.values()))
    letters = {nets[n]: n for c in out.contacts for n in (c.a, c.b)}
    terminals = tuple(SwitchTerminal("ABCDEFGHIJKLMN"[i], n) for i, n in enumerate(letters.values()))
    positions = (WiringPosition(1, "one", "", ()), WiringPosition(2, "two", "", ()))
    return WiringPlan(
        "own netlist", every, wires, out.contacts, terminals, positions, (), (), (), PhaseCheck((), ()), ()
    )


@given(plans())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_any_netlist_drawn_and_read_back_is_the_same_netlist(plan: WiringPlan) -> None:
    check(schematic(plan), expected(plan))
    check(wiring_view(plan), expected_on_the_bench(plan))


# ---- drawn from sets ----


def plan_of(found: Assessment) -> WiringPlan:
    plan = wiring_plan(found.model)
    assert plan is not None
    return plan


@pytest.mark.parametrize("name", HARNESSES)
def test_the_schematic_of_each_harness_is_its_plan_in_every_position(name: str) -> None:
    plan = plan_of(harnessed(name))
    for position in (None, *(p.name for p in plan.positions)):
        check(schematic(plan, position), expected(plan))


@pytest.mark.parametrize("name", HARNESSES)
def test_the_wiring_picture_of_each_harness_is_its_plan(name: str) -> None:
    plan = plan_of(harnessed(name))
    check(wiring_view(plan), expected_on_the_bench(plan))


@pytest.mark.parametrize("count", [3, 6])
@pytest.mark.parametrize("circuit", ["one volume, one tone", "two volumes, one tone", "straight to the jack"])
def test_up_to_six_pickups_are_drawn_and_fit_a_page(circuit: str, count: int) -> None:
    plan = plan_of(several(count, f'circuit = "{circuit}"'))
    check(schematic(plan), expected(plan))
    check(wiring_view(plan), expected_on_the_bench(plan))
    # on A4 (186 mm between the margins, some 205 mm high beside its words) the smallest letters stay above 1.2 mm
    for picture in (schematic(plan), wiring_view(plan)):
        assert min(1.0, 186 / picture.size_mm[0], 205 / picture.size_mm[1]) * 2.2 > 1.2


@pytest.mark.parametrize("name", HARNESSES)
def test_each_part_and_value_is_written_once(name: str) -> None:
    plan = plan_of(harnessed(name))
    words = Counter(t for b in text_boxes(schematic(plan)) for t in b.text.split())
    wanted = Counter(w for p in plan.parts for w in f"{p.title} {p.value}".split())
    ends = Counter(e.word for p in plan.parts if p.kind in ("coil", "kept pickup") for e in p.ends)
    marks = Counter(
        w for c in plan.contacts for w in (*map(str, c.positions), f"{plan.letter(c.a)}–{plan.letter(c.b)}")
    )
    assert words == wanted + ends + marks


def test_a_position_draws_just_its_contacts_closed() -> None:
    """A closed blade lies on the line between its two ends, an open one leans away from it."""
    plan = plan_of(harnessed("selector of five"))
    for position in plan.positions:
        groups_ = contacts(schematic(plan, position.name))
        for i, contact in enumerate(plan.contacts, 1):
            assert straight(groups_[f"part-contact-{i}"]) == (position.number in contact.positions)
    assert not any(straight(g) for g in contacts(schematic(plan)).values())


def contacts(picture: Sheet1to1) -> dict[str, Group]:
    return {g.name: g for g in picture.items if isinstance(g, Group) and g.css == "contact"}


def straight(group: Group) -> bool:
    lines: list[Line] = []
    todo: list[Item] = [group]
    while todo:
        item = todo.pop()
        if isinstance(item, Line):
            lines.append(item)
        elif isinstance(item, Group):
            todo += item.items
    return len({round(x, 6) for line in lines for x in (line.a[0], line.b[0])}) == 1


def test_what_plays_in_a_position_is_drawn_in_thick_lines() -> None:
    plan = plan_of(harnessed("two volumes, one tone"))

    def thick(position: str | None) -> float:
        wires = next(g for g in schematic(plan, position).items if isinstance(g, Group) and g.css == "wires")
        return sum(math.dist(w.a, w.b) for w in wires.items if isinstance(w, Line) and w.role is Role.OUTLINE)

    assert thick(None) == 0
    assert 0 < thick("bridge") < thick("bridge-neck")


def test_a_position_there_is_not_is_refused_with_those_there_are() -> None:
    with pytest.raises(DomainError, match="one of bridge, bridge-neck, neck"):
        schematic(plan_of(harnessed("two volumes, one tone")), "middle")


@pytest.mark.parametrize("name", HARNESSES)
def test_pictures_tell_in_words_what_they_show(name: str) -> None:
    plan = plan_of(harnessed(name))
    assert "IEC 60617" in schematic(plan).desc
    told = wiring_view(plan).desc
    assert all(f"{j.what} to {j.to}" in told for j in plan.joints)


# ---- the reader can fail ----


def without(wires: Group) -> list[Group]:
    """The wires with each of its lines and dots left out in turn, and with one line more, between two nets."""
    lines = [i for i in wires.items if isinstance(i, Line)]
    out = [replace(wires, items=tuple(i for i in wires.items if i is not victim)) for victim in wires.items]
    return [*out, replace(wires, items=(*wires.items, Line(lines[0].a, lines[-1].b)))]


def test_a_drawing_that_is_wrong_does_not_read_back() -> None:
    plan = plan_of(harnessed("selector of five"))
    picture = schematic(plan)
    wires = next(g for g in picture.items if isinstance(g, Group) and g.css == "wires")
    assert any(isinstance(i, Dot) for i in wires.items)
    for broken in without(wires):
        items = tuple(broken if i is wires else i for i in picture.items)
        with pytest.raises(AssertionError):
            check(replace(picture, items=items), expected(plan))
