"""Nothing half-written and nothing lost: power cuts, a full disk, a folder that may not be written, damaged history."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from lodestring.folder import history as history_module
from lodestring.folder.examples import example_text
from lodestring.folder.history import History
from lodestring.folder.shelf import shelf, tidy
from lodestring.folder.sitting import Sitting

Sit = Callable[..., Sitting]
TURNS = "pickup.bridge.coil.main.turns"
CRASH = """
import os, sys
from pathlib import Path
from lodestring.folder.sitting import Sitting
sitting = Sitting(Path(sys.argv[1]), "heron")
real = getattr(os, sys.argv[2])
def cut(*given, **named):
    if sys.argv[3] == "after":
        real(*given, **named)
    os._exit(9)
setattr(os, sys.argv[2], cut)
sitting.change("pickup.bridge.coil.main.turns", "7000", sitting.digest)
"""


@pytest.mark.parametrize(
    ("call", "when", "turns"),
    [
        pytest.param("fsync", "before", 7800, id="before-the-new-file-is-synced"),
        pytest.param("replace", "before", 7800, id="between-the-new-file-and-the-replacement"),
        pytest.param("replace", "after", 7000, id="after-the-replacement-before-the-history"),
    ],
)
def test_a_process_killed_in_the_middle_leaves_the_old_file_or_the_new_one(
    folder: Path, call: str, when: str, turns: int
) -> None:
    killed = subprocess.run([sys.executable, "-c", CRASH, str(folder), call, when], env=os.environ, check=False)
    assert killed.returncode == 9
    expected = example_text("heron").replace("turns = 7800", f"turns = {turns}")
    assert (folder / "heron.toml").read_text(encoding="utf-8") == expected
    assert [e.name for e in shelf(folder)] == ["heron"]
    left = [p.read_bytes() for p in folder.glob(".heron*")]
    assert tidy(folder, older=0.0) == len(left) == (when == "before")
    assert list(folder.glob(".heron*")) == []
    assert [
        p.read_bytes() for p in folder.glob(".lodestring/bin/left-over/*") if p.is_file()
    ] == left  # nothing deleted
    sitting = Sitting(folder, "heron")
    assert sitting.problems == ()
    if turns == 7000:  # the step that was not noted is taken in, and can be undone like any other
        assert sitting.undo(sitting.digest).done
        assert sitting.text == example_text("heron")


@pytest.mark.parametrize(
    ("call", "code", "words"),
    [
        pytest.param("fsync", errno.ENOSPC, "space", id="disk-full"),
        pytest.param("open", errno.EACCES, "writable", id="folder-may-not-be-written"),
        pytest.param("open", errno.EROFS, "writable", id="read-only-file-system"),
        pytest.param("replace", errno.EIO, "writable", id="input-output-error"),
    ],
)
def test_a_disk_that_refuses_leaves_the_file_as_it_was_and_says_so(
    sit: Sit, monkeypatch: pytest.MonkeyPatch, call: str, code: int, words: str
) -> None:
    sitting = sit()
    before = sorted(p.name for p in sitting.folder.iterdir())

    def refuse(*given: object, **named: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, call, refuse)
    outcome = sitting.change(TURNS, "7000", sitting.digest)
    monkeypatch.undo()
    assert not outcome.done
    assert words in outcome.problems[0].sentence()
    assert sitting.path.read_text(encoding="utf-8") == example_text("heron") == sitting.text
    assert sorted(p.name for p in sitting.folder.iterdir()) == before
    assert sitting.change(TURNS, "7000", sitting.digest).done


def test_a_write_protected_file_is_left_alone(sit: Sit) -> None:
    sitting = sit()
    sitting.path.chmod(0o444)
    outcome = sitting.change(TURNS, "7000", sitting.digest)
    assert not outcome.done
    assert "write-protected" in outcome.problems[0].sentence()


def test_a_step_that_cannot_be_noted_is_done_and_said_and_can_still_be_undone(
    sit: Sit, monkeypatch: pytest.MonkeyPatch
) -> None:
    sitting = sit()

    def full(path: Path, line: str) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(history_module, "_append", full)
    outcome = sitting.change(TURNS, "7000", sitting.digest)
    assert outcome.done
    assert "could not be noted" in outcome.words[0]
    assert sitting.undo(sitting.digest).done
    assert sitting.text == example_text("heron")


# ---- the history's own file ----


def make(path: Path, count: int) -> History:
    history = History(path)
    for number in range(count):
        history.step(f"state {number}".encode(), f"step {number}")
    return history


@pytest.mark.parametrize(
    "damage",
    [
        pytest.param(lambda lines: [*lines[:2], lines[2][: len(lines[2]) // 2], *lines[3:]], id="a-line-cut-short"),
        pytest.param(lambda lines: [*lines[:2], b"\x00\xff{[", *lines[3:]], id="not-text"),
        pytest.param(lambda lines: [*lines[:2], lines[2].replace(b"state 2", b"state 9"), *lines[3:]], id="altered"),
        pytest.param(lambda lines: [*lines[:2], b"[" * 100_000, *lines[3:]], id="nested-without-end"),
        pytest.param(lambda lines: [*lines[:2], b'{"v": 1, "n": 3}', *lines[3:]], id="without-its-text"),
        pytest.param(lambda lines: [*lines[:2], b"17", *lines[3:]], id="no-table"),
    ],
)
def test_a_damaged_line_is_skipped_with_a_word_and_the_rest_stays(
    tmp_path: Path, damage: Callable[[list[bytes]], list[bytes]]
) -> None:
    path = tmp_path / "set.jsonl"
    make(path, 5)
    path.write_bytes(b"\n".join(damage(path.read_bytes().split(b"\n"))))
    again = History(path)
    assert [s.raw for s in again.states] == [b"state 0", b"state 1", b"state 3", b"state 4"]
    assert again.words == ("1 line of the undo history cannot be read and is skipped",)
    again.go(-1)
    assert History(path).current == again.current


def test_a_line_cut_by_a_power_cut_does_not_take_the_next_one_with_it(tmp_path: Path) -> None:
    path = tmp_path / "set.jsonl"
    make(path, 2)
    whole = path.read_bytes()
    path.write_bytes(whole[:-20])
    history = History(path)
    history.step(b"after", "after")
    assert [s.raw for s in History(path).states] == [b"state 0", b"after"]


def test_a_long_history_is_bounded_and_keeps_the_newest_states(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(history_module, "MOST_BYTES", 40_000)
    path = tmp_path / "set.jsonl"
    history = History(path)
    for number in range(300):
        history.step(b"x" * 500 + str(number).encode(), "step")
    assert path.stat().st_size < 50_000
    assert History(path).current == history.current
    assert History(path).undo_depth == history.undo_depth > 10


def test_every_line_of_the_history_is_one_json_object(tmp_path: Path) -> None:
    path = tmp_path / "set.jsonl"
    make(path, 3).go(-1)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert [sorted(json.loads(line)) for line in lines] == [["at", "label", "n", "sha", "text", "v"]] * 3 + [
        ["at", "go", "v"]
    ]
