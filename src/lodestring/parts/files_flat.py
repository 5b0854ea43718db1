"""DXF and SVG of a flat part at 1:1, in millimetres: true arcs and circles, one layer to cut and one to engrave."""

from __future__ import annotations

import io
import math
from itertools import pairwise
from typing import Any
from xml.sax.saxutils import escape

from lodestring.parts.contour import Arc, Circle, Contour, Edge, box
from lodestring.parts.kernel import MM, dxf
from lodestring.parts.records import Plate

CUT, ENGRAVE = "CUT", "ENGRAVE"
EDGE = 2.0
"""Empty edge round an SVG [mm]."""


def contours(plate: Plate) -> tuple[Contour, ...]:
    """What is cut: openings first, so that the part does not come loose before they are done."""
    return (*(o.contour() for o in plate.openings()), plate.outline())


def dxf_bytes(plate: Plate) -> bytes:
    """A DXF of version R2010 with CIRCLE, ARC and LINE alone. Raises NoKernel where ezdxf is missing."""
    ezdxf = dxf()
    was = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # else the time and a random number go into the file
    try:
        document = ezdxf.new("R2010", units=ezdxf.units.MM)
        _draw(document, plate)
        out = io.StringIO()
        document.write(out)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = was
    return document.encode(out.getvalue())  # type: ignore[no-any-return]


def _draw(document: Any, plate: Plate) -> None:
    document.layers.add(CUT, color=1)
    document.layers.add(ENGRAVE, color=5)
    space = document.modelspace()
    for contour in contours(plate):
        if isinstance(contour, Circle):
            space.add_circle(_mm(contour.centre), contour.radius * MM, dxfattribs={"layer": CUT})
        else:
            for edge in contour.edges:
                _add(space, edge)
    for run in plate.marks.runs:
        for a, b in pairwise(run):
            space.add_line(_mm(a), _mm(b), dxfattribs={"layer": ENGRAVE})


def _add(space: Any, edge: Edge) -> None:
    if isinstance(edge, Arc):
        start, end = edge.start, edge.start + edge.sweep
        if edge.sweep < 0.0:  # DXF's arcs run anticlockwise
            start, end = end, start
        degrees = [math.degrees(a) % 360.0 for a in (start, end)]
        space.add_arc(_mm(edge.centre), edge.radius * MM, *degrees, dxfattribs={"layer": CUT})
    else:
        space.add_line(_mm(edge.a), _mm(edge.b), dxfattribs={"layer": CUT})


def _mm(point: tuple[float, float]) -> tuple[float, float]:
    return round(point[0] * MM, 9), round(point[1] * MM, 9)


def svg_bytes(plate: Plate, title: str) -> bytes:
    """An SVG whose user unit is a millimetre; red is cut, blue engraved."""
    left, bottom, right, top = (v * MM for v in box(plate.outline()))
    wide, high = right - left + 2 * EDGE, top - bottom + 2 * EDGE
    paths = "".join(f'<path d="{_path(c)}"/>' for c in contours(plate))
    runs = "".join(
        f'<polyline points="{" ".join(f"{_n(x * MM)},{_n(-y * MM)}" for x, y in run)}"/>' for run in plate.marks.runs
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(wide)}mm" height="{_n(high)}mm" '
        f'viewBox="{_n(left - EDGE)} {_n(-top - EDGE)} {_n(wide)} {_n(high)}">\n<title>{escape(title)}</title>\n'
        f'<g id="cut" fill="none" stroke="#ff0000" stroke-width="0.1">{paths}</g>\n'
        f'<g id="engrave" fill="none" stroke="#0000ff" stroke-width="0.1">{runs}</g>\n</svg>\n'
    ).encode()


def _path(contour: Contour) -> str:
    """SVG's y runs down: y changes sign, and with it the sense of every arc."""
    if isinstance(contour, Circle):
        (x, y), r = contour.centre, contour.radius
        half = f"A{_n(r * MM)} {_n(r * MM)} 0 1 0"
        return f"M{_p((x + r, y))} {half} {_p((x - r, y))} {half} {_p((x + r, y))}Z"
    steps = [f"M{_p(contour.edges[0].a)}"]
    for edge in contour.edges:
        if isinstance(edge, Arc):
            large, sense = int(abs(edge.sweep) > math.pi), int(edge.sweep < 0.0)
            steps.append(f"A{_n(edge.radius * MM)} {_n(edge.radius * MM)} 0 {large} {sense} {_p(edge.b)}")
        else:
            steps.append(f"L{_p(edge.b)}")
    return " ".join(steps) + "Z"


def _p(point: tuple[float, float]) -> str:
    return f"{_n(point[0] * MM)} {_n(-point[1] * MM)}"


def _n(value: float) -> str:
    """A number to a ten-thousandth of a millimetre, without a minus before zero."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
