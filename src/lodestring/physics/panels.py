"""A rectangular body as panels: bar magnets, blades, baseplates.

A body of uniform permeability carries charge on its surface only. Here the charge is constant on each panel of six faces;
panels crowd toward the edges, where the charge grows without bound. The equations hold on the average over each panel, with
the exact flux between panels (panel_flux.py): Gauss's law holds by itself, and the charge of a body adds up to zero for
any permeability.

Steps grow from the edges by a constant factor. Two meshes: "m" and "f". A body that is nearly air (a ferrite bar, mu about
1.05) answers a field by a twentieth of it, so a coarser mesh, "weak", serves it as well.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.box import Face
from lodestring.physics.panel_flux import flux_block
from lodestring.physics.ring import Array

WEAK = 0.3
"""mu - 1 up to which the coarse mesh serves."""
Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Grading:
    """First step at an edge over the body's least size, growth from step to step, and the largest step: over the body's
    middle size, and not above this share of the length itself."""

    first: float
    growth: float
    largest: float
    share: float


GRADINGS = {
    "weak": Grading(0.30, 2.2, 1.2, 0.25),
    "m": Grading(0.12, 2.2, 0.6, 0.25),
    "f": Grading(0.06, 1.8, 0.4, 0.15),
}


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangular body, its sides along x, y, z: centre and size (3) [m], relative (recoil) permeability, which may be
    complex. Raises DomainError for a body without volume or a permeability below 1."""

    centre: Vector
    size: Vector
    mu: complex

    def __post_init__(self) -> None:
        if not (all(math.isfinite(c) for c in self.centre) and all(0.0 < s < math.inf for s in self.size)):
            raise DomainError(
                "a bar, blade or plate has three sizes above 0 and a finite place",
                "size {:g}, {:g}, {:g} m".format(*self.size),
            )
        if not isinstance(self.mu, complex) and not 1.0 <= self.mu < math.inf:
            raise DomainError("a relative permeability is 1 or more", f"{self.mu:g}")

    @property
    def low(self) -> Array:
        return np.array(self.centre) - np.array(self.size) / 2

    @property
    def high(self) -> Array:
        return np.array(self.centre) + np.array(self.size) / 2

    def mesh_name(self, mesh: str) -> str:
        """The mesh to take where `mesh` is asked for."""
        return "weak" if abs(self.mu - 1.0) <= WEAK and mesh == "m" else mesh


@dataclass(frozen=True, eq=False)
class PanelMesh:
    """Six faces (-x, +x, -y, +y, -z, +z) about the body's own middle; panels (n,) in this order: `area` [m^2], `middle`
    (n, 3) [m], `normal` (n, 3) outward."""

    faces: tuple[Face, ...]
    area: Array
    middle: Array
    normal: Array

    @property
    def count(self) -> int:
        return len(self.area)

    def slices(self) -> list[slice]:
        """Which panels each face has."""
        ends = np.cumsum([0, *(f.count for f in self.faces)])
        return [slice(int(a), int(b)) for a, b in zip(ends[:-1], ends[1:], strict=True)]


def steps(length: float, first: float, growth: float, largest: float) -> Array:
    """Lines (n + 1,) from -length/2 to length/2, symmetric: steps from `first` at both ends, each `growth` times the one
    before it but not above `largest` [m]; then all scaled a little, to fit."""
    half, widths = 0.5 * length, [min(first, 0.5 * length)]
    while sum(widths) + 0.5 * min(widths[-1] * growth, largest) < half:
        widths.append(min(widths[-1] * growth, largest))
    out = np.concatenate([[0.0], np.cumsum(widths)])
    out *= half / out[-1]
    return np.concatenate([out - half, (half - out)[-2::-1]])


@lru_cache(maxsize=32)
def panel_mesh(size: Vector, mesh: str) -> PanelMesh:
    """The mesh of a box of this size. Known meshes: "weak", "m", "f"."""
    rule = GRADINGS[mesh]
    least, middle, _ = sorted(size)
    lines = [steps(s, rule.first * least, rule.growth, min(rule.largest * middle, rule.share * s)) for s in size]
    faces = []
    for axis in range(3):
        u, v = lines[(axis + 1) % 3], lines[(axis + 2) % 3]
        faces += [Face(axis, sign, sign * size[axis] / 2, u, v) for sign in (-1.0, 1.0)]
    normal = np.zeros((sum(f.count for f in faces), 3))
    start = 0
    for face in faces:
        normal[start : start + face.count, face.axis] = face.sign
        start += face.count
    return PanelMesh(
        tuple(faces),
        np.concatenate([f.area for f in faces]),
        np.concatenate([f.middles for f in faces]),
        normal,
    )


@lru_cache(maxsize=16)
def self_influence(size: Vector, mesh: str) -> Array:
    """K' (n, n) [1] of a box on itself. Of two opposite faces one row is the mirror image of the other."""
    body = panel_mesh(size, mesh)
    block = between(body.faces, body.faces)
    block.flags.writeable = False
    return block


def between(targets: tuple[Face, ...], sources: tuple[Face, ...]) -> Array:
    """Average normal field (n_target, n_source) on all panels of some faces per charge density of the panels of others."""
    return np.block([[flux_block(t, s) for s in sources] for t in targets])
