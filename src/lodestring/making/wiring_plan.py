"""The wiring plan: from the circuit of a set to what is always wired, what the selector switches, and what to solder.

The circuit names the contacts that are closed in each position. A contact that is closed whenever its coils are on, and
that changes nothing at the jack while they are off, is a wire; the rest is the selector's.
"""

from __future__ import annotations

import itertools

from lodestring.assess import blocks, circuit, circuit_net
from lodestring.assess.harness_inputs import harness_of
from lodestring.assess.model import Model
from lodestring.making.phase_check import phase_check
from lodestring.making.wiring_joints import joints, metal_wires, notes
from lodestring.making.wiring_parts import not_wired, wiring_parts
from lodestring.making.wiring_records import (
    GROUND,
    JACK,
    Pair,
    SwitchContact,
    SwitchTerminal,
    WiringPart,
    WiringPlan,
    WiringPosition,
    joined_nodes,
)

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
Closed = dict[str, tuple[Pair, ...]]


def wiring_plan(model: Model) -> WiringPlan | None:
    """The wiring plan of a set with a harness; None without one. Raises DomainError where the circuit cannot be."""
    if model.inputs.design.harness is None:
        return None
    parts = wiring_parts(model)
    names = circuit_net.position_names(model)
    closed: Closed = {p.name: p.closed for p in circuit_net.wiring(model).positions if p.name in names}
    wires = _wires(model, parts, closed)
    contacts = _contacts(parts, closed, wires)
    terminals = _terminals(parts, contacts, wires)
    positions = tuple(
        WiringPosition(i + 1, name, _on(model, name), _joined(i + 1, contacts, terminals, parts, wires))
        for i, name in enumerate(names)
    )
    return WiringPlan(
        str(harness_of(model).circuit),
        parts,
        wires,
        contacts,
        terminals,
        positions,
        metal_wires(model, parts),
        joints(model, parts, wires, terminals),
        notes(model),
        phase_check(model, parts),
        not_wired(model),
    )


def part_nodes(parts: tuple[WiringPart, ...]) -> list[str]:
    """Every node that is a part's end."""
    return [e.node for p in parts for e in p.ends]


# ---- wires and contacts ----


def _wires(model: Model, parts: tuple[WiringPart, ...], closed: Closed) -> tuple[Pair, ...]:
    """Contacts that can be wires: grounds first, then joins inside a pickup, then hot ends."""
    candidates = list(dict.fromkeys(pair for pairs in closed.values() for pair in pairs))
    candidates.sort(key=lambda pair: 0 if GROUND in pair else 1 if _pickup(pair[0]) == _pickup(pair[1]) else 2)
    owner = {e.node: p.name for p in parts if p.kind in ("coil", "kept pickup") for e in p.ends}
    on = {name: set(circuit.coils_on(model, name)) for name in closed}
    out: list[Pair] = []
    for pair in candidates:
        mine = {owner[n] for n in pair if n in owner} if circuit.ready(model) else set()
        concerned = [p for p in closed if not mine or mine & on[p]]
        if all(pair in closed[p] for p in concerned) and all(
            _harmless((*out, pair), closed[p], parts, on[p]) for p in closed if p not in concerned
        ):
            out.append(pair)
    return tuple(out)


def _pickup(node: str) -> str:
    return node.partition(".")[0]


def _harmless(wires: tuple[Pair, ...], closed: tuple[Pair, ...], parts: tuple[WiringPart, ...], on: set[str]) -> bool:
    """Whether the coils that are off stay apart from the jack, ground left aside."""
    nets = joined_nodes(part_nodes(parts), (*wires, *closed))
    if nets[JACK] == GROUND:
        return False
    links = [*wires, *closed]
    for part in parts:
        ends = [e.node for e in part.ends if nets[e.node] != GROUND]
        links += list(itertools.pairwise(ends))
    links = [(a, b) for a, b in links if nets[a] != GROUND and nets[b] != GROUND]
    reached = joined_nodes([], links)
    off = [p for p in parts if p.kind in ("coil", "kept pickup") and p.name not in on]
    return all(reached.get(e.node) != JACK for p in off for e in p.ends)


def _contacts(parts: tuple[WiringPart, ...], closed: Closed, wires: tuple[Pair, ...]) -> tuple[SwitchContact, ...]:
    """What is left, two contacts between the same two nets as one."""
    every = [*part_nodes(parts), *(n for pairs in closed.values() for pair in pairs for n in pair)]
    nets = joined_nodes(every, wires)
    found: dict[Pair, tuple[Pair, list[int]]] = {}
    for number, pairs in enumerate(closed.values(), 1):
        for a, b in pairs:
            low, high = sorted((nets[a], nets[b]))
            if low != high:
                _, positions = found.setdefault((low, high), ((a, b), []))
                if number not in positions:
                    positions.append(number)
    return tuple(SwitchContact(a, b, tuple(p)) for (a, b), p in found.values())


def _terminals(
    parts: tuple[WiringPart, ...], contacts: tuple[SwitchContact, ...], wires: tuple[Pair, ...]
) -> tuple[SwitchTerminal, ...]:
    nodes = [n for c in contacts for n in (c.a, c.b)]
    nets = joined_nodes([*part_nodes(parts), *nodes], wires)
    first = {nets[n]: n for n in reversed(nodes)}
    coils = {nets[e.node] for p in parts if p.kind in ("coil", "kept pickup") for e in p.ends}
    # coil wires first, what they are switched to after them, jack and ground last
    order = sorted(first, key=lambda net: (net == GROUND, net == JACK, net not in coils, nodes.index(first[net])))
    return tuple(SwitchTerminal(_letter(i), first[net]) for i, net in enumerate(order))


def _letter(index: int) -> str:
    """A, B ... Z, A2, B2 ..."""
    again, place = divmod(index, len(LETTERS))
    return LETTERS[place] + (str(again + 1) if again else "")


def _joined(
    number: int,
    contacts: tuple[SwitchContact, ...],
    terminals: tuple[SwitchTerminal, ...],
    parts: tuple[WiringPart, ...],
    wires: tuple[Pair, ...],
) -> tuple[tuple[str, ...], ...]:
    nodes = [*part_nodes(parts), *(n for c in contacts for n in (c.a, c.b))]
    nets = joined_nodes(nodes, (*wires, *((c.a, c.b) for c in contacts if number in c.positions)))
    groups: dict[str, list[str]] = {}
    for terminal in terminals:
        groups.setdefault(nets[terminal.node], []).append(terminal.letter)
    return tuple(tuple(g) for g in groups.values() if len(g) > 1)


def _on(model: Model, name: str) -> str:
    """What a position has on, in words."""
    if not circuit.ready(model):
        return ""
    choice = next(c for c in circuit_net.choices(model) if c.name == name)
    words = []
    for one in choice.on:
        pickup, _, coil = one.partition(".")
        record = model.inputs.design.pickup[pickup]
        text = f"{coil} coil of {pickup}" if coil else pickup
        if not coil and len(blocks.sides(record)) > 1:
            text += f" (both coils in {record.connect})"
        words.append(text + (", its wires swapped" if one in choice.reversed else ""))
    joined = " and ".join(words)
    return f"{joined} in {'series' if choice.series else 'parallel'}" if len(words) > 1 else joined
