"""Coils as plain parts of a netlist: resistance, inductance that falls with frequency, and what drives them.

A coil alone is R, L_inf and sections (a coil with a resistor across it) in series; two coils of one pickup are their
inductances at frequency 0, coupled to each other and to shorted loops (physics/ladder.py). The string's flux reaches
the eddy currents too, which take from the EMF: a source in the resistor's arm of a section, or in a loop, adds

    m v s T / (1 + s T)     (a section: m = 1)

to the coil's EMF, so with its v the EMF falls as it should, by the same time constants as the inductance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lodestring.making.spice_deck import Deck
from lodestring.physics.ladder import CoupledLadder, Ladder, fit_coupled, fit_ladder
from lodestring.physics.network_parts import Branches
from lodestring.physics.poles import Numbers
from lodestring.physics.ring import Array

NOTHING = 1e-9
"""A section below this share of its coil's inductance is counted with L_inf."""
CUT = 1e-5
"""Directions of the fit of EMFs that the frequencies see less than this share of the best are left alone: their volts
would be large, of either sign, and cancel."""


@dataclass(frozen=True, eq=False)
class Drive:
    """What drives the coils of a circuit, in the order of its branches: `weight` (c,) [V] at low frequency with its
    sign, `left` (c, f) what eddy currents leave of it, `angle` (c,) [degrees], alike within a pickup, and `hum` (c,)
    [V s/T], for the reader of the netlist."""

    weight: Array
    left: Numbers
    angle: Array
    hum: Array

    def take(self, index: slice) -> Drive:
        """That of some coils."""
        return Drive(self.weight[index], self.left[index], self.angle[index], self.hum[index])


@dataclass(frozen=True, slots=True)
class Errors:
    """How far a netlist's coils are from the ones meant: inductances against their size, EMFs against the greatest."""

    inductance: float
    emf: float


def inductances(part: Branches, frequency: Array) -> Numbers:
    """(f, k, k) [H] complex: what a frequency (f,) [Hz] above 0 leaves of the impedances beside the resistances."""
    bare = part.impedance - np.diag(part.dc_resistance)[:, :, None]
    return np.moveaxis(bare / (2j * np.pi * frequency), -1, 0)


def write_coils(deck: Deck, part: Branches, frequency: Array, drive: Drive) -> Errors:
    """Write one pickup's coils. Raises DomainError for impedances that no passive coil has."""
    values = inductances(part, frequency)
    if len(part.names) == 1:
        return _alone(deck, part, frequency, fit_ladder(values[:, 0, 0], frequency), drive)
    return _coupled(deck, part, frequency, fit_coupled(values, frequency), drive)


def volts(taus: Array, ratios: Array, frequency: Array, drive: Drive) -> tuple[Array, float]:
    """EMFs v (t,) [V] in sections or loops of time constants taus (t,) [s], coupled to the coils by ratios (c, t), by
    least squares over the frequencies; and the greatest error against the greatest weight (0 where none drives)."""
    greatest = float(np.max(np.abs(drive.weight)))
    if greatest == 0.0:
        return np.zeros(len(taus)), 0.0
    missing = drive.weight[:, None] * (drive.left - 1.0)
    if not len(taus):
        return np.zeros(0), float(np.max(np.abs(missing))) / greatest
    s = 2j * np.pi * frequency[:, None] * taus
    terms = (ratios[:, None, :] * (s / (1.0 + s))).reshape(-1, len(taus))
    wanted = missing.reshape(-1)
    size = np.linalg.norm(terms, axis=0)
    size[size == 0.0] = 1.0
    both = np.concatenate([terms.real, terms.imag]) / size
    found = np.linalg.lstsq(both, np.concatenate([wanted.real, wanted.imag]), rcond=CUT)[0] / size
    return found, float(np.max(np.abs(terms @ found - wanted))) / greatest


def _alone(deck: Deck, part: Branches, frequency: Array, ladder: Ladder, drive: Drive) -> Errors:
    name, (a, b) = part.names[0], part.ends[0]
    still = ladder.inductance_inf + math.fsum(h for h, _ in ladder.sections)
    kept = [s for s in ladder.sections if s[0] > NOTHING * still]
    rest = still - math.fsum(h for h, _ in kept)
    taus = np.array([h / ohm for h, ohm in kept])
    found, off = volts(taus, np.ones((1, len(kept))), frequency, drive)
    # the parts in series, from the first end down; the last one ends on the second end
    angle, at, end = float(drive.angle[0]), deck.inner(), deck.node(b)
    deck.coil(name, deck.node(a), at, float(drive.weight[0]), angle)
    series: list[tuple[str, float]] = [("R", float(part.dc_resistance[0]))] if part.dc_resistance[0] > 0.0 else []
    series += [("L", rest)] if rest > 0.0 else []
    for k, (letter, value) in enumerate(series):
        below = end if k + 1 == len(series) and not kept else deck.inner()
        deck.part(letter, name, at, below, value)
        at = below
    for k, ((henry, ohm), v) in enumerate(zip(kept, found, strict=True)):
        below = end if k + 1 == len(kept) else deck.inner()
        deck.part("L", f"{name}_section", at, below, henry)
        _arm(deck, f"{name}_section", at, below, ohm, float(v), angle)
        at = below
    return Errors(ladder.error, off)


def _arm(deck: Deck, name: str, a: str, b: str, ohm: float, emf: float, angle: float) -> None:
    """A resistor from a to b, with a source in series where there is one."""
    if emf == 0.0:
        deck.part("R", name, a, b, ohm)
        return
    middle = deck.inner()
    deck.part("R", name, a, middle, ohm)
    deck.source(name, middle, b, emf, angle)


def _coupled(deck: Deck, part: Branches, frequency: Array, ladder: CoupledLadder, drive: Drive) -> Errors:
    still = ladder.still
    taus = np.array([t for t, _ in ladder.loops])
    ratios = np.array([m for _, m in ladder.loops]).T.reshape(2, -1)
    found, off = volts(taus, ratios, frequency, drive)
    called = []
    for k, (name, (a, b)) in enumerate(zip(part.names, part.ends, strict=True)):
        top, middle = deck.inner(), deck.inner()
        deck.coil(name, deck.node(a), top, float(drive.weight[k]), float(drive.angle[k]))
        ohm = float(part.dc_resistance[k])
        called.append(deck.part("L", name, top, middle if ohm > 0.0 else deck.node(b), float(still[k, k])))
        if ohm > 0.0:
            deck.part("R", name, middle, deck.node(b), ohm)
    deck.coupling(part.names[0], called[0], called[1], float(still[0, 1] / math.sqrt(still[0, 0] * still[1, 1])))
    deck.say("loops")
    for (tau, both), v in zip(ladder.loops, found, strict=True):
        top = deck.inner()
        loop = deck.part("L", "loop", top, "0", 1.0)  # 1 H: any will do, its resistance makes the time constant
        _arm(deck, "loop", top, "0", 1.0 / tau, float(v), float(drive.angle[0]))
        for k, m in enumerate(both):
            if m != 0.0:
                deck.coupling("loop", called[k], loop, m / math.sqrt(still[k, k]))
    return Errors(ladder.error, off)
