"""Diameters and resistances of copper wire against ASTM B258, NEMA MW 1000, IEC 60317-0-1 and printed tables.

Expected numbers were written here by hand from the design's list of check values (W rows), not read from the data.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from lodestring.quantity import WireSize
from lodestring.reference import catalogue, metal, wire, wire_sizes

FOOT = 0.3048  # m, exact

# W02: the formula of ASTM B258, six decimals of a millimetre (computed independently)
FORMULA_MM = {
    36: 0.127000, 37: 0.113097, 38: 0.100716, 39: 0.089690, 40: 0.079871, 41: 0.071127,
    42: 0.063341, 43: 0.056406, 44: 0.050231, 45: 0.044732, 46: 0.039835,
}  # fmt: skip
# W05 (NEMA MW 1000 page, read) and W06 (ASTM B258-61; mil values from memory, hi)
ROUNDED_MIL = {36: 5.0, 37: 4.5, 38: 4.0, 39: 3.5, 40: 3.1, 41: 2.8, 42: 2.5, 43: 2.2, 44: 2.0, 45: 1.76, 46: 1.57}
# W09-W16: NEMA MW 1000 C through an open data set: bare, single overall, heavy overall; min, nominal, max in um
NEMA_UM = {
    36: ((124, 127, 130), (135, 141, 147), (145, 152, 160)),  # 36, 37, 39: not in the list, read in the same data set
    37: ((112, 114, 117), (119, 126, 132), (132, 138, 145)),
    39: ((86, 89, 91), (91, 98, 104), (102, 108, 114)),
    38: ((99, 102, 104), (107, 113, 119), (117, 123, 130)),
    40: ((76, 79, 81), (81, 88, 94), (91, 97, 102)),
    41: ((69, 71, 74), (74, 79, 84), (81, 86, 91)),
    42: ((61, 64, 66), (66, 71, 76), (71, 76, 81)),
    43: ((53, 56, 58), (58, 62, 66), (64, 69, 74)),
    44: ((48, 51, 53), (53, 57, 61), (58, 64, 69)),
    45: ((42.9, 44.7, 46.4), (45.5, 48.8, 52.1), (50.5, 54.5, 58.4)),
    46: ((38.4, 39.9, 41.7), (40.9, 43.9, 47.0), (46.0, 49.7, 53.3)),
}
# W18, W19: IEC 60317-0-1, least and greatest overall diameter in um, grade 1 and grade 2
IEC_UM = {
    50: ((55, 60), (61, 66)), 56: ((62, 67), (68, 74)), 60: ((66, 72), (73, 79)), 63: ((69, 76), (77, 83)),
    71: ((78, 84), (85, 91)), 80: ((87, 94), (95, 101)), 90: ((98, 105), (106, 113)), 100: ((108, 117), (118, 125)),
    # not in the list, read in the same data set
    40: ((44, 49), (50, 54)), 43: ((47, 52), (53, 58)), 45: ((50, 55), (56, 61)), 48: ((53, 59), (60, 64)),
    53: ((58, 64), (65, 70)), 67: ((74, 80), (81, 88)), 70: ((77, 83), (84, 90)), 75: ((82, 89), (90, 95)),
    85: ((93, 100), (101, 107)), 95: ((103, 111), (112, 119)), 106: ((115, 123), (124, 132)),
    110: ((119, 128), (129, 137)), 112: ((121, 130), (131, 139)), 118: ((128, 136), (137, 145)),
    120: ((130, 138), (139, 148)), 125: ((135, 144), (145, 154)),
}  # fmt: skip


def tag(name: str) -> Callable[[object], str]:
    """Ids of a table of cases: the check value's number before the case's first column."""
    return lambda v: f"{name}-{v}" if isinstance(v, int) else str(v)


def ohm_per_metre(diameter: float) -> float:
    """R/l = rho / (pi d^2 / 4) with the catalogue's copper."""
    return metal("copper").resistivity.nominal / (math.pi * diameter**2 / 4)


def bare(gauge: int, kind: str) -> float:
    value = catalogue().row(f"wire.awg-{gauge}.{kind}")["bare"].value
    assert value is not None
    return value


def gauge(number: int) -> WireSize:
    return WireSize("AWG", number=number)


def millimetres(diameter: float) -> WireSize:
    return WireSize("metric", diameter=diameter * 1e-3)


