"""What a maker types is read as a maker means it. Expected values follow from test_unit_definitions.py's sources."""

from __future__ import annotations

import subprocess
import sys

import pytest

from lodestring.quantity import Kind, Quantity, read

TYPED = [
    # The three that a general reader of units takes for something else without an error (architecture.md, row "units").
    ("1 9/16 in", Kind.LENGTH, 0.0396875),
    ("7.5k", Kind.RESISTANCE, 7500.0),
    ("3,5 mm", Kind.LENGTH, 0.0035),
    # Fractions.
    ("9/16 in", Kind.LENGTH, 0.0142875),
    ('1 9/16"', Kind.LENGTH, 0.0396875),
    ("1-9/16 in", Kind.LENGTH, 0.0396875),
    ("1 9 / 16 in", Kind.LENGTH, 0.0396875),
    ("1 9⁄16 in", Kind.LENGTH, 0.0396875),
    ("25 1/2 in", Kind.LENGTH, 0.6477),
    ("25½ in", Kind.LENGTH, 0.6477),
    ("½ in", Kind.LENGTH, 0.0127),
    ("-1 9/16 in", Kind.LENGTH, -0.0396875),
    # Signs, spaces, look-alikes.
    ('0.0025"', Kind.LENGTH, 0.0000635),
    ("0.0025 ″", Kind.LENGTH, 0.0000635),
    ("0.0025''", Kind.LENGTH, 0.0000635),
    ("2'", Kind.LENGTH, 0.6096),
    ("0,250 mm", Kind.LENGTH, 0.00025),
    ("12,5mm", Kind.LENGTH, 0.0125),
    ("1250,125 mm", Kind.LENGTH, 1.250125),
    (".5 mm", Kind.LENGTH, 0.0005),
    (",5 mm", Kind.LENGTH, 0.0005),
    ("+5 mm", Kind.LENGTH, 0.005),
    ("-19.5 mm", Kind.LENGTH, -0.0195),
    ("\u221219.5 mm", Kind.LENGTH, -0.0195),
    ("- 19.5 mm", Kind.LENGTH, -0.0195),
    ("  5\u00a0mm ", Kind.LENGTH, 0.005),
    ("63 um", Kind.LENGTH, 0.000063),
    ("63 \u00b5m", Kind.LENGTH, 0.000063),
    ("63 \u03bcm", Kind.LENGTH, 0.000063),
    ("1 thou", Kind.LENGTH, 0.0000254),
    ("5 Inches", Kind.LENGTH, 0.127),
    ("1e-3 m", Kind.LENGTH, 0.001),
    ("1,5E-3 m", Kind.LENGTH, 0.0015),
    # Prefixes and letters decided by the kind.
    ("7.5 kOhm", Kind.RESISTANCE, 7500.0),
    ("7.5 kΩ", Kind.RESISTANCE, 7500.0),
    ("7.5 k\u2126", Kind.RESISTANCE, 7500.0),
    ("7.5 kohm", Kind.RESISTANCE, 7500.0),
    ("7,5K", Kind.RESISTANCE, 7500.0),
    ("250k", Kind.RESISTANCE, 250e3),
    ("1M", Kind.RESISTANCE, 1e6),
    ("1 mOhm", Kind.RESISTANCE, 0.001),
    ("1 MOhm", Kind.RESISTANCE, 1e6),
    ("950 G", Kind.RESISTANCE, 950e9),
    ("950 G", Kind.FLUX_DENSITY, 0.095),
    ("95 mT", Kind.FLUX_DENSITY, 0.095),
    ("5 m", Kind.LENGTH, 5.0),
    ("62 F", Kind.CAPACITANCE, 62.0),
    ("68 F", Kind.TEMPERATURE, 293.15),
    ("62 C", Kind.TEMPERATURE, 335.15),
    ("62 °C", Kind.TEMPERATURE, 335.15),
    ("62 ℃", Kind.TEMPERATURE, 335.15),
    ("293 K", Kind.TEMPERATURE, 293.0),
    ("4.7 nF", Kind.CAPACITANCE, 4.7e-9),
    ("47n", Kind.CAPACITANCE, 47e-9),
    ("22p", Kind.CAPACITANCE, 22e-12),
    ("100 pF/m", Kind.CAPACITANCE_PER_LENGTH, 100e-12),
    ("15.8 g/m", Kind.MASS_PER_LENGTH, 0.0158),
    ("15.8 g / m", Kind.MASS_PER_LENGTH, 0.0158),
    ("18 gf", Kind.FORCE, 0.1765197),
    ("0.2 N", Kind.FORCE, 0.2),
    ("2.5H", Kind.INDUCTANCE, 2.5),
    ("45 min", Kind.TIME, 2700.0),
    ("180 /min", Kind.TURN_RATE, 3.0),
    ("180 turns/min", Kind.TURN_RATE, 3.0),
    ("180 turns a minute", Kind.TURN_RATE, 3.0),
    ("180 rpm", Kind.TURN_RATE, 3.0),
    ("3 %", Kind.PERCENT, 0.03),
    ("3%", Kind.PERCENT, 0.03),
    ("0.03", Kind.RATIO, 0.03),
    ("1 1/2", Kind.RATIO, 1.5),
    ("8.96 g/cm³", Kind.DENSITY, 8960.0),
    ("17.241 nΩ·m", Kind.RESISTIVITY, 17.241e-9),
    ("1.7241 µΩ cm", Kind.RESISTIVITY, 17.241e-9),
]


