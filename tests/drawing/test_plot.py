"""Plots: values land where the axes say, words lie on nothing, and the read-out is the data."""

from __future__ import annotations

import json
import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pdfplumber.page import Page

from lodestring.drawing.look import SeriesLook
from lodestring.drawing.plot import Axes, Axis, Band, Mark, Plot, Scale, Series, Span, readout
from lodestring.drawing.plot_layout import layout, rails
from lodestring.drawing.svg import mm_from_px, overlapping_texts, svg, text_boxes
from lodestring.errors import DomainError

MM = 72 / 25.4


def points(plot: Plot, id: str = "s", width: float = 160) -> list[tuple[float, float]]:
    root = ET.fromstring(svg(plot, width, ids="p"))
    d = next(e.get("d", "") for e in root.iter() if e.get("id") == f"p-{id}")
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", d)]


def small(**more: object) -> Plot:
    fields: dict[str, object] = {
        "axes": Axes(Axis("frequency", "Hz", Scale.LOG, 100, 10000), Axis("level", "dB", low=-10, high=10)),
        "series": (Series("s", "bridge", (100.0, 1000.0, 10000.0), (-10.0, 0.0, 10.0)),),
        "title": "t",
        "desc": "d",
    }
    return Plot(**{**fields, **more})  # type: ignore[arg-type]


def test_equal_steps_on_each_axis_are_equal_ways_on_paper() -> None:
    (x0, y0), (x1, y1), (x2, y2) = points(small())
    assert x1 - x0 == pytest.approx(x2 - x1, abs=2e-4), "a decade is a decade"
    assert y0 - y1 == pytest.approx(y1 - y2, abs=2e-4), "10 dB are 10 dB, and up is more"
    assert y0 > y2


def test_the_rails_turn_a_place_back_into_its_value() -> None:
    plot = small()
    way = rails(plot, 160)
    x, y = way["x"], way["y"]
    assert isinstance(x, dict)
    assert isinstance(y, dict)
    for (px, py), f, level in zip(points(plot), (100, 1000, 10000), (-10, 0, 10), strict=True):
        share = (px - x["start"]) / (x["end"] - x["start"])
        assert x["low"] * (x["high"] / x["low"]) ** share == pytest.approx(f, rel=1e-4)
        share = (py - y["start"]) / (y["end"] - y["start"])
        assert y["low"] + (y["high"] - y["low"]) * share == pytest.approx(level, abs=1e-3)
    json.dumps(way, allow_nan=False)


@given(st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=2, max_size=12))
def test_curves_and_bands_never_leave_the_frame(data: list[tuple[float, float]]) -> None:
    xs, ys = tuple(x for x, _ in data), tuple(y for _, y in data)
    axes = Axes(Axis("a", low=0, high=100), Axis("b", low=0, high=100))
    band = Band("band", tuple(sorted(xs)), ys, tuple(y + 50 for y in ys))
    plot = Plot(axes, (Series("s", "s", xs, ys),), (), (band,), title="t", desc="d")
    lay = layout(plot, 160)
    left, bottom, right, top = lay.frame()
    root = ET.fromstring(svg(plot, 160, ids="p"))
    for e in root.iter():
        if e.get("id") in ("p-s", "p-band"):
            for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", e.get("d", "")):
                assert left - 1e-3 <= float(x) <= right + 1e-3
                assert bottom - 1e-3 <= lay.height - float(y) <= top + 1e-3


def test_a_curve_is_cut_exactly_where_it_crosses_the_frame() -> None:
    axes = Axes(Axis("a", low=0, high=10), Axis("b", low=0, high=10))
    plot = Plot(axes, (Series("s", "s", (0.0, 10.0), (-5.0, 15.0)),), title="t", desc="d")
    lay = layout(plot, 160)
    first, last = points(plot, "s")
    assert first == pytest.approx((lay.x.at(2.5), lay.height - lay.y.at(0)), abs=2e-4)
    assert last == pytest.approx((lay.x.at(7.5), lay.height - lay.y.at(10)), abs=2e-4)


@pytest.mark.parametrize("width", [mm_from_px(330), mm_from_px(390), 120, 160, 240], ids=lambda w: f"{w:.0f}mm")
def test_the_words_of_the_sample_plot_lie_on_nothing_and_inside_the_picture(response_plot: Plot, width: float) -> None:
    assert overlapping_texts(response_plot, width) == ()
    height = layout(response_plot, width).height
    for box in text_boxes(response_plot, width):
        assert all(-1e-6 <= x <= width + 1e-6 and -1e-6 <= y <= height + 1e-6 for x, y in box.corners), box.text


