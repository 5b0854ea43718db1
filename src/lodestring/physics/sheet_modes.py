"""Eddy currents in a thin sheet of metal as independent shorted loops.

A current of stream function psi in a sheet of conductivity sigma and thickness t has the resistance R and the
inductance L of two matrices; L v = tau R v gives patterns of current that decay each by itself with its time constant
tau_k. A coil that drives pattern k with the flux g_k per ampere (R = 1 for each) then changes by

    dL_ij(w) = - sum_k g_ik g_jk j w / (1 + j w tau_k)

for every frequency from one decomposition: passive (Re Z > 0, L falls), and an R-L ladder as it stands.
Valid for metal thin against its width and against the skin depth delta (`skin_depth`): the current is then even
through the thickness. Beside an infinite plate 1 mm from a coil of 3 to 8 mm (Dodd & Deeds' formula) |dL| is off by 2
per cent at t = delta / 4, 3 to 6 at delta / 2, 4 to 8 at t = delta, and the loss then by 17 to 24.
Pole pieces near the sheet raise its inductance and carry its flux: give the system of their static permeability, and
see `at_permeability` where they have eddy currents of their own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.inductance import System
from lodestring.physics.poles import MU0, Numbers, PoleSystem
from lodestring.physics.ring import Array
from lodestring.physics.samples import rod_samples
from lodestring.physics.sheet_kernel import (
    charge_matrix,
    opening_potential,
    potential_and_field,
    potential_and_normal_field,
)
from lodestring.physics.sheet_mesh import SheetMesh, sheet_mesh
from lodestring.physics.sheet_shape import Sheet

FLUSH = 1e-9  # metres
UNKNOWNS = 300


@dataclass(frozen=True, eq=False)
class SheetModes:
    """Patterns of current in a sheet, slowest first: time constants `tau` (k,) [s], psi at the mesh's nodes (n, k) for
    a resistance of 1 ohm each [A]; with pole pieces, each pattern's potential and normal field on their nodes and the
    charge it calls up there (count, k), per its unit of current. `left_out`: bound of the relative error of dL, see
    `kept`. `coupling` (k, k) [s] stands for the time constants where pole pieces tie the patterns together, see
    `at_permeability`."""

    sheet: Sheet
    conductivity: float
    mesh: SheetMesh
    tau: Array
    psi: Array
    system: System | None
    potential: Array
    normal: Array
    charge: Numbers
    left_out: float = 0.0
    coupling: Numbers | None = None

    @cached_property
    def moment(self) -> Numbers:
        """Dipole moment along z of each pattern with the pole pieces' answer (k,) [A m^2]."""
        mesh = self.mesh
        x, y = (mesh.corners[:, :, c].mean(axis=1) for c in range(2))
        flow = [c @ self.psi for c in mesh.current[:2]]
        own: Numbers = 0.5 * (mesh.area * x) @ flow[1] - 0.5 * (mesh.area * y) @ flow[0]
        if self.system is not None:
            own = own + (self.system.area * self.system.z) @ self.charge
        return own

    def field(self, points: Array) -> Numbers:
        """H (p, 3, k) [A/m] of each pattern at points (p, 3) [m] off the sheet, with the pole pieces' answer."""
        from lodestring.physics.pole_field import field_operator

        _, field = potential_and_field(self.mesh, points)
        out: Numbers = np.einsum("pnx,nk->pxk", field, self.psi)
        if self.system is not None:
            operator = (
                field_operator(self.system, points)
                if isinstance(self.system, PoleSystem)
                else self.system.field_operator(points)
            )
            out = out + operator @ self.charge
        return out

    def only(self, rows: np.ndarray, left_out: float) -> SheetModes:
        """The patterns of these numbers alone."""
        return replace(
            self,
            tau=self.tau[rows],
            psi=self.psi[:, rows],
            potential=self.potential[:, rows],
            normal=self.normal[:, rows],
            charge=self.charge[:, rows],
            left_out=left_out,
        )


def skin_depth(conductivity: float, frequency: float) -> float:
    """sqrt(2 / (w mu0 sigma)) [m] of metal that is not magnetic."""
    if not (0.0 < conductivity < math.inf and 0.0 < frequency < math.inf):
        raise DomainError(
            "a skin depth belongs to a conductivity and a frequency above 0", f"{conductivity:g} S/m, {frequency:g} Hz"
        )
    return math.sqrt(1.0 / (math.pi * frequency * MU0 * conductivity))


