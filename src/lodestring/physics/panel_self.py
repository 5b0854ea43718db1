"""What a box's own surface charge does to itself, K', and what one box does to another.

The field of a panel is exact (box.py) and taken at the nodes; on the strip of panels beside an edge, where the field of
the adjoining face grows as a logarithm, its average with each node's function takes that place. What Gauss's law then
still lacks (half of a panel's flux goes inward) is put on the diagonal, as for rods. Mesh and box have three mirror
planes: an eighth of the rows is computed, the rest are its images.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import product

import numpy as np
from numpy.polynomial.legendre import leggauss

from lodestring.physics.box import GAUSS, Face, face_field
from lodestring.physics.panels import BoxShape, PanelMesh, panel_mesh
from lodestring.physics.ring import Array
from lodestring.physics.samples import box_samples

ALONG, ACROSS = 4, 5
"""Points along and across a panel of the strip beside an edge."""


@lru_cache(maxsize=16)
def box_self(shape: BoxShape) -> Array:
    """K' (n, n) [1] of a box on itself. With equal proportions of size and mesh it does not depend on the size."""
    body = panel_mesh(shape)
    rows, part = _octant(body)
    block = np.empty((body.count, body.count))
    for along_x, along_y, along_z in product((False, True), repeat=3):
        image = body.mirrored((along_x, along_y, along_z))
        block[image[rows][:, None], image[None, :]] = part
    block[np.diag_indices(body.count)] += (0.5 * body.area - body.area @ block) / body.area
    block.flags.writeable = False
    return block


def _octant(body: PanelMesh) -> tuple[np.ndarray, Array]:
    """Numbers (k,) of the nodes on the lower quarters of the faces -x, -y, -z, and their rows (k, n)."""
    numbers, blocks = [], []
    for face, part in zip(body.faces[::2], body.parts[::2], strict=True):
        quarter = Face(face.axis, face.sign, face.at, face.u[: len(face.u) // 2 + 1], face.v[: len(face.v) // 2 + 1])
        grid = np.arange(part.start, part.stop).reshape(2 * len(face.u) - 2, 2 * len(face.v) - 2)
        numbers.append(grid[: 2 * len(quarter.u) - 2, : 2 * len(quarter.v) - 2].ravel())
        rows = np.zeros((quarter.count, body.count))
        for source, columns in zip(body.faces, body.parts, strict=True):
            if source is not face:
                rows[:, columns] = _onto(quarter, source)
        blocks.append(rows)
    return np.concatenate(numbers), np.concatenate(blocks)


def _onto(target: Face, source: Face) -> Array:
    """Normal field (n_target, n_source) on the lower quarter of one face from another face of the same box."""
    out = target.sign * face_field(source, target.nodes, (target.axis,))[:, 0]
    if target.axis != source.axis and source.sign < 0.0:
        where, points, weights = _strip(target, source)
        near = target.sign * face_field(source, points.reshape(-1, 3), (target.axis,))[:, 0]
        out[where] = np.einsum("pq,sqj->spj", weights, near.reshape(*points.shape[:2], -1)).reshape(len(where), -1)
    return out


def _strip(target: Face, source: Face) -> tuple[np.ndarray, Array, Array]:
    """The strip of panels along the target's lower edge shared with the source: node numbers (4 s,) of its s panels,
    points (s, q, 3), and weights (4, q) that turn values there into averages with the nodes' functions."""
    along_u = (target.axis + 2) % 3 == source.axis  # the edge runs along the target's u
    lines, across = (target.u, target.v) if along_u else (target.v, target.u)
    g, w = leggauss(ALONG)
    t, of_t = 0.5 * (g + 1.0), w  # a node stands for half of the panel, so the weights add up to 2
    g, w = leggauss(ACROSS)
    s, of_s = (0.5 * (g + 1.0)) ** 3, 3.0 * (0.5 * (g + 1.0)) ** 2 * w
    points = np.empty((len(lines) - 1, ALONG, ACROSS, 3))
    a, b = (target.axis + 1) % 3, (target.axis + 2) % 3
    points[..., target.axis] = target.at
    points[..., a if along_u else b] = (lines[:-1, None] + np.diff(lines)[:, None] * t)[:, :, None]
    points[..., b if along_u else a] = across[0] + (across[1] - across[0]) * s
    number = np.arange(target.count).reshape(2 * len(target.u) - 2, 2 * len(target.v) - 2)
    strip = number[:, :2] if along_u else number[:2].T  # (2 s, 2): along, across
    weights = np.einsum("ip,jq->ijpq", _functions(t) * of_t, _functions(s) * of_s).reshape(4, -1)
    return strip.ravel(), points.reshape(len(points), -1, 3), weights


def _functions(t: Array) -> Array:
    """The two nodal functions (2, n) at t (n,) on [0, 1]."""
    return np.stack([0.5 - (t - 0.5) / GAUSS, 0.5 + (t - 0.5) / GAUSS])


def box_pair(target: BoxShape, source: BoxShape, x: float, y: float, z: float) -> Array:
    """K' (n_target, n_source) of a box whose middle lies at x, y, z [m] from the target's. Kept for x, y, z >= 0;
    others are mirror images."""
    block = _pair(target, source, abs(x), abs(y), abs(z))
    axes = (x < 0.0, y < 0.0, z < 0.0)
    return block[panel_mesh(target).mirrored(axes)[:, None], panel_mesh(source).mirrored(axes)] if any(axes) else block


@lru_cache(maxsize=32)
def _pair(target: BoxShape, source: BoxShape, x: float, y: float, z: float) -> Array:
    """The net flux into the target of each source charge is made zero, as it is outside of it."""
    to, of = panel_mesh(target), panel_mesh(source)
    gap = max(abs(d) - (s + t) / 2 for d, s, t in zip((x, y, z), source.size, target.size, strict=True))
    near = gap < min(*source.size, *target.size)
    places = box_samples(target) if near else None
    points, axes = (places.points, np.argmax(abs(places.normals), axis=1)) if places else (to.node, to.axis)
    field = np.empty((len(points), of.count))
    for other, columns in zip(of.faces, of.parts, strict=True):
        moved = other.moved(np.array([x, y, z]))
        for axis in range(3):
            rows = np.flatnonzero(axes == axis)
            field[rows, columns] = face_field(moved, points[rows], (axis,))[:, 0]
    block = to.normal.sum(axis=1)[:, None] * (places.weights @ field if places else field)
    block -= (to.area @ block) / to.area.sum()
    block.flags.writeable = False
    return np.asarray(block)
