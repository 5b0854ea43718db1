"""Units against their published definitions.

Sources: [YP] international yard and pound agreement of 1959: 1 yd = 0.9144 m, 1 lb = 0.453 592 37 kg.
[SI] SI Brochure, 9th edition 2019: prefixes, min, h, d, degree, degree Celsius (t/C = T/K - 273.15).
[CGPM] 3rd CGPM 1901: standard gravity 9.806 65 m/s2. [811] NIST SP 811 (2008) appendix B: mil 2.54 E-05 m,
gauss 1.0 E-04 T, gram-force 9.806 65 E-03 N, pound-force 4.448 222 (exactly 4.448 221 615 260 5) N,
T/K = (t/F + 459.67)/1.8.
The numbers are typed from memory (hi) of these documents; each is an exact definition and appears in every edition.
"""

from __future__ import annotations

import math
from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.quantity import Kind, read
from lodestring.quantity.unit_tables import PI

DEFINITIONS = [
    ("1 in", Kind.LENGTH, "0.0254", "YP"),
    ("1 ft", Kind.LENGTH, "0.3048", "YP"),
    ("3 ft", Kind.LENGTH, "0.9144", "YP"),
    ("1 mil", Kind.LENGTH, "0.0000254", "811"),
    ("1 thou", Kind.LENGTH, "0.0000254", "811"),
    ("1 mm", Kind.LENGTH, "0.001", "SI"),
    ("1 um", Kind.LENGTH, "0.000001", "SI"),
    ("1 nm", Kind.LENGTH, "0.000000001", "SI"),
    ("1 cm", Kind.LENGTH, "0.01", "SI"),
    ("1 km", Kind.LENGTH, "1000", "SI"),
    ("1 lb", Kind.MASS, "0.45359237", "YP"),
    ("16 oz", Kind.MASS, "0.45359237", "YP"),
    ("1 g", Kind.MASS, "0.001", "SI"),
    ("1 g/m", Kind.MASS_PER_LENGTH, "0.001", "SI"),
    ("254 lb/in", Kind.MASS_PER_LENGTH, "4535.9237", "YP"),
    ("1 kOhm", Kind.RESISTANCE, "1000", "SI"),
    ("1 MOhm", Kind.RESISTANCE, "1000000", "SI"),
    ("1 mOhm", Kind.RESISTANCE, "0.001", "SI"),
    ("3048 ohm/1000 ft", Kind.RESISTANCE_PER_LENGTH, "10", "YP"),
    ("1 mH", Kind.INDUCTANCE, "0.001", "SI"),
    ("1 uF", Kind.CAPACITANCE, "0.000001", "SI"),
    ("1 nF", Kind.CAPACITANCE, "0.000000001", "SI"),
    ("1 pF", Kind.CAPACITANCE, "0.000000000001", "SI"),
    ("30.48 pF/ft", Kind.CAPACITANCE_PER_LENGTH, "0.0000000001", "YP"),
    ("1 kHz", Kind.FREQUENCY, "1000", "SI"),
    ("0 C", Kind.TEMPERATURE, "273.15", "SI"),
    ("-273.15 C", Kind.TEMPERATURE, "0", "SI"),
    ("32 F", Kind.TEMPERATURE, "273.15", "811"),
    ("212 F", Kind.TEMPERATURE, "373.15", "811"),
    ("-40 F", Kind.TEMPERATURE, "233.15", "811"),
    ("1 gf", Kind.FORCE, "0.00980665", "811"),
    ("1 kgf", Kind.FORCE, "9.80665", "CGPM"),
    ("1 lbf", Kind.FORCE, "4.4482216152605", "811"),
    ("16 ozf", Kind.FORCE, "4.4482216152605", "811"),
    ("1 G", Kind.FLUX_DENSITY, "0.0001", "811"),
    ("1 kG", Kind.FLUX_DENSITY, "0.1", "811"),
    ("1 min", Kind.TIME, "60", "SI"),
    ("1 h", Kind.TIME, "3600", "SI"),
    ("1 d", Kind.TIME, "86400", "SI"),
    ("60 rpm", Kind.TURN_RATE, "1", "SI"),
    ("1 %", Kind.PERCENT, "0.01", "SI"),
    ("1 g/cm3", Kind.DENSITY, "1000", "SI"),
    ("1 uOhm cm", Kind.RESISTIVITY, "0.00000001", "SI"),
    ("1 ohm mm2/m", Kind.RESISTIVITY, "0.000001", "SI"),
]


