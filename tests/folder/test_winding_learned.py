"""What the book has learned feeds the assessment: packing and belly by this file's own geometry, pace by the clock, a
wire's diameter by its ohms (IEC 60028). Where there is no book nothing changes.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from lodestring.assess.report import as_json
from lodestring.assess.why import explain
from lodestring.folder.open_set import assess_here
from lodestring.folder.winding_learned import learned, learned_here
from lodestring.folder.winding_spool import sample_body

WIDTH = "pickup.neck.coil.main.outer_width"
SPAN = (52.5 - (52.5 - 36.0) * 45.0 / 686.0) * 1e-3
OVER = 0.0705e-3


def size(turns: int, packing: float, belly: float) -> dict[str, float]:
    """Length and width of the heron's bridge coil by hand: 2.5 mm to the first turn, window 10.5 mm."""
    depth = turns * math.pi * OVER**2 / 4 / (packing * 10.5e-3)
    return {"end": SPAN + 2 * (2.5e-3 + depth), "side": 2 * (2.5e-3 + depth * (1 + belly))}


def wind(evening: Any, packing: float = 0.58, belly: float = 0.18, pace: float = 240.0) -> None:
    evening.begin()
    evening.turns(0)
    for turns in (2000, 4000, 6000, 7800):
        evening.count(turns, seconds=2000 / pace * 60.0, **size(turns, packing, belly))
    evening.note("coil.end", {"state": "wound"})


def test_a_finished_coil_teaches_packing_belly_and_pace(evening: Any) -> None:
    """The overall diameter of the table and that of this file differ by up to 1 %, so packing by 2 %."""
    wind(evening)
    hand = learned(evening.book).hand
    assert hand.packing.value == pytest.approx(0.58, rel=0.03)
    assert hand.belly.value == pytest.approx(0.18, abs=0.02)
    assert 60 * hand.pace.value == pytest.approx(240.0, rel=0.08)
    assert (hand.packing.coils, hand.stretch) == (1, None)


def test_a_second_coil_alike_narrows_what_the_first_taught(evening: Any) -> None:
    wind(evening)
    one = learned(evening.book).hand
    for packing in (0.585, 0.575, 0.58):
        wind(evening, packing)
    four = learned(evening.book).hand
    assert four.packing.coils == 4
    assert four.packing.half_width < 0.6 * one.packing.half_width
    assert four.packing.half_width >= 0.03 * four.packing.value  # no hand is surer than that


def test_coils_that_differ_widely_teach_widely(evening: Any) -> None:
    for packing in (0.54, 0.66, 0.60):
        wind(evening, packing)
    assert learned(evening.book).hand.packing.half_width > 0.1


def test_the_next_assessment_of_the_folder_feels_it_and_says_so(evening: Any) -> None:
    """A loose hand makes the neck coil fatter than the bench's usual packing does, and its width surer."""
    before = assess_here(evening.folder / "heron.toml")
    wind(evening)
    evening.book.close()
    after = assess_here(evening.folder / "heron.toml")
    was, is_ = before.facts[WIDTH], after.facts[WIDTH]
    assert is_.value > was.value + 0.5e-3
    assert is_.high - is_.low < 0.8 * (was.high - was.low)
    assert any("hand.packing" in w for w in was.warnings)
    assert not any("hand.packing" in w for w in is_.warnings)  # no longer assumed
    moved = next(i for i in explain(after, WIDTH).influences if i.name == "hand.packing")
    assert (moved.why, moved.basis) == ("learned from 1 coil of this hand", "measured")
    said = [as_json(a, prefixes=("set.",))["inputs"] for a in (before, after)]
    assert said[0]["hand"] is None
    assert said[1]["hand"].startswith("sha256:")


def test_a_sample_of_the_spool_narrows_the_ohms_of_its_coils(evening: Any) -> None:
    """Ohms per metre known to 1.5 % in place of 8 % (trade.md 3)."""
    key = "pickup.bridge.coil.main.dc_resistance"
    evening.spool()
    before = assess_here(evening.folder / "heron.toml").facts[key]
    evening.book.note("spool.sample", sample_body("10 m", "56 ohm", "20 C"), spool="fine-1")
    after = assess_here(evening.folder / "heron.toml").facts[key]
    assert after.value / before.value == pytest.approx(56.0 / 54.4, rel=0.01)
    assert after.warnings != before.warnings or after.source == before.source
    inputs = as_json(assess_here(evening.folder / "heron.toml"), prefixes=("set.",))["inputs"]
    assert inputs["spools"].startswith("sha256:")


def test_a_sample_of_a_wrong_wire_teaches_nothing(evening: Any) -> None:
    evening.spool()
    evening.book.note("spool.sample", sample_body("10 m", "85 ohm", "20 C"), spool="fine-1")
    assert all(s.ohm_per_metre is None for s in learned(evening.book, evening.folder).spools.spools)


def test_an_estimated_count_teaches_no_packing(evening: Any) -> None:
    evening.begin()
    evening.note("coil.count", {"turns": 6000, "covers": {}, "why": "estimate", "low": 5500, "high": 6500})
    evening.note("coil.check", size(6000, 0.58, 0.15))
    hand = learned(evening.book).hand
    assert hand is None or hand.packing is None


def test_without_a_book_nothing_is_learned(folder: Any) -> None:
    found = learned_here(folder)
    assert (found.hand, found.spools, found.words) == (None, None, ())
    assert assess_here(folder / "heron.toml").model.inputs.hand is None


def test_a_book_that_cannot_be_read_is_left_out_of_account(folder: Any) -> None:
    (folder / "book.sqlite").write_bytes(b"this is no book" * 1000)
    assert learned_here(folder).words[0].startswith("the book is left out of account")
    assert assess_here(folder / "heron.toml").model.inputs.hand is None
