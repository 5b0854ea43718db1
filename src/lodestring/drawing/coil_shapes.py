"""A coil, its pickup and its strings as millimetre shapes in the pickup's frame, for top view, section and template.

Frame of the pickup: x along the row (to the right with the nut up), y toward the nut, z out of the body from the top
plate's upper face. Everything here is read off an assessment; nothing is computed anew but the curve of the belly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.design.fields import at
from lodestring.drawing.geometry import ArcTo, LineTo, Point, Segment
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Path
from lodestring.drawing.shapes import Circle, Closed, Obround, Rect
from lodestring.errors import LodestringError
from lodestring.layout.string_lines import axis_through, crossings, string_lines
from lodestring.making.polarity_map import polarity_map

MM = 1e3
FLAT = 0.01
"""A belly below this (mm) is drawn as a straight side: its arc's centre would lie metres away."""


@dataclass(frozen=True, slots=True)
class PoleShape:
    """One pole piece, mm: its number from string 1, where it stands, its end toward the strings, top and foot."""

    number: int
    x: float
    y: float
    end: str
    top: float
    foot: float


@dataclass(frozen=True, slots=True)
class CoilShape:
    """One coil, mm. `radius` is the rods' (0 for a blade), `blade` (length, thickness); `magnet`: rods are magnets."""

    pickup: str
    coil: str
    poles: tuple[PoleShape, ...]
    radius: float
    blade: Point
    magnet: bool
    straight: float
    inner: float
    core: float
    centre: Point
    depth_end: float
    depth_side: float
    end_high: float
    side_high: float
    plate_length: float
    plate_width: float
    plate_corner: float
    plate_thickness: float
    window: float

    def winding(self, loose: bool = False, role: Role = Role.WIRE) -> Closed:
        """The outline of the last turn with its belly; `loose`: at the upper end of its interval."""
        end, side = (self.end_high, self.side_high) if loose else (self.depth_end, self.depth_side)
        return bellied(self.centre, self.straight, self.inner + end, self.inner + side, role)

    def bore(self, role: Role = Role.WIRE) -> Obround:
        """The innermost turn."""
        return Obround(self.centre, self.straight, self.inner, role)

    def plate(self, role: Role = Role.PLATE, name: str = "") -> Rect:
        """The plates' outline."""
        corner = min(self.plate_corner, self.plate_length / 2, self.plate_width / 2)
        return Rect(self.centre, self.plate_length, self.plate_width, corner, role, name=name)

    def hole(self, pole: PoleShape, role: Role = Role.VISIBLE, name: str = "") -> Closed:
        """A pole piece's outline from above."""
        if self.radius:
            return Circle((pole.x, pole.y), self.radius, role, name=name)
        return Rect((pole.x, pole.y), *self.blade, 0.0, role, name=name)

    @property
    def outer(self) -> tuple[PoleShape, PoleShape] | None:
        """The pole pieces farthest left and right, where there are two or more."""
        if len(self.poles) < 2:
            return None
        left, *_, right = sorted(self.poles, key=lambda p: p.x)
        return left, right


def bellied(centre: Point, straight: float, end: float, side: float, role: Role) -> Closed:
    """Half circles of radius `end` about points `straight` apart, long sides arched out to `side` at the middle."""
    half, rise = straight / 2, side - end
    if rise < FLAT or half < 2 * FLAT:
        return Obround(centre, straight, max(end, side if half < 2 * FLAT else end), role)
    (cx, cy), rho = centre, (half**2 + rise**2) / (2 * rise)
    drop = side - rho
    right, left = (cx + half, cy), (cx - half, cy)
    segments: tuple[Segment, ...] = (
        ArcTo((cx + half, cy + end), right),
        ArcTo((cx - half, cy + end), (cx, cy + drop)),
        ArcTo((cx - half, cy - end), left),
        ArcTo((cx + half, cy - end), (cx, cy - drop)),
    )
    return Path((cx + half, cy - end), segments, role, closed=True)


def coils_of(assessment: Assessment, pickup: str) -> tuple[CoilShape, ...]:
    """Every coil of a pickup that is to be made. Raises LodestringError for a pickup that is kept or not there."""
    record = assessment.model.inputs.design.pickup.get(pickup)
    if record is None or not record.coil:
        made = [n for n, p in assessment.model.inputs.design.pickup.items() if p.coil]
        raise LodestringError(
            "a pickup that is drawn is one to be made, with coils", f'"{pickup}"', " or ".join(made) or "adding a coil"
        )
    return tuple(coil_shape(assessment, pickup, name) for name in record.coil)


