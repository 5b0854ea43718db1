"""Flux that one charged rectangle sends through another: the entries between panels, in closed form.

Every entry is the normal field of panel j averaged over panel i, exactly. So the flux through a closed body is exactly the
charge inside it, half of it for charge on the body itself, whatever the mesh: Gauss's law needs no mending, and a
permeability of thousands does not magnify an error of quadrature.

With (X, Y, Z) = corner of the target minus corner of the source, R its length, and the source's plane across z:

  parallel       P = X Y arctan(X Y / (Z R)) + X Z arsinh(X / sqrt(Y^2 + Z^2)) + Y Z arsinh(Y / sqrt(X^2 + Z^2)) - Z R
  perpendicular  Q = X Y arctan(Y Z / (X R)) + (X^2 - Y^2) / 2 arsinh(Z / sqrt(X^2 + Y^2))
  (target across x)   - Y Z arsinh(Y / sqrt(X^2 + Z^2)) + Z R / 2

P is the integral of Z / R^3 twice over X and twice over Y; Q that of X / R^3 once over X, once over Z, twice over Y (the
axis both share). Panels of one grid share corners: one evaluation a pair.
"""

from __future__ import annotations

import numpy as np

from lodestring.physics.box import TINY, Face
from lodestring.physics.ring import Array


def flux_block(target: Face, source: Face) -> Array:
    """Normal field (n_target, n_source) [1] averaged over each target panel, along the target's outward normal, per unit
    charge density of each source panel. Zero for faces on one plane."""
    if target.axis == source.axis:
        through = _parallel(target, source)
    elif target.axis == (source.axis + 1) % 3:  # target lines u along the shared axis, v away from the source's plane
        q = _perpendicular(target.at - source.u, target.v - source.at, target.u[:, None] - source.v)
        through = q.transpose(1, 0, 2, 3)
    else:  # target lines v along the shared axis, u away from the source's plane
        q = _perpendicular(target.at - source.v, target.u - source.at, target.v[:, None] - source.u)
        through = q.transpose(0, 1, 3, 2)
    return target.sign * through.reshape(target.count, source.count) / (4.0 * np.pi * target.area[:, None])


def _arsinh(of: Array, one: Array, two: Array) -> Array:
    return np.asarray(np.arcsinh(of / np.sqrt(one * one + two * two + TINY**2)))


def _arctan(x: Array, y: Array, below: Array) -> Array:
    """arctan(x y / below), 0 where `below` is 0: the factor in front of it vanishes there or both sides cancel."""
    return np.where(below == 0.0, 0.0, np.arctan(x * y / np.where(below == 0.0, 1.0, below)))


def _parallel(target: Face, source: Face) -> Array:
    """Flux (u, v of the target, u, v of the source) along the shared axis."""
    x = (target.u[:, None] - source.u[None, :])[:, None, :, None]
    y = (target.v[:, None] - source.v[None, :])[None, :, None, :]
    z = np.array(target.at - source.at)
    if z == 0.0:
        return np.zeros((len(target.u) - 1, len(target.v) - 1, len(source.u) - 1, len(source.v) - 1))
    r = np.sqrt(x * x + y * y + z * z)
    p = x * y * _arctan(x, y, z * r) + x * z * _arsinh(x, y, z) + y * z * _arsinh(y, x, z) - z * r
    for axis in range(4):
        p = np.diff(p, axis=axis)
    return p


def _perpendicular(x: Array, z: Array, y: Array) -> Array:
    """Flux (z and y of the target, x and y of the source). x (m,): target's plane minus source lines; z (n,): target lines
    minus source's plane; y (k, l): target lines minus source lines along the axis both share."""
    x4, z4, y4 = x[None, None, :, None], z[:, None, None, None], y[None, :, None, :]
    r = np.sqrt(x4 * x4 + y4 * y4 + z4 * z4)
    q = x4 * y4 * _arctan(y4, z4, x4 * r) + 0.5 * (x4 * x4 - y4 * y4) * _arsinh(z4, x4, y4)
    q += 0.5 * z4 * r - y4 * z4 * _arsinh(y4, x4, z4)
    for axis in range(4):
        q = np.diff(q, axis=axis)
    return q
