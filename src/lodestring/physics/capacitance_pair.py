"""Capacitance between neighbouring enamelled wires in a regular stack, exactly: a periodic array of coated cylinders.

A stack whose turns carry potentials that grow linearly from row to row is a dielectric with conducting inclusions. Its
effective permittivity e_eff gives everything: a row facing the next holds (2/sqrt 3) e_eff per turn and metre in the
hexagonal stack (each turn touches two of the next row, so e_eff/sqrt 3 for a pair) and e_eff in the square one.

Rayleigh's method (Phil. Mag. 34, 481, 1892; coated cylinders: Nicorovici, McPhedran and Milton, Proc. R. Soc. A 442,
599, 1993; from memory): outside the enamel the potential of a wire is a sum of 2-D multipoles; those of all others
arrive as powers of the place, weighted by lattice sums sum 1/z^n, which vanish unless n is a multiple of 6 (4).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.winding import PERFECT_LAYERS

__all__ = [
    "EPSILON0",
    "Filled",
    "effective_permittivity",
    "mean_film_gap",
    "pair_capacitance",
    "row_capacitance",
    "two_wires",
]

Floats = NDArray[np.float64]
Stack = Literal["hexagonal", "square"]

EPSILON0 = 8.8541878128e-12  # F/m, CODATA 2018
_FOLD = {"hexagonal": 6, "square": 4}
_CELL = {"hexagonal": math.sqrt(3.0) / 2.0, "square": 1.0}  # area of a cell over the spacing squared
_ENOUGH, _MOST = 1e-9, 800


@dataclass(frozen=True, slots=True)
class Filled:
    """Wire and what is round it: bare diameter, diameter over the enamel [m], relative permittivities.

    `enamel` is that of the film, `filler` that of what fills the rest: 1 for air, about 2.2 for wax.
    Raises DomainError unless 0 < diameter <= overall and both permittivities are at least 1.
    """

    diameter: float
    overall: float
    enamel: float
    filler: float

    def __post_init__(self) -> None:
        if not 0.0 < self.diameter <= self.overall < math.inf:
            came = f"{self.diameter * 1e6:g} um in {self.overall * 1e6:g} um"
            raise DomainError("a wire has a bare diameter above 0 and at most that over its enamel", came)
        for name, value in (("enamel", self.enamel), ("filling between the wires", self.filler)):
            if not 1.0 <= value < math.inf:
                raise DomainError(f"the relative permittivity of the {name} is at least 1", f"{value:g}", "1 for air")


def mean_film_gap(overall: float, packing: float) -> float:
    """Gap between enamels [m] of a hexagonal stack spread evenly to `packing`: D (sqrt(0.9069/k) - 1).

    overall D [m]; packing k [1], the area of full circles over that of the section. A cell of spacing p has the area
    (sqrt 3/2) p^2 and holds pi D^2/4, so k = 0.9069 (D/p)^2. Raises DomainError unless 0 < k <= 0.9069.
    """
    if not 0.0 < packing <= PERFECT_LAYERS + 1e-9:
        raise DomainError("packing lies above 0 and at most at 0.9069, a perfect hexagonal stack", f"{packing:g}")
    return overall * (math.sqrt(max(1.0, PERFECT_LAYERS / packing)) - 1.0)


def two_wires(diameter: float, spacing: float) -> float:
    """Capacitance [F/m] of two bare round wires alone in air: pi e0 / acosh(s/d).

    diameter d [m]; spacing s [m], centre to centre. A lower bound of what two neighbours in a stack hold between them.
    Exact (textbook). Raises DomainError unless s > d > 0.
    """
    if not 0.0 < diameter < spacing:
        raise DomainError(
            "two wires are further apart than they are thick", f"{spacing * 1e6:g} um for {diameter * 1e6:g} um"
        )
    return math.pi * EPSILON0 / math.acosh(spacing / diameter)


def row_capacitance(wire: Filled, film_gap: float, stack: Stack = "hexagonal") -> float:
    """Capacitance [F/m] per turn between a row and the next one. Arguments, validity, errors: `effective_permittivity`.

    All turns of a row at one potential; two turns of the next row touch each in the hexagonal stack, one in the square.
    """
    per_pair = 2.0 if stack == "hexagonal" else 1.0
    return per_pair * pair_capacitance(wire, film_gap, stack)


def pair_capacitance(wire: Filled, film_gap: float, stack: Stack = "hexagonal") -> float:
    """Capacitance [F/m] between two neighbours of a stack, c(gap): e_eff/sqrt 3 hexagonal, e_eff square."""
    share = 1.0 / math.sqrt(3.0) if stack == "hexagonal" else 1.0
    return EPSILON0 * share * effective_permittivity(wire, film_gap, stack)


@lru_cache(maxsize=4096)
def effective_permittivity(wire: Filled, film_gap: float, stack: Stack = "hexagonal") -> float:
    """Relative permittivity [1] of an endless regular stack for fields across the wires; the same in all directions.

    film_gap [m]: between the enamels of neighbours, 0 where they touch. Error below 1e-6: the highest multipole is
    doubled until the value rests. Grows like 1/sqrt(distance of the metals) and without bound where bare metal touches.
    Holds for potentials that are linear in place; for others as a sum over pairs (pairs further apart hold under 1 %).
    Raises DomainError for a gap below 0 or metals nearer than about a ten-thousandth of the wire's thickness.
    """
    if not 0.0 <= film_gap < math.inf:
        raise DomainError("the gap between enamels is 0 or more", f"{film_gap * 1e6:g} um")
    spacing = wire.overall + film_gap
    if spacing < wire.diameter * (1.0 + 1e-4):
        came = f"{(spacing - wire.diameter) * 1e6:g} um between {wire.diameter * 1e6:g} um wires"
        raise DomainError("neighbouring wires are kept apart by enamel or a gap", came, "wire with enamel")
    order = 25
    value = _solve(wire, spacing, stack, order)
    while order < _MOST:
        order *= 2
        last, value = value, _solve(wire, spacing, stack, order)
        if abs(value - last) <= _ENOUGH * value:
            break
    return value


def _solve(wire: Filled, spacing: float, stack: Stack, order: int) -> float:
    """Effective permittivity with multipoles up to `order`.

    On a wire's own circle of radius b, scaled by b^l: what arrives is A = -E b d_l1 + sum_m (-1)^m C(l+m-1, l)
    (b/p)^(l+m) G_(l+m) X_m, what leaves X = -reflection A. The dipole then gives e_eff = e_m (1 + f)/(1 - f): the field
    that acts is the mean field plus that of a round hole (conditionally convergent sum of 1/z^2 taken as 0).
    """
    fold = _FOLD[stack]
    l = np.array([k for k in range(1, order + 1) if k % fold in (1, fold - 1)])
    l_by_m = l[:, None] + l[None, :]
    log_factorial = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1.0, 2.0 * order + 1.0)))])
    reach = 0.5 * wire.overall / spacing
    log_weight = log_factorial[l_by_m - 1] - log_factorial[l][:, None] - log_factorial[l - 1] + l_by_m * math.log(reach)
    arriving = -np.exp(log_weight) * _lattice_sums(stack, 2 * order)[l_by_m]  # l is odd: (-1)^m = -1
    reflection = _reflection(wire, l)
    system = np.eye(l.size) + reflection[:, None] * arriving
    applied = np.zeros(l.size)
    applied[0] = reflection[0] * reach
    dipole = float(np.linalg.solve(system, applied)[0]) * reach
    f = math.pi * dipole / _CELL[stack]
    return wire.filler * (1.0 + f) / (1.0 - f)


def _reflection(wire: Filled, l: NDArray[np.int64]) -> Floats:
    """How much of a multipole a coated wire sends back: 1 for bare metal, less for a thick film of low permittivity."""
    share = (wire.diameter / wire.overall) ** (2.0 * l)
    # written without a division by 1 - share, which is 0 for bare metal
    film, filler = wire.enamel * (1.0 + share), wire.filler * (1.0 - share)
    return np.asarray((film - filler) / (film + filler))


@lru_cache(maxsize=32)
def _lattice_sums(stack: Stack, highest: int) -> Floats:
    """G_n = sum of 1/z^n over a lattice of spacing 1 without the origin, n = 0..highest (0, 2 and odd n: 0).

    Closed form of the first (Gamma functions), recurrence of the Weierstrass function for the rest. Textbook.
    """
    fold = _FOLD[stack]
    sums = np.zeros(max(highest, fold) + 1)
    sums[fold] = (
        math.gamma(1 / 3) ** 18 / (8960.0 * math.pi**6)
        if stack == "hexagonal"
        else math.gamma(1 / 4) ** 8 / (960.0 * math.pi**2)
    )
    for n in range(2 * fold, sums.size, fold):
        half = n // 2
        m = np.arange(2, half - 1)
        products = (2 * m - 1) * (2 * half - 2 * m - 1) * sums[2 * m] * sums[n - 2 * m]
        sums[n] = 3.0 * products.sum() / ((2 * half + 1) * (half - 3) * (2 * half - 1))
    return sums
