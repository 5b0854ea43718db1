"""Rods and rectangular bodies of one pickup as one system of equations.

The same equations as for rods alone (poles.py), with the nodes of bars, blades and plates after those of the rods. Rods
keep their axisymmetric charge and the first-order charge drawn to one side; a box carries the whole charge on its
faces. A magnetised box has fixed charge M.n on its faces besides; its field comes in exactly, as an applied field.

Rods alone are quicker with PoleSystem. What a function asks of one (area, drawn, in_field ...) it finds here under the
same names, over all nodes; what belongs to rods alone (rho, side, harmonics) is zero on boxes.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.bodies_touch import offset_of_boxes, offset_of_rod, refuse_overlap, rod_gaps, shift
from lodestring.physics.box import box_field, charged_field, face_field
from lodestring.physics.panel_self import box_pair, box_self
from lodestring.physics.panels import Box, BoxShape, Lines, PanelMesh, more_lines, panel_mesh, standing_lines
from lodestring.physics.pole_field import field_operator as rod_field_operator
from lodestring.physics.poles import MU0, Lateral, Numbers, PoleSystem, Rod
from lodestring.physics.ring import Array
from lodestring.physics.rod_mesh import RodMesh
from lodestring.physics.rod_pair import HARMONICS
from lodestring.physics.rod_panel import LEAST_GAP, Meeting, meeting
from lodestring.physics.samples import Samples, box_samples, joined, near_rod_samples, rod_samples


class MagneticSystem:
    """Rods and boxes that act on each other. Nodes of all rods stand first, then those of the boxes; `slices` of the
    rods, `box_slices` of the boxes. `lines`: more lines for the panels of every box's upper and lower face. Raises
    DomainError for bodies that overlap (numbered as given, from 1) and for none at all."""

    def __init__(self, rods: Sequence[Rod], boxes: Sequence[Box], mesh: str = "m", lines: Lines = ((), ())) -> None:
        if not rods and not boxes:
            raise DomainError("a system has at least one pole piece, bar, blade or plate", "none")
        self.rods, self.boxes, self.mesh_name = tuple(rods), tuple(boxes), mesh
        self.poles = PoleSystem(rods, mesh) if rods else None
        refuse_overlap(self.rods, self.boxes)
        self.meshes: tuple[RodMesh, ...] = self.poles.meshes if self.poles else ()
        self.slices: tuple[slice, ...] = self.poles.slices if self.poles else ()
        self.rod_count = self.poles.count if self.poles else 0
        self.shapes = tuple(
            BoxShape(b.size, b.mesh_name(mesh), more_lines(standing_lines(b, self.rods, self.boxes), lines))
            for b in self.boxes
        )
        self.panels: tuple[PanelMesh, ...] = tuple(panel_mesh(s) for s in self.shapes)
        ends = self.rod_count + np.cumsum([0, *(p.count for p in self.panels)])
        self.box_slices = tuple(slice(int(a), int(b)) for a, b in pairwise(ends))
        self.count = int(ends[-1])

    # ---- geometry of all nodes ----

    def _joined(self, name: str, of_boxes: Sequence[Array]) -> Array:
        """A quantity of the rods' nodes followed by that of the boxes."""
        first = [np.asarray(getattr(self.poles, name))] if self.poles else []
        return np.concatenate([*first, *of_boxes])

    @cached_property
    def area(self) -> Array:
        return self._joined("area", [p.area for p in self.panels])

    @cached_property
    def z(self) -> Array:
        """Height of each node."""
        return self._joined("z", [p.node[:, 2] + b.centre[2] for p, b in zip(self.panels, self.boxes, strict=True)])

    @cached_property
    def rho(self) -> Array:
        """Radius of each rod node's ring; 0 on boxes."""
        return self._joined("rho", [np.zeros(p.count) for p in self.panels])

    @cached_property
    def side(self) -> np.ndarray:
        """True on the sides of rods."""
        return self._joined("side", [np.zeros(p.count, dtype=bool) for p in self.panels])

    @cached_property
    def mu(self) -> Numbers:
        return self._joined("mu", [np.full(p.count, b.mu) for p, b in zip(self.panels, self.boxes, strict=True)])

    @cached_property
    def beta(self) -> Numbers:
        """(mu - 1) / (mu + 1) of each node."""
        return (self.mu - 1.0) / (self.mu + 1.0)

    @cached_property
    def box_nodes(self) -> Array:
        """Places (n, 3) of the boxes' nodes."""
        return np.concatenate([p.node + np.array(b.centre) for p, b in zip(self.panels, self.boxes, strict=True)])

    @cached_property
    def box_normals(self) -> Array:
        """Outward normals (n, 3) at the boxes' nodes."""
        return np.concatenate([p.normal for p in self.panels])

    @cached_property
    def samples(self) -> Samples:
        """Points at which an applied field's normal component and potential are asked for and averaged."""
        parts = [rod_samples(self.poles)] if self.poles else []
        moves = [np.zeros(3)] * len(parts) + [np.array(b.centre) for b in self.boxes]
        return joined([*parts, *(box_samples(s) for s in self.shapes)], moves)

    # ---- the matrix ----

    @cached_property
    def _meetings(self) -> dict[tuple[int, int], Meeting]:
        """Block of every rod with every box."""
        found = {}
        for i, rod in enumerate(self.rods):
            for j, box in enumerate(self.boxes):
                x, y, z = offset_of_rod(rod, box)
                found[i, j] = meeting(rod.shape(self.mesh_name), self.shapes[j], x, y, z)
        return found

    @property
    def influence(self) -> Array:
        """K' (count, count) of all bodies; made anew each time, as only its factors are kept."""
        whole = np.zeros((self.count, self.count))
        if self.poles:
            whole[: self.rod_count, : self.rod_count] = self.poles.influence
        for (i, j), met in self._meetings.items():
            whole[self.slices[i], self.box_slices[j]] = met.to_rod
            whole[self.box_slices[j], self.slices[i]] = met.to_box
        for i, here in enumerate(self.box_slices):
            whole[here, here] = box_self(self.shapes[i])
            for j, there in enumerate(self.box_slices):
                if i != j:
                    x, y, z = offset_of_boxes(self.boxes[i], self.boxes[j])
                    whole[here, there] = box_pair(self.shapes[i], self.shapes[j], x, y, z)
        return whole

    @cached_property
    def _factors(self) -> tuple[Numbers, np.ndarray]:
        from scipy.linalg import lu_factor  # a quarter of a second to import: only where there are boxes

        matrix = self.influence.astype(np.result_type(self.mu, 1.0), copy=False)
        matrix *= (1.0 - self.mu)[:, None]
        matrix[np.diag_indices(self.count)] += (self.mu + 1.0) / 2.0
        lu, pivots = lu_factor(matrix, overwrite_a=True, check_finite=False)
        return lu, pivots

    def _solved(self, right: Numbers) -> Numbers:
        from scipy.linalg import lu_solve

        lu, _ = self._factors
        return np.asarray(lu_solve(self._factors, right.astype(np.result_type(lu, right)), check_finite=False))

    def in_field(self, normal: Numbers) -> Numbers:
        """Charge (count,) or (count, k) [A/m] from the applied field normal to the nodes [A/m], see `samples`.

        The field's sources lie outside the bodies, so no net flux enters one; what quadrature leaves of it is taken
        off, as it would come back as charge, multiplied by mu.
        """
        factor = self.mu - 1.0
        balanced = normal - self._whose.T @ (self._whose @ (self._of_whole * normal.T).T)
        return self._solved(factor[:, None] * balanced if normal.ndim == 2 else factor * balanced)

    @cached_property
    def _whose(self) -> Array:
        """(bodies, count) 1 where a node is on a body."""
        out = np.zeros((len(self.rods) + len(self.boxes), self.count))
        for body, where in enumerate((*self.slices, *self.box_slices)):
            out[body, where] = 1.0
        return out

    @cached_property
    def _of_whole(self) -> Array:
        """Area of each node over that of its body (count,)."""
        return self.area / (self._whose.T @ (self._whose @ self.area))

    def of_magnets(
        self, rod_remanence: Sequence[float] = (), box_magnetisation: Sequence[Sequence[float]] = ()
    ) -> Numbers:
        """Charge (count,) [A/m] from the rods' axial remanences [T], + along +z, and the boxes' remanences (3) [T].

        Either may be left out: no magnets there. Raises DomainError for another number of values than of bodies.
        """
        for values, bodies, name in (
            (rod_remanence, self.rods, "pole pieces"),
            (box_magnetisation, self.boxes, "boxes"),
        ):
            if len(values) not in (0, len(bodies)):
                raise DomainError(f"one remanence for each of the {name}", f"{len(values)} for {len(bodies)}")
        right: Numbers = np.zeros(self.count)
        fixed = np.zeros(self.count)
        for mesh, where, b in zip(self.meshes, self.slices, rod_remanence, strict=False):
            right[where] = mesh.n_z * b / MU0
        if len(box_magnetisation):
            fixed, applied = self._of_boxes(np.asarray(box_magnetisation, dtype=float) / MU0)
            fixed = fixed + self.in_field(applied)
        return fixed + self._solved(right)

    def _of_boxes(self, magnetisation: Array) -> tuple[Array, Array]:
        """Fixed charge (count,) of magnetised boxes, magnetisation (boxes, 3) [A/m], and the mean normal field (count,)
        of it: exact on rods and other boxes, on the box itself just inside."""
        fixed, applied = np.zeros(self.count), np.zeros(self.count)
        for j, (panel, where) in enumerate(zip(self.panels, self.box_slices, strict=True)):
            if not magnetisation[j].any():
                continue
            charge = panel.normal @ magnetisation[j]
            fixed[where] = charge
            felt = self._felt(j, magnetisation[j])
            felt[where] = box_self(self.shapes[j]) @ charge - charge / 2.0
            applied += felt
        return fixed, applied

    def _felt(self, j: int, magnetisation: Array) -> Array:
        """Mean normal field (count,) of one uniformly magnetised box on all other bodies; rods close by are looked at
        more closely."""
        box, samples = self.boxes[j], self.samples
        centre, size = np.array(box.centre), np.array(box.size)
        moves = np.array([*(shift(rod, box) for rod in self.rods), *(shift(other, box) for other in self.boxes)])
        others = samples.body != len(self.rods) + j
        field = np.zeros((len(samples.points), 3))
        field[others] = box_field(centre, size, magnetisation, samples.points[others] + moves[samples.body[others]])
        felt: Array = np.real(samples.normal(field))
        for i, rod in enumerate(self.rods):
            rise, aside, _ = rod_gaps(rod, box)
            if rise < -LEAST_GAP and aside < rod.radius:  # beside it: the box's edges cross the rod's side
                near = near_rod_samples(rod.shape(self.mesh_name))
                points = near.points + np.array([rod.x, rod.y, rod.z]) + moves[i]
                felt[self.slices[i]] = near.normal(box_field(centre, size, magnetisation, points))
        return felt

    # ---- what varies round a rod ----

    def drawn(self, sigma: Numbers) -> tuple[Numbers, Numbers]:
        """Harmonics (cos and sin, each (3, count)) of the normal field round the rods' sides, from all other bodies'
        charge; zero on boxes."""
        cosine = np.zeros((len(HARMONICS), self.count), dtype=sigma.dtype)
        sine = np.zeros_like(cosine)
        if self.poles:
            cosine[:, : self.rod_count], sine[:, : self.rod_count] = self.poles.drawn(sigma[: self.rod_count])
        for (i, j), met in self._meetings.items():
            felt = met.drawn(sigma[self.box_slices[j]])
            cosine[:, self.slices[i]] += felt[: len(HARMONICS)]
            sine[:, self.slices[i]] += felt[len(HARMONICS) :]
        return cosine, sine

    def leant(self, lateral: Lateral) -> Numbers:
        """Mean normal field (count,) on all other bodies from the charge that varies round the rods' sides."""
        out = np.zeros(self.count, dtype=np.result_type(lateral.cosine))
        if self.poles:
            of_rods = self.of_rods(lateral)
            out[: self.rod_count] = self.poles.leant(of_rods)
        charge = np.concatenate([lateral.cosine, lateral.sine])
        for (i, j), met in self._meetings.items():
            out[self.box_slices[j]] += met.leant(charge[:, self.slices[i]])
        return out

    def lateral(self, cosine: Numbers, sine: Numbers) -> Lateral:
        """The charge 2 beta h_m on the rods' sides from the harmonics h_m (3, count) of the normal field."""
        factor = 2.0 * self.beta * self.side
        return Lateral(factor * cosine, factor * sine)

    def of_rods(self, lateral: Lateral) -> Lateral:
        """The rods' part, as PoleSystem and `lateral_field` take it."""
        return Lateral(lateral.cosine[:, : self.rod_count], lateral.sine[:, : self.rod_count])

    # ---- field ----

    def field_operator(self, points: Array) -> Array:
        """Matrix (k, 3, count): H [A/m] at points (k, 3) [m] outside the rods per charge density [A/m] of each node."""
        out = np.empty((len(points), 3, self.count))
        if self.poles:
            out[:, :, : self.rod_count] = rod_field_operator(self.poles, points)
        for box, panel, where in zip(self.boxes, self.panels, self.box_slices, strict=True):
            here = points - np.array(box.centre)
            for face, part in zip(panel.faces, panel.parts, strict=True):
                out[:, :, where.start + part.start : where.start + part.stop] = face_field(face, here)
        return out

    def box_field(self, number: int, points: Array, charge: Array) -> Array:
        """H (k, 3, c) [A/m] at points (k, 3) [m] of one box, counted from 0, whose nodes carry charge (n, c) [A/m]."""
        panel, here = self.panels[number], points - np.array(self.boxes[number].centre)
        out = np.zeros((len(points), 3, charge.shape[1]))
        for face, part in zip(panel.faces, panel.parts, strict=True):
            out += charged_field(face, here, charge[part])
        return out
