"""Magnets and pole metals against MMPA 0100-00, grade tables, ASTM A1070 and data sheets (M rows, W27-W30).

Expected numbers stand here by hand, with the tolerance of the list of check values.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from lodestring.errors import CatalogueError
from lodestring.reference import Spread, catalogue, enamel, magnet, metal, names, string_material
from lodestring.reference.units import to_si

MU0 = 4e-7 * math.pi

# M01-M06: MMPA 0100-00 table II, typical, from memory (hi): Br mT, HcB, HcJ kA/m, BHmax kJ/m3
TYPICAL = {
    "alnico 3": (700, 38, 40, 10.7),
    "alnico 2": (750, 45, 46, 13.5),
    "alnico 4": (560, 57, 59, 10.7),
    "alnico 5": (1280, 51, 51, 43.8),
    "alnico 5DG": (1330, 53, 53, 51.7),
    "alnico 5-7": (1350, 59, 59, 59.7),
    "alnico 6": (1050, 62, 64, 31.0),
    "alnico 8": (820, 131, 148, 42.2),
    "alnico 8HC": (720, 151, 173, 39.8),
    "alnico 9": (1060, 119, 119, 71.6),
    "ferrite C5": (380, 190, 200, 27.1),  # M14
    "ferrite C8": (385, 235, 245, 27.8),  # M15
    "ferrite C1": (230, 150, 260, 8.35),  # M16
}
# M07 (trade table of national-standard grades) and M08 (a maker's range) for alnico, M14-M16 for ferrite:
# Br mT, HcB kA/m, BHmax kJ/m3, as (least, greatest)
MINIMUM = {
    "alnico 3": ((600, 600), (40, 40), (10, 10)),
    "alnico 2": ((680, 700), (44, 48), (12, 13)),
    "alnico 5": ((1200, 1250), (48, 52), (37, 44)),
    "alnico 5DG": ((1300, 1300), (56, 56), (52, 52)),
    "alnico 5-7": ((1330, 1330), (60, 60), (60, 60)),
    "alnico 6": ((1000, 1000), (56, 56), (28, 28)),
    "alnico 8": ((830, 900), (110, 123), (38.2, 43.0)),
    "ferrite C5": ((380, 385), (191, 210), (26.0, 28.0)),
    "ferrite C8": ((385, 390), (235, 255), (27.8, 30.0)),
    "ferrite C1": ((200, 218), (125, 145), (6.5, 8.0)),
}


def tag(name: str) -> Callable[[object], str]:
    """Ids of a table of cases: the check value's number before the case's first column."""
    return lambda v: f"{name}-{v}" if isinstance(v, str) else str(v)


def value(row: str, name: str) -> Spread:
    return catalogue().row(row)[name].spread()


def nominal(spread: Spread | None) -> float:
    assert spread is not None
    return spread.nominal


@pytest.mark.parametrize("grade", TYPICAL, ids=lambda g: f"M01-M06-{g}")
def test_typical_figures_are_the_producers_standard(grade: str) -> None:
    """The list allows 5 %; transcribed figures must be equal, and the row must carry the 5 % as its spread."""
    m = magnet(grade)
    got = (m.remanence.nominal * 1e3, m.coercivity_b.nominal / 1e3, nominal(m.coercivity_j) / 1e3)
    assert (*got, nominal(m.energy_product) / 1e3) == pytest.approx(TYPICAL[grade])
    assert m.remanence.low == pytest.approx(0.95 * m.remanence.nominal)
    assert m.remanence.high == pytest.approx(1.05 * m.remanence.nominal)


def test_alnico_5_in_the_units_of_its_old_data_sheets() -> None:
    """M04, M25: 12 800 G, 640 Oe, 5.5 MGOe; 1 Oe = 79.57747 A/m, 1 MGOe = 7.957747 kJ/m3 by definition."""
    oersted, megagauss_oersted = 1e3 / (4 * math.pi), 1e5 / (4 * math.pi)
    assert oersted == pytest.approx(79.57747, rel=1e-7)
    assert megagauss_oersted == pytest.approx(7957.747, rel=1e-7)
    m = magnet("alnico 5")
    assert m.remanence.nominal == pytest.approx(12_800 * 1e-4)
    assert m.coercivity_b.nominal == pytest.approx(640 * oersted, rel=2e-3)  # 50.93 printed as 51
    assert nominal(m.energy_product) == pytest.approx(5.5 * megagauss_oersted, rel=2e-3)


@pytest.mark.parametrize("grade", MINIMUM, ids=lambda g: f"M07-M16-{g}")
def test_guaranteed_minimums_are_the_grade_tables(grade: str) -> None:
    m = magnet(grade, "minimum")
    assert m.row == "minimum"
    assert m.rows[0].endswith(".minimum")
    for spread, (low, high), scale in zip(
        (m.remanence, m.coercivity_b, m.energy_product), MINIMUM[grade], (1e-3, 1e3, 1e3), strict=True
    ):
        assert spread is not None
        assert spread.low == pytest.approx(low * scale)
        assert spread.high == pytest.approx(high * scale)


def test_typical_and_minimum_of_alnico_5_are_different_rows() -> None:
    """Trap T5: 1.28 T typical against 1.20 to 1.25 T guaranteed."""
    typical, least = magnet("alnico 5"), magnet("alnico 5", "minimum")
    assert typical.remanence.nominal == pytest.approx(1.28)
    assert (least.remanence.low, least.remanence.high) == pytest.approx((1.20, 1.25))
    assert set(typical.rows) != set(least.rows)


@pytest.mark.parametrize("grade", ["alnico 4", "alnico 9", "alnico 8HC", "SmCo 2-17"])
def test_a_grade_without_a_guaranteed_minimum_says_which_have_one(grade: str) -> None:
    with pytest.raises(CatalogueError, match=r"for some grades only; came .*its typical row, or one of: .*alnico 5"):
        magnet(grade, "minimum")


@pytest.mark.parametrize(
    ("row", "br", "hc", "bh"),
    [
        ("magnet.alnico-5.maker-range", (1.25, 1.30), (47.7e3, 52.5e3), (38.2e3, 43.8e3)),
        ("magnet.alnico-8.maker-range", (0.83, 0.90), (110e3, 123e3), (38.2e3, 43.0e3)),
    ],
    ids=["M08-alnico-5", "M08-alnico-8"],
)
def test_a_makers_range_is_kept_as_a_row(
    row: str, br: tuple[float, float], hc: tuple[float, float], bh: tuple[float, float]
) -> None:
    """M08, read: also recoil permeability 3.6, -0.02 %/K, Curie point 850 C, 7.3 g/cm3."""
    for name, want in (("remanence", br), ("coercivity_b", hc), ("energy_product", bh)):
        assert (value(row, name).low, value(row, name).high) == pytest.approx(want)
    assert value(row, "recoil_permeability").nominal == 3.6
    assert value(row, "temperature_coefficient").nominal == pytest.approx(-2e-4)
    assert value(row, "curie_temperature").nominal == pytest.approx(850 + 273.15)
    assert value(row, "density").nominal == 7300


@pytest.mark.parametrize(
    ("grade", "uohm_cm"),
    [("alnico 5", 47), ("alnico 8", 47), ("alnico 2", 65), ("alnico 3", 60), ("alnico 6", 50), ("NdFeB N42", 160),
     ("SmCo 2-17", 86)],
    ids=["M09-5", "M09-8", "M10-2", "M10-3", "M10-6", "M19-NdFeB", "M19-SmCo"],
)  # fmt: skip
def test_resistivity_of_magnets(grade: str, uohm_cm: float) -> None:
    """M09: a maker's table (470 nohm m) and MMPA; M10: MMPA from memory (mid), 10 %; M19: laboratory wiki, 15 %."""
    assert magnet(grade).resistivity.nominal == pytest.approx(uohm_cm * 1e-8)


