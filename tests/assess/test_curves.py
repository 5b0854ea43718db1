"""Curves of a string against its gap: against the facts, against a set with another gap, and the laws they follow."""

from __future__ import annotations

from itertools import pairwise

import pytest
from example_sets import model_of

from lodestring.assess import magnet_facts
from lodestring.assess.curves import HEIGHTS, TABLE, curves
from lodestring.assess.report import Assessment, as_json
from lodestring.assess.store import Store

STRING = "pickup.bridge.string.1"


def test_no_field_is_worked_out_for_a_curve_until_its_points_are_asked_for() -> None:
    store = Store()
    found = curves(model_of("heron", store=store))
    assert len(found[f"{STRING}.output_by_gap"].x) == len(HEIGHTS)
    assert not store.runs["line_fields"]
    assert found[f"{STRING}.output_by_gap"].y
    assert store.runs["line_fields"] == len(HEIGHTS)


def test_at_its_gap_at_rest_a_curve_has_the_value_of_its_fact() -> None:
    model = model_of("heron")
    found, rest = curves(model), HEIGHTS.index(1.0)
    for name in ("field", "output", "pull", "detune"):
        spec = model.specs()[f"{STRING}.{name}"]
        assert found[f"{STRING}.{name}_by_gap"].y[rest] == spec.compute(model, spec.scope), name


@pytest.mark.parametrize("at", [5, 6])
def test_a_point_of_a_curve_is_the_figure_of_a_set_with_that_gap(at: int) -> None:
    # string 1's height follows from the gap given at string 1 alone
    model = model_of("heron")
    curve = curves(model)[f"{STRING}.output_by_gap"]
    more = 1e3 * (curve.x[at] - curve.x[HEIGHTS.index(1.0)])
    other = model_of("heron", {"pickup.bridge.gap.first": f'"{1.8 + more:.6f} mm"'})
    assert magnet_facts.output(other, ("bridge", "1")) == pytest.approx(curve.y[at], rel=1e-5)


@pytest.mark.parametrize("example", ["heron", "plover"])
def test_field_output_pull_and_detuning_fall_as_the_string_rises(example: str) -> None:
    found = curves(model_of(example))
    path = "pickup.bridge.string.2" if example == "heron" else "pickup.main.string.4"
    for name in ("field", "output", "pull", "detune"):
        curve = found[f"{path}.{name}_by_gap"]
        assert all(a < b for a, b in pairwise(curve.x)), name
        assert all(a > b for a, b in pairwise(curve.y)), name


def test_gaps_at_which_the_string_would_touch_are_left_out() -> None:
    # a string 0.23 mm thick at 0.3 mm: at half of that its middle would pass its pole piece at 0.26 mm, under 0.3
    change = {f"pickup.bridge.gap.{end}": '"0.3 mm"' for end in ("first", "last")}
    thin = {"instrument.strings.1.diameter": '"0.009 in"', "pickup.bridge.gap.when": '"at rest"'}
    model = model_of("heron", {**change, **thin})
    curve = curves(model)[f"{STRING}.field_by_gap"]
    assert 0 < len(curve.x) < len(HEIGHTS)
    assert len(curve.y) == len(curve.x)


def test_every_curve_of_an_example_is_in_the_table_and_in_the_json() -> None:
    assessment = Assessment(model_of("wren"))
    told = as_json(assessment, prefixes=("pickup.main.string", "pickup.main.coil.main.wire"))["curves"]
    names = {name for _, _, kinds in TABLE.values() for name in kinds}
    assert {_kind(key) for key in assessment.curves()} == names
    gap = told["pickup.main.string.1.pull_by_gap"]
    assert gap == {"x": {"name": "gap", "unit": "m"}, "y": {"unit": "N"}, "n": gap["n"]}


def _kind(key: str) -> str:
    """The row of the table a curve belongs to."""
    if not key.startswith("position."):
        return key.rpartition(".")[2]
    return "response.CONTROL.T" if ".response." in key else key.rpartition(".")[2]


@pytest.mark.parametrize("example", ["heron", "plover"])
def test_a_control_fully_up_leaves_the_response_as_it_is(example: str) -> None:
    """One curve and eleven for each control: at ten tenths each is the response itself, and a volume control at nothing
    leaves a millionth, the share of track a wiper never passes (tapers)."""
    found = curves(model_of(example))
    position = "position.bridge" if example == "heron" else "position.split"
    volume = "bridge-volume" if example == "heron" else "volume"
    whole = found[f"{position}.response"]
    assert len(whole.x) == len(whole.y) == 400
    for control in (volume, "tone"):
        family = [k for k in found if k.startswith(f"{position}.response.{control}.")]
        assert len(family) == 11
        assert found[f"{position}.response.{control}.10"].y == pytest.approx(whole.y, abs=1e-9)
    low = whole.x.index(min(whole.x, key=lambda f: abs(f - 100.0)))
    assert abs(whole.y[low]) < 0.02  # set against itself at 100 Hz
    assert max(found[f"{position}.response.{volume}.0"].y) < -90.0
    down = [found[f"{position}.response.tone.{t}"].y[-60] for t in range(11)]
    assert all(a < b for a, b in pairwise(down))  # a tone control takes treble away, more the further it is turned
