"""What comes out on paper, measured in the PDF: 1:1, the right way up, each shape where it belongs."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import pytest
from pdfplumber.page import Page

from lodestring.drawing.look import Role
from lodestring.drawing.picture import (
    ArcTo,
    Arrow,
    Circle,
    Dimension,
    DimensionKind,
    Group,
    Item,
    Line,
    LineTo,
    Obround,
    Path,
    Rect,
    Sheet1to1,
    Text,
    arc,
)
from lodestring.drawing.svg import extent, svg

Printer = Callable[[str], Page]
MM = 72 / 25.4  # PDF units to the millimetre: a unit is 1/72 inch (ISO 32000-1, 8.3.2.3)
CLOSE = 0.02
"""mm. Coordinates are written to 0.0001 mm; typst and the PDF add a few micrometres. The job asks for 0.05."""


def sheet(*items: Item, origin: tuple[float, float] = (0, 0)) -> str:
    return svg(Sheet1to1((160, 90), items, "t", "d", origin), ids="a")


def box(shape: dict[str, float], page: Page) -> tuple[float, float, float, float]:
    """Left, bottom, right, top in mm, y up from the page's lower edge."""
    high = float(page.height)
    left, right = shape["x0"] / MM, shape["x1"] / MM
    return left, (high - shape["bottom"]) / MM, right, (high - shape["top"]) / MM


