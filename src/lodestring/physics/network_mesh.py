"""Star-mesh elimination: a circuit as admittances between pairs of nodes, reduced node by node.

Taking out node p with admittances y_pi leaves y_ij + y_pi y_pj / s between its neighbours, s = sum of all y_pi; its
voltage is the mean of its neighbours' with the weights y_pi / s. No diagonal is stored, so nothing is lost by
subtraction where 1 ohm and 10 Mohm meet at one node. Coupled coils enter as admittances between four nodes, some of
them negative.

Entries are arrays that broadcast to (settings, frequencies): what does not depend on a control stays one row, what does
not depend on frequency one column, and absent pairs cost nothing. That is where the speed comes from.

Source: the star-mesh transform, Rosen, J. IEE 62 (1924) 916, from memory; the mesh of coupled branches by A Y A^T with
A the incidence matrix, any book on network analysis.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lodestring.physics.network_parts import (
    Branches,
    Capacitor,
    Contact,
    Control,
    Inductor,
    OnePort,
    Part,
    Resistor,
)

Values = NDArray[np.inexact[Any]]
Step = tuple[str, dict[str, Values]]
"""A node that was taken out, and the weight of each neighbour in its voltage."""


class Groups:
    """Nodes that contacts join, under one name: that of the node in `first` which is among them, where there is one."""

    def __init__(self, first: Iterable[str] = ()) -> None:
        self._rank = {node: place for place, node in enumerate(first)}
        self._up: dict[str, str] = {}

    def __call__(self, node: str) -> str:
        """The name that stands for a node."""
        while node in self._up:
            node = self._up[node]
        return node

    def join(self, a: str, b: str) -> None:
        """Make one of two."""
        a, b = self(a), self(b)
        if a == b:
            return
        last = len(self._rank)
        keep, give = (a, b) if self._rank.get(a, last) <= self._rank.get(b, last) else (b, a)
        self._up[give] = keep


class Mesh:
    """Admittances [S] between pairs of nodes, and for each branch the current [A/V] that its EMF drives into a node."""

    def __init__(self) -> None:
        self.beside: dict[str, dict[str, Values]] = {}
        self.sources: dict[str, dict[int, Values]] = {}

    def add(self, a: str, b: str, admittance: Values) -> None:
        """One more admittance between two nodes; nothing if they are one."""
        if a == b:
            return
        old = self.beside.setdefault(a, {}).get(b)
        value = admittance if old is None else old + admittance
        self.beside[a][b] = value
        self.beside.setdefault(b, {})[a] = value

    def drive(self, node: str, branch: int, current: Values) -> None:
        """One more current into a node."""
        at = self.sources.setdefault(node, {})
        at[branch] = at[branch] + current if branch in at else current

    def add_coupled(self, first: int, ends: list[Contact], y: Values) -> None:
        """Branches numbered from `first` with admittances y (k, k, 1, f)."""
        for k, (a, b) in enumerate(ends):
            for l, (c, d) in enumerate(ends):
                if k != l and not np.any(y[k, l]):
                    continue
                for here, sign in ((a, 1.0), (b, -1.0)):
                    self.drive(here, first + l, sign * y[k, l])
                    for there, other in ((c, 1.0), (d, -1.0)):
                        if here < there:  # each pair once; the same sum belongs to it the other way round
                            self.add(here, there, -sign * other * y[k, l])

    def merged(self, name: Callable[[str], str]) -> Mesh:
        """The same with nodes under other names, several under one where contacts join them."""
        out = Mesh()
        for a, neighbours in self.beside.items():
            for b, y in neighbours.items():
                if a < b:
                    out.add(name(a), name(b), y)
        for node, currents in self.sources.items():
            for branch, current in currents.items():
                out.drive(name(node), branch, current)
        return out

    def without_far_side(self, node: str, ground: str) -> Mesh:
        """What a node reaches without passing through ground, coupling of coils included: the rest (a pickup that is
        switched off, with its controls) does nothing to it."""
        out, fresh = Mesh(), [node]
        near = {node, ground}
        while fresh:
            here = fresh.pop()
            new = [other for other in self.beside.get(here, ()) if other not in near]
            near.update(new)
            fresh += new
        out.beside = {
            a: {b: y for b, y in around.items() if b in near} for a, around in self.beside.items() if a in near
        }
        out.sources = {a: currents for a, currents in self.sources.items() if a in near}
        return out

    def reduce(self, keep: set[str], ground: str, carry: bool = False) -> Iterator[Step]:
        """Take out every node but those to keep, the cheapest first; with `carry`, its currents go to those around."""
        left = set(self.beside) - keep
        while left:
            node = min(sorted(left), key=self._cost)
            left.remove(node)
            yield node, self._take_out(node, ground, carry)

    def _cost(self, node: str) -> int:
        around = self.beside[node].values()
        pairs = len(around) * (len(around) + 1) // 2
        return pairs * math.prod(np.broadcast_shapes(*(y.shape for y in around)))

    def _take_out(self, node: str, ground: str, carry: bool) -> dict[str, Values]:
        around = self.beside.pop(node)
        for other in around:
            del self.beside[other][node]
        inverse = 1.0 / sum(around.values())
        weights: dict[str, Values] = {
            other: y * inverse for other, y in around.items() if other != ground
        }  # ground has no voltage
        last = [(ground, around[ground])] if ground in around else []
        for (a, _), (b, y) in combinations([*((a, around[a]) for a in weights), *last], 2):
            self.add(a, b, weights[a] * y)
        if carry:
            for branch, current in self.sources.pop(node, {}).items():
                for other, weight in weights.items():
                    self.drive(other, branch, weight * current)
        return weights


def at_frequencies(
    parts: Iterable[Part], frequencies: NDArray[np.float64], picked: NDArray[np.intp], name: Callable[[str], str]
) -> Mesh:
    """All parts but controls at the frequencies (f,) [Hz] above 0; `picked` finds them in the parts' own arrays."""
    mesh, s = Mesh(), 2j * math.pi * frequencies[None, :]
    first = 0
    for part in parts:
        if isinstance(part, Branches):
            z = np.moveaxis(part.impedance[:, :, picked], -1, 0)
            y = np.moveaxis(np.linalg.inv(z), 0, -1)[:, :, None, :]
            even = 0.5 * (y + y.transpose(1, 0, 2, 3))  # symmetric to the last digit
            mesh.add_coupled(first, [(name(a), name(b)) for a, b in part.ends], even)
            first += len(part.names)
        elif not isinstance(part, Control):
            mesh.add(name(part.a), name(part.b), _admittance(part, s, picked))
    return mesh


