"""One server a folder: the file `.lodestring/lock` says where it is and what its word is (mode 0600: the maker's only).

A server that was killed leaves its lock behind. So a lock is believed only if somebody at its port proves to hold its
word; the proof tells nothing to another program that may sit there by now.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import secrets
import stat
import time
from pathlib import Path

from lodestring.errors import FileProblem
from lodestring.web.address import LOOPBACK
from lodestring.web.guard import Gate

LOCK = "lock"
LARGEST = 4096
PROBE_SECONDS = 2.0
"""A server that has just been started listens before it answers."""


def running(own: Path) -> Gate | None:
    """The server that runs on this folder, None if there is none; a stale lock is then taken away."""
    gate = _read(own)
    if gate is None and (own / LOCK).exists():  # half written by a start that goes on right now, or damaged
        time.sleep(0.2)
        gate = _read(own)
    if gate is not None and _answers(gate):
        return gate
    with contextlib.suppress(FileNotFoundError):
        try:
            os.unlink(own / LOCK)
        except IsADirectoryError:
            raise FileProblem(f'"{own / LOCK}" must be a file of ours', "a folder", "moving it away") from None
    return None


def take(own: Path, gate: Gate) -> bool:
    """Write the lock; False if another start was quicker. Call it with the port bound."""
    raw = json.dumps({"pid": os.getpid(), "port": gate.port, "address": gate.address, "word": gate.word}).encode()
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        handle = os.open(own / LOCK, flags, 0o600)
    except FileExistsError:
        return False
    except OSError as error:
        raise FileProblem(f'"{own}" must be writable', error.strerror or "", "its permissions and the disk") from None
    with open(handle, "wb") as file:
        file.write(raw)
    return True


def give_back(own: Path, gate: Gate) -> None:
    """Take the lock away if it is still ours."""
    if _read(own) == gate:
        with contextlib.suppress(OSError):
            os.unlink(own / LOCK)


def _read(own: Path) -> Gate | None:
    path = own / LOCK
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            return None
        with open(path, "rb") as file:
            told = json.loads(file.read(LARGEST))
        port, word = told["port"], told["word"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    if type(port) is not int or not 0 < port < 65536 or not isinstance(word, str) or not 16 <= len(word) <= 64:
        return None
    return Gate(port, word)


def _answers(gate: Gate) -> bool:
    """Whether who listens at the port proves to hold the word."""
    nonce = secrets.token_hex(16)
    connection = http.client.HTTPConnection(LOOPBACK, gate.port, timeout=PROBE_SECONDS)
    try:
        connection.request("GET", f"/alive?nonce={nonce}")
        answer = connection.getresponse()
        proof = answer.read(200).decode("ascii", "replace").strip()
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()
    return answer.status == 200 and secrets.compare_digest(proof.encode(), gate.answer_to(nonce).encode())