@pytest.mark.parametrize(("text", "kind", "value"), TYPED, ids=[f"{t} as {k}" for t, k, _ in TYPED])
def test_a_text_is_read_as_the_kind_that_is_expected(text: str, kind: Kind, value: float) -> None:
    # Equal, not close: a literal and a text of the same decimal are the same float when the text is rounded once.
    assert read(text, kind) == Quantity(kind, value)
    assert read(text, kind).text == text


HALF_WIDTHS = [
    ("5 mm ± 0.1", Kind.LENGTH, 0.005, 0.0001),
    ("5 mm ± 0.1 mm", Kind.LENGTH, 0.005, 0.0001),
    ("5 mm +- 0,1", Kind.LENGTH, 0.005, 0.0001),
    ("5 mm+/-0.1", Kind.LENGTH, 0.005, 0.0001),
    ("5 mm ± 50 um", Kind.LENGTH, 0.005, 0.00005),
    ("5 mm ± 2 %", Kind.LENGTH, 0.005, 0.0001),
    ("-5 mm ± 2 %", Kind.LENGTH, -0.005, 0.0001),
    ("5 in ± 1/64", Kind.LENGTH, 0.127, 0.000396875),
    ("5 mm ± 0", Kind.LENGTH, 0.005, 0.0),
    ("7.5k ± 0.1", Kind.RESISTANCE, 7500.0, 100.0),
    ("6k8 ± 100 ohm", Kind.RESISTANCE, 6800.0, 100.0),
    ("6k8 ± 1k5", Kind.RESISTANCE, 6800.0, 1500.0),
    ("6k8 ± 5 %", Kind.RESISTANCE, 6800.0, 340.0),
    # A difference of temperatures has no offset: 2 F are 2 * 5/9 K.
    ("68 F ± 9", Kind.TEMPERATURE, 293.15, 5.0),
    ("68 F ± 1 K", Kind.TEMPERATURE, 293.15, 1.0),
    ("20 C ± 2", Kind.TEMPERATURE, 293.15, 2.0),
    # After a percentage, % means points.
    ("30 % ± 2 %", Kind.PERCENT, 0.3, 0.02),
    ("30 % ± 2", Kind.PERCENT, 0.3, 0.02),
    ("0.5 ± 2 %", Kind.RATIO, 0.5, 0.01),
    ("0.5 ± 0.02", Kind.RATIO, 0.5, 0.02),
]


@pytest.mark.parametrize(
    ("text", "kind", "value", "half"), HALF_WIDTHS, ids=[f"{t} as {k}" for t, k, _, _ in HALF_WIDTHS]
)
def test_a_half_width_is_read_with_its_value(text: str, kind: Kind, value: float, half: float) -> None:
    assert read(text, kind) == Quantity(kind, value, half)


@pytest.mark.parametrize("number", [0.65, 3, -2, 0])
def test_a_ratio_may_be_a_bare_number(number: float) -> None:
    assert read(number, Kind.RATIO) == Quantity(Kind.RATIO, float(number))


def test_what_was_typed_is_kept_and_takes_no_part_in_equality() -> None:
    typed, other = read("1 9/16 in", Kind.LENGTH), read("39.6875 mm", Kind.LENGTH)
    assert typed == other
    assert (typed.text, other.text) == ("1 9/16 in", "39.6875 mm")
    assert hash(typed) == hash(other)


def test_the_room_imports_nothing_from_outside_the_standard_library() -> None:
    code = (
        "import sys; before = set(sys.modules); import lodestring.quantity; "
        "print(sorted({m.partition('.')[0] for m in set(sys.modules) - before} - sys.stdlib_module_names))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['lodestring']"
