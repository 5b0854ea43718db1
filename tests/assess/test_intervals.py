"""Where intervals come from. Witness: a Monte Carlo of a bridge coil written out here once more, with its own formulas;
then laws (correlation, positive figures stay positive, knowledge narrows)."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from example_sets import BRIDGE, EXAMPLES, SHARED, model_of, workshop

from lodestring.assess.model import Model
from lodestring.assess.uncertainty import methods
from lodestring.design.learned import Hand, Learned, SpoolLeft, Spools
from lodestring.quantity import WireSize

NINETY = 1.6448536  # half-width of the middle 90 % of a normal distribution, in standard deviations
DRAWS = 20_000

# ---- a bridge coil of heron, written out once more ----

Drawn = Callable[[str], np.ndarray]


def bridge_coil(x: Drawn) -> dict[str, np.ndarray]:
    """Figures of heron's bridge coil (7800 turns) from its named inputs, in SI."""
    at = x("pickup.bridge.place") / x("instrument.scale")
    s = x("instrument.bridge.span") * (1 - at) + x("instrument.nut.span") * at
    r = x(f"{BRIDGE}.poles.body.diameter") / 2 + x(f"{BRIDGE}.bobbin.core.wrap")
    bare = x("wire.42-awg-single.bare")
    breaks_at = np.interp(bare, [51e-6, 61e-6, 71e-6], [0.10, 0.12, 0.13])  # IS 13730 after IEC 60317
    pull = x(f"{BRIDGE}.tension") / (np.pi / 4 * bare**2)
    law = 0.002 * (pull / 70e6) ** (np.log(breaks_at / 0.002) / math.log(220 / 70))
    stretch = np.minimum(law * x("hand.stretch"), breaks_at)
    overall = (bare + x("wire.42-awg-single.film")) / np.sqrt(1 + stretch)
    h = x(f"{BRIDGE}.bobbin.window")
    depth = 7800 * np.pi / 4 * overall**2 / (x("hand.packing") * h)
    length = 7800 * (2 * s + np.pi * (2 * r + depth))
    thinned = np.pi / 4 * bare**2 / (1 + stretch)
    side = depth * (1 + x("hand.belly"))
    copper = thinned * length
    enamel = np.pi / 4 * (overall**2 - bare**2 / (1 + stretch)) * length
    return {
        "coil_depth_end": depth,
        "wire_length": length,
        "dc_resistance": length / (58e6 * thinned),
        "wire_mass": copper * x("copper.density") + enamel * x("enamel.polyurethane.density"),
        "outer_width": 2 * (r + side),
        "clearance_housing_side": x("pickup.bridge.housing.width") / 2 - r - side - x("tape"),
    }


FIGURES = ("coil_depth_end", "wire_length", "dc_resistance", "wire_mass", "outer_width", "clearance_housing_side")


@pytest.fixture(scope="module")
def heron() -> Model:
    return model_of("heron")


@pytest.fixture(scope="module")
def read(heron: Model) -> Drawn:
    """The inputs' nominal values, as arrays of one."""
    inputs = {i.input.name: i.input for key in FIGURES for i in heron.influences(f"{BRIDGE}.{key}")}
    return lambda name: np.array([inputs[name].value])


@pytest.fixture(scope="module")
def drawn(heron: Model) -> dict[str, np.ndarray]:
    """Each figure, drawn. An input is normal on either side of its value, with its own width there."""
    inputs = {i.input.name: i.input for key in FIGURES for i in heron.influences(f"{BRIDGE}.{key}")}
    random = np.random.default_rng(20261124)

    def draw(name: str) -> np.ndarray:
        found = inputs[name]
        z = random.standard_normal(DRAWS) / NINETY
        moved = found.value + z * np.where(z > 0, found.high - found.value, found.value - found.low)
        return np.maximum(moved, 0.02 * found.value)  # a pull of 18 gf +- 50 % is below nothing once in 2,000 draws

    once = {name: draw(name) for name in inputs}
    return bridge_coil(lambda name: once[name])


@pytest.mark.parametrize("figure", FIGURES)
def test_a_figure_is_what_the_coil_written_out_once_more_gives(heron: Model, read: Drawn, figure: str) -> None:
    assert heron.fact(f"{BRIDGE}.{figure}").number == pytest.approx(float(bridge_coil(read)[figure][0]), rel=1e-12)