@pytest.mark.parametrize("number", FORMULA_MM, ids=lambda n: f"W01-W02-awg-{n}")
def test_the_formula_row_is_the_gauges_definition(number: int) -> None:
    """W01: d = 0.127 mm x 92^((36 - n)/39), ASTM B258; W02's table is printed to 1e-6 mm, hence half of that."""
    assert bare(number, "formula") * 1e3 == pytest.approx(FORMULA_MM[number], abs=0.51e-6)
    assert bare(number, "formula") * 1e3 == pytest.approx(0.127 * 92 ** ((36 - number) / 39), rel=1e-8)


@pytest.mark.parametrize("number", ROUNDED_MIL, ids=lambda n: f"W05-W06-awg-{n}")
def test_the_rounded_row_is_the_magnet_wire_nominal_and_the_default(number: int) -> None:
    """Trap T1: the two nominals are two rows, and `wire` takes the rounded one. 25.4 um per mil is exact."""
    assert bare(number, "rounded") * 1e6 == pytest.approx(ROUNDED_MIL[number] * 25.4, rel=1e-12)
    assert wire(gauge(number), "single").bare.nominal == bare(number, "rounded")


@pytest.mark.parametrize(
    ("number", "ohm_per_km"),
    [(40, 3441.145), (41, 4339.204), (42, 5471.635), (43, 6899.604), (44, 8700.240), (45, 10970.800), (46, 13833.923)],
    ids=tag("W03"),
)
def test_resistance_from_the_formula_diameter(number: int, ohm_per_km: float) -> None:
    """W03, computed independently with rho = 1/58; rel 1e-6 as listed (the last printed digit)."""
    assert ohm_per_metre(bare(number, "formula")) * 1e3 == pytest.approx(ohm_per_km, rel=1e-6)


@pytest.mark.parametrize(
    ("number", "printed", "computed"),
    [(36, 414.8, 414.849), (37, 523.1, 523.114), (38, 659.6, 659.635), (39, 831.8, 831.785), (40, 1049, 1048.861)],
    ids=tag("W04"),
)
def test_a_textbooks_ohms_per_thousand_feet_come_from_the_formula(number: int, printed: float, computed: float) -> None:
    """W04: Floyd, Electric Circuit Fundamentals (hyperphysics table); four printed digits, hence 5e-4."""
    ohms = ohm_per_metre(bare(number, "formula")) * 1000 * FOOT
    assert ohms == pytest.approx(printed, rel=5e-4)
    assert ohms == pytest.approx(computed, rel=2e-6)


@pytest.mark.parametrize(
    ("number", "per_kft", "per_km"),
    [
        (40, 1079.21, 3540.72),
        (41, 1322.86, 4340.09),
        (42, 1659.39, 5444.21),
        (43, 2142.81, 7030.23),
        (44, 2592.80, 8506.57),
        (45, 3348.15, 10984.73),
        (46, 4207.56, 13804.33),
    ],
    ids=tag("W07-W08"),
)
def test_resistance_from_the_rounded_diameter(number: int, per_kft: float, per_km: float) -> None:
    """W07, W08: computed independently, rel 1e-5; NEMA MW 1000 prints 1079, 1323, 1659, 2143, 2593 for 40 to 44."""
    one = ohm_per_metre(wire(gauge(number), "single").bare.nominal)
    assert one * 1000 * FOOT == pytest.approx(per_kft, rel=1e-5)
    assert one * 1000 == pytest.approx(per_km, rel=1e-5)
    printed = {40: 1079, 41: 1323, 42: 1659, 43: 2143, 44: 2593}
    if number in printed:
        assert one * 1000 * FOOT == pytest.approx(printed[number], rel=5e-4)


@pytest.mark.parametrize("number", NEMA_UM, ids=lambda n: f"W09-W16-awg-{n}")
def test_gauges_have_the_nema_diameters(number: int) -> None:
    """W09-W16. The figures are transcribed to the printed digit, hence a nanometre and not the 1 um of print."""
    bare_um, single_um, heavy_um = NEMA_UM[number]
    for film, overall_um in (("single", single_um), ("heavy", heavy_um)):
        found = wire(gauge(number), film)
        got = [x * 1e6 for x in (found.overall.low, found.overall.nominal, found.overall.high)]
        assert got == pytest.approx(list(overall_um), abs=1e-3)
        assert [found.bare.low * 1e6, found.bare.high * 1e6] == pytest.approx([bare_um[0], bare_um[2]], abs=1e-3)
        # the rounded nominal in mil and the data set's nominal in whole um are one diameter, to its rounding
        assert found.bare.nominal * 1e6 == pytest.approx(bare_um[1], abs=0.6)


