"""The hand: learned values against simulated makers, whose true values are known."""

from __future__ import annotations

import math
from functools import cache
from importlib.resources import files

import numpy as np
import pytest
from coil_sets import a1

from lodestring.assess.model import Inputs, Model
from lodestring.design.read import read_set
from lodestring.errors import DomainError
from lodestring.proving.forward import forward, physical
from lodestring.proving.hand import Sample, before, learn, samples_of
from lodestring.proving.measurement import measurement, parse

MAKERS, COILS = 200, 6
SD = 0.02


@cache
def simulated(name: str) -> list[tuple[float, float, list[Sample]]]:
    """Of each maker: the true mean, the next coil's value, and samples of six coils; all on the scale of `inward`."""
    known = before()[name]
    rng = np.random.default_rng(2026)
    sd = SD if known.log else SD * known.sigma * 8
    out = []
    for _ in range(MAKERS):
        middle = known.inward(known.centre) + math.hypot(known.sigma, known.wire, known.winder) * rng.standard_normal()
        scatter = known.scatter * math.exp(math.log(2.0) * rng.standard_normal())
        values = middle + scatter * rng.standard_normal(COILS + 1)
        seen = values[:COILS] + sd * rng.standard_normal(COILS)
        samples = [Sample(name, math.exp(x) if known.log else float(x), sd, "42", "crank") for x in seen]
        out.append((float(middle), float(values[-1]), samples))
    return out


WIDTHS = {  # median width of the next coil's 90 % interval against that before any coil: from ... to
    "packing": (0.15, 0.40),
    "belly": (0.35, 0.75),
    "pace": (0.30, 0.65),
}


@pytest.mark.parametrize("name", WIDTHS)
def test_of_200_makers_the_true_values_lie_in_the_90_per_cent_interval_as_often_as_they_should(name: str) -> None:
    known = before()[name]
    next_in = mean_in = 0
    widths = []
    for middle, following, samples in simulated(name):
        t = learn(samples, "42", "crank").of(name)
        # the caps of packing and belly stand beyond any true value here, but for a few
        next_in += t.low <= known.outward(following) <= t.high
        mean_in += t.mean_low <= known.outward(middle) <= t.mean_high
        widths.append(
            (known.inward(t.high) - known.inward(t.low)) / (known.inward(t.before_high) - known.inward(t.before_low))
        )
    # 200 at 0.9: 180, sigma 4.2; 165 and 195 are 3.5 sigma
    assert 165 <= next_in <= 195
    assert 165 <= mean_in <= 195
    low, high = WIDTHS[name]
    assert low <= float(np.median(widths)) <= high


def test_the_first_coil_leaves_the_interval_wide_and_ten_narrow_it() -> None:
    samples = [
        Sample("packing", x, 0.02, "42", "crank") for x in (0.66, 0.67, 0.65, 0.66, 0.68, 0.66, 0.65, 0.67, 0.66, 0.66)
    ]
    widths = []
    for n in (1, 3, 10):
        t = learn(samples[:n], "42", "crank").of("packing")
        widths.append(math.log(t.high / t.low))
    assert widths[0] > widths[1] > widths[2]
    t = learn(samples[:1], "42", "crank").of("packing")
    assert math.log(t.high / t.low) < math.log(t.before_high / t.before_low)


def test_many_coils_that_are_all_alike_leave_only_the_scatter() -> None:
    # closed form: n equal values, sd small: the mean is known to scatter / sqrt(n)
    rng = np.random.default_rng(8)
    scatter = 0.04
    values = np.log(0.7) + scatter * rng.standard_normal(200)
    t = learn([Sample("packing", float(np.exp(v)), 1e-3) for v in values]).of("packing")
    assert t.scatter / 1.645 == pytest.approx(float(np.std(values)), rel=0.08)
    assert math.log(t.mean_high / t.mean_low) / 3.29 == pytest.approx(scatter / math.sqrt(200), rel=0.25)
    assert t.value == pytest.approx(float(np.exp(values.mean())), rel=2e-3)


