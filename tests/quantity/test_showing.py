"""Quantities as text: print-then-read is the identity; rounding for people keeps to its digits."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from lodestring.errors import QuantityError
from lodestring.quantity import Kind, Quantity, read, show, show_inches, show_value, units
from lodestring.quantity.spelling import spellings

KINDS = st.sampled_from(list(Kind))
ANY_SIZE = st.floats(allow_nan=False, allow_infinity=False)
# Hypothesis favours extreme floats; a maker's values lie between a nanometre and a kilometre, so half the draws do too.
USUAL = st.floats(1e-9, 1e3).flatmap(lambda x: st.sampled_from([x, -x]))
SHORT = st.builds(lambda n, p: float(Fraction(n) * Fraction(10) ** p), st.integers(-9999, 9999), st.integers(-12, 6))


@st.composite
def quantities(draw: st.DrawFn) -> Quantity:
    kind = draw(KINDS)
    value = draw(ANY_SIZE | USUAL | SHORT)
    half = draw(st.none() | (ANY_SIZE | USUAL | SHORT).map(abs))
    return Quantity(kind, abs(value) if kind is Kind.TEMPERATURE else value, half)


@given(quantities())
@example(Quantity(Kind.TEMPERATURE, 5e-324, 5e-324))
@example(Quantity(Kind.TEMPERATURE, 1.7976931348623157e308))
@example(Quantity(Kind.LENGTH, 1.7976931348623157e308, 1.7976931348623157e308))
@example(Quantity(Kind.ANGLE, 5e-324))
@example(Quantity(Kind.RATIO, -0.0))
def test_print_then_read_is_the_identity(quantity: Quantity) -> None:
    assert read(show(quantity), quantity.kind) == quantity


def test_the_longest_spelling_with_all_digits_still_fits_what_may_be_typed() -> None:
    quantity = Quantity(Kind.CAPACITANCE_PER_LENGTH, 328.7782042887547, 1.4840834899840248e34)
    assert read(show(quantity, "picofarad/1000 ft"), quantity.kind) == quantity


@given(quantities(), st.data())
def test_print_then_read_is_the_identity_in_every_spelling_of_every_unit(
    quantity: Quantity, data: st.DataObject
) -> None:
    assume(quantity.kind is not Kind.RATIO)
    unit = data.draw(st.sampled_from(spellings(quantity.kind)))
    assert read(show(quantity, unit), quantity.kind) == quantity


@pytest.mark.parametrize("kind", [k for k in Kind if k is not Kind.RATIO])
def test_every_unit_and_spelling_is_printed_and_read(kind: Kind) -> None:
    assert set(units(kind)) <= set(spellings(kind))
    for unit in spellings(kind):
        quantity = Quantity(kind, 1 / 3, 0.1)
        text = show(quantity, unit)
        assert text.count(unit) >= 2, "value and half-width carry the unit that was asked for"
        assert read(text, kind) == quantity


@given(quantities(), st.integers(1, 17))
def test_rounding_for_people_errs_by_half_a_digit_at_most(quantity: Quantity, digits: int) -> None:
    # Rounded up past the largest float, or down to a zero, a text cannot be read back; nobody is shown such values.
    assume(quantity.value == 0 or 1e-290 < abs(quantity.value) < 1e290)
    assume(not quantity.half_width or 1e-290 < quantity.half_width < 1e290)
    # In K, without an offset: half a unit of the last digit (relative to a leading one), and two float roundings.
    unit = "K" if quantity.kind is Kind.TEMPERATURE else None
    back = read(show(quantity, unit, digits), quantity.kind)
    assert back.value == pytest.approx(quantity.value, rel=0.5 * 10.0 ** (1 - digits) + 4e-16, abs=0)
    assert (back.half_width is None) == (quantity.half_width is None)
    if quantity.half_width is not None:
        most = 0.5 * 10.0 ** (1 - min(digits, 2)) + 4e-16
        assert back.half_width == pytest.approx(quantity.half_width, rel=most, abs=0)


@given(quantities(), st.integers(1, 17))
def test_no_more_digits_are_shown_than_were_asked_for(quantity: Quantity, digits: int) -> None:
    number = show(Quantity(quantity.kind, quantity.value), None, digits).split("e")[0].split(" ")[0]
    assert len(re.sub(r"[^0-9]", "", number).strip("0")) <= digits


EXACT = [
    ("39.6875 mm", Kind.LENGTH, None, "39.6875 mm"),
    ("39.6875 mm", Kind.LENGTH, "in", "1.5625 in"),
    ("39.6875 mm", Kind.LENGTH, '"', '1.5625"'),
    ("0.063 mm", Kind.LENGTH, None, "0.063 mm"),
    ("63 um", Kind.LENGTH, "µm", "63 µm"),
    ("1234 m", Kind.LENGTH, None, "1234 m"),
    ("7.5k", Kind.RESISTANCE, None, "7.5 kOhm"),
    ("7.5k", Kind.RESISTANCE, "kΩ", "7.5 kΩ"),
    ("62 °C", Kind.TEMPERATURE, None, "62 C"),
    ("68 F", Kind.TEMPERATURE, None, "20 C"),
    ("62 C ± 2", Kind.TEMPERATURE, None, "62 C ± 2 C"),
    ("18 gf", Kind.FORCE, None, "18 gf"),
    ("0.2 N", Kind.FORCE, None, "200 mN"),
    ("100 s", Kind.TIME, None, "100 s"),
    ("45 min", Kind.TIME, None, "45 min"),
    ("4n7", Kind.CAPACITANCE, None, "4.7 nF"),
    ("200 rpm", Kind.TURN_RATE, None, "200 turns/min"),
    ("3 %", Kind.PERCENT, None, "3 %"),
    ("1/4", Kind.RATIO, None, "0.25"),
    ("5 mm ± 2 %", Kind.LENGTH, None, "5 mm ± 0.1 mm"),
    ("0 mm", Kind.LENGTH, None, "0 mm"),
]


@pytest.mark.parametrize(("text", "kind", "unit", "shown"), EXACT, ids=[f"{t} in {u}" for t, _, u, _ in EXACT])
def test_an_exact_text_is_short_and_in_a_fitting_unit(text: str, kind: Kind, unit: str | None, shown: str) -> None:
    assert show(read(text, kind), unit) == shown


ROUNDED = [
    (0.0396875, Kind.LENGTH, None, 3, "39.7 mm"),
    (0.0396875, Kind.LENGTH, "in", 3, "1.56 in"),
    (999.6, Kind.RESISTANCE, None, 3, "1 kOhm"),
    (999.4, Kind.RESISTANCE, None, 3, "999 ohm"),
    (6789.0, Kind.RESISTANCE, None, 2, "6.8 kOhm"),
    (12345.0, Kind.RESISTANCE, "ohm", 3, "12300 ohm"),
    (-0.0196, Kind.LENGTH, None, 2, "-20 mm"),
    (0.025, Kind.LENGTH, None, 3, "25 mm"),
    (293.15, Kind.TEMPERATURE, None, 3, "20 C"),
    (293.15, Kind.TEMPERATURE, "°F", 3, "68 °F"),
    (0.0, Kind.RESISTANCE, None, 3, "0 ohm"),
    (5400.0, Kind.TIME, None, 3, "90 min"),
    (1.7241e-8, Kind.RESISTIVITY, None, 4, "17.24 nOhm m"),
]


@pytest.mark.parametrize(("value", "kind", "unit", "digits", "shown"), ROUNDED, ids=[r[-1] for r in ROUNDED])
def test_a_value_is_rounded_for_people(value: float, kind: Kind, unit: str | None, digits: int, shown: str) -> None:
    assert show_value(value, kind, unit, digits) == shown


@pytest.mark.parametrize(
    ("value", "denominator", "shown"),
    [
        (0.0396875, 64, "1 9/16 in"),
        (0.0142875, 64, "9/16 in"),
        (0.0254, 64, "1 in"),
        (-0.0396875, 64, "-1 9/16 in"),
        (0.0, 64, "0 in"),
        (0.04, 64, "≈ 1 37/64 in"),
        (0.04, 8, "≈ 1 5/8 in"),
        (0.0396875, 4, "≈ 1 1/2 in"),
        (0.00001, 64, "≈ 0 in"),
        (-0.00001, 64, "≈ 0 in"),
    ],
)
def test_inches_are_shown_as_fractions_and_marked_when_rounded(value: float, denominator: int, shown: str) -> None:
    # By hand: 40 mm = 1.5748 in = 1 36.79/64 in = 12.6/8 in; 1 9/16 in = 6.25/4 in.
    assert show_inches(value, denominator) == shown


@given(st.integers(-64 * 40, 64 * 40))
def test_an_exact_inch_fraction_is_read_back(parts: int) -> None:
    value = float(Fraction(parts, 64) * Fraction(254, 10000))
    text = show_inches(value)
    assert "≈" not in text
    assert read(text, Kind.LENGTH).value == value


@pytest.mark.parametrize("unit", ["kg", "", "furlong", "\x00"])
def test_a_unit_of_another_kind_is_refused(unit: str) -> None:
    with pytest.raises(QuantityError, match="unit must be one of length"):
        show_value(1.0, Kind.LENGTH, unit)


@pytest.mark.parametrize("digits", [0, -1, 18, True])
def test_a_count_of_digits_outside_a_float_is_refused(digits: int) -> None:
    with pytest.raises(QuantityError, match="digits"):
        show_value(1.0, Kind.LENGTH, None, digits)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_value_that_is_not_finite_is_not_shown(value: float) -> None:
    with pytest.raises(QuantityError, match="finite"):
        show_value(value, Kind.LENGTH)
    with pytest.raises(QuantityError, match="finite"):
        show_inches(value)


@pytest.mark.parametrize("denominator", [0, -8, 2000, 2.5, True])
def test_a_division_of_an_inch_that_no_rule_has_is_refused(denominator: int) -> None:
    with pytest.raises(QuantityError, match="division of an inch"):
        show_inches(0.01, denominator)