def _admittance(part: Resistor | Capacitor | Inductor | OnePort, s: Values, chosen: NDArray[np.intp]) -> Values:
    if isinstance(part, Resistor):
        return np.full((1, 1), 1.0 / part.ohm)
    if isinstance(part, Capacitor):
        return s * part.farad
    if isinstance(part, Inductor):
        return 1.0 / (part.ohm + s * part.henry)
    return 1.0 / part.impedance[None, chosen]


def resistances(part: Part) -> list[tuple[str, str, float]]:
    """(node, node, ohm) of every way that a part leaves to direct current, 0 ohm included; none for a control."""
    if isinstance(part, Branches):
        return [(a, b, float(r)) for (a, b), r in zip(part.ends, part.dc_resistance, strict=True)]
    if isinstance(part, OnePort):
        return [(part.a, part.b, part.dc_resistance)] if math.isfinite(part.dc_resistance) else []
    if isinstance(part, Resistor | Inductor):
        return [(part.a, part.b, part.ohm)]
    return []


def at_rest(parts: Iterable[Part], name: Callable[[str], str]) -> Mesh:
    """All parts but controls for direct current, as arrays (1, 1); ways of 0 ohm are left to the groups."""
    mesh, first = Mesh(), 0
    for part in parts:
        ways = resistances(part)
        for k, (a, b, ohm) in enumerate(ways):
            if ohm > 0.0:
                y = np.full((1, 1), 1.0 / ohm)
                mesh.add(name(a), name(b), y)
                if isinstance(part, Branches):
                    mesh.drive(name(a), first + k, y)
                    mesh.drive(name(b), first + k, -y)
        first += len(ways) if isinstance(part, Branches) else 0
    return mesh
