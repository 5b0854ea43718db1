"""Magnetic facts of the examples against bands of the trade, laws, and the long way round."""

from __future__ import annotations

import math

import pytest
from example_sets import BRIDGE, model_of

from lodestring.assess import magnet_blocks, magnet_facts, pole_blocks
from lodestring.assess.model import Model
from lodestring.assess.store import Store

NECK = "pickup.neck.coil.main"


@pytest.mark.parametrize(
    ("name", "key", "low", "high"),
    [
        # common practice, no source: bands of coils, 42 AWG
        ("heron", f"{BRIDGE}.inductance", 1.9, 3.3),
        ("heron", f"{NECK}.inductance", 1.9, 3.3),
        ("wren", "pickup.main.coil.main.inductance", 1.7, 5.0),  # a four-string coil: tenor 1.7-3, bass 3-5
        ("plover", "pickup.main.inductance", 2.5, 9.0),  # lap steel
        # fields at the string: alnico 5 rods 20-45 mT in the middle of a usual gap, wider here for gaps at rest;
        # steel over a bar 8-20 mT
        ("heron", "pickup.bridge.string.3.field", 20e-3, 45e-3),
        ("plover", "pickup.main.string.4.field", 8e-3, 20e-3),
    ],
)
def test_a_figure_lies_in_the_band_of_its_kind(name: str, key: str, low: float, high: float) -> None:
    assert low <= model_of(name).fact(key).number <= high


def test_pole_pieces_add_a_quarter_and_more_to_a_coil_of_alnico_rods_and_steel_more_than_that() -> None:
    def added(model: Model, path: str) -> float:
        return model.fact(f"{path}.inductance").number / model.fact(f"{path}.inductance_air").number

    assert 1.2 < added(model_of("heron"), BRIDGE) < 1.6
    assert added(model_of("plover"), "pickup.main.coil.front") > 1.8


def test_inductance_goes_with_the_square_of_the_turns_but_for_the_depth() -> None:
    # dlnL/dlnN is 2 less a little: more turns lie further out (physics of the air coil).
    few, many = (
        model_of("heron", {f"{BRIDGE}.turns": str(n)}).fact(f"{BRIDGE}.inductance").number for n in (7400, 7800)
    )
    assert math.log(many / few) / math.log(7800 / 7400) == pytest.approx(2.0, abs=0.05)


def test_eddy_currents_take_more_from_steel_than_from_alnico() -> None:
    def lost(model: Model, path: str) -> float:
        return 1.0 - model.fact(f"{path}.inductance_1khz").number / model.fact(f"{path}.inductance").number

    assert 0.0 < lost(model_of("heron"), BRIDGE) < 0.005
    assert 0.02 < lost(model_of("plover"), "pickup.main.coil.front") < 0.15


def test_a_coil_without_pole_pieces_has_the_inductance_of_air() -> None:
    changes = {
        f"{BRIDGE}.poles.layout": '{ kind = "none" }',
        f"{BRIDGE}.poles.body": None,
        f"{BRIDGE}.poles.up": None,
        f"{BRIDGE}.poles.height": None,
        f"{BRIDGE}.bobbin.core": '{ kind = "walled", length = "56 mm", width = "5 mm" }',
    }
    model = model_of("heron", changes)
    assert model.fact(f"{BRIDGE}.inductance").number == model.fact(f"{BRIDGE}.inductance_air").number
    assert f"{BRIDGE}.pole_remanence" not in model.specs()


def test_a_face_reading_takes_the_place_of_the_assumed_strength() -> None:
    # half the field at the face, half the remanence; and the interval is the probe's
    plain = model_of("heron").fact(f"{BRIDGE}.pole_remanence")
    read = {f"{BRIDGE}.poles.state": '{ face = "55 mT" }'}
    weak = model_of("heron", read).fact(f"{BRIDGE}.pole_remanence")
    assert 0.35 < weak.number / plain.number < 0.65
    assert weak.high is not None
    assert weak.high / weak.number < 1.12
    assert not any("strength" in w for w in weak.warnings)


def test_uncharged_magnets_give_no_string_facts() -> None:
    model = model_of("heron", {f"{BRIDGE}.poles.state": '"uncharged"'})
    assert not [k for k in model.specs() if k.startswith("pickup.bridge.string")]
    assert [k for k in model.specs() if k.startswith("pickup.neck.string")]


