"""Dimensions and leaders: the figure is right, can be read, and lies on nothing."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.drawing.dimension import HEAD, words
from lodestring.drawing.picture import FONT_SIZE, Anchor, Dimension, DimensionKind, Group, Leader, Sheet1to1
from lodestring.drawing.svg import overlapping_texts, svg, text_boxes

KIND = DimensionKind
WRITTEN = {
    "horizontal": (Dimension(KIND.HORIZONTAL, (0, 0), (30, 40)), "30"),
    "vertical": (Dimension(KIND.VERTICAL, (0, 40), (30, 0)), "40"),
    "aligned": (Dimension(KIND.ALIGNED, (0, 0), (30, 40)), "50"),
    "diameter": (Dimension(KIND.DIAMETER, (0, 0), (2.4, 0)), "⌀4.8"),
    "radius": (Dimension(KIND.RADIUS, (0, 0), (0, 8)), "R8"),
    "two decimals": (Dimension(KIND.HORIZONTAL, (0, 0), (0.128, 0)), "0.13"),
    "own words": (Dimension(KIND.HORIZONTAL, (0, 0), (30, 0), text="30 ± 0.1"), "30 ± 0.1"),
}


def sheet(*items: Dimension | Leader | Group) -> Sheet1to1:
    return Sheet1to1((200, 200), items, "t", "d", (100, 100))


@pytest.mark.parametrize(("dimension", "expected"), WRITTEN.values(), ids=WRITTEN.keys())
def test_the_figure_is_the_length_in_mm(dimension: Dimension, expected: str) -> None:
    assert words(dimension) == expected
    assert [b.text for b in text_boxes(sheet(dimension))] == [expected]


@given(st.floats(0, 360), st.floats(1, 60), st.sampled_from([-8.0, 8.0]))
def test_the_figure_reads_from_below_or_from_the_right(degrees: float, length: float, offset: float) -> None:
    end = (length * math.cos(math.radians(degrees)), length * math.sin(math.radians(degrees)))
    (box,) = text_boxes(sheet(Dimension(KIND.ALIGNED, (0, 0), end, offset)))
    (x0, y0), (x1, y1), *_ = box.corners
    turn = math.degrees(math.atan2(y1 - y0, x1 - x0))
    assert -90 < turn <= 90.001


@given(st.floats(0, 360))
def test_a_group_turns_its_dimensions_but_never_stands_them_on_their_head(degrees: float) -> None:
    pair = (Dimension(KIND.HORIZONTAL, (-20, 0), (20, 0), 8), Dimension(KIND.VERTICAL, (20, -10), (20, 10), 8))
    for box in text_boxes(sheet(Group(pair, rotation=degrees))):
        (x0, y0), (x1, y1), *_ = box.corners
        assert -90 < math.degrees(math.atan2(y1 - y0, x1 - x0)) <= 90.001


def heads(dimension: Dimension) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Tip and direction of each arrowhead, y up."""
    out = []
    for e in ET.fromstring(svg(sheet(dimension), ids="a")).iter():
        if (e.get("class") or "").endswith("-head"):
            points = [tuple(map(float, p.split())) for p in re.findall(r"-?[\d.]+ -?[\d.]+", e.get("d", ""))]
            tip, left, right = ((x - 100, 100 - y) for x, y in points)
            out.append((tip, (tip[0] - (left[0] + right[0]) / 2, tip[1] - (left[1] + right[1]) / 2)))
    return out


@pytest.mark.parametrize("length", [0.2, 1.0, 2.9 * HEAD * FONT_SIZE], ids=str)
def test_heads_turn_outside_where_there_is_no_room_between(length: float) -> None:
    (tip_a, way_a), (tip_b, way_b) = heads(Dimension(KIND.HORIZONTAL, (0, 0), (length, 0)))
    assert (tip_a[0], tip_b[0]) == pytest.approx((0, length), abs=1e-4)
    assert way_a[0] > 0 > way_b[0], "both point inwards from outside"


@pytest.mark.parametrize("length", [3.1 * HEAD * FONT_SIZE, 60], ids=str)
def test_heads_stand_inside_where_there_is_room(length: float) -> None:
    (tip_a, way_a), (tip_b, way_b) = heads(Dimension(KIND.HORIZONTAL, (0, 0), (length, 0)))
    assert (tip_a[0], tip_b[0]) == pytest.approx((0, length), abs=1e-4)
    assert way_a[0] < 0 < way_b[0], "both point outwards from inside"


@given(
    st.sampled_from([KIND.HORIZONTAL, KIND.VERTICAL, KIND.ALIGNED]),
    st.floats(0.05, 40),
    st.sampled_from([Anchor.START, Anchor.END]),
    st.sampled_from(["4.8", "12.25 ± 0.05", "6 × 10.1 = 60.6"]),
)
def test_the_figure_never_lies_on_its_own_lines(kind: DimensionKind, length: float, side: Anchor, text: str) -> None:
    b = {KIND.HORIZONTAL: (length, 0.0), KIND.VERTICAL: (0.0, length)}.get(kind, (length * 0.6, length * 0.8))
    dimension = Dimension(kind, (0, 0), b, 8, text=text, outside_at=side)
    picture = sheet(dimension)
    ((p, q, _, s),) = (box.corners for box in text_boxes(picture))
    wide, high = math.dist(p, q), math.dist(p, s)
    for e in ET.fromstring(svg(picture, ids="a")).iter():
        if not e.tag.endswith("}line"):
            continue
        ends = [(float(e.get(f"x{i}", "nan")) - 100, 100 - float(e.get(f"y{i}", "nan"))) for i in (1, 2)]
        for k in range(101):
            x, y = (a + (c - a) * k / 100 for a, c in zip(*ends, strict=True))
            along = ((x - p[0]) * (q[0] - p[0]) + (y - p[1]) * (q[1] - p[1])) / wide
            up = ((x - p[0]) * (s[0] - p[0]) + (y - p[1]) * (s[1] - p[1])) / high
            assert not (0.01 < along < wide - 0.01 and 0.02 < up < high - 0.01), "a line runs through the figure"


@pytest.mark.parametrize("radius", [0.5, 2.4, 8, 30])
@pytest.mark.parametrize("kind", [KIND.DIAMETER, KIND.RADIUS])
def test_a_round_dimension_touches_its_circle_from_inside_if_the_figure_fits(
    kind: DimensionKind, radius: float
) -> None:
    dimension = Dimension(kind, (0, 0), (radius * 0.6, radius * 0.8), 5)
    for tip, way in heads(dimension):
        assert math.hypot(*tip) == pytest.approx(radius, abs=2e-4)
        outwards = tip[0] * way[0] + tip[1] * way[1] > 0
        assert outwards is (radius >= 8)


def test_the_texts_of_the_sample_sheet_keep_clear_of_each_other(coil_sheet: Sheet1to1) -> None:
    assert overlapping_texts(coil_sheet) == ()


def test_texts_on_each_other_are_told() -> None:
    clash = sheet(Leader((0, 0), (10, 10), "one"), Leader((0, 0), (10.5, 11), "other"))
    assert overlapping_texts(clash) == (("one", "other"),)


@pytest.mark.parametrize(("to", "side"), [((10, 10), 1), ((-10, 10), -1), ((0, 10), 1)], ids=["right", "left", "above"])
def test_a_leaders_words_stand_on_the_side_away_from_its_point(to: tuple[float, float], side: int) -> None:
    (box,) = text_boxes(sheet(Leader((0, 0), to, "start wire")))
    assert all((x - to[0]) * side > 0 for x, _ in box.corners)
