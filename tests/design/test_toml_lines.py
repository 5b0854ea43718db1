"""Key paths and their lines, against tomllib (standard library) and tomlkit (a general-purpose TOML library)."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from datetime import date, time
from typing import Any

import pytest
import toml_documents as docs
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from lodestring.design.toml_lines import KeyPath, dotted, key_lines, line_of, scan, split_dotted


def every_path(value: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    """All key paths of a parsed document, tables and lists too; recursive on purpose, unlike the code under test."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from every_path(inner, (*path, key))
    elif isinstance(value, list):
        for n, inner in enumerate(value, 1):
            yield from every_path(inner, (*path, n))


def values_agree(text: str, data: Any) -> None:
    """Each written value, read alone by tomllib, is the value tomllib gave it in the document."""
    for path, (start, end) in scan(text).spans.items():
        value = data
        for part in path:
            value = value[part - 1] if isinstance(part, int) else value[part]
        assert tomllib.loads("x = " + text[start:end])["x"] == value


@pytest.mark.parametrize("text", docs.TRICKY.values(), ids=docs.TRICKY)
def test_key_paths_are_those_of_tomllib(text: str) -> None:
    data = tomllib.loads(text)
    lines = key_lines(text)
    assert sorted(lines, key=repr) == sorted(every_path(data), key=repr)
    assert scan(text).stop is None
    values_agree(text, data)


# id: (document, key path, line). Counted by hand.
PLACES: dict[str, tuple[str, KeyPath, int]] = {
    "root key": ("# c\n\na = 1\n", ("a",), 3),
    "key in a table": ("a = 1\n[b]\n\nc = 2\n", ("b", "c"), 4),
    "table by its header": ("a = 1\n[b]\n\nc = 2\n", ("b",), 2),
    "table only mentioned by a deeper header": ("x = 1\n[a.b.c]\nd = 1\n", ("a", "b"), 2),
    "own header beats an earlier mention": ("[a.b]\nc = 1\n[a]\nd = 1\n", ("a",), 3),
    "dotted key": ("x = 1\na.b = 2\na.c = 3\n", ("a", "c"), 3),
    "table made by a dotted key": ("x = 1\na.b = 2\na.c = 3\n", ("a",), 2),
    "list item on its own line": ("a = [\n  1,\n\n  # c\n  2 ]\n", ("a", 2), 5),
    "list item that is one character": ("a = [\n1\n,\n2]\n", ("a", 1), 2),
    "key in a table in a list": ("a = [\n {b = 1},\n {b = 1,  c = 2} ]\n", ("a", 2, "c"), 3),
    "after a text over lines": ('a = """\n\n\n"""\nb = 1\n', ("b",), 5),
    "after a text over CRLF lines": ('a = """\r\n\r\n"""\r\nb = 1\r\n', ("b",), 4),
    "first of an array of tables": ("[[a]]\nb = 1\n[[a]]\nb = 2\n", ("a", 1), 1),
    "second of an array of tables": ("[[a]]\nb = 1\n[[a]]\nb = 2\n", ("a", 2, "b"), 4),
    "table below an array of tables": ("[[a]]\n[a.b]\nc = 1\n[[a]]\n[a.b]\nc = 2\n", ("a", 2, "b"), 5),
}


@pytest.mark.parametrize(("text", "path", "line"), PLACES.values(), ids=PLACES)
def test_a_key_is_on_the_line_where_a_person_finds_it(text: str, path: KeyPath, line: int) -> None:
    assert key_lines(text)[path] == line


@given(docs.trees())
def test_paths_and_lines_hold_in_what_the_style_preserving_library_writes(tree: dict[str, Any]) -> None:
    _paths_and_lines_hold(tomlkit.dumps(tree), tree)