def test_figures_between_strings_are_surer_than_volts() -> None:
    model = model_of("heron")
    volts, levels = model.fact("pickup.bridge.string.1.output"), model.fact("pickup.neck.level_balance")
    assert volts.low is not None and volts.high is not None and levels.low is not None and levels.high is not None  # noqa: PT018
    assert 20 * math.log10(volts.high / volts.low) > 5.0
    assert levels.high - levels.low < 4.0


def test_a_nearer_string_is_louder_pulled_harder_and_bends_more() -> None:
    near, far = (
        model_of("heron", {"pickup.bridge.gap.first": f'"{gap} mm"', "pickup.bridge.gap.last": f'"{gap} mm"'})
        for gap in (1.5, 2.5)
    )
    for key in ("output", "pull", "pull_gradient", "beat", "field"):
        name = f"pickup.bridge.string.2.{key}"
        compute = near.specs()[name].compute
        assert compute(near, ("bridge", "2")) > compute(far, ("bridge", "2")), key


def test_level_against_height_is_two_to_three_decibels_a_millimetre() -> None:
    # common practice, no source
    near, far = (
        model_of("heron", {"pickup.bridge.gap.first": f'"{gap} mm"', "pickup.bridge.gap.last": f'"{gap} mm"'})
        for gap in (1.6, 2.6)
    )
    levels = [20 * math.log10(magnet_facts.output(m, ("bridge", "4"))) for m in (near, far)]
    assert 1.5 < levels[0] - levels[1] < 4.5


def test_turning_all_magnets_over_changes_no_level() -> None:
    both = [model_of("heron", {f"{BRIDGE}.poles.up": f'"{end}"'}) for end in ("north", "south")]
    assert magnet_facts.output(both[0], ("bridge", "3")) == pytest.approx(magnet_facts.output(both[1], ("bridge", "3")))


def test_opposed_bars_and_opposed_coils_add_up_over_a_pair() -> None:
    # plover's coils are hum-cancelling: the outputs of the two rows add, they do not take from each other
    model = model_of("plover")
    both = magnet_facts.output(model, ("main", "4"))
    one_turned = model_of("plover", {"pickup.main.coil.rear.hot": '"start"'})
    assert both > 20 * magnet_facts.output(one_turned, ("main", "4"))


def test_the_short_way_to_an_interval_of_a_pair_agrees_with_the_long_way() -> None:
    # A pair over bars is not solved anew at the ends of an interval: its own rods alone say how much it moves. Here it
    # is solved anew, with the permeability of its steel at the upper end.
    model = model_of("plover")
    named = "steel.low-carbon steel.permeability"
    pole_blocks.pole_part(model, "main", "front", "front")
    shifted = model.at_end(named, 1)
    short = pole_blocks.pole_part(shifted, "main", "front", "front").real
    long = pole_blocks._full_part(shifted, "main", "front", "front", 0.0).real
    whole = pole_blocks.air(model, "main", "front") + long
    assert abs(short - long) / whole < 0.004  # against a move of several per cent
    moved = long / pole_blocks.pole_part(model, "main", "front", "front").real
    assert moved > 1.01


def test_a_kept_pickup_has_no_magnetic_keys_of_coils() -> None:
    assert not [k for k in model_of("heron-neck-kept").specs() if k.startswith("pickup.neck") and "induct" in k]


def test_each_pole_piece_keeps_its_own_face_reading() -> None:
    faces = ", ".join(f'{{ face = "{mt} mT" }}' for mt in (60, 70, 80, 90, 100, 110))
    read = magnet_blocks.remanences(model_of("heron", {f"{BRIDGE}.poles.state": f"[{faces}]"}), "bridge")["main"]
    sizes = [abs(v) for v in read]
    assert sizes == sorted(sizes)
    assert sizes[-1] / sizes[0] > 1.5


@pytest.mark.parametrize(
    "change",
    [{f"{BRIDGE}.turns": "6500"}, {"pickup.bridge.gap.last": '"3 mm"'}, {"intent.level.reference": '"neck"'}],
    ids=["its turns", "its gap", "another one"],
)
def test_a_level_against_a_reference_moves_with_the_reference(change: dict[str, str]) -> None:
    # what is kept of the neck pickup must not answer for a bridge pickup that has changed
    store = Store()
    before = model_of("heron", store=store).fact("pickup.neck.level_balance").number
    warm = model_of("heron", change, store=store).fact("pickup.neck.level_balance")
    assert warm == model_of("heron", change).fact("pickup.neck.level_balance")
    assert abs(warm.number - before) > 0.3