def drawn(page: Page) -> tuple[float, float, float, float]:
    """The box of everything drawn but text, mm, y up. Curves are sampled: pdfplumber boxes only their end points."""
    high = float(page.height)
    points: list[tuple[float, float]] = []
    for shape in (*page.lines, *page.curves, *page.rects):
        at = (0.0, 0.0)
        for command, *rest in shape["path"]:
            if command == "c":
                points += [bezier((at, *rest), k / 50) for k in range(51)]
            elif rest:
                points.append(rest[-1])
            at = rest[-1] if rest else at
    xs, ys = [x / MM for x, _ in points], [(high - y) / MM for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def bezier(p: tuple[tuple[float, float], ...], t: float) -> tuple[float, float]:
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    x, y = (sum(w * q[axis] for w, q in zip(weights, p, strict=True)) for axis in (0, 1))
    return x, y


def test_the_page_has_the_sheets_size(printed: Printer) -> None:
    page = printed(sheet(Line((0, 0), (1, 1))))
    assert (float(page.width) / MM, float(page.height) / MM) == pytest.approx((160, 90), abs=CLOSE)


def test_a_line_of_100_mm_prints_100_mm_long(printed: Printer) -> None:
    page = printed(sheet(Line((10, 20), (110, 20), Role.OUTLINE)))
    (line,) = page.lines
    assert box(line, page) == pytest.approx((10, 20, 110, 20), abs=CLOSE)
    assert line["linewidth"] / MM == pytest.approx(0.5, abs=0.001)


SHAPES: dict[str, tuple[Item, tuple[float, float, float, float]]] = {
    "circle": (Circle((60, 30), 10.5), (49.5, 19.5, 70.5, 40.5)),
    "rectangle": (Rect((60, 30), 80, 16), (20, 22, 100, 38)),
    "rounded rectangle": (Rect((60, 30), 80, 16, 5), (20, 22, 100, 38)),
    "rectangle rounded to the full": (Rect((60, 30), 80, 16, 8), (20, 22, 100, 38)),
    "obround": (Obround((60, 30), 50, 6.4), (28.6, 23.6, 91.4, 36.4)),
    "obround without a straight part": (Obround((60, 30), 0, 6.4), (53.6, 23.6, 66.4, 36.4)),
    "quarter arc": (arc((60, 30), 10, 0, 90), (60, 30, 70, 40)),
    "half arc, downwards": (arc((60, 30), 10, 0, -180), (50, 20, 70, 30)),
    "three quarters": (arc((60, 30), 10, 0, 270), (50, 20, 70, 40)),
    "three quarters in one segment": (Path((70, 30), (ArcTo((60, 20), (60, 30)),)), (50, 20, 70, 40)),
    "whole turn in one segment": (Path((70, 30), (ArcTo((70, 30), (60, 30)),)), (50, 20, 70, 40)),
    "closed sector": (Path((60, 30), (LineTo((70, 30)), ArcTo((60, 40), (60, 30))), closed=True), (60, 30, 70, 40)),
    "group moved": (Group((Circle((10, 0), 5),), at=(60, 30)), (65, 25, 75, 35)),
    "group turned anticlockwise": (Group((Circle((10, 0), 5),), at=(60, 30), rotation=90), (55, 35, 65, 45)),
    "group at 2:1": (Group((Circle((10, 0), 5),), at=(60, 30), scale=2), (70, 20, 90, 40)),
    "group in a group": (
        Group((Group((Rect((5, 0), 10, 2),), at=(10, 0), rotation=90),), at=(60, 30), rotation=90),
        (50, 39, 60, 41),
    ),
}


@pytest.mark.parametrize(("item", "expected"), SHAPES.values(), ids=SHAPES.keys())
def test_a_shape_prints_where_it_belongs(
    item: Item, expected: tuple[float, float, float, float], printed: Printer
) -> None:
    page = printed(sheet(item))
    assert drawn(page) == pytest.approx(expected, abs=CLOSE)


@pytest.mark.parametrize(("item", "expected"), SHAPES.values(), ids=SHAPES.keys())
def test_the_extent_of_an_item_is_what_it_draws(item: Item, expected: tuple[float, float, float, float]) -> None:
    assert extent((item,)) == pytest.approx(expected, abs=1e-9)


def test_the_origin_moves_everything_up_and_right(printed: Printer) -> None:
    page = printed(sheet(Circle((0, 0), 5), origin=(30, 40)))
    assert drawn(page) == pytest.approx((25, 35, 35, 45), abs=CLOSE)


@pytest.mark.parametrize("degrees", [0, 37, 90, 179, 250])
@pytest.mark.parametrize("sweep", [5, 90, 179.9, 180, 200, 300, -90, -180, -300])
def test_every_point_of_a_printed_arc_lies_on_its_circle(degrees: float, sweep: float, printed: Printer) -> None:
    page = printed(sheet(arc((60, 45), 20, degrees, sweep)))
    (curve,) = page.curves
    high = float(page.height)
    ends = [command[-1] for command in curve["path"] if command[0] in ("m", "c", "l")]
    points = [(x / MM - 60, (high - y) / MM - 45) for x, y in ends]
    assert [math.hypot(*p) for p in points] == pytest.approx([20] * len(points), abs=CLOSE)
    start, end = (math.degrees(math.atan2(y, x)) for x, y in (points[0], points[-1]))
    assert (start - degrees + 180) % 360 - 180 == pytest.approx(0, abs=0.1)
    assert (end - degrees - sweep + 180) % 360 - 180 == pytest.approx(0, abs=0.1)
    # Summed small turns tell the way round and the full sweep, which the ends alone do not.
    angles = [math.atan2(y, x) for x, y in points]
    turned = sum((b - a + math.pi) % math.tau - math.pi for a, b in itertools.pairwise(angles))
    assert math.degrees(turned) == pytest.approx(sweep, abs=0.2)


def test_text_stands_upright_at_its_place_and_can_be_read_back(printed: Printer) -> None:
    page = printed(sheet(Text((20, 60), "<b>7 800 turns & 4.8 ± 0.05 mm</b>"), Text((20, 30), "lower")))
    words = page.extract_text()
    assert words.splitlines() == ["<b>7 800 turns & 4.8 ± 0.05 mm</b>", "lower"]
    first = page.chars[0]
    assert first["x0"] / MM == pytest.approx(20, abs=0.3)  # a letter's side bearing
    baseline = first["matrix"][5] / MM
    assert baseline == pytest.approx(60, abs=CLOSE)
    assert "Libertinus" in first["fontname"]


def test_a_dimension_prints_its_line_as_long_as_it_says(printed: Printer) -> None:
    page = printed(sheet(Dimension(DimensionKind.HORIZONTAL, (10, 20), (90, 30), 10)))
    level = [box(line, page) for line in page.lines if abs(line["top"] - line["bottom"]) < 0.01]
    assert level == [pytest.approx((10, 40, 90, 40), abs=CLOSE)]
    assert page.extract_text() == "80"


def test_a_dimension_in_a_group_at_2_to_1_tells_the_true_length(printed: Printer) -> None:
    part = (Rect((0, 0), 12.5, 4), Dimension(DimensionKind.HORIZONTAL, (-6.25, 2), (6.25, 2), 6))
    page = printed(sheet(Group(part, at=(60, 30), scale=2)))
    assert page.extract_text() == "12.5"
    level = [box(line, page) for line in page.lines if abs(line["top"] - line["bottom"]) < 0.01]
    assert (47.5, 40, 72.5, 40) in [pytest.approx(b, abs=CLOSE) for b in level]


@pytest.mark.parametrize("sweep", [120, -120, 340, -20])
def test_a_curved_arrow_points_along_its_way_at_its_end(sweep: float, printed: Printer) -> None:
    page = printed(sheet(Arrow(arc((60, 45), 15, 30, sweep))))
    head = next(c for c in page.curves if c["fill"])
    high = float(page.height)
    tip, left, right = ((x / MM - 60, (high - y) / MM - 45) for x, y in head["pts"][:3])
    end = math.radians(30 + sweep)
    assert tip == pytest.approx((15 * math.cos(end), 15 * math.sin(end)), abs=CLOSE)
    back = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
    assert math.hypot(*back) == pytest.approx(15, abs=0.1), "the head lies on the arc, it does not stick out"
    turn = back[0] * tip[1] - back[1] * tip[0]
    assert math.copysign(1, turn) == math.copysign(1, sweep)


def test_an_arrow_may_end_in_a_straight_line(printed: Printer) -> None:
    page = printed(sheet(Arrow(Path((10, 10), (LineTo((10, 40)), LineTo((50, 40)))))))
    assert max(x for x, _ in next(c for c in page.curves if c["fill"])["pts"]) / MM == pytest.approx(50, abs=CLOSE)
