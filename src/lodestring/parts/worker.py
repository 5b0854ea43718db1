"""A process that has the CAD kernel loaded and makes parts: asked from a page or a command, killed when it runs away.

The kernel takes seconds to load and hundreds of megabytes, so it lives in a process of its own. It starts when it is
first wanted (or `warm`ed), answers one job at a time, and is killed and started afresh when a job takes longer than
30 s or more than 2 GiB. Jobs and answers go through its pipes, pickled: both ends are this package, on this machine.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lodestring.design.finding import Finding
from lodestring.errors import LodestringError
from lodestring.parts.measure import Measured
from lodestring.parts.records import Piece
from lodestring.parts.views import View

SECONDS = 30.0
MEMORY = 2 * 1024**3
PAUSE = 0.02


@dataclass(frozen=True)
class Made:
    """A part made: its files by name, its measures, and what was found against it."""

    files: dict[str, bytes]
    measured: Measured
    findings: tuple[Finding, ...]


class WorkerGone(LodestringError):
    """The process that makes solids ended or was ended."""


def make(piece: Piece, formats: tuple[str, ...]) -> Made:
    """A part with files and checks, in this process. Raises NoKernel, DomainError."""
    from lodestring.parts.checks import check
    from lodestring.parts.files import part_files

    found, against = check(piece)
    return Made(part_files(piece, formats), found, tuple(against))


def look(piece: Piece, sides: tuple[str, ...]) -> dict[str, View]:
    """A part seen from some sides, in this process."""
    from lodestring.parts.views import view

    return {side: view(piece.shape, side) for side in sides}


def load() -> bool:
    """Load the kernel. Raises NoKernel with the line to install."""
    from lodestring.parts.kernel import cad

    cad()
    return True


JOBS: dict[str, Callable[..., Any]] = {"make": make, "look": look, "load": load}


class Worker:
    """The process, from outside. Thread-safe: jobs wait for one another. Use as a context, or `close` it."""

    def __init__(self, seconds: float = SECONDS, memory: int = MEMORY, jobs: str = __name__) -> None:
        self._seconds, self._memory, self._jobs = seconds, memory, jobs
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self.started = 0
        """How many processes were started: more than one after one was killed."""

    def make(self, piece: Piece, formats: tuple[str, ...]) -> Made:
        """A part with its files and checks. Raises NoKernel, DomainError, WorkerGone."""
        return self.ask("make", piece, formats)  # type: ignore[no-any-return]

    def look(self, piece: Piece, sides: tuple[str, ...]) -> dict[str, View]:
        """A part seen from some sides."""
        return self.ask("look", piece, sides)  # type: ignore[no-any-return]

    def warm(self) -> threading.Thread:
        """Start the process and let it load the kernel; returns at once. What goes wrong is said by the first job."""

        def begin() -> None:
            with contextlib.suppress(LodestringError):
                self.ask("load")

        thread = threading.Thread(target=begin, name="parts-warm", daemon=True)
        thread.start()
        return thread

    @property
    def running(self) -> bool:
        """Whether the process is there."""
        return self._process is not None and self._process.poll() is None

    def ask(self, job: str, *given: Any) -> Any:
        """Do one job there and wait for it. Raises what the job raised, or WorkerGone where it had to be killed."""
        with self._lock:
            process = self._ready()
            answer: list[bytes] = []
            reader = threading.Thread(target=lambda: answer.append(_take(process.stdout)), daemon=True)
            try:
                _give(process.stdin, pickle.dumps((job, given)))
            except OSError:
                self._kill()
                raise WorkerGone("the process that makes parts must be there", "none", "asking again") from None
            reader.start()
            self._wait(process, reader)
            if not answer or not answer[0]:
                self._kill()
                raise WorkerGone("the process that makes parts must end its job", "an end half-way", "asking again")
            good, value = pickle.loads(answer[0])
            if not good:
                raise value
            return value

    def _wait(self, process: subprocess.Popen[bytes], reader: threading.Thread) -> None:
        """Until the answer is there, or the job has had its time or its memory."""
        until = time.monotonic() + self._seconds
        while True:
            reader.join(PAUSE)
            if not reader.is_alive():
                return
            if time.monotonic() > until:
                self._kill()
                raise WorkerGone(
                    f"a part is made within {self._seconds:g} s", "one that takes longer", "fewer holes or roundings"
                )
            if (taken := resident(process.pid)) > self._memory:
                self._kill()
                raise WorkerGone(
                    f"a part is made within {self._memory / 1024**3:.2g} GiB of memory", f"{taken / 1024**3:.2g} GiB",
                    "fewer holes or roundings",
                )  # fmt: skip

    def _ready(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self._kill()
            code = f"from {self._jobs} import JOBS; from {__name__} import serve; serve(JOBS)"
            path = os.pathsep.join(p for p in sys.path if p)
            self._process = subprocess.Popen(
                [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                env={**os.environ, "PYTHONPATH": path},
            )  # fmt: skip
            self.started += 1
        return self._process

    def _kill(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()

    def close(self) -> None:
        """End the process; a later job starts it again."""
        with self._lock:
            self._kill()

    def __enter__(self) -> Worker:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def resident(pid: int) -> int:
    """Bytes of memory that a process holds; 0 where the system does not say it under /proc."""
    try:
        pages = Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1]
    except (OSError, IndexError):
        return 0
    return int(pages) * 4096


def _give(pipe: Any, data: bytes) -> None:
    pipe.write(len(data).to_bytes(8, "big") + data)
    pipe.flush()


def _take(pipe: Any) -> bytes:
    """One message; empty at the end of the pipe."""
    try:
        head = pipe.read(8)
        return pipe.read(int.from_bytes(head, "big")) if len(head) == 8 else b""
    except (OSError, ValueError):
        return b""


def serve(jobs: dict[str, Callable[..., Any]]) -> None:
    """The process's own loop. What the kernel prints goes to standard error, not among the answers."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    while data := _take(sys.stdin.buffer):
        job, given = pickle.loads(data)
        try:
            answer: tuple[bool, Any] = (True, jobs[job](*given))
        except LodestringError as error:
            answer = (False, error)
        except Exception as error:  # noqa: BLE001 - whatever it is, the page must be told in a sentence
            answer = (False, LodestringError("a part must be makeable", f"{type(error).__name__}: {error}"[:300]))
        _give(out, pickle.dumps(answer))