LABELS = st.sampled_from(
    ["", "n", "neck", "bridge, kept", "bridge in series with neck", "a label far too long for any margin, kept"]
)


@given(
    st.lists(st.tuples(LABELS, st.floats(-20, 20)), min_size=0, max_size=9),
    st.lists(st.tuples(LABELS, st.floats(0, 10), st.sampled_from("xyb")), max_size=6),
    st.lists(st.tuples(LABELS, st.floats(0, 9), st.sampled_from("xy")), max_size=2),
    st.floats(85, 250),
)
def test_no_words_lie_on_words_whatever_is_plotted(
    series: list[tuple[str, float]],
    marks: list[tuple[str, float, str]],
    spans: list[tuple[str, float, str]],
    width: float,
) -> None:
    plot = Plot(
        Axes(Axis("turn"), Axis("coil depth", "m")),
        tuple(Series(f"s{i}", label, (0.0, 10.0), (0.0, y)) for i, (label, y) in enumerate(series)),
        tuple(
            Mark(f"m{i}", label, None if kind == "y" else at, None if kind == "x" else at)
            for i, (label, at, kind) in enumerate(marks)
        ),
        tuple(Span(f"u{i}", label, at, at + 1, kind) for i, (label, at, kind) in enumerate(spans)),
        title="t",
        desc="d",
    )
    assert overlapping_texts(plot, width) == ()
    height = layout(plot, width).height
    for box in text_boxes(plot, width):
        assert all(-1e-6 <= x <= width + 1e-6 and -1e-6 <= y <= height + 1e-6 for x, y in box.corners), box.text


def test_every_series_says_its_name_beside_it_or_in_the_key() -> None:
    many = tuple(Series(f"s{i}", f"a rather long name of coil {i}", (0.0, 1.0), (0.0, i / 9)) for i in range(9))
    plot = Plot(Axes(Axis("a"), Axis("b")), many, title="t", desc="d")
    for width in (85, 160, 300):
        said = {b.text for b in text_boxes(plot, width)}
        assert {s.label for s in many} <= said


def test_series_without_a_look_get_different_ones_and_kept_ones_keep_theirs(response_plot: Plot) -> None:
    looks = response_plot.looks()
    assert looks == {
        "bridge": SeriesLook.FIRST,
        "neck": SeriesLook.SECOND,
        "before": SeriesLook.KEPT,
        "spread": SeriesLook.FIRST,
    }


def test_a_series_carries_its_mark_as_well_as_its_dash(response_plot: Plot) -> None:
    text = svg(response_plot, 150, ids="p")
    for look in ("first", "second", "kept"):
        assert text.count(f"pic-series-{look}-head") >= 2
    assert 'class="pic-series-second" fill="none" stroke="#1f4a78" stroke-width="0.45" stroke-dasharray="3 1"' in text


def test_a_single_point_still_shows_its_mark() -> None:
    plot = Plot(Axes(Axis("a"), Axis("b")), (Series("s", "s", (2.0,), (3.0,)),), title="t", desc="d")
    assert "pic-series-first-head" in svg(plot, ids="p")


@pytest.mark.parametrize("value", [0.0, 5.0, -5.0, 1e-9])
@pytest.mark.parametrize("scale", list(Scale))
def test_data_of_one_value_still_get_an_axis(value: float, scale: Scale) -> None:
    if scale is Scale.LOG and value <= 0:
        with pytest.raises(DomainError):
            Plot(Axes(Axis("a"), Axis("b", "V", scale)), (Series("s", "s", (0.0,), (value,)),), title="t", desc="d")
        return
    plot = Plot(
        Axes(Axis("a"), Axis("b", "V", scale)), (Series("s", "s", (0.0, 1.0), (value, value)),), title="t", desc="d"
    )
    assert len(layout(plot, 160).y_ticks.at) >= 2


def test_an_empty_plot_is_drawn_with_its_axes() -> None:
    assert "pic-axis" in svg(Plot(Axes(Axis("a"), Axis("b")), (), title="t", desc="d"), ids="p")


def test_the_readout_is_the_data_and_nothing_else(response_plot: Plot) -> None:
    out = readout(response_plot, "bridge")
    assert set(out) == {"id", "x", "y", "unit", "label"}  # contract 4
    bridge = response_plot.series[0]
    assert (out["x"], out["y"]) == (list(bridge.x), list(bridge.y))
    assert out["unit"] == {"x": "Hz", "y": "dB"}
    assert json.loads(json.dumps(out, allow_nan=False)) == out
    assert readout(response_plot, "flat") == {
        "id": "flat", "x": [], "y": [0], "unit": {"x": "Hz", "y": "dB"}, "label": "0 dB",
    }  # fmt: skip
    with pytest.raises(DomainError, match="bridge, neck"):
        readout(response_plot, "nobody")