@pytest.mark.parametrize(
    ("grade", "mu"),
    [("alnico 2", 6.4), ("alnico 3", 6.5), ("alnico 5", 4.3), ("alnico 5-7", 3.9), ("alnico 6", 5.3),
     ("alnico 8", 2.0), ("alnico 9", 1.5), ("NdFeB N42", 1.05)],
    ids=tag("M11-M18"),
)  # fmt: skip
def test_recoil_permeability(grade: str, mu: float) -> None:
    """M11: MMPA from memory (mid), so the rows carry 20 %; M18, M19: 1.05 for rare earth."""
    found = magnet(grade).recoil_permeability
    assert found.nominal == pytest.approx(mu)
    if grade.startswith("alnico"):
        assert (found.low, found.high) == pytest.approx((0.8 * mu, 1.2 * mu))


def test_every_alnico_grade_lies_within_the_family() -> None:
    """M12: ASTM A1070-16 scope, Br 0.52 to 1.35 T and HcB 38 to 175 kA/m, read. An independent witness of M01-M07."""
    bounds_b, bounds_h = (
        value("magnet.alnico-family.bounds", "remanence"),
        value("magnet.alnico-family.bounds", "coercivity_b"),
    )
    assert (bounds_b.low, bounds_b.high) == pytest.approx((0.52, 1.35))
    assert (bounds_h.low, bounds_h.high) == pytest.approx((38e3, 175e3))
    checked = 0
    for row in catalogue().table("magnets"):
        if row.id.startswith("magnet.alnico-") and row.id.endswith((".typical", ".minimum")):
            assert bounds_b.low <= row["remanence"].spread().nominal <= bounds_b.high, row.id
            assert bounds_h.low <= row["coercivity_b"].spread().nominal <= bounds_h.high, row.id
            checked += 1
    assert checked == 17