def coil_shape(assessment: Assessment, pickup: str, coil: str) -> CoilShape:
    """One coil in millimetres."""
    model = assessment.model
    record, row = blocks.coil_of(model, pickup, coil), blocks.row(model, pickup, coil)
    wound, plate = blocks.copper(model, pickup, coil), blocks.plate(model, pickup, coil)
    path = blocks.coil_path(pickup, coil)
    inner, body, layout, core = row.inner, record.poles.body, record.poles.layout, record.bobbin.core
    high = {n: assessment.facts[f"{path}.{n}"].high or 0.0 for n in ("outer_length", "outer_width")}
    thick = core.wrap if core.kind == "on rods" else core.wall
    blade = (0.0, 0.0)
    if layout.length is not None and layout.thickness is not None:
        blade = (layout.length.value * MM, layout.thickness.value * MM)
    return CoilShape(
        pickup,
        coil,
        _poles(assessment, pickup, coil),
        0.0 if body is None or body.diameter is None else body.diameter.value / 2 * MM,
        blade,
        body is not None and body.kind == "magnet",
        inner.s * MM,
        inner.r * MM,
        0.0 if thick is None or body is None else thick.value * MM,
        (inner.cx * MM, inner.cy * MM),
        wound.depth_end * MM,
        wound.depth_side * MM,
        max((high["outer_length"] - inner.length) / 2, wound.depth_end) * MM,
        max((high["outer_width"] - inner.width) / 2, wound.depth_side) * MM,
        plate.length * MM,
        plate.width * MM,
        plate.corner * MM,
        plate.thickness * MM,
        record.bobbin.window.value * MM,
    )


def _poles(assessment: Assessment, pickup: str, coil: str) -> tuple[PoleShape, ...]:
    record = blocks.coil_of(assessment.model, pickup, coil)
    body, height = record.poles.body, record.poles.height
    if body is None or height is None:
        return ()
    found = next(c for c in polarity_map(assessment).coils if (c.pickup, c.coil) == (pickup, coil))
    out = []
    for i, end in enumerate(found.ends):
        top = at(height, i).value * MM
        out.append(PoleShape(end.number, end.x * MM, end.y * MM, end.up, top, top - at(body.length, i).value * MM))
    return tuple(out)


def string_paths(assessment: Assessment, pickup: str, low: float, high: float) -> tuple[tuple[Point, Point], ...]:
    """Each string's centre line across a pickup, string 1 first: where it is at y = low and y = high (mm)."""
    model = assessment.model
    lines = string_lines(blocks.strings_in(model))
    axis = axis_through(lines, *blocks.place_of(model, pickup))
    first = blocks.sides(model.inputs.design.pickup[pickup])[0]
    offset = blocks.coil_offset(model, pickup, first)
    taped, drawn = blocks.crossings(model, pickup, first), crossings(lines, axis, offset)
    moved = [t - d for t, d in zip(taped, drawn, strict=True)]
    below, above = (crossings(lines, axis, y / MM) for y in (low, high))
    return tuple((((b + m) * MM, low), ((a + m) * MM, high)) for b, a, m in zip(below, above, moved, strict=True))


def slant_degrees(assessment: Assessment, pickup: str) -> float:
    """How far a pickup is turned from square to the centre line, anticlockwise seen from above."""
    lines = string_lines(blocks.strings_in(assessment.model))
    return math.degrees(axis_through(lines, *blocks.place_of(assessment.model, pickup)).angle)


def housing_shape(assessment: Assessment, pickup: str, name: str = "") -> Rect | None:
    """The clear inside of the housing from above, at its mouth."""
    hollow = blocks.hollow(assessment.model, pickup)
    if hollow is None:
        return None
    corner = min(hollow.corner, hollow.length / 2, hollow.width / 2)
    return Rect((0.0, 0.0), hollow.length * MM, hollow.width * MM, corner * MM, Role.HOUSING, name=name)


def block_arrow(centre: Point, radius: float, thick: float, start: float, sweep: float, role: Role) -> Path:
    """A fat curved arrow (degrees, anticlockwise positive), told from any line by its shape: an outline with a head."""
    head = math.degrees(2.2 * thick / radius)
    sign = math.copysign(1.0, sweep)
    turn, tip = start + sweep - sign * head, start + sweep

    def point(r: float, degrees: float) -> Point:
        return (centre[0] + r * math.cos(math.radians(degrees)), centre[1] + r * math.sin(math.radians(degrees)))

    out, into = radius + thick / 2, radius - thick / 2
    return Path(
        point(out, start),
        (
            ArcTo(point(out, turn), centre, sign > 0),
            LineTo(point(radius + 1.2 * thick, turn)),
            LineTo(point(radius, tip)),
            LineTo(point(radius - 1.2 * thick, turn)),
            LineTo(point(into, turn)),
            ArcTo(point(into, start), centre, sign < 0),
        ),
        role,
        closed=True,
    )