def test_upright_marks_stand_at_their_value_and_point_marks_reach_their_point(response_plot: Plot) -> None:
    lay = layout(response_plot, 150)
    root = ET.fromstring(svg(response_plot, 150, ids="p"))
    lines = {e.get("id"): e for e in root.iter() if e.tag.endswith("}line")}
    peak, other, flat = (lines[f"p-{i}"] for i in ("peak", "other", "flat"))
    assert float(peak.get("x1", "")) == float(peak.get("x2", "")) == pytest.approx(lay.x.at(3400), abs=1e-4)
    assert lay.height - float(peak.get("y1", "")) == pytest.approx(lay.y.at(9.5), abs=1e-4)
    assert lay.height - float(other.get("y1", "")) == pytest.approx(lay.y.start, abs=1e-4)
    assert lay.height - float(flat.get("y1", "")) == pytest.approx(lay.y.at(0), abs=1e-4)


def test_a_plot_prints_without_a_warning_and_its_words_can_be_read(
    response_plot: Plot, printed: Callable[[str], Page]
) -> None:
    page = printed(svg(response_plot, 150, ids="p"))
    assert float(page.width) / MM == pytest.approx(150, abs=0.02)
    words = page.extract_text()
    for word in ("bridge, kept", "neck", "frequency, Hz", "level, dB", "4.10 kHz", "−20"):
        assert word in words.replace("\u00a0", " ")


def test_the_middle_of_a_band_lies_on_its_series(response_plot: Plot) -> None:
    root = ET.fromstring(svg(response_plot, 150, ids="p"))
    band = next(e for e in root.iter() if e.get("id") == "p-spread")
    edge = [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", band.get("d", ""))]
    line = points(response_plot, "bridge", 150)
    for x, y in line[10:60]:
        at = [b for a, b in edge if math.isclose(a, x, abs_tol=2e-4)]
        assert (min(at) + max(at)) / 2 == pytest.approx(y, abs=1e-3)


def test_a_band_of_even_height_covers_its_height_times_its_width() -> None:
    axes = Axes(Axis("a", low=0, high=10), Axis("b", low=0, high=10))
    band = Band("band", (0.0, 4.0, 10.0), (2.0, 6.0, 3.0), (3.5, 7.5, 4.5))
    lay = layout(plot := Plot(axes, (), (), (band,), title="t", desc="d"), 160)
    edge = points(plot, "band")
    doubled = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(edge, edge[1:] + edge[:1], strict=True))
    whole = (lay.x.end - lay.x.start) * (lay.y.at(1.5) - lay.y.at(0))
    assert abs(doubled) / 2 == pytest.approx(whole, rel=1e-4)  # the shoelace formula


FIXED = {
    "data above a fixed low end": (Axis("b", low=0.0), (2.0, 9.0)),
    "data all below a fixed low end": (Axis("b", low=10.0), (2.0, 5.0)),
    "data all above a fixed high end": (Axis("b", high=1.0), (2.0, 5.0)),
    "data far above a fixed high end": (Axis("b", high=1.0), (200.0, 500.0)),
    "both ends fixed": (Axis("b", low=-1.0, high=1.0), (2.0, 5.0)),
    "both ends open": (Axis("b"), (0.13, 4.87)),
    "logarithmic": (Axis("b", scale=Scale.LOG), (3.0, 70.0)),
    "logarithmic, all above a fixed high end": (Axis("b", scale=Scale.LOG, high=1.0), (2.0, 5.0)),
    "logarithmic, all below a fixed low end": (Axis("b", scale=Scale.LOG, low=10.0), (2.0, 5.0)),
}


@pytest.mark.parametrize(("axis", "data"), FIXED.values(), ids=FIXED.keys())
def test_fixed_ends_of_an_axis_stay_and_open_ones_take_the_data_in(axis: Axis, data: tuple[float, float]) -> None:
    plot = Plot(Axes(Axis("a"), axis), (Series("s", "s", (0.0, 1.0), data),), title="t", desc="d")
    lay = layout(plot, 160)
    assert lay.y.low < lay.y.high
    assert len(lay.y_ticks.at) >= 2
    if axis.low is not None:
        assert lay.y.low == axis.low
    elif axis.high is None or min(data) < axis.high:
        assert lay.y.low <= min(data)
    if axis.high is not None:
        assert lay.y.high == axis.high
    elif axis.low is None or max(data) > axis.low:
        assert lay.y.high >= max(data)
