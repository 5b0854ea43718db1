"""Wire sizes are names: a gauge number stays a number (trap T1: its diameter has two values in print)."""

from __future__ import annotations

import pytest

from lodestring.errors import QuantityError
from lodestring.quantity import WireSize, read_wire_size


@pytest.mark.parametrize("text", ["42 AWG", "AWG 42", "42AWG", "AWG42", "42 awg", " 42 AWG "])
def test_a_gauge_is_read_in_every_usual_order(text: str) -> None:
    size = read_wire_size(text)
    assert size == WireSize("AWG", 42)
    assert (size.label, size.diameter, size.text) == ("42 AWG", None, text)


@pytest.mark.parametrize("text", ["0.063 mm", "0,063 mm", "63 um", "63 µm", "63 \u03bcm", "0.063mm"])
def test_a_metric_size_is_read_as_a_diameter(text: str) -> None:
    size = read_wire_size(text)
    assert size == WireSize("metric", None, 0.063e-3)
    assert (size.label, size.number, size.text) == ("0.063 mm", None, text)


@pytest.mark.parametrize(
    ("text", "attempt"),
    [
        ("42", '"42 AWG" or "0.063 mm"'),
        ("42 gauge", '"42 AWG" or "0.063 mm"'),
        ("42 SWG", '"42 AWG" or "0.063 mm"'),
        ("42.5 AWG", '"42 AWG" or "0.063 mm"'),
        ("99 AWG", '"42 AWG"'),
        ("0 AWG", '"42 AWG"'),
        ("0.063", '"0.063 mm"'),
        ("0.0025 in", '"0.0635 mm"'),
        ("42 mm", '"42 AWG" or "0.063 mm"'),
        ("1,250 mm", '"1.25 mm"'),
        ("0.063 mm ± 0.001", '"42 AWG" or "0.063 mm"'),
        ("-0.063 mm", '"42 AWG" or "0.063 mm"'),
        ("", '"42 AWG" or "0.063 mm"'),
        ("AWG\n42", '"42 AWG" or "0.063 mm"'),
        (42, '"42 AWG"'),
    ],
)
def test_what_is_no_wire_size_is_refused_with_a_proposal(text: str, attempt: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read_wire_size(text)
    assert caught.value.attempt == attempt


@pytest.mark.parametrize(
    ("system", "number", "diameter"),
    [
        ("AWG", None, None),
        ("AWG", 42, 63e-6),
        ("AWG", 0, None),
        ("AWG", True, None),
        ("metric", None, None),
        ("metric", 42, 63e-6),
        ("metric", None, 0.0),
        ("metric", None, float("nan")),
        ("metric", None, 42e-3),
        ("SWG", 42, None),
    ],
)
def test_a_wire_size_whose_parts_do_not_go_together_is_not_born(
    system: str, number: int | None, diameter: float | None
) -> None:
    with pytest.raises(QuantityError):
        WireSize(system, number, diameter)  # type: ignore[arg-type]
