"""Curves as CSV: what a reader of CSV gets back, and what a spreadsheet must not run."""

from __future__ import annotations

import csv
import io
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.assess.curve import Axis, Curve
from lodestring.assess.report import Assessment
from lodestring.making.curves_table import cell, curves_csv


def read(text: str) -> list[list[str]]:
    """By the standard library's reader."""
    return list(csv.reader(io.StringIO(text, newline="")))


def curve(key: str, x: tuple[float, ...], y: tuple[float, ...], name: str = "frequency", unit: str = "dB") -> Curve:
    return Curve(key, Axis("Hz", name), Axis(unit), x, y)


X = (20.0, 50.0, 20e3)


def test_curves_over_the_same_x_share_its_column_and_others_have_their_own() -> None:
    rows = read(curves_csv([curve("a.b", X, (0.0, 1.5, -3.25)), curve("c", (1.0, 2.0), (5.0, 6.0), "turn", "m"),
                            curve("d", X, (7.0, 8.0, 9.0)), curve("e", (1.0, 3.0), (5.0, 6.0), "turn")]))  # fmt: skip
    assert rows == [
        ["frequency [Hz]", "a.b [dB]", "d [dB]", "turn [Hz]", "c [m]", "turn 2 [Hz]", "e [dB]"],
        ["20", "0", "7", "1", "5", "1", "5"],
        ["50", "1.5", "8", "2", "6", "3", "6"],
        ["20000", "-3.25", "9", "", "", "", ""],
    ]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_a_cell_that_a_spreadsheet_would_run_is_quoted_text(start: str) -> None:
    assert cell(f"{start}1+1") == f'"\'{start}1+1"'
    key = f'{start}HYPERLINK("x")'
    head = curves_csv([curve(key, X, X)]).split("\n")[0]
    assert head.startswith("frequency [Hz],\"'")
    assert read(head + "\n")[0][1] == f"'{key} [dB]"


@given(st.text(), st.text())
def test_any_text_is_one_cell_and_none_starts_a_formula(one: str, other: str) -> None:
    rows = read(f"{cell(one)},{cell(other)}\n")
    assert len(rows) == 1
    assert len(rows[0]) == 2
    for found, meant in zip(rows[0], (one, other), strict=True):
        assert found.removeprefix("'") == meant.removeprefix("'")
        assert not re.match(r"[=+\-@\t\r]", found)


@given(st.floats(min_value=-1e12, max_value=1e12))
def test_a_number_comes_back_to_nine_digits_with_a_point(value: float) -> None:
    written = cell(value)
    assert re.fullmatch(r'"-\d+(\.\d+)?(e[+-]\d+)?"|\d+(\.\d+)?(e[+-]\d+)?', written)  # no formula's sign stands bare
    assert float(read(f"{written}\n")[0][0]) == pytest.approx(value, rel=1e-9, abs=0.0)


def test_the_curves_of_a_set_come_back_as_they_are(plover: Assessment) -> None:
    curves = {k: c for k, c in plover.curves().items() if k.startswith("pickup.main.coil.")}
    rows = read(curves_csv(curves.values()))
    found = dict(zip(rows[0], zip(*rows[1:], strict=True), strict=True))
    assert len(curves) == 8
    for key, wanted in curves.items():
        values = [float(v) for v in found[f"{key} [{wanted.y_axis.unit}]"] if v]
        assert np.array(values) == pytest.approx(np.array(wanted.y), rel=1e-9)