@pytest.mark.parametrize(
    ("number", "most_mil"), [(36, 5.8), (37, 5.2), (38, 4.7), (39, 4.1), (40, 3.7)], ids=tag("W17")
)
def test_two_transcriptions_agree_on_the_greatest_single_film_diameter(number: int, most_mil: float) -> None:
    """W17: a wire catalogue's page of NEMA MW 1000 against the data set; tenths of a mil and whole um: 0.05 mil."""
    row = catalogue().row(f"wire.awg-{number}.single-maximum")["overall_max"]
    assert row.value is not None
    assert row.value / 25.4e-6 == pytest.approx(most_mil)
    assert wire(gauge(number), "single").overall.high / 25.4e-6 == pytest.approx(most_mil, abs=0.05)


@pytest.mark.parametrize("size", IEC_UM, ids=lambda n: f"W18-W19-{n}-um")
def test_metric_sizes_have_the_iec_diameters(size: int) -> None:
    """W18, W19: IEC 60317-0-1 through the data set; 0.100 mm grade 1 also read on a trade page (108 to 117)."""
    for film, alias, limits in (("grade 1", "single", IEC_UM[size][0]), ("grade 2", "heavy", IEC_UM[size][1])):
        found = wire(millimetres(size / 1000), film)
        assert [found.overall.low * 1e6, found.overall.high * 1e6] == pytest.approx(list(limits), abs=1e-3)
        assert wire(millimetres(size / 1000), alias) == found
        assert found.bare.nominal * 1e6 == pytest.approx(size)


def test_every_size_is_ordered_thin_to_thick() -> None:
    """No source: what the words mean. Low <= nominal <= high, enamel outside copper, heavy outside single."""
    sizes = wire_sizes()
    assert len(sizes) == 11 + 24
    for text in sizes:
        size = gauge(int(text.split()[0])) if "AWG" in text else millimetres(float(text.split()[0]))
        single, heavy = wire(size, "single"), wire(size, "heavy")
        for found in (single, heavy):
            for spread in (found.bare, found.overall):
                assert 0 < spread.low <= spread.nominal <= spread.high, text
            assert found.overall.nominal > found.bare.nominal, text
            assert found.overall.low >= found.bare.low, text
            assert found.label == text
        assert heavy.overall.low > single.overall.low, text
        assert heavy.overall.nominal > single.overall.nominal, text
        assert heavy.overall.high > single.overall.high, text


def test_a_higher_gauge_and_a_smaller_metric_size_are_thinner() -> None:
    for group in ([t for t in wire_sizes() if "AWG" in t], [t for t in wire_sizes() if "mm" in t][::-1]):
        sizes = [gauge(int(t.split()[0])) if "AWG" in t else millimetres(float(t.split()[0])) for t in group]
        for film in ("single", "heavy"):
            found = [wire(s, film) for s in sizes]
            assert [f.bare.nominal for f in found] == sorted((f.bare.nominal for f in found), reverse=True)
            assert [f.overall.nominal for f in found] == sorted((f.overall.nominal for f in found), reverse=True)


def test_single_film_of_a_gauge_is_close_to_grade_1_of_the_metric_size_beside_it() -> None:
    """Two standards, one trade: 0.063 mm grade 1 overlaps 42 AWG single (63.5 um); the films differ by a few um."""
    metric, awg = wire(millimetres(0.063), "grade 1"), wire(gauge(42), "single")
    assert metric.overall.low < awg.overall.high
    assert awg.overall.low < metric.overall.high
    assert metric.overall.nominal == pytest.approx(awg.overall.nominal, abs=2e-6)


def test_copper_fill_of_the_square_lattice() -> None:
    """W26: geometry, 42 AWG single 0.62823 and heavy 0.54829 at nominal diameters; rel 1e-5 is the printed digits."""
    for film, fill in (("single", 0.62823), ("heavy", 0.54829)):
        found = wire(gauge(42), film)
        assert math.pi / 4 * (found.bare.nominal / found.overall.nominal) ** 2 == pytest.approx(fill, rel=1e-5)
