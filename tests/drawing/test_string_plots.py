"""Plots of what the strings get: checked by sign, symmetry and monotony, which share no code with the model behind."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from lodestring.assess.report import Assessment
from lodestring.drawing.look import SeriesLook
from lodestring.drawing.string_plots import balance_plot, beside, field_plot, heard, pitch_plot
from lodestring.drawing.svg import overlapping_texts, svg
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import assess_here
from lodestring.folder.pictures import picture_points, shown_views


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    path: Path = tmp_path_factory.mktemp("set") / "wren.toml"
    path.write_text(example_text("wren"), encoding="utf-8")
    return assess_here(path)


def test_balance_shows_each_string_s_figure_inside_its_interval(wren: Assessment) -> None:
    plot = balance_plot(wren)
    (series,) = plot.series
    assert series.x == (1.0, 2.0, 3.0, 4.0)
    assert series.y == tuple(wren.number(f"pickup.main.string.{n}.balance") for n in range(1, 5))
    (band,) = plot.bands
    assert all(low <= y <= high for low, y, high in zip(band.low, series.y, band.high, strict=True))  # type: ignore[union-attr]


def test_pitch_is_drawn_down_less_the_further_the_string_is(wren: Assessment) -> None:
    # The field of a magnet falls with distance and the pull goes with its gradient. Nearer than the gap at rest a thin
    # string between two rods may be saturated, and its pull then grows no further: that stretch is left out.
    plot = pitch_plot(wren, "main")
    for series in plot.series:
        far = [y for x, y in zip(series.x, series.y, strict=True) if x >= plot.marks[0].x]  # type: ignore[operator]
        assert len(far) >= 3
        assert all(a > b > 0 for a, b in itertools.pairwise(far)), series.id


def test_field_points_up_over_a_north_end_and_is_even_about_two_equal_rows(wren: Assessment) -> None:
    for series in field_plot(wren, "main").series:
        near = [y for x, y in zip(series.x, series.y, strict=True) if abs(x) < 4e-3]
        assert min(near) > 0, "wren's rods have north toward the strings"
        ends = series.y[0], series.y[-1]
        assert ends[0] == pytest.approx(ends[1], rel=0.05)  # the strings run not quite along the pickup's y


def test_a_kept_version_lies_under_the_lines_with_one_label(wren: Assessment) -> None:
    plot = beside(balance_plot(wren), balance_plot(wren))
    assert [s.label for s in plot.series if s.look is SeriesLook.KEPT] == ["kept"]
    assert plot.series[0].look is SeriesLook.KEPT
    assert plot.looks()["main"] is balance_plot(wren).looks()["main"]


@pytest.mark.parametrize("width", [70.0, 160.0])
def test_no_words_lie_on_one_another(wren: Assessment, width: float) -> None:
    for plot in (balance_plot(wren), pitch_plot(wren, "main"), field_plot(wren, "main")):
        assert not overlapping_texts(plot, width)
        assert "<style" not in svg(plot, width, ids="p")


def test_plots_can_be_read_and_drawings_not(wren: Assessment) -> None:
    assert heard(wren) == ("main",)
    kinds = {s.view: s.slow for s in shown_views(wren)}
    assert kinds["balance"]
    assert not kinds["top.main"]
    points = picture_points(wren, "balance", 600)
    assert points is not None
    assert points["series"][0]["y"] == list(balance_plot(wren).series[0].y)  # type: ignore[index]
    assert picture_points(wren, "top.main", 600) is None
