"""The coil as a source of field: inductance in air, field, potential, moment, coupling. The face of the coil_* modules.

Frame: coil-centred, x along the long axis, z along the rods; the winding is at |z| <= h/2. Everything is linear in
ampere turns, so values are per ampere and per turn (inductances per turn squared): multiply by N. No rods, no magnets.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.coil_box import CoilBox, moment
from lodestring.physics.coil_field import (
    between_faces,
    checked_points,
    distance_from_axis,
    faces_field,
    faces_potential,
    sheet_field,
    sheet_potential,
)
from lodestring.physics.coil_inductance import air_inductance
from lodestring.physics.coil_mutual import mutual_inductance
from lodestring.physics.quadrature import radial_rule, table_nodes, table_rule

__all__ = [
    "CoilBox",
    "air_inductance",
    "coil_field",
    "coil_potential",
    "moment",
    "mutual_inductance",
    "radial_rule",
    "sheet_field",
    "sheet_potential",
    "table_nodes",
    "table_rule",
]

Floats = NDArray[np.float64]


# Orders and angles go up by steps of about sqrt(2); a point on an edge gets the last.
_ORDERS = (5, 7, 10, 14, 20, 28, 40, 56, 80)
_ANGLES = (12, 17, 24, 34, 48, 68, 96, 136, 192)


def coil_field(box: CoilBox, points: Floats, order: int | None = None, angles: int | None = None) -> Floats:
    """H (n, 3) [A/m per A and turn] at points (n, 3) [m]: the mean of `sheet_field` over r_i..r_o by `order` radii.

    The part of the magnetised body, M = clip((r_o - rho)/(r_o - r_i), 0, 1)/h at |z| < h/2, is exact, so the values
    hold inside the winding and at its sides too. What needs points is nearness to a flat face of the winding
    (r_i <= rho <= r_o at z = -+h/2), g away, D the depth: `order` for small g/D, `angles` (on each half circle) for
    small g/r at the round ends. Left out, each point gets what keeps the error below 1e-5 of the field (5 and 12 far
    away, up to 80 and 192) down to g = 0.05 D and 0.05 r; nearer, it grows to some per cent on the face itself.
    With order 5 and angles 12 for all, at a coil of r 3.2 to 6.8 mm: 3e-5 at g = 1.5 D, 4e-4 at D, 5e-2 at D/5.
    Raises DomainError for wrong shapes or values that are not finite. Source: derived in the project's design.
    """
    points = checked_points(points)
    field = np.empty((len(points), 3))
    for where, radii, weights, fine in _rules(box, points, order, angles):
        part = faces_field(box.straight, radii, box.height, points[where], fine)
        field[where] = np.tensordot(weights, part, axes=1)
    rho = distance_from_axis(box.straight, points)
    share = np.clip((box.outer - rho) / box.depth, 0.0, 1.0)
    field[:, 2] += share * between_faces(points[:, 2], box.height) / box.height
    return field


def coil_potential(
    box: CoilBox, points: Floats, order: int | None = None, inside: bool = True, angles: int | None = None
) -> Floats:
    """Scalar potential psi (n,) [A per A and turn] at points (n, 3) [m]; H = -grad psi. Branches as `sheet_potential`.

    `inside=True` for bodies in the bore or reaching into it, False for bodies beside the coil. Raises DomainError if a
    point lies where that branch has no meaning: at |z| < h/2 beyond the bore for `inside=True`, at |z| < h/2 within r_o
    for `inside=False`; in the winding itself H is no gradient. Points and accuracy as `coil_field` (error below 1e-6 of
    the coil's whole 1 A per turn; with order 5 and angles 12 for all 1e-5 at g = D, 6e-4 at g = 0.2 D).
    """
    points = checked_points(points)
    rho = distance_from_axis(box.straight, points)
    level = np.abs(points[:, 2]) < 0.5 * box.height * (1.0 - 1e-9)
    if inside:
        wrong = level & (rho > box.inner * (1.0 + 1e-9))
        must, attempt = "the bore's potential serves points in the bore, above it and below it", "inside=False"
    else:
        wrong = level & (rho < box.outer * (1.0 - 1e-9))
        must, attempt = "the outside potential serves points outside the coil", "inside=True"
    if np.any(wrong):
        x, y, z = (float(part) for part in 1e3 * points[int(np.argmax(wrong))])
        raise DomainError(must, f"{int(wrong.sum())} elsewhere, one at ({x:.4g}, {y:.4g}, {z:.4g}) mm", attempt)
    psi = np.empty(len(points))
    for where, radii, weights, fine in _rules(box, points, order, angles):
        psi[where] = weights @ faces_potential(box.straight, radii, box.height, points[where], fine)
    if inside:
        psi -= np.clip(points[:, 2] / box.height, -0.5, 0.5)
    return psi


def _rules(
    box: CoilBox, points: Floats, order: int | None, angles: int | None
) -> Iterator[tuple[NDArray[np.intp], Floats, Floats, int]]:
    """Groups of points with the radii, weights and angles that serve them; numbers that are given serve all."""
    rho = distance_from_axis(box.straight, points)
    nearest = np.clip(rho, box.inner, box.outer)
    g = np.hypot(rho - nearest, np.abs(points[:, 2]) - 0.5 * box.height)
    to_arcs = np.hypot(g, np.maximum(0.5 * box.straight - np.abs(points[:, 0]), 0.0))
    tiny = 1e-6 * box.outer
    # a Gauss rule's error falls by 2 asinh(2 g / D) a point (poles at the distance g); measured for the angles
    radial = _step(_ORDERS, 7.5 / np.arcsinh(2.0 * np.maximum(g, tiny) / box.depth), order)
    angular = _step(_ANGLES, 12.0 * nearest / np.maximum(to_arcs, tiny), angles)
    kinds = radial * len(_ANGLES) + angular
    for kind in np.unique(kinds):
        i, j = divmod(int(kind), len(_ANGLES))
        radii, weights = radial_rule(box.inner, box.outer, _ORDERS[i] if order is None else order)
        yield np.flatnonzero(kinds == kind), radii, weights, _ANGLES[j] if angles is None else angles


def _step(steps: tuple[int, ...], need: Floats, given: int | None) -> NDArray[np.intp]:
    """Place in `steps` of the least that meets the need, or 0 where a number is given."""
    if given is not None:
        return np.zeros(need.shape, dtype=np.intp)
    return np.minimum(np.searchsorted(np.array(steps), need), len(steps) - 1)
