"""A coil round pole pieces: what the poles add to its inductance, and what the magnets link with it.

dL = -mu0 sum A sigma psi + mu0 sum_m sum_side A rho beta h_m h_m' / m: the work of one coil's field on what the other
coil's field has made of the poles. psi is the scalar potential of the coil (H = -grad psi), sigma the rods' charge,
h_m the harmonics of the total normal field round a rod's side. The second sum is what is drawn to one side of each
rod, to first order, and is a quarter of a per cent for a usual coil.

All per ampere and per turn: multiply an inductance by N N', a linkage by N. With a complex permeability dL is
complex: Z = j w (L_air + dL) + R, so the resistance of the poles' eddy currents is -w Im dL.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.coil_field import sheet_field, sheet_potential
from lodestring.physics.poles import MU0, Numbers, PoleSystem
from lodestring.physics.quadrature import radial_rule, table_nodes, table_rule
from lodestring.physics.ring import Array
from lodestring.physics.rod_pair import HARMONICS

Place = tuple[float, float, float]
System = PoleSystem | MagneticSystem
TABLE_ORDER = 10
"""Half-widths at which the sheets of a table stand."""
ANGLES, HALF_ANGLES = 10, 5


@dataclass(frozen=True)
class Touch:
    """What one coil, or one sheet after another, does to the rods' nodes, per ampere and turn.

    Leading axes free; last axis the nodes. `mean` normal field, `cosine` and `sine` (..., 3, n) its harmonics round the
    side, `potential` the mean of psi round each ring.
    """

    mean: Array
    cosine: Array
    sine: Array
    potential: Array

    def mixed(self, weights: Array) -> Touch:
        """The weighted sum over the leading axis."""
        return Touch(*(np.tensordot(weights, part, axes=1) for part in self.parts))

    @property
    def parts(self) -> tuple[Array, Array, Array, Array]:
        return self.mean, self.cosine, self.sine, self.potential


@dataclass(frozen=True)
class SheetTable:
    """A coil's sheets at fixed half-widths on the rods of a system: serves every outer half-width up to `most`."""

    inner: float
    most: float
    radii: Array
    touch: Touch

    def coil(self, outer: float) -> Touch:
        """The whole winding from `inner` to `outer` [m]. Raises DomainError beyond the table."""
        if not self.inner < outer <= self.most * (1.0 + 1e-9):
            raise DomainError("the winding ends within its table", f"{outer:g} m, table to {self.most:g} m")
        return self.touch.mixed(table_rule(self.radii, self.inner, outer))


def sheet_table(system: PoleSystem, box: CoilBox, place: Place = (0.0, 0.0, 0.0)) -> SheetTable:
    """Table of sheets from the coil's inner half-width to its outer one; `place` is the coil's middle in the rods'
    frame.
    """
    radii = table_nodes(box.inner, box.outer, TABLE_ORDER)
    return SheetTable(box.inner, box.outer, radii, _touch(system, box, radii, place))


def coil_touch(system: PoleSystem, box: CoilBox, place: Place = (0.0, 0.0, 0.0), order: int = 4) -> Touch:
    """One coil on the rods, without a table."""
    radii, weights = radial_rule(box.inner, box.outer, order)
    return _touch(system, box, radii, place).mixed(weights)


def _touch(system: PoleSystem, box: CoilBox, radii: Array, place: Place) -> Touch:
    inside = _rods_inside(system, box, place)
    half = all(abs(r.y - place[1]) < 1e-9 for r in system.rods)
    points, phi = system.ring_points(ANGLES)
    if half:  # mirror symmetry in y: the other half circle is the same
        phi = (np.arange(HALF_ANGLES) + 0.5) * np.pi / HALF_ANGLES
        points = _ring(system, phi)
    flat = (points - np.asarray(place)).reshape(-1, 3)
    field = sheet_field(box.straight, radii, box.height, flat).reshape(len(radii), *points.shape)
    normal = field[..., 0] * np.cos(phi) + field[..., 1] * np.sin(phi)
    normal = normal * system.n_rho[:, None] + field[..., 2] * system.n_z[:, None]
    potential = np.empty((len(radii), system.count))
    for within in {bool(v) for v in inside}:
        rows = np.repeat(inside == within, [m.count for m in system.meshes])
        where = (points[rows] - np.asarray(place)).reshape(-1, 3)
        psi = sheet_potential(box.straight, radii, box.height, where, inside=within)
        potential[:, rows] = psi.reshape(len(radii), -1, points.shape[1]).mean(axis=2)
    cosine = np.stack([2.0 * (normal * np.cos(m * phi)).mean(axis=2) for m in HARMONICS], axis=1)
    sine = np.stack([2.0 * (normal * np.sin(m * phi)).mean(axis=2) for m in HARMONICS], axis=1)
    if half:
        sine = np.zeros_like(cosine)
    return Touch(normal.mean(axis=2), cosine, sine, potential)


