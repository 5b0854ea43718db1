"""The response plot shows the computed curve, on an axis marked as a logarithmic one is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from wired_sets import harnessed, several

from lodestring.assess import circuit_facts, circuit_net
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.drawing.plot import Plot, Series
from lodestring.drawing.plot_layout import layout
from lodestring.drawing.response_plot import response_plots, travel_plot
from lodestring.drawing.svg import overlapping_texts
from lodestring.errors import DomainError

HERON = "two volumes, one tone"


def at(series: Series, frequency: float) -> float:
    return float(np.interp(math.log(frequency), np.log(series.x), series.y))


def test_each_position_has_its_curve_nought_decibels_at_100_hz() -> None:
    model = harnessed(HERON).model
    (plot,) = response_plots(model)
    assert [s.label for s in plot.series] == list(circuit_net.position_names(model))
    for series in plot.series:
        assert at(series, 100.0) == pytest.approx(0.0, abs=1e-3)  # straight in log f between 15 points an octave
        size = circuit_facts.curve(model, series.label)
        f = 3000.0
        wanted = np.interp(math.log(f), np.log(FREQUENCIES), size) / np.interp(
            math.log(100.0), np.log(FREQUENCIES), size
        )
        assert at(series, f) == pytest.approx(20 * math.log10(wanted), abs=0.01)


def test_the_highest_point_drawn_is_the_peak_that_is_told() -> None:
    found = harnessed(HERON)
    for series in response_plots(found.model)[0].series:
        path = f"position.{series.label}"
        top = max(range(len(series.y)), key=lambda i: series.y[i])
        assert series.y[top] == pytest.approx(found.facts[f"{path}.peak_gain"].number, abs=0.02)
        # the fact lies between two points, 1/15 octave apart
        assert abs(math.log2(series.x[top] / found.facts[f"{path}.peak_frequency"].number)) < 1 / 15


def test_the_frequency_axis_is_logarithmic_and_marked_1_2_5() -> None:
    (plot,) = response_plots(harnessed(HERON).model)
    lay = layout(plot, 186.0)
    assert lay.x_ticks.at == pytest.approx((20, 50, 100, 200, 500, 1e3, 2e3, 5e3, 10e3, 20e3))
    assert [w.replace("\u00a0", " ") for w in lay.x_ticks.words] == [
        "20", "50", "100", "200", "500", "1 k", "2 k", "5 k", "10 k", "20 k"
    ]  # fmt: skip
    # a decade is everywhere of one length, and three decades are the whole axis
    decade = lay.x.at(200.0) - lay.x.at(20.0)
    assert lay.x.at(2000.0) - lay.x.at(200.0) == pytest.approx(decade)
    assert lay.x.end - lay.x.start == pytest.approx(3 * decade)


@pytest.mark.parametrize("width", [90.0, 130.0, 186.0])
def test_no_text_lies_on_another(width: float) -> None:
    model = harnessed(HERON).model
    for plot in (*response_plots(model), travel_plot(model, "neck", "tone"), travel_plot(model, "neck", "neck.volume")):
        assert overlapping_texts(plot, width) == ()


def test_more_positions_than_there_are_looks_go_on_further_plots() -> None:
    model = several(4, 'circuit = "one volume"').model
    plots = response_plots(model)
    assert len(circuit_net.position_names(model)) == 7
    assert [len(p.series) for p in plots] == [5, 2]
    assert len({s.id for p in plots for s in p.series}) == 7
    for plot in plots:
        assert len(set(plot.looks().values())) == len(plot.series)


def family(plot: Plot) -> dict[int, Series]:
    return {int(s.id.removeprefix("travel-")): s for s in plot.series}


def test_turning_the_tone_down_takes_more_treble_at_each_setting() -> None:
    curves = family(travel_plot(harnessed(HERON).model, "bridge", "tone"))
    assert sorted(curves) == list(range(11))
    heights = [at(curves[i], 3000.0) for i in range(11)]
    assert heights == sorted(heights)
    assert curves[10].label == "10"
    assert curves[7].label == ""


def test_turning_the_volume_down_takes_from_everything_and_all_of_it_at_nought() -> None:
    """Half the travel of an audio track of two slopes leaves a tenth of it below the wiper: about -20 dB, a little
    more for the load."""
    curves = family(travel_plot(harnessed(HERON).model, "bridge", "bridge.volume"))
    assert 0 not in curves
    assert at(curves[10], 100.0) == pytest.approx(0.0, abs=1e-3)
    assert -21.5 < at(curves[5], 100.0) < -20.0


def test_a_blend_control_is_full_in_its_middle() -> None:
    model = harnessed("blend, one tone").model
    curves = family(travel_plot(model, "blend", "blend"))
    assert at(curves[5], 100.0) == pytest.approx(0.0, abs=1e-3)
    assert "5 is the middle" in travel_plot(model, "blend", "blend").desc


@pytest.mark.parametrize(
    ("position", "control", "told"),
    [("middle", "tone", "bridge, bridge-neck, neck"), ("neck", "blend", "bridge.volume, neck.volume, tone")],
    ids=["no such position", "no such control"],
)
def test_what_there_is_not_is_refused_with_what_there_is(position: str, control: str, told: str) -> None:
    with pytest.raises(DomainError, match=told):
        travel_plot(harnessed(HERON).model, position, control)
