"""What the bench page knows while a coil grows. Sizes are checked against the geometry of an obround written out here;
pace and pauses against an evening whose clock is known; the rules of counting are those of contract 5.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from lodestring.errors import QuantityError
from lodestring.folder.winding_count import counter_reset, estimate_count, typed_reading, unwound
from lodestring.folder.winding_expected import expected
from lodestring.folder.winding_state import bench_state

SPAN = (52.5 - (52.5 - 36.0) * 45.0 / 686.0) * 1e-3


def millimetres(figure: Any) -> float:
    assert figure.unit == "mm"
    return float(figure.value) * 1e-3


def test_size_and_spool_are_what_geometry_says_at_this_very_turn(evening: Any) -> None:
    """An obround by hand: 42 AWG over single enamel about 0.070 mm (NEMA MW 1000, from memory; its own row is read from
    the table by the project), window 10.5 mm, packing 0.65, belly 15 %. The middle of the standard is within 2 %."""
    evening.spool()
    evening.begin(spool="fine-1")
    evening.turns(3333)
    here = bench_state(evening.book, evening.serial).here
    depth = 3333 * math.pi * 0.0705e-3**2 / 4 / (0.65 * 10.5e-3)
    assert millimetres(here.end) == pytest.approx(SPAN + 2 * (2.5e-3 + depth), abs=0.25e-3)
    assert millimetres(here.side) == pytest.approx(2 * (2.5e-3 + 1.15 * depth), abs=0.25e-3)
    turn = 2 * SPAN + math.pi * (5e-3 + depth)
    grams = 3333 * turn * math.pi / 4 * (8890 * 0.0633e-3**2 + 1350 * (0.0705e-3**2 - 0.0633e-3**2)) * 1e3
    assert float(here.spool_mass.value) == pytest.approx(190.0 - grams, abs=0.35)
    assert here.reading == "666 and 3 turns more"


def test_the_next_pause_is_a_thousand_on_and_says_what_to_do(evening: Any) -> None:
    evening.spool()
    evening.begin(spool="fine-1")
    evening.turns(2400)
    state = bench_state(evening.book, evening.serial)
    assert (state.next.turns, state.next.reading, state.next.cranks_left) == (3000, "600", "120")
    assert [w.split()[0] for w in state.next.todo] == ["type", "measure", "weigh"]
    assert [p.done for p in state.pauses] == [True, True, *[False] * 6]
    assert (state.left, state.target_reading) == (5400, "1\u202f560")
    evening.turns(5390)
    assert bench_state(evening.book, evening.serial).next.what == "the last turn"


def test_pace_and_time_left_come_from_the_clock(evening: Any) -> None:
    """200 cranks of 5 turns at 1.5 s are 200 turns a minute; a rest of ten minutes is none of it."""
    evening.begin()
    for i in range(200):
        evening.wait(1.5 + (600.0 if i == 100 else 0.0))
        evening.turns(5)
    pace = bench_state(evening.book, evening.serial).pace
    assert float(pace.turns_per_minute.value) == pytest.approx(200.0, rel=0.01)
    assert float(pace.cranking.value) == pytest.approx(5.0, rel=0.02)  # minutes
    assert float(pace.left.value) == pytest.approx(6800 / 200 + 6, abs=1.5)  # six pauses of a minute


def test_typed_readings_alone_tell_the_pace_too(evening: Any) -> None:
    evening.begin()
    evening.turns(0)
    for turns in (1000, 2000, 3000):
        evening.count(turns, seconds=300.0)
    assert float(bench_state(evening.book, evening.serial).pace.turns_per_minute.value) == pytest.approx(200, rel=0.08)


def test_a_reading_is_the_total_and_takes_the_presses_before_it(evening: Any) -> None:
    evening.begin()
    evening.turns(1000)
    count = typed_reading(evening.book, evening.serial, "212")
    assert (count.turns, count.doubt) == (1060, "")
    evening.note("coil.count", count.body)
    evening.turns(5)
    assert bench_state(evening.book, evening.serial).turns == 1065


def test_a_reset_counter_keeps_the_turns_and_counts_from_there(evening: Any) -> None:
    evening.begin()
    evening.count(3000)
    evening.note("coil.count", counter_reset(evening.book, evening.serial).body)
    state = bench_state(evening.book, evening.serial)
    assert (state.turns, state.reading, state.target_reading) == (3000, "0", "960")
    assert typed_reading(evening.book, evening.serial, "40").turns == 3200
    assert "reset" in typed_reading(evening.book, evening.serial, "-40").doubt


@pytest.mark.parametrize(("reading", "then"), [("", 3000), ("596", 3020)], ids=["counter stood", "counter went back"])
def test_turns_taken_off_are_off_whatever_the_counter_did(reading: str, then: int, evening: Any) -> None:
    """Where the counter stood still, 600 means 2980 from now on; where it was turned back, 596 does: so 604 differs."""
    evening.begin()
    evening.count(3000)
    evening.note("coil.count", unwound(evening.book, evening.serial, "20", reading).body)
    assert bench_state(evening.book, evening.serial).turns == 2980
    assert typed_reading(evening.book, evening.serial, "604").turns == then
    with pytest.raises(QuantityError, match="no more turns come off"):
        unwound(evening.book, evening.serial, "5000")


def codes(evening: Any) -> list[str]:
    return [q.code for q in bench_state(evening.book, evening.serial).questions]


def test_past_the_target_and_below_nothing_somebody_is_asked(evening: Any) -> None:
    evening.begin(target=100)
    assert codes(evening) == []
    evening.turns(105)
    assert codes(evening) == ["overrun"]
    evening.turns(-110)
    assert codes(evening) == ["negative"]
    assert bench_state(evening.book, evening.serial).turns == -5  # asked about, not clamped


def test_another_device_stands_apart_and_lost_presses_are_waited_for(evening: Any) -> None:
    evening.begin()
    evening.turns(100)
    evening.turns(10, device="tablet")
    evening.turns(5, n=4)
    state = bench_state(evening.book, evening.serial)
    assert (state.turns, state.holder) == (105, "phone")
    assert [(a.device, a.turns) for a in state.apart] == [("tablet", 10)]
    assert [(w.device, w.missing) for w in state.waiting] == [("phone", (2, 3))]
    assert codes(evening) == ["apart", "waiting"]
    evening.note("counter.admit", {"device": "tablet", "to": state.apart[0].to})
    assert bench_state(evening.book, evening.serial).turns == 115


def test_an_estimate_is_said_to_be_one_until_the_next_sure_count(evening: Any) -> None:
    evening.spool()
    evening.begin(spool="fine-1")
    evening.turns(10)
    found = estimate_count(evening.book, evening.serial, end="60.3 mm", side="9.5 mm", spool_mass="177.9 g")
    assert "resistance cannot be read until the wire is cut" in found.sentence
    assert found.low < 3333 < found.high
    assert found.used == ("end", "side", "wire")
    evening.note("coil.count", found.body)
    assert codes(evening) == ["estimate"]
    evening.count(found.turns + 100 - (found.turns + 100) % 5)
    assert codes(evening) == []


@pytest.mark.parametrize(
    ("end", "word"), [(0.0588, "as drawn"), (0.0615, "fat"), (0.0575, "thin")], ids=["as drawn", "fat", "thin"]
)
def test_a_measured_size_is_as_drawn_fat_or_thin(end: float, word: str, evening: Any) -> None:
    """At 2000 turns 58.7 mm are drawn, half a millimetre either way, calipers counted."""
    evening.begin()
    evening.count(2000, end=end)
    state = bench_state(evening.book, evening.serial)
    assert state.checks[0].word == word
    assert ("size" in codes(evening)) == (word != "as drawn")


def test_what_to_expect_can_be_asked_for_any_turn(evening: Any) -> None:
    evening.begin()
    one, two = (expected(evening.book, evening.serial, n) for n in (0, 7800))
    assert millimetres(one.end) == pytest.approx(SPAN + 5e-3, abs=0.1e-3)  # the bare core
    assert millimetres(two.end) - millimetres(one.end) == pytest.approx(9.0e-3, rel=0.05)
    assert one.spool_mass is None  # no spool was named


def test_a_coil_is_wound_to_the_set_as_it_was_when_it_was_begun(evening: Any) -> None:
    evening.begin()
    path = evening.folder / "heron.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("turns = 7800", "turns = 5000"), encoding="utf-8")
    assert bench_state(evening.book, evening.serial).target == 7800
    assert evening.begin() == "heron-bridge-main-2"
    assert bench_state(evening.book, evening.serial).target == 5000
