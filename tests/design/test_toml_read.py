"""Reading: what is refused, with which sentence, and that nothing ever ends in a traceback. All documents invented."""

from __future__ import annotations

import hashlib
import os
import sys
import time
import tomllib
from pathlib import Path

import pytest
import toml_documents as docs
from hypothesis import given
from hypothesis import strategies as st

from lodestring.design.toml_read import LARGEST, read_toml
from lodestring.errors import Problem, SetFileError

SET = """\
format = 1
title = "Invented"   # a comment

[instrument]
strings = [
  { note = "B3", diameter = "0.014 in" },
  { note = "F#3", diameter = "0.018 in" },
]

[pickup.bridge.coil.main]
turns = 7800
wire = { size = "42 AWG", film = "single" }
"""


def problems(source: str | os.PathLike[str] | bytes) -> list[Problem]:
    with pytest.raises(SetFileError) as caught:
        read_toml(source, "f.toml")
    for line in caught.value.lines():
        assert line.startswith("f.toml")
        assert len(line) < 500
        assert line.isprintable()
    return caught.value.problems


def test_a_document_holds_what_the_file_holds(tmp_path: Path) -> None:
    raw = b"\xef\xbb\xbf" + SET.replace("\n", "\r\n").encode()
    path = tmp_path / "a.toml"
    path.write_bytes(raw)
    document = read_toml(path)
    assert document.file == str(path)
    assert document.data == tomllib.loads(SET)
    assert document.sha256 == "sha256:" + hashlib.sha256(raw).hexdigest()
    assert document.text == SET.replace("\n", "\r\n")
    assert document.lines["instrument", "strings", 2, "note"] == 7
    assert read_toml(raw, "x").data == document.data


# id: (bytes, line, words that the sentence must hold)
WHOLE: dict[str, tuple[bytes, int | None, str]] = {
    "empty": (b"", None, "came nothing"),
    "only comments": (b"# a = 1\n\n", None, "only blank lines and comments"),
    "zero byte": (b"a = 1\nb = \0\n", 2, "binary data"),
    "a picture's first bytes": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 3, "binary data"),
    "not UTF-8": (b'a = 1\nb = "5 mm \xb1 0.1"\n', 2, "0xb1"),
    "UTF-16": ("a = 1\n".encode("utf-16"), None, "UTF-16"),
    "one byte too large": (b"a = 1\n" + b"#" * (LARGEST - 5), None, "at most 256 KiB"),
}


@pytest.mark.parametrize(("raw", "line", "words"), WHOLE.values(), ids=WHOLE)
def test_a_file_that_is_no_set_file_is_refused_with_the_reason(raw: bytes, line: int | None, words: str) -> None:
    [problem] = problems(raw)
    assert problem.line == line
    assert words in problem.sentence()


def test_the_largest_file_allowed_is_read() -> None:
    assert read_toml(b"a = 1\n" + b"#" * (LARGEST - 6)).data == {"a": 1}


def test_a_path_that_leads_to_no_file_gets_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "heron.toml").write_text("a = 1")
    assert "a folder" in problems(tmp_path)[0].sentence()
    assert "heron.toml" in problems(tmp_path / "herom.toml")[0].sentence()
    assert "folder that is not there" in problems(tmp_path / "no" / "heron.toml")[0].sentence()
    assert "readable" in problems("a\0b")[0].sentence()
    assert "readable" in problems("a" * 5000)[0].sentence()
    assert "readable" in problems(tmp_path / "heron.toml" / "x")[0].sentence()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_a_pipe_is_refused_instead_of_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "pipe" in problems(tmp_path / "pipe")[0].sentence()


def test_a_file_that_may_not_be_read_gets_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1")

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", refuse)  # root may read everything, so mode 000 would not show it
    assert "may not read" in problems(path)[0].sentence()


