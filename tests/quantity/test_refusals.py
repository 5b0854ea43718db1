"""What is not the expected quantity is refused with a sentence: what must hold, what came, what to try."""

from __future__ import annotations

import contextlib
import math
import time
from typing import Any

import pytest

from lodestring.errors import QuantityError
from lodestring.quantity import Kind, Quantity, read

# (text, kind, words of the sentence in this order, proposals)
REFUSED: list[tuple[Any, Kind, tuple[str, ...], tuple[str, ...]]] = [
    ("5", Kind.LENGTH, ("length needs its unit",), ("5 mm", "5 in")),
    ("-2", Kind.TEMPERATURE, ("temperature needs its unit",), ("-2 C", "-2 F")),
    ("18 g", Kind.FORCE, ("a force is wanted", '"18 g"', "a mass of 18 g"), ("18 gf",)),
    ("2 gf", Kind.MASS, ("a mass is wanted", "a force of 2 gf"), ("2 g",)),
    ("7.5k", Kind.LENGTH, ("a length is wanted", "a resistance of 7.5 kOhm"), ("5 mm", "1/4 in")),
    ("68 F", Kind.LENGTH, ("a temperature of 68 F",), ("5 mm", "1/4 in")),
    ("42 AWG", Kind.LENGTH, ("a wire size",), ("5 mm", "1/4 in")),
    ("F#3", Kind.FREQUENCY, ("the note F#3",), ("184.997 Hz",)),
    ("5 furlong", Kind.LENGTH, ("a length is wanted", "mm, in, cm", "5 furlong"), ("5 mm", "1/4 in")),
    ("5 MM", Kind.LENGTH, ("a length is wanted",), ("5 mm",)),
    ("5 MT", Kind.FLUX_DENSITY, ("a flux density is wanted",), ("5 mT",)),
    # Digits that two countries read differently.
    ("1,250 mm", Kind.LENGTH, ("comma before exactly three digits",), ("1.25 mm", "1250 mm")),
    ("-12,500 mm", Kind.LENGTH, ("comma before exactly three digits",), ("-12.5 mm", "-12500 mm")),
    ("1,250e-3 m", Kind.LENGTH, ("comma before exactly three digits",), ("1.25e-3 m", "1250e-3 m")),
    ("1,250", Kind.RATIO, ("comma before exactly three digits",), ("1.25", "1250")),
    ("1,250 mm ± 0.1", Kind.LENGTH, ("comma",), ("1.25 mm ± 0.1", "1250 mm ± 0.1")),
    ("5 mm ± 1,250 um", Kind.LENGTH, ("comma",), ("5 mm ± 1.25 um", "5 mm ± 1250 um")),
    ("1.250,5 mm", Kind.LENGTH, ("one decimal sign",), ("1250.5 mm",)),
    ("1,250.5 mm", Kind.LENGTH, ("one decimal sign",), ("1250.5 mm",)),
    ("1,250,000 ohm", Kind.RESISTANCE, ("one decimal sign",), ("1250000 ohm",)),
    ("1 250 mm", Kind.LENGTH, ("without spaces",), ("1250 mm",)),
    # Letters that mean two things within one kind.
    ("1m", Kind.RESISTANCE, ("m", "not clear"), ("1 mOhm", "1 MOhm")),
    ("1m5", Kind.RESISTANCE, ("m", "not clear"), ("1.5 mOhm", "1.5 MOhm")),
    ("5 m", Kind.TIME, ("m", "not clear"), ("5 min", "5 ms")),
    ("4.7 mF", Kind.CAPACITANCE, ("mF", "not clear"), ("4.7 uF", "4.7 nF")),
    ("5 mHz", Kind.FREQUENCY, ("mHz", "not clear"), ("5 MHz", "5 kHz")),
    ("0.03", Kind.PERCENT, ("percentage needs its sign",), ("0.03 %", "3 %")),
    ("3 %", Kind.RATIO, ("bare number", "a percentage of 3 %"), ("0.03",)),
    # Numbers that are none.
    ("nan", Kind.RATIO, ("finite",), ("0.65", "1/3")),
    ("-inf mm", Kind.LENGTH, ("finite",), ("5 mm", "1/4 in")),
    ("1e400 m", Kind.LENGTH, ("too large",), ("5 mm", "1/4 in")),
    ("1e-400 m", Kind.LENGTH, ("too small",), ("5 mm", "1/4 in")),
    ("1e999999999 m", Kind.LENGTH, ("too large",), ("5 mm", "1/4 in")),
    ("1/0 in", Kind.LENGTH, ("divided by zero",), ("5 mm", "1/4 in")),
    ("1 17/16 in", Kind.LENGTH, ("less than one",), ("5 mm", "1/4 in")),
    ("1 ½½ in", Kind.LENGTH, ("a length is wanted",), ("5 mm", "1/4 in")),
    ("-300 C", Kind.TEMPERATURE, ("absolute zero",), ("62 C", "144 F")),
    # Half-widths.
    ("5 ± 50 um", Kind.LENGTH, ("unit must stand after the value",), ("5 um ± 50 um",)),
    ("5 mm ± 0.1 ± 0.1", Kind.LENGTH, ("one ±",), ("5 mm", "1/4 in")),
    ("5 mm ± -0.1", Kind.LENGTH, ("half-width must not be negative",), ("5 mm ± 0.1",)),
    ("5 mm ±", Kind.LENGTH, ("must begin with its number",), ("5 mm", "1/4 in")),
    ("20 C ± 2 %", Kind.TEMPERATURE, ("in degrees, not in per cent",), ("20 C ± 2",)),
    ("6k8 ± 100", Kind.RESISTANCE, ("half-width needs its unit",), ("6k8 ± 100 ohm", "6k8 ± 100 %")),
    # Texts that are none.
    ("", Kind.LENGTH, ("a length is wanted", "an empty text"), ("5 mm", "1/4 in")),
    ("   ", Kind.LENGTH, ("a length is wanted", "spaces only"), ("5 mm", "1/4 in")),
    ("5\x00mm", Kind.LENGTH, ("control characters", r"5\x00mm"), ("5 mm",)),
    ("5 mm\n", Kind.LENGTH, ("control characters", r"5 mm\n"), ("5 mm",)),
    ("5\u202emm", Kind.LENGTH, ("control characters", r"\u202e"), ("5 mm",)),
    ("5 mm\ud800", Kind.LENGTH, ("control characters", r"\ud800"), ("5 mm",)),
    ("5" * 81, Kind.LENGTH, ("at most 80 characters", "81"), ("5 mm", "1/4 in")),
    ("٥ mm", Kind.LENGTH, ("must begin with its number",), ("5 mm", "1/4 in")),
    # Values that are no text.
    (5, Kind.LENGTH, ("text with its unit", "the bare number 5"), ("5 mm", "5 in")),
    (7.5, Kind.RESISTANCE, ("text with its unit", "the bare number 7.5"), ("7.5 ohm", "7.5 kOhm")),
    (80, Kind.PERCENT, ("text with its unit", "the bare number 80"), ("80 %",)),
    (math.nan, Kind.LENGTH, ("text with its unit", "nan"), ("5 mm", "1/4 in")),
    (10**5000, Kind.LENGTH, ("text with its unit", "too large"), ("5 mm", "1/4 in")),
    (True, Kind.LENGTH, ("text with its unit", "truth value true"), ("5 mm", "1/4 in")),
    (True, Kind.RATIO, ("bare number", "truth value true"), ("0.65", "1/3")),
    (None, Kind.LENGTH, ("text with its unit", "NoneType"), ("5 mm", "1/4 in")),
    (["5 mm"], Kind.RATIO, ("bare number", "list"), ("0.65", "1/3")),
]


