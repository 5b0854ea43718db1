"""The assessment as the contract says it, for every example. Witness: the contract's own lists, typed here."""

from __future__ import annotations

import json
import math
import tomllib

import pytest
from example_sets import BRIDGE, EXAMPLES, NECK, SHARED, model_of, workshop

from lodestring.assess.report import Assessment, as_json, assess
from lodestring.assess.uncertainty import methods
from lodestring.folder.examples import example_text
from lodestring.reference import catalogue

UNITS = {
    "1",
    "m",
    "kg",
    "s",
    "ohm",
    "H",
    "F",
    "Hz",
    "K",
    "T",
    "N",
    "N/m",
    "V",
    "V.s/m",
    "V.s/T",
    "Wb",
    "W",
    "dB",
    "cent",
    "Pa",
}
BASES = {"computed", "catalogue", "measured", "assumed"}
# Of contract 2, those that copper and geometry alone can tell.
OF_A_COIL = {
    *("straight_length", "inner_half_width", "window_height", "turns", "passes", "mean_turn_length", "wire_length"),
    *("wire_mass", "dc_resistance", "dc_resistance_room", "coil_depth_end", "coil_depth_side", "outer_length"),
    *("outer_width", "window_fill", "wire_for_spool", "winding_time"),
}


@pytest.fixture(scope="module", params=EXAMPLES)
def told(request: pytest.FixtureRequest) -> tuple[str, Assessment]:
    return request.param, assess(model_of(request.param, store=SHARED, workshop=workshop()))


def test_every_number_lies_in_its_interval_and_is_finite(told: tuple[str, Assessment]) -> None:
    for key, fact in told[1].facts.items():
        if isinstance(fact.value, str):
            assert (fact.unit, fact.low, fact.high) == (None, None, None), key
            continue
        assert fact.low is not None, key
        assert fact.high is not None, key
        assert all(math.isfinite(v) for v in (fact.low, fact.value, fact.high)), key
        assert fact.low <= fact.value <= fact.high, key


def test_units_and_bases_are_from_the_closed_lists(told: tuple[str, Assessment]) -> None:
    for key, fact in told[1].facts.items():
        assert fact.unit is None or fact.unit in UNITS, key
        assert fact.basis in BASES, key
        assert fact.method in methods(), key


def test_every_source_is_a_row_of_the_catalogue(told: tuple[str, Assessment]) -> None:
    rows = {row for fact in told[1].facts.values() for row in fact.source}
    for row in rows:
        assert catalogue().row(row).id == row
    if any(".coil." in key for key in told[1].facts):
        assert {"metal.copper", "wire.awg-42.rounded"} <= rows


def test_a_figure_names_each_assumption_that_moves_it(told: tuple[str, Assessment]) -> None:
    _, assessment = told
    for key, fact in assessment.facts.items():
        assumed = {i.input.name for i in assessment.model.influences(key) if i.input.basis == "assumed"}
        named = {warning.removeprefix("assumed: ").split(" (")[0] for warning in fact.warnings}
        assert assumed <= named, key


POSITIONS = {
    # as the set file lists them; left out: each pickup alone and neighbours together
    "heron": ("bridge", "bridge-neck", "neck"),
    "heron-neck-kept": ("bridge", "bridge-neck", "neck"),
    "plover": ("series", "parallel", "split"),
    "wren": ("main",),
}


def test_keys_stand_in_the_order_of_the_set_file(told: tuple[str, Assessment]) -> None:
    name, assessment = told
    expected = []
    for pickup, table in tomllib.loads(example_text(name))["pickup"].items():
        expected += [f"pickup.{pickup}.coil.{coil}" for coil in table.get("coil", {})]
        expected.append(f"pickup.{pickup}")
        if "coil" in table:
            strings = tomllib.loads(example_text(name))["instrument"]["strings"]
            expected += [f"pickup.{pickup}.string.{n}" for n in range(1, len(strings) + 1)]
    seen = list(dict.fromkeys(key.rpartition(".")[0] for key in assessment.facts))
    assert seen == [*expected, *(f"position.{position}" for position in POSITIONS[name]), "set"]


def test_every_coil_has_the_contracts_figures(told: tuple[str, Assessment]) -> None:
    name, assessment = told
    for pickup, table in tomllib.loads(example_text(name))["pickup"].items():
        assert f"pickup.{pickup}.dc_resistance" in assessment.facts
        for coil in table.get("coil", {}):
            prefix = f"pickup.{pickup}.coil.{coil}."
            mine = [k.removeprefix(prefix) for k in assessment.facts if k.startswith(prefix)]
            assert set(mine) >= OF_A_COIL


def test_the_json_goes_out_and_comes_back_unchanged(told: tuple[str, Assessment]) -> None:
    for points in (False, True):
        sent = as_json(told[1], points)
        back = json.loads(json.dumps(sent, allow_nan=False))
        assert back == sent
        assert list(back["facts"]) == list(sent["facts"])
    assert back["assessment"] == 1
    assert set(back["inputs"]) == {"set", "workshop", "hand", "stock", "spools"}
    fact = next(iter(back["facts"].values()))
    assert set(fact) == {"value", "low", "high", "unit", "basis", "method", "source", "at", "warnings"}


