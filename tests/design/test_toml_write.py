"""Writing: only what was asked for changes, and a failure at any step leaves the old file and no other."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import toml_documents as docs
import tomlkit
from hypothesis import assume, given
from hypothesis import strategies as st

from lodestring.design.toml_lines import KeyPath, dotted, scan
from lodestring.design.toml_read import walk
from lodestring.design.toml_write import apply_changes, write_changes, write_new
from lodestring.errors import FileProblem

SET = """\
# A set, invented.
format = 1
title = "Invented"   # printed

[instrument]
nut    = { span = "36 mm" }          # centres
strings = [                          # string 1 first
  { note = "B3",  diameter = "0.014 in" },
  { note = "F#3", diameter = "0.018 in" },   # thicker
]

# the bridge pickup
[pickup.bridge.coil.main]
turns = 7800     # by the book
height = ["1.0 mm", "1.5 mm"]
core.kind = "walled"

# what it is for
[intent]
cancel_hum = []
"""


def sha(raw: bytes) -> str:
    return "sha256:" + hashlib.sha256(raw).hexdigest()


# id: (changes, [(old lines, new lines)]). Expected texts written by hand, as a person would make the change.
EDITS: dict[str, tuple[dict[str, str | None], list[tuple[str, str]]]] = {
    "a number": ({"pickup.bridge.coil.main.turns": "7200"}, [("turns = 7800 ", "turns = 7200 ")]),
    "a text of another length": ({"title": '"A longer title"'}, [('"Invented"', '"A longer title"')]),
    "in a table in a list": ({"instrument.strings.2.diameter": '"0.02 in"'}, [('"0.018 in"', '"0.02 in"')]),
    "in braces": ({"instrument.nut.span": '"37 mm"'}, [('"36 mm"', '"37 mm"')]),
    "a list item": ({"pickup.bridge.coil.main.height.1": '"2 mm"'}, [('"1.0 mm"', '"2 mm"')]),
    "a whole list": ({"pickup.bridge.coil.main.height": '"1 mm"'}, [('["1.0 mm", "1.5 mm"]', '"1 mm"')]),
    "a dotted key": ({"pickup.bridge.coil.main.core.kind": '"on rods"'}, [('"walled"', '"on rods"')]),
    "two at once": (
        {"format": "2", "intent.cancel_hum": "[1]"},
        [("format = 1", "format = 2"), ("hum = []", "hum = [1]")],
    ),
    "a new key in a table": (
        {"intent.level": "{ reference = 'x' }"},
        [("cancel_hum = []\n", "cancel_hum = []\nlevel = { reference = 'x' }\n")],
    ),
    "a new key at the root": ({"note": "1"}, [("# printed\n", "# printed\nnote = 1\n")]),
    "a new key in braces": ({"instrument.nut.outside": "1"}, [('"36 mm" }', '"36 mm", outside = 1 }')]),
    "a new key beside a dotted one": (
        {"pickup.bridge.coil.main.core.wall": '"1 mm"'},
        [('core.kind = "walled"\n', 'core.kind = "walled"\ncore.wall = "1 mm"\n')],
    ),
    "a new item of a list over lines": (
        {"instrument.strings.3": '{ note = "D3" }'},
        [("# thicker\n", '# thicker\n  { note = "D3" },\n')],
    ),
    "a new item of a list on one line": (
        {"pickup.bridge.coil.main.height.3": '"2 mm"'},
        [('"1.5 mm"]', '"1.5 mm", "2 mm"]')],
    ),
    "a first item of a list": ({"intent.cancel_hum.1": "['a']"}, [("hum = []", "hum = [['a']]")]),
    "a key of a table that only deeper headers mention": (
        {"pickup.bridge.place": '"45 mm"'},
        [("# the bridge pickup\n", '[pickup.bridge]\nplace = "45 mm"\n\n# the bridge pickup\n')],
    ),
    "a table that is not there": (
        {"pickup.bridge.coil.main.wire.size": '"42 AWG"'},
        [('core.kind = "walled"\n', 'core.kind = "walled"\n\n[pickup.bridge.coil.main.wire]\nsize = "42 AWG"\n')],
    ),
    "two keys of a table that is not there": (
        {"harness.a": "1", "harness.b": "2"},
        [("cancel_hum = []\n", "cancel_hum = []\n\n[harness]\na = 1\nb = 2\n")],
    ),
    "a key gone": ({"pickup.bridge.coil.main.turns": None}, [("turns = 7800     # by the book\n", "")]),
    "a key in braces gone": ({"instrument.strings.1.diameter": None}, [('"B3",  diameter = "0.014 in"', '"B3"')]),
    "a first key in braces gone": ({"instrument.strings.1.note": None}, [('note = "B3",  ', "")]),
    "a list item gone": (
        {"instrument.strings.1": None},
        [('  { note = "B3",  diameter = "0.014 in" },\n', "")],
    ),
    "all list items gone": (
        {"pickup.bridge.coil.main.height.1": None, "pickup.bridge.coil.main.height.2": None},
        [('["1.0 mm", "1.5 mm"]', "[]")],
    ),
    "a table gone, the comment of the next stays": (
        {"pickup.bridge.coil.main": None},
        [
            (
                "[pickup.bridge.coil.main]\nturns = 7800     # by the book\n"
                'height = ["1.0 mm", "1.5 mm"]\ncore.kind = "walled"\n',
                "",
            )
        ],
    ),
    "list numbers mean the list as it was": (
        {"pickup.bridge.coil.main.height.1": None, "pickup.bridge.coil.main.height.2": '"3 mm"'},
        [('["1.0 mm", "1.5 mm"]', '["3 mm"]')],
    ),
}


@pytest.mark.parametrize(("changes", "edits"), EDITS.values(), ids=EDITS)
@pytest.mark.parametrize("newline", ["\n", "\r\n"], ids=["LF", "CRLF"])
def test_a_change_is_made_as_a_person_would_make_it(
    changes: dict[str, str | None], edits: list[tuple[str, str]], newline: str
) -> None:
    expected = SET
    for old, new in edits:
        assert expected.count(old) == 1
        expected = expected.replace(old, new)
    assert apply_changes(SET.replace("\n", newline), changes) == expected.replace("\n", newline)
    assert apply_changes(SET.rstrip("\n"), changes) == expected.rstrip("\n")  # no final line end: none afterwards


# id: (old text, changes, new text). Places in a file that SET does not have.
ODD_PLACES: dict[str, tuple[str, dict[str, str | None], str]] = {
    "the last line, without line end": ("a = 1\nb = 2", {"b": None}, "a = 1"),
    "the last line, CRLF, without line end": ("a = 1\r\nb = 2", {"b": None}, "a = 1"),
    "a comment right below the last key stays with it": (
        "[a]\nb = 1\n# about b\n\n# about c\n[c]\nd = 1\n",
        {"a.x.y": "1"},
        "[a]\nb = 1\n# about b\n\n[a.x]\ny = 1\n\n# about c\n[c]\nd = 1\n",
    ),
    "a comment that stands on the next header stays with that": (
        "[a]\nb = 1\n# about c\n[c]\nd = 1\n",
        {"a.x.y": "1"},
        "[a]\nb = 1\n\n[a.x]\ny = 1\n# about c\n[c]\nd = 1\n",
    ),
    "an item whose line ends in a comment": (
        "a = [\n  1, # one\n  2, # two\n]\n",
        {"a.1": None},
        "a = [\n  # one\n  2, # two\n]\n",
    ),
    "an item with a comment before its comma": ("a = [\n1 # one\n,\n2]\n", {"a.1": None}, "a = [\n # one\n\n2]\n"),
    "an indented table": ("[a]\n  b = 1\n", {"a.c": "2"}, "[a]\n  b = 1\n  c = 2\n"),
    "a root without keys": ("# c\n\n# about a\n[a]\nb = 1\n", {"c": "2"}, "# c\n\nc = 2\n\n# about a\n[a]\nb = 1\n"),
    "a table in the first of an array of tables": (
        "[[a]]\nb = 1\n\n[[a]]\nb = 2\n",
        {"a.1.c.d": "3"},
        "[[a]]\nb = 1\n\n[a.c]\nd = 3\n\n[[a]]\nb = 2\n",
    ),
    "the first of an array of tables": ("x = 1\n[[a]]\nb = 1\n[[a]]\nb = 2\n", {"a.1": None}, "x = 1\n[[a]]\nb = 2\n"),
    "the only one of an array of tables": ("x = 1\n[[a]]\nb = 1\n", {"a.1": None}, "x = 1\n"),
    "the last dotted key of a table": ("x = 1\na.b.c = 1\n", {"a.b.c": None}, "x = 1\n"),
    "the last key below a header": ("[a]\nb = 1\n", {"a.b": None}, "[a]\n"),
}


@pytest.mark.parametrize(("text", "changes", "expected"), ODD_PLACES.values(), ids=ODD_PLACES)
def test_a_change_in_an_odd_place_leaves_its_neighbours(
    text: str, changes: dict[str, str | None], expected: str
) -> None:
    assert apply_changes(text, changes) == expected


@pytest.mark.parametrize("wrong", ["a = 2.0\nb = 1", "a = 2\nb = 3", "a = 2", "a = 2\nb = 1\nc = 1", "a = 2\nb = true"])
def test_a_new_text_that_reads_otherwise_than_wanted_is_not_accepted(
    wrong: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lodestring.design.toml_write.set_value", lambda *_: wrong)
    with pytest.raises(FileProblem, match="differ only in what was asked for"):
        apply_changes("a = 1\nb = 1", {"a": "2"})


# id: (changes, words of the sentence)
REFUSED: dict[str, tuple[dict[str, str | None], str]] = {
    "no value": ({"format": ""}, "one TOML value"),
    "no quotes": ({"title": "42 AWG"}, "one TOML value"),
    "a value and a line": ({"format": "1\nevil = 2"}, "one TOML value"),
    "a value and a table": ({"format": "1\n[x]"}, "one TOML value"),
    "a value and a comment": ({"format": "1 # c"}, "one TOML value"),
    "two values": ({"format": "1 2"}, "one TOML value"),
    "very deep value": ({"format": "[" * 5000 + "]" * 5000}, "one TOML value"),
    "through a value": ({"format.a": "1"}, "lead through tables"),
    "through a list by name": ({"instrument.strings.first": "1"}, "counted from 1"),
    "item 0": ({"instrument.strings.0.note": '"A"'}, "counted from 1"),
    "an item after the next": ({"instrument.strings.4": "1"}, "has 2 items"),
    "a key of the next item": ({"instrument.strings.3.note": "1"}, "has 2 items"),
    "no key path": ({"a b": "1"}, "dotted key path"),
    "an empty key path": ({"": "1"}, "dotted key path"),
    "a table by one value": ({"pickup.bridge": "1"}, "key by key"),
    "taking out what is not there": ({"intent.level": None}, "to be taken out"),
    "nan": ({"format": "nan"}, "must have a value"),
    "too many digits": ({"format": "9" * 30}, "64 bits"),
    "too deep": ({"a" + ".a" * 20: "1"}, "16 deep"),
    "too large": ({"title": '"' + "x" * 300_000 + '"'}, "256 KiB"),
    "everything gone": (dict.fromkeys(["format", "title", "instrument", "pickup", "intent"]), "at least one key"),
}


@pytest.mark.parametrize(("changes", "words"), REFUSED.values(), ids=REFUSED)
def test_a_change_that_cannot_be_made_is_refused_and_the_file_untouched(
    changes: dict[str, str | None], words: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.toml"
    path.write_text(SET)
    with pytest.raises(FileProblem, match=re.escape(words)):
        write_changes(path, changes, sha(SET.encode()))
    assert path.read_text() == SET
    assert os.listdir(tmp_path) == ["a.toml"]


COMMENT = re.compile(r"#c\d+, not \] or \" or = or \}")


def comments(text: str) -> list[str]:
    return COMMENT.findall(text)


def put(data: Any, path: KeyPath, value: Any) -> None:
    for part in path[:-1]:
        data = data[part - 1] if isinstance(part, int) else data[part]
    data[path[-1] - 1 if isinstance(path[-1], int) else path[-1]] = value


@given(docs.texts(), st.data())
def test_a_change_of_any_value_changes_that_value_and_not_one_other_character(text: str, data: st.DataObject) -> None:
    tree = tomllib.loads(text)
    leaves = [path for path, _ in walk(tree)]
    assume(leaves and len(max(leaves, key=len)) < 16)
    path = data.draw(st.sampled_from(leaves))
    source, value = data.draw(
        st.sampled_from([("7200", 7200), ('"42 AWG"', "42 AWG"), ("[1, { a = '}' }]", [1, {"a": "}"}])])
    )
    new = apply_changes(text, {dotted(path): source})
    put(tree, path, value)
    assert tomllib.loads(new) == tree
    start, end = scan(text).spans[path]
    assert new == text[:start] + source + text[end:]
    assert comments(new) == comments(text)


@given(docs.texts(), st.data())
def test_keys_added_anywhere_leave_everything_else(text: str, data: st.DataObject) -> None:
    tree = tomllib.loads(text)
    tables = _tables(tree)
    path = data.draw(st.sampled_from(tables)) + data.draw(
        st.sampled_from([("new key",), ("brand-new", "deep"), ("brand-new", "a", "b")])
    )
    assume(len(path) < 12)
    new = apply_changes(text, {dotted(path): "[\n 1,\n]"})
    here: Any = tree
    for part in path[:-1]:
        here = here[part - 1] if isinstance(part, int) else here.setdefault(part, {})
    here[path[-1]] = [1]
    assert tomllib.loads(new) == tree
    assert comments(new) == comments(text)
    if "\r" not in text:  # a second reader; it keeps CR in a text over lines, tomllib (and so the contract) does not
        assert tomlkit.parse(new).unwrap() == tree
    if "\n" in text:
        assert ("\r\n" in new) == ("\r\n" in text)
        assert ("\n" in new.replace("\r\n", "")) == ("\n" in text.replace("\r\n", ""))


@given(docs.texts(), st.data())
def test_keys_taken_out_anywhere_leave_everything_else(text: str, data: st.DataObject) -> None:
    tree = tomllib.loads(text)
    path = data.draw(st.sampled_from([p for p in scan(text).lines if len(p) < 12]))
    assume(len(tree) > 1)
    new = apply_changes(text, {dotted(path): None})
    holder: Any = tree
    for part in path[:-1]:
        holder = holder[part - 1] if isinstance(part, int) else holder[part]
    del holder[path[-1] - 1 if isinstance(path[-1], int) else path[-1]]
    assert _without_empty(tomllib.loads(new)) == _without_empty(tree)
    removed = set(comments(text)) - set(comments(new))
    rows = text.split("\n")
    for comment in removed:  # a comment goes only with a line that holds what was taken out
        [row] = [n for n, row in enumerate(rows, 1) if f"{comment}" in row]
        assert any(p[: len(path)] == path and _touches(text, p, row) for p in scan(text).lines)


def _touches(text: str, path: KeyPath, row: int) -> bool:
    seen = scan(text)
    start, end = seen.spans.get(path, (seen.headers.get(path, 0),) * 2)
    return text.count("\n", 0, start) + 1 <= row <= text.count("\n", 0, end) + 1


def _tables(tree: Any, path: KeyPath = ()) -> list[KeyPath]:
    found = [path] if isinstance(tree, dict) else []
    items = tree.items() if isinstance(tree, dict) else enumerate(tree, 1) if isinstance(tree, list) else []
    for part, value in items:
        found += _tables(value, (*path, part))
    return found


def _without_empty(value: Any) -> Any:
    """Tables that only their keys had made go with the last key, and lists of tables with the last table."""
    if isinstance(value, dict):
        kept = {key: _without_empty(inner) for key, inner in value.items()}
        return {key: inner for key, inner in kept.items() if inner not in ({}, [])}
    return [_without_empty(inner) for inner in value] if isinstance(value, list) else value


def test_a_change_on_disk_gives_the_new_hash_and_keeps_mode_and_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    raw = b"\xef\xbb\xbf" + SET.encode()
    path.write_bytes(raw)
    path.chmod(0o640)
    new = write_changes(path, {"pickup.bridge.coil.main.turns": "7200"}, sha(raw))
    assert path.read_bytes() == raw.replace(b"7800", b"7200")
    assert new == sha(path.read_bytes())
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert os.listdir(tmp_path) == ["a.toml"]


def test_a_link_stays_a_link_and_the_file_behind_it_changes(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    real = tmp_path / "real" / "a.toml"
    real.write_text("a = 1\n")
    link = tmp_path / "a.toml"
    link.symlink_to(real)
    write_changes(link, {"a": "2"}, sha(b"a = 1\n"))
    assert link.is_symlink()
    assert real.read_text() == "a = 2\n"


def test_a_file_that_has_changed_since_it_was_opened_is_not_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")
    opened = sha(path.read_bytes())
    path.write_text("a = 1 # mine\n")
    with pytest.raises(FileProblem, match="as it was when it was opened"):
        write_changes(path, {"a": "2"}, opened)
    assert path.read_text() == "a = 1 # mine\n"


def test_a_file_that_changes_while_the_new_one_is_written_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")
    sync = os.fsync

    def sync_and_meddle(handle: int) -> None:
        sync(handle)
        path.write_text("a = 1 # mine\n")

    monkeypatch.setattr(os, "fsync", sync_and_meddle)
    with pytest.raises(FileProblem, match="as it was when it was opened"):
        write_changes(path, {"a": "2"}, sha(b"a = 1\n"))
    assert path.read_text() == "a = 1 # mine\n"
    assert os.listdir(tmp_path) == ["a.toml"]


class _FullDisk:
    """A file that takes half and then has no room."""

    def __init__(self, real: Any) -> None:
        self.real = real

    def __enter__(self) -> _FullDisk:
        return self

    def __exit__(self, *_: object) -> None:
        self.real.close()

    def write(self, raw: bytes) -> None:
        self.real.write(raw[: len(raw) // 2])
        raise OSError(errno.ENOSPC, "No space left on device")


def _full(monkeypatch: pytest.MonkeyPatch) -> None:
    real = open

    def opens(file: Any, mode: str = "r", *more: Any, **named: Any) -> Any:
        handle = real(file, mode, *more, **named)
        return _FullDisk(handle) if "w" in mode or "x" in mode else handle

    monkeypatch.setattr("builtins.open", opens)


def _raising(name: str, code: int) -> Callable[[pytest.MonkeyPatch], None]:
    def patch(monkeypatch: pytest.MonkeyPatch) -> None:
        def refuse(*_: object, **__: object) -> None:
            raise OSError(code, os.strerror(code))

        monkeypatch.setattr(os, name, refuse)

    return patch


FAILURES: dict[str, Callable[[pytest.MonkeyPatch], None]] = {
    "disk full while writing": _full,
    "disk full at the sync": _raising("fsync", errno.ENOSPC),
    "mode refused": _raising("chmod", errno.EPERM),
    "replace refused": _raising("replace", errno.EACCES),
    "no new file allowed in the folder": _raising("open", errno.EROFS),
}


@pytest.mark.parametrize("fail", FAILURES.values(), ids=FAILURES)
def test_a_failure_at_any_step_leaves_the_old_file_and_no_other(
    fail: Callable[[pytest.MonkeyPatch], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")
    with monkeypatch.context() as patched:
        fail(patched)
        with pytest.raises(FileProblem, match="must be writable"):
            write_changes(path, {"a": "2"}, sha(b"a = 1\n"))
    assert path.read_text() == "a = 1\n"
    assert os.listdir(tmp_path) == ["a.toml"]


def test_an_interrupt_while_writing_leaves_the_old_file_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")

    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_changes(path, {"a": "2"}, sha(b"a = 1\n"))
    assert path.read_text() == "a = 1\n"
    assert os.listdir(tmp_path) == ["a.toml"]


def test_the_data_is_synced_before_the_name_and_the_folder_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")
    steps: list[str] = []
    sync, replace = os.fsync, os.replace

    def note_sync(handle: int) -> None:
        steps.append("sync folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "sync file")
        sync(handle)

    def note_replace(one: str, other: str) -> None:
        steps.append("replace")
        replace(one, other)

    monkeypatch.setattr(os, "fsync", note_sync)
    monkeypatch.setattr(os, "replace", note_replace)
    write_changes(path, {"a": "2"}, sha(b"a = 1\n"))
    assert steps == ["sync file", "replace", *(["sync folder"] if os.name == "posix" else [])]


def test_a_write_protected_file_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")
    path.chmod(0o444)
    with pytest.raises(FileProblem, match="write-protected"):
        write_changes(path, {"a": "2"}, sha(b"a = 1\n"))
    assert path.read_text() == "a = 1\n"


@pytest.mark.skipif(getattr(os, "geteuid", lambda: 1)() == 0, reason="root may write everywhere; run as another user")
def test_a_folder_that_may_not_be_written_gets_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(FileProblem, match="must be writable"):
            write_changes(path, {"a": "2"}, sha(b"a = 1\n"))
    finally:
        tmp_path.chmod(0o755)
    assert path.read_text() == "a = 1\n"


def test_no_change_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n")
    _raising("replace", errno.EACCES)(monkeypatch)
    assert write_changes(path, {"a": "1"}, sha(b"a = 1\n")) == sha(b"a = 1\n")


def test_a_new_file_is_written_whole_with_the_usual_permissions(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    assert write_new(path, "a = 'ä'\r\n") == sha("a = 'ä'\r\n".encode())
    assert path.read_bytes() == "a = 'ä'\r\n".encode()
    (tmp_path / "usual").write_text("")
    assert path.stat().st_mode == (tmp_path / "usual").stat().st_mode
    assert sorted(os.listdir(tmp_path)) == ["new.toml", "usual"]


@pytest.mark.parametrize("kind", ["file", "folder", "dangling link"])
def test_a_new_file_never_takes_the_place_of_an_old_one(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    if kind == "file":
        path.write_text("old")
    elif kind == "folder":
        path.mkdir()
    else:
        path.symlink_to(tmp_path / "nowhere")
    with pytest.raises(FileProblem, match="must not exist yet"):
        write_new(path, "new")
    assert os.listdir(tmp_path) == ["a.toml"]
    assert kind != "file" or path.read_text() == "old"


def test_a_file_that_appears_meanwhile_is_not_overwritten_by_a_new_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    monkeypatch.setattr(os.path, "lexists", lambda _: path.write_text("mine") == 0)
    with pytest.raises(FileProblem, match="must not exist yet"):
        write_new(path, "new")
    assert path.read_text() == "mine"
    assert os.listdir(tmp_path) == ["a.toml"]


def test_a_new_file_is_written_where_the_file_system_has_no_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _raising("link", errno.EPERM)(monkeypatch)
    write_new(tmp_path / "a.toml", "new")
    assert (tmp_path / "a.toml").read_text() == "new"
    with pytest.raises(FileProblem, match="must not exist yet"):
        write_new(tmp_path / "a.toml", "newer")
    assert os.listdir(tmp_path) == ["a.toml"]


@pytest.mark.parametrize("fail", [_full, _raising("fsync", errno.ENOSPC)], ids=["full", "full at the sync"])
def test_a_new_file_that_cannot_be_written_leaves_nothing(
    fail: Callable[[pytest.MonkeyPatch], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        fail(patched)
        with pytest.raises(FileProblem, match="must be writable"):
            write_new(tmp_path / "a.toml", "new")
    assert os.listdir(tmp_path) == []


def test_a_new_file_in_a_folder_that_is_not_there_gets_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="must be writable"):
        write_new(tmp_path / "no" / "a.toml", "new")
