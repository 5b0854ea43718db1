"""The book on the disk: SQLite with a write-ahead log, synchronised before an event is acknowledged.

One thread writes. Everything that waits is committed together, and only then answered: so an acknowledged event is on
the disk, and many devices cost one synchronisation. An event that is there already is acknowledged again and not
written twice. Nothing is changed or deleted.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import queue
import secrets
import sqlite3
import threading
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import Future
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from lodestring.book.event import VERSION, Event, line, parse_json, read_event
from lodestring.book.places import beside_the_disk
from lodestring.book.problem import BookProblem
from lodestring.book.schema import NEWEST, bring_up, version_of
from lodestring.book.taking_in import check_event, check_numbers

HERE = "here"
"""The device of the server itself: for what is written by a form, or at the terminal."""
STATE_BYTES = 1024 * 1024
LOCKED_SECONDS = 5.0
IDLE_SECONDS = 5.0
"""After so long without an event the log is folded into the book's file."""
TOGETHER = 4096
"""Events at most in one commit, so that nobody waits for a crowd."""


@dataclass(frozen=True, slots=True)
class Accepted:
    """Ids that are in the book now, on the disk."""

    have: tuple[str, ...]


@dataclass(slots=True)
class _Wish:
    """What somebody waits for the writer to do."""

    events: tuple[Event, ...] = ()
    rows: tuple[tuple[str, tuple[Any, ...]], ...] = ()
    done: Future[None] = field(default_factory=Future)


