"""The top view at 1:1: plates, coil with belly, pole pieces and their ends, strings, housing, direction, dimensions."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.assess.shown import shown
from lodestring.drawing.coil_shapes import (
    CoilShape,
    PoleShape,
    block_arrow,
    coils_of,
    housing_shape,
    slant_degrees,
    string_paths,
)
from lodestring.drawing.dimension import words
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Anchor, Dimension, DimensionKind, Leader, Level, Sheet1to1, Text
from lodestring.drawing.shapes import CentreLine, Item, Line, Rect, Region, centre_cross
from lodestring.drawing.svg import extent
from lodestring.quantity import USUAL, Units

SMALL = 2.8
"""Font size of numbers inside the drawing, mm (8 pt)."""
LEVEL_APART = 6.5
"""Between two dimension lines that stand over each other, mm."""
END_ROLE = {"north": Role.MAGNET_NORTH, "south": Role.MAGNET_SOUTH}
LETTER = {"north": "N", "south": "S"}


def top_view(assessment: Assessment, pickup: str, coil: str | None = None) -> Sheet1to1:
    """A pickup seen from the strings, nut up, at 1:1; with `coil` that bobbin alone, as it lies at the winder.

    Raises LodestringError for a pickup that is kept (it has no drawing).
    """
    shapes = [c for c in coils_of(assessment, pickup) if coil in (None, c.coil)]
    whole = len(shapes) == len(coils_of(assessment, pickup))
    housing = housing_shape(assessment, pickup, "housing") if whole else None
    left, bottom, right, top = _frame(shapes, housing)
    items: list[Item] = [housing] if housing else []
    for shape in shapes:
        items += _bobbin(shape)
    items += _strings(assessment, pickup, bottom - 3.5, top + 3.5)
    for shape in shapes:
        items += _pole_pieces(shape)
    items += [
        CentreLine((0.0, bottom), (0.0, top), 1.5),
        *(CentreLine((left, s.centre[1]), (right, s.centre[1]), 1.5) for s in shapes),
    ]
    for shape in shapes:
        items += _direction(assessment, shape, right)
    items += _across(assessment, shapes, bottom - 14.5, top + 3.5)
    items += _width(assessment, shapes[0], right, top)
    items += _upright(assessment, shapes, left)
    items += _sides(right, bottom, top)
    name = f"{pickup} pickup" if whole and len(shapes) > 1 else f"{pickup} pickup, {shapes[0].coil} coil"
    return sized(items, f"Top view of the {name}, 1:1", _words(assessment, pickup, shapes), units=assessment.units)


def sized(items: list[Item], title: str, desc: str, margin: float = 0.6, units: Units = USUAL) -> Sheet1to1:
    """A sheet that is as large as what lies on it. Dimensions that say their own length say it in `units`."""
    if units.inches:
        items = [replace(i, text=words(i, units)) if isinstance(i, Dimension) else i for i in items]
    left, bottom, right, top = extent(tuple(items))
    size = (right - left + 2 * margin, top - bottom + 2 * margin)
    return Sheet1to1(size, tuple(items), title, desc, (margin - left, margin - bottom))


def _frame(shapes: list[CoilShape], housing: Rect | None) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of plates and housing."""
    rects = [s.plate() for s in shapes] + ([housing] if housing else [])
    loose = [(s.inner + s.side_high, s.inner + s.end_high + s.straight / 2, s.centre) for s in shapes]
    return (
        min([r.centre[0] - r.width / 2 for r in rects] + [c[0] - e for _, e, c in loose]),
        min([r.centre[1] - r.height / 2 for r in rects] + [c[1] - w for w, _, c in loose]),
        max([r.centre[0] + r.width / 2 for r in rects] + [c[0] + e for _, e, c in loose]),
        max([r.centre[1] + r.height / 2 for r in rects] + [c[1] + w for w, _, c in loose]),
    )


def _bobbin(shape: CoilShape) -> list[Item]:
    name = shape.coil
    items: list[Item] = [
        shape.plate(name=f"plate.{name}"),
        Region((shape.winding(), shape.bore()), Role.WIRE, name=f"coil.{name}"),
    ]
    items.append(shape.winding(loose=True, role=Role.HIDDEN))
    return items


def _strings(assessment: Assessment, pickup: str, low: float, high: float) -> list[Item]:
    notes = [s.note.text for s in assessment.model.inputs.design.instrument.strings]
    items: list[Item] = []
    gap = 99.0
    paths = string_paths(assessment, pickup, low, high)
    if len(paths) > 1:
        gap = min(abs(a[0][0] - b[0][0]) for a, b in pairwise(paths))
    for i, (below, above) in enumerate(paths):
        items.append(Line(below, above, Role.STRING, name=f"string.{i + 1}"))
        label: tuple[str, ...] = (str(i + 1), notes[i]) if gap > 6.0 else (str(i + 1),)
        if gap > 3.0 or i in (0, len(paths) - 1):
            items.append(Text((below[0], low - 2.6), label, SMALL, Anchor.MIDDLE, role=Role.STRING))
    return items


