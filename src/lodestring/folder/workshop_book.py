"""The book of the maker's folder: opened once in a program, shown, taken along."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lodestring.book.event import Event
from lodestring.book.fold import CoilState, fold_coil, fold_spool
from lodestring.book.jsonl import MOST_BYTES, Imported, export_parts, import_lines
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book, open_book
from lodestring.errors import FileProblem
from lodestring.folder.whole_file import write_whole

NAME = "book.sqlite"
BEGINS = b'{"'
"""How a file of lines of the book begins: only such a one is written over."""

HASHES = ("set", "workshop", "sha256")
"""Keys of a body whose value is a content hash: its beginning tells enough."""

_open: dict[Path, Book] = {}
_lock = threading.Lock()


def book_path(folder: Path) -> Path:
    """Where the book of a folder lies."""
    return folder / NAME


def book_of(folder: Path) -> Book:
    """The book of a folder, made where there is none yet, and kept open for as long as the program runs (or until
    `close_book`). Raises BookProblem."""
    key = folder.resolve()
    with _lock:
        if key not in _open:
            if not folder.is_dir():
                raise BookProblem(f'"{folder}" must be a folder', "none of that name", "the folder of your sets")
            _open[key] = open_book(book_path(folder))
        return _open[key]


def close_book(folder: Path) -> None:
    """Let go of a folder's book, what waits written before."""
    with _lock:
        found = _open.pop(folder.resolve(), None)
    if found is not None:
        found.close()


def read_book(folder: Path) -> Book:
    """The book of a folder for reading, its own connection; who calls closes it. Raises BookProblem where there is
    none."""
    return open_book(book_path(folder), read_only=True)


# ---- for the commands ----


@dataclass(frozen=True, slots=True)
class Shown:
    """What `lodestring book show` says, line by line."""

    lines: tuple[str, ...]


def show(folder: Path, name: str = "") -> Shown:
    """The coils and spools of a folder's book, or all that is noted of one. Raises BookProblem."""
    with read_book(folder) as book:
        return Shown(tuple(_of_one(book, name) if name else _overview(book)))


def _overview(book: Book) -> Iterator[str]:
    coils, spools = book.coils(), book.spools()
    if not coils and not spools:
        yield "The book is empty; lodestring open, then Bench, begins a coil."
    for serial in coils:
        state = fold_coil(book.events(coil=serial), serial)
        yield f"{serial:<32}  {_turns(state):<24}  {_stage(state):<14}  {state.last_at[:10]}"
    for name in spools:
        spool = fold_spool(book.events(spool=name), name)
        wire = str(spool.begun.get("wire", "")) if spool.begun else ""
        yield f"{name:<32}  spool of {wire:<20}  {spool.last_at[:10]}"


def _of_one(book: Book, name: str) -> Iterator[str]:
    if name in book.coils():
        events = book.events(coil=name)
        state = fold_coil(events, name)
        yield f"{name}: {_turns(state)}, {_stage(state)}"
        yield from _devices(state)
        for noted in state.history:
            yield f"{noted.at[:19].replace('T', ' ')}  turn {noted.turns:>6,}  {noted.kind:<14}  {_plain(noted.body)}"
    elif name in book.spools():
        for event in sorted(book.events(spool=name), key=lambda e: e.order):
            yield f"{event.at[:19].replace('T', ' ')}  {event.kind:<14}  {_plain(event.body)}"
    else:
        known = ", ".join((*book.coils(), *book.spools())[:12]) or "none yet"
        raise BookProblem("NAME must be a coil or a spool of the book", f'"{name[:40]}"', f"one of {known}")


def _turns(state: CoilState) -> str:
    return f"{state.turns:,} turns" + (f" of {state.target:,}" if state.target else "")


def _stage(state: CoilState) -> str:
    return state.ended or "on the winder"


def _devices(state: CoilState) -> Iterator[str]:
    for device in state.devices:
        label = state.names.get(device.device, device.device)
        holds = ", holds the counter" if device.device == state.holder else ""
        apart = f", {device.apart:,} turns apart" if device.apart else ""
        waiting = f", waiting for {len(device.waiting)} of its presses" if device.waiting else ""
        yield f"  {label}: {device.counted:,} turns{holds}{apart}{waiting}"


def _plain(body: Mapping[str, Any]) -> str:
    told = (f"{key} {str(value)[:12] if key in HASHES else value}" for key, value in body.items() if value is not None)
    return ", ".join(told)[:160]


def export_to(folder: Path, out: Path, most: int = MOST_BYTES) -> tuple[tuple[Path, int], ...]:
    """Write a folder's book as lines of JSON; which files, and how many lines in each: as many files (`all.jsonl`,
    `all-2.jsonl`...) as an import, which takes `most` bytes, needs. Raises BookProblem, and FileProblem for a file."""
    made: list[tuple[Path, int]] = []
    with read_book(folder) as book:
        for number, lines in enumerate(export_parts(book, most), start=1):
            path = out if number == 1 else out.with_name(f"{out.stem}-{number}{out.suffix}")
            write_whole(path, "".join(f"{row}\n" for row in lines).encode(), BEGINS, "export of a book")
            made.append((path, len(lines)))
    if not made:
        write_whole(out, b"", BEGINS, "export of a book")
    return tuple(made) or ((out, 0),)


def import_from(folder: Path, source: Path) -> Imported:
    """Take an export into a folder's book, all of it or nothing. Raises BookProblem and FileProblem."""
    try:
        with open(source, "rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise FileProblem(f'"{source}" must be a file that can be read', error.strerror or "", "its path") from None
    with open_book(book_path(folder)) as book:
        return import_lines(book, raw)


def back_up(folder: Path, to: Path) -> int:
    """Copy a folder's book, in use or not; how many events the copy holds. Raises BookProblem."""
    with read_book(folder) as book:
        return book.backup(to)


def known_events(folder: Path, serial: str) -> tuple[Event, ...]:
    """All events of one coil; none where there is no book."""
    if not book_path(folder).exists():
        return ()
    with read_book(folder) as book:
        return book.events(coil=serial)
