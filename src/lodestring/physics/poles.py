"""Upright rods of one pickup as one system of equations: charge on every rod from any field and any magnetisation.

    [(mu + 1) / 2] sigma - (mu - 1) K' sigma = (mu - 1) H_n            in a field
                                             = (B_r / mu_0) M_n        of the rods' own axial magnetisation

K' holds each rod on itself and every rod on every other. sigma = M.n is the exact unknown for a uniform permeability;
it is taken as axisymmetric, and what neighbours and coil draw to one side of a rod is added to first order (see
`lateral`). mu may be complex: the same matrix then answers at a frequency.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.ring import Array
from lodestring.physics.rod_mesh import RodMesh, RodShape, rod_mesh
from lodestring.physics.rod_pair import HARMONICS, PairBlock, pair_block
from lodestring.physics.rod_self import self_block

MU0 = 4e-7 * math.pi
Numbers = NDArray[Any]
"""float64, or complex128 at a frequency: numpy's types cannot say that a sum of either kind is of that kind."""


@dataclass(frozen=True, slots=True)
class Rod:
    """An upright cylinder: middle (x, y, z), length, radius [m], relative (recoil) permeability; real or complex."""

    x: float
    y: float
    z: float
    length: float
    radius: float
    mu: complex

    def shape(self, mesh: str) -> RodShape:
        return RodShape(self.length, self.radius, mesh)


@dataclass(frozen=True)
class Lateral:
    """Charge that varies round each rod's side: cos and sin parts (3, n) of harmonics 1, 2, 3; zero off the side."""

    cosine: Numbers
    sine: Numbers