def sheet_modes(
    sheet: Sheet, conductivity: float, system: System | None = None, unknowns: int = UNKNOWNS
) -> SheetModes:
    """All patterns of a sheet of this conductivity [S/m], with pole pieces of real (static) permeability if given.

    `unknowns`: about how many. The error of dL falls with their inverse; for a cover 300 leave 0.5 per cent of it, a
    plate much wider than the coil wants more. Raises DomainError for a conductivity that is
    not above 0 and for a pole piece that goes through the metal.
    """
    from scipy.linalg import eigh

    if not 0.0 < conductivity < math.inf:
        raise DomainError("sheet metal has a conductivity above 0", f"{conductivity:g} S/m")
    mesh = sheet_mesh(sheet, unknowns)
    pairs, spread = charge_matrix(mesh), mesh.spread
    count = mesh.count
    resistance, inductance = np.zeros((count, count)), np.zeros((count, count))
    for flow in mesh.current:
        of_unknowns = (flow @ spread).tocsr()
        half = (of_unknowns.T @ pairs).T  # (m, count)
        inductance += of_unknowns.T @ half
        weighted = of_unknowns.multiply(mesh.area[:, None] / (conductivity * sheet.thickness)).tocsr()
        resistance += (of_unknowns.T @ weighted).toarray()
    inductance *= MU0 / (4.0 * math.pi)
    potential = normal = charge = np.zeros((0, count))
    if system is not None:
        potential, normal = _on_bodies(mesh, sheet, system)
        charge = np.real(system.in_field(normal))
        share = -MU0 * potential.T @ (system.area[:, None] * charge)
        inductance += 0.5 * (share + share.T)
    tau, vectors = eigh(inductance, resistance, overwrite_a=True, overwrite_b=True, check_finite=False)
    order = np.argsort(tau)[::-1]
    tau, vectors = tau[order], vectors[:, order]
    return SheetModes(
        sheet,
        conductivity,
        mesh,
        tau,
        spread @ vectors,
        system,
        potential @ vectors,
        normal @ vectors,
        charge @ vectors,
    )


def at_permeability(modes: SheetModes, system: System) -> SheetModes:
    """The same patterns beside the same pole pieces of another permeability: the complex one of a frequency.

    It ties the patterns together, so that each frequency asks for a small solve: take few patterns (`kept`). Without
    it the sheet's part of L is up to twice what it should be beside steel rods, as their own eddy currents keep flux
    from it. Raises DomainError for patterns made without pole pieces or with others.
    """
    if modes.system is None or modes.system.count != system.count:
        raise DomainError(
            "patterns of current keep the pole pieces that they were made with",
            f"{system.count} nodes for {0 if modes.system is None else modes.system.count}",
            "sheet_modes with their static permeability first",
        )
    charge = system.in_field(modes.normal)
    change = -MU0 * modes.potential.T @ (system.area[:, None] * (charge - modes.charge))
    return replace(modes, system=system, charge=charge, coupling=np.diag(modes.tau) + 0.5 * (change + change.T))


def _on_bodies(mesh: SheetMesh, sheet: Sheet, system: System) -> tuple[Array, Array]:
    """Potential and normal field (count of nodes, count of unknowns) on the bodies' nodes."""
    samples = rod_samples(system) if isinstance(system, PoleSystem) else system.samples
    points = samples.points.copy()
    # what is flush with the flat part counts as above it, whatever rounding says
    points[np.abs(points[:, 2] - sheet.z) < FLUSH, 2] = sheet.z + FLUSH
    bodies = [samples.body == k for k in range(int(samples.body.max()) + 1)]
    crossing = [on for on in bodies if points[on, 2].min() < sheet.z < points[on, 2].max()]
    if sheet.flat:
        for on in crossing:
            _refuse_piercing(sheet, points[on, :2])
    psi, along = potential_and_normal_field(mesh, points, samples.normals)
    potential, normal = (np.asarray(samples.weights @ each @ mesh.spread) for each in (psi, along))
    for number, polygon, outline in mesh.loops:
        through = opening_potential(polygon, points)
        for on in crossing:
            # the potential of a body that stands in an opening goes on steadily through it
            if outline.holds(points[on, :2].mean(axis=0)[None])[0]:
                through[on] += points[on, 2] < sheet.z
        potential[:, number] += samples.weights @ through
    return potential, normal


def _refuse_piercing(sheet: Sheet, plan: Array) -> None:
    """A pole piece with these points (q, 2) goes through the flat part: it does so in a hole, or it stands beside."""
    if not np.any(sheet.outline.holds(plan)) or any(bool(np.all(hole.holds(plan))) for hole in sheet.holes):
        return
    x, y = 1e3 * plan.mean(axis=0)
    raise DomainError(
        "a pole piece goes through a sheet in a hole wider than itself",
        f"one at x {x:.2f}, y {y:.2f} mm without",
        "a hole for it, or a shorter pole piece",
    )
