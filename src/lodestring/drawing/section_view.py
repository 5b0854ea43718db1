"""The section across a coil at 1:1, through a pole piece: plates, coil at mid-side, core, pole piece, bars, housing."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.assess.shown import shown
from lodestring.drawing.coil_shapes import MM, CoilShape, PoleShape, coils_of
from lodestring.drawing.figures import drawn
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Anchor, Dimension, DimensionKind, Sheet1to1, Text
from lodestring.drawing.shapes import CentreLine, Hatch, Item, Line, Polyline, Rect
from lodestring.drawing.top_view import END_ROLE, SMALL, sized
from lodestring.errors import LodestringError
from lodestring.quantity import Units

STEP = 6.5


def section(assessment: Assessment, pickup: str, coil: str, whole: bool = False) -> Sheet1to1:
    """A cut across the row, seen along it with the nut to the right; `whole`: every coil of the pickup and its housing.

    Cut through the pole piece nearest the middle of the row. Raises LodestringError for a pickup that is kept, or a
    coil it has not.
    """
    every = coils_of(assessment, pickup)
    named = [c for c in every if c.coil == coil]
    if not named:
        raise LodestringError(
            f"the {pickup} pickup must have the coil", f'"{coil}"', " or ".join(c.coil for c in every)
        )
    shapes = list(every) if whole or len(every) == 1 else named
    shape = named[0]
    items: list[Item] = []
    if len(shapes) == len(every):
        items += _housing(assessment, pickup)
    for one in shapes:
        items += _cut(one)
        items += _bars(assessment, pickup, one if len(shapes) < len(every) else None, first=one is shapes[0])
    items += _dimensions(assessment, shape, shapes)
    middle = _middle(shape)
    at = f"pole piece {middle.number}" if middle and len(shape.poles) > 1 else "the middle"
    name = f"{pickup} pickup" if len(shapes) > 1 else f"{pickup} pickup, {coil} coil"
    return sized(
        items,
        f"Section across the {name}, 1:1, cut at {at}",
        f"Cut across the row at {at}, the nut to the right: plates, coil at mid-side, pole piece, "
        f"lengths in {'inches' if assessment.units.inches else 'mm'}.",
        units=assessment.units,
    )


def cut_at(assessment: Assessment, pickup: str, coil: str) -> str:
    """Where the section is cut, in words."""
    shape = next(c for c in coils_of(assessment, pickup) if c.coil == coil)
    middle = _middle(shape)
    return f"pole piece {middle.number}" if middle and len(shape.poles) > 1 else "the middle"


def _middle(shape: CoilShape) -> PoleShape | None:
    return min(shape.poles, key=lambda p: (abs(p.x - shape.centre[0]), p.number)) if shape.poles else None


def _cut(shape: CoilShape) -> list[Item]:
    cy, t, w = shape.centre[1], shape.plate_thickness, shape.window
    items: list[Item] = []
    for z in (-t / 2, -t - w - t / 2):
        plate = Rect((cy, z), shape.plate_width, t, 0.0, Role.PLATE)
        items += [plate, Hatch((plate,), -45.0, 0.9)]
    middle = -t - w / 2
    for side in (-1.0, 1.0):
        if shape.core > 0.0:
            at = (cy + side * (shape.inner - shape.core / 2), middle)
            items.append(Rect(at, shape.core, w, 0.0, Role.TAPE if shape.core < 0.5 else Role.PLATE))
        block = (cy + side * (shape.inner + shape.depth_side / 2), middle)
        items.append(Rect(block, shape.depth_side, w, 0.0, Role.WIRE))
        far = cy + side * (shape.inner + shape.side_high)
        items.append(Line((far, -t), (far, -t - w), Role.HIDDEN))
    pole = _middle(shape)
    if pole:
        thick = 2 * shape.radius or shape.blade[1]
        role = END_ROLE.get(pole.end, Role.STEEL) if shape.magnet else Role.STEEL
        items += _rod(cy, pole, thick, role, shape.magnet)
    items.append(CentreLine((cy, pole.top if pole else 0.0), (cy, min(pole.foot if pole else 0.0, -2 * t - w)), 2.0))
    return items


def _rod(cy: float, pole: PoleShape, thick: float, role: Role, magnet: bool) -> list[Item]:
    length = pole.top - pole.foot
    if not magnet or role is Role.STEEL:
        return [Rect((cy, (pole.top + pole.foot) / 2), thick, length, 0.0, role)]
    other = Role.MAGNET_SOUTH if role is Role.MAGNET_NORTH else Role.MAGNET_NORTH
    half = length / 2
    return [
        Rect((cy, pole.top - half / 2), thick, half, 0.0, role),
        Rect((cy, pole.foot + half / 2), thick, half, 0.0, other),
    ]


def _bars(assessment: Assessment, pickup: str, only: CoilShape | None, first: bool) -> list[Item]:
    """The pickup's bars once; with `only` those under that coil alone."""
    items: list[Item] = []
    if only is None and not first:
        return items
    for bar in (assessment.model.inputs.design.pickup[pickup].bar or {}).values():
        (_, y, z), (_, width, depth) = ([q.value * MM for q in part] for part in (bar.centre, bar.size))
        if only is not None and abs(y - only.centre[1]) > only.plate_width / 2:
            continue
        if bar.magnetised in ("+z", "-z"):
            up = "north" if bar.magnetised == "+z" else "south"
            down = "south" if up == "north" else "north"
            items.append(Rect((y, z + depth / 4), width, depth / 2, 0.0, END_ROLE[up]))
            items.append(Rect((y, z - depth / 4), width, depth / 2, 0.0, END_ROLE[down]))
        else:
            nut = "north" if bar.magnetised == "+y" else "south"
            bridge = "south" if nut == "north" else "north"
            items.append(Rect((y + width / 4, z), width / 2, depth, 0.0, END_ROLE[nut]))
            items.append(Rect((y - width / 4, z), width / 2, depth, 0.0, END_ROLE[bridge]))
        ends = {"+z": "N up", "-z": "S up", "+y": "N to nut", "-y": "S to nut"}
        items.append(
            Text((y, z - depth / 2 - 2.6), f"bar, {ends[bar.magnetised]}", SMALL, Anchor.MIDDLE, knock_out=True)
        )
    return items