@pytest.mark.parametrize(
    ("grade", "percent", "half"),
    [("alnico 2", -0.03, 0.005), ("alnico 5", -0.02, 0.005), ("alnico 8", -0.025, 0.005), ("ferrite C5", -0.20, 0.01),
     ("NdFeB N42", -0.10, 0.021), ("SmCo 1-5", -0.04, 0.01), ("SmCo 2-17", -0.03, 0.01)],
    ids=tag("M13-M17"),
)  # fmt: skip
def test_remanence_falls_with_temperature(grade: str, percent: float, half: float) -> None:
    """M13: MMPA from memory (mid), 0.005 either way; M17: Modelica Standard Library, exemplary."""
    found = magnet(grade).temperature_coefficient
    assert found.nominal * 100 == pytest.approx(percent)
    assert max(found.high - found.nominal, found.nominal - found.low) * 100 <= half * (1 + 1e-9)


def test_ferrite_ranges_of_the_trade_table_hold_their_intrinsic_coercivity() -> None:
    """M14-M16, read: HcJ 199 to 220, 242 to 265, 210 to 250 kA/m."""
    for grade, low, high in (("c5", 199, 220), ("c8", 242, 265), ("c1", 210, 250)):
        found = value(f"magnet.ferrite-{grade}.minimum", "coercivity_j")
        assert (found.low / 1e3, found.high / 1e3) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("row", "br", "hc"),
    [
        ("magnet.ferrite-library.exemplary", 0.38, 170e3),
        ("magnet.ndfeb-library.exemplary", 1.2, 900e3),
        ("magnet.smco-1-5.typical", 0.95, 720e3),
        ("magnet.smco-2-17.typical", 1.02, 750e3),
    ],
    ids=tag("M17"),
)
def test_exemplary_values_of_an_open_materials_library(row: str, br: float, hc: float) -> None:
    assert value(row, "remanence").nominal == pytest.approx(br)
    assert value(row, "coercivity_b").nominal == pytest.approx(hc)


def test_neodymium_n42() -> None:
    """M18, memory (hi), 3 %: Br 1.28 to 1.32 T, HcB at least 836 to 915 kA/m, BHmax 318 to 342 kJ/m3."""
    m, least = magnet("NdFeB N42"), magnet("neodymium N42", "minimum")
    assert (m.remanence.low, m.remanence.high) == pytest.approx((1.28, 1.32))
    assert (m.coercivity_b.low, m.coercivity_b.high) == pytest.approx((836e3, 915e3))
    assert m.energy_product is not None
    assert (m.energy_product.low, m.energy_product.high) == pytest.approx((318e3, 342e3))
    assert (least.remanence.nominal, least.coercivity_b.nominal) == pytest.approx((1.28, 836e3))
    # physics: a straight line of recoil permeability mu holds BHmax = Br^2 / (4 mu0 mu)
    # 3.6 % is half of the printed range
    assert m.energy_product.nominal == pytest.approx(1.30**2 / (4 * MU0 * 1.05), rel=0.036)