@pytest.mark.parametrize(
    ("text", "kind", "si", "source"), DEFINITIONS, ids=[f"{t} [{s}]" for t, _, _, s in DEFINITIONS]
)
def test_a_unit_has_its_defined_size(text: str, kind: Kind, si: str, source: str) -> None:
    # No tolerance: the definitions are exact and the value is rounded once.
    assert read(text, kind).value == float(si)


@pytest.mark.parametrize(
    ("text", "radian"),
    [("180 deg", math.pi), ("90 deg", math.pi / 2), ("45 deg", math.pi / 4), ("-180°", -math.pi)],
)
def test_half_a_turn_is_pi(text: str, radian: float) -> None:
    # math.pi is the float nearest to pi and its halves are exact, so these are equal.
    assert read(text, Kind.ANGLE).value == radian


def test_pi_agrees_with_machins_formula_to_every_place_written() -> None:
    """pi = 16 arctan(1/5) - 4 arctan(1/239) (Machin 1706), summed here in decimal arithmetic."""
    with localcontext() as context:
        context.prec = 80

        def arctan_of_inverse(n: int) -> Decimal:
            terms = (Decimal((-1) ** k) / ((2 * k + 1) * Decimal(n) ** (2 * k + 1)) for k in range(60))
            return sum(terms, Decimal(0))

        machin = 16 * arctan_of_inverse(5) - 4 * arctan_of_inverse(239)
        ours = Decimal(PI.numerator) / Decimal(PI.denominator)
        # 5e-63: pi is written down to 62 decimals.
        assert abs(machin - ours) <= Decimal("5e-63")


@given(whole=st.integers(0, 40), top=st.integers(1, 63))
def test_an_inch_fraction_is_rounded_once(whole: int, top: int) -> None:
    """Witness: the decimal module at 60 digits, and the float constructor, which rounds a decimal text correctly."""
    with localcontext() as context:
        context.prec = 60
        exact = (whole + Decimal(top) / 64) * Decimal("0.0254")
    assert read(f"{whole} {top}/64 in", Kind.LENGTH).value == float(str(exact))


@given(st.decimals(min_value=-459, max_value=5000, places=7))
def test_a_fahrenheit_temperature_is_rounded_once(fahrenheit: Decimal) -> None:
    """Witness: the decimal module at 60 digits; (t/F + 459.67)/1.8, [811]."""
    with localcontext() as context:
        context.prec = 60
        kelvin = (fahrenheit + Decimal("459.67")) / Decimal("1.8")
    assert read(f"{fahrenheit:f} F", Kind.TEMPERATURE).value == float(str(kelvin))


# IEC 60062:2016 clause 4, R examples as given second-hand in a public encyclopaedia article ("RKM code"); the standard
# itself was not read, the capacitance codes are from memory (hi).
LETTER_CODES = [
    ("R47", Kind.RESISTANCE, 0.47),
    ("4R7", Kind.RESISTANCE, 4.7),
    ("470R", Kind.RESISTANCE, 470.0),
    ("4K7", Kind.RESISTANCE, 4700.0),
    ("47K", Kind.RESISTANCE, 47e3),
    ("47K3", Kind.RESISTANCE, 47300.0),
    ("470K", Kind.RESISTANCE, 470e3),
    ("4M7", Kind.RESISTANCE, 4.7e6),
    ("6k8", Kind.RESISTANCE, 6800.0),
    ("p10", Kind.CAPACITANCE, 0.1e-12),
    ("4p7", Kind.CAPACITANCE, 4.7e-12),
    ("4n7", Kind.CAPACITANCE, 4.7e-9),
    ("33n", Kind.CAPACITANCE, 33e-9),
    ("3µ3", Kind.CAPACITANCE, 3.3e-6),
]


@pytest.mark.parametrize(("text", "kind", "value"), LETTER_CODES, ids=[t for t, _, _ in LETTER_CODES])
def test_a_letter_stands_in_place_of_the_decimal_sign(text: str, kind: Kind, value: float) -> None:
    assert read(text, kind).value == value
