"""What runs again for the positions when something changes: a harness never asks for a magnetic solve (contract 3)."""

from __future__ import annotations

import pytest
from example_sets import BRIDGE, model_of
from harness_sets import number, of_positions

from lodestring.assess.model import Model
from lodestring.assess.store import Store

KEYS = ("peak_frequency", "peak_gain", "level", "hum", "noise", "dc_resistance_at_jack")


def positions(model: Model) -> dict[str, float]:
    """Every figure of every position, without intervals."""
    return {k: number(model, k) for k in of_positions(model) if k.endswith(KEYS)}


STRINGS = {"line_fields", "string_result"}
# id: key and value, and the steps that must run again; none but these of all that the store has counted
TABLE: dict[str, tuple[tuple[str, str], set[str]]] = {
    "the circuit": (("harness.circuit", '"straight to the jack"'), set()),
    "the volume control": (("harness.volume.value", '"500k"'), set()),
    "the taper": (("harness.volume.taper", '"linear"'), set()),
    "the tone capacitor": (("harness.tone.capacitor", '"47 nF"'), set()),
    "the cable": (("harness.cable.length", '"3 m"'), set()),
    "the input": (("harness.input.resistance", '"10M"'), set()),
    "the title": (("title", '"Another"'), set()),
    "which end is hot": ((f"{BRIDGE}.hot", '"start"'), set()),
    "what the pole pieces are tied to": ((f"{BRIDGE}.poles.grounded_to", '"ground"'), {"poles_face_step"}),
    "the enamel": ((f"{BRIDGE}.wire.enamel", '"polyester"'), {"copper_step", "winding_step"}),
    "how the coil is packed": (
        (f"{BRIDGE}.packing", '"perfect machine layers"'),
        {"copper_step", "table_step", "air_step", "response_step", "sweep_step", "eddy_step", "winding_step"} | STRINGS,
    ),
    "the turns": (
        (f"{BRIDGE}.turns", "7700"),
        {"copper_step", "air_step", "response_step", "sweep_step", "eddy_step", "winding_step"} | STRINGS,
    ),
}


@pytest.mark.parametrize(("change", "expected"), TABLE.values(), ids=TABLE)
def test_exactly_the_steps_run_again_for_the_positions_that_a_change_touches(
    change: tuple[str, str], expected: set[str]
) -> None:
    key, value = change
    before = {}
    if value == '"straight to the jack"':  # it has no controls: what is compared has none from the start
        before = {"harness.volume": None, "harness.tone": None}
    store = Store()
    positions(model_of("heron", before, store=store))
    store.runs.clear()
    changed = positions(model_of("heron", {**before, key: value}, store=store))
    assert changed
    ran = {name for name in store.runs if name.endswith("_step") or name in STRINGS}
    assert ran == expected


def test_the_wax_touches_the_capacitance_alone() -> None:
    store = Store()
    waxed = positions(model_of("heron", store=store))
    store.runs.clear()
    dry = positions(model_of("heron", {"pickup.bridge.potting": None}, store=store))
    assert {name for name in store.runs if name.endswith("_step") or name in STRINGS} == {"winding_step"}
    assert dry["position.bridge.peak_frequency"] > waxed["position.bridge.peak_frequency"]


def test_the_same_set_again_runs_nothing_for_its_positions_and_gives_the_same() -> None:
    store = Store()
    first = positions(model_of("plover", store=store))
    store.runs.clear()
    assert positions(model_of("plover", store=store)) == first
    assert not store.runs


def test_figures_from_what_is_kept_are_those_of_a_fresh_start() -> None:
    store = Store()
    positions(model_of("heron", store=store))
    change = {"harness.tone.capacitor": '"47 nF"', "harness.cable.length": '"3 m"'}
    assert positions(model_of("heron", change, store=store)) == positions(model_of("heron", change))