@given(docs.trees(), st.integers(0, 2**32), st.sampled_from(["\n", "\r\n"]))
def test_paths_and_lines_hold_in_every_style_of_writing(tree: dict[str, Any], seed: int, newline: str) -> None:
    _paths_and_lines_hold(docs.write(tree, seed, newline), tree)


def _paths_and_lines_hold(text: str, tree: dict[str, Any]) -> None:
    data = tomllib.loads(text)
    assert data == tree  # else the writer, not the scanner, is wrong
    lines = key_lines(text)
    assert set(lines) == set(every_path(data))
    values_agree(text, data)
    rows = text.split("\n")
    for path, line in lines.items():
        if isinstance(path[-1], str) and path[-1].isascii() and path[-1].replace("-", "a").isalnum():
            assert path[-1] in rows[line - 1]


@given(st.text(st.sampled_from("ab=.[]{}\"'#\\\n\r, 1-:\t“"), max_size=60))
def test_no_text_makes_the_scanner_raise_or_hang_and_valid_ones_are_followed(text: str) -> None:
    lines = key_lines(text)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(lines) == set(every_path(data))


@given(st.sampled_from(list(docs.TRICKY.values())), st.data())
def test_a_cut_document_is_followed_up_to_the_cut(text: str, data: st.DataObject) -> None:
    cut = data.draw(st.integers(0, len(text)))
    whole, part = key_lines(text), key_lines(text[:cut])
    for path, line in part.items():
        if line <= text.count("\n", 0, cut) and path in whole and path not in scan(text).headers:
            assert whole[path] == line


def test_a_hundred_thousand_brackets_stop_the_scanner_at_the_depth_it_was_given() -> None:
    for text in (
        "a = " + "[" * 100_000,
        "a = " + "{a=" * 100_000,
        "a." * 100_000 + "b = 1",
        "[" + "a." * 100_000 + "b]",
    ):
        stop = scan(text, 16).stop
        assert stop is not None
        assert stop.why == "deep"
        assert len(stop.path) == 17


@pytest.mark.parametrize(
    ("path", "line"),
    [(("a", "b", "x", "y"), 2), (("a", "b"), 2), (("a", "q"), 1), (("a",), 1), (("q", 3), None), ((), None)],
)
def test_what_is_missing_has_the_line_of_what_is_above_it(path: KeyPath, line: int | None) -> None:
    assert line_of({("a",): 1, ("a", "b"): 2}, path) == line


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("instrument", "strings", 3, "diameter"), "instrument.strings.3.diameter"),
        (("a-b", "c_d", "3"), "a-b.c_d.3"),
        (("a b", ""), '"a b".""'),
        (("ä", 'q"\\'), '"ä"."q\\"\\\\"'),
        (("\x7f\n",), '"\\u007f\\u000a"'),
    ],
    ids=["as in the contract", "bare", "blank and empty", "letters and quotes", "control characters"],
)
def test_a_dotted_path_is_quoted_only_where_needed(path: KeyPath, text: str) -> None:
    assert dotted(path) == text
    assert split_dotted(text) == tuple(str(part) for part in path)


@given(st.lists(st.text(st.characters(codec="utf-8"), max_size=5), min_size=1, max_size=4))
def test_tomllib_reads_a_dotted_path_as_the_names_it_was_made_of(names: list[str]) -> None:
    text = dotted(tuple(names))
    assert split_dotted(text) == tuple(names)
    data = tomllib.loads(f"{text} = 1")
    for name in names:
        data = data[name]
    assert data == 1


@pytest.mark.parametrize("text", ["", "a..b", ".a", "a.", "a b", 'a."b', "a = 1", "a\nb", "“a”"])
def test_what_is_no_key_path_has_no_parts(text: str) -> None:
    assert split_dotted(text) is None


def test_dates_are_single_values_for_the_helpers_above() -> None:
    data = tomllib.loads(docs.TRICKY["dates with a blank"])
    assert isinstance(data["b"][0], date)
    assert isinstance(data["b"][1], time)
