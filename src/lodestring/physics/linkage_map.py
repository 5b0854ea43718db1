"""Flux of one string through every coil as a smooth function of where the string is: what sound is made from.

The whole string is moved up and sideways, its magnetisation settled at every place, and the flux it links with each
coil laid down as a Chebyshev series in both displacements. A sound differentiates the linkage itself in time: one
error, and no drift. 12 by 9 places leave 4e-5 of the linkage and 6e-4 of its slope over 0.9 to 4.6 mm above a rod of
4.8 mm.

The pole pieces' answer to the string is worked out anew at every height, over the place at rest, and taken for every
sideways displacement there. Validity: the string stays straight over the length heard; it stays clear of every body.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.chebyshev import chebder, chebgrid2d, chebpts1, chebval2d, chebvander

from lodestring.errors import DomainError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.coil import coil_field
from lodestring.physics.pole_field import field_operator
from lodestring.physics.poles import MU0, Numbers, PoleSystem
from lodestring.physics.ring import Array
from lodestring.physics.string_field import OnString, StringShape, reaction, self_matrix, state
from lodestring.physics.string_run import Line, Source, of_boxes, refuse_in_body

ORDER = (12, 9)
"""Heights and sideways places at which the string is put."""


@dataclass(frozen=True)
class LinkageMap:
    """Linkage of one string with each coil [Wb per turn] by displacement: `series` (coils, heights, sides) of Chebyshev
    polynomials over `up` (low, high) and -`side`..`side` [m] about the place at rest."""

    up: tuple[float, float]
    side: float
    series: Array

    def linkage(self, up: Array, side: Array) -> Array:
        """(coils, ...) at displacements [m] of one shape. Raises DomainError outside the map."""
        return np.stack([chebval2d(*self._places(up, side), c) for c in self.series])

    def slopes(self, up: Array, side: Array) -> tuple[Array, Array]:
        """d/dup and d/dside (coils, ...) [Wb/m per turn]. Raises DomainError outside the map."""
        places = self._places(up, side)
        half = 0.5 * (self.up[1] - self.up[0])
        rise = np.stack([chebval2d(*places, chebder(c, axis=0)) for c in self.series]) / half
        shift = np.stack([chebval2d(*places, chebder(c, axis=1)) for c in self.series]) / self.side
        return np.asarray(rise, dtype=np.float64), np.asarray(shift, dtype=np.float64)

    def grid(self, up: Array, side: Array) -> Array:
        """(coils, heights, sides) on the grid of two lists of displacements [m]."""
        u, s = self._unit(up, *self.up), self._unit(side, -self.side, self.side)
        return np.stack([chebgrid2d(u, s, c) for c in self.series])

    def _places(self, up: Array, side: Array) -> tuple[Array, Array]:
        return self._unit(up, *self.up), self._unit(side, -self.side, self.side)

    @staticmethod
    def _unit(values: Array, low: float, high: float) -> Array:
        unit: Array = (2.0 * np.asarray(values, dtype=float) - low - high) / (high - low)
        if not bool(np.all(np.abs(unit) <= 1.0 + 1e-9)):
            raise DomainError(
                f"a string is followed from {1e3 * low:.2f} to {1e3 * high:.2f} mm from its place at rest",
                f"{1e3 * float(np.min(values)):.2f} to {1e3 * float(np.max(values)):.2f} mm",
                "a wider map, or a smaller swing",
            )
        return unit


def linkage_map(
    system: PoleSystem | MagneticSystem,
    magnets: Numbers,
    coils: tuple[Source, ...],
    line: Line,
    shape: StringShape,
    up: tuple[float, float],
    side: float,
    order: tuple[int, int] = ORDER,
) -> LinkageMap:
    """The map of one string over a pickup.

    magnets: charge on the bodies from their remanence [A/m]; coils: as for `line_fields`; line: the string at rest; up:
    lowest and highest displacement [m]; side: the greatest to either side [m]. Raises DomainError for a string that
    runs into a body at its lowest, and for a range that is empty.
    """
    if not (up[0] < up[1] and side > 0.0):
        raise DomainError("a map covers a range of displacements", f"{up[0]:g} to {up[1]:g} m, {side:g} m aside")
    nodes, frame = line.nodes(), line.frame()
    boxes = system.boxes if isinstance(system, MagneticSystem) else ()
    for aside in (-side, 0.0, side):
        refuse_in_body(system.rods, boxes, line.points(nodes, aside, up[0]))
    own = self_matrix(nodes, shape.radius)
    charges = np.stack([magnets.real, *(c.charge.real for c in coils)], axis=1)
    z_unit, x_unit = chebpts1(order[0]), chebpts1(order[1])
    found = np.empty((len(coils), *order))
    guess = None
    for i, z in enumerate(0.5 * (up[0] + up[1] + (up[1] - up[0]) * z_unit)):
        points = [line.points(nodes, x, float(z)) for x in side * x_unit]
        b = _fields(system, charges, coils, points, frame)
        over = line.points(nodes, 0.0, float(z))
        answer = reaction(system, _operator(system, over), over, frame, nodes, shape.area)
        for j in range(order[1]):
            here = OnString(nodes, b[j, 0], b[j, 1:], answer)
            settled = state(shape, here, own, None, guess)
            guess = settled.m
            found[:, i, j] = settled.linkage
    fit_z = np.linalg.inv(chebvander(z_unit, order[0] - 1))
    fit_x = np.linalg.inv(chebvander(x_unit, order[1] - 1))
    series: Array = np.einsum("ai,cij,bj->cab", fit_z, found, fit_x)
    return LinkageMap(up, side, series)


def _operator(system: PoleSystem | MagneticSystem, points: Array) -> Array:
    """H per charge of the rods' nodes (k, 3, rod nodes)."""
    rods = system.poles if isinstance(system, MagneticSystem) else system
    return np.zeros((len(points), 3, 0)) if rods is None else field_operator(rods, points)


def _fields(
    system: PoleSystem | MagneticSystem, charges: Array, coils: tuple[Source, ...], points: list[Array], frame: Array
) -> Array:
    """B (places, 1 + coils, 3, n) [T] of the magnets and of each coil, along the string, sideways, up."""
    together = np.concatenate(points)
    operator = _operator(system, together)
    h = np.tensordot(operator, charges[: operator.shape[2]], axes=([2], [0]))
    if isinstance(system, MagneticSystem):
        h = h + of_boxes(system, charges, points)
    for k, c in enumerate(coils):
        h[:, :, k + 1] += coil_field(c.box, together - np.asarray(c.place), 5, 12)
    b = MU0 * h.reshape(len(points), -1, 3, charges.shape[1])
    out: Array = np.einsum("dc,pnck->pkdn", frame, b)
    return out
