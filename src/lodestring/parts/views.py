"""A part seen from one side, with what is hidden: runs of points [mm] for drawings and pages. Needs the kernel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from lodestring.parts.kernel import cad
from lodestring.parts.records import Shape
from lodestring.parts.solids import solid_of
from lodestring.reference.naming import unknown_name

Point = tuple[float, float]
# name: (from where the eye looks, which way is up)
SIDES: dict[str, tuple[tuple[float, float, float], tuple[float, float, float]]] = {
    "top": ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
    "front": ((0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
    "right": ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    "bottom": ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0)),
    "round": ((1.0, -1.4, 1.0), (0.0, 0.0, 1.0)),
}
FAR = 1e5
"""The eye stands this far off [mm]: a parallel view."""
CHORD = 0.02
"""A curve is drawn by runs that keep this close [mm]."""


@dataclass(frozen=True, slots=True)
class View:
    """Visible and hidden edges as runs of points [mm], x right and y up; `arcs` are not kept: runs hold to CHORD."""

    visible: tuple[tuple[Point, ...], ...]
    hidden: tuple[tuple[Point, ...], ...]

    def box(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) [mm] of what is visible."""
        points = [p for run in self.visible for p in run]
        return (min(p[0] for p in points), min(p[1] for p in points),
                max(p[0] for p in points), max(p[1] for p in points))  # fmt: skip


def view(shape: Shape, side: str) -> View:
    """A part from "top", "front", "right", "bottom" or "round" (from a corner). Raises NoKernel, and did-you-mean."""
    if side not in SIDES:
        raise unknown_name("a side to look from", side, tuple(SIDES))
    eye, up = SIDES[side]
    solid = solid_of(shape)
    middle = solid.bounding_box().center()
    far = tuple(FAR * c + m for c, m in zip(eye, middle, strict=True))
    visible, hidden = solid.project_to_viewport(far, up, middle)
    shift = _shift(eye, up, tuple(middle))
    return View(_runs(visible, shift), _runs(hidden, shift))


def _shift(eye: tuple[float, ...], up: tuple[float, ...], middle: tuple[float, ...]) -> Point:
    """Where the part's own origin lies in the view, whose origin is the part's middle."""
    b = cad()
    z = b.Vector(*eye).normalized()
    x = b.Vector(*up).cross(z).normalized()
    y = z.cross(x)
    m = b.Vector(*middle)
    return float(m.dot(x)), float(m.dot(y))


def _runs(edges: Any, shift: Point) -> tuple[tuple[Point, ...], ...]:
    b = cad()
    out = []
    for edge in edges:
        if edge.geom_type == b.GeomType.LINE:
            shares: list[float] = [0.0, 1.0]
        else:
            steps = 2 + math.ceil(edge.length / math.sqrt(8 * CHORD * max(_radius(edge), 0.2)))
            shares = [i / (steps - 1) for i in range(steps)]
        points = [edge.position_at(s) for s in shares]
        out.append(tuple((round(p.X + shift[0], 5), round(p.Y + shift[1], 5)) for p in points))
    return tuple(sorted(out))


def _radius(edge: Any) -> float:
    try:
        return float(edge.radius)
    except (ValueError, AttributeError):  # no circle: taken as a tight curve
        return 1.0