class PoleSystem:
    """Rods that act on each other. Nodes of all rods stand one after the other; `slices` tells which are whose."""

    def __init__(self, rods: Sequence[Rod], mesh: str = "m") -> None:
        if not rods:
            raise DomainError("a system of pole pieces has at least one", "none")
        for i, rod in enumerate(rods):
            if not all(map(math.isfinite, (rod.x, rod.y, rod.z, complex(rod.mu).real, complex(rod.mu).imag))):
                raise DomainError("place and permeability of a pole piece are finite", f"{rod} for number {i + 1}")
            # at a frequency the axial permeability may fall below 1: only what is given real is held to it
            if not complex(rod.mu).real >= 1.0 and not isinstance(rod.mu, complex):
                raise DomainError("a relative permeability is 1 or more", f"{rod.mu:g} for pole piece {i + 1}")
        self.rods = tuple(rods)
        self.mesh_name = mesh
        self.meshes: tuple[RodMesh, ...] = tuple(rod_mesh(r.shape(mesh)) for r in rods)
        ends = np.cumsum([0, *(m.count for m in self.meshes)])
        self.slices = tuple(slice(int(a), int(b)) for a, b in pairwise(ends))
        self.count = int(ends[-1])
        _refuse_overlap(self.rods)

    # ---- geometry of all nodes ----

    def _all(self, name: str) -> Array:
        return np.concatenate([getattr(m, name) for m in self.meshes])

    @cached_property
    def area(self) -> Array:
        return self._all("area")

    @cached_property
    def rho(self) -> Array:
        return self._all("rho")

    @cached_property
    def z(self) -> Array:
        """Height of each node in the frame of the rods' z."""
        return np.concatenate([m.z + r.z for m, r in zip(self.meshes, self.rods, strict=True)])

    @cached_property
    def n_z(self) -> Array:
        return self._all("n_z")

    @cached_property
    def n_rho(self) -> Array:
        return self._all("n_rho")

    @cached_property
    def side(self) -> NDArray[np.bool_]:
        return np.concatenate([m.side for m in self.meshes])

    @cached_property
    def mu(self) -> Numbers:
        """Permeability of the rod each node is on."""
        return np.concatenate([np.full(m.count, r.mu) for m, r in zip(self.meshes, self.rods, strict=True)])

    @cached_property
    def axis(self) -> tuple[Array, Array]:
        """x and y of the rod each node is on."""
        xs = [np.full(m.count, r.x) for m, r in zip(self.meshes, self.rods, strict=True)]
        ys = [np.full(m.count, r.y) for m, r in zip(self.meshes, self.rods, strict=True)]
        return np.concatenate(xs), np.concatenate(ys)

    def ring_points(self, angles: int) -> tuple[Array, Array]:
        """Points (n, angles, 3) round every node's ring, at the middles of equal parts, and the angles (angles,)."""
        phi = (np.arange(angles) + 0.5) * 2.0 * np.pi / angles
        x, y = self.axis
        px = x[:, None] + self.rho[:, None] * np.cos(phi)
        py = y[:, None] + self.rho[:, None] * np.sin(phi)
        return np.stack([px, py, np.broadcast_to(self.z[:, None], px.shape)], axis=-1), phi

    # ---- the matrix ----

    @cached_property
    def _pairs(self) -> dict[tuple[int, int], tuple[PairBlock, float]]:
        """Block and direction (angle from target to source) of every ordered pair."""
        found = {}
        for i, to in enumerate(self.rods):
            for j, of in enumerate(self.rods):
                if i != j:
                    distance = math.hypot(of.x - to.x, of.y - to.y)
                    block = pair_block(
                        to.shape(self.mesh_name),
                        of.shape(self.mesh_name),
                        round(distance, 9),
                        round(of.z - to.z, 9),
                    )
                    found[i, j] = (block, math.atan2(of.y - to.y, of.x - to.x))
        return found

    @cached_property
    def influence(self) -> Array:
        """K' (count, count) of all rods."""
        whole = np.zeros((self.count, self.count))
        for i, (rod, where) in enumerate(zip(self.rods, self.slices, strict=True)):
            whole[where, where] = self_block(rod.shape(self.mesh_name))
            for j, other in enumerate(self.slices):
                if i != j:
                    whole[where, other] = self._pairs[i, j][0].mean
        return whole

    @cached_property
    def _inverse(self) -> Numbers:
        """Inverse of the system's matrix: a few hundred unknowns, asked many times."""
        matrix = -(self.mu - 1.0)[:, None] * self.influence
        matrix[np.diag_indices(self.count)] += (self.mu + 1.0) / 2.0
        return np.linalg.inv(matrix)

    def solve(self) -> None:
        """Make the inverse now, so that later questions are quick."""
        _ = self._inverse

    def in_field(self, normal: Numbers) -> Numbers:
        """Charge (count,) or (count, k) from the applied field normal to the nodes, averaged round each ring [A/m]."""
        factor = self.mu - 1.0
        charge: Numbers = self._inverse @ (factor[:, None] * normal if normal.ndim == 2 else factor * normal)
        return charge

    def of_magnets(self, remanence: Sequence[float]) -> Numbers:
        """Charge (count,) in A/m from axial remanences [T], one a rod, + along +z."""
        source = np.concatenate([m.n_z * b / MU0 for m, b in zip(self.meshes, remanence, strict=True)])
        charge: Numbers = self._inverse @ source
        return charge

    # ---- what varies round a rod ----

    @cached_property
    def beta(self) -> Numbers:
        """(mu - 1) / (mu + 1) of each node: how a round bar answers a field across it."""
        return (self.mu - 1.0) / (self.mu + 1.0)

    def drawn(self, sigma: Numbers) -> tuple[Numbers, Numbers]:
        """Harmonics (cos and sin, each (3, count)) of the normal field round each side, from the other rods' charge."""
        cosine = np.zeros((len(HARMONICS), self.count), dtype=sigma.dtype)
        sine = np.zeros_like(cosine)
        for (i, j), (block, theta) in self._pairs.items():
            felt = block.draws @ sigma[self.slices[j]]
            for k, m in enumerate(HARMONICS):
                cosine[k, self.slices[i]] += felt[k] * math.cos(m * theta)
                sine[k, self.slices[i]] += felt[k] * math.sin(m * theta)
        return cosine, sine

    def leant(self, lateral: Lateral) -> Numbers:
        """Mean normal field (count,) on each rod's nodes from the charge that varies round the others."""
        out = np.zeros(self.count, dtype=np.result_type(lateral.cosine))
        for (i, j), (block, theta) in self._pairs.items():
            for k, m in enumerate(HARMONICS):
                # seen from the source, the frame of the block has its x axis along theta as well
                along = lateral.cosine[k, self.slices[j]] * math.cos(m * theta)
                along = along + lateral.sine[k, self.slices[j]] * math.sin(m * theta)
                out[self.slices[i]] += block.leans[k] @ along
        return out

    def lateral(self, cosine: Numbers, sine: Numbers) -> Lateral:
        """The charge 2 beta h_m on the side from the harmonics h_m of the normal field."""
        factor = 2.0 * self.beta * self.side
        return Lateral(factor * cosine, factor * sine)


def _refuse_overlap(rods: Sequence[Rod]) -> None:
    for i, one in enumerate(rods):
        for j, other in enumerate(rods[:i]):
            apart = math.hypot(one.x - other.x, one.y - other.y)
            over = abs(one.z - other.z) <= (one.length + other.length) / 2 * (1.0 + 1e-9)
            if over and apart <= one.radius + other.radius:
                raise DomainError(
                    "pole pieces must not touch or overlap",
                    f"numbers {j + 1} and {i + 1} with {1e3 * (apart - one.radius - other.radius):.2f} mm between them",
                    "set them further apart",
                )
