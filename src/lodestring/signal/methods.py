"""From the ratio of two channels to what belongs to the coil alone: both ways of connecting a sound card.

Impedance: the card's output drives the coil through a known resistor; one channel listens at the output, the other
across the coil. The second input's own load is known and is taken out, so any card serves.

Drive coil: a small coil laid on the pickup, in series with a known resistor; one channel listens across the resistor
(so it hears the drive coil's current, whatever the drive coil is), the other across the pickup. Here the input's load
sits on the resonance itself, and a low one takes the peak away for good.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

LEAST_INPUT = 500e3
"""ohm: below it a resonance cannot be seen through the input (common practice, no source)."""


def input_admittance(frequency: Array, input_resistance: float, input_capacitance: float) -> Complex:
    """Admittance [S] of an input at frequencies (f,) [Hz]: resistance [ohm] and capacitance [F] beside each other."""
    if not (input_resistance > 0.0 and input_capacitance >= 0.0):
        raise DomainError(
            "an input has a resistance above 0 and a capacitance of 0 or more",
            f"{input_resistance:g} ohm and {input_capacitance:g} F",
            "what the card's data sheet says",
        )
    return np.asarray(1.0 / input_resistance + 2j * np.pi * frequency * input_capacitance)


def coil_impedance(
    frequency: Array, ratio: Complex, resistor: float, input_resistance: float, input_capacitance: float = 0.0
) -> Complex:
    """Impedance [ohm] of the coil at frequencies (f,) [Hz] from `ratio` = across the coil / at the output, through
    `resistor` [ohm]; the listening input (`input_admittance`) is taken out.

    Divider rule; exact for linear parts. Near ratio 1 (a resistor far too small) noise is blown up: choose one near the
    coil's own impedance at resonance. Raises DomainError for a resistor of 0 or less.
    """
    if not resistor > 0.0:
        raise DomainError("the series resistor is above 0", f"{resistor:g} ohm", "its reading on the meter")
    across = (1.0 - ratio) / (resistor * ratio)
    return np.asarray(1.0 / (across - input_admittance(frequency, input_resistance, input_capacitance)))


def impedance_sigma(impedance: Complex, ratio: Complex, sigma: Array, resistor: float) -> Array:
    """Standard deviation [ohm] of each part of an impedance from that of the ratio, to first order."""
    return np.asarray(np.abs(impedance) ** 2 * sigma / (resistor * np.abs(ratio) ** 2))


def induced(frequency: Array, ratio: Complex, resistor: float, input_resistance: float) -> Complex:
    """Mutual inductance times the network's response [H] from `ratio` = across the pickup / across the resistor [ohm].

    The rise by 6 dB an octave of an induced voltage is taken out. Raises DomainError for an input below 500 kohm.
    """
    if input_resistance < LEAST_INPUT:
        raise DomainError(
            "a drive coil needs an input of 500 kohm or more across the pickup",
            f"{input_resistance / 1e3:.0f} kohm, which would take the resonance away",
            "an instrument input or a buffer, or the impedance method, which takes the input's load out",
        )
    if not resistor > 0.0:
        raise DomainError("the resistor of the drive coil is above 0", f"{resistor:g} ohm", "its reading on the meter")
    return np.asarray(resistor * ratio / (2j * np.pi * frequency))


def without_capacitance(one_way: Complex, reversed_way: Complex) -> tuple[Complex, Complex]:
    """What is induced, and what comes over by capacitance, from two sweeps between which the drive coil was turned over
    (its current reversed): half the difference, half the sum."""
    return np.asarray(0.5 * (one_way - reversed_way)), np.asarray(0.5 * (one_way + reversed_way))
