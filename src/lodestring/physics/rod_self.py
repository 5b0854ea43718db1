"""What a rod's own surface charge does to itself: normal field at its nodes from its charge, K'.

Ring field times Lagrange polynomial, integrated over each panel: 4 Gauss points from afar; close by, the panel is split
at the point nearest the target and the distance from there mapped by sinh (on the panel itself by a cube), 6 points
each side. The field normal to a disc from charge on the same disc is zero. The diagonal follows from Gauss's law,
exactly: a charge on the surface sends half its flux inward, so sum_i A_i K'_ij = A_j / 2. For a high permeability the
charge would otherwise drift by mu times the quadrature error.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray

from lodestring.physics.ring import Array, ring_field
from lodestring.physics.rod_mesh import POINTS, RodMesh, RodShape, basis, rod_mesh

FAR = 1.5
"""A target further than this many panel lengths sees the panel smoothly."""
FAR_POINTS, NEAR_POINTS = 4, 6


@lru_cache(maxsize=64)
def self_block(shape: RodShape) -> Array:
    """K' (n, n) [1] of one rod: normal field at node i from the charge of node j; depends on length / radius alone."""
    mesh = rod_mesh(shape)
    block = np.zeros((mesh.count, mesh.count))
    for p, (start, end) in enumerate(mesh.ends):
        block[:, p * POINTS : (p + 1) * POINTS] = _from_panel(mesh, p, start, end - start)
    block[_same_disc(mesh)] = 0.0
    np.fill_diagonal(block, 0.0)
    np.fill_diagonal(block, 0.5 - (mesh.area @ block) / mesh.area)
    block.flags.writeable = False
    return block


def _from_panel(mesh: RodMesh, p: int, start: Array, step: Array) -> Array:
    """Columns (n, POINTS): normal field at every node from the three charges of panel p."""
    length = float(np.hypot(*step))
    dr, dz = mesh.rho - start[0], mesh.z - start[1]
    nearest = np.clip((dr * step[0] + dz * step[1]) / length**2, 0.0, 1.0)
    off = np.hypot(dr - nearest * step[0], dz - nearest * step[1]) / length
    columns = np.zeros((mesh.count, POINTS))
    far = off > FAR
    for rows, (t, weight) in ((far, _far_rule(int(far.sum()))), (~far, _near_rule(nearest[~far], off[~far]))):
        rho, z = start[0] + t * step[0], start[1] + t * step[1]
        h_rho, h_z = ring_field(mesh.rho[rows, None], mesh.z[rows, None] - z, rho)
        normal = h_rho * mesh.n_rho[rows, None] + h_z * mesh.n_z[rows, None]
        charge = 2.0 * np.pi * rho * weight * length
        columns[rows] = np.einsum("it,itk->ik", normal * charge, basis(t))
    return columns


def _far_rule(rows: int) -> tuple[Array, Array]:
    """Gauss points and weights (rows, 4) on [0, 1]."""
    v, w = leggauss(FAR_POINTS)
    return np.tile(0.5 * (v + 1.0), (rows, 1)), np.tile(0.5 * w, (rows, 1))


def _near_rule(nearest: Array, off: Array) -> tuple[Array, Array]:
    """Points and weights (rows, 12) on [0, 1], crowded toward `nearest` as `off` (distance / panel length) demands."""
    v, w = leggauss(NEAR_POINTS)
    v, w = 0.5 * (v + 1.0), 0.5 * w
    points, weights = [], []
    for sign, room in ((-1.0, nearest), (1.0, 1.0 - nearest)):
        d = np.where(off > 1e-12, off, 1.0)[:, None]
        reach = np.arcsinh(room[:, None] / d)
        u = np.where(off[:, None] > 1e-12, d * np.sinh(reach * v), room[:, None] * v**3)
        du = np.where(off[:, None] > 1e-12, d * np.cosh(reach * v) * reach, 3.0 * room[:, None] * v**2)
        points.append(nearest[:, None] + sign * u)
        weights.append(w * du)
    return np.concatenate(points, axis=1), np.concatenate(weights, axis=1)


def _same_disc(mesh: RodMesh) -> NDArray[np.bool_]:
    """(n, n) True where both nodes lie on one end disc."""
    disc = ~mesh.side
    same: NDArray[np.bool_] = disc[:, None] & disc[None, :] & (mesh.z[:, None] == mesh.z[None, :])
    return same