@pytest.mark.parametrize("grade", TYPICAL)
def test_no_magnet_holds_more_energy_than_its_corner(grade: str) -> None:
    """Physics: BHmax < Br HcB, and BHmax < Br^2 / (4 mu0) for any curve that falls from Br no slower than mu0."""
    m = magnet(grade)
    energy = nominal(m.energy_product)
    assert 0.2 < energy / (m.remanence.nominal * m.coercivity_b.nominal) < 1
    assert energy < m.remanence.nominal**2 / (4 * MU0)
    assert nominal(m.coercivity_j) >= m.coercivity_b.nominal


def test_intrinsic_and_normal_coercivity_differ_by_the_size_the_trap_names() -> None:
    """T6: at most 3 % for alnico 5, 13 % for alnico 8."""
    five, eight = magnet("alnico 5"), magnet("alnico 8")
    assert nominal(five.coercivity_j) / five.coercivity_b.nominal - 1 <= 0.03
    assert nominal(eight.coercivity_j) / eight.coercivity_b.nominal - 1 == pytest.approx(0.13, abs=0.005)


@pytest.mark.parametrize(
    ("grade", "which"),
    [(g, w) for w, table in (("typical", TYPICAL), ("minimum", MINIMUM)) for g in table if g.startswith("alnico")],
)
def test_the_knee_of_alnico_is_the_stated_estimate_and_is_marked_assumed(grade: str, which: str) -> None:
    """B = sqrt(BHmax Br / HcB), H = -sqrt(BHmax HcB / Br): so B |H| = BHmax and B / |H| = Br / HcB (no source)."""
    m = magnet(grade, which)
    b, h = nominal(m.knee_b), nominal(m.knee_h)
    assert -b * h == pytest.approx(nominal(m.energy_product), rel=1e-3)  # four printed digits
    assert -b / h == pytest.approx(m.remanence.nominal / m.coercivity_b.nominal, rel=1e-3)
    assert 0 < b < m.remanence.nominal
    assert -m.coercivity_b.nominal < h < 0
    row = next(r for r in m.rows if r.endswith("knee"))
    assert catalogue().row(row).known == "assumed"
    assert "sqrt(BHmax" in catalogue().row(row).conditions


def test_the_knee_of_alnico_5_lies_on_its_recoil_line() -> None:
    """A second route to the knee, by Br - mu0 mu_rec |H| with M11's 4.3: the two estimates agree within 3 %."""
    m = magnet("alnico 5")
    line = m.remanence.nominal + MU0 * m.recoil_permeability.nominal * nominal(m.knee_h)
    assert nominal(m.knee_b) == pytest.approx(line, rel=0.03)


@pytest.mark.parametrize("grade", ["ferrite C1", "ferrite C5", "ferrite C8", "NdFeB N42"])
def test_the_knee_of_a_straight_line_magnet_is_on_its_line(grade: str) -> None:
    m = magnet(grade)
    line = m.remanence.nominal + MU0 * m.recoil_permeability.nominal * nominal(m.knee_h)
    assert nominal(m.knee_b) == pytest.approx(line, abs=2e-4)
    assert nominal(m.knee_h) == pytest.approx(-0.9 * nominal(m.coercivity_j), rel=1e-3)


# metals: name, uohm cm, tolerance of the list, source
METALS = [
    ("low-carbon steel", 17.1, 0.05, "M20: AISI 1018 data sheet, interpolated to 20 C"),
    ("brass", 6.158, 0.05, "M22: C26000, 28 % IACS"),
    ("brass with 63 % copper", 7.1, 0.05, "M22"),
    ("brass with 58 % copper", 5.9, 0.05, "M22"),
    ("nickel silver C74500", 19.157, 0.05, "M23: 9.0 % IACS"),
    ("nickel silver C73100", 22.989, 0.05, "M23: 7.5 % IACS"),
    ("nickel silver", 28.736, 0.05, "M23: C75200, 6 % IACS, memory (hi)"),
    ("copper-nickel", 19.1, 0.02, "M24: C70600 data sheet"),
]


@pytest.mark.parametrize(
    ("name", "uohm_cm", "tolerance", "source"), METALS, ids=[m[3][:3] + "-" + m[0] for m in METALS]
)
def test_resistivity_of_metals(name: str, uohm_cm: float, tolerance: float, source: str) -> None:
    """Transcribed figures are equal to the print; the row's own spread must be no tighter than the listed tolerance."""
    found = metal(name).resistivity
    assert found.nominal == pytest.approx(uohm_cm * 1e-8, rel=1e-6), source
    assert found.high / found.nominal - 1 >= tolerance * 0.999


