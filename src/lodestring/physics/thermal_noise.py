"""Thermal noise of a passive circuit.

A passive network at one temperature shows between two nodes the noise of the resistance it shows there: spectral
density 4 k T Re Z_out [V^2/Hz], whatever is inside. Source: Nyquist, Phys. Rev. 32 (1928) 110, from memory. Valid while
h f is far below k T (always, at audio); what a worn control's wiper adds is not in it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lodestring.errors import DomainError

Array = NDArray[np.float64]
BOLTZMANN = 1.380649e-23
"""J/K, exact by the definition of the kelvin (2019)."""
ROOM = 300.0
"""K, the temperature at which contract 2 states noise."""


def noise_density(z_out: ArrayLike, temperature: float = ROOM) -> Array:
    """Spectral density sqrt(4 k T Re Z_out) [V/sqrt(Hz)] of output impedances [ohm], any shape, at a temperature [K].

    Raises DomainError for a temperature of 0 or less and for a resistance below 0.
    """
    resistance = np.real(np.asarray(z_out))
    if not 0.0 < temperature < math.inf:
        raise DomainError("a temperature is above 0 K", f"{temperature:g} K")
    # The real part is worked out to rounding of the whole: so much below nothing is nothing.
    if not bool(np.all(resistance >= -1e-9 * np.abs(z_out))):
        raise DomainError("a passive circuit shows a resistance of 0 or more", f"{resistance.min():g} ohm")
    return np.asarray(np.sqrt(4.0 * BOLTZMANN * temperature * np.maximum(resistance, 0.0)))


def thermal_noise(
    frequencies: Array, z_out: ArrayLike, band: tuple[float, float] = (20.0, 20e3), temperature: float = ROOM
) -> Array:
    """Noise [V rms] over a band [Hz] from output impedances (..., f) [ohm] at rising frequencies (f,) [Hz], usually a
    logarithmic grid; shape (...).

    The density is taken as straight between the points (exact for a resistor; 1e-4 for a peak of Q 5 on 400 points over
    three decades) and at the ends of the band. Raises DomainError for a band that the frequencies do not cover.
    """
    f = np.asarray(frequencies, dtype=float)
    low, high = band
    if f.ndim != 1 or len(f) < 2 or not bool(np.all(np.diff(f) > 0)):
        raise DomainError("noise is added up over two or more rising frequencies", f"{f.size} of them")
    # A grid made from logarithms ends a rounding beside the band it was made for.
    if not (f[0] * (1.0 - 1e-9) <= low < high <= f[-1] * (1.0 + 1e-9)):
        raise DomainError(
            "the frequencies cover the band that noise is asked for",
            f"{low:g} to {high:g} Hz, with frequencies from {f[0]:g} to {f[-1]:g} Hz",
            "a longer grid of frequencies",
        )
    power = noise_density(z_out, temperature) ** 2
    low, high = max(low, float(f[0])), min(high, float(f[-1]))
    inner = (f > low) & (f < high)
    places = np.concatenate([[low], f[inner], [high]])
    ends = [_between(f, power, edge)[..., None] for edge in (low, high)]
    values = np.concatenate([ends[0], power[..., inner], ends[1]], axis=-1)
    return np.asarray(np.sqrt(np.sum(0.5 * (values[..., 1:] + values[..., :-1]) * np.diff(places), axis=-1)))


def _between(f: Array, power: Array, edge: float) -> Array:
    after = min(max(int(np.searchsorted(f, edge)), 1), len(f) - 1)
    part = (edge - f[after - 1]) / (f[after] - f[after - 1])
    return np.asarray((1.0 - part) * power[..., after - 1] + part * power[..., after])
