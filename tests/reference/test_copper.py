"""Copper: the annealed standard, a worked winding, how far it stretches, what it bears (W20-W26, W31-W36)."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from lodestring.errors import CatalogueError
from lodestring.quantity import WireSize
from lodestring.reference import band, catalogue, elongation, metal, tension_band, wire

GRAVITY = 9.80665  # m/s2, exact (CGPM 1901)


def tag(name: str) -> Callable[[object], str]:
    """Ids of a table of cases: the check value's number before the case's first column."""
    return lambda v: f"{name}-{v}" if isinstance(v, int) else str(v)


def figure(row: str, name: str) -> float:
    value = catalogue().row(row)[name].value
    assert value is not None
    return value


def diameter(gauge: int) -> float:
    return wire(WireSize("AWG", number=gauge), "single").bare.nominal


def test_copper_is_the_international_annealed_standard() -> None:
    """W20, W21: IEC 60028, exact by definition. Trap T2: pure copper's 1.678e-8 is 2.7 % lower."""
    copper = metal("copper")
    assert copper.resistivity.nominal == pytest.approx(1 / 58e6, rel=1e-15)
    assert copper.resistivity.low == copper.resistivity.high == copper.resistivity.nominal
    assert copper.temperature_coefficient is not None
    assert copper.temperature_coefficient.nominal == 3.93e-3
    assert figure("metal.copper", "mass_resistivity") == pytest.approx(0.15328e-3)  # ohm kg/m2
    assert copper.density.nominal == 8890
    assert 1 - 1.678e-8 / copper.resistivity.nominal == pytest.approx(0.027, abs=0.0005)


def test_mass_resistivity_over_density_is_volume_resistivity() -> None:
    """W22: 0.15328 / 8.89 = 0.01724184 against 1/58; the standard's own rounding is 3e-5."""
    from_mass = figure("metal.copper", "mass_resistivity") / metal("copper").density.nominal
    assert from_mass == pytest.approx(1.724184e-8, rel=1e-6)
    assert from_mass == pytest.approx(metal("copper").resistivity.nominal, rel=3e-5)


def test_copper_gains_3_93_percent_in_ten_kelvin() -> None:
    """W23: R(30)/R(20) = 1.0393; resistance would be nothing at -234.4529 C. Rel 1e-6 as listed."""
    alpha = metal("copper").temperature_coefficient
    assert alpha is not None
    assert 1 + alpha.nominal * 10 == pytest.approx(1.0393, rel=1e-6)
    assert 20 - 1 / alpha.nominal == pytest.approx(-234.4529, rel=1e-6)


def test_the_worked_winding() -> None:
    """W25: 8000 turns of 148.0 mm, 42 AWG: 1184 m, 6445.945 ohm at 20 C, 6572.607 at 25 C, 33.334 g of copper."""
    length, copper = 8000 * 0.148, metal("copper")
    section = math.pi * diameter(42) ** 2 / 4
    cold = copper.resistivity.nominal * length / section
    assert copper.temperature_coefficient is not None
    assert length == pytest.approx(1184.0)
    assert cold == pytest.approx(6445.945, rel=1e-6)
    assert cold * (1 + 5 * copper.temperature_coefficient.nominal) == pytest.approx(6572.607, rel=1e-6)
    assert copper.density.nominal * length * section == pytest.approx(33.334e-3, rel=2e-5)  # five printed digits


def test_no_packing_exceeds_the_hexagonal_lattice() -> None:
    """W26: pi / (2 sqrt 3) = 0.906900 and pi / 4 = 0.785398, plane geometry; printed to 1e-5."""
    perfect = band("packing.perfect-machine-layers").spread()
    assert perfect.nominal == pytest.approx(math.pi / (2 * math.sqrt(3)), rel=1e-5)
    assert perfect.low == pytest.approx(math.pi / 4, rel=1e-5)
    hand, traverse = band("packing.hand").spread(), band("packing.traverse").spread()
    # common practice, no source: hand 0.65 (0.52 to 0.78), machine traverse 0.75
    assert (hand.low, hand.nominal, hand.high) == pytest.approx((0.52, 0.65, 0.78))
    assert traverse.nominal == 0.75
    assert hand.nominal < traverse.nominal < perfect.nominal
    assert max(hand.high, traverse.high) < perfect.high


