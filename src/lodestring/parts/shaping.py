"""From contours to the kernel's faces and prisms: metres in, millimetres out."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from lodestring.parts.contour import Arc, Circle, Contour, Edge, Loop, Straight
from lodestring.parts.kernel import MM, cad

Solid = Any
"""A shape of the kernel, which carries no types of its own here."""


def wire(contour: Contour) -> Any:
    """The closed wire of a contour, at z = 0, with true arcs."""
    b = cad()
    if isinstance(contour, Circle):
        circle = b.Edge.make_circle(contour.radius * MM, b.Plane((contour.centre[0] * MM, contour.centre[1] * MM, 0)))
        return b.Wire([circle])
    return b.Wire([_edge(e) for e in contour.edges])


def _edge(edge: Edge) -> Any:
    b = cad()
    a, z = (edge.a[0] * MM, edge.a[1] * MM, 0.0), (edge.b[0] * MM, edge.b[1] * MM, 0.0)
    if isinstance(edge, Arc):
        x, y = edge.at(0.5)
        return b.Edge.make_three_point_arc(a, (x * MM, y * MM, 0.0), z)
    return b.Edge.make_line(a, z)


def prism(contour: Contour, low: float, high: float) -> Solid:
    """A contour pulled up from z = low to high [m]."""
    b = cad()
    face = b.Face(wire(contour)).moved(b.Location((0.0, 0.0, low * MM)))
    return b.Solid.extrude(face, b.Vector(0.0, 0.0, (high - low) * MM))


def lying(x: float, z: float, radius: float, front: float, back: float) -> Solid:
    """A cylinder along y from `front` to `back` [m]."""
    b = cad()
    plane = b.Plane((x * MM, front * MM, z * MM), x_dir=(1, 0, 0), z_dir=(0, 1, 0))
    return b.Solid.make_cylinder(radius * MM, (back - front) * MM, plane)


def block(low: tuple[float, float, float], high: tuple[float, float, float]) -> Solid:
    """A box between two corners [m]."""
    b = cad()
    size = [(h - o) * MM for o, h in zip(low, high, strict=True)]
    return b.Solid.make_box(*size, b.Plane(tuple(c * MM for c in low)))


def cut(solid: Solid, tools: Iterable[Solid]) -> Solid:
    """A solid less others, in one operation."""
    found = list(tools)
    return solid.cut(*found) if found else solid


def joined(solid: Solid, others: Iterable[Solid]) -> Solid:
    """A solid and others as one, in one operation, seams within one face removed."""
    found = list(others)
    return solid.fuse(*found).clean() if found else solid


def groove_tool(start: tuple[float, float], end: tuple[float, float], width: float, low: float, high: float) -> Solid:
    """What cuts a groove with round ends between two points."""
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    r, side = width / 2, angle + math.pi / 2
    out = Arc(end, r, angle - math.pi / 2, math.pi)
    back = Arc(start, r, side, math.pi)
    return prism(Loop((out, Straight(out.b, back.a), back, Straight(back.b, out.a))), low, high)


def rounded_rims(solid: Solid, radius: float, circles: Iterable[tuple[float, float, float]], z: float) -> Solid:
    """The edges that lie wholly on the given circles (x, y, diameter [m]) at height z, rounded."""
    wanted = [(x * MM, y * MM, d / 2 * MM) for x, y, d in circles]
    edges = []
    for edge in solid.edges():
        points = [edge.position_at(s) for s in (0.0, 0.25, 0.5, 0.75, 1.0)]
        if all(abs(p.Z - z * MM) < 1e-6 for p in points) and any(
            all(abs(math.hypot(p.X - x, p.Y - y) - r) < 1e-6 for p in points) for x, y, r in wanted
        ):
            edges.append(edge)
    return solid.fillet(radius * MM, edges) if edges else solid


def one(shape: Any) -> Solid:
    """A part as one solid where it is one: booleans hand back compounds of one."""
    solids = shape.solids()
    return solids[0] if len(solids) == 1 else shape
