"""A thin sheet cut into triangles, for a stream function that is linear on each.

Corners of the triangles are nodes. The current K = grad(psi) x n turns round the nodes where psi is high; psi is 0 on
the lower rim, and one unknown number all round each hole (and round the upper edge of a ring): the current that flows
round it. Everything else is a node with an unknown of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Any

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.ring import Array
from lodestring.physics.sheet_shape import Outline, Sheet

CLEAR = 0.65
"""Share of the local step that a node inside keeps from the edges."""
SMOOTHINGS = 4


@dataclass(frozen=True, eq=False)
class SheetMesh:
    """Nodes (n, 3) [m], triangles (m, 3) counter-clockwise seen from outside, the unknown (n,) of each node (-1: psi is
    0). `loops` gives for each closed opening its unknown, its polygon (k, 3) and its outline."""

    nodes: Array
    triangles: np.ndarray
    unknown: np.ndarray
    loops: tuple[tuple[int, Array, Outline], ...]

    @property
    def count(self) -> int:
        """Number of unknowns."""
        return int(self.unknown.max()) + 1

    @cached_property
    def corners(self) -> Array:
        """(m, 3, x)"""
        return np.asarray(self.nodes[self.triangles])

    @cached_property
    def edges(self) -> Array:
        """Sides (m, 3, x) [m], side i opposite to corner i, counter-clockwise."""
        return np.asarray(np.roll(self.corners, -2, axis=1) - np.roll(self.corners, -1, axis=1))

    @cached_property
    def _across(self) -> Array:
        return np.asarray(np.cross(self.edges[:, 0], self.edges[:, 1]))

    @cached_property
    def area(self) -> Array:
        """(m,) [m^2]"""
        return np.asarray(0.5 * np.linalg.norm(self._across, axis=1))

    @cached_property
    def normal(self) -> Array:
        """Outward (m, x)."""
        return np.asarray(self._across / (2.0 * self.area[:, None]))

    @cached_property
    def sides(self) -> tuple[np.ndarray, np.ndarray]:
        """Each side once: its two nodes (e, 2), and which of them side i of each triangle is (m, 3)."""
        ends = np.stack([np.roll(self.triangles, -1, axis=1), np.roll(self.triangles, -2, axis=1)], axis=2)
        found, number = np.unique(np.sort(ends.reshape(-1, 2), axis=1), axis=0, return_inverse=True)
        return found, number.reshape(-1, 3)

    @cached_property
    def spread(self) -> Any:
        """Sparse (n, count): psi at the nodes from the unknowns."""
        from scipy import sparse

        free = np.flatnonzero(self.unknown >= 0)
        return sparse.csr_matrix((np.ones(len(free)), (free, self.unknown[free])), (len(self.nodes), self.count))

    @cached_property
    def at_corner(self) -> tuple[Any, Any, Any]:
        """Sparse (n, m) each: 1 where a node is corner 0, 1, 2 of a triangle."""
        from scipy import sparse

        many = len(self.triangles)
        return tuple(
            sparse.csr_matrix((np.ones(many), (self.triangles[:, i], np.arange(many))), (len(self.nodes), many))
            for i in range(3)
        )

    @cached_property
    def current(self) -> tuple[Any, Any, Any]:
        """Sparse (m, n) each for x, y, z: current per width [1/m] of each triangle per psi at each node."""
        from scipy import sparse

        rows = np.repeat(np.arange(len(self.triangles)), 3)
        shape = (len(self.triangles), len(self.nodes))
        flow = self.edges / (2.0 * self.area)[:, None, None]
        return tuple(
            sparse.csr_matrix((flow[:, :, c].ravel(), (rows, self.triangles.ravel())), shape) for c in range(3)
        )


@lru_cache(maxsize=16)
def sheet_mesh(sheet: Sheet, unknowns: int) -> SheetMesh:
    """The mesh with about so many unknowns. Raises DomainError where holes are too close for it."""
    if unknowns < 20:
        raise DomainError("a sheet is cut into at least 20 pieces", f"{unknowns}", "300 to 600")
    step = math.sqrt(sheet.area / (0.9 * unknowns))
    for _ in range(4):
        found = _try(sheet, step)
        if found is not None:
            return found
        step *= 0.8
    raise DomainError(
        "holes of a sheet stand clear of each other and of its edge", "a bridge too thin to mesh", "more unknowns"
    )


def _try(sheet: Sheet, step: float) -> SheetMesh | None:
    rim = sheet.outline.ring(step)
    high = np.column_stack([rim, np.full(len(rim), sheet.z)])
    nodes, triangles, sides = high, np.zeros((0, 3), dtype=np.intp), [np.arange(len(rim))]
    if sheet.flat:
        flat = _flat(sheet, rim, step)
        if flat is None:
            return None
        plan, triangles, sides = flat
        nodes = np.column_stack([plan, np.full(len(plan), sheet.z)])
    grounded = sides[0]
    if sheet.depth > 0.0:
        nodes, wall, grounded = _walls(sheet, nodes, len(rim), step)
        triangles = np.concatenate([triangles, wall])
    open_ones = [(sides[0], sheet.outline)] if not sheet.flat else list(zip(sides[1:], sheet.holes, strict=True))
    unknown = np.full(len(nodes), -2)
    unknown[grounded] = -1
    loops = []
    for number, (side, outline) in enumerate(open_ones):
        unknown[side] = number
        loops.append((number, nodes[side], outline))
    free = unknown == -2
    unknown[free] = len(loops) + np.arange(int(free.sum()))
    return SheetMesh(nodes, triangles, unknown, tuple(loops))


def _walls(sheet: Sheet, nodes: Array, around: int, step: float) -> tuple[Array, np.ndarray, np.ndarray]:
    """All nodes, the triangles of the walls, and the nodes of the lower rim. The rim of the flat part comes first."""
    rows = max(2, round(sheet.depth / step))
    drop = sheet.depth * np.arange(1, rows + 1) / rows
    lower = np.tile(nodes[:around], (rows, 1))
    lower[:, 2] -= np.repeat(drop, around)
    number = np.vstack([np.arange(around), len(nodes) + np.arange(rows * around).reshape(rows, around)])
    a, b = number[:-1], number[1:]
    a2, b2 = np.roll(a, -1, axis=1), np.roll(b, -1, axis=1)
    odd = (np.add.outer(np.arange(rows), np.arange(around)) % 2 == 1)[..., None]
    first = np.where(odd, np.stack([a, b, b2], axis=-1), np.stack([a, b, a2], axis=-1))
    second = np.where(odd, np.stack([a, b2, a2], axis=-1), np.stack([b, b2, a2], axis=-1))
    wall = np.concatenate([first.reshape(-1, 3), second.reshape(-1, 3)])
    return np.concatenate([nodes, lower]), wall, number[-1]


def _flat(sheet: Sheet, rim: Array, step: float) -> tuple[Array, np.ndarray, list[np.ndarray]] | None:
    """Plan nodes (n, 2), rim first and then the holes, triangles, and the nodes of each edge; None if it came out
    torn."""
    rings, steps, inner = [rim], [step], []
    for hole in sheet.holes:
        # a small hole gets shorter sides, and a row of nodes round it
        local = min(step, hole.perimeter / 12.0)
        rings.append(hole.ring(local))
        steps.append(local)
        grown = 0.87 * local
        wide = Outline(hole.x, hole.y, hole.length + 2 * grown, hole.width + 2 * grown, hole.corner + grown)
        inner.append(wide.ring(local) if local < 0.8 * step else np.zeros((0, 2)))
    starts = np.cumsum([0, *(len(r) for r in rings)])
    sides = [np.arange(a, b) for a, b in pairwise(starts)]
    fixed = np.concatenate(rings)
    tails, heads = fixed, np.concatenate([np.roll(r, -1, axis=0) for r in rings])
    lengths = np.linalg.norm(heads - tails, axis=1)
    free = np.zeros((0, 2))
    for points, clear in (*((p, CLEAR * s) for p, s in zip(inner, steps[1:], strict=True)), (_lattice(rim, step), 0.0)):
        kept = points[_inside(sheet, points)]
        gap, near = _to_sides(kept, tails, heads)
        kept = kept[gap > np.maximum(clear, CLEAR * np.minimum(lengths[near], step))]
        if len(free) and len(kept):
            apart = np.min(np.linalg.norm(kept[:, None] - free[None], axis=2), axis=1)
            kept = kept[apart > CLEAR * (clear / CLEAR if clear else 0.9 * step)]
        free = np.concatenate([free, kept])
    nodes = np.concatenate([fixed, free])
    triangles = _delaunay(sheet, nodes)
    for _ in range(SMOOTHINGS):
        nodes = _smoothed(nodes, triangles, len(fixed))
        triangles = _delaunay(sheet, nodes)
    return (nodes, triangles, sides) if _whole(triangles, sides) else None


def _lattice(rim: Array, step: float) -> Array:
    """Corners of equilateral triangles that cover the rim, in the middle of it."""
    low, high = rim.min(axis=0), rim.max(axis=0)
    middle, rise = 0.5 * (low + high), 0.5 * math.sqrt(3.0) * step
    rows = math.ceil((high[1] - low[1]) / (2.0 * rise))
    columns = math.ceil((high[0] - low[0]) / (2.0 * step)) + 1
    out = [
        np.column_stack(
            [(np.arange(-columns, columns + 1) + 0.5 * (row % 2)) * step, np.full(2 * columns + 1, row * rise)]
        )
        for row in range(-rows, rows + 1)
    ]
    return np.asarray(middle + np.concatenate(out))


def _inside(sheet: Sheet, points: Array) -> np.ndarray:
    inside = sheet.outline.holds(points)
    for hole in sheet.holes:
        inside &= ~hole.holds(points)
    return inside


def _to_sides(points: Array, tails: Array, heads: Array) -> tuple[Array, np.ndarray]:
    """Distance (n,) from each point to the nearest side, and which it is."""
    if not len(points):
        return np.zeros(0), np.zeros(0, dtype=np.intp)
    run = heads - tails
    at = points[:, None, :] - tails
    share = np.clip((at * run).sum(axis=2) / (run**2).sum(axis=1), 0.0, 1.0)
    gap = np.linalg.norm(at - share[..., None] * run, axis=2)
    near = np.argmin(gap, axis=1)
    return gap[np.arange(len(points)), near], near


def _delaunay(sheet: Sheet, nodes: Array) -> np.ndarray:
    from scipy.spatial import Delaunay

    triangles = Delaunay(nodes).simplices
    corners = nodes[triangles]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    turn = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    triangles = np.where((turn < 0.0)[:, None], triangles[:, ::-1], triangles)
    # slivers between three nodes of one straight side have no area
    solid = np.abs(turn) > 1e-9 * np.max(np.abs(turn))
    return np.asarray(triangles[solid & _inside(sheet, corners.mean(axis=1))])


def _smoothed(nodes: Array, triangles: np.ndarray, fixed: int) -> Array:
    """Each free node at the mean of its neighbours."""
    pairs = np.unique(
        np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), 1), axis=0
    )
    total, count = np.zeros_like(nodes), np.zeros(len(nodes))
    for a, b in (pairs.T, pairs.T[::-1]):
        np.add.at(total, a, nodes[b])
        np.add.at(count, a, 1.0)
    out = nodes.copy()
    out[fixed:] = total[fixed:] / np.maximum(count[fixed:], 1.0)[:, None]
    return out


def _whole(triangles: np.ndarray, sides: list[np.ndarray]) -> bool:
    """Whether the open edges of the triangles are the sides asked for, each once."""
    edges = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    found, times = np.unique(edges, axis=0, return_counts=True)
    wanted = np.concatenate([np.sort(np.column_stack([s, np.roll(s, -1)]), axis=1) for s in sides])
    wanted = np.unique(wanted, axis=0)
    return bool(np.all(times <= 2)) and np.array_equal(found[times == 1], wanted)
