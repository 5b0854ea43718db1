"""What the harness must agree on with itself and with the pickups."""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.design.cross_problem import Disagreement
from lodestring.design.harness import NEEDS, Harness, Position
from lodestring.design.pickup_set import PickupSet

PER_PICKUP = ("two volumes, one tone",)
"""Circuits with a volume control for each pickup, before the selector."""


def harness_problems(design: PickupSet) -> Iterator[Disagreement]:
    """Every disagreement in the harness."""
    harness = design.harness
    if harness is None:
        return
    pickups = tuple(design.pickup)
    count = len(pickups)
    has = NEEDS[harness.circuit]
    for key in ("volume", "tone", "blend", "part"):
        if key not in has and getattr(harness, key) is not None:
            what = ", ".join(has) or "no control"
            yield Disagreement(("harness", key), f'the circuit "{harness.circuit}" has {what}', key, f"remove {key}")
    if harness.circuit == "own netlist" and harness.lead_out is not None:
        yield Disagreement(
            ("harness", "lead_out"),
            "an own netlist has the capacitance of its leads as parts",
            "lead_out",
            "a capacitor",
        )
    if harness.circuit == "own netlist" and not harness.part:
        yield Disagreement(("harness", "part"), "an own netlist has parts", "none", "a table [harness.part.NAME]")
    for circuit, least, most in (("two volumes, one tone", 2, 6), ("blend, one tone", 2, 2)):
        if harness.circuit == circuit and not least <= count <= most:
            yield Disagreement(
                ("harness", "circuit"),
                f'the circuit "{circuit}" needs {"two pickups" if most == 2 else "two pickups or more"}',
                f"{count}",
                'circuit = "one volume, one tone"',
            )
    if isinstance(harness.volume, tuple):
        if harness.circuit not in PER_PICKUP:
            yield Disagreement(
                ("harness", "volume"), f'the circuit "{harness.circuit}" has one volume control', "a list"
            )
        elif len(harness.volume) != count:
            yield Disagreement(
                ("harness", "volume"), f"one volume control for each of the {count} pickups", str(len(harness.volume))
            )
    yield from _positions(harness, design)


def _positions(harness: Harness, design: PickupSet) -> Iterator[Disagreement]:
    seen: set[str] = set()
    if harness.positions is not None and not harness.positions:
        yield Disagreement(("harness", "positions"), "a selector has a position", "an empty list", "leave it out")
    for number, position in enumerate(harness.positions or (), 1):
        path = ("harness", "positions", number)
        if position.name in seen:
            yield Disagreement((*path, "name"), "each position has its own name", f'"{position.name}" twice')
        seen.add(position.name)
        if harness.circuit == "own netlist":
            for key in ("on", "reversed"):
                if getattr(position, key):
                    yield Disagreement(
                        (*path, key),
                        "a position of an own netlist says which nodes are joined",
                        key,
                        "closed = [[...]]",
                    )
        elif position.closed is not None:
            yield Disagreement((*path, "closed"), "only an own netlist joins nodes", "closed", 'on = ["..."]')
        elif position.on is None:
            yield Disagreement(
                (*path, "on"), "a position says what is on", "nothing", f'on = ["{next(iter(design.pickup))}"]'
            )
        else:
            yield from _on((*path, "on"), position, harness, design)
    on = {n.partition(".")[0] for p in harness.positions or () for n in p.on or ()}
    if harness.positions and harness.circuit != "own netlist":
        for name in design.pickup:
            if on and name not in on:
                yield Disagreement(("harness", "positions"), "each pickup is on in some position", f'"{name}" in none')


def _on(path: tuple[str | int, ...], position: Position, harness: Harness, design: PickupSet) -> Iterator[Disagreement]:
    pairs = {p: r.coil or {} for p, r in design.pickup.items() if len(r.coil or {}) > 1}
    known = [*design.pickup, *(f"{p}.{c}" for p, coils in pairs.items() for c in coils)]
    on = position.on or ()
    for name in on:
        if name not in known:
            yield Disagreement(path, f"what is on is a pickup or one coil of a pair ({', '.join(known)})", f'"{name}"')
        elif "." in name and name.partition(".")[0] in on:
            yield Disagreement(
                path, "a pickup is on as a whole or by its coils", f'"{name.partition(".")[0]}" and "{name}"'
            )
    before = harness.circuit in (*PER_PICKUP, "blend, one tone")
    if position.joined == "series" and before and len({n.partition(".")[0] for n in on}) > 1:
        yield Disagreement(
            path,
            "pickups with a control each before the selector cannot be joined in series",
            "series",
            'circuit = "one volume, one tone"',
        )
