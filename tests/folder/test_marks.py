"""The mark "assumed": whom it holds for, how it goes, and that it changes nothing of what the file says."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.design.toml_lines import KeyPath, scan
from lodestring.folder.examples import example_text
from lodestring.folder.marks import assumed, marked, settled

CASES = {
    "a-line": ("a = 1  # assumed\nb = 2\n", {("a",)}, ("a",), "a = 1\nb = 2\n"),
    "windows-line-ends": ("a = 1  # assumed\r\nb = 2\r\n", {("a",)}, ("a",), "a = 1\r\nb = 2\r\n"),
    "no-line-end": ("a = 1 #assumed", {("a",)}, ("a",), "a = 1"),
    "one-of-a-table": (
        "t = { a = 1, b = 2 }  # assumed\n",
        {("t",), ("t", "a"), ("t", "b")},
        ("t", "a"),
        "t = { a = 1, b = 2 }  # assumed: b\n",
    ),
    "named": (
        "t = { a = 1, b = 2, c = 3 }  # assumed: a, b\n",
        {("t", "a"), ("t", "b")},
        ("t", "a"),
        "t = { a = 1, b = 2, c = 3 }  # assumed: b\n",
    ),
    "last-name": ("t = { a = 1, b = 2 }  # assumed: b\n", {("t", "b")}, ("t", "b"), "t = { a = 1, b = 2 }\n"),
    "not-named": (
        "t = { a = 1, b = 2 }  # assumed: b\n",
        {("t", "b")},
        ("t", "a"),
        "t = { a = 1, b = 2 }  # assumed: b\n",
    ),
    "item-of-a-list": (
        "s = [\n  { a = 1 },  # assumed\n  { a = 2 },\n]\n",
        {("s", 1), ("s", 1, "a")},
        ("s", 1, "a"),
        "s = [\n  { a = 1 },\n  { a = 2 },\n]\n",
    ),
    "another-comment": ("a = 1  # not assumed\n", set(), ("a",), "a = 1  # not assumed\n"),
    "in-a-text": ('a = "x  # assumed"\n', set(), ("a",), 'a = "x  # assumed"\n'),
    "the-line-below": ("a = 1\n# assumed\n", set(), ("a",), "a = 1\n# assumed\n"),
}


@pytest.mark.parametrize(("text", "who", "changed", "after"), CASES.values(), ids=CASES.keys())
def test_a_mark_holds_for_its_line_and_goes_with_the_value(
    text: str, who: set[KeyPath], changed: KeyPath, after: str
) -> None:
    assert assumed(text) == who
    assert settled(text, changed) == after


@given(data=st.data())
def test_marking_and_settling_change_no_value_and_no_other_line(data: st.DataObject) -> None:
    text = example_text(data.draw(st.sampled_from(["heron", "plover", "wren"])))
    path = data.draw(st.sampled_from(sorted(scan(text).spans, key=str)))
    with_mark = marked(text, path)
    assert tomllib.loads(with_mark) == tomllib.loads(text)
    line = scan(text).lines[path] - 1
    if "#" not in text.splitlines()[line] and with_mark != text and isinstance(path[-1], str):
        assert path in assumed(with_mark)
        back = settled(with_mark, path)
        assert path not in assumed(back)
        assert tomllib.loads(back) == tomllib.loads(text)


def test_a_line_of_brackets_and_blanks_before_a_comment_is_read_in_one_pass() -> None:
    text = "a = " + "[" * 15 + "1" + (" " * 200 + "]") * 15 + " " * 5000 + "# kept\n"
    assert assumed(text) == frozenset()
