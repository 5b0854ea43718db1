"""Records are checked when they are made, and say which item is wrong and what must hold."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lodestring.drawing.picture import (
    ArcTo,
    Arrow,
    CentreLine,
    Circle,
    Dimension,
    DimensionKind,
    Group,
    Hatch,
    Item,
    Leader,
    Line,
    LineTo,
    Obround,
    Path,
    Polyline,
    Rect,
    Sheet1to1,
    Text,
    arc,
)
from lodestring.drawing.plot import Axes, Axis, Band, Mark, Plot, Scale, Series, Span
from lodestring.errors import DomainError

# id: (a maker of one bad number, what the sentence must name)
PLACES: dict[str, tuple[Callable[[float], object], str]] = {
    "line": (lambda v: Line((0, v), (1, 1), name="edge"), "Line 'edge': a "),
    "centre line": (lambda v: CentreLine((0, 0), (v, 1)), "CentreLine: b "),
    "polyline": (lambda v: Polyline(((0, 0), (1, v))), "Polyline: points"),
    "path start": (lambda v: Path((v, 0), (LineTo((1, 0)),)), "Path: start"),
    "path line": (lambda v: Path((0, 0), (LineTo((v, 0)),)), "Path: segments"),
    "path centre": (lambda v: Path((0, 0), (ArcTo((2, 0), (1, v)),)), "Path: segments"),
    "circle": (lambda v: Circle((v, 0), 1, name="rod-1"), "Circle 'rod-1': centre"),
    "circle radius": (lambda v: Circle((0, 0), v), "Circle: radius"),
    "rect": (lambda v: Rect((0, 0), v, 1), "Rect: width"),
    "obround": (lambda v: Obround((0, 0), v, 1), "Obround: straight"),
    "text": (lambda v: Text((0, v), "a"), "Text: at"),
    "text size": (lambda v: Text((0, 0), "a", size=v), "Text: size"),
    "text rotation": (lambda v: Text((0, 0), "a", rotation=v), "Text: rotation"),
    "hatch": (lambda v: Hatch((Circle((0, 0), 1),), v), "Hatch: angle"),
    "dimension": (lambda v: Dimension(DimensionKind.ALIGNED, (0, 0), (v, 1)), "Dimension: b"),
    "dimension offset": (lambda v: Dimension(DimensionKind.ALIGNED, (0, 0), (1, 1), v), "Dimension: offset"),
    "leader": (lambda v: Leader((0, 0), (v, 1), "a"), "Leader: to"),
    "arrow": (lambda v: Arrow(arc((0, 0), 1, 0, 90), head=v), "Arrow: head"),
    "group": (lambda v: Group((), at=(v, 0)), "Group: at"),
    "sheet": (lambda v: Sheet1to1((v, 1), (), "t", "d"), "Sheet1to1: size_mm"),
    "sheet origin": (lambda v: Sheet1to1((1, 1), (), "t", "d", (0, v)), "Sheet1to1: origin"),
    "series x": (lambda v: Series("s", "s", (0.0, v), (0.0, 1.0)), "Series 's'"),
    "series y": (lambda v: Series("s", "s", (0.0, 1.0), (0.0, v)), "Series 's'"),
    "band": (lambda v: Band("b", (0.0,), (0.0,), (v,)), "Band 'b'"),
    "span": (lambda v: Span("u", "", 0.0, v), "Span 'u'"),
    "mark": (lambda v: Mark("m", "", x=v), "Mark 'm'"),
    "axis": (lambda v: Axis("level", low=v), "axis 'level'"),
}


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")], ids=["nan", "inf", "-inf"])
@pytest.mark.parametrize(("make", "named"), PLACES.values(), ids=PLACES.keys())
def test_a_number_that_is_not_finite_is_refused_by_the_items_name(
    make: Callable[[float], object], named: str, value: float
) -> None:
    with pytest.raises(DomainError) as caught:
        make(value)
    assert named in str(caught.value)
    assert str(value) in str(caught.value)


REFUSED: dict[str, tuple[Callable[[], object], str]] = {
    "radius 0": (lambda: Circle((0, 0), 0), "radius above 0"),
    "radius below 0": (lambda: Circle((0, 0), -1), "radius above 0"),
    "flat rectangle": (lambda: Rect((0, 0), 0, 1), "sides above 0"),
    "corner too round": (lambda: Rect((0, 0), 4, 2, 1.01), "half the shorter side"),
    "obround inside out": (lambda: Obround((0, 0), -1, 1), "not below 0"),
    "one point": (lambda: Polyline(((0, 0),)), "two points"),
    "empty path": (lambda: Path((0, 0), ()), "one segment"),
    "arc off its circle": (lambda: Path((0, 0), (ArcTo((3, 0), (1, 0)),)), "one circle"),
    "arc of radius 0": (lambda: Path((0, 0), (ArcTo((0, 0), (0, 0)),)), "one circle"),
    "nothing to measure": (lambda: Dimension(DimensionKind.HORIZONTAL, (1, 0), (1, 5)), "apart"),
    "group scaled to nothing": (lambda: Group((), scale=0), "scale above 0"),
    "group class": (lambda: Group((), css='a"b'), "class"),
    "farther than any sheet": (lambda: Line((0, 0), (2e5, 0)), "100000 mm"),
    "sheet without a side": (lambda: Sheet1to1((0, 1), (), "t", "d"), "sides above 0"),
    "series of unlike columns": (lambda: Series("s", "s", (0.0, 1.0), (0.0,)), "one length"),
    "series of nothing": (lambda: Series("s", "s", (), ()), "one length"),
    "series id": (lambda: Series("a b", "s", (0.0,), (0.0,)), "id of a Series"),
    "band upside down": (lambda: Band("b", (0.0,), (1.0,), (0.0,)), "not above high"),
    "span upside down": (lambda: Span("u", "", 1.0, 0.0), "low below high"),
    "span along z": (lambda: Span("u", "", 0.0, 1.0, "z"), "along x or y"),
    "mark nowhere": (lambda: Mark("m", "m"), "an x, a y or both"),
    "axis upside down": (lambda: Axis("a", low=1.0, high=0.0), "low is below high"),
    "logarithmic from 0": (lambda: Axis("a", scale=Scale.LOG, low=0.0), "above 0"),
    "logarithmic data": (
        lambda: Plot(
            Axes(Axis("f", "Hz", Scale.LOG), Axis("y")),
            (Series("s", "s", (0.0, 1.0), (1.0, 1.0)),),
            title="t",
            desc="d",
        ),
        "above 0",
    ),
    "id twice": (
        lambda: Plot(
            Axes(Axis("a"), Axis("b")), (Series("s", "s", (0.0,), (1.0,)),), (Mark("s", "", x=1),), title="t", desc="d"
        ),
        "'s' twice",
    ),
    "band of no series": (
        lambda: Plot(
            Axes(Axis("a"), Axis("b")), (), (), (Band("b", (0.0,), (0.0,), (1.0,), "s"),), title="t", desc="d"
        ),
        "id of a series",
    ),
    "plot too low": (lambda: Plot(Axes(Axis("a"), Axis("b")), (), title="t", desc="d", height_mm=5), "30 mm"),
}


@pytest.mark.parametrize(("make", "said"), REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_drawn_is_refused_with_a_sentence(make: Callable[[], object], said: str) -> None:
    with pytest.raises(DomainError, match=said):
        make()


def test_a_thing_that_is_no_item_is_refused() -> None:
    from lodestring.drawing.svg import svg

    with pytest.raises(DomainError, match="Item"):
        svg(Sheet1to1((1, 1), (Item(),), "t", "d"), ids="a")


def test_records_cannot_be_changed() -> None:
    with pytest.raises(AttributeError):
        Circle((0, 0), 1).radius = 2  # type: ignore[misc]
