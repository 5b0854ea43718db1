"""The coil as a source of field: inductance in air, field, potential, moment, coupling. The face of the coil_* modules.

Frame: coil-centred, x along the long axis, z along the rods; the winding is at |z| <= h/2. Everything is linear in
ampere turns, so values are per ampere and per turn (inductances per turn squared): multiply by N. No rods, no magnets.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.coil_box import CoilBox, moment
from lodestring.physics.coil_field import (
    ANGLES,
    between_faces,
    checked_sheets,
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


def coil_field(box: CoilBox, points: Floats, order: int = 5, angles: int = ANGLES) -> Floats:
    """H (n, 3) [A/m per A and turn] at points (n, 3) [m]: the mean of `sheet_field` over r_i..r_o by `order` radii.

    The part of the magnetised body, M = clip((r_o - rho)/(r_o - r_i), 0, 1)/h at |z| < h/2, is exact, so the values hold
    inside the winding too and at its sides. Relative error by the distance g to the nearest *face edge of the winding*
    (the flat top or bottom, r_i <= rho <= r_o at z = -+h/2), D the depth: see `tests/physics/test_coil_field.py`;
    order 5 and 12 angles: below 1e-5 for g >= D/2; order 10 and 24 angles: below 1e-5 for g >= D/5. On the faces
    themselves only the size of the field is right (some per cent).
    Raises DomainError for wrong shapes or values that are not finite. Source: derived in the project's design.
    """
    radii, weights = radial_rule(box.inner, box.outer, order)
    radii, points = checked_sheets(box.straight, radii, box.height, points)
    field = np.tensordot(weights, faces_field(box.straight, radii, box.height, points, angles), axes=1)
    rho = distance_from_axis(box.straight, points)
    share = np.clip((box.outer - rho) / box.depth, 0.0, 1.0)
    field[:, 2] += share * between_faces(points[:, 2], box.height) / box.height
    return np.asarray(field)


def coil_potential(
    box: CoilBox, points: Floats, order: int = 5, inside: bool = True, angles: int = ANGLES
) -> Floats:
    """Scalar potential psi (n,) [A per A and turn] at points (n, 3) [m]; H = -grad psi. Branches as `sheet_potential`.

    `inside=True` for bodies in the bore or reaching into it, False for bodies beside the coil. Raises DomainError if a
    point lies where that branch has no meaning: at |z| < h/2 beyond the bore for `inside=True`, at |z| < h/2 within r_o
    for `inside=False`; in the winding itself H is no gradient. Accuracy as `coil_field`.
    """
    radii, weights = radial_rule(box.inner, box.outer, order)
    radii, points = checked_sheets(box.straight, radii, box.height, points)
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
    psi = np.tensordot(weights, faces_potential(box.straight, radii, box.height, points, angles), axes=1)
    if inside:
        psi = psi - np.clip(points[:, 2] / box.height, -0.5, 0.5)
    return np.asarray(psi)
