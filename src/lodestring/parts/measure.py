"""What a solid is, asked of the solid itself: volume, box, how many pieces, its holes, thinnest wall, overhang.

`is_valid` of the kernel is true for a part that was cut in two, so solids are counted. The thinnest wall is found by
rays on the triangles, from each one's middle inward; it is right to the chord of a round face (0.03 mm).
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lodestring.parts.kernel import MM, cad
from lodestring.parts.mesh import Mesh, mesh_of, meshed
from lodestring.parts.records import Shape
from lodestring.parts.solids import solid_of

CAP = 2.0
"""Walls are sought up to this [mm]; thicker ones worry nobody."""
SKIN = 1e-4
"""Nearer far sides [mm] are the face itself."""
CHORD, TURN = 0.03, 0.4
"""Triangles for finding the thinnest wall [mm, rad]: coarser than a file's."""
Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Bore:
    """A round hole of a solid [m]: a point of its axis, the axis's direction, diameter, length."""

    at: Triple
    along: Triple
    diameter: float
    length: float


@dataclass(frozen=True, slots=True)
class Measured:
    """A solid [m, m2, m3]. `wall`: thinnest, CAP where none is thinner; `overhang`: area that wants support."""

    volume: float
    size: Triple
    solids: int
    valid: bool
    bores: tuple[Bore, ...]
    wall: float
    overhang: float


def measured(shape: Shape, lean: float = 1.0) -> Measured:
    """Measures of a part's solid; `lean`: reach beside a rise of 1 that the process prints without support."""
    solid, mesh = solid_of(shape), mesh_of(shape)
    size = solid.bounding_box().size
    return Measured(
        solid.volume / MM**3,
        (size.X / MM, size.Y / MM, size.Z / MM),
        len(solid.solids()),
        bool(solid.is_valid),
        bores(solid),
        thinnest(meshed(solid, CHORD, TURN)) / MM,
        overhang(mesh, lean) / MM**2,
    )


def bores(solid: Any) -> tuple[Bore, ...]:
    """Every round hole: inward cylinder faces that go all the way round, pieces of one cylinder taken together."""
    b = cad()
    found: dict[tuple[float, ...], list[float]] = defaultdict(list)
    for face in solid.faces().filter_by(b.GeomType.CYLINDER):
        axis, radius = face.axis_of_rotation, face.radius
        if axis is None or radius is None or not _inward(face, axis):
            continue
        direction = tuple(round(abs(c), 6) for c in axis.direction)
        along = axis.direction if max(axis.direction, key=abs) > 0 else axis.direction * -1
        foot = axis.position - along * axis.position.dot(along)
        key = (*(round(c, 4) + 0.0 for c in foot), *direction, round(radius, 5))
        turned = face.area / (radius * _height(face, along))
        found[key] += [turned, _low(face, along), _low(face, along) + _height(face, along)]
    out = []
    for key, values in sorted(found.items()):
        turned, low, high = sum(values[0::3]), min(values[1::3]), max(values[2::3])
        foot, along, radius = key[:3], key[3:6], key[6]
        if turned < 0.98 * 2 * math.pi and not _whole(values):
            continue
        at = tuple((f + low * a) / MM for f, a in zip(foot, along, strict=True))
        out.append(Bore(at, along, 2 * radius / MM, (high - low) / MM))  # type: ignore[arg-type]
    return tuple(out)


def _whole(values: list[float]) -> bool:
    """Whether pieces add up to a whole turn where a groove opens one side: three quarters count as a hole."""
    return sum(values[0::3]) >= 1.5 * math.pi


def _inward(face: Any, axis: Any) -> bool:
    """Whether material lies outside the cylinder: the face's normal points to the axis."""
    point = face.position_at(0.5, 0.5)
    normal = face.normal_at(point)
    to = point - axis.position
    radial = to - axis.direction * to.dot(axis.direction)
    return bool(normal.dot(radial) < 0.0)


def _low(face: Any, along: Any) -> float:
    return min(float(v.center().dot(along)) for v in face.vertices())


def _height(face: Any, along: Any) -> float:
    spots = [float(v.center().dot(along)) for v in face.vertices()]
    return max(spots) - min(spots) or 1.0


def thinnest(mesh: Mesh, cap: float = CAP) -> float:
    """Thinnest wall [mm] by rays from the middle of each triangle straight inward; `cap` where none is thinner.

    First the far side's plane (products of matrices), then, for the few pairs that are near and face each other,
    whether the ray meets the triangle itself.
    """
    corners = mesh.corners
    edge1, edge2 = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normals = np.cross(edge1, edge2)
    length = np.linalg.norm(normals, axis=1)
    good = length > 1e-9
    corners, edge1, edge2, normals = corners[good], edge1[good], edge2[good], normals[good] / length[good, None]
    middles, offsets = corners.mean(axis=1), np.einsum("ij,ij->i", normals, corners[:, 0])
    least = cap
    for chunk in np.array_split(np.arange(len(corners)), max(1, len(corners) ** 2 // 4_000_000)):
        facing = -(normals[chunk] @ normals.T)  # the ray runs along -n: positive where it leaves through a triangle
        with np.errstate(divide="ignore", invalid="ignore"):
            way = (offsets - middles[chunk] @ normals.T) / facing
        start, far = np.nonzero((facing > 0.5) & (way > SKIN) & (way < least))
        origin = middles[chunk[start]] - way[start, far, None] * normals[chunk[start]]
        inside = _within(origin - corners[far, 0], edge1[far], edge2[far])
        least = min(least, float(way[start, far][inside].min(initial=least)))
    return least


def _within(to: NDArray[np.float64], edge1: NDArray[np.float64], edge2: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether points in the planes of triangles (n, 3), from their first corners, lie within them."""
    a, b, c = (np.einsum("ij,ij->i", p, q) for p, q in ((edge1, edge1), (edge1, edge2), (edge2, edge2)))
    d, e = np.einsum("ij,ij->i", to, edge1), np.einsum("ij,ij->i", to, edge2)
    scale = a * c - b * b
    u, v = (c * d - b * e) / scale, (a * e - b * d) / scale
    return np.asarray((u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9))


def overhang(mesh: Mesh, lean: float) -> float:
    """Area [mm2] that looks down and lies flatter than the process prints without support, the bed left out.

    A face of slope `run : rise` is carried by the layer under it while run <= lean * rise.
    """
    corners = mesh.corners
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(cross, axis=1) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        down = -cross[:, 2] / np.linalg.norm(cross, axis=1)
    steepest = lean / math.hypot(1.0, lean)  # sine of the steepest slope from upright that is carried
    bed = corners[:, :, 2].max(axis=1) < corners[..., 2].min() + 1e-6
    return float(area[(down > steepest + 1e-9) & ~bed].sum())
