"""Several sheets round one coil: a cover, a closed foil, a baseplate, which shield one another.

Patterns of two sheets have a mutual inductance, the double integral of K.K'/R, and what the pole pieces carry from one
to the other. Each pattern has 1 ohm, so that the inductances [H] of all patterns stand as time constants [s]:

    (1 + j w T) i = -j w g

Left out, two sheets together take more from a coil than its flux: its inductance would fall below 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.poles import MU0
from lodestring.physics.ring import Array
from lodestring.physics.sheet_kernel import charge_matrix
from lodestring.physics.sheet_mesh import SheetMesh
from lodestring.physics.sheet_modes import SheetModes


def together(sheets: Sequence[SheetModes]) -> Array:
    """(k, k) [s], the patterns of all sheets in their order: time constants on the diagonal, ties of sheets off it.

    Validity as of `sheet_modes`; sheets that touch are taken as insulated from each other. Raises DomainError for
    sheets with different pole pieces.
    """
    if len({id(s.system) for s in sheets}) != 1:
        raise DomainError("sheets together stand beside the same pole pieces", f"{len(sheets)} sheets with others")
    ends = np.cumsum([0, *(len(s.tau) for s in sheets)])
    out = np.diag(np.concatenate([s.tau for s in sheets]))
    if len(sheets) == 1:
        return out
    faces = np.cumsum([0, *(len(s.mesh.triangles) for s in sheets)])
    pairs = charge_matrix(_joined([s.mesh for s in sheets]))
    flows = [[c @ s.psi for c in s.mesh.current] for s in sheets]
    for i, (low, high) in enumerate(pairwise(ends)):
        for j, (left, right) in enumerate(pairwise(ends[: i + 1])):
            if i == j:
                continue
            between = pairs[faces[i] : faces[i + 1], faces[j] : faces[j + 1]]
            tie = MU0 / (4.0 * math.pi) * sum(flows[i][c].T @ between @ flows[j][c] for c in range(3))
            system = sheets[i].system
            if system is not None:
                one, other = sheets[i], sheets[j]
                there = one.potential.T @ (system.area[:, None] * other.charge.real)
                back = other.potential.T @ (system.area[:, None] * one.charge.real)
                tie = tie - 0.5 * MU0 * (there + back.T)
            out[low:high, left:right], out[left:right, low:high] = tie, tie.T
    return out


def _joined(meshes: Sequence[SheetMesh]) -> SheetMesh:
    """All triangles in one mesh, for its geometry alone."""
    starts = np.cumsum([0, *(len(m.nodes) for m in meshes)])
    triangles = np.concatenate([m.triangles + s for m, s in zip(meshes, starts[:-1], strict=True)])
    nodes = np.concatenate([m.nodes for m in meshes])
    return SheetMesh(nodes, triangles, np.full(len(nodes), -1), ())
