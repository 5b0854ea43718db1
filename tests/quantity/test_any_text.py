"""Whatever is typed: a finite quantity or a QuantityError in one printable line whose proposals can be read."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.errors import QuantityError
from lodestring.quantity import Kind, read, read_note, read_wire_size
from lodestring.quantity.spelling import spellings

T = TypeVar("T")

KINDS = st.sampled_from(list(Kind))
PIECES = st.sampled_from(
    list("0123456789.,+-±/ eE½\"'%kMmµΩ°#\u2212\x00\u202e")
    + ["+-", "1,250", "9/16", "AWG", "nan", "inf", "1e309", "e-330"]
    + [s for k in Kind for s in spellings(k)]
)
TEXTS = st.text(max_size=100) | st.lists(PIECES, max_size=9).map("".join) | st.lists(PIECES, max_size=7).map(" ".join)


def _ask(reader: Callable[[], T]) -> T | QuantityError:
    """What the reader gives back, or the sentence it refuses with; any other exception fails the test."""
    try:
        return reader()
    except QuantityError as error:
        return error


def _proposals(error: QuantityError) -> list[str]:
    assert str(error).isprintable()
    assert error.attempt.startswith('"')
    assert error.attempt.endswith('"')
    return error.attempt[1:-1].split('" or "')


@given(TEXTS, KINDS)
def test_any_text_is_a_finite_quantity_or_a_sentence(text: str, kind: Kind) -> None:
    answer = _ask(lambda: read(text, kind))
    if isinstance(answer, QuantityError):
        for proposal in _proposals(answer):
            assert math.isfinite(read(proposal, kind).value)
    else:
        assert answer.kind is kind
        assert answer.text == text
        assert math.isfinite(answer.value)
        assert answer.half_width is None or 0 <= answer.half_width < math.inf


@given(TEXTS)
def test_any_text_is_a_wire_size_or_a_sentence(text: str) -> None:
    answer = _ask(lambda: read_wire_size(text))
    if isinstance(answer, QuantityError):
        for proposal in _proposals(answer):
            read_wire_size(proposal)
    else:
        assert read_wire_size(answer.label) == answer


@given(st.text(max_size=40) | st.text("ABCDEFGHabcdefg#♯♭b-0123456789 ", max_size=5))
def test_any_text_is_a_note_or_a_sentence(text: str) -> None:
    answer = _ask(lambda: read_note(text))
    if isinstance(answer, QuantityError):
        for proposal in _proposals(answer):
            read_note(proposal)
    else:
        # C0 is 16.35 Hz, C9 8372.02 Hz (ISO 16 and equal temperament).
        assert 16.3 < answer.frequency < 8372.1


NO_TEXT = st.none() | st.booleans() | st.integers() | st.floats() | st.binary(max_size=3) | st.lists(st.integers())


@given(NO_TEXT, KINDS)
def test_any_value_that_is_no_text_is_a_ratio_or_a_sentence(value: Any, kind: Kind) -> None:
    answer = _ask(lambda: read(value, kind))
    if isinstance(answer, QuantityError):
        assert str(answer).isprintable()
    else:
        assert kind is Kind.RATIO
        assert answer.value == float(value)


@pytest.mark.parametrize("reader", [read_wire_size, read_note])
@pytest.mark.parametrize("value", [None, True, 2.5, 42, ["42 AWG"]])
def test_wire_sizes_and_notes_are_texts(reader: Callable[[Any], object], value: Any) -> None:
    with pytest.raises(QuantityError):
        reader(value)
