"""Inductance of the coil in air: no rods, no magnets."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.physics import coil_neumann as neumann
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.quadrature import clustered_rule, unit_gauss

Floats = NDArray[np.float64]

MU0 = 4e-7 * math.pi  # H/m; CODATA differs from it by 1e-10 since 2019


@dataclass(frozen=True, slots=True)
class _Counts:
    """Points over the difference and the mean of two radii, an arc with itself or a straight, two facing arcs.

    Found by halving errors over shapes whose converged value is known: more decades between the sizes need more.
    """

    difference: int
    mean: int
    arc: int
    facing: int

    @classmethod
    def suit(cls, s: float, h: float, depth: float, inner: float) -> _Counts:
        """Sizes in units of the outer half-width."""
        flat = math.asinh(depth / h)
        bend = math.asinh(math.pi / (h + depth))
        return cls(
            difference=8 + math.ceil(2.0 * flat),
            mean=4 + math.ceil(0.7 * (flat - math.log(inner))),
            arc=14 + math.ceil(2.5 * max(0.0, bend - 1.2)),
            facing=10 + math.ceil(4.0 * bend / (1.0 + 3.0 * s)),
        )


def air_inductance(box: CoilBox) -> float:
    """Inductance of the winding in air [H] per turn squared: multiply by N^2.

    L = mu0 (1/h)^2 {h F2 + (1/2 pi) <double contour integral of K dl.dl'>}, mean over all pairs of half-widths on
    r_i..r_o, K(R) = R - S + h ln(h + S), S = sqrt(R^2 + h^2), F2 the mean of the smaller of two turns' areas.
    Valid for uniform density of turns, low frequency, no iron. Relative error below 1e-7 for pickup-like shapes
    (0.2 <= h/r_o <= 5, s <= 40 r_o, any depth), below 1e-5 for any shape with h >= r_o / 100.
    Source: derived in the project's design from Neumann's formula.
    """
    unit = box.outer
    s, h, depth, inner = box.straight / unit, box.height / unit, box.depth / unit, box.inner / unit
    counts = _Counts.suit(s, h, depth, inner)
    a, b, weight = _pairs_of_radii(inner, depth, h, counts)
    ends = ((h, 1.0), (0.0, -1.0))
    scale = h + depth
    if s == 0.0:
        contour = _circles(a, b, scale, counts.arc, ends)
    else:
        contour = (
            _straights(a, b, s, ends)
            + _joints(a, b, s, scale, counts.arc, ends)
            + _own_arcs(a, b, scale, counts.arc, ends)
            + _facing_arcs(a, b, s, counts.facing, ends)
        )
    smaller_area = 2.0 * s * (inner + depth / 3.0) + math.pi * (inner**2 + 2.0 * inner * depth / 3.0 + depth**2 / 6.0)
    return MU0 * unit / h**2 * (h * smaller_area + float(weight @ contour) / (2.0 * math.pi))


def _pairs_of_radii(inner: float, depth: float, scale: float, counts: _Counts) -> tuple[Floats, Floats, Floats]:
    """Two half-widths a > b and a weight (sum 1), each (q,): the mean over the square, kink at a = b clustered."""
    delta, weight = clustered_rule(depth, scale, counts.difference)
    v, mean_weight = unit_gauss(counts.mean)
    mean = inner + 0.5 * delta[:, None] + (depth - delta[:, None]) * v
    both = 2.0 / depth**2 * (weight * (depth - delta))[:, None] * mean_weight
    return (mean + 0.5 * delta[:, None]).ravel(), (mean - 0.5 * delta[:, None]).ravel(), both.ravel()


def _straights(a: Floats, b: Floats, s: float, ends: neumann.Ends) -> Floats:
    """Two sides with two sides: same side less opposite side."""
    c = np.stack([a - b, a + b])[:, :, None]
    at = neumann.line_line(np.array([s, 0.0]), c, ends)
    second = 2.0 * (at[..., 0] - at[..., 1])
    return np.asarray(2.0 * (second[0] - second[1]))


def _joints(a: Floats, b: Floats, s: float, scale: float, count: int, ends: neumann.Ends) -> Floats:
    """Arcs with straights: four like pairs, the arc on either contour. They touch where phi = -pi/2."""
    turn, weight = clustered_rule(math.pi, scale, count)
    sin, cos = -np.cos(turn), np.sin(turn)  # of phi = turn - pi/2
    arc, side = np.concatenate([a, b])[:, None], np.concatenate([b, a])[:, None]
    c = np.abs(arc * sin + side)
    near = arc * cos
    along = neumann.line_point(near + s, c, ends) - neumann.line_point(near, c, ends)
    both = 4.0 * arc[:, 0] * (along @ (-sin * weight))
    return np.asarray(both[: a.size] + both[a.size :])


def _own_arcs(a: Floats, b: Floats, scale: float, count: int, ends: neumann.Ends) -> Floats:
    """Each end's arcs with each other."""
    t, weight = clustered_rule(math.pi, scale, count)
    square = ((a - b) ** 2)[:, None] + (4.0 * a * b)[:, None] * np.sin(0.5 * t) ** 2
    return np.asarray(4.0 * a * b * (neumann.point_point(square, ends) @ (weight * (math.pi - t) * np.cos(t))))


def _circles(a: Floats, b: Floats, scale: float, count: int, ends: neumann.Ends) -> Floats:
    """Full circles, for a round coil."""
    t, weight = clustered_rule(math.pi, scale, count)
    square = ((a - b) ** 2)[:, None] + (4.0 * a * b)[:, None] * np.sin(0.5 * t) ** 2
    return np.asarray(4.0 * math.pi * a * b * (neumann.point_point(square, ends) @ (weight * np.cos(t))))


def _facing_arcs(a: Floats, b: Floats, s: float, count: int, ends: neumann.Ends) -> Floats:
    """The arc of one end with that of the other. With a short straight they nearly touch at both tips: crowd there."""
    v, weight = unit_gauss(count)
    w = 2.0 * v - 1.0
    angle, weight = 0.25 * math.pi * (3.0 * w - w**3), 1.5 * math.pi * weight * (1.0 - w * w)
    sin, cos = np.sin(angle), np.cos(angle)
    x = s + a[:, None, None] * cos[:, None] + b[:, None, None] * cos
    y = a[:, None, None] * sin[:, None] - b[:, None, None] * sin
    tangents = np.outer(weight, weight) * (np.outer(sin, sin) - np.outer(cos, cos))
    return np.asarray(2.0 * a * b * np.einsum("qij,ij->q", neumann.point_point(x * x + y * y, ends), tangents))
