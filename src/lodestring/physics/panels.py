"""A rectangular body as panels: bar magnets, blades, baseplates.

A body of uniform permeability carries charge on its surface only. On each panel of its six faces the charge is
bilinear, known at 2 x 2 Gauss points (nodes); panels crowd toward the edges, where the charge grows without bound:
steps grow from the edges by a constant factor. Two meshes: "m" and "f". A body that is nearly air (a ferrite bar, mu
about 1.05) answers a field by a twentieth of it, so a coarser mesh, "weak", serves it as well. Where a pole piece
stands on a body of high permeability, that face gets lines of its own under it.

Error of the moment of a body alone in a uniform field (against extrapolated meshes, tests/physics/test_panels.py): a
blade 60 x 3 x 16 mm along z, mu 200: m 0.3 %, mu 4: 0.1 %; a cube of infinite mu: m 1.5 %, f 0.9 %.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.box import Face
from lodestring.physics.poles import Rod
from lodestring.physics.ring import Array

WEAK = 0.3
"""mu - 1 up to which the coarse mesh serves."""
Vector = tuple[float, float, float]
Lines = tuple[tuple[float, ...], tuple[float, ...]]
"""More lines for the faces -z and +z, at x and at y from the body's middle [m]."""


@dataclass(frozen=True, slots=True)
class Grading:
    """First step at an edge over the body's least size (of a flat plate more: over 0.45 of the geometric mean of its
    two lesser sizes), growth from step to step, and the largest step: over the body's middle size, and not above this
    share of the length itself."""

    first: float
    growth: float
    largest: float
    share: float


GRADINGS = {
    "weak": Grading(0.5, 6.0, 3.0, 0.5),
    "m": Grading(0.5, 3.0, 1.0, 0.2),
    "f": Grading(0.3, 3.0, 0.8, 0.15),
}


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangular body, its sides along x, y, z: centre and size (3) [m], relative (recoil) permeability, which may
    be complex. Raises DomainError for a body without volume or a permeability below 1."""

    centre: Vector
    size: Vector
    mu: complex

    def __post_init__(self) -> None:
        if not (all(math.isfinite(c) for c in self.centre) and all(0.0 < s < math.inf for s in self.size)):
            raise DomainError(
                "a bar, blade or plate has three sizes above 0 and a finite place",
                "size {:g}, {:g}, {:g} m".format(*self.size),
            )
        mu = complex(self.mu)
        if not (math.isfinite(abs(mu)) and (mu.imag or mu.real >= 1.0)):
            raise DomainError("a relative permeability is 1 or more", f"{mu.real:g}")

    @property
    def low(self) -> Array:
        return np.array(self.centre) - np.array(self.size) / 2

    @property
    def high(self) -> Array:
        return np.array(self.centre) + np.array(self.size) / 2

    def distance(self, points: Array) -> Array:
        """Distance (k,) [m] of points (k, 3) from the body, 0 inside it."""
        beyond = np.maximum(np.abs(points - np.array(self.centre)) - np.array(self.size) / 2, 0.0)
        return np.asarray(np.linalg.norm(beyond, axis=1))

    @property
    def weak(self) -> bool:
        return abs(self.mu - 1.0) <= WEAK

    def mesh_name(self, mesh: str) -> str:
        """The mesh to take where `mesh` is asked for."""
        return "weak" if self.weak and mesh == "m" else mesh


@dataclass(frozen=True)
class BoxShape:
    """What a box's own block depends on."""

    size: Vector
    mesh: str
    lines: Lines = ((), ())


@dataclass(frozen=True, eq=False)
class PanelMesh:
    """Six faces (-x, +x, -y, +y, -z, +z) about the body's own middle. Nodes (n,) in this order: `area` [m^2], `node`
    (n, 3) [m], outward `normal` (n, 3), `axis` (n,) of the normal. `parts`: which nodes each face has."""

    faces: tuple[Face, ...]
    parts: tuple[slice, ...]
    area: Array
    node: Array
    normal: Array
    axis: np.ndarray

    @property
    def count(self) -> int:
        return len(self.area)

    def mirrored(self, axes: tuple[bool, bool, bool]) -> np.ndarray:
        """Number (n,) of the mirror image of each node, mirrored along the axes that are True."""
        out = np.empty(self.count, dtype=np.intp)
        for k, (face, part) in enumerate(zip(self.faces, self.parts, strict=True)):
            image = self.parts[k ^ 1 if axes[face.axis] else k]
            grid = np.arange(image.start, image.stop).reshape(2 * len(face.u) - 2, 2 * len(face.v) - 2)
            if axes[(face.axis + 1) % 3]:
                grid = grid[::-1]
            if axes[(face.axis + 2) % 3]:
                grid = grid[:, ::-1]
            out[part] = grid.ravel()
        return out


