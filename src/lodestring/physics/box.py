"""Field of charged rectangles: the brick of every rectangular body.

A face is a grid of rectangles (panels) on one plane across an axis. On each panel the charge is bilinear, given by its
values at the 2 x 2 Gauss points (nodes). With (U, V, W) = point minus corner, W along the face's axis, R its length,
the field of a charge U^a V^b follows from elementary integrals of R / R^3 over U and V, taken with alternating sign
over the four corners; T = arctan(U V / (W R)), A = arsinh(U / sqrt(V^2 + W^2)), B = arsinh(V / sqrt(U^2 + W^2)):

    a, b       0, 0     1, 0           0, 1           1, 1
    4 pi H_w   T        -W B           -W A           -W R
    4 pi H_u   -B       V A - W T      -R             -[U R - (V^2 + W^2) A] / 2          H_v likewise

Neighbours share their corners, so a grid costs one evaluation a corner, not four a panel.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from lodestring.physics.ring import Array

TINY = 1e-18
"""Metres. On an edge the field grows as a logarithm; closer than this it is held, so that nothing is infinite."""
GAUSS = 1.0 / math.sqrt(3.0)
ALL = (0, 1, 2)


@dataclass(frozen=True, eq=False)
class Face:
    """Panels between the lines `u` (m + 1,) and `v` (n + 1,) [m, rising] on the plane `at` [m] across `axis` (0, 1, 2).

    u runs along the next axis in the order x y z x, v along the one after it. `sign` +1 or -1: outward along the axis
    or against it. The nodes of all panels form one grid of 2 m by 2 n, numbered with v fastest.
    """

    axis: int
    sign: float
    at: float
    u: Array
    v: Array

    @property
    def count(self) -> int:
        return 4 * (len(self.u) - 1) * (len(self.v) - 1)

    @property
    def area(self) -> Array:
        """Area that each node stands for (count,) [m^2]."""
        return np.outer(np.repeat(np.diff(self.u) / 2, 2), np.repeat(np.diff(self.v) / 2, 2)).ravel()

    def place(self, u: Array, v: Array) -> Array:
        """Points (m n, 3) of the grid u (m,) by v (n,) on the face's plane, v fastest."""
        out = np.empty((len(u), len(v), 3))
        out[..., self.axis] = self.at
        out[..., (self.axis + 1) % 3] = u[:, None]
        out[..., (self.axis + 2) % 3] = v[None, :]
        return out.reshape(-1, 3)

    @property
    def nodes(self) -> Array:
        """Place of each node (count, 3) [m]."""
        return self.place(_gauss(self.u), _gauss(self.v))

    def moved(self, by: Array) -> Face:
        """The same face shifted by a vector (3,) [m]."""
        a, b = (self.axis + 1) % 3, (self.axis + 2) % 3
        return Face(self.axis, self.sign, self.at + float(by[self.axis]), self.u + by[a], self.v + by[b])


def _gauss(lines: Array) -> Array:
    """Two Gauss points in every interval."""
    middle, half = (lines[1:] + lines[:-1]) / 2, np.diff(lines) / 2
    return np.stack([middle - GAUSS * half, middle + GAUSS * half], axis=1).ravel()


def faces_of(centre: Array, size: Array) -> tuple[Face, ...]:
    """The six faces of a box, one panel each: -x, +x, -y, +y, -z, +z."""
    low, high = centre - size / 2, centre + size / 2
    out = []
    for axis in ALL:
        a, b = (axis + 1) % 3, (axis + 2) % 3
        u, v = np.array([low[a], high[a]]), np.array([low[b], high[b]])
        out += [Face(axis, -1.0, float(low[axis]), u, v), Face(axis, 1.0, float(high[axis]), u, v)]
    return tuple(out)


def face_field(face: Face, points: Array, components: tuple[int, ...] = ALL) -> Array:
    """H (k, len(components), count) [1] at points (k, 3) [m] per charge density at each node; components 0, 1, 2 = x,
    y, z.

    On the face's own plane the normal component is zero, the mean of its two sides. On an edge the field is infinite;
    it is held at a finite value. Rounding: about 1e-16 (distance / panel)^3 of the value.
    """
    a, b = (face.axis + 1) % 3, (face.axis + 2) % 3
    in_u = [c[..., None, None] for c in _nodal(points[:, a], face.u)]  # (k, m, 2, 1, 1)
    in_v = [c[:, None, None] for c in _nodal(points[:, b], face.v)]  # (k, 1, 1, n, 2)
    out = np.empty((len(points), len(components), face.count))
    for row, parts in enumerate(_integrals(face, points, components)):
        one, of_u, of_v, both = (p[:, :, None, :, None] for p in parts)
        nodes = in_v[0] * (in_u[0] * one + in_u[1] * of_u) + in_v[1] * (in_u[0] * of_v + in_u[1] * both)
        out[:, row] = nodes.reshape(len(points), face.count)
    out /= 4.0 * math.pi
    return out