def _ring(system: PoleSystem, phi: Array) -> Array:
    x, y = system.axis
    px = x[:, None] + system.rho[:, None] * np.cos(phi)
    py = y[:, None] + system.rho[:, None] * np.sin(phi)
    return np.stack([px, py, np.broadcast_to(system.z[:, None], px.shape)], axis=-1)


def _rods_inside(system: PoleSystem, box: CoilBox, place: Place) -> NDArray[np.bool_]:
    """(rods,) True for rods in the bore, False for rods outside the winding. Raises DomainError for a rod that
    cuts it.
    """
    found = []
    for number, rod in enumerate(system.rods, 1):
        along = max(abs(rod.x - place[0]) - box.straight / 2, 0.0)
        distance = float(np.hypot(along, rod.y - place[1]))
        level = abs(rod.z - place[2]) < (rod.length + box.height) / 2
        within = distance + rod.radius <= box.inner * (1.0 + 1e-9)
        without = distance - rod.radius >= box.outer * (1.0 - 1e-9)
        if level and not (within or without):
            raise DomainError(
                "a pole piece stands inside the winding or outside it",
                f"number {number}, {1e3 * distance:.2f} mm from the coil's long axis, winding from "
                f"{1e3 * box.inner:.2f} to {1e3 * box.outer:.2f} mm",
                "a thinner pole piece, or another place for it",
            )
        found.append(within)
    return np.array(found)


@dataclass(frozen=True)
class Answer:
    """What a coil makes of the poles: charge (n,) and the harmonics (3, n) of the total normal field round the
    sides.
    """

    sigma: Numbers
    cosine: Numbers
    sine: Numbers


def answer(system: System, touch: Touch) -> Answer:
    """The poles' answer to a coil, per ampere and turn."""
    sigma = system.in_field(touch.mean)
    drawn_cos, drawn_sin = system.drawn(sigma)
    return Answer(sigma, touch.cosine + drawn_cos, touch.sine + drawn_sin)


def poles_inductance(system: System, one: Answer, touch: Touch, other: Answer) -> complex:
    """What the poles add to the (mutual) inductance of the coil behind `one` with the coil of `touch` and `other`
    [H].
    """
    direct = -np.sum(system.area * one.sigma * touch.potential)
    side = system.area * system.rho * system.beta * system.side
    across = sum(
        np.sum(side * (one.cosine[k] * other.cosine[k] + one.sine[k] * other.sine[k])) / m
        for k, m in enumerate(HARMONICS)
    )
    return complex(MU0 * (direct + across))


def linkage(system: System, magnets: Numbers, touch: Touch, coil: Answer) -> float:
    """Flux of the magnets through the coil, per turn [Wb]; `magnets` is the rods' charge from their remanence [A/m]."""
    direct = -np.sum(system.area * magnets * touch.potential)
    drawn_cos, drawn_sin = system.drawn(magnets)
    side = system.area * system.rho * system.beta * system.side
    across = sum(
        np.sum(side * (coil.cosine[k] * drawn_cos[k] + coil.sine[k] * drawn_sin[k])) / m
        for k, m in enumerate(HARMONICS)
    )
    return float(MU0 * (direct + across).real)


def moment_of_poles(system: System, coil: Answer) -> complex:
    """Dipole moment along z of the poles per ampere and turn [m^2]; also what they add to the linkage with a uniform
    field along z."""
    return complex(np.sum(system.area * coil.sigma * system.z))


def remanence_charge(system: System, remanence: Sequence[float], bars: Sequence[Sequence[float]] = ()) -> Numbers:
    """Charge [A/m] from one axial remanence [T] a rod and the remanence (3) [T] of each box, and what leaning
    neighbours add to it in one pass."""
    sigma = system.of_magnets(remanence, bars) if isinstance(system, MagneticSystem) else system.of_magnets(remanence)
    lateral = system.lateral(*system.drawn(sigma))
    return sigma + system.in_field(system.leant(lateral))
