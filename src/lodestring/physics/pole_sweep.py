"""Pole pieces over a whole range of frequencies from one small system of equations.

In a field h normal to the nodes the charge on bodies of susceptibility chi = mu - 1 obeys

    (1 / chi + A) sigma = h,   A = 1/2 - K'

and only chi depends on frequency. With S = (1 / chi_0 + A)^-1, the answer at low frequency, the charges at all
frequencies lie in the space of S h, S P_g S h, S P_g S P_g' S h ..., P_g the part on a group of bodies that share one
material and size and change with frequency. Each vector is cut into its parts on all groups, so that 1 / chi stays a
diagonal in the space. A few dozen such vectors give every answer: to 1e-8 where one group changes (all rods alike,
with or without bars), to 1e-5 where two do; and a frequency costs a system of that size.

Validity: as rods' axial permeability at a frequency (eddy.py); what is drawn to one side of a rod is not in it (a
quarter of a per cent of the inductance), so a result is used as a ratio to its own value at low frequency. Source:
Krylov's projection with a shift, a standard method of numerical linear algebra.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.inductance import System, Touch
from lodestring.physics.poles import MU0, Numbers
from lodestring.physics.ring import Array

MOST = 48
"""Vectors at most."""
ENOUGH = 1e-9
"""A vector that adds less than this share of its length is left out."""


@dataclass(frozen=True)
class PoleSweep:
    """The small system: `matrix` (m, m) A between the vectors, `group` (m,) of each, `fields` (m, k) the coils' fields,
    `rows` (r, m) what is asked of the charge."""

    matrix: Array
    group: NDArray[np.int_]
    fields: Array
    rows: Array

    def answers(self, susceptibility: Numbers) -> Numbers:
        """(f, r, k): every row's answer to every coil, from the susceptibility (f, groups) of each group of bodies.

        Raises DomainError for another number of groups.
        """
        chi = np.atleast_2d(susceptibility)
        if chi.shape[1] != int(self.group.max()) + 1:
            raise DomainError("one susceptibility for each group of bodies", f"{chi.shape[1]}")
        each = chi[:, self.group]
        system = each[:, :, None] * self.matrix
        system[:, np.arange(len(self.group)), np.arange(len(self.group))] += 1.0
        found: Numbers = self.rows @ np.linalg.solve(system, each[:, :, None] * self.fields)
        return found


def inductance_rows(system: System, touches: Sequence[Touch]) -> Array:
    """(coils, n): rows that make the charge's share of the mutual inductance with each coil, per turn of each [H]."""
    return np.stack([-MU0 * system.area * t.potential for t in touches])


def moment_row(system: System) -> Array:
    """(1, n): row that makes the dipole moment along z of the charge, per ampere and turn [m^2]."""
    row: Array = (system.area * system.z)[None]
    return row


def pole_sweep(
    system: System, groups: Sequence[int], touches: Sequence[Touch], rows: Array, steady: Collection[int] = ()
) -> PoleSweep:
    """The small system for some coils.

    system: with the permeabilities of low frequency. groups: of each body (rods, then boxes), counted from 0: bodies of
    one group have one susceptibility. touches: the coils on the system's nodes. rows (r, n): what is asked of the
    charge. steady: groups whose susceptibility no frequency changes. Raises DomainError where the groups do not match
    the bodies.
    """
    slices = (*system.slices, *getattr(system, "box_slices", ()))
    if len(groups) != len(slices):
        raise DomainError("each pole piece, bar or plate is in one group", f"{len(groups)} for {len(slices)}")
    on = np.concatenate([np.full(s.stop - s.start, g) for s, g in zip(slices, groups, strict=True)])
    apply = 0.5 * np.eye(system.count) - system.influence
    fields = np.stack([t.mean for t in touches], axis=1)
    found: list[Array] = []
    of: list[int] = []
    fresh = _parts(system.in_field(fields), on)
    while fresh and len(found) < MOST:
        kept: list[Array] = []
        for vector, group in fresh:
            length = float(np.linalg.norm(vector))
            for _ in range(2):  # once more takes off what rounding left
                for other, there in zip(found, of, strict=True):
                    if there == group:  # parts on two groups have no node in common
                        vector = vector - (other @ vector) * other
            left = float(np.linalg.norm(vector))
            if left > ENOUGH * length and len(found) < MOST:
                found.append(vector / left)
                of.append(group)
                if group not in steady:
                    kept.append(found[-1])
        fresh = _parts(system.in_field(np.stack(kept, axis=1)), on) if kept else []
    if not found:
        raise DomainError("a coil has a field at its pole pieces", "none")
    basis = np.stack(found, axis=1)
    return PoleSweep(basis.T @ apply @ basis, np.array(of), basis.T @ fields, rows @ basis)


def _parts(vectors: Array, on: NDArray[np.int_]) -> list[tuple[Array, int]]:
    """Each vector's part on each group, those that are not zero."""
    cut = [(np.where(on == g, v, 0.0), int(g)) for v in vectors.T for g in np.unique(on)]
    return [(v, g) for v, g in cut if float(np.abs(v).max()) > 0.0]
