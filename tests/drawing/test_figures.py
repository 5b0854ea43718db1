"""Numbers in pictures: engineering form, millimetres, ticks and the spreading of labels."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.drawing.figures import coordinate, engineering, millimetres, plain
from lodestring.drawing.ticks import linear, logarithmic, spread, step_for
from lodestring.errors import DomainError

# Prefixes: SI Brochure, 9th edition, table 7. A space stands between number and unit (its section 5.4.3).
SHOWN = {
    "hertz": (3420, "Hz", "3.42 kHz"),
    "rounds up into the next prefix": (999.6, "Hz", "1.00 kHz"),
    "stays below it": (999.4, "Hz", "999 Hz"),
    "ohm": (6432, "ohm", "6.43 kΩ"),
    "picofarad": (1.2e-10, "F", "120 pF"),
    "henry": (3.14159, "H", "3.14 H"),
    "millimetre": (0.0048, "m", "4.80 mm"),
    "wire is said in metres": (1050, "m", "1050 m"),
    "long wire too, in groups": (12500, "m", "12 500 m"),
    "gram": (0.0213, "kg", "21.3 g"),
    "decibel takes no prefix": (0.05, "dB", "0.0500 dB"),
    "minus": (-9.6, "dB", "−9.60 dB"),
    "millitesla": (0.11, "T", "110 mT"),
    "hum": (0.0345, "V.s/T", "34.5 mV·s/T"),
    "none": (0.0, "Hz", "0 Hz"),
    "a bare number": (2.5, "1", "2.50"),
}


@pytest.mark.parametrize(("value", "unit", "text"), SHOWN.values(), ids=SHOWN.keys())
def test_a_number_is_shown_with_three_figures_a_prefix_and_its_unit(value: float, unit: str, text: str) -> None:
    assert engineering(value, unit).replace("\u00a0", " ") == text


@given(st.floats(1e-12, 9.9e11), st.sampled_from(["Hz", "ohm", "F", "V"]))
def test_what_is_shown_is_the_value_within_half_a_last_figure(value: float, unit: str) -> None:
    number, sign = engineering(value, unit).split("\u00a0")
    factor = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "G": 1e9}.get(sign[0], 1.0)
    assert float(number) * factor == pytest.approx(value, rel=0.00501)
    assert 1 <= float(number) < 1000


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_number_that_is_not_finite_is_not_shown(value: float) -> None:
    with pytest.raises(DomainError):
        engineering(value, "Hz")
    with pytest.raises(DomainError):
        coordinate(value)


@given(st.floats(-1e5, 1e5))
def test_a_coordinate_reads_back_to_a_tenth_of_a_micrometre(value: float) -> None:
    text = coordinate(value)
    assert abs(float(text) - value) <= 0.5001e-4
    assert "e" not in text
    assert text != "-0"


@pytest.mark.parametrize(("value", "text"), [(4.8, "4.8"), (17.0, "17"), (0.125, "0.12"), (100, "100"), (-0.001, "0")])
def test_millimetres_lose_their_trailing_noughts(value: float, text: str) -> None:
    assert millimetres(value) == text


def test_nothing_is_never_minus_nothing() -> None:
    assert plain(-0.004, 2) == "0.00"


@given(st.floats(1e-6, 1e6), st.integers(1, 12))
def test_a_step_is_1_2_or_5_and_leaves_no_more_steps_than_wanted(span: float, most: int) -> None:
    step = step_for(span, most)
    lead = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(lead - good) for good in (1, 2, 5)) < 1e-6
    assert span / step <= most * (1 + 1e-6)
    assert span / step > most / 2.51, "nor far fewer: the next finer step is at most 2.5 times finer"


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e3), st.integers(2, 12))
def test_linear_ticks_lie_on_the_axis_and_say_their_value(low: float, span: float, most: int) -> None:
    made = linear(low, low + span, "1", most)
    assert all(low - 1e-6 * span <= v <= low + span * (1 + 1e-6) for v in made.at)
    assert list(made.at) == sorted(set(made.at))
    shown = [float(w.replace("−", "-").replace("\u00a0", "")) for w in made.words]
    assert shown == pytest.approx(made.at, abs=1e-6 * span, rel=1e-9)
    assert len(set(made.words)) == len(made.words) > 0


def test_one_prefix_serves_a_whole_linear_axis() -> None:
    made = linear(0, 0.005, "m", 5)
    assert (made.words, made.power) == (("0", "1", "2", "3", "4", "5"), -3)


DECADES = {
    "three decades, room": (20, 20000, 12, "20 50 100 200 500 1k 2k 5k 10k 20k"),
    "three decades, little room": (20, 20000, 7, "30 100 300 1k 3k 10k"),
    "three decades, no room": (20, 20000, 3, "100 1k 10k"),
    "nine decades": (1, 1e9, 3, "1 1k 1M 1G"),
    "hardly a decade: even steps": (2000, 6000, 5, "2 3 4 5 6"),
}


@pytest.mark.parametrize(("low", "high", "most", "words"), DECADES.values(), ids=DECADES.keys())
def test_logarithmic_ticks_are_figures_of_a_decade(low: float, high: float, most: int, words: str) -> None:
    made = logarithmic(low, high, "Hz", most)
    assert " ".join(w.replace("\u00a0", "") for w in made.words) == words


def test_small_logarithmic_ticks_say_their_whole_unit() -> None:
    assert logarithmic(1e-12, 1e-9, "F", 3).words[0] == "1\u00a0pF"


@given(st.lists(st.floats(-20, 120), min_size=1, max_size=9), st.floats(0.1, 10))
def test_spread_labels_keep_their_distance_their_order_and_the_bounds(wanted: list[float], gap: float) -> None:
    placed = spread(wanted, gap, 0.0, 100.0)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    down = [placed[i] for i in order]
    assert all(b - a >= gap - 1e-9 for a, b in itertools.pairwise(down))
    assert down[0] >= -1e-9
    assert down[-1] <= 100 + 1e-9


def test_labels_that_do_not_touch_are_not_moved() -> None:
    assert spread([30.0, 10.0, 20.0], 5, 0, 100) == [30.0, 10.0, 20.0]


def test_labels_that_touch_move_as_little_as_can_be() -> None:
    # Least squares by hand: 50, 50 and 52 at 4 apart are m-4, m, m+4 with m their mean, 152 / 3.
    assert spread([50.0, 52.0, 50.0], 4, 0, 100) == pytest.approx([152 / 3 - 4, 152 / 3 + 4, 152 / 3])