def _name(given: Any) -> str:
    return "10**5000" if given == 10**5000 else ascii(given)[:24]


@pytest.mark.parametrize(
    ("given", "kind", "words", "proposals"), REFUSED, ids=[f"{_name(t)} as {k}" for t, k, _, _ in REFUSED]
)
def test_a_refusal_says_what_was_understood_and_what_to_try(
    given: Any, kind: Kind, words: tuple[str, ...], proposals: tuple[str, ...]
) -> None:
    with pytest.raises(QuantityError) as caught:
        read(given, kind)
    sentence = str(caught.value)
    at = 0
    for word in words:
        at = sentence.find(word, at)
        assert at >= 0, f"{word!r} is not in its place in: {sentence}"
    assert sentence.isprintable()
    assert caught.value.attempt == " or ".join(f'"{p}"' for p in proposals)
    for proposal in proposals:
        read(proposal, kind)


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf, 10**400, 10**5000], ids=_name)
def test_a_ratio_that_is_not_finite_is_refused(number: float) -> None:
    with pytest.raises(QuantityError, match="finite"):
        read(number, Kind.RATIO)


@pytest.mark.parametrize("text", ["7" * 5000 + " mm", "1e" + "9" * 70 + " m", "1e999999999 m", "1/" + "9" * 70 + " in"])
def test_a_monstrous_number_takes_no_time(text: str) -> None:
    start = time.perf_counter()
    with contextlib.suppress(QuantityError):
        read(text, Kind.LENGTH)
    # A quarter of a second leaves room for a busy machine; 10**999999999 worked out would take hours and all memory.
    assert time.perf_counter() - start < 0.25


@pytest.mark.parametrize(
    ("kind", "value", "half", "word"),
    [
        (Kind.LENGTH, math.nan, None, "finite"),
        (Kind.LENGTH, 1.0, math.inf, "finite"),
        (Kind.LENGTH, 1.0, -0.1, "negative"),
        (Kind.TEMPERATURE, -1.0, None, "absolute zero"),
        (Kind.LENGTH, True, None, "truth value"),
        (Kind.LENGTH, "5 mm", None, "number"),
    ],
)
def test_a_quantity_that_cannot_be_is_not_born(kind: Kind, value: Any, half: float | None, word: str) -> None:
    with pytest.raises(QuantityError, match=word):
        Quantity(kind, value, half)
