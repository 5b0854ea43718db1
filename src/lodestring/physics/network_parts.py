"""The parts of a circuit: what hangs between which nodes. Nodes are names; what they stand for is the caller's affair.

Values are checked at birth, each error with the part's name. How the parts hang together is checked in network_check.
Ground and shield are two names: whoever ties them together says so with a wire.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.taper import LINEAR, Taper

Complex = NDArray[np.complex128]
Array = NDArray[np.float64]
Contact = tuple[str, str]
"""Two nodes that a closed contact or a wire makes one."""


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistor [ohm] between nodes a and b."""

    name: str
    a: str
    b: str
    ohm: float

    def __post_init__(self) -> None:
        _two_nodes(self.name, self.a, self.b)
        _above_nothing(self.name, "resistor", "a resistance", self.ohm, "ohm", "a contact or a wire, for 0 ohm")


@dataclass(frozen=True, slots=True)
class Capacitor:
    """A capacitor [F] between nodes a and b."""

    name: str
    a: str
    b: str
    farad: float

    def __post_init__(self) -> None:
        _two_nodes(self.name, self.a, self.b)
        _above_nothing(self.name, "capacitor", "a capacitance", self.farad, "F", "leaving the capacitor out, for 0 F")


@dataclass(frozen=True, slots=True)
class Inductor:
    """An inductor [H] that is coupled to nothing, with a resistance [ohm] in series (0: none), between a and b."""

    name: str
    a: str
    b: str
    henry: float
    ohm: float = 0.0

    def __post_init__(self) -> None:
        _two_nodes(self.name, self.a, self.b)
        _above_nothing(self.name, "inductor", "an inductance", self.henry, "H", "a wire, for 0 H")
        if not 0.0 <= self.ohm < math.inf:
            raise DomainError(f"inductor {self.name} has a series resistance of 0 ohm or more", f"{self.ohm:g} ohm")


@dataclass(frozen=True, slots=True)
class Control:
    """A track [ohm] between a and b with a wiper that stands at a for travel 0 and at b for travel 1.

    With the wiper on one of the ends it is a rheostat: wiper = b leaves share x ohm between a and b, which grows with
    travel; wiper = a leaves the rest, which shrinks.
    """

    name: str
    a: str
    wiper: str
    b: str
    ohm: float
    taper: Taper = LINEAR

    def __post_init__(self) -> None:
        _two_nodes(self.name, self.a, self.b)
        _above_nothing(self.name, "control", "a track", self.ohm, "ohm", "a wire, for 0 ohm")


@dataclass(frozen=True, eq=False)
class Branches:
    """Two-terminal branches that may be coupled to one another, each with an EMF in series: the coils of one pickup.

    `names` (k) and `ends` (k pairs of nodes: an EMF of its branch lifts the first over the second), `impedance`
    (k, k, f) [ohm] complex and symmetric, its mutual impedance + j w M for two coils that a common flux drives alike,
    `dc_resistance` (k,) [ohm]. One coil alone is k = 1. Self-capacitance is a Capacitor beside it.
    """

    names: tuple[str, ...]
    ends: tuple[tuple[str, str], ...]
    impedance: Complex
    dc_resistance: Array

    def __post_init__(self) -> None:
        k = len(self.names)
        impedance = np.array(self.impedance, dtype=complex)
        resistance = np.array(self.dc_resistance, dtype=float).reshape(-1)
        if not (k and len(self.ends) == k and impedance.ndim == 3 and impedance.shape[:2] == (k, k)):
            raise DomainError(
                f"{k} coils have {k} pairs of ends and an impedance of shape ({k}, {k}, frequencies)",
                f"{len(self.ends)} pairs and {impedance.shape} for {', '.join(self.names) or 'no coil'}",
            )
        for name, (a, b) in zip(self.names, self.ends, strict=True):
            _two_nodes(name, a, b)
        called = ", ".join(self.names)
        if resistance.shape != (k,) or not bool(np.all((resistance >= 0.0) & (resistance < math.inf))):
            raise DomainError(f"each coil has a resistance of 0 ohm or more ({called})", f"{resistance}")
        _check_matrix(called, impedance)
        impedance.flags.writeable = resistance.flags.writeable = False
        object.__setattr__(self, "impedance", impedance)
        object.__setattr__(self, "dc_resistance", resistance)