def _housing(assessment: Assessment, pickup: str) -> list[Item]:
    hollow = blocks.hollow(assessment.model, pickup)
    if hollow is None:
        return []
    top, foot, depth = hollow.width / 2 * MM, (hollow.width - hollow.draft) / 2 * MM, hollow.depth * MM
    return [Polyline(((-top, 0.0), (-foot, -depth), (foot, -depth), (top, 0.0)), Role.HOUSING, name="housing")]


@dataclass(frozen=True, slots=True)
class _Reach:
    """What is drawn, mm: dimension lines stand outside it. `house`: half-width and depth of a housing that is drawn."""

    left: float
    right: float
    top: float
    low: float
    house: tuple[float, float] | None


def _reach(assessment: Assessment, shape: CoilShape, shapes: list[CoilShape]) -> _Reach:
    record = assessment.model.inputs.design.pickup[shape.pickup]
    hollow = blocks.hollow(assessment.model, shape.pickup) if len(shapes) == len(record.coil or {}) else None
    half = [(s.centre[1], max(s.plate_width / 2, s.inner + s.side_high)) for s in shapes]
    tops = [p.top for s in shapes for p in s.poles]
    lows = [-2 * s.plate_thickness - s.window for s in shapes]
    lows += [pole.foot for s in shapes if (pole := _middle(s))]
    bars = (record.bar or {}).values()
    lows += [(b.centre[2].value - b.size[2].value / 2) * MM - 3.2 for b in bars]  # 3.2: the words under a bar
    house = None if hollow is None else (hollow.width / 2 * MM, hollow.depth * MM)
    wide = [] if house is None else [house[0]]
    return _Reach(
        min([y - h for y, h in half] + [-w for w in wide]),
        max([y + h for y, h in half] + wide),
        max([*tops, 0.0]),
        min(lows + ([] if house is None else [-house[1]])),
        house,
    )


def _dimensions(assessment: Assessment, shape: CoilShape, shapes: list[CoilShape]) -> list[Item]:
    reach = _reach(assessment, shape, shapes)
    t, w, cy, half = shape.plate_thickness, shape.window, shape.centre[1], shape.plate_width / 2
    fact = shown(assessment.facts[f"{blocks.coil_path(shape.pickup, shape.coil)}.outer_width"], assessment.units)
    side, foot = shape.inner + shape.depth_side, -2 * t - w
    across = DimensionKind.HORIZONTAL
    return [
        *_right(shape, reach.right),
        *_left(shape, reach, assessment.units),
        Dimension(across, (cy - side, foot), (cy + side, foot), reach.low - foot - 5.0, f"coil {fact.value}"),
        Dimension(across, (cy - half, -t), (cy + half, -t), reach.top + t + 5.0, name="plate-width"),
        Text((cy, reach.low - 9.5), "← bridge · nut →", SMALL, Anchor.MIDDLE),
    ]


def _right(shape: CoilShape, right: float) -> list[Item]:
    """Window, bottom plate, and how far the pole piece stands above the top plate."""
    t, w, far = shape.plate_thickness, shape.window, shape.centre[1] + shape.plate_width / 2
    upright, away = DimensionKind.VERTICAL, right - far + 4.0
    items: list[Item] = [
        Dimension(upright, (far, -t), (far, -t - w), away, name="window"),
        Dimension(upright, (far, -t - w), (far, -2 * t - w), away, outside_at=Anchor.START, name="plate-thickness"),
    ]
    pole = _middle(shape)
    if pole and abs(pole.top) > 0.05:
        edge = shape.centre[1] + (shape.radius or shape.blade[1] / 2)
        items.append(Dimension(upright, (edge, 0.0), (edge, pole.top), right - edge + 4.0, name="pole-height"))
    elif pole:
        items.append(Text((right + 4.0, 1.0), "flush", SMALL))
    return items


def _left(shape: CoilShape, reach: _Reach, units: Units) -> list[Item]:
    """The pole piece's length, and the housing's depth outside it."""
    upright, items, pole = DimensionKind.VERTICAL, [], _middle(shape)
    if pole:
        edge = shape.centre[1] - (shape.radius or shape.blade[1] / 2)
        away = reach.left - edge - 4.0
        items.append(Dimension(upright, (edge, pole.foot), (edge, pole.top), away, name="pole-length"))
    if reach.house:
        half, depth = reach.house
        away = reach.left + half - 4.0 - STEP
        items.append(Dimension(upright, (-half, -depth), (-half, 0.0), away, f"housing {drawn(depth, units)}"))
    return list(items)
