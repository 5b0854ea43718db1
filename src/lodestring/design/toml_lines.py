"""Where in a TOML text each key is set.

The standard library's parser gives values without positions, so this is a scanner of its own. It does not judge: it
follows the text far enough to know which characters belong to which key, and is only trusted on text that tomllib has
accepted (the tests compare the two). On other text it stops at the place where it is lost, and says what was open.

It keeps its own stack and stops at a given depth, so a file of 100,000 brackets costs nothing: that is the guard that
runs before tomllib, which recurses.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

KeyPath = tuple[str | int, ...]
"""Names of tables and keys; list items as whole numbers counted from 1."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"[ \t]*")
# Possessive (`*+`): an unclosed string is given up in one pass and not tried again in every other way.
_GAP = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*+")
_REST = re.compile(r"[ \t]*(?:#[^\n]*)?(?:\r?\n|\Z)")
_SCALAR = re.compile(r"[^,\]}#\r\n]+")
_STRINGS = {
    '"""': re.compile(r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*+"{3,5}', re.DOTALL),
    "'''": re.compile(r"'''(?:[^']|'{1,2}(?!'))*+'{3,5}"),
    '"': re.compile(r'"(?:[^"\\\n]|\\[^\n])*+"'),
    "'": re.compile(r"'[^'\n]*+'"),
}
_ESCAPE = re.compile(r"\\(?:x([0-9A-Fa-f]{2})|u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))", re.DOTALL)
_LETTERS = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b"}


@dataclass(frozen=True, slots=True)
class Open:
    """A bracket or brace that was still open: where it stands, which one, and the key it belongs to."""

    at: int
    bracket: Literal["[", "{"]
    path: KeyPath


@dataclass(frozen=True, slots=True)
class Stop:
    """Why the scanner did not reach the end. `at` is a character offset; for "string" that of the opening quote."""

    why: Literal["lost", "string", "deep"]
    at: int
    path: KeyPath = ()
    opened: tuple[Open, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of text that can be taken out: a `[header]`, a `key = value` line, or an item between brackets.

    `inside` is the table or list whose brackets or section hold it; for a header the table itself. Half-open range.
    """

    kind: Literal["header", "line", "item"]
    inside: KeyPath
    path: KeyPath
    at: int
    end: int


@dataclass(slots=True)
class Scan:
    """What the scanner saw.

    `spans`: half-open character range of every written value; `headers`: offset of every table's own header;
    `pieces`: in the order in which they end; `last`, `last_at`: the key or table set last, and where it begins.
    """

    lines: dict[KeyPath, int] = field(default_factory=dict)
    spans: dict[KeyPath, tuple[int, int]] = field(default_factory=dict)
    headers: dict[KeyPath, int] = field(default_factory=dict)
    pieces: list[Piece] = field(default_factory=list)
    last: KeyPath = ()
    last_at: int = 0
    stop: Stop | None = None


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line (counted from 1) on which each key, table and list item of a valid TOML text is set.

    A table has the line of its own `[header]`; without one, that of the first header or dotted key that mentions it.
    """
    return scan(text).lines


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int | None:
    """Line of `path`, or of the nearest table or list above it that the file has; None for the file as a whole."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None


def dotted(path: KeyPath) -> str:
    """`("instrument", "strings", 3, "diameter")` -> `instrument.strings.3.diameter`, quoted only where needed."""
    return ".".join(str(part) if isinstance(part, int) else _quoted(part) for part in path)


def split_dotted(text: str) -> tuple[str, ...] | None:
    """The parts of a dotted key path, unquoted; None when the text is not one. Inverse of `dotted` up to int/str."""
    try:
        parts, end = _Scanner(text, None).key(0)
    except _Stopped:
        return None
    return tuple(parts) if parts and end == len(text) else None


def scan(text: str, deepest: int | None = None) -> Scan:
    """Scan TOML text; never raises. Stops where a key path gets longer than `deepest` parts."""
    scanner = _Scanner(text, deepest)
    try:
        scanner.document()
    except _Stopped as stopped:
        scanner.seen.stop = stopped.stop
    return scanner.seen


def line_at(text: str, offset: int) -> int:
    """Line, counted from 1, that holds the character at `offset`."""
    return text.count("\n", 0, offset) + 1


def _quoted(part: str) -> str:
    if _BARE.fullmatch(part):
        return part
    escaped = part.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + re.sub(r"[\x00-\x1f\x7f]", lambda m: f"\\u{ord(m.group()):04x}", escaped) + '"'


def _unescape(match: re.Match[str]) -> str:
    code = match.group(1) or match.group(2) or match.group(3)
    if code is None:
        return _LETTERS.get(match.group(4), match.group(4))
    number = int(code, 16)
    return chr(number) if number <= 0x10FFFF else match.group()


class _Stopped(Exception):
    def __init__(self, stop: Stop) -> None:
        self.stop = stop


class _Scanner:
    def __init__(self, text: str, deepest: int | None) -> None:
        self.text = text
        self.deepest = deepest
        self.seen = Scan()
        self.opened: list[Open] = []
        self.counts: dict[KeyPath, int] = {}  # arrays of tables: items so far
        self.newlines = [i for i, c in enumerate(text) if c == "\n"]

    def document(self) -> None:
        table: KeyPath = ()
        at = 0
        while (at := self.gap(at)) < len(self.text):
            if self.text[at] == "[":
                table, at = self.header(at)
            else:
                start = at
                path, at = self.assignment(table, at)
                at = self.value(path, at)
                self.seen.pieces.append(Piece("line", table, path, start, at))
            rest = _REST.match(self.text, at)
            if rest is None:
                raise self.lost(at, table)
            at = rest.end()

    def header(self, at: int) -> tuple[KeyPath, int]:
        line = self.line(at)
        array = self.text.startswith("[[", at)
        parts, end = self.key(at + (2 if array else 1))
        if not parts or not self.text.startswith("]]" if array else "]", end):
            raise self.lost(end, ())
        path: KeyPath = ()
        for part in parts[:-1]:
            path = self.mention((*path, part), line, at)
            if path in self.counts:
                path = (*path, self.counts[path])
        path = (*path, parts[-1])
        if array:
            self.mention(path, line, at)
            self.counts[path] = self.counts.get(path, 0) + 1
            path = (*path, self.counts[path])
        self.deep(path, at)
        if path not in self.seen.headers:
            self.seen.lines[path] = line  # its own header counts for more than an earlier mention
            self.seen.headers[path] = at
        self.seen.last, self.seen.last_at = path, at
        end += 2 if array else 1
        self.seen.pieces.append(Piece("header", path, path, at, end))
        return path, end

    def assignment(self, table: KeyPath, at: int) -> tuple[KeyPath, int]:
        """`key =` up to the value; dotted parts become tables."""
        parts, end = self.key(at)
        if not parts or not self.text.startswith("=", end):
            raise self.lost(end, table)
        line = self.line(at)
        path = table
        for part in parts:
            path = self.mention((*path, part), line, at)
        self.seen.last, self.seen.last_at = path, at
        return path, self.blank(end + 1)

    def value(self, path: KeyPath, at: int) -> int:
        """Follow one value to its end, brackets within it too, with `self.opened` as the stack."""
        counts: list[int] = []
        starts = [at]  # of the item that is being read, for each open bracket and the value itself
        while True:
            bracket = self.text[at : at + 1]
            if bracket == "[" or bracket == "{":
                self.opened.append(Open(at, "[" if bracket == "[" else "{", path))
                counts.append(0)
                starts.append(at)
                at += 1
            else:
                end = self.scalar(path, at)
                self.written(path, at, end, starts)
                at = end
            at = self.close(counts, starts, at)
            if not self.opened:
                return at
            inside = self.opened[-1]
            counts[-1] += 1
            starts[-1] = at
            if inside.bracket == "[":
                path = self.mention((*inside.path, counts[-1]), self.line(at), at)
            else:
                path, at = self.assignment(inside.path, at)

    def close(self, counts: list[int], starts: list[int], at: int) -> int:
        """Skip one comma and close what ends here; stand at the next item, or behind the value."""
        while self.opened:
            at = self.gap(at)
            inside = self.opened[-1]
            if counts[-1] and self.text.startswith(",", at):
                at = self.gap(at + 1)
            if not self.text.startswith("]" if inside.bracket == "[" else "}", at):
                break
            at += 1
            self.opened.pop()
            counts.pop()
            starts.pop()
            self.written(inside.path, inside.at, at, starts)
        return at

    def written(self, path: KeyPath, at: int, end: int, starts: list[int]) -> None:
        self.seen.spans.setdefault(path, (at, end))
        if self.opened:
            self.seen.pieces.append(Piece("item", self.opened[-1].path, path, starts[-1], end))

    def scalar(self, path: KeyPath, at: int) -> int:
        match = self.string(at, path) or _SCALAR.match(self.text, at)
        if match is None:
            raise self.lost(at, path)
        # A date may hold a blank ("1979-05-27 07:32:00"), so a bare value runs to the next mark and is trimmed.
        return at + len(match.group().rstrip(" \t"))

    def string(self, at: int, path: KeyPath) -> re.Match[str] | None:
        for quote, pattern in _STRINGS.items():
            if self.text.startswith(quote, at):
                match = pattern.match(self.text, at)
                if match is None:
                    raise _Stopped(Stop("string", at, path, tuple(self.opened)))
                return match
        return None

    def key(self, at: int) -> tuple[list[str], int]:
        """Parts of a dotted key from `at` on, and where it ends (blanks skipped); no parts when there is no key."""
        parts: list[str] = []
        while True:
            at = self.blank(at)
            match = self.string(at, ()) or _BARE.match(self.text, at)
            if match is None:
                return [], at
            part = match.group()
            if part[0] == '"':
                part = _ESCAPE.sub(_unescape, part[1:-1])
            elif part[0] == "'":
                part = part[1:-1]
            parts.append(part)
            at = self.blank(match.end())
            if not self.text.startswith(".", at):
                return parts, at
            at += 1

    def mention(self, path: KeyPath, line: int, at: int) -> KeyPath:
        self.deep(path, at)
        self.seen.lines.setdefault(path, line)
        return path

    def deep(self, path: KeyPath, at: int) -> None:
        if self.deepest is not None and len(path) > self.deepest:
            raise _Stopped(Stop("deep", at, path, tuple(self.opened)))

    def lost(self, at: int, path: KeyPath) -> _Stopped:
        return _Stopped(Stop("lost", at, path, tuple(self.opened)))

    def gap(self, at: int) -> int:
        match = _GAP.match(self.text, at)
        return match.end() if match else at

    def blank(self, at: int) -> int:
        match = _BLANK.match(self.text, at)
        return match.end() if match else at

    def line(self, at: int) -> int:
        return bisect_left(self.newlines, at) + 1
