"""Field of uniformly charged rectangles: the brick of every rectangular body.

A face is a grid of rectangles (panels) on one plane across an axis. With (u, v, w) = point minus corner, w along the face's
axis and r the distance from the corner, unit charge density on a rectangle gives, H = -grad of charge / (4 pi r),

    4 pi H_w =  [ arctan(u v / (w r)) ],   4 pi H_u = -[ arsinh(v / sqrt(u^2 + w^2)) ],   H_v likewise,

the brackets taken with alternating sign over the four corners (elementary integrals of R / R^3). Neighbours share their
corners, so a grid costs one evaluation a corner, not four a panel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lodestring.physics.ring import Array

TINY = 1e-18
"""Metres. On an edge the field grows as a logarithm; closer than this it is held, so that nothing is infinite."""


@dataclass(frozen=True, eq=False)
class Face:
    """Panels between the lines `u` (m + 1,) and `v` (n + 1,) [m, rising] on the plane `at` [m] across `axis` (0, 1, 2).

    u runs along the next axis in the order x y z x, v along the one after it. `sign` +1 or -1: outward along the axis or
    against it. Panels are numbered with v fastest.
    """

    axis: int
    sign: float
    at: float
    u: Array
    v: Array

    @property
    def count(self) -> int:
        return (len(self.u) - 1) * (len(self.v) - 1)

    @property
    def area(self) -> Array:
        """Area of each panel (count,) [m^2]."""
        return np.outer(np.diff(self.u), np.diff(self.v)).ravel()

    def place(self, u: Array, v: Array) -> Array:
        """Points (..., 3) on the face's plane at coordinates u, v."""
        out = np.empty((*np.broadcast_shapes(u.shape, v.shape), 3))
        out[..., self.axis] = self.at
        out[..., (self.axis + 1) % 3] = u
        out[..., (self.axis + 2) % 3] = v
        return out

    @property
    def middles(self) -> Array:
        """Middle of each panel (count, 3)."""
        u, v = (self.u[1:] + self.u[:-1]) / 2, (self.v[1:] + self.v[:-1]) / 2
        return self.place(u[:, None], v[None, :]).reshape(-1, 3)

    def part(self, u: slice, v: slice) -> Face:
        """The panels u, v (slices of panels with a start and a stop) as a face of their own."""
        return Face(
            self.axis, self.sign, self.at, self.u[u.start : u.stop + 1], self.v[v.start : v.stop + 1]
        )


def faces_of(centre: Array, size: Array) -> tuple[Face, ...]:
    """The six faces of a box, one panel each: -x, +x, -y, +y, -z, +z."""
    low, high = centre - size / 2, centre + size / 2
    out = []
    for axis in range(3):
        a, b = (axis + 1) % 3, (axis + 2) % 3
        u, v = np.array([low[a], high[a]]), np.array([low[b], high[b]])
        out += [Face(axis, -1.0, float(low[axis]), u, v), Face(axis, 1.0, float(high[axis]), u, v)]
    return tuple(out)


def face_field(face: Face, points: Array) -> Array:
    """H (k, 3, count) [1] at points (k, 3) [m] per unit charge density on each panel.

    On the face's own plane H_w is zero, the mean of its two sides. Error near 1e-15 of the largest corner term, so about
    (distance / panel)^2 times that from afar.
    """
    a, b, c = (face.axis + 1) % 3, (face.axis + 2) % 3, face.axis
    u = points[:, a, None, None] - face.u[:, None]
    v = points[:, b, None, None] - face.v[None, :]
    w = points[:, c, None, None] - face.at
    uu, vv, ww = u * u, v * v, w * w
    r = np.sqrt(uu + vv + ww)
    safe = np.where(w == 0.0, 1.0, w) * np.where(r == 0.0, 1.0, r)
    out = np.empty((len(points), 3, face.count))
    normal = np.where(w == 0.0, 0.0, np.arctan(u * v / safe))
    for component, corner, sign in (
        (c, normal, 1.0),
        (a, np.arcsinh(v / np.sqrt(uu + ww + TINY**2)), -1.0),
        (b, np.arcsinh(u / np.sqrt(vv + ww + TINY**2)), -1.0),
    ):
        out[:, component] = sign / (4.0 * np.pi) * np.diff(np.diff(corner, axis=1), axis=2).reshape(len(points), -1)
    return out


def box_field(centre: Array, size: Array, magnetisation: Array, points: Array) -> Array:
    """H (k, 3) [A/m] at points (k, 3) [m] of a uniformly magnetised box, magnetisation (3,) [A/m].

    Charge M.n on the six faces. Inside, this is the demagnetising field.
    """
    out = np.zeros((len(points), 3))
    for face in faces_of(centre, size):
        charge = face.sign * float(magnetisation[face.axis])
        if charge:
            out += charge * face_field(face, points)[:, :, 0]
    return out