class Book:
    """An open book. Safe to use from any thread. `read_only_because`: empty, or why nothing can be written."""

    def __init__(self, path: Path, read_only_because: str, warnings: tuple[str, ...]) -> None:
        self.path = path
        self.read_only_because = read_only_because
        self.warnings = warnings
        self._reading = _connect(path, bool(read_only_because))
        self._lock = threading.Lock()
        self._note_lock = threading.Lock()
        self._wishes: queue.SimpleQueue[_Wish | None] = queue.SimpleQueue()
        self._closed = False
        self._writer: threading.Thread | None = None
        if not read_only_because:
            self._writer = threading.Thread(target=self._write, daemon=True, name="book")
            self._writer.start()

    # ---- writing ----

    def append(self, events: Iterable[Event]) -> Accepted:
        """Put events into the book, and return when they are on the disk. Raises BookProblem where the book cannot take
        them, and where an id is there already with another content; then none of them is acknowledged."""
        wanted = tuple(events)
        if wanted:
            self._ask(_Wish(events=wanted))
        return Accepted(tuple(e.id for e in wanted))

    def note(
        self, kind: str, body: Mapping[str, Any], *, coil: str = "", spool: str = "", at: str = "", id: str = ""
    ) -> Event:
        """Make an event of the server's own device and put it into the book. Errors as `append` and `read_event`."""
        with self._note_lock:
            made = read_event(
                {
                    "v": VERSION,
                    "id": id or secrets.token_hex(16),
                    "device": HERE,
                    "n": self.latest_n(HERE, coil=coil, spool=spool) + 1,
                    "lamport": self.lamport() + 1,
                    "at": at or now(),
                    "kind": kind,
                    "body": dict(body),
                    **({"coil": coil} if coil else {"spool": spool}),
                }
            )
            self.append([made])
            return made

    def put_state(self, raw: bytes) -> str:
        """Keep the bytes of a set, workshop or catalogue; their SHA-256. What is there already is not kept twice."""
        if len(raw) > STATE_BYTES:
            raise BookProblem(f"a file to keep has at most {STATE_BYTES // 1024} KiB", f"{len(raw)} bytes", "another")
        sha = hashlib.sha256(raw).hexdigest()
        self._ask(_Wish(rows=(("INSERT OR IGNORE INTO state VALUES (?, ?)", (sha, raw)),)))
        return sha

    def put_photo(self, raw: bytes) -> str:
        """Keep a photo without what it tells of place, time and camera; SHA-256 of what is kept."""
        from lodestring.book.photo import cleaned

        media, kept = cleaned(raw)
        sha = hashlib.sha256(kept).hexdigest()
        self._ask(_Wish(rows=(("INSERT OR IGNORE INTO photo VALUES (?, ?, ?)", (sha, media, kept)),)))
        return sha

    def put_all(
        self, events: Iterable[Event], states: Iterable[bytes] = (), photos: Iterable[tuple[str, bytes]] = ()
    ) -> None:
        """All of it or nothing: for an import. Errors as `append`."""
        rows: list[tuple[str, tuple[Any, ...]]] = []
        rows += [("INSERT OR IGNORE INTO state VALUES (?, ?)", (hashlib.sha256(s).hexdigest(), s)) for s in states]
        rows += [
            ("INSERT OR IGNORE INTO photo VALUES (?, ?, ?)", (hashlib.sha256(p).hexdigest(), m, p)) for m, p in photos
        ]
        self._ask(_Wish(events=tuple(events), rows=tuple(rows)))

    def _ask(self, wish: _Wish) -> None:
        for event in wish.events:
            check_event(event)
        if self.read_only_because:
            raise BookProblem("the book must be open for writing", self.read_only_because, "what it says there")
        if self._closed:
            raise BookProblem("the book must be open", "one that was closed", "opening the workbench again")
        self._wishes.put(wish)
        wish.done.result()

    def _write(self) -> None:
        """The writer's thread: everything that waits in one commit, then the answers."""
        connection: sqlite3.Connection | None = None
        quiet = False
        while True:
            try:
                first = self._wishes.get(timeout=None if quiet else IDLE_SECONDS)
            except queue.Empty:
                quiet = True
                if connection is not None:
                    with contextlib.suppress(sqlite3.Error):
                        connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
                continue
            quiet = False
            wishes, over = self._together(first)
            if wishes:
                try:
                    connection = connection or _connect(self.path, False)
                    self._commit(connection, wishes)
                except BaseException as error:  # noqa: BLE001 - who waits must be told, whatever it was
                    for wish in wishes:
                        if not wish.done.done():
                            wish.done.set_exception(_said(error, self.path))
            if over:
                if connection is not None:
                    with contextlib.suppress(sqlite3.Error):
                        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
                    connection.close()
                return

    def _together(self, first: _Wish | None) -> tuple[list[_Wish], bool]:
        wishes: list[_Wish] = []
        count, wish = 0, first
        while wish is not None:
            wishes.append(wish)
            count += len(wish.events) + len(wish.rows)
            if count >= TOGETHER:
                return wishes, False
            try:
                wish = self._wishes.get_nowait()
            except queue.Empty:
                return wishes, False
        return wishes, True

    def _commit(self, connection: sqlite3.Connection, wishes: list[_Wish]) -> None:
        refused: dict[int, BookProblem] = {}
        received = now()
        connection.execute("BEGIN IMMEDIATE")
        try:
            for index, wish in enumerate(wishes):
                connection.execute("SAVEPOINT wish")
                try:
                    _insert(connection, wish, received)
                except BookProblem as problem:
                    refused[index] = problem
                    connection.execute("ROLLBACK TO wish")
                connection.execute("RELEASE wish")
            connection.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise
        for index, wish in enumerate(wishes):
            if index in refused:
                wish.done.set_exception(refused[index])
            else:
                wish.done.set_result(None)

    # ---- reading ----

    def _rows(self, query: str, values: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
        with self._lock:
            if self._closed:
                raise BookProblem("the book must be open", "one that was closed", "opening the workbench again")
            try:
                return self._reading.execute(query, values).fetchall()
            except sqlite3.Error as error:
                raise _said(error, self.path) from None

    def events(self, coil: str = "", spool: str = "") -> tuple[Event, ...]:
        """All events of a coil or a spool, of the whole book where neither is named; in the order they came in."""
        if coil or spool:
            column, value = ("coil", coil) if coil else ("spool", spool)
            rows = self._rows(f"SELECT line FROM event WHERE {column} = ? ORDER BY seq", (value,))
        else:
            rows = self._rows("SELECT line FROM event ORDER BY seq")
        return tuple(read_event(parse_json(text)) for (text,) in rows)

    def coils(self) -> tuple[str, ...]:
        """Serials of all coils, the one that was begun first first."""
        return self._names("coil")

    def spools(self) -> tuple[str, ...]:
        """Names of all spools."""
        return self._names("spool")

    def _names(self, column: str) -> tuple[str, ...]:
        query = f"SELECT {column} FROM event WHERE {column} <> '' GROUP BY {column} ORDER BY min(seq)"
        return tuple(str(name) for (name,) in self._rows(query))

    def count(self) -> int:
        """Events in the book."""
        return int(self._rows("SELECT count(*) FROM event")[0][0])

    def lamport(self) -> int:
        """The highest lamport number in the book."""
        return int(self._rows("SELECT coalesce(max(lamport), 0) FROM event")[0][0])

    def latest_n(self, device: str, *, coil: str = "", spool: str = "") -> int:
        """The highest number of a device for that coil or spool; 0 for none."""
        query = "SELECT coalesce(max(n), 0) FROM event WHERE device = ? AND coil = ? AND spool = ?"
        return int(self._rows(query, (device, coil, spool))[0][0])

    def have(self, ids: Iterable[str]) -> tuple[str, ...]:
        """Which of these are in the book."""
        wanted = list(dict.fromkeys(ids))
        found: list[str] = []
        for begin in range(0, len(wanted), 500):
            some = wanted[begin : begin + 500]
            marks = ",".join("?" * len(some))
            found += [str(i) for (i,) in self._rows(f"SELECT id FROM event WHERE id IN ({marks})", tuple(some))]
        return tuple(found)

    def missing(self, device: str, coil: str, most: int = 1000) -> tuple[int, ...]:
        """Numbers of a device below its highest that have not come, for one coil."""
        rows = self._rows("SELECT DISTINCT n FROM event WHERE device = ? AND coil = ? ORDER BY n", (device, coil))
        numbers = [int(n) for (n,) in rows]
        return tuple(_gaps(numbers, most))

    def state(self, sha: str) -> bytes:
        """A state by its hash. Raises BookProblem where it is not there."""
        rows = self._rows("SELECT raw FROM state WHERE sha256 = ?", (sha,))
        if not rows:
            raise BookProblem(
                "that state of a file must be in the book", f"none of the hash {sha[:12]}…", "importing it"
            )
        return bytes(rows[0][0])

    def photo(self, sha: str) -> tuple[str, bytes]:
        """A photo by its hash: media type and bytes. Raises BookProblem where it is not there."""
        rows = self._rows("SELECT media, raw FROM photo WHERE sha256 = ?", (sha,))
        if not rows:
            raise BookProblem("that photo must be in the book", f"none of the hash {sha[:12]}…", "adding it again")
        return str(rows[0][0]), bytes(rows[0][1])

    def states(self) -> Iterator[tuple[str, bytes]]:
        """All states with their hashes."""
        for (sha,) in self._rows("SELECT sha256 FROM state ORDER BY sha256"):
            yield str(sha), self.state(str(sha))

    def photos(self) -> Iterator[tuple[str, str, bytes]]:
        """All photos: hash, media type, bytes."""
        for (sha,) in self._rows("SELECT sha256 FROM photo ORDER BY sha256"):
            yield str(sha), *self.photo(str(sha))

    # ---- keeping ----

    def backup(self, to: Path) -> int:
        """A copy of the book while it is in use, read back before it counts; how many events are in it. An existing
        file is not written over. Raises BookProblem."""
        if to.exists():
            raise BookProblem(
                f'"{to}" must not be there yet', "a file of that name, which is left alone", "another name"
            )
        part = to.with_name(f".{to.name}.{secrets.token_hex(4)}.part")
        try:
            with self._lock, contextlib.closing(sqlite3.connect(part)) as copy:
                self._reading.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
            with contextlib.closing(sqlite3.connect(f"{part.resolve().as_uri()}?mode=ro", uri=True)) as copy:
                whole = copy.execute("PRAGMA quick_check").fetchone()[0]
                count = int(copy.execute("SELECT count(*) FROM event").fetchone()[0])
            if whole != "ok":
                raise BookProblem("a backup reads back whole", str(whole)[:100], "another disk")
            _sync(part)
            os.replace(part, to)
            return count
        except (sqlite3.Error, OSError) as error:
            raise _said(error, to) from None
        finally:
            with contextlib.suppress(OSError):
                part.unlink()

    def close(self) -> None:
        """Write what waits, fold the log into the file, and let go of it."""
        with self._lock:
            if self._closed:
                return
            self._closed = True
        if self._writer is not None:
            self._wishes.put(None)
            self._writer.join()
        with self._lock:
            self._reading.close()

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def open_book(path: Path, read_only: bool = False) -> Book:
    """Open a book, or make it. Raises BookProblem for a file that is none or is damaged.

    A newer schema, a file or a disk that may not be written open for reading, and `read_only_because` says so.
    """
    because = "it was asked for so" if read_only else ""
    exists = path.exists()
    if exists and path.is_dir():
        raise BookProblem(f'"{path.name}" must be a file', "a folder", "moving it away")
    if not exists and read_only:
        raise BookProblem(f'"{path}" must be there', "no book yet", "beginning a coil first")
    if exists and not because:
        because = _not_writable(path)
    try:
        if exists:
            _look(path)
        with contextlib.closing(_connect(path, bool(because))) as connection:
            version = version_of(connection)
            if version > NEWEST:
                because = (
                    f"its schema {version} is of a newer Lodestring; this one knows {NEWEST} and leaves it as it is"
                )
            elif not because:
                bring_up(connection)
            elif version < NEWEST:
                raise BookProblem(
                    "an older book is brought up to date before it is read",
                    because,
                    "opening it once where it can be written",
                )
            whole = connection.execute("PRAGMA quick_check").fetchone()[0]
            if whole != "ok":
                raise BookProblem("the book must be whole", str(whole).splitlines()[0][:100], "the last backup")
    except (sqlite3.Error, OSError) as error:
        raise _said(error, path) from None
    return Book(path, because, beside_the_disk(path))


def _look(path: Path) -> None:
    """Raises BookProblem for another program's file before anything of it is touched: opening it for writing would
    already change how it keeps its log."""
    if path.stat().st_size:
        with contextlib.closing(_connect(path, True)) as connection:
            version_of(connection)


def now() -> str:
    """The time in UTC as events have it, to a thousandth of a second."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _connect(path: Path, read_only: bool) -> sqlite3.Connection:
    if not read_only:
        connection = sqlite3.connect(path, timeout=LOCKED_SECONDS, isolation_level=None, check_same_thread=False)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        return connection
    address = path.resolve().as_uri()
    for mode in ("mode=ro", "mode=ro&immutable=1"):  # the second where the log's index cannot be made beside it
        connection = sqlite3.connect(
            f"{address}?{mode}", uri=True, timeout=LOCKED_SECONDS, isolation_level=None, check_same_thread=False
        )
        try:
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except sqlite3.OperationalError:
            connection.close()
            if "immutable" in mode:
                raise
            continue
        return connection
    raise AssertionError("one of the two answers or raises")


def _insert(connection: sqlite3.Connection, wish: _Wish, received: str) -> None:
    check_numbers(connection, wish.events)
    for event in wish.events:
        text = line(event)
        values = (event.id, event.device, event.n, event.lamport, event.coil, event.spool, event.kind, text, received)
        done = connection.execute(
            "INSERT OR IGNORE INTO event (id, device, n, lamport, coil, spool, kind, line, received_at)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            values,
        )
        if done.rowcount == 0:
            (there,) = connection.execute("SELECT line FROM event WHERE id = ?", (event.id,)).fetchone()
            if there != text:
                raise BookProblem(
                    "an event is never changed", f"id {event.id[:8]}… with another content", "a new event for it"
                )
    for query, values in wish.rows:
        connection.execute(query, values)


def _gaps(numbers: list[int], most: int) -> Iterator[int]:
    expected, told = 1, 0
    for n in numbers:
        for gap in range(expected, n):
            if told == most:
                return
            told += 1
            yield gap
        expected = n + 1


def _not_writable(path: Path) -> str:
    if not os.access(path, os.W_OK):
        return f'"{path.name}" may not be written; look at its permissions'
    if not os.access(path.parent, os.W_OK):
        return "its folder may not be written; look at the disk, or at the folder's permissions"
    return ""


def _sync(path: Path) -> None:
    with open(path, "rb+") as file:
        os.fsync(file.fileno())


_KEEPS = "the device keeps what was not acknowledged"
# what SQLite says: what must hold, what came, what to try
_WORDS = (
    ("full", "the disk must have room for the book", "a full disk", f"making room; {_KEEPS}"),
    ("readonly", "the book must be open for writing", "one that may not be written", "its permissions or another disk"),
    ("locked", "one program at a time writes into the book", "another that holds it", f"ending that one; {_KEEPS}"),
    ("not a database", "the file must be a book", "something else", "moving it away, or the last backup"),
    ("malformed", "the book must be whole", "a damaged file", "the last backup; keep the damaged one too"),
    ("unable to open", "the book's folder must be writable", "one that is not there or is not", "its permissions"),
    ("disk i/o", "the disk must take what is written", "an error of the disk", f"another disk; {_KEEPS}"),
)


def _said(error: BaseException, path: Path) -> BookProblem:
    """An error of the database or of the disk as a sentence."""
    if isinstance(error, BookProblem):
        return error
    text = str(error).lower()
    for mark, must, came, attempt in _WORDS:
        if mark in text:
            return BookProblem(must, f'{came} ("{path.name}")', attempt)
    came = getattr(error, "strerror", None) or f"{type(error).__name__}: {str(error)[:100]}"
    return BookProblem(
        f'"{path.name}" must be a book that can be read and written', came, "its disk and its permissions"
    )
