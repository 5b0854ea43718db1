"""Every state a set file has had, for undo and redo across restarts: `.lodestring/history/NAME.jsonl`.

One line a step, only ever appended, until the file is past its bound: then its newest states are written as a new file.
A line that cannot be read (a power cut in the middle of it) is skipped with a word; the states round it stay good. The
set file is always written first and the step noted after it: a step that was not noted is found by `Sitting.refresh`
and taken in as a change from outside, so it can be undone too.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lodestring.design.toml_read import digest
from lodestring.folder.places import now, refused

MOST_STATES = 200
MOST_BYTES = 8 * 1024 * 1024
"""Bound of the file; past it the newest `MOST_STATES` states, and no more than half as many bytes, stay."""


@dataclass(frozen=True, slots=True)
class State:
    """The bytes of the set file after a step, what the step was in words, and when (UTC)."""

    number: int
    raw: bytes
    label: str
    at: str

    @property
    def digest(self) -> str:
        return digest(self.raw)


class History:
    """States in order and the one the set file is in. Reads its file once; `again` reads what others appended."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._seen = (0, 0)
        self.states: list[State] = []
        self.here = -1
        self.words: tuple[str, ...] = ()
        """What had to be skipped, each a sentence."""
        self.again()

    def again(self) -> None:
        """Read the file if it is another than was read or written last."""
        size = self._size()
        if size == self._seen and self.states:
            return
        if size != (0, 0) or not self.states:
            self._fold()
        self._seen = size

    @property
    def current(self) -> State | None:
        return self.states[self.here] if self.states else None

    @property
    def undo_depth(self) -> int:
        return max(self.here, 0)

    @property
    def redo_depth(self) -> int:
        return len(self.states) - 1 - self.here

    def find(self, wanted: str) -> State | None:
        """The newest state with this digest."""
        return next((s for s in reversed(self.states) if s.digest == wanted), None)

    def step(self, raw: bytes, label: str) -> str:
        """Note a new state after the present one; what was undone before it is given up. "" or why the disk refused."""
        number = max((s.number for s in self.states), default=0) + 1
        state = State(number, raw, label, now())
        self.states[self.here + 1 :] = [state]
        self.here = len(self.states) - 1
        return self._append(_line(state))

    def go(self, by: int) -> str:
        """Move to an earlier (-1) or later (+1) state. "" or why the disk refused."""
        self.here += by
        return self._append({"v": 1, "go": self.states[self.here].number, "at": now()})

    # ---- the file ----

    def _size(self) -> tuple[int, int]:
        try:
            about = self._path.stat()
        except OSError:
            return (0, 0)
        return (about.st_size, about.st_ino)

    def _fold(self) -> None:
        self.states, self.here = [], -1
        lines, words = _lines(self._path)
        for line in lines:
            if "go" in line:
                at = [i for i, s in enumerate(self.states) if s.number == line["go"]]
                self.here = at[-1] if at else self.here
            else:
                self.states[self.here + 1 :] = [_state(line)]
                self.here = len(self.states) - 1
        self.words = tuple(words)

    def _append(self, line: dict[str, Any]) -> str:
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            whole = self._size()[0] > MOST_BYTES or len(self.states) > 2 * MOST_STATES
            if whole:
                self._write_newest()
            else:
                _append(self._path, json.dumps(line))
        except OSError as error:
            return f"the step is done, but could not be noted for undo after a restart: {refused(self._path, error)}"
        finally:
            self._seen = self._size()
        return ""

    def _write_newest(self) -> None:
        """Write the newest states as a new file; the older ones are given up."""
        first = max(0, min(len(self.states) - MOST_STATES, self.here))
        room = MOST_BYTES // 2
        while first < self.here and sum(len(s.raw) for s in self.states[first:]) > room:
            first += 1
        self.states, self.here = self.states[first:], self.here - first
        lines = [json.dumps(_line(s)) for s in self.states]
        lines.append(json.dumps({"v": 1, "go": self.states[self.here].number, "at": now()}))
        temporary = self._path.with_name(f".{self._path.name}.{secrets.token_hex(6)}.tmp")
        try:
            with open(temporary, "xb") as out:
                out.write(("\n".join(lines) + "\n").encode())
                out.flush()
                os.fsync(out.fileno())
            os.replace(temporary, self._path)
        finally:
            with contextlib.suppress(OSError):
                os.unlink(temporary)


def _append(path: Path, line: str) -> None:
    """One line, synced; where the last one was cut short, on a line of its own."""
    with open(path, "a+b") as out:
        size = out.seek(0, os.SEEK_END)
        out.seek(max(size - 1, 0))
        cut = size > 0 and out.read(1) != b"\n"
        out.write((b"\n" if cut else b"") + line.encode() + b"\n")
        out.flush()
        os.fsync(out.fileno())


def _line(state: State) -> dict[str, Any]:
    text = state.raw.decode("utf-8", "surrogateescape")  # any bytes come back as they were
    return {"v": 1, "n": state.number, "label": state.label, "at": state.at, "text": text, "sha": state.digest}


def _state(line: dict[str, Any]) -> State:
    return State(line["n"], line["text"].encode("utf-8", "surrogateescape"), str(line["label"]), str(line["at"]))


def _lines(path: Path) -> tuple[list[dict[str, Any]], list[str]]:
    """The lines that can be read, and a sentence for those that cannot."""
    try:
        with open(path, "rb") as file:
            raw = file.read(4 * MOST_BYTES)
    except FileNotFoundError:
        return [], []
    except OSError as error:
        return [], [f"the steps before this start cannot be read, so they cannot be undone: {refused(path, error)}"]
    good, bad = [], 0
    for piece in raw.split(b"\n"):
        if not piece.strip():
            continue
        line = next(_read(piece), None)
        if line is None:
            bad += 1
        else:
            good.append(line)
    words = []
    if bad:
        lines = "1 line" if bad == 1 else f"{bad} lines"
        words.append(f"{lines} of the undo history cannot be read and {'is' if bad == 1 else 'are'} skipped")
    return good, words


def _whole(line: dict[str, Any]) -> bool:
    return bool(_state(line).digest == line["sha"])


def _read(piece: bytes) -> Iterator[dict[str, Any]]:
    """The line if it is whole: a step carries the hash of its text."""
    try:
        line = json.loads(piece)
        ours = isinstance(line, dict) and line.get("v") == 1
        if ours and (isinstance(line.get("go"), int) or (isinstance(line["n"], int) and _whole(line))):
            yield line
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return
