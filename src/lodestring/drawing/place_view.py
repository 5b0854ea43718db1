"""Where the pickups sit under the strings, from the bridge line toward the nut: an overview at 1:2, 1:3 and so on."""

from __future__ import annotations

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.coil_shapes import MM, coils_of, housing_shape, slant_degrees
from lodestring.drawing.figures import drawn
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Anchor, Dimension, DimensionKind, Group, Level, Sheet1to1, Text
from lodestring.drawing.shapes import Item, Line, Rect
from lodestring.drawing.top_view import SMALL, sized
from lodestring.layout.string_lines import StringLines, axis_through, string_lines

BEYOND = 45.0
"""mm of string shown past the pickup nearest the nut."""
SCALES = (2, 3, 4, 5, 8, 10, 20, 50, 100)
HIGHEST = 48.0
"""mm on paper across the strings, at most."""
KEPT = (70.0, 16.0)
"""mm: a kept pickup has no drawing; this outline only says where it is."""


def place_view(assessment: Assessment, width: float) -> tuple[Sheet1to1, int]:
    """The overview, at most `width` mm wide, and its scale as the n of 1:n. Bridge left, nut right, seen from above."""
    model = assessment.model
    lines = string_lines(blocks.strings_in(model))
    names = tuple(model.inputs.design.pickup)
    far = max(max(blocks.place_of(model, n)) for n in names) * MM + BEYOND
    edge = max(abs(x) for x in lines.bridge) * MM + 3.0
    drawings = [_pickup(assessment, lines, name) for name in names]
    reach = max([edge, *(half for _, half in drawings)])
    scale = next(
        n for n in SCALES if ((far + 12.0) / n + 16.0 <= width and 2 * reach / n <= HIGHEST) or n == SCALES[-1]
    )
    items: list[Item] = [Line((-edge, 0.0), (edge, 0.0), Role.OUTLINE, name="bridge-line")]
    items += [
        Line((lines.x(i, 0.0) * MM, 0.0), (lines.x(i, far / MM) * MM, far), Role.STRING, name=f"string.{i + 1}")
        for i in range(len(lines.nut))
    ]
    items += [item for shapes, _ in drawings for item in shapes]
    drawn = Group(tuple(items), rotation=-90.0, scale=1.0 / scale)
    return sized(
        [drawn, *_words(assessment, lines, reach / scale, scale)],
        f"Where the pickups sit, 1:{scale}",
        _told(assessment),
    ), scale


def _pickup(assessment: Assessment, lines: StringLines, name: str) -> tuple[list[Item], float]:
    """A pickup in the frame of the instrument, mm, and how far it reaches to the side."""
    model = assessment.model
    axis = axis_through(lines, *blocks.place_of(model, name))
    if model.inputs.design.pickup[name].coil:
        shapes: list[Item] = [s.plate() for s in coils_of(assessment, name)]
        shapes += [s.hole(p, Role.STEEL) for s in coils_of(assessment, name) for p in s.poles]
        housing = housing_shape(assessment, name)
        if housing:
            shapes.insert(0, housing)
        half = max(
            [s.centre[0] + s.plate_length / 2 for s in coils_of(assessment, name)]
            + ([housing.width / 2] if housing else [])
        )
    else:
        shapes, half = [Rect((0.0, 0.0), *KEPT, 4.0, Role.HOUSING)], KEPT[0] / 2
    return [Group(tuple(shapes), (0.0, axis.y * MM), slant_degrees(assessment, name))], half


def _words(assessment: Assessment, lines: StringLines, low: float, scale: int) -> list[Item]:
    """Place of each pickup as a dimension from the bridge line, stacked below; names of bridge and first string."""
    model = assessment.model
    items: list[Item] = []
    first = lines.bridge[0] * MM / scale
    items.append(Text((-1.5, -first), "1", SMALL, Anchor.END, Level.MIDDLE, role=Role.STRING))
    for i, name in enumerate(sorted(model.inputs.design.pickup, key=lambda n: sum(blocks.place_of(model, n)))):
        kept = "" if model.inputs.design.pickup[name].coil else ", kept"
        at = axis_through(lines, *blocks.place_of(model, name)).y * MM
        text = f"{name}{kept} {drawn(at, assessment.units) if assessment.units.inches else f'{at:.4g}'}"
        items.append(Dimension(DimensionKind.HORIZONTAL, (0.0, -low), (at / scale, -low), -4.5 - 6.0 * i, text))
    return items


def _told(assessment: Assessment) -> str:
    model = assessment.model
    units = assessment.units
    middles = {n: sum(blocks.place_of(model, n)) / 2 * MM for n in model.inputs.design.pickup}
    places = [f"{n} {drawn(at, units)} in" if units.inches else f"{n} {at:.4g} mm" for n, at in middles.items()]
    return f"Seen from above, the bridge left, the nut right. From the bridge line to the middle: {', '.join(places)}."
