"""The paper template at 1:1: plates, holes with centre marks, string lines, housing, and bars of 100 mm to check."""

from __future__ import annotations

from itertools import pairwise

from lodestring.assess.report import Assessment
from lodestring.drawing.coil_shapes import CoilShape, coils_of, housing_shape, slant_degrees, string_paths
from lodestring.drawing.figures import drawn
from lodestring.drawing.geometry import bounds, extreme_points
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Anchor, Dimension, DimensionKind, Sheet1to1, Text
from lodestring.drawing.shapes import CentreLine, Item, Line, Rect, centre_cross
from lodestring.drawing.top_view import SMALL, sized
from lodestring.quantity import Units

CHECK = 100.0
"""Length of a check bar, mm."""


def check_bar(upright: bool = False) -> Sheet1to1:
    """A bar of exactly 100 mm with a tick every 10 mm, to lay a rule on."""
    return sized(
        list(_bar((0.0, 0.0), upright)),
        "Check bar of 100 mm",
        "A rule laid on it must show 100 mm from end to end, or the sheet was not printed at its own size.",
    )


def template_view(assessment: Assessment, pickup: str, part: str = "") -> Sheet1to1:
    """The template of a pickup, nut up, with check bars both ways; below it each coil's plate once more, to cut by.

    part: "" draws all of it, "pickup" what is laid in the housing alone, a coil's name that coil's plate alone, for a
    paper on which all of it has no room. Raises LodestringError for a pickup that is kept.
    """
    shapes = coils_of(assessment, pickup)
    cut = [s for s in shapes if part in ("", s.coil)]
    lay = part in ("", "pickup")
    items: list[Item] = []
    rects = [s.plate() for s in shapes]
    housing = housing_shape(assessment, pickup, "housing")
    if housing and lay:
        rects.append(housing)
    left, bottom, right, top = bounds([p for r in rects for p in extreme_points(r.chain())])
    low = bottom
    if lay:
        items += _laid(assessment, pickup, shapes, (left, bottom, right, top))
        low -= 15.0
    for shape in cut if part != "pickup" else []:
        low -= shape.plate_width / 2 + 15.0
        items += _cut_plate(shape, low, assessment.units)
        low -= shape.plate_width / 2 + 13.0
    corner = (min(left, right - CHECK) - 12.0, min(low - 8.0, top - CHECK))
    items += [*_bar(corner, False, "bar-across"), *_bar(corner, True, "bar-up")]
    angle = slant_degrees(assessment, pickup)
    slant = f" It is slanted by {abs(angle):.1f} degrees." if abs(angle) > 0.05 else ""
    return sized(
        items,
        f"Paper template of the {pickup} pickup, 1:1",
        f"Plates, holes, string crossings and housing seen from the strings, the nut up.{slant}",
        units=assessment.units,
    )


def _laid(
    assessment: Assessment, pickup: str, shapes: tuple[CoilShape, ...], frame: tuple[float, float, float, float]
) -> list[Item]:
    """What is laid in the housing and under the strings."""
    left, bottom, right, top = frame
    housing = housing_shape(assessment, pickup, "housing")
    title = f"{pickup} pickup: lay it in the housing and under the strings"
    items: list[Item] = [housing] if housing else []
    items += [i for s in shapes for i in _plate(s)]
    items += _strings(assessment, pickup, bottom - 4.0, top + 4.0)
    items += [CentreLine((0.0, bottom), (0.0, top), 3.0)]
    items += [CentreLine((left, s.centre[1]), (right, s.centre[1]), 3.0) for s in shapes]
    items += [
        Text((0.0, top + 13.5), title, 3.4, Anchor.MIDDLE, bold=True),
        Text((right + 5.0, top + 2.5), "↑ nut", SMALL),
        Text((right + 5.0, bottom - 4.0), "↓ bridge", SMALL),
    ]
    if housing:
        size = " x ".join(drawn(v, assessment.units) for v in (housing.width, housing.height))
        items.append(Text((left, bottom - 9.0), f"housing inside {size}", SMALL))
    return items


