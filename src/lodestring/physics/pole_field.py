"""Field of the charge on rods at points outside them.

The charge of each panel is read off its polynomial at 8 Gauss points and laid on rings; what varies round a rod's side
is laid on 16 points of each side ring.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.polynomial.legendre import leggauss

from lodestring.physics.poles import Lateral, Numbers, PoleSystem
from lodestring.physics.ring import Array, ring_field
from lodestring.physics.rod_mesh import POINTS, RodShape, basis, rod_mesh
from lodestring.physics.rod_pair import HARMONICS

FINE = 8
FAR = 3.0
"""Points this many radii from the axis and more see the nodes' own rings well enough."""
ROUND = 16


@lru_cache(maxsize=64)
def _fine_rings(shape: RodShape) -> tuple[Array, Array, Array]:
    """Rings (r,) of radius and height for one rod, and the matrix (r, n) from node charges to their total charges."""
    mesh = rod_mesh(shape)
    v, w = leggauss(FINE)
    t, w = 0.5 * (v + 1.0), 0.5 * w
    step = mesh.ends[:, 1] - mesh.ends[:, 0]
    rho = (mesh.ends[:, :1, 0] + step[:, :1] * t).ravel()
    z = (mesh.ends[:, :1, 1] + step[:, 1:] * t).ravel()
    length = np.hypot(step[:, 0], step[:, 1])
    share = basis(t)
    spread = np.zeros((len(rho), mesh.count))
    for p in range(len(step)):
        rows, columns = slice(p * FINE, (p + 1) * FINE), slice(p * POINTS, (p + 1) * POINTS)
        spread[rows, columns] = share * (2.0 * np.pi * rho[rows] * w * length[p])[:, None]
    return rho, z, spread


@lru_cache(maxsize=64)
def _node_rings(shape: RodShape) -> tuple[Array, Array, Array]:
    """The nodes themselves as rings, for points well away from the rod's axis."""
    mesh = rod_mesh(shape)
    return mesh.rho, mesh.z, np.diag(mesh.area)


def field_operator(system: PoleSystem, points: Array) -> Array:
    """Matrix (k, 3, count): H [A/m] at points (k, 3) [m] outside the rods per charge density [A/m] of each node."""
    out = np.empty((len(points), 3, system.count))
    for rod, where in zip(system.rods, system.slices, strict=True):
        dx, dy = points[:, 0] - rod.x, points[:, 1] - rod.y
        rho = np.hypot(dx, dy)
        far = len(points) > 0 and float(np.min(rho)) > FAR * rod.radius
        rings, heights, spread = (_node_rings if far else _fine_rings)(rod.shape(system.mesh_name))
        h_rho, h_z = ring_field(rho[:, None], (points[:, 2] - rod.z)[:, None] - heights, rings)
        safe = np.where(rho > 0.0, rho, 1.0)
        radial = h_rho @ spread
        out[:, 0, where] = radial * (dx / safe)[:, None]
        out[:, 1, where] = radial * (dy / safe)[:, None]
        out[:, 2, where] = h_z @ spread
    return out


def lateral_field(system: PoleSystem, lateral: Lateral, points: Array) -> Numbers:
    """H (k, 3) at points from the charge that varies round the rods' sides."""
    side = np.flatnonzero(system.side)
    phi = (np.arange(ROUND) + 0.5) * 2.0 * np.pi / ROUND
    density = np.zeros((len(side), ROUND), dtype=np.result_type(lateral.cosine))
    for k, m in enumerate(HARMONICS):
        density += lateral.cosine[k, side, None] * np.cos(m * phi) + lateral.sine[k, side, None] * np.sin(m * phi)
    charge = (density * system.area[side, None] / ROUND).ravel()
    x, y = system.axis
    px = (x[side, None] + system.rho[side, None] * np.cos(phi)).ravel()
    py = (y[side, None] + system.rho[side, None] * np.sin(phi)).ravel()
    pz = np.broadcast_to(system.z[side, None], density.shape).ravel()
    apart = points[:, None, :] - np.stack([px, py, pz], axis=-1)
    weight = charge / (4.0 * np.pi * np.einsum("kqc,kqc->kq", apart, apart) ** 1.5)
    field: Numbers = np.einsum("kq,kqc->kc", weight, apart)
    return field
