"""Does a circuit hang together? Said in words before anything is solved, since a matrix only says "singular", and some
programs say nothing at all.

A mistake is what is wrong in every position (a node that one part alone touches, a part with no way to ground), and a
position in which the output is tied to ground or to nothing. A coil that one position leaves open or shorts is legal,
and noted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from lodestring.errors import DomainError
from lodestring.physics.network_mesh import Groups
from lodestring.physics.network_parts import Branches, Capacitor, Contact, Harness, Position, links, names, terminals

Link = tuple[str, str, str]
PORT = ""
"""Name of the link that stands for whatever is plugged into the output; no part may be called so."""


class State(Enum):
    """What a position does to a coil beside letting it play."""

    SHORTED = "shorted"
    OPEN = "open"


@dataclass(frozen=True, slots=True)
class Note:
    """In this position these coils are open at one end (no current can flow in any of them), or are a loop closed on
    itself (their current flows, and reaches nothing)."""

    position: str
    state: State
    coils: tuple[str, ...]


def check(harness: Harness) -> None:
    """Raises DomainError for the first thing that is wrong with the whole circuit, then with each position."""
    _names_once(harness)
    parts = [(f"a part ({name})", (a, b)) for part in harness.everything for name, a, b in links(part)]
    wires = [("a wire", ends) for ends in harness.wires]
    known = {node for _, ends in parts + wires for node in ends}
    for node, word in ((harness.output, "output"), (harness.ground, "ground")):
        if node not in known:
            raise DomainError(f"a part touches the {word}", f"{node}, which none does", "the name of another node")
    for position in harness.positions:
        for ends in position.closed:
            _contact(position, ends, known)
    ends_at = Counter(node for part in harness.everything for node in terminals(part))
    ends_at.update(node for ends in harness.wires for node in ends)
    switched = {node for position in harness.positions for ends in position.closed for node in ends}
    touching = {node: what for what, ends in parts + wires for node in ends}
    for node in sorted(known - switched - {harness.output, harness.ground}):
        if ends_at[node] < 2:
            raise DomainError(
                "every node joins at least two things",
                f"{node}, which only {touching[node]} touches",
                "a check of the node's name, or leaving the part out",
            )
    _everything_grounded(harness)
    for position in harness.positions:
        _output_alive(harness, position)


def _names_once(harness: Harness) -> None:
    for word, found in (
        ("part", [name for part in harness.everything for name in names(part)]),
        ("position", [position.name for position in harness.positions]),
    ):
        twice = sorted(name for name, count in Counter(found).items() if count > 1)
        if twice:
            raise DomainError(f"each {word} has a name of its own", f"{twice[0]} twice", "another name for one of them")
    if not harness.positions:
        raise DomainError("a circuit has at least one position", "none", "one without contacts")


def _contact(position: Position, ends: Contact, known: set[str]) -> None:
    where = f"position {position.name}"
    for node in ends:
        if node not in known:
            raise DomainError(
                f"a contact joins nodes of the circuit ({where})",
                f"{node}, which no part touches",
                f"one of {', '.join(sorted(known))}",
            )
    if ends[0] == ends[1]:
        raise DomainError(f"a contact joins two nodes ({where})", f"{ends[0]} twice", "leaving it out")


def joined(harness: Harness, position: Position | None = None) -> Groups:
    """Nodes made one by the wires and the closed contacts of a position."""
    groups = Groups((harness.ground, harness.output))
    for a, b in (*harness.wires, *(position.closed if position else ())):
        groups.join(a, b)
    return groups


def floating(found: Iterable[Contact], ground: str) -> list[set[str]]:
    """The sets of nodes that hang together by these links and have no way to ground."""
    pieces = Groups((ground,))
    nodes = {}
    for a, b in found:
        pieces.join(a, b)
        nodes[a] = nodes[b] = True
    by_name: dict[str, set[str]] = {}
    for node in nodes:
        by_name.setdefault(pieces(node), set()).add(node)
    return [piece for name, piece in by_name.items() if name != ground]


def linked(harness: Harness, groups: Groups) -> list[Link]:
    """All links under the names of the groups; those with both ends on one node included."""
    return [(name, groups(a), groups(b)) for part in harness.everything for name, a, b in links(part)]


def _everything_grounded(harness: Harness) -> None:
    everywhere = joined(harness)
    for position in harness.positions:
        for a, b in position.closed:
            everywhere.join(a, b)
    found = linked(harness, everywhere)
    pieces = floating([(a, b) for _, a, b in found], everywhere(harness.ground))
    if pieces:
        cut_off = sorted({name for name, a, _ in found if a in pieces[0]})
        raise DomainError(
            f"every part has a way to ground ({harness.ground}) in one position at least",
            f"{', '.join(cut_off)} between {', '.join(sorted(pieces[0]))}, with none",
            "joining one of these nodes to ground",
        )


def _output_alive(harness: Harness, position: Position) -> None:
    groups = joined(harness, position)
    output, ground = groups(harness.output), groups(harness.ground)
    if output == ground:
        raise DomainError(
            f"no position ties the output ({harness.output}) to ground ({harness.ground})",
            f"position {position.name}, whose closed contacts and wires do",
            "leaving one of its contacts open",
        )
    found = [(a, b) for _, a, b in linked(harness, groups)]
    if any(output in piece for piece in floating([*found, (output, output)], ground)):
        raise DomainError(
            f"the output ({harness.output}) has a way to ground in every position",
            f"position {position.name}, in which it has none",
            "a load from the output to ground",
        )


# ---- coils that do not play ----


def notes(harness: Harness, position: Position) -> list[Note]:
    """Coils that this position leaves open at one end, or closes on themselves."""
    groups = joined(harness, position)
    coils = {name for part in harness.everything if isinstance(part, Branches) for name in part.names}
    strays = {part.name for part in harness.everything if isinstance(part, Capacitor)}
    found = linked(harness, groups)
    across = {frozenset((a, b)) for name, a, b in found if name in coils}
    # A coil's own capacitance closes no circuit that a maker would see.
    found = [link for link in found if not (link[0] in strays and frozenset(link[1:]) in across)]
    port = (PORT, groups(harness.output), groups(harness.ground))
    alive = {name for name, _, _ in without_loose_ends([*found, port])}
    out = []
    loose = tuple(sorted(coils - alive))
    if loose:
        out.append(Note(position.name, State.OPEN, loose))
    return out + [Note(position.name, State.SHORTED, loop) for loop in _loops(found, port, coils)]


def without_loose_ends(found: list[Link]) -> list[Link]:
    """The links that are left when links with a node of their own are taken off again and again."""
    while True:
        count = Counter(node for _, a, b in found for node in (a, b))
        kept = [link for link in found if count[link[1]] > 1 and count[link[2]] > 1]
        if len(kept) == len(found):
            return kept
        found = kept


def _loops(found: list[Link], port: Link, coils: set[str]) -> list[tuple[str, ...]]:
    """Loops of nothing but coils which hang on the rest of the circuit by one node, or by none."""
    loops: set[tuple[str, ...]] = {(name,) for name, a, b in found if a == b and name in coils}
    found = [link for link in found if link[1] != link[2]]
    nodes = sorted({node for link in found for node in link[1:]})
    for cut in [PORT, *nodes]:  # PORT is no node: pieces that hang by none
        rest = [(a, b) for _, a, b in found if cut not in (a, b)]
        lone = [(n, n) for n in nodes if n != cut]
        anchor = port[2] if cut != port[2] else port[1]
        through = [] if cut in port else [port[1:]]
        for piece in floating([*rest, *through, *lone], anchor):
            inside = [link for link in found if link[0] in coils and {*link[1:]} <= piece | {cut}]
            ring = without_loose_ends(inside)
            if ring:
                loops.add(tuple(sorted({name for name, _, _ in ring})))
    least = [loop for loop in loops if not any(set(other) < set(loop) for other in loops)]
    return sorted(least)
