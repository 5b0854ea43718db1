"""Reading events: honest ones pass unchanged, everything else becomes a sentence."""

from __future__ import annotations

import json
from typing import Any

import pytest
from book_events import event, turns
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.book.event import LINE_BYTES, line, parse_line, read_event
from lodestring.book.kinds import KINDS
from lodestring.book.problem import BookProblem

GOOD = json.loads(line(turns(1)))

NASTY = {
    "not an object": "[1]",
    "no JSON": "{nothing",
    "a number that is none": line(turns(1)).replace('"turns":1', '"turns":NaN'),
    "beyond all numbers": line(turns(1)).replace('"turns":1', '"turns":1e400'),
    "five thousand digits": line(turns(1)).replace('"turns":1', '"turns":' + "9" * 5000),
    "a name twice": line(turns(1)).replace('"n":1', '"n":1,"n":2'),
    "deep": '{"body":' + "[" * 4000 + "]" * 4000 + "}",
    "deep, within limits of JSON": line(turns(1)).replace('"by":"tap"', '"by":"tap","x":' + "[" * 20 + "]" * 20),
    "too long": line(turns(1)).replace('"by":"tap"', '"by":"tap","x":"' + "y" * LINE_BYTES + '"'),
    "half a letter": line(turns(1)).replace('"by":"tap"', '"by":"tap","x":"\\ud800"'),
    "a fraction of a press": line(turns(1)).replace('"n":1', '"n":1.5'),
    "a true number": line(turns(1)).replace('"n":1', '"n":true'),
    "press nought": line(turns(1)).replace('"n":1', '"n":0'),
    "a path for a device": line(turns(1)).replace('"phone"', '"../phone"'),
    "a short id": line(turns(1)).replace(turns(1).id, "ab"),
    "capital digits": line(turns(1)).replace(turns(1).id, "A" * 32),
    "local time": line(turns(1)).replace("06:00:00Z", "06:00:00"),
    "coil and spool": line(turns(1)).replace('"coil":"c"', '"coil":"c","spool":"s"'),
    "neither": line(turns(1)).replace('"coil":"c"', '"coil":""'),
    "an envelope with more": line(turns(1)).replace('"v":1', '"v":1,"admin":true'),
    "a later version": line(turns(1)).replace('"v":1', '"v":2'),
    "turns that are a word": line(turns(1)).replace('"turns":1', '"turns":"1"'),
    "turns that are true": line(turns(1)).replace('"turns":1', '"turns":true'),
    "by nobody": line(turns(1)).replace('"tap"', '"magic"'),
    "nothing in the body": line(turns(1)).replace('{"by":"tap","turns":1}', "{}"),
    "a kind with a space": line(turns(1)).replace("coil.turns", "coil turns"),
}


@pytest.mark.parametrize("text", NASTY.values(), ids=NASTY)
def test_what_is_no_event_becomes_a_sentence(text: str) -> None:
    with pytest.raises(BookProblem, match="; came "):
        parse_line(text)


def test_an_event_is_the_same_after_its_line() -> None:
    made = event(7, "note", {"text": "straße \u2028 \U0001f9f2", "more": {"a": [1, 2.5, None, True]}})
    assert parse_line(line(made)) == made
    assert line(parse_line(line(made))) == line(made)


def test_unknown_keys_of_a_body_are_let_through_and_unknown_kinds_too() -> None:
    assert read_event({**GOOD, "body": {"turns": 1, "by": "tap", "later": "x"}}).body["later"] == "x"
    assert read_event({**GOOD, "kind": "coil.later", "body": {"any": "thing"}}).kind == "coil.later"


def test_every_kind_of_the_contract_is_known() -> None:
    # contracts, section 5
    named = (
        "coil.begin coil.turns coil.count coil.check coil.snag coil.snap coil.wire_end coil.wax coil.end spool.begin "
        "spool.weigh spool.sample measure note photo counter.take counter.admit void"
    )
    assert set(named.split()) <= set(KINDS)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=10), inner, max_size=3),
    max_leaves=12,
)


@settings(max_examples=400, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(GOOD)), JSON), st.sampled_from(sorted(KINDS)), JSON)
def test_any_object_gives_an_event_or_a_sentence(over: dict[str, Any], kind: str, body: Any) -> None:
    try:
        made = read_event({**GOOD, "kind": kind, "body": body, **over})
    except BookProblem:
        return
    assert parse_line(line(made)) == made


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=300))
def test_any_text_gives_an_event_or_a_sentence(text: str) -> None:
    with pytest.raises(BookProblem):
        parse_line(text)