def test_ten_megabytes_are_refused_before_they_are_read(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    path.write_bytes(b"a = 1\n" * (10 * 1024 * 1024 // 6))
    start = time.perf_counter()
    assert "10,240 KiB" in problems(path)[0].sentence()
    assert time.perf_counter() - start < 0.1  # asking for the size takes microseconds; reading and hashing 20 ms


# id: (text, [(line, key path, words)])
VALUES: dict[str, tuple[str, list[tuple[int, str, str]]]] = {
    "5,000 digits": ("a = 1\nb = " + "7" * 5000, [(2, "b", "5,000 digits")]),
    "65 bits": ("a = 9223372036854775808", [(1, "a", "64 bits")]),
    "65 bits below": ("a = -9223372036854775809", [(1, "a", "64 bits")]),
    "long hexadecimal": ("a = 0x" + "f" * 5000, [(1, "a", "digits")]),
    "1e400": ("[a]\nb = 1e400", [(2, "a.b", "finite")]),
    "minus infinity": ("a = -inf", [(1, "a", "finite")]),
    "nan in a list": ("a = [\n1.0,\n+nan ]", [(3, "a.2", "nan")]),
    "date": ("a = 1979-05-27", [(1, "a", '"1979-05-27"')]),
    "date and time": ("a = 1979-05-27T07:32:00Z", [(1, "a", "date or time")]),
    "time": ("a = 07:32:00", [(1, "a", "date or time")]),
    "escape character in a text": ('a = "\\u001b[31m"', [(1, "a", "U+001B")]),
    "escape character in a name": ('"\\u001b" = 1', [(1, '"\\u001b"', "printable")]),
    "all at once, in the order of the file": (
        f"a = nan\nb = {'9' * 5000}\n[c]\nd = inf\ne = {{ f = [ 2000-01-01 ] }}",
        [(1, "a", "nan"), (2, "b", "digits"), (4, "c.d", "finite"), (5, "c.e.f.1", "date")],
    ),
}


@pytest.mark.parametrize(("text", "expected"), VALUES.values(), ids=VALUES)
def test_values_no_set_file_can_mean_are_told_with_line_and_key(
    text: str, expected: list[tuple[int, str, str]]
) -> None:
    found = problems(text.encode())
    assert [(p.line, p.path) for p in found] == [(line, path) for line, path, _ in expected]
    for problem, (_, _, words) in zip(found, expected, strict=True):
        assert words in problem.sentence()


@pytest.mark.parametrize("value", ["9223372036854775807", "-9223372036854775808", "1.7e308", "-0.0", "1_000", "true"])
def test_the_neighbours_just_inside_are_read(value: str) -> None:
    assert read_toml(f"a = {value}".encode()).data == tomllib.loads(f"a = {value}")


def test_a_thousand_wrong_values_are_told_in_fifty_lines() -> None:
    found = problems(("a = [" + "nan," * 1000 + "]").encode())
    assert len(found) == 51
    assert "950 more" in found[-1].sentence()


# 17 parts are one too many; each way of nesting alone, and mixed.
DEEP = {
    "lists": "a = " + "[" * 17 + "]" * 17,
    "inline tables": "a = " + "{a = " * 16 + "1" + "}" * 16,
    "dotted key": "a." * 16 + "a = 1",
    "header": "[" + "a." * 16 + "a]",
    "mixed": "[" + "a." * 7 + "a]\n" + "b." * 4 + "b = [{c = [{c = 1}]}]",
    "a hundred thousand brackets": "a = " + "[" * 100_000,
    "a hundred thousand braces": "a = " + "{a=" * 80_000,
    "a hundred thousand dots": "a." * 100_000 + "a = 1",
    "a hundred thousand dots in a header": "[" + "a." * 100_000 + "a]",
}


@pytest.mark.parametrize("text", DEEP.values(), ids=DEEP)
def test_nesting_beyond_sixteen_is_refused_quickly(text: str) -> None:
    start = time.perf_counter()
    [problem] = problems(text.encode())
    assert "at most 16 deep" in problem.sentence()
    assert problem.line == text.count("\n") + 1
    assert time.perf_counter() - start < 2  # takes 0.2 s; the standard parser alone would need minutes for the dots


@pytest.mark.parametrize("text", ["a = " + "[" * 16 + "]" * 16, "a." * 15 + "a = 1", "[" + "a." * 15 + "a]"])
def test_nesting_of_sixteen_is_read(text: str) -> None:
    assert read_toml(text.encode()).data == tomllib.loads(text)


# id: (text, line, key path, what the sentence must hold). The commonest slips when a set file is typed by hand.
SLIPS: dict[str, tuple[str, int, str, list[str]]] = {
    "no quotes": ("[a]\nsize = 42 AWG\n", 2, "a.size", ["`size = 42 AWG`", 'try "42 AWG"']),
    "no quotes in braces": ('[a]\nw = { size = 42 AWG, film = "x" }', 2, "a.w.size", ['try "42 AWG"', "column"]),
    "no quotes in a list": ("a = [\n  42 AWG,\n]", 2, "a.1", ['try "42 AWG"']),
    "no quotes, a word": ("a = single # film", 1, "a", ['try "single"']),
    "no quotes, inches": ('d = 0.0025"', 1, "d", ["try '0.0025\"'"]),
    "no quotes, decimal comma": ("d = 3,5 mm", 1, "d", ['try "3,5 mm"']),
    "no quotes, tolerance": ("d = 5 mm ± 0.1", 1, "d", ['try "5 mm ± 0.1"']),
    "no first quote": ('size = 42 AWG"', 1, "size", ['try "42 AWG"']),
    "no last quote": ('size = "42 AWG\nb = 1', 1, "size", ["must end on its line", '`size = "42 AWG`']),
    "no last quote at the end": ("size = '42 AWG", 1, "size", ["must end on its line"]),
    "long text not closed": ('a = 1\nb = """x\n\ny = 2', 2, "b", ['must end with """']),
    "curly quotes": ("title = “Heron”", 1, "title", ["straight", 'try `title = "Heron"`']),
    "one curly quote": ('title = "Heron”\nb = 1', 1, "title", ["straight", 'try `title = "Heron"`']),
    "curly single quotes": ("title = ‘Heron’", 1, "title", ["straight"]),
    "no equals sign": ("turns 7800", 1, "", ["try `turns = 7800`"]),
    "colon": ("turns: 7800", 1, "", ["try `turns = 7800`"]),
    "name of two words": ("max turns = 7800", 1, "", ["one word", "`max-turns =`"]),
    "no value": ("a = \nb = 1", 1, "a", ["a value must follow the ="]),
    "no value but a comment": ("a = # later", 1, "a", ["a value must follow the ="]),
    "key twice": ("a = 1\nb = 2\na = 3\n", 3, "a", ["a is set in line 1 already"]),
    "key twice in a table": ("[t]\na = 1\n\na = [\n3\n]\n", 4, "t.a", ["t.a is set in line 2 already"]),
    "key twice in braces": ("x = 1\nt = { a = 1, a = 2 }", 2, "t.a", ["t.a is set in line 2 already"]),
    "table twice": ("[a]\nx = 1\n[b]\n[a]\ny = 1", 4, "a", ["a is set in line 1 already"]),
    "table over a value": ("a = 1\n[a]\nb = 1", 2, "a", ["a is set in line 1 already"]),
    "table in a closed table": ("a = { b = 1 }\n[a.c]\nd = 1", 2, "a.c", ["a is set in line 1 already"]),
    "table made by a dotted key": ("a.b = 1\n[a]\nc = 1", 2, "a", ["a is set in line 1 already"]),
    "list not closed, key": ("a = [1,2\n\nb = 3\n", 1, "a", ["must end with ]", "no ] up to line 3"]),
    "list not closed, table": ('a = [\n "x",\n "y"\n\n[p]\nz = 1', 1, "a", ["must end with ]", "no ] up to line 5"]),
    "list not closed, end": ("x = 1\na = [1,\n2", 2, "a", ["must end with ]"]),
    "no comma in a list": ('a = ["x" "y"]', 1, "a", ["commas between"]),
    "no comma between tables": ("a = [\n{ b = 1 }\n{ b = 2 }\n]", 3, "a", ["commas between"]),
    "braces not closed": ("t = { a = 1\nb = 2", 1, "t", ["closed on the line it began", "[t]"]),
    "braces over lines": ("t = { a = 1,\n  b = 2 }", 1, "t", ["closed on the line it began", "[t]"]),
    "comma before the brace": ("t = { a = 1, }", 1, "t.a", ["no comma"]),
    "no comma in braces": ('t = { a = "x" b = 1 }', 1, "t.a", ["commas between"]),
    "header not closed": ("[pickup.bridge\nx = 1", 1, "", ["header", "try [pickup.bridge]"]),
    "header of two words": ("[my pickup]\n", 1, "", ["header", "try [my-pickup]"]),
    "double header not closed": ("[[a]\nb = 1", 1, "", ["try [[a]]"]),
    "true with a capital": ("a = True", 1, "a", ["small letters", "try true"]),
    "number without its 0": ("a = .5", 1, "a", ["try 0.5"]),
    "number with a 0 too many": ("a = 007", 1, "a", ["try 7"]),
    "text behind the value": ('a = "x" y', 1, "a", ["nothing but a # comment"]),
    "backslash": ('a = "c:\\quills"', 1, "a", ["written twice"]),
    "control character": ("a = 1\nb = 2 \x07", 2, "b", ["U+0007"]),
    "CRLF": ("a = 1\r\n\r\nb = 42 AWG\r\n", 3, "b", ['try "42 AWG"']),
    "nothing recognised": ("a = 1\n= 5", 2, "", ["`= 5` (column 1)", "name = value"]),
}

# The next standard parser takes these two (TOML 1.1), so the slip is none there.
NEWER_TOML = {"braces over lines", "comma before the brace"}


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_of_the_grammar_is_told_with_its_place_and_what_to_write(name: str) -> None:
    if name in NEWER_TOML and sys.version_info >= (3, 15):
        pytest.skip("this Python reads TOML 1.1, where it is allowed")
    text, line, path, words = SLIPS[name]
    [problem] = problems(text.encode())
    assert problem.line == line
    assert problem.path == path
    for word in words:
        assert word in problem.sentence()


def test_what_is_advised_can_be_read() -> None:
    """The part in backticks or quotes behind `try`, put in place of the line, is TOML (where it is a whole line)."""
    for name, (text, line, _, _) in SLIPS.items():
        [problem] = problems(text.encode())
        if problem.attempt.startswith("`") and not problem.attempt.endswith("=`"):
            rows = text.splitlines()
            rows[line - 1] = problem.attempt.strip("`")
            assert read_toml("\n".join(rows).encode()), name


@given(st.binary(max_size=200))
def test_random_bytes_never_end_in_a_traceback(raw: bytes) -> None:
    _reads_or_tells(raw)


@given(st.text(st.sampled_from("ab=.[]{}\"'#\\\n\r, 1-:\tä“e+_"), max_size=80))
def test_random_toml_characters_never_end_in_a_traceback(text: str) -> None:
    _reads_or_tells(text.encode())


SOURCES = [SET, *docs.TRICKY.values()]


@given(st.sampled_from(SOURCES), st.data())
def test_mutated_documents_never_end_in_a_traceback(text: str, data: st.DataObject) -> None:
    raw = bytearray(text.encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(raw)))
        kind = data.draw(st.sampled_from(["delete", "insert", "repeat", "cut"]))
        length = data.draw(st.integers(1, 8))
        if kind == "delete":
            del raw[at : at + length]
        elif kind == "insert":
            raw[at:at] = data.draw(
                st.one_of(st.binary(max_size=4), st.sampled_from([b'"""', b"[[", b"=", b"}", b"1e999"]))
            )
        elif kind == "repeat":
            raw[at:at] = raw[at : at + length] * 3
        else:
            del raw[max(at, 1) :]
    _reads_or_tells(bytes(raw))


def _reads_or_tells(raw: bytes) -> None:
    """Either what tomllib reads, or sentences with lines that exist."""
    told: SetFileError | None = None
    try:
        document = read_toml(raw, "f")
    except SetFileError as error:
        told = error
    if told is None:
        assert document.data == tomllib.loads(raw.removeprefix(b"\xef\xbb\xbf").decode())
        return
    assert told.problems
    assert str(told).replace("\n", "").isprintable()
    for problem in told.problems:
        assert problem.must
        assert problem.line is None or 1 <= problem.line <= raw.count(b"\n") + 1
