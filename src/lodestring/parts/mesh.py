"""A solid as triangles [mm], one list of points shared by all faces: what STL and 3MF hold."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lodestring.parts.records import Shape
from lodestring.parts.solids import solid_of

CHORD = 0.01
"""Farthest a triangle's edge may lie from an arc [mm]: a hole of 5 mm is measured 0.01 mm true."""
TURN = 0.2
"""Greatest turn from one edge of an arc to the next [rad]."""
SAME = 1e-6
"""Points closer than this [mm] are one."""


@dataclass(frozen=True)
class Mesh:
    """Points (n, 3) [mm] and triangles (m, 3) of indices, seen from outside anticlockwise."""

    points: NDArray[np.float64]
    triangles: NDArray[np.int64]

    @property
    def corners(self) -> NDArray[np.float64]:
        """(m, 3, 3): the corners of each triangle."""
        return self.points[self.triangles]

    def volume(self) -> float:
        """Enclosed volume [mm3] by the divergence theorem."""
        a, b, c = self.corners.transpose(1, 0, 2)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


@lru_cache(maxsize=64)
def mesh_of(shape: Shape) -> Mesh:
    """The triangles of a part. Raises NoKernel or DomainError."""
    return meshed(solid_of(shape), CHORD, TURN)


def meshed(solid: Any, chord: float, turn: float) -> Mesh:
    """A solid's triangles to a chord [mm] and a turn [rad], made on a copy: a kernel's shape keeps its triangles and
    would hand back the finest ever made, so that the same part would not give the same file."""
    vertices, triangles = copy.deepcopy(solid).tessellate(chord, turn)
    raw = np.array([(v.X, v.Y, v.Z) for v in vertices], dtype=np.float64)
    places, index = np.unique(np.round(raw / SAME).astype(np.int64), axis=0, return_inverse=True)
    corners = index.reshape(-1)[np.array(triangles)]
    whole = (corners[:, 0] != corners[:, 1]) & (corners[:, 1] != corners[:, 2]) & (corners[:, 2] != corners[:, 0])
    return Mesh(np.asarray(places * SAME, dtype=np.float64), corners[whole])
