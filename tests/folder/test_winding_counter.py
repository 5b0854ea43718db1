"""The winder's own counter: what it shows <-> turns on the coil. Gearing and the fifth of a turn are arithmetic; how a
winder is set up by cranking once is common practice at the bench, no source.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.design.workshop import Winder
from lodestring.errors import QuantityError
from lodestring.making.counter import crank_once, reading_at, turns_at

GEARED = Winder(counts="cranks", turns_per_crank=5, spindle="same")
PLAIN = Winder(counts="turns", turns_per_crank=5, spindle="reversed")

READINGS = {
    # id: (text, winder, zero, turns)
    "cranks of a geared winder": ("1560", GEARED, 0, 7800),
    "set off by a space": ("1 560", GEARED, 0, 7800),
    "as the page writes it": ("1\u202f560", GEARED, 0, 7800),
    "with its unit": ("1560 cranks", GEARED, 0, 7800),
    "and turns more": ("1560 and 3 turns more", GEARED, 0, 7803),
    "with a plus": ("1560 + 3", GEARED, 0, 7803),
    "a fifth of a crank": ("1560.4", GEARED, 0, 7802),
    "a decimal comma": ("1560,4", GEARED, 0, 7802),
    "a counter of turns": ("7803", PLAIN, 0, 7803),
    "no winder known": ("12", None, 0, 12),
    "a counter set back at 3000": ("100", GEARED, 3000, 3500),
    "a counter that stood at 20": ("320", GEARED, -100, 1500),
    "turned back past its zero": ("-2", GEARED, 0, -10),
}


@pytest.mark.parametrize(("text", "winder", "zero", "turns"), READINGS.values(), ids=READINGS.keys())
def test_a_reading_becomes_turns(text: str, winder: Winder | None, zero: int, turns: int) -> None:
    assert turns_at(text, winder, zero) == turns


@given(
    turns=st.integers(0, 30_000),
    crank=st.integers(1, 20),
    counts=st.sampled_from(["cranks", "turns"]),
    zero=st.integers(-5_000, 30_000),
)
def test_what_the_counter_shows_leads_back_to_the_turns(turns: int, crank: int, counts: str, zero: int) -> None:
    winder = Winder.model_validate({"counts": counts, "turns_per_crank": crank, "spindle": "same"})
    assert turns_at(reading_at(turns, winder, zero), winder, zero) == turns


REFUSED = {
    "empty": ("", GEARED, "a number"),
    "words": ("about there", GEARED, "a number"),
    "thousands or decimals": ("1,560", GEARED, "not guessed"),
    "half a turn": ("12.5", PLAIN, "whole"),
    "a third of a crank of five": ("12.3", GEARED, "whole"),
    "more turns than a crank has": ("12 and 7 turns more", GEARED, "fewer than the 5"),
    "a slip of the finger": ("999999999", GEARED, "at most"),
    "other digits": ("١٢", PLAIN, "a number"),
}


@pytest.mark.parametrize(("text", "winder", "says"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_no_reading_gets_a_sentence(text: str, winder: Winder, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        turns_at(text, winder)


CRANKS = {
    # id: (counter added, spindle turns, way, cranks) -> (counts, turns per crank, spindle)
    "one to one": (("1", "1", "same", "1"), ("turns", 1, "same")),
    "geared, counts turns": (("5", "5", "reversed", "1"), ("turns", 5, "reversed")),
    "geared, counts cranks": (("1", "5", "same", "1"), ("cranks", 5, "same")),
    "ten cranks": (("10", "50", "same", "10"), ("cranks", 5, "same")),
    "ten cranks, one turn miscounted": (("10", "49", "same", "10"), ("cranks", 5, "same")),
}


@pytest.mark.parametrize(("seen", "is_"), CRANKS.values(), ids=CRANKS.keys())
def test_one_crank_tells_a_winder(seen: tuple[str, str, str, str], is_: tuple[str, int, str]) -> None:
    found = crank_once(*seen)
    assert (found.counts, found.turns_per_crank, found.spindle) == is_


@pytest.mark.parametrize(
    ("seen", "says"),
    [
        (("3", "5", "same", "1"), "cranks or turns"),
        (("10", "45", "same", "10"), "whole number of turns"),
        (("1", "0", "same", "1"), "above 0"),
        (("10", "5", "same", "10"), "at least once"),
        (("1", "1", "sideways", "1"), "reversed"),
    ],
    ids=["counts something else", "slips", "did not turn", "geared down", "neither way"],
)
def test_a_crank_that_does_not_add_up_is_asked_about(seen: tuple[str, str, str, str], says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        crank_once(*seen)