def charged_field(face: Face, points: Array, charge: Array) -> Array:
    """H (k, 3, c) [A/m] at points (k, 3) [m] of a face whose nodes carry charge (count, c) [A/m]: what `face_field`
    times the charge gives, at less cost for a few charges.

    The charge of a panel is q0 + q1 u + q2 v + q3 u v in the place of the source; with u = point - U it is one of U, V.
    """
    a, b = (face.axis + 1) % 3, (face.axis + 2) % 3
    at = charge.reshape(len(face.u) - 1, 2, len(face.v) - 1, 2, -1)
    zero = np.zeros(1)
    (u0, u1), (v0, v1) = ([c[0] for c in _nodal(zero, lines)] for lines in (face.u, face.v))  # (m, 2), (n, 2)
    # _nodal at the origin: U = -place, so the factor of U changes sign to become that of the place
    q = [np.einsum("ma,nb,manbc->mnc", f, g, at) for f, g in ((u0, v0), (-u1, v0), (u0, -v1), (-u1, -v1))]
    x, y = points[:, a, None, None], points[:, b, None, None]
    out = np.empty((len(points), 3, charge.shape[1]))
    for row, (one, of_u, of_v, both) in enumerate(_integrals(face, points, ALL)):
        parts = (one, x * one - of_u, y * one - of_v, x * y * one - y * of_u - x * of_v + both)
        out[:, row] = sum(np.tensordot(p, f, axes=2) for p, f in zip(parts, q, strict=True))
    out /= 4.0 * math.pi
    return out


def _integrals(face: Face, points: Array, components: tuple[int, ...]) -> Iterator[tuple[Array, Array, Array, Array]]:
    """4 pi H of charge 1, U, V and U V on each panel (k, m, n), one component after the other."""
    a, b, c = (face.axis + 1) % 3, (face.axis + 2) % 3, face.axis
    u = points[:, a, None, None] - face.u[:, None]
    v = points[:, b, None, None] - face.v[None, :]
    w = points[:, c, None, None] - face.at
    ww = w * w + TINY**2
    vw, uw = v * v + ww, u * u + ww
    r = np.sqrt(u * u + vw)
    on = w == 0.0
    turn = np.where(on, 0.0, np.arctan(u * v / (np.where(on, 1.0, w) * r)))
    by_u, by_v = np.arcsinh(u / np.sqrt(vw)), np.arcsinh(v / np.sqrt(uw))
    for component in components:
        if component == c:
            parts = (turn, -w * by_v, -w * by_u, -w * r)
        elif component == a:
            parts = (-by_v, v * by_u - w * turn, -r, 0.5 * (vw * by_u - u * r))
        else:
            parts = (-by_u, -r, u * by_v - w * turn, 0.5 * (uw * by_v - v * r))
        one, of_u, of_v, both = (_corners(p) for p in parts)
        yield one, of_u, of_v, both


def _corners(values: Array) -> Array:
    """Alternating sum (k, m, n) over the corners of each panel from values (k, m + 1, n + 1)."""
    along = values[:, 1:] - values[:, :-1]
    return along[:, :, 1:] - along[:, :, :-1]


def _nodal(at: Array, lines: Array) -> tuple[Array, Array]:
    """Coefficients (k, m, 2) of 1 and U in each node's linear function of the source's place, U = point minus place."""
    middle, half = (lines[1:] + lines[:-1]) / 2, np.diff(lines) / 2
    side = np.array([-1.0, 1.0]) / (2.0 * GAUSS)
    slope = side / half[:, None]
    first = 0.5 + slope * (at[:, None, None] - middle[:, None])
    return first, np.broadcast_to(-slope, first.shape)


def box_field(centre: Array, size: Array, magnetisation: Array, points: Array) -> Array:
    """H (k, 3) [A/m] at points (k, 3) [m] of a uniformly magnetised box, magnetisation (3,) [A/m].

    Charge M.n on the six faces. Inside, this is the demagnetising field; mu_0 (H + M) is B there.
    """
    out = np.zeros((len(points), 3))
    for face in faces_of(centre, size):
        charge = face.sign * float(magnetisation[face.axis])
        if charge:
            out += charge * face_field(face, points).sum(axis=2)
    return out