@pytest.mark.parametrize(
    ("name", "percent"),
    [("brass", 28), ("nickel silver C74500", 9.0), ("nickel silver C73100", 7.5), ("nickel silver", 6),
     ("copper-nickel", 9.0)],
    ids=lambda v: str(v),
)  # fmt: skip
def test_resistivity_agrees_with_the_percentage_of_the_annealed_standard(name: str, percent: float) -> None:
    """M22-M24: 1.724138 / x uohm cm, to the last printed digit.

    Copper-nickel prints both 19.1 uohm cm and 9.0 %, which differ by 0.3 %.
    """
    iacs = metal("copper").resistivity.nominal / (percent / 100)
    assert metal(name).resistivity.nominal == pytest.approx(iacs, rel=4e-3 if name == "copper-nickel" else 1e-4)


def test_steel_is_interpolated_to_twenty_degrees_and_not_taken_at_zero() -> None:
    """M20, trap T4: 15.9 at 0 C, 21.9 at 100 C, hence 17.1; 7.87 g/cm3 and 200 GPa."""
    cold, hot = (value("metal.low-carbon-steel", n).nominal for n in ("resistivity_0c", "resistivity_100c"))
    steel = metal("AISI 1018")
    assert (cold, hot) == pytest.approx((15.9e-8, 21.9e-8))
    assert steel.resistivity.nominal == pytest.approx(cold + 0.2 * (hot - cold), rel=1e-9)
    assert steel.density.nominal == 7870
    assert value("metal.low-carbon-steel", "modulus").nominal == pytest.approx(200e9)
    assert steel.temperature_coefficient is not None
    assert steel.temperature_coefficient.nominal == pytest.approx(
        (hot - cold) / 100 / steel.resistivity.nominal, rel=0.01
    )


def test_steel_has_a_wide_permeability_and_copper_alloys_have_none() -> None:
    steel = metal("low-carbon steel")
    assert steel.relative_permeability.high / steel.relative_permeability.low >= 10
    for name in ("copper", "brass", "nickel silver"):
        assert metal(name).relative_permeability == Spread(1, 1, 1)
        assert metal(name).saturation is None


def test_saturation_of_iron_nickel_and_string_steel() -> None:
    """S11, memory (hi), after Bozorth: string steel 1.9 to 2.0 T, nickel 0.61 T, iron 2.15 T as the upper bound."""
    steel = string_material("string steel")
    assert (steel.saturation.low, steel.saturation.high) == pytest.approx((1.9, 2.0))
    assert string_material("nickel").saturation.nominal == pytest.approx(0.61)
    assert nominal(metal("nickel").saturation) == pytest.approx(0.61)
    iron = metal("low-carbon steel").saturation
    assert iron is not None
    assert iron.high == pytest.approx(2.15)
    for wrap in ("bronze", "brass"):
        assert string_material(wrap).saturation == Spread(0, 0, 0)


def test_string_steel() -> None:
    """S03: 7850 kg/m3 within 0.5 % of the formula sheet's 0.283 lb/in3; S10: 190 to 210 GPa."""
    steel = string_material("string steel")
    assert steel.density.nominal == pytest.approx(0.283 * 0.45359237 / 0.0254**3, rel=5e-3)
    assert steel.density.nominal == 7850
    assert steel.modulus is not None
    assert (steel.modulus.low, steel.modulus.nominal, steel.modulus.high) == pytest.approx((190e9, 200e9, 210e9))


# name, permittivity, half-width of the list, solderable, source
ENAMELS = [
    ("polyurethane", 3.7, 0.5, True, "W27 and F11"),
    ("polyurethane 155", 3.7, 0.5, True, "W27 and F11"),
    ("polyester-imide", 3.7, 0.4, True, "W28 and F12"),
    ("polyamide-imide", 4.2, 0.4, False, "W28"),
    ("polyester", 3.1, 0.4, False, "W28: 3.0 to 3.2"),
    ("polyimide", 3.4, 0.4, False, "W28"),
    ("polyvinyl formal", 3.7, 0.5, False, "W29: 3.0 to 3.9, and F13"),
    ("plain enamel", 4.0, 1.0, False, "W30: about 3.5 to 4.5, and F13"),
]


