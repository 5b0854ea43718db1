"""Does it fit: what is said at the last turn that fits, and one step later; parts that differ from each other."""

from __future__ import annotations

import math

import pytest
from example_sets import BRIDGE, model_of

from lodestring.assess.findings import fit
from lodestring.assess.model import Inputs, Model
from lodestring.design.read import read_set
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text

STEP = 50  # turns; a cure is given in whole fifties


def blockers(model: Model) -> set[str]:
    """Codes of blockers of fit on the bridge pickup or, in sets of one pickup, on that one."""
    return {f.code for f in fit.find(model) if f.severity == "blocker" and "neck" not in f.about}


def housing(length: str, width: str) -> dict[str, str]:
    at = "pickup.bridge.housing"
    return {f"{at}.length": f'"{length}"', f"{at}.width": f'"{width}"', f"{at}.corner": '"0 mm"'}


TOO_MUCH = {
    "9500 turns": ("coil-over-window", {f"{BRIDGE}.turns": "9500"}),
    "12000 turns": ("coil-over-window", {f"{BRIDGE}.turns": "12000"}),
    "a low window": ("coil-over-window", {f"{BRIDGE}.bobbin.window": '"9 mm"'}),
    "heavy film": ("coil-over-window", {f"{BRIDGE}.wire.film": '"heavy"'}),
    "thick wire": ("coil-over-window", {f"{BRIDGE}.wire.size": '"40 AWG"'}),
    "a short plate": ("coil-over-window", {f"{BRIDGE}.bobbin.plate.length": '"63 mm"'}),
    "a narrow housing": ("coil-touches-housing", housing("84 mm", "15.5 mm")),
    "a short housing": ("coil-touches-housing", housing("65.6 mm", "19 mm")),
    "a housing short and narrow, ends first": ("coil-touches-housing", housing("65.6 mm", "16 mm")),
    "a housing short and narrow, sides first": ("coil-touches-housing", housing("66.2 mm", "15.5 mm")),
}


@pytest.mark.parametrize(("code", "change"), TOO_MUCH.values(), ids=TOO_MUCH.keys())
def test_the_proposed_turns_fit_and_one_step_more_does_not(code: str, change: dict[str, str]) -> None:
    text = apply_changes(example_text("heron"), change)
    (found,) = (
        f for f in fit.find(Model(Inputs(read_set(text.encode()).record))) if f.code == code and "neck" not in f.about
    )
    assert found.change is not None
    turns = int(found.change[f"{BRIDGE}.turns"])
    assert turns % STEP == 0

    def at(n: int) -> set[str]:
        return blockers(Model(Inputs(read_set(apply_changes(text, {f"{BRIDGE}.turns": str(n)}).encode()).record)))

    assert code not in at(turns)
    assert code in at(turns + STEP)


def test_the_proposed_turns_fit_at_the_ends_and_at_mid_side() -> None:
    change = housing("65.6 mm", "15.5 mm")  # over by 0.38 mm at the ends, 0.40 mm at mid-side: the belly is deeper
    (found,) = (f for f in fit.find(model_of("heron", change)) if f.code == "coil-touches-housing")
    assert "coil-touches-housing" not in blockers(model_of("heron", {**change, **(found.change or {})}))


def test_coils_that_each_serve_half_the_strings_must_not_meet_end_to_end() -> None:
    # Plover, four strings to a coil, both in one line: the round ends' centres lie 9.4 mm apart, two half-widths with
    # depth and tape take 14.4.
    each = {
        "pickup.main.coil.front.strings": "[1, 2, 3, 4]",
        "pickup.main.coil.rear.strings": "[5, 6, 7, 8]",
    }
    in_line = {"pickup.main.coil.front.place": '"0 mm"', "pickup.main.coil.rear.place": '"0 mm"'}
    assert "coils-touch" in blockers(model_of("plover", {**each, **in_line}))
    assert "coils-touch" not in blockers(model_of("plover", each))  # 18 mm apart across the row


def test_coils_side_by_side_that_meet_at_their_bellies_are_told() -> None:
    close = {"pickup.main.coil.front.place": '"7 mm"', "pickup.main.coil.rear.place": '"-7 mm"'}
    assert "coils-touch" in blockers(model_of("plover", close))
    assert not blockers(model_of("plover"))


@pytest.mark.parametrize(
    "height", ['"1.0 mm"', '["1.0 mm", "1.0 mm", "1.5 mm", "1.5 mm", "1.0 mm", "1.0 mm"]'], ids=["one height", "six"]
)
def test_the_longest_of_unlike_rods_decides_the_depth(height: str) -> None:
    # A housing 20 deep; the last rod 25 long with its top 1 above the plate reaches 24 down: 4 too far.
    lengths = '["17 mm", "17 mm", "17 mm", "17 mm", "17 mm", "25 mm"]'
    model = model_of("heron", {f"{BRIDGE}.poles.body.length": lengths, f"{BRIDGE}.poles.height": height})
    assert model.fact("pickup.bridge.clearance_depth").number == pytest.approx(-4e-3, abs=1e-12)
    assert "too-deep-for-housing" in blockers(model)


def test_what_is_read_one_by_one_is_as_uncertain_as_its_marks() -> None:
    # Outer two each +-0.15 mm on tape, +-0.2 mm at bridge and nut (assumed, in our table): in quadrature for the span.
    key = f"{BRIDGE}.straight_length"
    tape = {"pickup.bridge.string_centres": '["0 mm", "10.2 mm", "20.5 mm", "30.8 mm", "41 mm", "51.3 mm"]'}
    fact = model_of("heron", tape).fact(key)
    assert fact.number == pytest.approx(51.3e-3, abs=1e-12)
    assert (fact.high or 0.0) - fact.number == pytest.approx(0.15e-3 * math.sqrt(2), rel=1e-6)
    text = example_text("heron").replace(
        'bridge = { span = "52.5 mm" }',
        'bridge = { centres = ["0 mm", "10.5 mm", "21 mm", "31.5 mm", "42 mm", "52.5 mm"] }',
    )
    assert text != example_text("heron")
    fact = Model(Inputs(read_set(text.encode()).record)).fact(key)
    near, far = 1 - 45 / 686, 45 / 686  # shares of bridge and nut at the pickup
    expected = math.hypot(near * 0.2e-3 * math.sqrt(2), far * 0.3e-3)
    assert (fact.high or 0.0) - fact.number == pytest.approx(expected, rel=0.02)  # place and scale add a little


def test_one_bar_between_two_rows_gives_each_row_the_end_that_faces_it() -> None:
    bar = {
        "pickup.main.bar.front.magnetised": '"+y"',
        "pickup.main.bar.front.centre": '["0 mm", "0 mm", "-15 mm"]',
        "pickup.main.bar.rear": None,
    }
    model = model_of("plover", bar)
    # +y: its north end faces the front row (toward the nut), so that is the row of bars +z in front and -z behind.
    for coil in ("front", "rear"):
        key = f"pickup.main.coil.{coil}.kick"
        assert model.fact(key).value == model_of("plover").fact(key).value
