"""What is acknowledged is on the disk: programs killed in the middle of writing, system calls in their order, full and
locked disks, damaged logs.

A kill alone is a weak test (the operating system keeps what a dead program wrote), so the order of system calls is
looked at too: between the last write to the log and the answer there is a synchronisation. The same look must tell a
server that answers before it commits, and one that does not synchronise, from the sound one.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from book_events import turns

from lodestring.book.fold import fold_coil
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book, open_book

WRITER = Path(__file__).resolve().parent / "writer.py"
KILLS = int(os.environ.get("LODESTRING_KILLS", "60"))
"""280 in the long run: LODESTRING_KILLS=280."""


def start(book: Path, device: str, way: str = "sound", **more: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, str(WRITER), str(book), device, way]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, **more})


def killed(book: Path, device: str, after: float) -> list[str]:
    """Ids that a writer acknowledged before it was killed."""
    process = start(book, device)
    assert process.stdout is not None
    assert process.stdout.readline() == b"ready\n"
    first = process.stdout.readline()
    time.sleep(after)
    process.send_signal(signal.SIGKILL)
    rest = process.communicate()[0]
    every = (first + rest).split(b"\n")
    return [id.decode() for id in every[:-1] if len(id) == 32]


def test_killed_at_any_moment_the_book_has_every_acknowledged_event_once(tmp_path: Path) -> None:
    chance = random.Random(20261125)
    path = tmp_path / "book.sqlite"
    acknowledged: list[str] = []
    for number in range(KILLS):
        acknowledged += killed(path, f"d{number % 3}", chance.uniform(0.0, 0.06))
    with open_book(path) as book:
        ids = [e.id for e in book.events()]
    assert len(acknowledged) >= KILLS
    assert len(ids) == len(set(ids)), "none twice"
    missing = set(acknowledged) - set(ids)
    assert not missing, f"{len(missing)} of {len(acknowledged)} acknowledged events are gone"


def calls(path: Path, way: str, trace: Path) -> list[str]:
    """The writer's system calls in order, each as "log" (a write to it), "sync", "ready" or "answer"."""
    command = ["strace", "-f", "-y", "-s", "64", "-e", "trace=write,pwrite64,writev,fsync,fdatasync", "-o", str(trace)]
    done = subprocess.run(
        [*command, sys.executable, str(WRITER), str(path), "d", way],
        env={**os.environ, "WRITER_EVENTS": "8"}, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.split()) == 9
    made = []
    for row in trace.read_text(encoding="utf-8", errors="replace").splitlines():
        if re.search(r"\b(f|fdata)sync\(\d+<[^>]*book\.sqlite-wal>", row):
            made.append("sync")
        elif re.search(r"\bp?write(64|v)?\(\d+<[^>]*book\.sqlite-wal>", row):
            made.append("log")
        elif re.search(r'\bwrite\(1<[^>]*>, "[0-9a-f]{32}\\n"', row):
            made.append("answer")
        elif re.search(r'\bwrite\(1<[^>]*>, "ready', row):
            made.append("ready")
    return made


def in_order(made: list[str]) -> bool:
    """Whether each answer comes after a synchronisation that comes after the last write to the log, and each answer
    has a write of its own before it."""
    written, synced = False, False
    for call in made:
        if call == "log":
            written, synced = True, False
        elif call == "sync":
            synced = True
        elif call == "ready":  # what made the book itself counts for no event
            written = synced = False
        elif not (written and synced):
            return False
        else:
            written = synced = False
    return made.count("answer") == 8


@pytest.mark.needs("strace")
@pytest.mark.parametrize(("way", "sound"), [("sound", True), ("early", False), ("off", False)])
def test_the_disk_has_it_before_the_answer_and_two_careless_ways_are_told_from_the_sound_one(
    way: str, sound: bool, tmp_path: Path
) -> None:
    made = calls(tmp_path / "book.sqlite", way, tmp_path / "trace")
    assert in_order(made) is sound, made


