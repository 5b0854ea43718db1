"""Coils and a sheet of metal: what the sheet's eddy currents take from inductance, field and reach.

By reciprocity one flux vector g (k,) a coil says all of it:

    dL_ij(w) = - sum g_ik g_jk j w / (1 + j w tau_k)
    dF(w)    = - sum g_k F_k   j w / (1 + j w tau_k)

F_k the field (or moment) of pattern k at ampere 1. What the coil's field at a string loses, the string's signal loses.
All per ampere and turn: multiply by N, inductances by N N'.

Pole pieces with eddy currents of their own answer differently at each frequency: there take the patterns of
`at_permeability` and a touch with the answer at the complex permeability, one frequency at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.coil_field import distance_from_axis
from lodestring.physics.inductance import Answer, Place
from lodestring.physics.poles import MU0, Numbers
from lodestring.physics.ring import Array
from lodestring.physics.sheet_kernel import THREE
from lodestring.physics.sheet_mesh import SheetMesh
from lodestring.physics.sheet_modes import SheetModes
from lodestring.physics.sheet_vector import coil_potential_vector


def sheet_touch(
    modes: SheetModes, box: CoilBox, place: Place = (0.0, 0.0, 0.0), poles: Answer | None = None
) -> Numbers:
    """Flux g (k,) of a coil through each pattern, per ampere and turn [Wb per pattern's unit].

    `place`: the coil's middle in the sheet's frame. `poles`: the pole pieces' answer to the coil (`inductance.answer`),
    in the system that the patterns were made with, at the static permeability or, complex, at a frequency.
    Raises DomainError for metal within the winding, and for an answer without pole pieces in the patterns, or of
    another number of nodes.
    """
    flux: Numbers = _node_flux(modes.mesh, box, place) @ modes.psi
    if poles is None:
        return flux
    if modes.system is None or modes.system.count != len(poles.sigma):
        came = "none" if modes.system is None else f"{modes.system.count} nodes of them"
        raise DomainError(
            "patterns of current are made with the pole pieces whose answer is given",
            f"an answer of {len(poles.sigma)} nodes, patterns with {came}",
            "sheet_modes with the system of the pole pieces",
        )
    out: Numbers = flux - MU0 * ((modes.system.area * poles.sigma) @ modes.potential)
    return out


@lru_cache(maxsize=32)
def _node_flux(mesh: SheetMesh, box: CoilBox, place: Place) -> Array:
    """Flux (n,) of a coil in air per psi of each node: int A.K dS. Kept, as a sweep over frequencies asks for it again
    and again."""
    _refuse_overlap(mesh, box, place)
    points = np.einsum("gi,mix->mgx", THREE, mesh.corners) - np.asarray(place)
    vector = coil_potential_vector(box, points.reshape(-1, 3)).reshape(len(mesh.area), 3, 2).mean(axis=1)
    return np.asarray(sum((mesh.area * vector[:, c]) @ mesh.current[c] for c in range(2)))


def _refuse_overlap(mesh: SheetMesh, box: CoilBox, place: Place) -> None:
    at = mesh.nodes - np.asarray(place)
    rho = distance_from_axis(box.straight, at)
    within = (rho > box.inner) & (rho < box.outer) & (np.abs(at[:, 2]) < 0.5 * box.height)
    if np.any(within):
        x, y, z = 1e3 * mesh.nodes[int(np.argmax(within))]
        raise DomainError(
            "a winding and a sheet of metal do not share space",
            f"metal within the winding at ({x:.1f}, {y:.1f}, {z:.1f}) mm",
            "a wider or higher cover, or a smaller coil",
        )


def _currents(modes: SheetModes, one: Numbers, frequency: Array | float) -> Numbers:
    """Each pattern's current (f, k) per ampere and turn: -(1 + j w tau)^-1 j w g."""
    s = 2j * np.pi * np.atleast_1d(np.asarray(frequency, dtype=float))
    if modes.coupling is None:
        return np.asarray(-s[:, None] / (1.0 + s[:, None] * modes.tau) * one)
    matrix = np.eye(len(modes.tau)) + s[:, None, None] * modes.coupling
    return np.asarray(np.linalg.solve(matrix, -s[:, None, None] * np.asarray(one)[:, None])[:, :, 0])


def inductance_change(modes: SheetModes, one: Numbers, other: Numbers, frequency: Array | float) -> Numbers:
    """dL (f,) [H per turn squared], complex, of a coil (`one` is `other`) or between two; Z = j w dL has a resistance
    above 0."""
    return np.asarray(_currents(modes, one, frequency) @ other)


def moment_change(modes: SheetModes, one: Numbers, frequency: Array | float) -> Numbers:
    """What the sheet adds to a coil's dipole moment along z (f,) [m^2 per turn], complex: to be added to the coil's own
    and that of its pole pieces. It is also the change of its linkage with a uniform field along z."""
    return np.asarray(_currents(modes, one, frequency) @ modes.moment)


def field_change(modes: SheetModes, one: Numbers, points: Array, frequency: Array | float) -> Numbers:
    """What the sheet adds to a coil's H (f, p, 3) [A/m per A and turn] at points (p, 3) [m], complex."""
    return np.asarray(np.einsum("fk,pxk->fpx", _currents(modes, one, frequency), modes.field(points)))


def field_factor(modes: SheetModes, one: Numbers, still: Numbers, points: Array, frequency: Array | float) -> Numbers:
    """H_z with the sheet over H_z without it (f, p) at points (p, 3) [m]: by reciprocity what is left of the signal of
    a string there. `still` (p,): H_z of coil and pole pieces without the sheet [A/m per A and turn]."""
    return np.asarray(1.0 + field_change(modes, one, points, frequency)[:, :, 2] / still)


def kept(modes: SheetModes, touches: Sequence[Numbers], error: float = 1e-4) -> SheetModes:
    """The fewest patterns that hold every coil's dL at every frequency to `error` of the most it can be, sum g^2 / tau.

    Pairs are held as well (Cauchy and Schwarz). `left_out` of the result says what was reached. The touches are to be
    taken with the new patterns again.
    """
    worst = np.zeros(len(modes.tau))
    for g in touches:
        share = np.abs(g) ** 2 / modes.tau
        worst = np.maximum(worst, share / max(float(share.sum()), 1e-300))
    order = np.argsort(worst)
    lost = np.cumsum(worst[order])
    drop = int(np.searchsorted(lost, error))
    rows = np.sort(order[drop:])
    return modes.only(rows, float(lost[drop - 1]) if drop else 0.0)