@dataclass(frozen=True, eq=False)
class OnePort:
    """Any passive impedance (f,) [ohm] between nodes a and b, at the circuit's frequencies, and its resistance to
    direct current [ohm]: inf where it blocks, 0 where it lets through freely."""

    name: str
    a: str
    b: str
    impedance: Complex
    dc_resistance: float

    def __post_init__(self) -> None:
        _two_nodes(self.name, self.a, self.b)
        z = np.array(self.impedance, dtype=complex)
        if z.ndim != 1 or not bool(np.all(np.isfinite(z) & (z != 0) & (z.real >= -1e-9 * np.abs(z)))):
            raise DomainError(
                f"{self.name} has one impedance for each frequency, none of them 0, resistance 0 or more",
                f"shape {z.shape}, least resistance {z.real.min() if z.size else math.nan:g} ohm",
            )
        if not self.dc_resistance >= 0.0:
            raise DomainError(
                f"{self.name} has a resistance to direct current of 0 ohm or more",
                f"{self.dc_resistance:g} ohm",
                "infinity where it blocks",
            )
        z.flags.writeable = False
        object.__setattr__(self, "impedance", z)


Part = Resistor | Capacitor | Inductor | Control | Branches | OnePort


@dataclass(frozen=True, slots=True)
class Position:
    """A selector position, or one combination of several switches: the contacts that are closed in it."""

    name: str
    closed: tuple[Contact, ...] = ()


@dataclass(frozen=True)
class Harness:
    """A circuit: `parts` up to the jack, `load` beyond it (cable, amplifier), the node `output` (the jack's hot end,
    where volts are read against `ground`), `wires` that join nodes in every position, and the selector's positions."""

    parts: tuple[Part, ...]
    output: str
    ground: str = "ground"
    load: tuple[Part, ...] = ()
    wires: tuple[Contact, ...] = ()
    positions: tuple[Position, ...] = field(default=(Position("only"),))

    @property
    def everything(self) -> tuple[Part, ...]:
        return self.parts + self.load

    @property
    def branches(self) -> tuple[str, ...]:
        """The coils, in the order in which results name them."""
        return tuple(name for part in self.everything if isinstance(part, Branches) for name in part.names)

    @property
    def controls(self) -> tuple[Control, ...]:
        return tuple(part for part in self.everything if isinstance(part, Control))


def names(part: Part) -> tuple[str, ...]:
    """A part's name, or those of its coils."""
    return part.names if isinstance(part, Branches) else (part.name,)


def links(part: Part) -> list[tuple[str, str, str]]:
    """(name, node, node) of each way for a current through a part."""
    if isinstance(part, Branches):
        return [(name, a, b) for name, (a, b) in zip(part.names, part.ends, strict=True)]
    if isinstance(part, Control):
        both = [(part.name, part.a, part.wiper), (part.name, part.wiper, part.b)]
        return [link for link in both if link[1] != link[2]]
    return [(part.name, part.a, part.b)]


def terminals(part: Part) -> list[str]:
    """The node at each end of a part; a wiper that is tied to an end counts with it."""
    if isinstance(part, Control):
        return [part.a, part.b] + ([] if part.wiper in (part.a, part.b) else [part.wiper])
    return [node for _, a, b in links(part) for node in (a, b)]


def _two_nodes(name: str, a: str, b: str) -> None:
    if not (name and a and b):
        raise DomainError("a part and its nodes have names", f"{name!r} from {a!r} to {b!r}")
    if a == b:
        raise DomainError(f"the ends of {name} lie on two nodes", f"{a} twice", "another node for one end")


def _above_nothing(name: str, kind: str, what: str, value: float, unit: str, attempt: str) -> None:
    if not 0.0 < value < math.inf:
        raise DomainError(f"{kind} {name} has {what} above 0 {unit}", f"{value:g} {unit}", attempt)


def _check_matrix(called: str, z: Complex) -> None:
    """Finite, symmetric, and no resistance below nothing in any direction."""
    size = np.abs(z).max(axis=(0, 1)) if z.size else np.zeros(0)
    if not bool(np.all(np.isfinite(z))):
        raise DomainError(f"the impedances of {called} are finite", "one that is not")
    if bool(np.any(np.abs(z - z.transpose(1, 0, 2)).max(axis=(0, 1)) > 1e-9 * size)):
        raise DomainError(
            f"what one coil induces in another is what the other induces in it ({called})", "a matrix without symmetry"
        )
    least = np.linalg.eigvalsh(np.moveaxis(z.real, -1, 0)).min(axis=-1) if z.size else size
    if bool(np.any(least < -1e-9 * size)):
        raise DomainError(
            f"coils give off no power of their own ({called})",
            f"a resistance of {least.min():g} ohm",
            "a check of signs",
        )