def _plate(shape: CoilShape) -> list[Item]:
    items: list[Item] = [shape.plate(Role.OUTLINE, f"plate.{shape.coil}")]
    for pole in shape.poles:
        items.append(shape.hole(pole, name=f"hole.{shape.coil}.{pole.number}"))
        items += centre_cross((pole.x, pole.y), shape.radius or shape.blade[1] / 2, 1.2)
    return items


def _cut_plate(shape: CoilShape, y: float, units: Units) -> list[Item]:
    """A plate alone about height `y`, with what the drill needs to know."""
    move = y - shape.centre[1]
    items: list[Item] = []
    plate = shape.plate(Role.OUTLINE)
    cx = shape.centre[0]
    half = shape.plate_width / 2
    items.append(Rect((cx, y), plate.width, plate.height, plate.corner, Role.OUTLINE, name=f"cut.{shape.coil}"))
    moved = [type(p)(p.number, p.x, p.y + move, p.end, p.top, p.foot) for p in shape.poles]
    for pole in moved:
        items.append(shape.hole(pole, name=f"cut-hole.{shape.coil}.{pole.number}"))
        items += centre_cross((pole.x, pole.y), shape.radius or shape.blade[1] / 2, 1.2)
        if len(moved) > 1:
            items.append(Text((pole.x, y - half - 3.6), str(pole.number), SMALL, Anchor.MIDDLE))
    what = "plate" if shape.coil == "main" else f"plate of the {shape.coil} coil"
    size = " x ".join(drawn(v, units) for v in (plate.width, plate.height, shape.plate_thickness))
    hole = (
        f"{len(moved)} holes ⌀{drawn(2 * shape.radius, units)}"
        if shape.radius and moved
        else "slot"
        if moved
        else "no hole"
    )
    items.append(Text((cx, y + half + 10.5), f"{what}: cut two, {size}, {hole}", 3.4, Anchor.MIDDLE, bold=True))
    ends = sorted(moved, key=lambda p: p.x)
    if len(ends) > 1:
        a, b = ends[0], ends[-1]
        items.append(
            Dimension(DimensionKind.HORIZONTAL, (a.x, a.y), (b.x, b.y), half + 4.0, name=f"poles.{shape.coil}")
        )
    items.append(Dimension(DimensionKind.HORIZONTAL, (cx - plate.width / 2, y), (cx + plate.width / 2, y), -half - 7.0))
    return items


def _strings(assessment: Assessment, pickup: str, low: float, high: float) -> list[Item]:
    """Ticks past the edges and a thin line between, each string with its number and note."""
    notes = [s.note.text for s in assessment.model.inputs.design.instrument.strings]
    paths = string_paths(assessment, pickup, low, high)
    gap = min([abs(a[0][0] - b[0][0]) for a, b in pairwise(paths)] + [99.0])
    items: list[Item] = []
    for i, (below, above) in enumerate(paths):
        items.append(Line(below, above, Role.STRING, name=f"string.{i + 1}"))
        if gap > 3.0 or i in (0, len(paths) - 1):
            label: tuple[str, ...] = (str(i + 1), notes[i]) if gap > 6.0 else (str(i + 1),)
            items.append(
                Text(
                    (above[0], high + 4.4 if len(label) > 1 else high + 1.0),
                    label,
                    SMALL,
                    Anchor.MIDDLE,
                    role=Role.STRING,
                )
            )
    return items


def _bar(at: tuple[float, float], upright: bool, name: str = "bar") -> list[Item]:
    def point(along: float, side: float) -> tuple[float, float]:
        return (at[0] - side, at[1] + along) if upright else (at[0] + along, at[1] + side)

    items: list[Item] = [Line(point(0, 0), point(CHECK, 0), Role.OUTLINE, name=name)]
    for i in range(11):
        long = 3.0 if i in (0, 5, 10) else 1.8
        items.append(Line(point(10.0 * i, 0), point(10.0 * i, long), Role.VISIBLE))
    words = "check: 100 mm"
    items.append(Text(point(25.0, 2.6), words, SMALL, Anchor.MIDDLE, rotation=90.0 if upright else 0.0))
    return items
