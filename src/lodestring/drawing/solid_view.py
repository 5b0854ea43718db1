"""A pickup as a body: plates, winding, pole pieces and bars from the layout, hidden lines dashed, labelled.

Isometric (ISO 5456-3), lines after ISO 128: full where seen, thin dashes where hidden. `apart` lifts the parts off each
other along the rods, in the order they are put together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lodestring.assess.report import Assessment
from lodestring.drawing.coil_shapes import CoilShape, coils_of
from lodestring.drawing.hidden_lines import ISOMETRIC, Prism, Seen, lines
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Leader, LeaderEnd, Sheet1to1
from lodestring.drawing.shapes import Item, Strokes
from lodestring.drawing.top_view import sized

Flat = tuple[float, float]
MM = 1e3
ARC = 28
"""Sides of a round end: a twentieth of a millimetre off at the size of a coil."""
ROUND = 36
"""Sides of a rod."""
APART = 14.0
"""mm between parts that are lifted off each other."""
ROLES = {"winding": Role.COPPER}
WORDS = {"plate": "plates", "winding": "coil", "pole": "pole pieces", "magnet": "pole pieces", "bar": "bar"}


def solid_view(assessment: Assessment, pickup: str, apart: bool = False) -> Sheet1to1:
    """A pickup seen from above one corner, nut at the far side. Raises LodestringError for a pickup that is kept."""
    coils = coils_of(assessment, pickup)
    prisms = [prism for coil in coils for prism in _coil(coil, APART if apart else 0.0)]
    prisms += _bars(assessment, pickup, APART if apart else 0.0)
    seen = lines(prisms)
    items: list[Item] = []
    for body in seen:
        role = ROLES.get(body.name.partition(".")[0], Role.VISIBLE)
        if body.hidden and not apart and (len(coils) == 1 or body.name.startswith(("pole", "magnet"))):
            items.append(Strokes(body.hidden, Role.HIDDEN))
        if body.visible:
            items.append(Strokes(body.visible, role, name=body.name))
    items += _labels(prisms, seen)
    how = "taken apart" if apart else "hidden lines dashed"
    told = ", ".join(dict.fromkeys(WORDS[b.name.partition(".")[0]] for b in seen))
    return sized(items, f"{pickup} pickup as a body", f"Isometric view, {how}: {told}.", units=assessment.units)


def _coil(shape: CoilShape, lift: float) -> Iterator[Prism]:
    name, thick, window = shape.coil, shape.plate_thickness, shape.window
    plate = _rectangle(shape.centre, shape.plate_length, shape.plate_width, shape.plate_corner)
    yield Prism(f"plate.{name}.bottom", plate, -2 * thick - window - lift, -thick - window - lift)
    yield Prism(f"winding.{name}", _bellied(shape), -thick - window, -thick)
    yield Prism(f"plate.{name}.top", plate, -thick + lift, lift)
    kind = "magnet" if shape.magnet else "pole"
    for pole in shape.poles:
        outline = _circle((pole.x, pole.y), shape.radius) if shape.radius else _box((pole.x, pole.y), *shape.blade)
        up = 2.0 * lift + (pole.top - pole.foot if lift else 0.0)
        yield Prism(f"{kind}.{name}.{pole.number}", outline, pole.foot + up, pole.top + up)


def _bars(assessment: Assessment, pickup: str, lift: float) -> list[Prism]:
    made = []
    for name, bar in (assessment.model.inputs.design.pickup[pickup].bar or {}).items():
        (x, y, z), (length, width, depth) = ([q.value * MM for q in part] for part in (bar.centre, bar.size))
        down = 2.0 * lift
        made.append(Prism(f"bar.{name}", _box((x, y), length, width), z - depth / 2 - down, z + depth / 2 - down))
    return made


def _labels(prisms: list[Prism], seen: tuple[Seen, ...]) -> Iterator[Item]:
    """One leader for each kind of body, to its seen point farthest right; the words stand in a column at the right."""
    found: dict[str, tuple[float, float]] = {}
    right = max(x for body in seen for run in body.visible for x, _ in run)
    for prism, body in zip(prisms, seen, strict=True):
        points = [p for run in body.visible for p in run]
        kind = WORDS[prism.name.partition(".")[0]]
        if not points:
            continue
        best = max(points, key=lambda p: p[0])
        if kind not in found or best[0] > found[kind][0]:
            found[kind] = best
    level = math.inf
    for words, at in sorted(found.items(), key=lambda f: -f[1][1]):
        level = min(at[1] + 2.0, level - 5.0)
        yield Leader(at, (right + 7.0, level), words, end=LeaderEnd.DOT)


def _rectangle(
    centre: tuple[float, float], length: float, width: float, corner: float
) -> tuple[tuple[float, float], ...]:
    radius = min(corner, length / 2, width / 2)
    if radius <= 0.0:
        return _box(centre, length, width)
    made: list[tuple[float, float]] = []
    for quarter, (sx, sy) in enumerate(((1, -1), (1, 1), (-1, 1), (-1, -1))):
        cx, cy = centre[0] + sx * (length / 2 - radius), centre[1] + sy * (width / 2 - radius)
        for i in range(ARC // 2 + 1):
            angle = math.pi / 2 * (quarter - 1 + i / (ARC // 2))
            made.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
    return _apart(made)


def _bellied(shape: CoilShape) -> tuple[tuple[float, float], ...]:
    """The last turn: half circles at the ends, the long sides arched out by the belly (a flat arc)."""
    (cx, cy), half = shape.centre, shape.straight / 2
    end, side = shape.inner + shape.depth_end, shape.inner + shape.depth_side
    made: list[tuple[float, float]] = []
    for way in (1.0, -1.0):
        for i in range(ARC + 1):
            angle = -math.pi / 2 + math.pi * i / ARC
            made.append((cx + way * (half + end * math.cos(angle)), cy + way * end * math.sin(angle)))
        for i in range(1, ARC if half > 0.0 and side > end else 1):
            share = i / ARC
            arch = end + (side - end) * 4.0 * share * (1.0 - share)
            made.append((cx + way * half * (1.0 - 2.0 * share), cy + way * arch))
    return _hull(made)


def _circle(centre: tuple[float, float], radius: float) -> tuple[tuple[float, float], ...]:
    angles = (2.0 * math.pi * (i + 0.3) / ROUND for i in range(ROUND))  # no side along the eye's own way
    return tuple((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles)


def _box(centre: tuple[float, float], length: float, width: float) -> tuple[tuple[float, float], ...]:
    (x, y), l, w = centre, length / 2, width / 2
    return (x - l, y - w), (x + l, y - w), (x + l, y + w), (x - l, y + w)


def _apart(points: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Without points that fall together."""
    return tuple(p for i, p in enumerate(points) if math.dist(p, points[i - 1]) > 1e-6)


def _hull(points: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """The convex outline of points, counter-clockwise (Andrew's chain): where belly meets round end it may bend in."""
    ordered = sorted(set(points))

    def half(run: list[tuple[float, float]]) -> list[tuple[float, float]]:
        made: list[tuple[float, float]] = []
        for p in run:
            while len(made) > 1 and (
                (made[-1][0] - made[-2][0]) * (p[1] - made[-2][1]) - (made[-1][1] - made[-2][1]) * (p[0] - made[-2][0])
                <= 1e-9
            ):
                made.pop()
            made.append(p)
        return made[:-1]

    return _apart(half(ordered) + half(ordered[::-1]))


__all__ = ["ISOMETRIC", "solid_view"]
