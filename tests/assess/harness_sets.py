"""Examples with another harness, and circuits worked out the plain way: what the tests of the circuit need.

`Plain` shares nothing with the network of the code: every node but ground is an unknown, and so is every coil's
current; one dense matrix a frequency, nothing eliminated, no reciprocity.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from example_sets import model_of
from scipy.interpolate import CubicSpline

from lodestring.assess import circuit_coil
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.assess.model import Inputs, Model
from lodestring.assess.store import Store
from lodestring.design.pickup_set import PickupSet
from lodestring.design.read import read_set
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text

END = 1e-6
"""A wiper leaves this share of the track at either end."""


def design_with(name: str, harness: str = "", changes: Mapping[str, str | None] | None = None) -> PickupSet:
    """An example with its harness replaced by these lines of TOML ("" leaves it as it is), then changed key by key."""
    return read_set(text_with(name, harness, changes).encode()).record


def text_with(name: str, harness: str = "", changes: Mapping[str, str | None] | None = None) -> str:
    """The same as text."""
    text = example_text(name)
    if harness:
        text = text[: text.index("[harness]")] + "[harness]\n" + harness
    return apply_changes(text, dict(changes)) if changes else text


def set_with(
    name: str,
    harness: str = "",
    changes: Mapping[str, str | None] | None = None,
    store: Store | None = None,
    **kw: object,
) -> Model:
    """A model of it."""
    return Model(Inputs(design_with(name, harness, changes), **kw), store)  # type: ignore[arg-type]


def of_positions(model: Model) -> list[str]:
    """Keys of the figures of the selector's positions."""
    every = model.keys()
    return [key for key in every if key.startswith("position.")]


def number(model: Model, key: str) -> float:
    """A fact's value without its interval, which is dear."""
    spec = model.specs()[key]
    return float(spec.compute(model, spec.scope))


def word(model: Model, key: str) -> str:
    """A fact in words."""
    spec = model.specs()[key]
    return str(spec.compute(model, spec.scope))


@dataclass
class Plain:
    """A circuit as lists: two-ended admittances and coupled coils. Node "0" is ground."""

    ends: list[tuple[str, str]] = field(default_factory=list)
    admittance: list[np.ndarray] = field(default_factory=list)
    coil_ends: list[tuple[str, str]] = field(default_factory=list)
    impedance: np.ndarray | None = None
    frequencies: np.ndarray = field(default_factory=lambda: FREQUENCIES)

    def resistor(self, a: str, b: str, ohm: float) -> Plain:
        self.ends.append((a, b))
        self.admittance.append(np.full(len(self.frequencies), 1.0 / ohm, complex))
        return self

    def capacitor(self, a: str, b: str, farad: float) -> Plain:
        self.ends.append((a, b))
        self.admittance.append(2j * np.pi * self.frequencies * farad)
        return self

    def control(self, top: str, wiper: str, bottom: str, ohm: float, share: float) -> Plain:
        """`share` of the track lies between bottom and wiper."""
        share = min(max(share, END), 1.0 - END)
        if top != wiper:
            self.resistor(top, wiper, (1.0 - share) * ohm)
        if wiper != bottom:
            self.resistor(wiper, bottom, share * ohm)
        return self

    def coils(self, ends: list[tuple[str, str]], impedance: np.ndarray) -> Plain:
        """Coupled coils (k, k, f): an EMF lifts the first end over the second."""
        self.coil_ends, self.impedance = ends, impedance
        return self

    def at(self, frequencies: np.ndarray) -> Plain:
        """The same circuit at other frequencies: admittances and inductances are smooth, a response is not."""
        old, new = np.log(self.frequencies), np.log(frequencies)
        out = Plain(list(self.ends), [], list(self.coil_ends), None, frequencies)
        out.admittance = [CubicSpline(old, y / self.frequencies)(new) * frequencies for y in self.admittance]
        if self.impedance is not None:
            out.impedance = CubicSpline(old, self.impedance / self.frequencies, axis=2)(new) * frequencies
        return out

    def solve(self, output: str, wires: Mapping[str, str] | None = None) -> tuple[np.ndarray, np.ndarray]:
        """(k, f) output over EMF of each coil, and (f,) volts for an ampere driven into the output."""
        same = dict(wires or {})

        def at(node: str) -> str:
            while node in same:
                node = same[node]
            return node

        pairs = [(at(a), at(b)) for a, b in self.ends]
        loops = [(at(a), at(b)) for a, b in self.coil_ends]
        nodes = sorted({n for p in pairs + loops for n in p} - {"0"})
        place = {n: i for i, n in enumerate(nodes)}
        n, k = len(nodes), len(loops)
        matrix = np.zeros((len(self.frequencies), n + k, n + k), complex)
        for (a, b), y in zip(pairs, self.admittance, strict=True):
            for one, other in ((a, b), (b, a)):
                if one != "0" and a != b:
                    matrix[:, place[one], place[one]] += y
                    if other != "0":
                        matrix[:, place[one], place[other]] -= y
        for i, (a, b) in enumerate(loops):
            for node, sign in ((a, 1.0), (b, -1.0)):
                if node != "0":
                    matrix[:, n + i, place[node]] += sign  # V_a - V_b + sum Z I = E, I out of a into the circuit
                    matrix[:, place[node], n + i] -= sign
            if self.impedance is not None:
                matrix[:, n + i, n:] += self.impedance[i].T
        right = np.zeros((n + k, k + 1), complex)
        right[n:, :k] = np.eye(k)
        right[place[at(output)], k] = 1.0
        volts = np.linalg.solve(matrix, np.broadcast_to(right, (len(self.frequencies), *right.shape)))
        found = volts[:, place[at(output)]].T
        return found[:k], found[k]


def coil_z(model: Model, pickup: str, *coils: str) -> np.ndarray:
    """(k, k, f) impedance of coils of one pickup, finish against start."""
    found = circuit_coil.branches(model, pickup)
    take = [found.names.index(c) for c in coils]
    return found.impedance[np.ix_(take, take)]


def apart(*blocks: np.ndarray) -> np.ndarray:
    """Impedances of pickups that do not couple, as one matrix."""
    k = sum(len(b) for b in blocks)
    out = np.zeros((k, k, blocks[0].shape[2]), complex)
    at = 0
    for b in blocks:
        out[at : at + len(b), at : at + len(b)] = b
        at += len(b)
    return out


__all__ = [
    "END",
    "FREQUENCIES",
    "Plain",
    "apart",
    "coil_z",
    "design_with",
    "model_of",
    "number",
    "of_positions",
    "set_with",
    "text_with",
    "word",
]
