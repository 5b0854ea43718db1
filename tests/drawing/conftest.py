"""Sample pictures, and the way to paper that stands outside the project: typst sets the SVG, pdfplumber measures it."""

from __future__ import annotations

import io
import math
import sys
from collections.abc import Callable
from pathlib import Path

import pdfplumber
import pytest
import typst
from pdfplumber.page import Page

from lodestring.drawing import svg as svg_module
from lodestring.drawing.look import Role, SeriesLook
from lodestring.drawing.picture import (
    Anchor,
    Arrow,
    Circle,
    Dimension,
    DimensionKind,
    Group,
    Hatch,
    Item,
    Leader,
    LeaderEnd,
    Obround,
    Rect,
    Region,
    Sheet1to1,
    Text,
    arc,
    centre_cross,
)
from lodestring.drawing.plot import Axes, Axis, Band, Mark, Plot, Scale, Series, Span

for folder in ("drawing", "making"):  # for schematic_reader and wired_sets, which lie beside tests
    sys.path.insert(0, str(Path(__file__).parents[1] / folder))


@pytest.fixture
def printed(tmp_path: Path) -> Callable[[str], Page]:
    """SVG text -> the PDF page typst makes of it, at the SVG's own size; a warning of typst fails the test."""

    def make(svg: str) -> Page:
        source = '#set page(width: auto, height: auto, margin: 0mm)\n#image(bytes(sys.inputs.at("s")), format: "svg")'
        pdf, warnings = typst.compile_with_warnings(
            source.encode(), root=tmp_path, ignore_system_fonts=True, sys_inputs={"s": svg}
        )
        assert warnings == []
        assert isinstance(pdf, bytes)
        return pdfplumber.open(io.BytesIO(pdf)).pages[0]

    return make


@pytest.fixture
def coil_sheet() -> Sheet1to1:
    """Invented: a coil of six rods, dimensioned and labelled."""
    kind, pitch = DimensionKind, 10.1
    items: list[Item] = [
        Rect((0, 0), 84, 19, 9, Role.HOUSING),
        Rect((0, 0), 80, 16, 8, Role.PLATE, name="plate"),
        Region((Obround((0, 0), 50.5, 6.4), Obround((0, 0), 50.5, 2.5)), Role.WIRE, name="coil.main"),
    ]
    for i in range(6):
        at = ((i - 2.5) * pitch, 0.0)
        items.append(Circle(at, 2.4, Role.MAGNET_NORTH if i == 3 else Role.MAGNET_SOUTH, name=f"rod-{i + 1}"))
        items += centre_cross(at, 2.4, clear=2.4)
    items += [
        Dimension(kind.HORIZONTAL, (-40, 0), (40, 0), 20),
        Dimension(kind.HORIZONTAL, (-2.5 * pitch, 0), (-1.5 * pitch, 0), 13),
        Dimension(kind.VERTICAL, (40, -8), (40, 8), 9),
        Dimension(kind.VERTICAL, (-25, -2.5), (-25, -6.4), -24),
        Dimension(kind.DIAMETER, (25.25, 0), (25.25 + 1.2, -2.4 * math.sqrt(0.75)), 10),
        Dimension(kind.RADIUS, (32, 0), (32 + 8 * math.cos(0.9), 8 * math.sin(0.9))),
        Leader((-12, 5.4), (-20, -16), ("winding, 7 800 turns", "42 AWG <single> & co")),
        Leader((-2.4, -0.9), (4, -16), "magnet, south end up", end=LeaderEnd.DOT),
        Arrow(arc((0, 0), 11.5, 150, -120, Role.COPPER), role=Role.COPPER),
        Hatch((Rect((0, -28), 60, 4, 1),)),
        Text((0, 27), "Top view 1:1", size=4, anchor=Anchor.MIDDLE, bold=True),
        Text((-55, -32), "Caution: hot wax", role=Role.WARNING),
    ]
    return Sheet1to1((120, 75), (Group(tuple(items)),), "A coil of six rods", "Top view, dimensioned.", (60, 38))


@pytest.fixture
def response_plot() -> Plot:
    """Invented: three curves of level against frequency with an interval, marks and a usual range."""
    f = tuple(20 * 10 ** (3 * i / 100) for i in range(101))

    def level(peak: float, q: float) -> tuple[float, ...]:
        return tuple(-20 * math.log10(math.hypot(1 - (x / peak) ** 2, x / peak / q)) for x in f)

    bridge = level(3400, 3)
    return Plot(
        Axes(Axis("frequency", "Hz", Scale.LOG, 20, 20000), Axis("level", "dB", low=-20)),
        (
            Series("bridge", "bridge", f, bridge),
            Series("neck", "neck", f, level(4100, 2.2)),
            Series("before", "bridge, kept", f, level(3000, 2.5), SeriesLook.KEPT),
        ),
        (Mark("peak", "peak 3.40 kHz, +9.5 dB", 3400, 9.5), Mark("other", "4.10 kHz", 4100), Mark("flat", "0 dB", y=0)),
        (
            Band("spread", f, tuple(v - 1.5 for v in bridge), tuple(v + 1.5 for v in bridge), "bridge"),
            Span("usual", "usual", 2000, 5000, "x"),
        ),
        title="Response",
        desc="Level against frequency for two pickups.",
    )


@pytest.fixture
def both(coil_sheet: Sheet1to1, response_plot: Plot) -> dict[str, str]:
    """Both samples as SVG."""
    return {
        "sheet": svg_module.svg(coil_sheet, ids="coil"),
        "plot": svg_module.svg(response_plot, 150, ids="response"),
    }
