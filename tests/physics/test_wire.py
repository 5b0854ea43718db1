"""The wire as metal. Sources beside each check; ids are those of our list of check values.

Witnesses: printed tables (magnet-wire tables, a textbook), the copper standard IEC 60028, definitions, and laws: volume
is kept, resistance follows length over section.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.physics import wire as physics
from lodestring.quantity import WireSize
from lodestring.reference import elongation, metal, wire

IACS = 1 / 58e6  # ohm m; IEC 60028:1925, by definition
FOOT = 0.3048
ROUNDING = 1e-12

# W03: the unrounded gauge, d = 0.127 mm x 92^((36 - n)/39) (ASTM B258), with the resistivity above.
W03 = {40: 3441.145, 41: 4339.204, 42: 5471.635, 43: 6899.604, 44: 8700.240, 45: 10970.800, 46: 13833.923}
# W07, W08: rounded nominal of the magnet-wire tables (NEMA MW 1000); ohm per 1000 ft as printed there, ohm/km computed.
W07 = {40: 1079, 41: 1323, 42: 1659, 43: 2143, 44: 2593}
W08 = {40: 3540.72, 41: 4340.09, 42: 5444.21, 43: 7030.23, 44: 8506.57, 45: 10984.73, 46: 13804.33}
# W04: a textbook's table (Floyd, Electric Circuit Fundamentals), ohm per 1000 ft, formula diameters.
W04 = {36: 414.8, 37: 523.1, 38: 659.6, 39: 831.8, 40: 1049}


def by_formula(gauge: int) -> float:
    return float(0.127e-3 * 92 ** ((36 - gauge) / 39))


def nominal(gauge: int) -> float:
    return wire(WireSize("AWG", gauge), "single").bare.nominal


@pytest.mark.parametrize(("gauge", "ohm_per_km"), W03.items(), ids=[f"W03 {n} AWG" for n in W03])
def test_resistance_of_the_unrounded_gauge(gauge: int, ohm_per_km: float) -> None:
    assert physics.resistance_per_metre(IACS, by_formula(gauge)) * 1e3 == pytest.approx(ohm_per_km, rel=1e-6)


@pytest.mark.parametrize(("gauge", "printed"), W04.items(), ids=[f"W04 {n} AWG" for n in W04])
def test_a_textbooks_table_of_wire_is_met(gauge: int, printed: float) -> None:
    per_kft = physics.resistance_per_metre(IACS, by_formula(gauge)) * 1000 * FOOT
    assert per_kft == pytest.approx(printed, rel=5e-4)  # printed to 4 digits


@pytest.mark.parametrize(("gauge", "printed"), W07.items(), ids=[f"W07 {n} AWG" for n in W07])
def test_the_magnet_wire_tables_resistance_is_met(gauge: int, printed: float) -> None:
    per_kft = physics.resistance_per_metre(metal("copper").resistivity.nominal, nominal(gauge)) * 1000 * FOOT
    assert per_kft == pytest.approx(printed, rel=5e-4)  # printed to a whole ohm; integers from memory (hi)


@pytest.mark.parametrize(("gauge", "ohm_per_km"), W08.items(), ids=[f"W08 {n} AWG" for n in W08])
def test_resistance_of_the_rounded_gauge_is_what_a_coil_is_reckoned_with(gauge: int, ohm_per_km: float) -> None:
    assert physics.resistance_per_metre(metal("copper").resistivity.nominal, nominal(gauge)) * 1e3 == pytest.approx(
        ohm_per_km, rel=1e-5
    )


def test_w20_w21_w22_the_catalogues_copper_is_the_standards() -> None:
    # IEC 60028: 58 m/(ohm mm2), 3.93e-3 /K, 0.15328 ohm g/m2; density 8.89 g/cm3 (from memory, hi)
    copper = metal("copper")
    assert copper.resistivity.nominal == pytest.approx(IACS, rel=ROUNDING)
    assert copper.temperature_coefficient.nominal == pytest.approx(3.93e-3, rel=ROUNDING)
    assert copper.density.nominal == pytest.approx(8890, rel=ROUNDING)
    # A wire of 1 g per metre has 0.15328 ohm per metre: mass and resistance from one diameter, by our two functions.
    diameter = math.sqrt(4e-3 / (math.pi * 8890))
    assert physics.copper_mass(8890, diameter, 1.0) == pytest.approx(1e-3, rel=ROUNDING)
    assert physics.resistance_per_metre(IACS, diameter) == pytest.approx(0.15328, rel=3e-5)  # W22's tolerance


def test_w23_ten_kelvin_add_3_93_per_cent_and_the_line_meets_zero_at_minus_234_45_c() -> None:
    alpha = metal("copper").temperature_coefficient.nominal
    assert physics.at_temperature(1.0, alpha, 303.15) == pytest.approx(1.0393, abs=1e-9)
    assert physics.at_temperature(1.0, alpha, 293.15) == 1.0
    assert physics.at_temperature(1.0, alpha, 273.15 - 234.4529) == pytest.approx(0.0, abs=1e-6)


@given(st.floats(250, 400), st.floats(250, 400))
def test_going_to_another_temperature_and_back_changes_nothing(one: float, other: float) -> None:
    # The coefficient belongs to its reference: at T1 it is alpha/(1 + alpha (T1 - T0)). Without the reference: a slip.
    alpha = 3.93e-3
    warm = physics.at_temperature(1.0, alpha, one)
    there = physics.at_temperature(warm, alpha / warm, other, reference=one)
    assert there == pytest.approx(physics.at_temperature(1.0, alpha, other), rel=1e-9)


def test_w25_the_worked_winding() -> None:
    # 8000 turns of 148.0 mm, 42 AWG rounded: 1184.0 m, 6445.945 ohm at 20 C, 6572.607 at 25 C, 33.334 g of copper.
    copper, bare = metal("copper"), nominal(42)
    length = 8000 * 0.148
    assert length == pytest.approx(1184.0, rel=ROUNDING)
    cold = physics.resistance_per_metre(copper.resistivity.nominal, bare) * length
    assert cold == pytest.approx(6445.945, rel=1e-6)
    warm = physics.at_temperature(cold, copper.temperature_coefficient.nominal, 298.15)
    assert warm == pytest.approx(6572.607, rel=1e-6)
    assert physics.copper_mass(copper.density.nominal, bare, length) * 1e3 == pytest.approx(33.334, rel=2e-5)


def test_length_follows_from_resistance_and_mass_without_the_diameter() -> None:
    # R m = resistivity x density x length^2: the diameter drops out.
    for gauge in W08:
        r = physics.resistance_per_metre(IACS, nominal(gauge)) * 900.0
        m = physics.copper_mass(8890, nominal(gauge), 900.0)
        assert math.sqrt(r * m / (IACS * 8890)) == pytest.approx(900.0, rel=ROUNDING)


def test_enamel_is_the_ring_round_the_copper() -> None:
    # 42 AWG single, 1000 m: pi/4 (71^2 - 63.5^2) um2 = 792.2 um2, at 1.2 g/cm3 0.9506 g.
    assert physics.enamel_mass(1200, 63.5e-6, 71e-6, 1000.0) * 1e3 == pytest.approx(0.95064, rel=1e-4)
    assert physics.enamel_mass(1200, 63.5e-6, 63.5e-6, 1000.0) == 0.0


# ---- pull and stretch ----

W34 = {42: 71.046, 43: 55.018, 44: 45.469}  # gf at 220 MPa
W35 = {42: 22.606, 43: 17.506, 44: 14.468}  # gf at 70 MPa


@pytest.mark.parametrize("gauge", W34, ids=[f"W34 {n} AWG" for n in W34])
def test_breaking_load_is_strength_times_section(gauge: int) -> None:
    assert physics.grams_force(220e6 * physics.section(nominal(gauge))) == pytest.approx(W34[gauge], rel=1e-4)


@pytest.mark.parametrize("gauge", W35, ids=[f"W35 {n} AWG" for n in W35])
def test_yield_limited_load_is_proof_stress_times_section(gauge: int) -> None:
    assert physics.grams_force(70e6 * physics.section(nominal(gauge))) == pytest.approx(W35[gauge], rel=1e-4)


def test_w36_the_wire_makers_rule_is_15_to_25_per_cent_of_the_breaking_load() -> None:
    # From memory (mid), no published rule found: 11 to 18 gf for 42 AWG.
    breaks = physics.grams_force(220e6 * physics.section(nominal(42)))
    assert (round(0.15 * breaks), round(0.25 * breaks)) == (11, 18)


def test_a_kilogram_hangs_with_a_thousand_grams_force() -> None:
    assert physics.grams_force(9.80665) == pytest.approx(1000.0, rel=ROUNDING)  # standard gravity, exact


# W31: least elongation at break, IS 13730 after IEC 60317; proof stress 70 MPa and strength 220 MPa from memory (mid).
W31 = {0.041: 0.09, 0.051: 0.10, 0.061: 0.12, 0.071: 0.13, 0.081: 0.15}


@pytest.mark.parametrize("size", W31, ids=[f"W31 {d} mm" for d in W31])
def test_the_law_of_stretch_goes_through_proof_stress_and_break(size: float) -> None:
    least = elongation(size * 1e-3).least
    assert least == pytest.approx(W31[size], rel=ROUNDING)
    assert physics.strain_under(70e6, 70e6, 220e6, least) == pytest.approx(0.002, rel=ROUNDING)
    assert physics.strain_under(220e6, 70e6, 220e6, least) == pytest.approx(least, rel=1e-9)


@given(st.floats(1e6, 2.2e8), st.floats(1e6, 2.2e8), st.floats(0.05, 0.3))
def test_stretch_is_a_straight_line_on_double_logarithmic_paper(one: float, other: float, least: float) -> None:
    def strain(stress: float) -> float:
        return physics.strain_under(stress, 70e6, 220e6, least)

    middle = math.sqrt(one * other)
    assert strain(middle) ** 2 == pytest.approx(strain(one) * strain(other), rel=1e-9)
    assert (strain(one) < strain(other)) == (one < other) or strain(one) == pytest.approx(strain(other), rel=1e-9)


def test_no_pull_no_stretch() -> None:
    assert physics.strain_under(0.0, 70e6, 220e6, 0.12) == 0.0
