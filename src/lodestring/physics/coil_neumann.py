"""Neumann's double integral over two straight or curved conductors that are strips of some height.

Two vertical strips over plan curves l and l', their ends at height differences u (four of them, signs + - - +):
integral of dz dz' / sqrt(R^2 + (z - z')^2) = sum of +-[u asinh(u/R) - sqrt(R^2 + u^2)]. The part -|u| ln R is the same
as an area (Stokes) and is left to the caller; the rest, with S = sqrt(R^2 + u^2) and u taken positive,

    H = u ln(u + S) - S

has no singularity. Along a straight strip it has closed antiderivatives, once (a straight and a point) and twice (two
straights), so only arcs need points. Source: derived in the project's design from Neumann's formula.
All lengths should be in a unit near the size of the coil: additive constants cancel over closed curves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ends = tuple[tuple[float, float], ...]  # (u >= 0, sign)

_TINY = 1e-150  # below any length here: keeps 0 ln 0 and 0/0 at their limit, 0


def point_point(square: Floats, ends: Ends) -> Floats:
    """Sum of sign * H over the ends at plan distance R; `square` = R^2, any shape."""
    total = np.zeros_like(square)
    for u, sign in ends:
        s = np.sqrt(square + u * u)
        total += sign * (u * np.log(u + s) - s) if u > 0.0 else -sign * s
    return total


def _pieces(x: Floats, c: Floats, u: float) -> tuple[Floats, Floats, Floats, Floats]:
    """S, ln(u + S), asinh(x / W) and atan(x/c) - atan(x u/(c S)), for W^2 = c^2 + u^2, c >= 0."""
    w2 = c * c + u * u
    s = np.sqrt(x * x + w2)
    # the difference of the two angles in one: its tangent is x c (S - u) / (c^2 S + x^2 u), S - u = R^2/(S + u)
    r2 = x * x + c * c
    angle = np.arctan2(x * c * r2 / np.maximum(s + u, _TINY), c * c * s + x * x * u)
    return s, np.log(np.maximum(u + s, _TINY)), np.arcsinh(x / np.maximum(np.sqrt(w2), _TINY)), angle


def line_point(x: Floats, c: Floats, ends: Ends) -> Floats:
    """Sum of sign * (integral of H dx from 0 to x) at sideways distance c >= 0 (up to nothing: it is odd in x)."""
    total = np.zeros(np.broadcast_shapes(x.shape, c.shape))
    for u, sign in ends:
        s, log, area, angle = _pieces(x, c, u)
        total += sign * (0.5 * (u * u - c * c) * area - 0.5 * x * s + u * (x * (log - 1.0) + c * angle))
    return total


def line_line(x: Floats, c: Floats, ends: Ends) -> Floats:
    """Sum of sign * (second integral of H over x), even in x, up to k0(c) + k1 x + k2 x^2 with k1, k2 free of c.

    The free part drops out of the second difference over the ends of two straights (k0, k1) and of the sum over the
    four pairs of sides of two closed curves (k2).
    """
    total = np.zeros(np.broadcast_shapes(x.shape, c.shape))
    for u, sign in ends:
        s, log, area, angle = _pieces(x, c, u)
        total += sign * (
            0.5 * (u * u - c * c) * (x * area - s)
            - s**3 / 6.0
            + 0.5 * u * u * s
            + u * (0.5 * (x * x - c * c) * log + c * x * angle)
        )
    return total