# With 20,000 draws a quantile at 5 % wanders by sqrt(0.05 x 0.95 / 20,000)/0.103 = 1.5 % of a standard deviation, 0.9 %
# of the half-width. The quadrature takes each input's two ends as if the figure were straight between them: what bends
# (depth over packing, from -17 % to +25 %) shifts an end by some per cent of the half-width. 6 % is allowed for both.
SLACK = 0.06


@pytest.mark.parametrize("figure", FIGURES)
def test_an_interval_holds_the_middle_ninety_per_cent_of_the_draws(
    heron: Model, drawn: dict[str, np.ndarray], figure: str
) -> None:
    fact = heron.fact(f"{BRIDGE}.{figure}")
    assert fact.low is not None
    assert fact.high is not None
    method = methods()[fact.method]
    random = np.random.default_rng(7)
    noise = random.standard_normal(DRAWS) / NINETY
    values = drawn[figure] * (1 + method.relative * noise) + method.absolute * noise
    low, high = np.quantile(values, [0.05, 0.95])
    assert fact.low == pytest.approx(low, abs=SLACK * (fact.number - fact.low))
    assert fact.high == pytest.approx(high, abs=SLACK * (fact.high - fact.number))


# ---- what is right for every set ----


@pytest.mark.parametrize("name", EXAMPLES)
def test_influences_come_the_strongest_first_and_none_is_idle(name: str) -> None:
    model = model_of(name, store=SHARED, workshop=workshop())
    for key, spec in model.specs().items():
        value = model.fact(key).value
        if isinstance(value, str):
            continue
        ends = [(i.at_low - value, i.at_high - value) for i in model.influences(key)]
        moves = [max(0.0, *pair) - min(0.0, *pair) for pair in ends]
        assert all(i.at_low != value or i.at_high != value for i in model.influences(key)), key
        if spec.positive and isinstance(value, float):
            moves = [
                max(0.0, math.log(max(i.at_low, i.at_high) / value))
                - min(0.0, math.log(min(i.at_low, i.at_high) / value))
                for i in model.influences(key)
            ]
        assert moves == pytest.approx(sorted(moves, reverse=True), rel=1e-9, abs=1e-12), key


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_positive_figure_has_a_positive_lower_end(name: str) -> None:
    model = model_of(name, store=SHARED)
    for key, spec in model.specs().items():
        low = model.fact(key).low
        if spec.positive and low is not None:
            assert low > 0.0, key


@pytest.mark.parametrize(
    "change",
    [{f"{BRIDGE}.bobbin.window": '"10.5 mm ± 9"'}, {f"{BRIDGE}.tension": '"18 gf ± 17"'}],
    ids=["a window hardly known", "a pull hardly known"],
)
def test_even_a_wild_spread_leaves_depth_and_stretch_positive(change: dict[str, str]) -> None:
    model = model_of("heron", change)
    for key in ("coil_depth_end", "coil_depth_side", "stretch", "dc_resistance"):
        fact = model.fact(f"{BRIDGE}.{key}")
        assert fact.low is not None
        assert 0.0 < fact.low <= fact.number


def test_a_clearance_may_be_negative_and_its_interval_with_it() -> None:
    fact = model_of("heron", {f"{BRIDGE}.turns": "12000"}).fact(f"{BRIDGE}.clearance_plate_side")
    assert fact.low is not None
    assert fact.low < fact.number < 0.0


def test_two_coils_of_one_wire_are_as_uncertain_together_as_one_alone() -> None:
    # Wire, hand and strings are the same for both, so nothing averages out: not 1/sqrt(2) = 0.71 of the width. 2 %: the
    # two coils lie 18 mm apart along the strings.
    model = model_of("plover")

    def width(key: str) -> float:
        fact = model.fact(f"pickup.main.{key}")
        assert fact.low is not None
        assert fact.high is not None
        return math.log(fact.high / fact.low)

    assert width("dc_resistance") == pytest.approx(width("coil.front.dc_resistance"), rel=0.02)
    assert width("dc_resistance") == pytest.approx(width("coil.rear.dc_resistance"), rel=0.02)


def test_two_kinds_of_wire_average_out_in_part() -> None:
    rear = "pickup.main.coil.rear.wire.size"
    one, two = model_of("plover"), model_of("plover", {rear: '"43 AWG"'})
    width = {m: m.fact("pickup.main.dc_resistance") for m in (one, two)}
    spread = [math.log((f.high or 0.0) / (f.low or 1.0)) for f in width.values()]
    assert spread[1] < 0.9 * spread[0]


