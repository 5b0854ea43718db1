"""Points and weights that turn integrals into short sums.

Textbook pieces (Gauss-Legendre, barycentric interpolation); the clustered rule is derived in the project's design.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError

Floats = NDArray[np.float64]


@lru_cache(maxsize=64)
def unit_gauss(order: int) -> tuple[Floats, Floats]:
    """Gauss-Legendre nodes on 0..1 and weights (sum 1), both (order,) and read-only. Exact to degree 2 order - 1."""
    if order < 1:
        raise DomainError("a quadrature rule has at least one point", f"{order}", "an order of 5")
    nodes, weights = np.polynomial.legendre.leggauss(order)
    nodes, weights = 0.5 * (1.0 + nodes), 0.5 * weights
    nodes.setflags(write=False)
    weights.setflags(write=False)
    return nodes, weights


def radial_rule(inner: float, outer: float, order: int) -> tuple[Floats, Floats]:
    """Gauss nodes [m] on inner..outer and weights that sum to 1: the mean over the radius. Both (order,)."""
    nodes, weights = unit_gauss(order)
    return inner + (outer - inner) * nodes, weights.copy()


def clustered_rule(reach: float, grain: float, order: int) -> tuple[Floats, Floats]:
    """Nodes on 0..reach, crowded toward 0, and weights that sum to about `reach`. Both (order,).

    For integrands with a kink at 0 (x = reach v^2 flattens |x|) that besides change on a scale `grain` > 0 much shorter
    than `reach` (x = grain sinh(v^2 asinh(reach / grain)) gives each decade its share). Source: derived.
    """
    v, weights = unit_gauss(order)
    span = float(np.arcsinh(reach / grain))
    argument = span * v * v
    return grain * np.sinh(argument), weights * grain * np.cosh(argument) * (2.0 * span) * v


def half_circles(straight: float, angles: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Points on both round ends of an obround, `angles` to each: cosine, sine, weight [rad], x [m] of the centre, (q,).

    A point at half-width r is (centre + r cosine, r sine), the counter-clockwise tangent (-sine, cosine).
    """
    if straight == 0.0:  # a full circle: equal steps converge faster than any other rule
        phi = (np.arange(2 * angles) + 0.5) * (np.pi / angles)
        return np.cos(phi), np.sin(phi), np.full(phi.size, np.pi / angles), np.zeros(phi.size)
    nodes, weights = unit_gauss(angles)
    phi = np.pi * (nodes - 0.5)
    cos, sin, weight = np.cos(phi), np.sin(phi), np.pi * weights
    centre = np.full(angles, 0.5 * straight)
    return (
        np.concatenate([cos, -cos]),
        np.concatenate([sin, -sin]),
        np.concatenate([weight, weight]),
        np.concatenate([centre, -centre]),
    )


def table_nodes(inner: float, greatest: float, count: int = 10) -> Floats:
    """Chebyshev points of the second kind [m] (count,) on inner..greatest, both ends among them; count at least 2."""
    if count < 2:
        raise DomainError("a table over the radius has at least two nodes", f"{count}", "10")
    step = 0.5 * (1.0 - np.cos(np.pi * np.arange(count) / (count - 1)))
    return np.asarray(inner + (greatest - inner) * step, dtype=np.float64)


def table_rule(nodes: Floats, inner: float, outer: float) -> Floats:
    """Weights (p,), sum 1: mean over inner..outer [m] of the polynomial through values at `nodes` (p,) [m].

    With values f at the nodes, `weights @ f` is the integral of their interpolating polynomial over outer - inner, so a
    table of sheets at fixed radii serves every outer half-width. Error: that of the interpolation; use Chebyshev nodes
    (`table_nodes`). Ten of them up to r_max = 4 r_i hold psi in the bore to 1e-5 of the coil's 1 A per turn, up to
    2.8 r_i the field at three quarters of r_i to 3e-5 of its greatest value.
    Raises DomainError unless inner < outer lie on the span of the nodes (2 % beyond it is let pass, as the open kind of
    Chebyshev nodes ends inside its interval) and the nodes differ. Source: barycentric interpolation, textbook.
    """
    nodes = np.asarray(nodes, dtype=np.float64)
    low, high = float(nodes.min()), float(nodes.max())
    slack = 0.02 * (high - low)
    if not low - slack <= inner < outer <= high + slack:
        raise DomainError(
            f"a table of sheets serves half-widths on its nodes, {low * 1e3:.4g} to {high * 1e3:.4g} mm",
            f"{inner * 1e3:.4g} to {outer * 1e3:.4g} mm",
            "a table with a greater outermost half-width",
        )
    scaled = (nodes - low) / (high - low)  # products of differences of small lengths would underflow
    apart = scaled[:, None] - scaled[None, :]
    np.fill_diagonal(apart, 1.0)
    if np.any(apart == 0.0):
        raise DomainError("nodes of a table differ from each other", "two equal ones", "table_nodes")
    barycentric = 1.0 / apart.prod(axis=1)
    places, weights = unit_gauss(nodes.size // 2 + 1)
    places = (inner - low + (outer - inner) * places) / (high - low)
    distance = places[:, None] - scaled[None, :]
    hit = distance == 0.0
    terms = barycentric / np.where(hit, 1.0, distance)
    basis = np.where(hit.any(axis=1, keepdims=True), hit.astype(np.float64), terms / terms.sum(axis=1, keepdims=True))
    return np.asarray(weights @ basis, dtype=np.float64)