def steps(size: float, first: float, growth: float, largest: float) -> Array:
    """Lines (n + 1,) from -size/2 to size/2, symmetric: steps from `first` at both ends, each `growth` times the one
    before it but not above `largest` [m]; then all scaled a little, to fit."""
    half, widths = 0.5 * size, [min(first, 0.5 * size)]
    while sum(widths) + 0.5 * min(widths[-1] * growth, largest) < half:
        widths.append(min(widths[-1] * growth, largest))
    out = np.concatenate([[0.0], np.cumsum(widths)])
    out *= half / out[-1]
    return np.concatenate([out - half, (half - out)[-2::-1]])


def with_lines(lines: Array, extra: tuple[float, ...]) -> Array:
    """The lines with more of them, and their mirror images. Closer than a fiftieth of the whole, or than a millimetre,
    an old line gives way to a new one (the outermost stays) and a new one to one before it or to the end."""
    if not extra:
        return lines
    end = float(lines[-1])
    closest = min(0.04 * end, 1e-3)
    kept: list[float] = []
    for line in sorted({abs(e) for e in extra}):
        if line < end - closest and (line > closest / 2) and all(abs(line - k) > closest for k in kept):
            kept.append(line)
    old = [float(x) for x in lines[lines >= -1e-12] if x in (end,) or all(abs(x - k) > closest for k in kept)]
    half = sorted({round(x, 12) for x in [*old, *kept]})
    return np.array(sorted({*half, *(-x for x in half)}))


def standing_lines(box: Box, rods: Sequence[Rod], boxes: Sequence[Box]) -> Lines:
    """Lines (along x, along y) on the upper and lower face: round the feet of rods that stand on a strong box, or
    nearly, and along the edges of boxes that lie on it."""
    xs: set[float] = set()
    ys: set[float] = set()
    for rod in rods:
        x, y = rod.x - box.centre[0], rod.y - box.centre[1]
        gap = abs(rod.z - box.centre[2]) - (rod.length + box.size[2]) / 2
        over = abs(x) < box.size[0] / 2 and abs(y) < box.size[1] / 2
        if not box.weak and over and gap < rod.radius:
            xs |= {round(x + k * rod.radius, 9) for k in (-1, 0, 1)}
            ys |= {round(y + k * rod.radius, 9) for k in (-1, 0, 1)}
    for other in boxes:
        sides = zip(other.centre, box.centre, other.size, box.size, strict=True)
        gaps = [abs(there - here) - (s + t) / 2 for there, here, s, t in sides]
        if other is not box and max(gaps[:2]) < 0.0 and gaps[2] < 0.25 * min(*other.size, *box.size):
            xs |= {round(float(e[0]) - box.centre[0], 9) for e in (other.low, other.high)}
            ys |= {round(float(e[1]) - box.centre[1], 9) for e in (other.low, other.high)}
    return (
        tuple(sorted(x for x in xs if abs(x) < box.size[0] / 2)),
        tuple(sorted(y for y in ys if abs(y) < box.size[1] / 2)),
    )


def more_lines(some: Lines, others: Lines) -> Lines:
    """Both sets of lines in one, rising."""
    x, y = (tuple(sorted({*a, *b})) for a, b in zip(some, others, strict=True))
    return x, y


@lru_cache(maxsize=64)
def panel_mesh(shape: BoxShape) -> PanelMesh:
    """The mesh of a box. Known meshes: "weak", "m", "f"."""
    rule, size = GRADINGS[shape.mesh], shape.size
    least, middle, _ = sorted(size)
    first = rule.first * max(least, 0.45 * math.sqrt(least * middle))
    lines = [steps(s, first, rule.growth, min(rule.largest * middle, rule.share * s)) for s in size]
    faces = []
    for axis in range(3):
        u, v = lines[(axis + 1) % 3], lines[(axis + 2) % 3]
        if axis == 2:
            u, v = (with_lines(old, new) for old, new in zip((u, v), shape.lines, strict=True))
        faces += [Face(axis, sign, sign * size[axis] / 2, u, v) for sign in (-1.0, 1.0)]
    ends = np.cumsum([0, *(f.count for f in faces)])
    axes = np.concatenate([np.full(f.count, f.axis) for f in faces])
    normal = np.zeros((len(axes), 3))
    normal[np.arange(len(axes)), axes] = np.concatenate([np.full(f.count, f.sign) for f in faces])
    return PanelMesh(
        tuple(faces),
        tuple(slice(int(a), int(b)) for a, b in pairwise(ends)),
        np.concatenate([f.area for f in faces]),
        np.concatenate([f.nodes for f in faces]),
        normal,
        axes,
    )
