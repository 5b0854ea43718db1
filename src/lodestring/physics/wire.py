"""The wire as metal: resistance, mass, stretch under tension, breaking load.

Stretching by the strain e keeps the volume: length times (1 + e), section divided by (1 + e). Per metre *as wound* the
resistance is therefore (1 + e) times, per metre *off the spool* (1 + e)^2 times that of the wire on the spool.
"""

from __future__ import annotations

import math

GRAVITY = 9.80665
"""Standard gravity [m/s^2], exact by definition (3rd CGPM, 1901)."""

PROOF_STRAIN = 0.002
"""Strain at the proof stress: 0.2 %, the usual definition."""


def section(diameter: float) -> float:
    """Area [m^2] of a round wire."""
    return math.pi * diameter**2 / 4.0


def resistance_per_metre(resistivity: float, diameter: float) -> float:
    """Resistance per length [ohm/m] of a round wire: rho / (pi d^2 / 4)."""
    return resistivity / section(diameter)


def at_temperature(resistance: float, coefficient: float, temperature: float, reference: float = 293.15) -> float:
    """Resistance at `temperature` [K] from that at `reference`: R (1 + alpha (T - T0)), alpha per kelvin at T0.

    Linear in T; IEC 60028 gives alpha = 3.93e-3 /K for annealed copper at 20 C. Good to 0.1 % from 0 to 100 C.
    """
    return resistance * (1.0 + coefficient * (temperature - reference))


def strain_under(stress: float, proof_stress: float, strength: float, elongation: float) -> float:
    """Lasting strain [1] of soft copper wire under a pull, by a power law through two points.

    stress, proof_stress (0.2 % strain), strength (strain = elongation at break) in Pa. strain = 0.002
    (stress/proof)^n with
    n = ln(elongation/0.002) / ln(strength/proof). Basis assumed: take the result as good to a factor 2.
    """
    exponent = math.log(elongation / PROOF_STRAIN) / math.log(strength / proof_stress)
    return PROOF_STRAIN * math.pow(stress / proof_stress, exponent)


def copper_mass(density: float, diameter: float, length: float) -> float:
    """Mass [kg] of the bare metal of `length` [m] of unstretched wire."""
    return density * section(diameter) * length


def enamel_mass(density: float, diameter: float, overall: float, length: float) -> float:
    """Mass [kg] of the enamel tube between `diameter` and `overall` over `length` [m] of unstretched wire."""
    return density * (section(overall) - section(diameter)) * length


def grams_force(force: float) -> float:
    """A force [N] as the mass in grams that would hang on the wire."""
    return force / GRAVITY * 1e3
