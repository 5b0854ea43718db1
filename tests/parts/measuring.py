"""Measuring files with other libraries: sections and circles of an STL, entities of a DXF by their group codes."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import Any

import numpy as np


def stl_mesh(data: bytes) -> Any:
    """The triangles of an STL as trimesh reads them, equal corners merged."""
    import trimesh

    mesh = trimesh.load(io.BytesIO(data), file_type="stl")
    mesh.merge_vertices()
    return mesh


@dataclass(frozen=True)
class Ring:
    """A circle fitted to a hole's edge in a section: middle, diameter, greatest departure of a point from it."""

    x: float
    y: float
    diameter: float
    off: float


def section(mesh: Any, origin: tuple[float, float, float], normal: tuple[float, float, float]) -> Any:
    """Shapely polygons of a section, in the two axes that are left, in their order."""
    from shapely.geometry import Polygon
    from shapely.ops import unary_union

    keep = [i for i in range(3) if abs(normal[i]) < 0.5]
    cut = mesh.section(plane_origin=origin, plane_normal=normal)
    loops = [Polygon(np.asarray(line)[:, keep]) for line in cut.discrete]
    loops.sort(key=lambda p: -p.area)
    whole = Polygon()
    for loop in loops:  # a loop inside what is there is a hole, else more material
        inside = whole.contains(loop.representative_point())
        whole = whole.difference(loop) if inside else unary_union([whole, loop])
    return whole


def rings(shape: Any) -> list[Ring]:
    """Circles of all holes of a section, by x."""
    parts = getattr(shape, "geoms", [shape])
    return sorted((circle(np.asarray(h.coords)[:-1]) for p in parts for h in p.interiors), key=lambda r: r.x)


def circle(points: Any) -> Ring:
    """Least-squares circle through points (Kasa's linear fit)."""
    a = np.column_stack([2 * points, np.ones(len(points))])
    (x, y, c), *_ = np.linalg.lstsq(a, (points**2).sum(axis=1), rcond=None)
    radius = math.sqrt(c + x * x + y * y)
    off = np.abs(np.hypot(points[:, 0] - x, points[:, 1] - y) - radius).max()
    return Ring(float(x), float(y), 2 * radius, float(off))


def dxf_pairs(data: bytes) -> list[tuple[int, str]]:
    """(group code, value) pairs of a DXF."""
    lines = data.decode().splitlines()
    return [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)]


def dxf_entities(data: bytes) -> list[dict[Any, Any]]:
    """Entities of the drawing: {"type": ..., code: value}; the first value of a code counts."""
    pairs, out, inside = dxf_pairs(data), [], False
    for i, (code, value) in enumerate(pairs):
        if (code, value) == (2, "ENTITIES") and pairs[i - 1] == (0, "SECTION"):
            inside = True
        elif inside and (code, value) == (0, "ENDSEC"):
            break
        elif inside and code == 0:
            out.append({"type": value})
        elif inside and out:
            out[-1].setdefault(code, value)
    return out