# ---- disks that do not take it ----


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 512 KiB in memory."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("a full disk is made with mount, as root: sudo make test")
    place = tmp_path / "small"
    place.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(place)], check=False)
    if done.returncode:
        pytest.skip("a full disk is made with mount -t tmpfs, which this machine does not allow")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def fill(book: Book, numbers: Iterator[int]) -> list[str]:
    """Append one event after the other until the book says no; ids of those acknowledged."""
    done: list[str] = []
    for number in numbers:
        try:
            book.append([turns(number)])
        except BookProblem as problem:
            told.append(str(problem))
            return done
        done.append(turns(number).id)
    raise AssertionError("the disk never filled")


told: list[str] = []


def test_a_full_disk_is_said_and_nothing_acknowledged_is_lost(small_disk: Path) -> None:
    with open_book(small_disk / "book.sqlite") as book:
        acknowledged = fill(book, iter(range(1, 5000)))
    assert "room for the book" in told[-1]
    assert len(acknowledged) > 10
    with open_book(small_disk / "book.sqlite", read_only=True) as book:
        assert {e.id for e in book.events()} >= set(acknowledged)


def test_after_a_full_disk_got_room_the_same_events_are_taken(small_disk: Path) -> None:
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"x" * 300 * 1024)
    with open_book(small_disk / "book.sqlite") as book:
        done = len(fill(book, iter(range(1, 5000))))
        ballast.unlink()
        book.append([turns(done + 1)])
        assert fold_coil(book.events()).turns == done + 1


def test_a_disk_that_may_not_be_written_opens_for_reading(small_disk: Path) -> None:
    path = small_disk / "book.sqlite"
    with open_book(path) as book:
        book.append([turns(1)])
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with open_book(path) as book:
        assert "may not be written" in book.read_only_because
        assert fold_coil(book.events()).turns == 1
        with pytest.raises(BookProblem, match="open for writing"):
            book.append([turns(2)])


def test_a_book_that_another_program_holds_is_said_and_nothing_is_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lodestring.book.store.LOCKED_SECONDS", 0.2)
    path = tmp_path / "book.sqlite"
    with open_book(path) as book:
        book.append([turns(1)])
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookProblem, match="another that holds it"):
            book.append([turns(2)])
        other.execute("ROLLBACK")
        other.close()
        book.append([turns(2)])
        assert [e.n for e in book.events()] == [1, 2]


# ---- logs that were cut ----


def test_a_shortened_log_loses_the_last_events_only_and_the_device_fills_them_in_again(tmp_path: Path) -> None:
    """As after a power cut on a disk that lied about its synchronisation."""
    path = tmp_path / "book.sqlite"
    process = start(path, "phone", WRITER_EVENTS="200")
    assert process.stdout is not None
    assert process.stdout.readline() == b"ready\n"
    ids = [process.stdout.readline().strip().decode() for _ in range(60)]
    process.send_signal(signal.SIGKILL)
    ids += [row.decode() for row in process.communicate()[0].split(b"\n")[:-1]]
    log = path.with_name("book.sqlite-wal")
    whole = log.read_bytes()
    log.write_bytes(whole[: len(whole) * 2 // 3])
    with open_book(path) as book:
        there = [e.id for e in book.events(coil="c")]
        assert there == ids[: len(there)], "what is left is the beginning, unchanged"
        assert 0 < len(there) < len(ids)
        lost = [i for i in ids if i not in set(book.have(ids))]
        assert lost == ids[len(there) :], "the server knows what it lacks of what the device holds"
        assert book.latest_n("phone", coil="c") == len(there)


def test_a_damaged_book_is_said_and_the_backup_named(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    with open_book(path) as book:
        for number in range(1, 400):
            book.append([turns(number)])
    raw = bytearray(path.read_bytes())
    raw[4096 * 3 : 4096 * 5] = b"\xa5" * 8192
    path.write_bytes(raw)
    with pytest.raises(BookProblem, match="backup"):
        open_book(path)
