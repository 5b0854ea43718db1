"""The wiring of a set as a person sees it: parts with named ends, wires that always join, selector, joints, checks.

Ends are named by what they are (start, finish, hot, ground, top, wiper, bottom), never by a colour.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

GROUND, JACK = "ground", "jack"
Kind = Literal["coil", "kept pickup", "control", "resistor", "capacitor", "jack"]
Pair = tuple[str, str]
"""Two nodes that are joined."""


@dataclass(frozen=True, slots=True)
class End:
    """One end of a part: what it is called, and the node of the circuit it is."""

    word: str
    node: str


@dataclass(frozen=True, slots=True)
class WiringPart:
    """A part: its name in the circuit, what it is, how it is called, its value as text, its ends.

    A control's ends are top, wiper, bottom: its wiper stands at the top when it is fully up.
    """

    name: str
    kind: Kind
    title: str
    value: str
    ends: tuple[End, ...]


@dataclass(frozen=True, slots=True)
class SwitchContact:
    """A contact of the selector: the two nodes, and the numbers of the positions in which it is closed (from 1)."""

    a: str
    b: str
    positions: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SwitchTerminal:
    """A terminal of the selector: its letter, and a node of the net it stands for."""

    letter: str
    node: str


@dataclass(frozen=True, slots=True)
class WiringPosition:
    """A position of the selector: number from 1, name, what is on in words, groups of terminals joined in it."""

    number: int
    name: str
    on: str
    joined: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Joint:
    """One joint to solder: what goes where, and at which stage of the work."""

    stage: str
    what: str
    to: str


@dataclass(frozen=True, slots=True)
class MetalWire:
    """A wire of ground and shield, no part of the circuit: from a pickup's metal, a lead-out's shield, or, with no
    pickup, the strings. `word` stands beside it, `node` is where it goes."""

    name: str
    pickup: str
    word: str
    what: str
    node: str


@dataclass(frozen=True, slots=True)
class PhasePair:
    """Two coils and what the meter must show on each (plus, minus or "" where it is not one way).

    `together`: positions in which both are on. `swapped`: positions in which one's two wires are swapped by the
    selector. `wanted`: "alike" or "opposite".
    """

    one: str
    other: str
    kicks: tuple[str, str]
    together: tuple[str, ...]
    swapped: tuple[str, ...]
    wanted: str
    agrees: bool
    cure: str


@dataclass(frozen=True, slots=True)
class PhaseCheck:
    """How to look, and every pair."""

    steps: tuple[str, ...]
    pairs: tuple[PhasePair, ...]


@dataclass(frozen=True, slots=True)
class WiringPlan:
    """The whole harness. `wires` join always, `contacts` by the selector; `not_wired` are coils no position has on."""

    circuit: str
    parts: tuple[WiringPart, ...]
    wires: tuple[Pair, ...]
    contacts: tuple[SwitchContact, ...]
    terminals: tuple[SwitchTerminal, ...]
    positions: tuple[WiringPosition, ...]
    metal: tuple[MetalWire, ...]
    joints: tuple[Joint, ...]
    notes: tuple[str, ...]
    phase: PhaseCheck
    not_wired: tuple[str, ...]

    def nets(self) -> dict[str, str]:
        """Net of every node: the wires make one net of several nodes, called ground or jack where it holds them."""
        return joined_nodes(
            [n for p in self.parts for n in (e.node for e in p.ends)] + [n for c in self.contacts for n in (c.a, c.b)],
            self.wires,
        )

    def letter(self, node: str) -> str:
        """Letter of the selector's terminal on the net of a node, "" where there is none."""
        nets = self.nets()
        return next((t.letter for t in self.terminals if nets[t.node] == nets.get(node)), "")


def joined_nodes(nodes: Iterable[str], pairs: Iterable[Pair]) -> dict[str, str]:
    """Node -> name of its net, after joining pairs: ground or jack where it holds one of them, else its first node."""
    pairs = tuple(pairs)
    parent: dict[str, str] = {}
    order = [*nodes, *(n for pair in pairs for n in pair), GROUND, JACK]
    for node in order:
        parent.setdefault(node, node)

    def root(node: str) -> str:
        while parent[node] != node:
            node = parent[node]
        return node

    rank = {n: i for i, n in enumerate([GROUND, JACK, *dict.fromkeys(order)][::-1])}
    for a, b in pairs:
        one, two = sorted((root(a), root(b)), key=lambda n: _rank(n, rank))
        parent[two] = one
    return {n: root(n) for n in parent}


def _rank(node: str, order: dict[str, int]) -> tuple[int, int]:
    return ({GROUND: 0, JACK: 1}.get(node, 2), -order[node])