# W31: IS 13730 / IS 13778-3 on a trade page, read
ELONGATION = [(0.041, 9), (0.051, 10), (0.061, 12), (0.071, 13), (0.081, 15), (0.102, 17), (0.122, 17)]


@pytest.mark.parametrize(("size", "percent"), ELONGATION, ids=tag("W31"))
def test_elongation_at_the_tables_own_diameters_is_the_tables(size: float, percent: float) -> None:
    found = elongation(size * 1e-3)
    assert found.least == pytest.approx(percent / 100, rel=1e-12)
    assert found.note == ""


def test_elongation_between_two_rows_lies_on_the_line() -> None:
    """W31 interpolated by hand: 63.5 um is a quarter of the way from 61 (12 %) to 71 (13 %)."""
    found = elongation(63.5e-6)
    assert found.least == pytest.approx(0.1225)
    assert found.rows == ("strength.elongation.0.061", "strength.elongation.0.071")


@pytest.mark.parametrize(("gauge", "least"), [(46, 0.09), (36, 0.17)], ids=["just-thinner", "just-thicker"])
def test_a_gauge_just_outside_the_elongation_table_takes_its_end_and_says_so(gauge: int, least: float) -> None:
    found = elongation(diameter(gauge))
    assert found.least == least
    assert "stands in" in found.note


@pytest.mark.parametrize("size", [0.0, -1e-4, 2e-5, 2e-4, math.nan, math.inf])
def test_elongation_far_outside_the_table_is_refused(size: float) -> None:
    with pytest.raises(CatalogueError, match=r"elongation is known for 0\.041 to 0\.122 mm"):
        elongation(size)


@pytest.mark.parametrize(
    ("row", "name", "expected", "rel"),
    [
        ("strength.tensile-most", "stress", 246.83e6, 1e-5),  # W32: ASTM B3-63 summary, 35 800 psi
        ("strength.modulus", "modulus", 117e9, 1e-2),  # W33: 17 Msi, 1 %
        ("strength.tensile", "stress", 220e6, 1e-9),  # W34's figure
        ("strength.proof", "stress", 70e6, 1e-9),  # W35's figure; 33 to 70 MPa from memory (mid)
    ],
    ids=["W32", "W33", "W34", "W35"],
)
def test_stresses_of_copper_are_the_listed_ones(row: str, name: str, expected: float, rel: float) -> None:
    assert figure(row, name) == pytest.approx(expected, rel=rel)


def test_psi_of_the_astm_summary_are_the_megapascals_of_the_row() -> None:
    """W32, W33: 1 psi = 6894.757 Pa by definition of pound and inch."""
    psi = 0.45359237 * GRAVITY / 0.0254**2
    assert figure("strength.tensile-most", "stress") == pytest.approx(35_800 * psi, rel=1e-4)
    assert figure("strength.modulus", "modulus") == pytest.approx(17e6 * psi, rel=1e-2)


@pytest.mark.parametrize(
    ("gauge", "breaks", "stretches"),
    [(42, 71.046, 22.606), (43, 55.018, 17.506), (44, 45.469, 14.468)],
    ids=tag("W34-W35"),
)
def test_breaking_and_yielding_loads_of_bare_copper(gauge: int, breaks: float, stretches: float) -> None:
    """W34, W35: stress x pi d^2 / 4 in gram-force, computed independently; half of the last printed digit."""
    section = math.pi * diameter(gauge) ** 2 / 4
    assert figure("strength.tensile", "stress") * section / GRAVITY * 1e3 == pytest.approx(breaks, abs=5.1e-4)
    assert figure("strength.proof", "stress") * section / GRAVITY * 1e3 == pytest.approx(stretches, abs=5.1e-4)


def test_the_rule_of_wire_makers_puts_42_gauge_at_11_to_18_gf() -> None:
    """W36, memory (mid): 15 to 25 % of the breaking load; printed to whole gram-force, hence 0.5."""
    share = catalogue().row("strength.tension-rule")["share"].spread()
    load = figure("strength.tensile", "stress") * math.pi * diameter(42) ** 2 / 4 / GRAVITY * 1e3
    assert share.low * load == pytest.approx(11, abs=0.5)
    assert share.high * load == pytest.approx(18, abs=0.5)