# ---- knowing more ----

LEARNED = Hand(packing=Learned(0.68, 0.03, 6), belly=Learned(0.12, 0.02, 6))
# A 10 m sample read to 1.5 %: 54.44 ohm (W08 of our check values, rounded 42 AWG, IACS).
SAMPLED = Spools(
    (SpoolLeft("fine", WireSize("AWG", 42), "polyurethane", "single", 0.128, 0.001, Learned(5.44421, 0.0817, 1)),)
)


def widths(model: Model, key: str) -> tuple[float, float]:
    fact = model.fact(f"{BRIDGE}.{key}")
    assert fact.low is not None
    assert fact.high is not None
    return 1 - fact.low / fact.number, fact.high / fact.number - 1


def test_a_learned_hand_narrows_the_depth_and_is_told_as_measured() -> None:
    before, after = model_of("heron"), model_of("heron", hand=LEARNED)
    assert sum(widths(after, "coil_depth_end")) < 0.7 * sum(widths(before, "coil_depth_end"))
    key = f"{BRIDGE}.coil_depth_end"
    told = {i.input.name: i.input for i in after.influences(key)}["hand.packing"]
    assert (told.value, told.low, told.high) == pytest.approx((0.68, 0.65, 0.71))
    assert told.basis == "measured"
    assert told.why == "learned from 6 coils of this hand"
    assert any("hand.packing" in w for w in before.fact(key).warnings)
    assert not any("hand.packing" in w for w in after.fact(key).warnings)


def test_reading_a_sample_of_the_spool_narrows_the_resistance() -> None:
    plain, sampled = model_of("heron"), model_of("heron", spools=SAMPLED)
    assert plain.fact(f"{BRIDGE}.dc_resistance").number == pytest.approx(
        sampled.fact(f"{BRIDGE}.dc_resistance").number, rel=1e-4
    )
    low, high = widths(plain, "dc_resistance")
    assert low == pytest.approx(0.08, abs=0.015)  # "about +-8 %" (common practice, no source)
    assert high == pytest.approx(0.08, abs=0.015)
    # The wire's own share becomes the sample's 1.5 %; what is left comes from packing, which only a known hand narrows.
    bare = {i.input.name: i for i in sampled.influences(f"{BRIDGE}.dc_resistance")}["wire.42-awg-single.bare"]
    value = sampled.fact(f"{BRIDGE}.dc_resistance").number
    assert max(bare.at_low, bare.at_high) / value - 1 == pytest.approx(0.015, abs=0.003)
    assert max(widths(sampled, "dc_resistance")) < 0.5 * high
    assert max(widths(model_of("heron", spools=SAMPLED, hand=LEARNED), "dc_resistance")) < 0.02


def test_a_sample_of_another_wire_tells_nothing() -> None:
    spool = SAMPLED.spools[0]
    for other in (
        SpoolLeft("a", WireSize("AWG", 43), spool.enamel, spool.film, 0.1, 0.001, spool.ohm_per_metre),
        SpoolLeft("b", spool.size, spool.enamel, "heavy", 0.1, 0.001, spool.ohm_per_metre),
        SpoolLeft("c", spool.size, "polyvinyl formal", spool.film, 0.1, 0.001, spool.ohm_per_metre),
    ):
        model = model_of("heron", spools=Spools((other,)))
        assert widths(model, "dc_resistance") == widths(model_of("heron"), "dc_resistance")


def test_a_typed_half_width_replaces_the_usual_one() -> None:
    # r = d/2 + wrap: 0.05/2 and 0.03 mm in quadrature; then 0.01/2 and 0.005.
    key = f"{BRIDGE}.inner_half_width"
    usual = model_of("heron").fact(key)
    close = model_of(
        "heron",
        {f"{BRIDGE}.poles.body.diameter": '"4.8 mm ± 0.01"', f"{BRIDGE}.bobbin.core.wrap": '"0.1 mm ± 0.005"'},
    ).fact(key)
    assert (usual.high or 0.0) - usual.number == pytest.approx(math.hypot(0.025, 0.03) * 1e-3, rel=0.02)  # log scale
    assert (close.high or 0.0) - close.number == pytest.approx(math.hypot(0.005, 0.005) * 1e-3, rel=0.02)
