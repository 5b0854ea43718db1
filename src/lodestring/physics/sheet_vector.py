"""Vector potential of a coil in air: what drives a current in a sheet of metal.

    A(x) = mu0 / (4 pi h) < oint [asinh(u_+ / rho) - asinh(u_- / rho)] dl' >,  u_+- = z +- h/2

rho the distance in plan from the element dl', the mean over the coil's half-widths. Straights in closed form:

    int asinh(u/W) dx = x asinh(u/W) + u asinh(x / sqrt(c^2 + u^2)) - c atan(x u / (c R)),  W^2 = x^2 + c^2

arcs by Gauss angles. A runs in plan, so it has no z component. Per ampere and turn. Source: derived from Neumann's
formula as the rest of the coil.
"""

from __future__ import annotations

import math

import numpy as np

from lodestring.physics.coil_box import CoilBox
from lodestring.physics.quadrature import half_circles, radial_rule
from lodestring.physics.ring import Array
from lodestring.physics.sheet_kernel import MU0

_TINY = 1e-12  # metres: closer to a sheet's edge than any point comes


def coil_potential_vector(box: CoilBox, points: Array, order: int = 6, angles: int = 24) -> Array:
    """A_x, A_y (n, 2) [T m per A and turn] at points (n, 3) [m] in the coil's frame, `order` half-widths, `angles` on
    each half circle. Error below 1e-5 a tenth of the coil's depth and more away from the winding."""
    out = np.zeros((len(points), 2))
    x, y, z = points.T
    for r, weight in zip(*radial_rule(box.inner, box.outer, order), strict=True):
        cos, sin, part, centre = half_circles(box.straight, angles)
        rho = np.hypot(x[:, None] - centre - r * cos, y[:, None] - r * sin)
        rho = np.maximum(rho, _TINY)
        tall = np.arcsinh((z + 0.5 * box.height)[:, None] / rho) - np.arcsinh((z - 0.5 * box.height)[:, None] / rho)
        out[:, 0] -= weight * r * (tall @ (part * sin))
        out[:, 1] += weight * r * (tall @ (part * cos))
        if box.straight > 0.0:
            for side in (1.0, -1.0):  # the straight at y = -r runs along +x, that at +r along -x
                c = np.abs(y + side * r)
                for sign, u in ((1.0, z + 0.5 * box.height), (-1.0, z - 0.5 * box.height)):
                    long = _along(x + 0.5 * box.straight, c, u) - _along(x - 0.5 * box.straight, c, u)
                    out[:, 0] += weight * side * sign * long
    return out * (MU0 / (4.0 * math.pi * box.height))


def _along(x: Array, c: Array, u: Array) -> Array:
    """Antiderivative in x of asinh(u / sqrt(x^2 + c^2))."""
    c = np.maximum(c, _TINY)
    r = np.sqrt(x * x + c * c + u * u)
    return np.asarray(
        x * np.arcsinh(u / np.hypot(x, c)) + u * np.arcsinh(x / np.hypot(c, u)) - c * np.arctan(x * u / (c * r))
    )