def test_coils_of_another_wire_or_winder_count_less() -> None:
    mine = [Sample("packing", 0.72, 0.02, "43", "motor") for _ in range(4)]
    same = learn(mine, "43", "motor").of("packing")
    wire, both = learn(mine, "42", "motor").of("packing"), learn(mine, "42", "crank").of("packing")
    before_any = same.before_high / same.before_low
    assert same.high / same.low < wire.high / wire.low < both.high / both.low < before_any
    assert 0.65 < both.value < wire.value < same.value < 0.72


def test_what_is_learned_is_a_record_that_an_assessment_takes() -> None:
    text = files("lodestring.examples").joinpath("heron.toml").read_bytes()
    hand = learn([Sample("packing", 0.70, 0.01), Sample("packing", 0.71, 0.01), Sample("capacitance", 1.3, 0.1)]).hand
    plain, taught = (Model(Inputs(read_set(text).record, hand=h)) for h in (None, hand))
    key = "pickup.bridge.coil.main.coil_depth_end"
    wide, narrow = plain.fact(key), taught.fact(key)
    assert narrow.high is not None
    assert narrow.low is not None
    assert wide.high is not None
    assert wide.low is not None
    assert narrow.high / narrow.low < wide.high / wide.low
    key = "pickup.bridge.coil.main.capacitance"
    assert taught.fact(key).number > 1.15 * plain.fact(key).number
    assert hand.packing is not None
    assert hand.packing.coils == 2


def test_a_finished_coil_teaches_what_its_measurements_say_and_not_what_was_believed() -> None:
    model = a1()
    of = forward(model, "bridge", "main")
    true = {
        "packing": 0.73,
        "belly": 0.18,
        "capacitance": 1.35 * next(s.centre for s in of.spreads if s.name == "capacitance"),
    }
    values = {s.name: np.array([true.get(s.name, s.centre)]) for s in of.spreads}
    taken = [
        parse(t)
        for t in (
            "sample=1 ohm/m", "resistance=1 ohm @ 20 C", "outer_length=1 mm", "outer_width=1 mm", "wire_mass=1 g",
            "turns=1", "inductance=1 H @ 1 kHz, series", "resonance=1 Hz @ 0 pF, into 10M",
            "resonance=1 Hz @ 470 pF, into 10M",
        )
    ]  # fmt: skip
    exact = of.readings(values, taken)[0]
    read = [
        measurement(m.quantity, float(v), temperature=m.temperature, frequency=m.at.frequency, mode=m.at.mode,
                    capacitance=m.at.capacitance, load=m.at.load)
        for m, v in zip(taken, exact, strict=True)
    ]  # fmt: skip
    found = {s.name: s for s in samples_of(of, read, "42", "crank")}
    assert found["packing"].value == pytest.approx(0.73, rel=0.01)
    assert found["belly"].value == pytest.approx(0.18, abs=0.004)
    assert found["capacitance"].value == pytest.approx(1.35, rel=0.02)
    assert found["packing"].sd < 0.06
    assert found["packing"].wire == "42"


def test_a_coil_that_was_only_looked_at_teaches_nothing_of_capacitance() -> None:
    of = forward(a1(), "bridge", "main")
    assert "capacitance" not in {s.name for s in samples_of(of, [parse("resistance=5.7k"), parse("shape=as drawn")])}


def test_the_meters_offset_is_learned_from_a_known_resistor() -> None:
    t = learn([Sample("meter", 1.004, 0.001), Sample("meter", 1.005, 0.001), Sample("meter", 1.0045, 0.001)]).of(
        "meter"
    )
    assert t.value == pytest.approx(1.0044, abs=5e-4)
    assert t.low > 1.0


@pytest.mark.parametrize(
    "sample",
    [Sample("mood", 1.0, 0.1), Sample("packing", -0.5, 0.1), Sample("pace", 3.0, 0.0), Sample("belly", math.nan, 1.0)],
    ids=["no such thing", "below nothing", "no spread", "no number"],
)  # fmt: skip
def test_a_sample_that_cannot_be_is_refused(sample: Sample) -> None:
    with pytest.raises(DomainError):
        learn([sample])


def test_physical_values_at_the_middle_are_the_centres() -> None:
    of = forward(a1(), "bridge", "main")
    values = physical(of.spreads, np.zeros((1, len(of.spreads))))
    assert all(float(values[s.name][0]) == s.centre for s in of.spreads)
