"""Closed forms of a flat triangle seen from a point: solid angle, potential of even charge, and what they give.

With R_i the distances from the point to the corners, d its height over the triangle's plane and L_e the sides,

    f_e = ln[(R_+ + R_- + L_e) / (R_+ + R_- - L_e)]           integral of dl / R along side e
    tan(Omega/2) = 2 A d / [R_1 R_2 R_3 + sum R_i R_j.R_k]      solid angle (van Oosterom & Strackee 1983)
    int dS / R = sum t_e f_e - d Omega                          t_e: side e from the foot of the point, outward
    int R / R^3 dS = Omega n + sum u_e f_e                      u_e: outward normal of side e in the plane
    int int dS dS' / R = (4 A^2 / 3) sum ln[P / (P - 2 L_e)] / L_e    of the triangle on itself, P its perimeter

Textbook integrals of boundary-element work; the last is in Eibert & Hansen 1995, from memory, checked by quadrature in
the tests. On a side itself f_e is infinite: it is held there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from lodestring.physics.ring import Array
from lodestring.physics.sheet_mesh import SheetMesh

MU0 = 4e-7 * math.pi
FOUR_PI = 4.0 * math.pi
NEAR = 3.0
"""Pairs of triangles nearer than so many mean sides are integrated; further ones are clouds with their moments."""
_BLOCK = 60_000
# seven points on a triangle, exact to degree 5: Radon 1948
_SQRT15 = math.sqrt(15.0)
_A, _B = (6.0 - _SQRT15) / 21.0, (6.0 + _SQRT15) / 21.0
SEVEN = np.array(
    [[1 / 3] * 3]
    + [[1.0 - 2.0 * _A if i == k else _A for i in range(3)] for k in range(3)]
    + [[1.0 - 2.0 * _B if i == k else _B for i in range(3)] for k in range(3)]
)
SEVEN_WEIGHTS = np.array([9 / 40] + [(155.0 - _SQRT15) / 1200.0] * 3 + [(155.0 + _SQRT15) / 1200.0] * 3)
THREE = np.array([[2 / 3, 1 / 6, 1 / 6], [1 / 6, 2 / 3, 1 / 6], [1 / 6, 1 / 6, 2 / 3]])


def angle_and_logs(
    to_corners: Sequence[Array], sides: Array, area: Array, height: Array
) -> tuple[Array, tuple[Array, ...]]:
    """Omega (...) and f_e, three of (...), from the distances to the three corners, each (...), the sides (..., 3)
    opposite to them, area and height over the plane (...); Omega is positive on the side of the normal."""
    logs = tuple(_log(to_corners[j] + to_corners[k], sides[..., i]) for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)))
    return _angle(to_corners, sides, area, height), logs


def _log(both: Array, side: Array) -> Array:
    """f_e from the sum of the distances to a side's two ends, and its length."""
    return np.asarray(np.log((both + side) / np.maximum(both - side, 1e-9 * side)))


def _angle(to_corners: Sequence[Array], sides: Array, area: Array, height: Array) -> Array:
    """Omega, see `angle_and_logs`."""
    one, two, three = to_corners
    below = one * two * three
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        # R_j . R_k, R_i, by the law of cosines
        below += to_corners[i] * (0.5 * (to_corners[j] ** 2 + to_corners[k] ** 2 - sides[..., i] ** 2))
    return np.asarray(2.0 * np.arctan2(2.0 * area * height, below))


def _outward(mesh: SheetMesh) -> Array:
    """u_e (m, 3, x): in the plane, across each side."""
    length = np.linalg.norm(mesh.edges, axis=2, keepdims=True)
    return np.asarray(np.cross(mesh.edges / length, mesh.normal[:, None, :]))


