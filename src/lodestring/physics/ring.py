"""Field of a uniformly charged ring: the brick of every rod.

The ring has radius b, lies in a plane z = const about the z axis and carries unit charge; H = -grad of charge / (4 pi
r). With be^2 = (rho + b)^2 + zeta^2, al^2 = (rho - b)^2 + zeta^2 and m = 1 - al^2 / be^2:

    H_z   = zeta E(m) / (2 pi^2 al^2 be)
    H_rho = [K(m) - (b^2 - rho^2 + zeta^2) E(m) / al^2] / (4 pi^2 rho be)

K, E complete elliptic integrals, here by the arithmetic-geometric mean from the complementary parameter al^2 / be^2, so
that nothing is lost close to the ring (Abramowitz & Stegun 17.6).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
STEPS = ((0.2, 5), (1e-3, 6), (1e-9, 7), (0.0, 8))
"""Steps of the mean by the least parameter: it doubles its digits each step, so these reach rounding (to 1e-30)."""


def elliptic(m1: Array) -> tuple[Array, Array]:
    """K and E [1] from the complementary parameter m1 = 1 - m, 0 < m1 <= 1; any shape."""
    least = float(np.min(m1)) if m1.size else 1.0
    steps = next(n for limit, n in STEPS if least >= limit)
    m1 = np.asarray(m1, dtype=np.float64)
    a, b = np.ones_like(m1), np.array(np.sqrt(m1))  # arrays even where m1 is one number
    total, power = 0.5 * (1.0 - m1), 0.5
    for step in range(steps):
        c = a - b
        c *= 0.5
        if step + 1 < steps:
            b *= a
            np.sqrt(b, out=b)
        a -= c
        power *= 2.0
        c *= c
        c *= power
        total += c
    k = np.pi / (2.0 * a)
    return k, k * (1.0 - total)


def ring_field(rho: Array, zeta: Array, b: Array) -> tuple[Array, Array]:
    """(H_rho, H_z) [1/m^2 per unit charge] at radius `rho`, height `zeta` over a ring of radius `b` [m]; any shapes.

    On the axis H_rho is zero. Not for points on the ring itself.
    """
    far = (rho + b) ** 2 + zeta**2
    near = (rho - b) ** 2 + zeta**2
    be = np.sqrt(far)
    k, e = elliptic(near / far)
    h_z = zeta * e / (2.0 * np.pi**2 * near * be)
    safe = np.where(rho > 0.0, rho, 1.0)
    h_rho = (k - (b * b - rho * rho + zeta**2) * e / near) / (4.0 * np.pi**2 * safe * be)
    return np.where(rho > 0.0, h_rho, 0.0), h_z
