"""Evenly charged rectangles: what slices of an upright rectangular magnet do to one another and above themselves.

Mean potential of one rectangle over a parallel one of its size, straight over it at distance d:

    P = (1 / pi a b) int_0^a int_0^b (a - u)(b - v) / R du dv,   R = sqrt(u^2 + v^2 + d^2)

for unit charge; the product (a - u)(b - v) counts the pairs of points that are u, v apart. All four integrals are
elementary. The field across a rectangle is the solid angle it is seen under over 4 pi.
"""

from __future__ import annotations

import math

import numpy as np

from lodestring.physics.ring import Array


def mean_potential(a: float, b: float, d: Array) -> Array:
    """P [m] for rectangles a by b [m] at distances d (any shape, >= 0) [m], per unit of charge density."""
    d2 = d * d
    r, ra, rb = np.sqrt(a * a + b * b + d2), np.sqrt(a * a + d2), np.sqrt(b * b + d2)
    safe = np.where(d > 0.0, d, 1.0)
    by_b, by_a = np.arcsinh(b / ra), np.arcsinh(a / rb)
    ends_b = np.where(d > 0.0, d2 * np.arcsinh(b / safe), 0.0)
    ends_a = np.where(d > 0.0, d2 * np.arcsinh(a / safe), 0.0)
    one = a * by_b + b * by_a - d * np.arctan2(a * b, d * r)
    of_u = 0.5 * (b * r + ra * ra * by_b - b * rb - ends_b)
    of_v = 0.5 * (a * r + rb * rb * by_a - a * ra - ends_a)
    both = (r**3 - ra**3 - rb**3 + d**3) / 3.0
    found: Array = (a * b * one - b * of_u - a * of_v + both) / (math.pi * a * b)
    return found


def field_across(a: float, b: float, x: Array, y: Array, z: Array) -> Array:
    """Field [1] along z at (x, y, z) [m], z other than 0, of a rectangle a by b about the origin, per unit of charge
    density."""
    out = np.zeros(np.broadcast_shapes(np.shape(x), np.shape(y), np.shape(z)))
    for sx in (-1.0, 1.0):
        for sy in (-1.0, 1.0):
            u, v = x + sx * a / 2.0, y + sy * b / 2.0
            out = out + sx * sy * np.arctan(u * v / (z * np.sqrt(u * u + v * v + z * z)))
    return np.asarray(out / (4.0 * math.pi))
