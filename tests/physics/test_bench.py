"""What the bench knows, against what the formulas give. Common practice, no source, unless a source is named: these are
sanity checks with wide limits, and they catch a factor, not a per cent."""

from __future__ import annotations

import math

import pytest

from lodestring.physics import winding
from lodestring.physics.wire import at_temperature, resistance_per_metre
from lodestring.quantity import WireSize
from lodestring.reference import metal, wire

MM, UM = 1e-3, 1e-6
COPPER = metal("copper")


def per_metre(gauge: int) -> float:
    return resistance_per_metre(COPPER.resistivity.nominal, wire(WireSize("AWG", gauge), "single").bare.nominal)


def overall(gauge: int, film: str = "single") -> float:
    return wire(WireSize("AWG", gauge), film).overall.nominal


def coil(turns: int, gauge: int, film: str = "single", packing: float = 0.65) -> tuple[float, float]:
    """(depth, resistance) on six rods: s 51.4 mm, first turn 2.5 mm from the axis, window 10.5 mm."""
    depth = winding.coil_depth(turns, overall(gauge, film), packing, 10.5 * MM)
    return depth, per_metre(gauge) * turns * winding.mean_turn_length(51.4 * MM, 2.5 * MM, depth)


# ---- common practice, no source ----


def test_the_reference_coil_of_6_4_kohm_has_a_usual_number_of_turns() -> None:
    # 42 AWG on six rods, 6.4 kOhm, mean turn about 137 mm; usual 7,000 to 8,700 turns.
    assert 7000 < 6400 / (per_metre(42) * 137 * MM) < 8700


def test_a_coil_of_that_many_turns_has_about_that_mean_turn() -> None:
    depth, _ = coil(8600, 42)
    assert winding.mean_turn_length(51.4 * MM, 2.5 * MM, depth) == pytest.approx(137 * MM, rel=0.03)  # "about"


@pytest.mark.parametrize("turns", [7000, 8700])
def test_42_gauge_on_six_rods_comes_to_4_9_to_7_2_kohm(turns: int) -> None:
    assert 4900 <= coil(turns, 42)[1] <= 7200


@pytest.mark.parametrize("turns", [5000, 10000])
def test_5000_to_10000_turns_of_42_gauge_are_2_to_8_mm_deep(turns: int) -> None:
    # The usual range of turns; a coil under 2 mm or over 8 mm deep is not seen on such a bobbin.
    assert 2 * MM < coil(turns, 42)[0] < 8 * MM


@pytest.mark.parametrize(("gauge", "ohms"), [(40, 35), (41, 43), (42, 54), (43, 70), (44, 85)])
def test_ten_metres_off_the_spool_read_as_the_bench_says(gauge: int, ohms: float) -> None:
    assert per_metre(gauge) * 10 == pytest.approx(ohms, abs=0.51)  # said to a whole ohm


def test_a_tenth_of_a_gram_of_42_gauge_is_about_3_4_m_and_25_turns() -> None:
    bare = wire(WireSize("AWG", 42), "single").bare.nominal
    metres = 1e-4 / (3.14159 / 4 * (bare**2 * 8890 + (overall(42) ** 2 - bare**2) * 1300))
    assert metres == pytest.approx(3.4, abs=0.1)
    assert metres / (137 * MM) == pytest.approx(25, abs=1)


def test_a_coil_hot_from_the_bath_reads_17_per_cent_more() -> None:
    assert at_temperature(1.0, COPPER.temperature_coefficient.nominal, 62 + 273.15) == pytest.approx(1.17, abs=0.01)


# ---- wrong wire: ratios to 42 AWG single; both follow from the tables of W08 to W16 ----

DEPTHS = {(40, "single"): 1.54, (41, "single"): 1.24, (43, "single"): 0.76, (44, "single"): 0.65, (42, "heavy"): 1.15}


@pytest.mark.parametrize("other", DEPTHS, ids=lambda o: f"{o[0]} {o[1]}")
def test_a_wrong_wire_shows_in_the_depth(other: tuple[int, str]) -> None:
    assert coil(8000, *other)[0] / coil(8000, 42)[0] == pytest.approx(DEPTHS[other], abs=0.006)  # said to a hundredth


@pytest.mark.parametrize(("gauge", "ratio"), [(40, 0.65), (41, 0.80), (43, 1.29), (44, 1.56)])
def test_a_wrong_gauge_shows_in_the_resistance_of_a_metre(gauge: int, ratio: float) -> None:
    assert per_metre(gauge) / per_metre(42) == pytest.approx(ratio, abs=0.006)


@pytest.mark.parametrize(("gauge", "ratio"), [(40, 0.692), (41, 0.818), (43, 1.258), (44, 1.497)])
def test_a_whole_coil_of_a_wrong_gauge_differs_less_because_its_mean_turn_goes_the_other_way(
    gauge: int, ratio: float
) -> None:
    # Worked for the reference coil, mean turn 137 mm of which 5.0 mm of depth: thicker by f gives 137 + pi 5.0 (f - 1).
    # 40: 0.6504 (1 + 0.1147 x 0.536) = 0.690; 41: 0.7972 x 1.0273 = 0.819; 43: 1.2913 x 0.9728 = 1.256; 44: 1.5625 x
    # 0.9592 = 1.499. Within 0.5 per cent: our coil's depth is 4.97 of 135.2 mm.
    assert coil(8600, gauge)[1] / coil(8600, 42)[1] == pytest.approx(ratio, rel=5e-3)


# ---- the reference coil A1 of our own notes: 7600 turns, s 52, r from 3.2 to 6.8 mm, window 10.5 ----

A1 = 52 * MM, 3.2 * MM
A1_PACKING = 7600 * math.pi * (71 * UM) ** 2 / (4 * 3.6 * MM * 10.5 * MM)  # 0.796: tight for a hand


def a1(turns: int, gauge: int = 42, stretch: float = 0.0) -> tuple[float, float]:
    """(depth, resistance) of A1 with its own packing; stretched wire is thinner, and has more ohms a metre as wound."""
    depth = winding.coil_depth(turns, overall(gauge) / math.sqrt(1 + stretch), A1_PACKING, 10.5 * MM)
    return depth, per_metre(gauge) * (1 + stretch) * turns * winding.mean_turn_length(*A1, depth)


def test_a_hundred_turns_missed_cost_1_42_per_cent_and_0_047_mm() -> None:
    full, short = a1(7600), a1(7500)
    assert short[1] / full[1] - 1 == pytest.approx(-0.0142, abs=5e-5)
    assert short[0] - full[0] == pytest.approx(-0.047 * MM, abs=5e-7)


def test_41_gauge_in_place_of_42_reads_18_7_per_cent_less_and_is_0_86_mm_deeper() -> None:
    # Worked: 3.6 (79/71)^2 = 4.457; 4340.09/5444.21 x (135.416 + pi 0.857)/135.416 = 0.8130.
    right, wrong = a1(7600), a1(7600, 41)
    assert wrong[1] / right[1] - 1 == pytest.approx(-0.187, abs=1e-3)
    assert wrong[0] - right[0] == pytest.approx(0.857 * MM, abs=1e-6)


def test_five_per_cent_of_stretch_read_4_6_per_cent_more() -> None:
    # As wound 1.05; the thinner wire takes 3.6/1.05 mm, so the mean turn is pi 0.1714 mm shorter: 1.05 x 0.99602.
    assert a1(7600, stretch=0.05)[1] / a1(7600)[1] - 1 == pytest.approx(0.0458, abs=1e-4)