@pytest.mark.parametrize(
    ("name", "permittivity", "half", "solderable", "source"), ENAMELS, ids=[f"{e[4][:3]}-{e[0]}" for e in ENAMELS]
)
def test_enamels(name: str, permittivity: float, half: float, solderable: bool, source: str) -> None:
    """W27, W28: an open data set of insulation; W29, W30: handbooks from memory (mid, lo)."""
    found = enamel(name)
    assert found.permittivity.nominal == pytest.approx(permittivity, abs=1e-9), source
    assert found.permittivity.low >= permittivity - half - 0.21  # W29 prints a range of its own, 3.0 to 3.9
    assert found.permittivity.high <= permittivity + half + 1e-9
    assert found.solderable is solderable
    assert (found.solder_temperature is not None) is solderable
    # Clausius-Mossotti needs more than 1; polymers weigh about what water does, up to one and a half
    assert 900 < found.density.low < found.density.high < 1500


@pytest.mark.parametrize(
    ("name", "celsius", "low", "high"),
    [("polyurethane", 390, 370, 410), ("polyurethane 155", 390, 370, 410), ("polyester-imide", 470, 450, 490)],
    ids=["F11", "F11-155", "F12"],
)
def test_solder_temperatures(name: str, celsius: float, low: float, high: float) -> None:
    """F11: trade page 390 C upward, a wire maker 370 C; F12: memory (mid); 20 K either way."""
    found = enamel(name).solder_temperature
    assert found is not None
    assert [t - 273.15 for t in (found.low, found.nominal, found.high)] == pytest.approx([low, celsius, high])


def test_every_listed_enamel_is_in_the_catalogue() -> None:
    assert set(names("enamel")) == {e[0] for e in ENAMELS}


def test_the_converter_knows_the_definitions() -> None:
    """Exact by definition: inch 25.4 mm, gram-force 9.80665 mN, 0 C 273.15 K; 1 uohm cm = 1e-8 ohm m."""
    assert to_si(1, "in") == pytest.approx(0.0254, rel=1e-15)
    assert to_si(1, "mil") == pytest.approx(25.4e-6, rel=1e-15)
    assert to_si(18, "gf") == pytest.approx(18 * 9.80665e-3, rel=1e-15)
    assert to_si(20, "C") == pytest.approx(293.15, rel=1e-15)
    assert to_si(470, "nohm m") == pytest.approx(to_si(47, "uohm cm"), rel=1e-12)
    assert to_si(1, "g/cm3") == 1000


# elements, g/cm3, handbook values from memory (hi)
ELEMENTS = {"Cu": 8.96, "Zn": 7.14, "Ni": 8.91, "Al": 2.70}


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("brass", {"Cu": 0.70, "Zn": 0.30}),
        ("brass with 63 % copper", {"Cu": 0.63, "Zn": 0.37}),
        ("brass with 58 % copper", {"Cu": 0.58, "Zn": 0.42}),
        ("nickel silver", {"Cu": 0.65, "Ni": 0.18, "Zn": 0.17}),
        ("nickel silver C74500", {"Cu": 0.65, "Ni": 0.10, "Zn": 0.25}),
        ("copper-nickel", {"Cu": 0.90, "Ni": 0.10}),
        ("copper", {"Cu": 1.0}),
        ("nickel", {"Ni": 1.0}),
        ("aluminium", {"Al": 1.0}),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)
def test_density_of_a_metal_is_that_of_its_elements_mixed(name: str, parts: dict[str, float]) -> None:
    """Specific volumes of the elements added by mass. Brass packs closer than its elements: 4 %; elements: 1 %."""
    mixed = 1e3 / sum(share / ELEMENTS[element] for element, share in parts.items())
    assert metal(name).density.nominal == pytest.approx(mixed, rel=0.01 if len(parts) == 1 else 0.04)


def test_densities_that_were_read_in_a_data_sheet() -> None:
    """C26000 8.53 and C70600 8.94 g/cm3: makers' data sheets, read."""
    assert metal("brass C26000").density.nominal == 8530
    assert metal("copper-nickel").density.nominal == 8940


def test_only_iron_and_nickel_are_magnetic() -> None:
    magnetic = {"low-carbon steel", "nickel"}
    for name in names("metals"):
        permeability = metal(name).relative_permeability
        if name in magnetic:
            assert permeability.low >= 50
        else:
            assert permeability.nominal == 1
            assert permeability.high <= 1.1