def _pole_pieces(shape: CoilShape) -> list[Item]:
    items: list[Item] = []
    for pole in shape.poles:
        role = END_ROLE.get(pole.end, Role.STEEL) if shape.magnet else Role.STEEL
        items.append(shape.hole(pole, role, f"pole.{shape.coil}.{pole.number}"))
        half = shape.radius or shape.blade[1] / 2
        if shape.radius:
            items += centre_cross((pole.x, pole.y), half, 0.8, clear=half)
        if not shape.magnet and pole.end:
            letter = LETTER.get(pole.end, "?")
            items.append(
                Text(
                    (pole.x, pole.y),
                    letter,
                    min(SMALL, 1.6 * half),
                    Anchor.MIDDLE,
                    Level.MIDDLE,
                    bold=True,
                    knock_out=True,
                )
            )
        if len(shape.poles) > 1:
            items.append(_number(shape, pole))
    return items


def _number(shape: CoilShape, pole: PoleShape) -> Text:
    drop = shape.inner + max(shape.depth_side - SMALL * 0.35, 0.4) * 0.62
    return Text(
        (pole.x, shape.centre[1] - drop), str(pole.number), SMALL * 0.9, Anchor.MIDDLE, Level.MIDDLE, knock_out=True
    )


def _direction(assessment: Assessment, shape: CoilShape, right: float) -> list[Item]:
    record = blocks.coil_of(assessment.model, shape.pickup, shape.coil)
    clockwise = record.wound == "clockwise"
    radius = max(min(6.0, shape.plate_width / 2 - 1.5), 3.0)
    centre = (right + 2.0, shape.centre[1])
    sweep = (75.0, -150.0) if clockwise else (-75.0, 150.0)
    ends = (
        f"start: {'hot' if record.hot == 'start' else 'ground'}",
        f"finish: {'hot' if record.hot == 'finish' else 'ground'}",
    )
    words = (f"wound {record.wound}", *ends)
    return [
        block_arrow(centre, radius, 1.1, *sweep, Role.COPPER),
        Text((centre[0] + radius + 2.4, centre[1]), words, SMALL, level=Level.MIDDLE, role=Role.COPPER),
    ]


def _across(assessment: Assessment, shapes: list[CoilShape], low: float, high: float) -> list[Item]:
    """Dimensions along the row: pole pieces above, coil and plates below, of the first coil where all are alike."""
    shape = shapes[0]
    cx = shape.centre[0]
    items: list[Item] = []
    outer = shape.outer
    if outer:
        a, b = ((p.x, p.y + shape.radius) for p in outer)
        items.append(Dimension(DimensionKind.HORIZONTAL, a, b, high - max(a[1], b[1]) + 2.5, name="outer-poles"))
    half = shape.straight / 2 + shape.inner + shape.depth_end
    path = blocks.coil_path(shape.pickup, shape.coil)
    coil = shown(assessment.facts[f"{path}.outer_length"], assessment.units)
    bottom = min(s.centre[1] for s in shapes)
    for number, (reach, text) in enumerate(
        ((half, f"coil {coil.value} ({coil.interval})" if coil.interval else None), (shape.plate_length / 2, None))
    ):
        level = -(bottom - low) - LEVEL_APART * number
        items.append(Dimension(DimensionKind.HORIZONTAL, (cx - reach, bottom), (cx + reach, bottom), level, text))
    return items


def _upright(assessment: Assessment, shapes: list[CoilShape], left: float) -> list[Item]:
    """Dimensions across the row, left of the drawing."""
    items: list[Item] = []
    for shape in shapes:
        (cx, cy), width = shape.centre, shape.plate_width / 2
        edge = cx - shape.plate_length / 2
        items.append(Dimension(DimensionKind.VERTICAL, (edge, cy - width), (edge, cy + width), left - edge - 4.0))
    if len(shapes) > 1:
        ys = sorted(s.centre[1] for s in shapes)
        items.append(Dimension(DimensionKind.VERTICAL, (left, ys[0]), (left, ys[-1]), -4.0 - LEVEL_APART))
    return items


def _width(assessment: Assessment, shape: CoilShape, right: float, top: float) -> list[Item]:
    """The coil's width at mid-side, as a note: a dimension line there would lie across pole pieces and strings."""
    fact = shown(assessment.facts[f"{blocks.coil_path(shape.pickup, shape.coil)}.outer_width"], assessment.units)
    cx, cy = shape.centre
    point = (cx + shape.straight * 0.12, cy + shape.inner + shape.depth_side)
    outer = shape.outer
    knee = max(outer[1].x if outer else cx, right - 22.0) + 2.0
    text = f"coil {fact.value} ({fact.interval}) at mid-side" if fact.interval else f"coil {fact.value} at mid-side"
    return [Leader(point, (knee, top + 8.0), text, size=SMALL)]


def _sides(right: float, bottom: float, top: float) -> list[Item]:
    return [
        Text((right + 3.0, top + 1.0), "↑ nut", SMALL),
        Text((right + 3.0, bottom - 3.5), "↓ bridge", SMALL),
    ]


def _words(assessment: Assessment, pickup: str, shapes: list[CoilShape]) -> str:
    told = []
    for shape in shapes:
        record = blocks.coil_of(assessment.model, pickup, shape.coil)
        ends = ", ".join(f"{p.number} {p.end or 'no end'}" for p in shape.poles) or "no pole pieces"
        told.append(
            f"{shape.coil} coil, {record.turns} turns, wound {record.wound} from start to finish, "
            f"{record.hot} wire hot; end toward the strings: {ends}"
        )
    angle = slant_degrees(assessment, pickup)
    slant = f"; the pickup is slanted by {angle:.1f} degrees" if abs(angle) > 0.05 else ""
    return "; ".join(told) + slant + "."
