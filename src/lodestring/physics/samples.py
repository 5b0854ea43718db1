"""Where an applied field is asked for on bodies, and how its values become one number for each node.

A rod's node stands for a ring: the plain mean of equally spaced points. A panel's node stands for its function on the
panel: the mean weighted with that function, by Gauss points that are the node itself on small panels and more on large
ones, so that the field of a winding close by is seen as it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.polynomial.legendre import leggauss

from lodestring.physics.box import GAUSS
from lodestring.physics.panels import BoxShape, PanelMesh, panel_mesh
from lodestring.physics.pole_field import _fine_rings
from lodestring.physics.poles import Numbers, PoleSystem
from lodestring.physics.ring import Array
from lodestring.physics.rod_mesh import RodShape, rod_mesh

ANGLES, NEAR_ANGLES = 8, 16
FINE = 3e-3
"""Metres. Wider panels get more points than their nodes: about one for every such length, and one more."""
MOST = 8


@dataclass(frozen=True, eq=False)
class Samples:
    """Points (q, 3) [m], outward normals (q, 3), the number of the body (q,) each lies on, and the sparse matrix
    (count, q) of their weights: each row adds up to 1."""

    points: Array
    normals: Array
    body: np.ndarray
    weights: Any

    def mean(self, values: Numbers) -> Numbers:
        """Mean (count,) over each node of values (q,), or (count, k) of (q, k): a potential, say."""
        return np.asarray(self.weights @ values)

    def normal(self, field: Numbers) -> Numbers:
        """Mean normal component (count,) of a field (q, 3)."""
        return self.mean(np.einsum("qx,qx->q", field, self.normals))


def rod_samples(poles: PoleSystem) -> Samples:
    """Points round the rings of all rods."""
    from scipy import sparse

    ring, phi = poles.ring_points(ANGLES)
    outward = np.stack([np.cos(phi), np.sin(phi), np.zeros_like(phi)], axis=-1)
    normals = poles.n_rho[:, None, None] * outward
    normals[..., 2] += poles.n_z[:, None]
    body = np.concatenate([np.full(ANGLES * m.count, k) for k, m in enumerate(poles.meshes)])
    weights = sparse.kron(sparse.identity(poles.count), np.full((1, ANGLES), 1.0 / ANGLES), format="csr")
    return Samples(ring.reshape(-1, 3), normals.reshape(-1, 3), body, weights)


@lru_cache(maxsize=64)
def near_rod_samples(shape: RodShape) -> Samples:
    """Many points on a rod about its own middle, for a magnet close by whose edges the nodes alone would miss: more
    rings on each panel, weighted with each node's polynomial."""
    from scipy import sparse

    mesh = rod_mesh(shape)
    rho, z, spread = _fine_rings(shape)
    panel = np.repeat(np.arange(len(mesh.ends)), len(rho) // len(mesh.ends))
    node = np.searchsorted(mesh.panel, panel)  # any node of the panel: all have one normal
    phi = (np.arange(NEAR_ANGLES) + 0.5) * 2.0 * np.pi / NEAR_ANGLES
    out = np.stack([np.cos(phi), np.sin(phi), np.zeros_like(phi)], axis=-1)
    up = np.array([0.0, 0.0, 1.0])
    points = rho[:, None, None] * out + z[:, None, None] * up
    normals = mesh.n_rho[node, None, None] * out + mesh.n_z[node, None, None] * up
    rings = sparse.csr_matrix((spread / mesh.area).T)
    weights = sparse.kron(rings, np.full((1, NEAR_ANGLES), 1.0 / NEAR_ANGLES), format="csr")
    count = len(rho) * NEAR_ANGLES
    return Samples(points.reshape(-1, 3), normals.reshape(-1, 3), np.zeros(count, dtype=np.intp), weights)


@lru_cache(maxsize=64)
def box_samples(shape: BoxShape) -> Samples:
    """Points on the panels of a box about its own middle; the body's number is 0."""
    from scipy import sparse

    mesh: PanelMesh = panel_mesh(shape)
    points, normals, weights = [], [], []
    for face in mesh.faces:
        (u, of_u), (v, of_v) = _along(face.u), _along(face.v)
        points.append(face.place(u, v))
        normal = np.zeros((len(u) * len(v), 3))
        normal[:, face.axis] = face.sign
        normals.append(normal)
        weights.append(sparse.kron(of_u, of_v, format="csr"))
    where = np.concatenate(points)
    return Samples(
        where, np.concatenate(normals), np.zeros(len(where), dtype=np.intp), sparse.block_diag(weights, format="csr")
    )


def joined(parts: list[Samples], moves: list[Array]) -> Samples:
    """Several in one, each moved by a vector (3,) [m], their bodies numbered on."""
    from scipy import sparse

    body, start = [], 0
    for part in parts:
        body.append(part.body + start)
        start += int(part.body.max()) + 1
    return Samples(
        np.concatenate([p.points + m for p, m in zip(parts, moves, strict=True)]),
        np.concatenate([p.normals for p in parts]),
        np.concatenate(body),
        sparse.block_diag([p.weights for p in parts], format="csr"),
    )


def _along(lines: Array) -> tuple[Array, Any]:
    """Points (q,) between the lines and the weights (2 m, q) of the two nodes of each interval."""
    from scipy import sparse

    points, weights = [], []
    for low, high in pairwise(lines):
        width = high - low
        count = 2 if width <= FINE else min(MOST, math.ceil(width / FINE) + 1)
        t, w = leggauss(count)
        points.append(low + 0.5 * (t + 1.0) * width)
        # a node stands for half of the interval, so its weights add up to 1
        weights.append(0.5 * w * np.stack([1.0 - t / GAUSS, 1.0 + t / GAUSS]))
    return np.concatenate(points), sparse.block_diag(weights, format="csr")
