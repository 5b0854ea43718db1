"""The book as lines of JSON, for taking along: events first, then the files they name, then photos.

An import takes all of it or nothing. What is there already is not there twice; kinds that are not known are kept.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from lodestring.book.event import LINE_BYTES, Event, line, parse_json, read_event
from lodestring.book.photo import LARGEST, cleaned
from lodestring.book.problem import BookProblem
from lodestring.book.store import STATE_BYTES, Book

MOST_BYTES = 64 * 1024 * 1024
PIECE = 32 * 1024
"""Bytes of a state or photo in one line; in base64 a line then stays below its 64 KiB."""


@dataclass(frozen=True, slots=True)
class Imported:
    """How many events came, and how many of them were new; states and photos."""

    events: int
    new: int
    states: int
    photos: int


def export_lines(book: Book) -> Iterator[str]:
    """Every line of the book, without line ends."""
    for group in _groups(book):
        yield from group


def export_parts(book: Book, most: int = MOST_BYTES) -> Iterator[list[str]]:
    """The lines of the book in as many parts as it needs for each to be imported by itself. A state or a photo stays in
    one part; which events, states and photos lie together plays no part."""
    part: list[str] = []
    size = 0
    for group in _groups(book):
        weight = sum(len(row.encode("utf-8")) + 1 for row in group)
        if part and size + weight > most:
            yield part
            part, size = [], 0
        part += group
        size += weight
    if part:
        yield part


def _groups(book: Book) -> Iterator[list[str]]:
    for event in book.events():
        yield [line(event)]
    for sha, raw in book.states():
        yield list(_pieces("state", sha, raw))
    for sha, _, raw in book.photos():
        yield list(_pieces("photo", sha, raw))


def _pieces(kind: str, sha: str, raw: bytes) -> Iterator[str]:
    count = max(1, -(-len(raw) // PIECE))
    for piece in range(count):
        part = base64.b64encode(raw[piece * PIECE : (piece + 1) * PIECE]).decode("ascii")
        yield json.dumps({kind: sha, "piece": piece, "of": count, "base64": part}, separators=(",", ":"))


def import_lines(book: Book, raw: bytes) -> Imported:
    """Take an export in, all or nothing. Raises BookProblem, with the number of the line that is wrong."""
    events, files = read_lines(raw)
    states = [content for (kind, _), content in files.items() if kind == "state"]
    photos = [cleaned(content) for (kind, _), content in files.items() if kind == "photo"]
    there = set(book.have(e.id for e in events))
    book.put_all(events, states, photos)
    return Imported(len(events), len({e.id for e in events} - there), len(states), len(photos))


def read_lines(raw: bytes) -> tuple[tuple[Event, ...], dict[tuple[str, str], bytes]]:
    """Events, and files by (kind, hash), of an export. Raises BookProblem."""
    if len(raw) > MOST_BYTES:
        raise BookProblem(
            "an import has at most 64 MiB",
            f"{len(raw) / 2**20:.0f} MiB",
            "the files one by one, as the export wrote them",
        )
    events: dict[str, Event] = {}
    pieces: dict[tuple[str, str], dict[int, bytes]] = {}
    wanted: dict[tuple[str, str], int] = {}
    for number, row in enumerate(raw.split(b"\n"), start=1):
        if not row.strip():
            continue
        try:
            data = _decoded(row)
            if isinstance(data, dict) and ("state" in data or "photo" in data):
                _take_piece(data, pieces, wanted)
                continue
            event = read_event(data)
            if event.id in events and line(events[event.id]) != line(event):
                raise BookProblem("an event is never changed", f"id {event.id[:8]}… twice with other contents")
            events[event.id] = event
        except BookProblem as problem:
            raise BookProblem(f"line {number}: {problem.must}", problem.came, problem.attempt) from None
    return tuple(events.values()), {key: _joined(key, pieces[key], wanted[key]) for key in pieces}


def _decoded(row: bytes) -> Any:
    if len(row) > LINE_BYTES:
        raise BookProblem(f"a line has at most {LINE_BYTES // 1024} KiB", f"{len(row) // 1024} KiB")
    try:
        text = row.decode("utf-8")
    except UnicodeDecodeError:
        raise BookProblem("a line is UTF-8", "one that is not", "exporting it again") from None
    return parse_json(text)


def _take_piece(
    data: dict[str, Any], pieces: dict[tuple[str, str], dict[int, bytes]], wanted: dict[tuple[str, str], int]
) -> None:
    kind = "state" if "state" in data else "photo"
    most = (STATE_BYTES if kind == "state" else LARGEST) // PIECE + 1
    sha, piece, of, text = (data.get(name) for name in (kind, "piece", "of", "base64"))
    fine = (
        isinstance(sha, str) and isinstance(text, str) and type(piece) is int and type(of) is int
        and 0 <= piece < of <= most and len(sha) == 64
    )  # fmt: skip
    if not fine:
        raise BookProblem(f"a piece of a {kind} has its hash, its number and base64", "another shape")
    try:
        content = base64.b64decode(text.encode("ascii"), validate=True)  # type: ignore[union-attr]
    except (binascii.Error, UnicodeEncodeError):
        raise BookProblem("a piece is base64 (RFC 4648)", "something else") from None
    key = kind, str(sha)
    pieces.setdefault(key, {})[int(piece or 0)] = content
    wanted[key] = int(of or 1)


def _joined(key: tuple[str, str], parts: dict[int, bytes], of: int) -> bytes:
    kind, sha = key
    if sorted(parts) != list(range(of)):
        raise BookProblem(f"a {kind} comes with all its pieces", f"{len(parts)} of {of}", "exporting it again")
    content = b"".join(parts[i] for i in range(of))
    if hashlib.sha256(content).hexdigest() != sha:
        raise BookProblem(f"a {kind} has the hash it is named by", "another", "exporting it again")
    return content
