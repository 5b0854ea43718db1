from __future__ import annotations

import json
import math

import pytest

from lodestring.errors import LodestringError
from lodestring.proving.measurement import (
    from_body,
    measurement,
    next_to_ask,
    parse,
    quantities,
    series_inductance,
    to_body,
)

READ = {
    "a resistance with its temperature": ("resistance=6.21k @ 22 C", 6210.0, {"temperature": 295.15}),
    "an inductance with frequency and mode": ("inductance=3.02 H @ 1 kHz, series", 3.02, {"frequency": 1000.0}),
    "a resonance with a capacitor and its input": ("resonance=4.31 kHz @ 470 pF, into 1M", 4310.0, {"load": 1e6}),
    "a field over one pole piece": ("field=95 mT @ pole 3", 0.095, {"pole": 3}),
    "an answer in words": ("shape=Fat", "fat", {}),
    "a meter that shows nothing": ("resistance=open", "open", {}),
    "an accuracy of its own": ("resistance=6.2k @ 0.5 %", 6200.0, {}),
    "a mass off the spool": ("wire_mass=30.1 g", 0.0301, {}),
    "decibels": ("peak=9.4 dB @ 0 pF", 9.4, {"capacitance": 0.0}),
}


@pytest.mark.parametrize(("text", "value", "where"), READ.values(), ids=READ)
def test_a_makers_line_is_read(text: str, value: float | str, where: dict[str, float]) -> None:
    found = parse(text)
    assert found.value == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value)
    for name, wanted in where.items():
        holder = found if name == "temperature" else found.at
        assert getattr(holder, name) == pytest.approx(wanted)


REFUSED = {
    "no such quantity": ("resistanse=6k", "resistance"),
    "no value": ("resistance", "NAME=VALUE"),
    "an inductance without its frequency": ("inductance=3 H @ series", "frequency"),
    "an inductance without its mode": ("inductance=3 H @ 1 kHz", "mode"),
    "an input that takes the peak away": ("resonance=4 kHz @ 470 pF, into 47k", "impedance method"),
    "a word that is no answer": ("shape=plump", "fat"),
    "a number where words are asked": ("kick=3", "plus"),
    "below nothing": ("resistance=-5 ohm", "above 0"),
    "another unit": ("resistance=5 H", "resistance"),
    "no pole piece has this number": ("field=90 mT @ pole 900", "1 to 60"),
    "something after the @ that is nothing": ("resistance=6k @ blue", "22 C"),
    "a coil out of the oven": ("resistance=6k @ 300 C", "temperature"),
}


@pytest.mark.parametrize(("text", "said"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_is_said_in_a_sentence(text: str, said: str) -> None:
    with pytest.raises(LodestringError) as caught:
        parse(text)
    assert said in str(caught.value)


def test_a_resonance_into_a_sound_card_counts_where_the_impedance_method_was_used() -> None:
    assert parse("resonance=4 kHz @ 470 pF, into 47k, impedance").at.method == "impedance"


@pytest.mark.parametrize("text", [row[0] for row in READ.values()], ids=READ)
def test_a_measurement_comes_back_from_its_event_as_it_was(text: str) -> None:
    found = parse(text)
    assert from_body(json.loads(json.dumps(to_body(found), allow_nan=False))) == found


@pytest.mark.parametrize(
    "body",
    [
        {"quantity": "resistance", "value": True},
        {"quantity": "resistance", "value": 6000.0, "unit": "H"},
        {"quantity": 5, "value": 1.0},
        {"quantity": "resistance", "value": 6000.0, "at": [1]},
        {"quantity": "resistance", "value": 6000.0, "temperature": "warm"},
        {"quantity": "resistance", "value": math.inf},
    ],
    ids=["a truth value", "another unit", "no name", "a list", "a word for a number", "infinite"],
)
def test_a_body_that_is_no_measurement_is_refused(body: dict[str, object]) -> None:
    with pytest.raises(LodestringError):
        from_body(body)


def test_the_reading_in_parallel_mode_comes_back_to_the_series_one() -> None:
    # trade page, 13 (reckoned there): 3 H with 6.4 k reads about 27 H at 120 Hz in parallel mode
    large, small = series_inductance(27.0, 120.0, 6400.0)
    assert small == pytest.approx(3.0, rel=0.04)  # "about 27"
    assert large * small == pytest.approx((6400.0 / (2 * math.pi * 120.0)) ** 2)  # the roots of L^2 - Lp L + X^2
    with pytest.raises(LodestringError, match="H or more"):
        series_inductance(10.0, 120.0, 6400.0)


def test_the_first_questions_need_only_eyes_meter_and_caliper() -> None:
    first = [a.name for a in next_to_ask([], "wound")][1:4]
    assert first == ["shape", "resistance", "steadiness"]  # after the sample, which belongs before the evening
    later = next_to_ask([measurement("shape", "fat")], "drawn")
    assert [a.name for a in later] == ["sample"]
    assert all(a.ask.endswith("?") for a in quantities().values())
