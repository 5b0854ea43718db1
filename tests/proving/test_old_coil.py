"""An old coil, wound in the laboratory, read back."""

from __future__ import annotations

from functools import cache

import laboratory
import numpy as np
import pytest
from confusion import read

from lodestring.errors import DomainError
from lodestring.proving.measurement import Measurement, parse
from lodestring.proving.old_coil import OldCoil, Reading, read_old

COILS = {
    "8,200 turns of 43": (laboratory.Coil(turns=8200, bare=laboratory.BARE[43], film=7e-6, packing=0.62), "43 AWG"),
    "7,300 turns of 42": (laboratory.Coil(turns=7300, packing=0.68, strength=0.95), "42 AWG"),
    "9,900 turns of 44": (laboratory.Coil(turns=9900, bare=laboratory.BARE[44], film=6.4e-6, packing=0.60), "44 AWG"),
}


@cache
def case(name: str) -> tuple[OldCoil, tuple[Measurement, ...]]:
    coil, _ = COILS[name]
    taken = {m.quantity: m for m in read(laboratory.bench(coil, np.random.default_rng(5), 0.12))}
    kept = ("resistance", "outer_length", "outer_width", "inductance", "series_resistance", "resonance", "field")
    old = OldCoil(
        taken["outer_length"].number, taken["outer_width"].number, 10.5e-3, 6, 10.4e-3, 4.8e-3, 16e-3, 0.35e-3,
        wall=0.8e-3, up="south", kick="plus",
    )  # fmt: skip
    return old, tuple(m for q, m in taken.items() if q in kept)


@cache
def result(name: str) -> Reading:
    return read_old(*case(name))


@pytest.mark.parametrize("name", COILS)
def test_gauge_turns_and_magnets_are_read_back(name: str) -> None:
    coil, gauge = COILS[name]
    found = result(name)
    assert found.gauges[0].name == gauge
    assert found.turns.low <= coil.turns <= found.turns.high
    assert found.turns.high / found.turns.low < 1.25
    assert found.poles[0].name == "alnico 5"
    assert sum(c.probability for c in found.gauges) == pytest.approx(1.0, abs=0.02)


def test_the_values_for_a_set_file_make_a_coil_that_reads_as_the_old_one() -> None:
    from coil_sets import A1

    from lodestring.assess.model import Inputs, Model
    from lodestring.design.read import read_set

    name = "8,200 turns of 43"
    values = result(name).set_values
    text = A1.replace("TURNS", values["turns"]).replace("PACKING", values["packing"])
    text = text.replace('"42 AWG"', values["wire.size"]).replace('wound = "clockwise"', f"wound = {values['wound']}")
    model = Model(Inputs(read_set(text.encode()).record))
    _, taken = case(name)
    ohm = next(m for m in taken if m.quantity == "resistance")
    assert ohm.temperature is not None
    at_20 = ohm.number / (1 + 3.93e-3 * (ohm.temperature - 293.15))
    path = "pickup.bridge.coil.main"
    assert model.fact(f"{path}.dc_resistance").number == pytest.approx(at_20, rel=0.04)
    henry = next(m for m in taken if m.quantity == "inductance").number
    assert model.fact(f"{path}.inductance_1khz").number == pytest.approx(henry, rel=0.05)
    assert model.fact(f"{path}.kick").value == "plus"


def test_with_resistance_alone_it_says_that_turns_and_wire_cannot_be_told_apart() -> None:
    old, taken = case("8,200 turns of 43")
    found = read_old(old, [m for m in taken if m.quantity == "resistance"])
    assert any("inductance" in line for line in found.unknowable)
    assert (
        found.turns.high / found.turns.low
        > 1.4 * result("8,200 turns of 43").turns.high / result("8,200 turns of 43").turns.low
    )


def test_what_no_reading_can_tell_is_always_said() -> None:
    assert any("scattered" in line for line in result("7,300 turns of 42").unknowable)


def test_an_old_coil_without_its_resistance_is_not_guessed_at() -> None:
    old, _ = case("7,300 turns of 42")
    with pytest.raises(DomainError, match="resistance"):
        read_old(old, [parse("inductance=2.4 H @ 1 kHz, series")])


@pytest.mark.parametrize(
    ("size", "said"),
    [({"outer_width": 4e-3}, "wider"), ({"rods": 0}, "1 to 16"), ({"window": -1.0}, "above 0")],
    ids=["thinner than its core", "no rods", "no window"],
)
def test_sizes_that_cannot_be_are_refused(size: dict[str, float], said: str) -> None:
    good = {"outer_length": 0.067, "outer_width": 0.0165, "window": 0.0105, "rods": 6, "spacing": 0.0104,
            "diameter": 4.8e-3, "rod_length": 0.016, "wall": 0.8e-3}  # fmt: skip
    with pytest.raises(DomainError, match=said):
        OldCoil(**(good | size))  # type: ignore[arg-type]