def test_a_finding_in_json_has_the_contracts_keys_and_closed_words(told: tuple[str, Assessment]) -> None:
    for finding in as_json(told[1])["findings"]:
        assert list(finding) == ["code", "severity", "about", "sentence", "try", "change", "until"]
        assert finding["severity"] in {"blocker", "warning", "note"}
        assert finding["until"] in {"drawn", "parts made", "wound", "potted", "fitted"}


def test_a_curve_starts_at_nothing_and_ends_at_its_fact(told: tuple[str, Assessment]) -> None:
    _, assessment = told
    grown = {key: curve for key, curve in assessment.curves().items() if ".coil." in key}
    assert grown or not assessment.model.inputs.design.pickup
    for key, curve in grown.items():
        assert (curve.x[0], curve.y[0]) == (0.0, 0.0)
        assert len(curve.x) == len(curve.y) == as_json(assessment)["curves"][key]["n"]
        assert curve.y[-1] == pytest.approx(assessment.number(key), rel=1e-12)
        assert all(a < b for a, b in zip(curve.y, curve.y[1:], strict=False))


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_has_no_blocker_and_no_unusual_figure(name: str) -> None:
    findings = assess(model_of(name, store=SHARED, workshop=workshop())).findings
    assert not [f.code for f in findings if f.severity == "blocker" or f.code == "unusual-figure"]


def test_a_kept_pickup_shows_its_reading_as_measured() -> None:
    fact = assess(model_of("heron-neck-kept")).facts["pickup.neck.dc_resistance"]
    assert (fact.basis, fact.value) == ("measured", 5310.0)  # read at 20 C, told at 20 C
    # typed +- 1 %, the method adds 0.2 %: together sqrt(1 + 0.04) = 1.02 %
    assert fact.low == pytest.approx(5310 * 0.9898, rel=2e-4)
    assert fact.high == pytest.approx(5310 * 1.0102, rel=2e-4)


def test_a_warm_reading_is_brought_to_20_c() -> None:
    warm = assess(model_of("heron-neck-kept", {"pickup.neck.measured.temperature": '"30 C"'}))
    assert warm.number("pickup.neck.dc_resistance") == pytest.approx(5310 / 1.0393, rel=1e-6)  # W23, IEC 60028


# ---- common practice, no source: sanity of whole examples ----

USUAL = {
    "heron bridge": ("heron", "pickup.bridge", 4900, 7200),
    "heron neck": ("heron", "pickup.neck", 4900, 7200),
    "plover, the pair": ("plover", "pickup.main", 6000, 18000),
    "wren": ("wren", "pickup.main", 4500, 6500),
}


@pytest.mark.parametrize(("name", "pickup", "low", "high"), USUAL.values(), ids=USUAL.keys())
def test_an_examples_resistance_is_usual_for_its_kind(name: str, pickup: str, low: float, high: float) -> None:
    assert low <= assess(model_of(name)).number(f"{pickup}.dc_resistance") <= high


def test_seven_thousand_turns_by_hand_take_40_to_45_minutes() -> None:
    minutes = model_of("heron", {f"{BRIDGE}.turns": "7000"}).fact(f"{BRIDGE}.winding_time").number / 60
    assert 40 <= minutes <= 45


def test_the_spool_for_a_coil_holds_a_tenth_and_twenty_metres_more() -> None:
    model = model_of("heron")
    off_spool = model.fact(f"{BRIDGE}.wire_length").number / (1 + model.fact(f"{BRIDGE}.stretch").number)
    assert model.fact(f"{BRIDGE}.wire_for_spool").number == pytest.approx(1.1 * off_spool + 20, rel=1e-12)


def test_two_coils_in_series_add_and_in_parallel_share() -> None:
    for how, expected in (("series", lambda a, b: a + b), ("parallel", lambda a, b: a * b / (a + b))):
        model = model_of("plover", {"pickup.main.connect": f'"{how}"'})
        each = [model.fact(f"pickup.main.coil.{c}.dc_resistance").number for c in ("front", "rear")]
        assert model.fact("pickup.main.dc_resistance").number == pytest.approx(expected(*each), rel=1e-12)


def test_a_tap_reads_less_than_its_share_of_turns_because_inner_turns_are_shorter() -> None:
    model = model_of("heron", {f"{BRIDGE}.tap": "[3900]"})
    half, whole = model.fact(f"{BRIDGE}.tap.1.dc_resistance").number, model.fact(f"{BRIDGE}.dc_resistance").number
    # Worked: the mean turn to half the turns is 2 s + pi (2 r + depth/2), to all 2 s + pi (2 r + depth).
    s, r, depth = (
        model.fact(f"{BRIDGE}.{k}").number for k in ("straight_length", "inner_half_width", "coil_depth_end")
    )
    assert half / whole == pytest.approx(
        0.5 * (2 * s + math.pi * (2 * r + depth / 2)) / (2 * s + math.pi * (2 * r + depth)), rel=1e-12
    )
    assert half < whole / 2


def test_the_set_adds_up_its_coils() -> None:
    model = model_of("heron")
    for key in ("wire_length", "wire_mass", "winding_time"):
        total = sum(model.fact(f"{coil}.{key}").number for coil in (BRIDGE, NECK))
        assert model.fact(f"set.{key}").number == pytest.approx(total, rel=1e-12)
