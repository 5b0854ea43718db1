"""The string in motion: an ideal pluck's partials, what a coil hears of them, what a pull does to their pitch.

An ideal string of length L plucked to the height A at x_p from the bridge: b = x_p / L,
a_n(x) = 2 A sin(n pi b) sin(n pi x / L) / (n^2 pi^2 b (1 - b)), v_n = 2 pi n f_1 a_n. Source: textbook (for example
Fletcher & Rossing, The Physics of Musical Instruments, 2e, section 2.8), from memory.
"""

from __future__ import annotations

import math

import numpy as np

from lodestring.physics.ring import Array


def partial_velocities(height: float, pluck: float, length: float, f1: float, x: Array, count: int) -> Array:
    """Peak velocity [m/s] (count, n) of partials 1..count at places x (n,) [m] from the bridge.

    height A, pluck x_p, length L [m], f1 [Hz].
    """
    n = np.arange(1, count + 1)[:, None]
    b = pluck / length
    shape = np.sin(n * math.pi * b) * np.sin(n * math.pi * x / length)
    velocity: Array = 4.0 * f1 * height * shape / (n * math.pi * b * (1.0 - b))
    return velocity


def band_level(
    sensitivity: Array,
    weights: Array,
    places: Array,
    pluck: tuple[float, float],
    length: float,
    f1: float,
    band: tuple[float, float],
) -> float:
    """RMS voltage [V] of one pluck in a band: root of the sum of e_n^2 / 2, e_n = int S(s) v_n(x + s) ds.

    sensitivity S (n,) [Wb/m per metre], weights (n,) [m], places (n,) from the bridge [m], pluck (height, place) [m].
    """  # fmt: skip
    count = max(1, int(band[1] / f1))
    velocity = partial_velocities(pluck[0], pluck[1], length, f1, places, count)
    volts = velocity @ (sensitivity * weights)
    inside = np.arange(1, count + 1) * f1 >= band[0]
    return float(np.sqrt(np.sum(volts[inside] ** 2) / 2.0))


def pitch_shift(stiffness: float, place: float, length: float, mass: float, f1: float) -> float:
    """Shift [cent] of the fundamental by a point stiffness k [N/m] (negative lowers) at `place` from the bridge.

    df/f = k sin^2(pi x / L) / (mu L w^2), first order. Source: perturbation of an ideal string.
    """
    w = 2.0 * math.pi * f1
    relative = stiffness * math.sin(math.pi * place / length) ** 2 / (mass * length * w * w)
    return 1200.0 / math.log(2.0) * math.log1p(relative)
