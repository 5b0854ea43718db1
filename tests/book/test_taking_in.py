"""What the book does not take in, because it could not be read again or nothing could follow it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from book_events import event, turns

from lodestring.book.event import Event, line
from lodestring.book.jsonl import import_lines
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book, open_book

FAR = 2**53 - 1  # the greatest whole number a browser holds exactly (ECMA-262)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    made = open_book(tmp_path / "book.sqlite")
    made.append([turns(1)])
    yield made  # type: ignore[misc]
    made.close()


LARGE = event(2, "other.kind", {"t": "x" * 70_000})
# id: (event, what the sentence holds)
REFUSED = {
    "larger than a line": (LARGE, "64 KiB"),
    "small as it comes, larger as it is kept": (event(2, "other.kind", {"t": [1e15] * 4000}), "64 KiB"),
    "a month that is none": (turns(2, at="2026-13-01T00:00:00Z"), "a day and a time"),
    "an hour that is none": (turns(2, at="2026-11-25T25:00:00Z"), "a day and a time"),
    "the last number there is": (turns(2, lamport=FAR), "1 \\+ the highest"),
    "a number far ahead": (turns(2, lamport=1_000_002), "1 \\+ the highest"),
}


@pytest.mark.parametrize(("wrong", "sentence"), REFUSED.values(), ids=REFUSED)
def test_what_would_stand_in_the_way_is_refused_and_all_goes_on(wrong: Event, sentence: str, book: Book) -> None:
    with pytest.raises(BookProblem, match=sentence):
        book.append([wrong])
    assert [e.id for e in book.events(coil="c")] == [turns(1).id]
    assert book.note("note", {"text": "on we go"}, coil="c").lamport == 2
    assert len(book.events()) == 2


def test_numbers_that_rise_step_by_step_go_as_far_as_they_like(book: Book) -> None:
    steps = [turns(i, lamport=(i - 1) * 1_000_000) for i in range(2, 12)]
    book.append(reversed(steps))
    assert book.lamport() == 10_000_000
    late = [turns(i, lamport=i) for i in range(20, 1300)]  # more than the quick look sees, all of them long ago
    book.append(late)
    book.append([turns(5000, lamport=11_000_000)])
    assert book.lamport() == 11_000_000


@pytest.mark.parametrize("body", ['{"\\ud800":1}', '{"a":{"b":["\\udfff"]}}'], ids=["a name", "a text"])
def test_half_a_character_is_refused_in_names_as_in_texts(body: str, book: Book) -> None:
    row = line(event(2, "other.kind", {"k": 0})).replace('{"k":0}', body)
    with pytest.raises(BookProblem, match="line 1: texts in a body are Unicode"):
        import_lines(book, row.encode())
    assert book.count() == 1


def test_a_line_of_numbers_that_grow_as_they_are_kept_does_not_come_in_by_an_import(book: Book) -> None:
    row = line(event(2, "other.kind", {"k": 0})).replace('{"k":0}', '{"k":[' + ",".join(["1e9"] * 14_000) + "]}")
    assert len(row) < 64 * 1024
    with pytest.raises(BookProblem, match="64 KiB"):
        import_lines(book, row.encode())
    assert len(book.events()) == 1


def test_a_large_event_of_an_earlier_book_is_read_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as before, open_book(tmp_path / "old.sqlite") as book:
        before.setattr("lodestring.book.store.check_event", lambda e: None)
        book.append([LARGE, replace(turns(3), at="2026-13-01T00:00:00Z")])
    with open_book(tmp_path / "old.sqlite") as book:
        assert len(book.events()) == 2