def charge_matrix(mesh: SheetMesh) -> Array:
    """(m, m) [m^3]: double integral of 1/R over every pair of triangles."""
    centre, area = mesh.corners.mean(axis=1), mesh.area
    arm = mesh.corners - centre[:, None]
    spread = np.einsum("mix,miy->mxy", arm, arm) / 12.0  # second moment of a triangle over its area
    trace = np.einsum("mxx->m", spread)
    square = np.zeros((len(area), len(area)))
    for c in range(3):
        square += (centre[:, c, None] - centre[:, c]) ** 2
    np.fill_diagonal(square, 1.0)
    # d.S.d for S of the first triangle, by matrix products; that of the second is its transpose, as d enters twice
    lean = np.einsum("mxy,my->mx", spread, centre)
    pairs = np.einsum("mx,my->mxy", centre, centre).reshape(-1, 9)
    along = np.einsum("mx,mx->m", lean, centre)[:, None] - 2.0 * (lean @ centre.T) + spread.reshape(-1, 9) @ pairs.T
    inverse = 1.0 / square
    quad = 3.0 * along * inverse - trace[:, None]
    matrix = np.sqrt(inverse) * (1.0 + 0.5 * inverse * (quad + quad.T))
    matrix *= area[:, None] * area
    side = math.sqrt(float(np.mean(np.sum(mesh.edges**2, axis=2))))
    one, two = np.nonzero(np.triu(square < (NEAR * side) ** 2, 1))
    exact = 0.5 * (_pairs(mesh, one, two) + _pairs(mesh, two, one))
    matrix[one, two] = matrix[two, one] = exact
    lengths = np.linalg.norm(mesh.edges, axis=2)
    around = lengths.sum(axis=1, keepdims=True)
    own = (4.0 * area**2 / 3.0) * np.sum(np.log(around / (around - 2.0 * lengths)) / lengths, axis=1)
    matrix[np.diag_indices(len(area))] = own
    return np.asarray(matrix)