# common practice, no source: usual low and high, warn, break low and high, gram-force
TENSION = {
    40: (24, 46, 70, 110, 145),
    41: (19, 37, 56, 88, 120),
    42: (15, 30, 45, 70, 95),
    43: (12, 23, 35, 55, 73),
    44: (9, 19, 29, 45, 60),
}


def in_gf(gauge_or_diameter: float) -> tuple[float, ...]:
    t = tension_band(gauge_or_diameter)
    return tuple(x / GRAVITY * 1e3 for x in (t.usual_low, t.usual_high, t.warn, t.breaks_low, t.breaks_high))


@pytest.mark.parametrize("gauge", TENSION, ids=lambda g: f"awg-{g}")
def test_tension_bands_of_the_bench(gauge: int) -> None:
    assert in_gf(gauge) == pytest.approx(TENSION[gauge])
    assert tension_band(gauge).note == ""


@pytest.mark.parametrize("gauge", TENSION, ids=lambda g: f"awg-{g}")
def test_the_benchs_breaking_band_holds_the_breaking_load_of_copper(gauge: int) -> None:
    """W34 (220 MPa, 15 %) against common practice: the bench's band includes enamel, so it may lie a little above."""
    low, high = in_gf(gauge)[3:]
    load = figure("strength.tensile", "stress") * math.pi * diameter(gauge) ** 2 / 4 / GRAVITY * 1e3
    assert low * 0.85 < load < high * 1.15


def test_tension_between_two_gauges_follows_the_section() -> None:
    """By hand: (67^2 - 63.5^2) / (71.12^2 - 63.5^2) = 0.4453 of the way from 42 to 41 AWG; warn 45 to 56 gf."""
    found = tension_band(0.067e-3)
    share = (67.0**2 - 63.5**2) / (71.12**2 - 63.5**2)
    assert share == pytest.approx(0.4453, abs=1e-4)
    assert found.warn / GRAVITY * 1e3 == pytest.approx(45 + share * 11)
    assert found.rows == ("band.tension.awg-42", "band.tension.awg-41")
    assert "interpolated by section" in found.note


@pytest.mark.parametrize(("size", "end"), [(36, 40), (46, 44), (0.040e-3, 44)], ids=["36-awg", "46-awg", "0.040-mm"])
def test_tension_outside_the_table_is_scaled_by_section_and_says_so(size: float, end: int) -> None:
    d = diameter(int(size)) if size >= 1 else size
    assert in_gf(size) == pytest.approx([x * (d / diameter(end)) ** 2 for x in TENSION[end]])
    assert f"scaled by section from {end} AWG" in tension_band(size).note


@pytest.mark.parametrize("size", [0.0, -42, 30, 60, 1e-2, math.nan, math.inf])
def test_tension_for_what_is_no_coil_wire_is_refused(size: float) -> None:
    with pytest.raises(CatalogueError, match="winding tension is known for"):
        tension_band(size)


@pytest.mark.parametrize(("gauge", "ohms"), [(40, 35), (41, 43), (42, 54), (43, 70), (44, 85)], ids=tag("spool-check"))
def test_ten_metres_off_the_spool_read_what_the_bench_expects(gauge: int, ohms: float) -> None:
    """Common practice, reckoned: whole ohms of 10 m at 20 C, so within half an ohm of rho l / A, and of the row."""
    reckoned = metal("copper").resistivity.nominal * 10 / (math.pi * diameter(gauge) ** 2 / 4)
    assert reckoned == pytest.approx(ohms, abs=0.5)
    assert figure(f"band.sample.awg-{gauge}", "resistance") == ohms
    assert figure(f"band.sample.awg-{gauge}", "length") == 10


def test_a_coil_hot_from_the_bath_reads_17_percent_more() -> None:
    """Common practice, reckoned: copper at 60 to 65 C against 20 C is +15.7 to +17.7 %."""
    alpha, bath = metal("copper").temperature_coefficient, band("wax.bath").spread()
    assert alpha is not None
    rise = band("wax.hot-resistance").spread()
    for temperature in (bath.low, bath.high):
        assert rise.low - 0.002 <= alpha.nominal * (temperature - 293.15) <= rise.high
    assert rise.nominal == pytest.approx(0.17)
