"""Nodes of one rod: rings on its side and its two end faces, where the surface charge lives.

A rod of uniform permeability in any field carries charge on its surface only, so this charge is the exact unknown. It
is a polynomial on each panel (3 Gauss points), with panels that crowd toward the edges, where it grows without bound.
Nodes run bottom disc, side, top disc. Lengths in metres; z from the rod's middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.ring import Array

POINTS = 3
SIDE_HALF = {"m": (0.0, 0.35, 0.68, 0.92, 1.0), "f": (0.0, 0.33, 0.62, 0.84, 0.96, 1.0)}
"""Ends of the panels from the middle of the side to its edge. The middle ones must not be long: the edge of a low coil
lies over them, and with (0, 0.6, 0.92, 1) a 4 mm coil at one end of a steel rod was 0.9 per cent off in L."""
DISC = {"m": (0.0, 0.75, 1.0), "f": (0.0, 0.6, 0.9, 1.0)}


@dataclass(frozen=True, slots=True)
class RodShape:
    """Length and radius [m], and the mesh: "m" (36 nodes) or "f" (48 nodes)."""

    length: float
    radius: float
    mesh: str = "m"


@dataclass(frozen=True)
class RodMesh:
    """Nodes (n,): ring radius `rho`, height `z`, area `area` [m^2], normal components `n_rho`, `n_z` (0 or +-1).

    Panels (p,): ends (rho, z) of each, and `panel` (n,) tells which panel a node lies on; nodes of a panel are
    neighbours. `side` (n,) marks the nodes of the cylinder's side.
    """

    shape: RodShape
    rho: Array
    z: Array
    area: Array
    n_rho: Array
    n_z: Array
    side: NDArray[np.bool_]
    panel: NDArray[np.intp]
    ends: Array  # (p, 2, 2): panel, end, (rho, z)

    @property
    def count(self) -> int:
        return len(self.rho)


@lru_cache(maxsize=64)
def rod_mesh(shape: RodShape) -> RodMesh:
    """The mesh of a rod. Raises DomainError for a shape without volume."""
    if not (0.0 < shape.length < np.inf and 0.0 < shape.radius < np.inf):
        raise DomainError("a rod has length and radius above 0", f"{shape.length:g} m, {shape.radius:g} m")
    half, a = shape.length / 2, shape.radius
    rise = [f * half for f in SIDE_HALF[shape.mesh]]
    side = [(-hi, -lo) for lo, hi in zip(rise[-2::-1], rise[:0:-1], strict=True)]
    side += list(pairwise(rise))
    radii = [f * a for f in DISC[shape.mesh]]
    rings = list(pairwise(radii))
    panels = [((lo, -half), (hi, -half)) for lo, hi in rings]
    panels += [((a, lo), (a, hi)) for lo, hi in side]
    panels += [((lo, half), (hi, half)) for lo, hi in rings]
    points, weights = leggauss(POINTS)
    ends = np.array(panels)
    step = ends[:, 1] - ends[:, 0]
    where = ends[:, :1] + step[:, None] * (0.5 * (points + 1.0))[None, :, None]
    length = np.hypot(step[:, 0], step[:, 1])
    rho, z = where[..., 0].ravel(), where[..., 1].ravel()
    area = 2.0 * np.pi * rho * (0.5 * weights[None, :] * length[:, None]).ravel()
    is_side = np.repeat(step[:, 0] == 0.0, POINTS)
    top = np.repeat((step[:, 0] != 0.0) & (ends[:, 0, 1] > 0.0), POINTS)
    n_z = np.where(is_side, 0.0, np.where(top, 1.0, -1.0))
    return RodMesh(
        shape, rho, z, area, np.where(is_side, 1.0, 0.0), n_z, is_side, np.repeat(np.arange(len(panels)), POINTS), ends
    )


@lru_cache(maxsize=4)
def lagrange(points: int) -> tuple[Array, Array]:
    """Gauss points on [0, 1] and the matrix of their Lagrange polynomials: basis_j(t) = sum_k c[k, j] t^k."""
    nodes = 0.5 * (leggauss(points)[0] + 1.0)
    return nodes, np.asarray(np.linalg.inv(np.vander(nodes, increasing=True)), dtype=np.float64)


def basis(t: Array) -> Array:
    """Lagrange basis (..., POINTS) of a panel's charge at positions t (...) on [0, 1]."""
    _, coefficients = lagrange(POINTS)
    return np.stack([t**k for k in range(POINTS)], axis=-1) @ coefficients
