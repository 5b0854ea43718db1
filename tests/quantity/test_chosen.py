"""Figures in the maker's own units: rounded as a rule and a pair of calipers have it, read back to the same size."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.quantity import Kind, Units, read
from lodestring.quantity.chosen import nearest
from lodestring.quantity.figures import drawn_inches, figure, same_in

INCH = 0.0254
FRACTIONS, DECIMALS = Units(length="inch fractions"), Units(length="inch decimals")

# Inch fractions and their decimals: handbook tables, from memory; exact by division.
TABLE = {
    "1/64": 0.015625, "1/16": 0.0625, "3/32": 0.09375, "1/8": 0.125, "19/64": 0.296875, "1/2": 0.5, "63/64": 0.984375,
    "1": 1.0, "1 9/16": 1.5625, "2 37/64": 2.578125,
}  # fmt: skip


@pytest.mark.parametrize(("words", "inches"), TABLE.items(), ids=TABLE)
def test_fractions_are_those_of_the_handbook(words: str, inches: float) -> None:
    assert nearest(inches * INCH)[0] == words
    assert abs(nearest(inches * INCH)[1]) < 1e-12


@given(st.floats(0.0016, 1.9))
def test_a_fraction_that_is_shown_reads_back_within_half_a_sixty_fourth(metres: float) -> None:
    told = figure(metres, "m", units=FRACTIONS)
    assert told.unit == "in"
    back = read(f"{told.value.removeprefix('≈ ')} in", Kind.LENGTH).value
    assert abs(back - metres) <= INCH / 128 + 1e-12
    assert told.value.startswith("≈") is (abs(back - metres) > 1e-9), "a rest is never hidden"


@given(st.floats(0.0002, 1.9))
def test_decimals_that_are_shown_read_back_within_half_of_their_last_place(metres: float) -> None:
    told = figure(metres, "m", units=DECIMALS).value
    places = len(told.partition(".")[2])
    back = read(f"{told} in", Kind.LENGTH).value
    assert abs(back - metres) <= 0.5 * 10.0**-places * INCH + 1e-12


@given(st.floats(0.003, 1.0), st.floats(0.0, 0.2))
def test_an_interval_stays_in_order_and_holds_its_value(metres: float, spread: float) -> None:
    low, high = metres * (1 - spread), metres * (1 + spread)
    told = figure(metres, "m", low, high, FRACTIONS)
    if told.interval:
        ends = [read(f"{end} in", Kind.LENGTH).value for end in told.interval.split(" to ")]
        value = read(f"{told.value.removeprefix('≈ ')} in", Kind.LENGTH).value
        assert ends[0] <= value + INCH / 64
        assert value - INCH / 64 <= ends[1]


SAID = {
    "a whole fraction": ("39.6875 mm", FRACTIONS, "= 1 9/16 in"),
    "a rest is said": ("40 mm", FRACTIONS, "≈ 1 37/64 in (1.575)"),
    "typed in inches, shown in mm": ("1 9/16 in", Units(), "≈ 39.688 mm"),
    "thousandths where fractions are coarse": ("0.1 mm", FRACTIONS, "≈ 0.00394 in"),
    "a mass": ("1 oz", Units(mass="g"), "≈ 28.35 g"),
    "resistance has no choice": ("6.2k", FRACTIONS, ""),
}


@pytest.mark.parametrize(("typed", "units", "said"), SAID.values(), ids=SAID)
def test_what_was_typed_is_said_once_more_in_the_chosen_unit(typed: str, units: Units, said: str) -> None:
    kind = Kind.RESISTANCE if typed.endswith("k") else Kind.MASS if "oz" in typed else Kind.LENGTH
    assert same_in(read(typed, kind), units) == said


def test_electrical_units_stay() -> None:
    for unit in ("ohm", "H", "F", "Hz", "T"):
        assert figure(1.234, unit, units=FRACTIONS) == figure(1.234, unit)


def test_a_drawing_says_a_fraction_only_where_it_is_one_as_near_as_a_knife_goes() -> None:
    assert drawn_inches(INCH * 3 / 16, FRACTIONS) == "3/16"
    assert drawn_inches(INCH * (3 / 16 + 0.0015), FRACTIONS) == "3/16"
    assert drawn_inches(INCH * (3 / 16 + 0.0040), FRACTIONS) == "0.192"
    assert drawn_inches(INCH * 0.1891, DECIMALS) == "0.189"
