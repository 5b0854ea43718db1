"""Eddy currents in a rod or a plate: the permeability it shows along its axis, or in its plane, at a frequency.

    mu_eff = mu F,   F = 2 J_1(ka) / (ka J_0(ka)),   k^2 = -j w mu_0 mu sigma

written as the continued fraction 1/F = 1 + z/(2 + z/(3 + z/(4 + ...))), z = j w mu_0 mu sigma a^2 / 4, which needs no
Bessel function and converges for every z. Validity: a long rod in an axial field; against finite elements of one coil
and rod the resistance comes out 4 to 5 per cent high at low frequency and right at 20 kHz, the inductance within 0.7
per cent. Source: Landau & Lifshitz, Electrodynamics of Continuous Media, section 59, from memory; continued fraction
of the Bessel quotient.

    mu_eff = mu tanh(x) / x,   x^2 = j w mu_0 mu sigma t^2 / 4

for a plate of thickness t in a field along its plane (a blade in its coil). Validity: a plate wide against its
thickness; the same bias as for rods is expected at its ends. Source: the same book and section, from memory.
"""

from __future__ import annotations

import cmath
import math

from lodestring.errors import DomainError
from lodestring.physics.poles import MU0


def rod_permeability(mu: float, conductivity: float, radius: float, frequency: float) -> complex:
    """mu_eff [1] of a rod: relative permeability mu, conductivity [S/m], radius [m], frequency [Hz]; exp(j w t).

    Raises DomainError for a permeability below 1, and for a conductivity or frequency below 0.
    """
    if not (
        1.0 <= mu < math.inf
        and 0.0 <= conductivity < math.inf
        and 0.0 < radius < math.inf
        and 0.0 <= frequency < math.inf
    ):
        raise DomainError(
            "a rod has a permeability of 1 or more, a radius above 0, a conductivity and a frequency of 0 or more",
            f"{mu:g}, {radius:g} m, {conductivity:g} S/m, {frequency:g} Hz",
        )
    z = 0.5j * math.pi * frequency * MU0 * mu * conductivity * radius**2
    depth = 24 + 3 * int(abs(z) ** 0.5)
    fraction: complex = complex(depth + 1)
    for n in range(depth, 0, -1):
        fraction = n + z / fraction
    return mu / fraction


def plate_permeability(mu: float, conductivity: float, thickness: float, frequency: float) -> complex:
    """mu_eff [1] in the plane of a plate: relative permeability mu, conductivity [S/m], thickness [m], frequency [Hz];
    exp(j w t).

    Raises DomainError for a permeability below 1, a plate without thickness, and a conductivity or frequency below 0.
    """
    if not (
        1.0 <= mu < math.inf
        and 0.0 <= conductivity < math.inf
        and 0.0 < thickness < math.inf
        and 0.0 <= frequency < math.inf
    ):
        raise DomainError(
            "a plate has a permeability of 1 or more, a thickness above 0, a conductivity and a frequency of 0 or more",
            f"{mu:g}, {thickness:g} m, {conductivity:g} S/m, {frequency:g} Hz",
        )
    x = cmath.sqrt(0.5j * math.pi * frequency * MU0 * mu * conductivity) * thickness
    if abs(x) < 1e-4:  # 1 - x^2 / 3: the quotient loses nothing that double precision holds
        return mu * (1.0 - x * x / 3.0)
    return mu * cmath.tanh(x) / x
