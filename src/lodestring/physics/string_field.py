"""A steel string over pole pieces: how it is magnetised, what it links with a coil, how it is pulled.

A thin steel wire gathers flux along itself, so its magnetisation along the string, M(s), carries the signal (94 per
cent of the linkage over a rod); across it answers the local field with t = 2 chi / (2 + chi). Along the string M
solves

    M = chi H / (1 + chi |H| / M_s)   (Froehlich),   H = H_applied + N M

with N M the field of the string's own charge: -dM/ds spread on a shell of the string's radius, and the end faces. The
pole pieces answer the string too (`reaction`), which adds 1-2 per cent to the linkage and 5 to its change with
height.

A coil's small signal sees the slope of the curve, chi / (1 + chi |H| / M_s)^2: the *incremental* answer, never the
secant. Frame: the pickup's; positions s along the string's own direction. SI; z is the height of the string's CENTRE.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.poles import MU0, PoleSystem
from lodestring.physics.ring import Array
from lodestring.physics.string_boxes import box_reaction

STEPS = 60
REACH = 0.016
"""Rods further than this [m] from the string do not answer it noticeably."""
HALF_LENGTH = 0.030
"""Metres of string to either side that are followed: 60 mm in all leaves 1.2 per cent of the linkage out."""


@dataclass(frozen=True, slots=True)
class StringShape:
    """Magnetic section [m^2], radius of its surface [m], initial susceptibility [1], saturation polarisation [T].

    Raises DomainError unless all are above 0. `saturation` may be infinite: then the string is linear.
    """

    area: float
    radius: float
    susceptibility: float
    saturation: float

    def __post_init__(self) -> None:
        sizes = (self.area, self.radius, self.susceptibility, self.saturation)
        if not all(v > 0.0 for v in sizes):
            raise DomainError("a string has section, radius, susceptibility and saturation above 0", str(sizes))

    @property
    def most(self) -> float:
        """Saturation magnetisation [A/m]."""
        return self.saturation / MU0

    @property
    def across(self) -> float:
        """t = 2 chi / (2 + chi): magnetisation across the string per field across it."""
        return 2.0 * self.susceptibility / (2.0 + self.susceptibility)


def string_nodes(centres: tuple[float, ...] = (0.0,), half: float = HALF_LENGTH, count: int = STEPS) -> Array:
    """Places s [m] along a string, crowded where it crosses each row of pole pieces (`centres`), over +-`half`.

    The density of nodes is sum 1 / sqrt((s - c)^2 + w^2) with w = 2.5 mm: a sinh grading for one row.
    """
    fine = np.linspace(min(centres) - half, max(centres) + half, 4001)
    density = np.sum([1.0 / np.hypot(fine - c, 2.5e-3) for c in centres], axis=0)
    total = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(fine))])
    return np.interp(np.linspace(0.0, total[-1], count), total, fine)


def self_matrix(nodes: Array, radius: float) -> Array:
    """N (n, n) [1]: field along the string on its axis at the nodes from M at the nodes, M linear between them.

    A piece of line charge lambda = -dM/ds on a shell of radius a gives
    (lambda / 4 pi) [1 / sqrt((s - s2)^2 + a^2) - 1 / sqrt((s - s1)^2 + a^2)] times the section pi a^2; the end faces
    are
    discs of charge M. Source: elementary electrostatics of a charged shell and disc on their axis.
    """
    count, section = len(nodes), np.pi * radius**2
    ends = nodes[:, None] - nodes[None, :]
    inverse = 1.0 / np.hypot(ends, radius)
    piece = section / (4.0 * np.pi) * (inverse[:, 1:] - inverse[:, :-1])
    slope = 1.0 / np.diff(nodes)
    matrix = np.zeros((count, count))
    matrix[:, :-1] += piece * slope  # -dM/ds = (M_j - M_j+1) / step
    matrix[:, 1:] -= piece * slope
    for end in (
        0,
        -1,
    ):  # charge +-M on the end faces: both drive the field inside back by M/2 (1 - d / sqrt(d^2 + a^2))
        d = np.abs(nodes - nodes[end])
        matrix[:, end] -= 0.5 * (1.0 - d / np.hypot(d, radius))
    return matrix


def magnetise(shape: StringShape, matrix: Array, applied: Array, guess: Array | None = None) -> Array:
    """M (n,) [A/m] along the string from the applied field (n,) [A/m], by Newton's method on the Froehlich law.

    The residual is H(M) - applied - N M with H(M) = M / (chi (1 - |M| / M_s)). Raises DomainError should it not settle.
    """
    chi, most = shape.susceptibility, shape.most
    if not np.isfinite(most):
        return np.asarray(np.linalg.solve(np.eye(len(applied)) - chi * matrix, chi * applied), dtype=np.float64)
    m = applied * chi / (1.0 + chi * np.abs(applied) / most) * 0.5 if guess is None else guess
    for _ in range(60):
        room = 1.0 - np.abs(m) / most
        residual = m / (chi * room) - applied - matrix @ m
        step = np.linalg.solve(np.diag(1.0 / (chi * room * room)) - matrix, residual)
        # never past 90 per cent of what is left to saturation
        worst = np.max(np.abs(step) / (most - np.sign(-step) * m))
        m = np.asarray(m - step * min(1.0, 0.9 / max(worst, 1e-30)), dtype=np.float64)
        if np.max(np.abs(step)) < 1e-9 * most:
            return m
    raise DomainError(
        "the string's magnetisation settles", f"a rest of {np.max(np.abs(step)) / most:.1e} of saturation"
    )


def incremental(shape: StringShape, matrix: Array, m: Array, applied: Array) -> Array:
    """Small change of M (n,) or (n, k) for a small applied field (n,) or (n, k), about the state `m`."""
    room = 1.0 - np.abs(m) / shape.most
    stiff = np.diag(1.0 / (shape.susceptibility * room * room))
    return np.asarray(np.linalg.solve(stiff - matrix, applied), dtype=np.float64)


def trapezoid(nodes: Array) -> Array:
    """Weights (n,) [m] of the trapezoid rule on the graded nodes."""
    steps = np.diff(nodes)
    weights = np.zeros(len(nodes))
    weights[1:] += 0.5 * steps
    weights[:-1] += 0.5 * steps
    return weights


def along_string(nodes: Array, values: Array) -> Array:
    """d/ds (n,) of values (n,): second order on uneven nodes."""
    return np.gradient(values, nodes, edge_order=2)


@dataclass(frozen=True)
class Reaction:
    """How the pole pieces answer a string at one position.

    `charge` (count, n): charge on the rods' nodes per M at the string's nodes. `field` (3, n, n): field at the
    string's
    nodes per M at its nodes, components along the string, sideways, up.
    """

    charge: Array
    field: Array


@dataclass(frozen=True)
class OnString:
    """Applied fields along one string at one position, B [T]: components along the string, sideways, up.

    `magnets` (3, n) of the magnets with the pole pieces; `coils` (coils, 3, n) per ampere (all turns) with the pole
    pieces; `reaction` of the pole pieces to the string, or None to leave it out.
    """

    nodes: Array
    magnets: Array
    coils: Array
    reaction: Reaction | None = None


@dataclass(frozen=True)
class StringState:
    """What follows at one position: M along the string [A/m], external B (3, n) with the poles' reaction [T], linkage
    with each coil [Wb], force up and sideways [N] (down is negative)."""

    m: Array
    b: Array
    linkage: Array
    up: float
    sideways: float


def state(
    shape: StringShape,
    fields: OnString,
    own: Array,
    slopes: tuple[Array, Array] | None = None,
    guess: Array | None = None,
) -> StringState:
    """Magnetisation, linkage with the coils, and force. `own` is `self_matrix` of the string; `guess` an M nearby.

    Force = section x integral of M . dB; outside the magnets B has no curl, so dB_s/dz = dB_z/ds and dB_s/dx = dB_x/ds.
    The parts across the string need `slopes`, dB_z/dz and dB_z/dx (n,); without them only M along the string is pulled.
    """
    nodes, reaction = fields.nodes, fields.reaction
    matrix = own if reaction is None else own + reaction.field[0]
    m = magnetise(shape, matrix, fields.magnets[0] / MU0, guess)
    b = fields.magnets if reaction is None else fields.magnets + MU0 * reaction.field @ m
    across, up = shape.across * b[1] / MU0, shape.across * b[2] / MU0
    weights = trapezoid(nodes)
    linkage = shape.area * (fields.coils[:, 0] @ (weights * m) + fields.coils[:, 2] @ (weights * up))
    linkage = linkage + shape.area * fields.coils[:, 1] @ (weights * across)
    lift, push = m * along_string(nodes, b[2]), m * along_string(nodes, b[1])
    if slopes is not None:
        sideways_slope = -along_string(nodes, b[0]) - slopes[0]  # dB_x/dx, for B has no divergence
        lift = lift + up * slopes[0] + across * slopes[1]
        push = push + up * slopes[1] + across * sideways_slope
    return StringState(m, b, linkage, shape.area * float(weights @ lift), shape.area * float(weights @ push))


def sensitivity(
    shape: StringShape, fields: OnString, own: Array, found: StringState, coil: int, up_products: Array | None = None
) -> Array:
    """S (n,) [Wb/m per metre of string]: change of one coil's linkage when a short piece of string moves up.

    B_mag and B_coil are both those of magnets or coil and pole pieces, with the pole pieces' answer to M and to M_coil:
    S = -A [M' B_z,coil + M_coil' B_z,mag] + (A / mu0) { t d/dz (B_z,mag B_z,coil) + d/ds [t (B_s,mag B_z,coil +
    B_z,mag B_s,coil)] }, M_coil the incremental answer to the coil's field. `up_products` is d/dz (B_z,mag B_z,coil).
    The last term integrates to zero over the string. Source: derived in the project's design, checked by moving a bump.
    """
    nodes, b, by_coil = fields.nodes, found.b, fields.coils[coil]
    matrix = own if fields.reaction is None else own + fields.reaction.field[0]
    m_coil = incremental(shape, matrix, found.m, by_coil[0] / MU0)
    if fields.reaction is not None:  # both magnetisations move in what the pole pieces answer to the other
        by_coil = by_coil + MU0 * fields.reaction.field @ m_coil
    first = along_string(nodes, found.m) * by_coil[2] + along_string(nodes, m_coil) * b[2]
    shift = along_string(nodes, shape.across * (b[0] * by_coil[2] + b[2] * by_coil[0]))
    up = 0.0 if up_products is None else shape.across * up_products
    s: Array = shape.area * (-first + (up + shift) / MU0)
    return s


def length_heard(nodes: Array, s: Array) -> float:
    """Full width at half height [m] of |S| about its greatest value."""
    size = np.abs(s)
    peak = int(np.argmax(size))
    half = size[peak] / 2.0
    left, right = peak, peak
    while left > 0 and size[left] > half:
        left -= 1
    while right < len(size) - 1 and size[right] > half:
        right += 1
    lower = np.interp(half, [size[left], size[left + 1]], [nodes[left], nodes[left + 1]])
    upper = np.interp(-half, [-size[right - 1], -size[right]], [nodes[right - 1], nodes[right]])
    return float(upper - lower)


def dipoles_on_poles(system: PoleSystem, points: Array, along: Array, reach: float, angles: int = 8) -> Array:
    """F (count, n): mean normal field on the rods' nodes from unit dipoles [A m^2] at points (n, 3) along `along` (3,).

    Rods whose axis is further than `reach` [m] from every point are left out (zero): what they give back is far
    smaller.
    """
    ring, phi = system.ring_points(angles)
    out = np.zeros((system.count, len(points)))
    for rod, where in zip(system.rods, system.slices, strict=True):
        if np.min(np.hypot(points[:, 0] - rod.x, points[:, 1] - rod.y)) > reach:
            continue
        r = ring[where][:, :, None, :] - points
        r2 = np.einsum("iakc,iakc->iak", r, r)
        n_rho, n_z = system.n_rho[where, None, None], system.n_z[where, None, None]
        outward = r[..., 0] * np.cos(phi)[:, None] + r[..., 1] * np.sin(phi)[:, None]
        normal = outward * n_rho + r[..., 2] * n_z
        along_n = (along[0] * np.cos(phi) + along[1] * np.sin(phi))[:, None] * n_rho + along[2] * n_z
        kernel = (3.0 * (r @ along) * normal / r2 - along_n) / (4.0 * np.pi * r2**1.5)
        out[where] = kernel.mean(axis=1)
    return out


def reaction(
    system: PoleSystem | MagneticSystem, operator: Array, points: Array, frame: Array, nodes: Array, area: float
) -> Reaction:
    """How rods and blades answer a string; M at a node stands for the dipole area M ds.

    `operator` (n, 3, count) is `field_operator` at the string's points, `frame` (3, 3) its directions along the string,
    sideways and up, one a row.
    """
    rods = system.poles if isinstance(system, MagneticSystem) else system
    dipole, count = area * trapezoid(nodes), len(nodes)
    charge, field = np.zeros((operator.shape[2], count)), np.zeros((3, count, count))
    if rods is not None:
        felt = np.zeros((system.count, count))
        felt[: rods.count] = dipoles_on_poles(rods, points, frame[0], REACH) * dipole
        charge = system.in_field(felt)[: operator.shape[2]]
        field = np.einsum("dc,kcn,nl->dkl", frame, operator, charge, optimize=True)
    of_boxes = box_reaction(system.boxes, points, frame, dipole) if isinstance(system, MagneticSystem) else None
    return Reaction(charge, field if of_boxes is None else field + of_boxes)