def _pairs(mesh: SheetMesh, of: np.ndarray, at: np.ndarray) -> Array:
    """Double integral (k,) over triangles `of` (closed form) and `at` (seven points)."""
    lengths, outward = np.linalg.norm(mesh.edges, axis=2), _outward(mesh)
    points = np.einsum("gi,mix->mgx", SEVEN, mesh.corners)
    foot = np.einsum("mx,mx->m", mesh.normal, mesh.corners[:, 0])
    # side e lies opposite to corner e: corner e + 1 is on it
    reach = np.einsum("mex,mex->me", outward, np.roll(mesh.corners, -1, axis=1))
    out = np.empty(len(of))
    step = max(1, _BLOCK // 7)
    for start in range(0, len(of), step):
        i, j = of[start : start + step], at[start : start + step]
        p = points[j]  # (k, g, x)
        to = [np.sqrt(((p - mesh.corners[i, c][:, None]) ** 2).sum(axis=-1)) for c in range(3)]
        height = np.einsum("kgx,kx->kg", p, mesh.normal[i]) - foot[i][:, None]
        omega, logs = angle_and_logs(to, lengths[i][:, None], mesh.area[i][:, None], height)
        total = -height * omega
        for e in range(3):
            total += (reach[i, e][:, None] - np.einsum("kgx,kx->kg", p, outward[i, e])) * logs[e]
        out[start : start + step] = total @ SEVEN_WEIGHTS * mesh.area[j]
    return out


def potential_and_field(mesh: SheetMesh, points: Array) -> tuple[Array, Array]:
    """Scalar potential (p, n) [A] and H (p, n, 3) [A/m] at points (p, 3) [m] off the sheet, per psi of each node.

    The potential is that of the metal alone, a layer of dipoles psi n: an opening round which a current flows still
    lacks its own layer (see `opening_potential`).
    """
    psi, field = np.empty((len(points), len(mesh.nodes))), np.empty((len(points), len(mesh.nodes), 3))
    for where, potential, pull in _seen_from(mesh, points):
        psi[where] = potential.T
        for c, part in enumerate(_across_flow(mesh, pull)):
            field[where, :, c] = part.T
    return psi, field


def potential_and_normal_field(mesh: SheetMesh, points: Array, normals: Array) -> tuple[Array, Array]:
    """Potential (p, n) [A] as above and H along a normal (p, 3) at each point, (p, n) [A/m]: a third of the work and of
    the memory where many points ask for no more."""
    psi, along = np.empty((len(points), len(mesh.nodes))), np.empty((len(points), len(mesh.nodes)))
    flow = [c.T.tocsr() for c in mesh.current]
    for where, potential, pull in _seen_from(mesh, points):
        psi[where] = potential.T
        n = normals[where].T
        # n . (K x R) = K . (R x n)
        found = sum(flow[c] @ (pull[c - 2] * n[c - 1] - pull[c - 1] * n[c - 2]) for c in range(3))
        along[where] = found.T
    return psi, along


def _across_flow(mesh: SheetMesh, pull: Sequence[Array]) -> Iterator[Array]:
    """K x R for x, y, z, (n, p) each."""
    flow = [c.T.tocsr() for c in mesh.current]
    for c in range(3):
        yield flow[c - 2] @ pull[c - 1] - flow[c - 1] @ pull[c - 2]


def _seen_from(mesh: SheetMesh, points: Array) -> Iterator[tuple[slice, Array, list[Array]]]:
    """Block by block of points: which, potential (n, p), integral of R / (4 pi R^3) over each triangle, x, y, z of
    (m, p). Triangles come first and points last in every array: so the sums over corners read memory in its order."""
    lengths, outward = np.linalg.norm(mesh.edges, axis=2), _outward(mesh)
    foot = np.einsum("mx,mx->m", mesh.normal, mesh.corners[:, 0])[:, None]
    slope = -outward * (lengths / (2.0 * mesh.area[:, None]))[..., None]  # of the function that is 1 at each corner
    turn = np.einsum("mix,mex->iem", slope, outward)[..., None]
    constant = (1.0 - np.einsum("mix,mix->im", slope, mesh.corners))[..., None]
    ends, number = mesh.sides
    of_side = np.linalg.norm(mesh.nodes[ends[:, 1]] - mesh.nodes[ends[:, 0]], axis=1)[:, None]
    step = max(1, _BLOCK // len(mesh.triangles))
    for start in range(0, len(points), step):
        p = points[start : start + step].T
        square = np.zeros((len(mesh.nodes), p.shape[1]))
        for c in range(3):
            square += (mesh.nodes[:, c, None] - p[c]) ** 2
        distance = np.sqrt(square)
        height = mesh.normal @ p - foot
        to = [distance[mesh.triangles[:, i]] for i in range(3)]
        omega = _angle(to, lengths[:, None], mesh.area[:, None], height)
        every = _log(distance[ends[:, 0]] + distance[ends[:, 1]], of_side)  # two triangles share a side
        logs = [every[number[:, i]] for i in range(3)]
        total = np.zeros_like(distance)
        for i in range(3):
            dipole = (slope[:, i] @ p + constant[i]) * omega
            dipole -= height * (turn[i, 0] * logs[0] + turn[i, 1] * logs[1] + turn[i, 2] * logs[2])
            total += mesh.at_corner[i] @ dipole
        pull = [
            (omega * mesh.normal[:, c, None] + sum(logs[e] * outward[:, e, c, None] for e in range(3))) / FOUR_PI
            for c in range(3)
        ]
        yield slice(start, start + p.shape[1]), total / FOUR_PI, pull


def opening_potential(polygon: Array, points: Array) -> Array:
    """Potential (p,) [A] at points (p, 3) [m] of an opening's flat polygon (k, 3), carrying one ampere round it."""
    middle = polygon.mean(axis=0)
    corners = np.stack([np.broadcast_to(middle, polygon.shape), polygon, np.roll(polygon, -1, axis=0)], axis=1)
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(across, axis=1)
    normal = across / twice[:, None]
    sides = np.linalg.norm(np.roll(corners, -2, axis=1) - np.roll(corners, -1, axis=1), axis=2)
    to_polygon = np.sqrt(sum((points[:, c, None] - polygon[:, c]) ** 2 for c in range(3)))
    to_middle = np.sqrt(((points - middle) ** 2).sum(axis=1))[:, None]
    height = points @ normal.T - np.einsum("kx,kx->k", normal, corners[:, 0])
    omega = _angle([to_middle, to_polygon, np.roll(to_polygon, -1, axis=1)], sides, 0.5 * twice, height)
    return np.asarray(omega.sum(axis=1) / (4.0 * math.pi))
