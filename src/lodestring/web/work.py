"""A thread that works for one open set: the more urgent job first, then in order, and what is given up ends early.

The computing looks between its steps (folder/patience.py) whether it is still wanted, and what was done of it is kept.
"""

from __future__ import annotations

import asyncio
import contextlib
import heapq
import itertools
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any, TypeVar

from lodestring.errors import LodestringError
from lodestring.folder.patience import Cancel, GivenUp, watching

T = TypeVar("T")


class Urgency(IntEnum):
    """Which job goes first."""

    CHANGE = 0
    PAGE = 1
    ASKED = 2


@dataclass(order=True)
class Job:
    """One thing to do. `cancel` may be asked from any thread."""

    urgency: int
    number: int
    run: Callable[[], None] = field(compare=False)
    cancel: Cancel = field(compare=False, default_factory=Cancel)


class Worker:
    """One thread, one job after the other."""

    def __init__(self, name: str) -> None:
        self._jobs: list[Job] = []
        self._numbers = itertools.count()
        self._wake = threading.Condition()
        self._now: Job | None = None
        self._over = False
        self._name = name
        self._thread: threading.Thread | None = None

    def submit(self, work: Callable[[], None], urgency: Urgency = Urgency.ASKED) -> Job:
        """Queue a job that answers for itself. Raises LodestringError once `end` was called."""
        job = Job(urgency, next(self._numbers), work)
        with self._wake:
            if self._over:
                raise LodestringError("this set must be open", "one that was renamed, binned or closed", "the shelf")
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name=self._name, daemon=True)
                self._thread.start()
            heapq.heappush(self._jobs, job)
            self._wake.notify()
        return job

    async def ask(self, work: Callable[[], T], urgency: Urgency = Urgency.PAGE) -> T:
        """What `work` returns or raises. If whoever asked goes away, the job is given up."""
        loop = asyncio.get_running_loop()
        future: asyncio.Future[T] = loop.create_future()

        def settle(act: Callable[[Any], None], value: object) -> None:
            if not future.done():
                act(value)

        def job() -> None:
            act: Callable[[Any], None] = future.set_result
            value: object
            try:
                value = work()
            except GivenUp:
                act, value = future.set_exception, LodestringError("this was given up", "", "asking again")
            except BaseException as error:  # noqa: BLE001 - raised again where it was asked for
                act, value = future.set_exception, error
            with contextlib.suppress(RuntimeError):  # the loop may be closed by now
                loop.call_soon_threadsafe(settle, act, value)

        queued = self.submit(job, urgency)
        try:
            return await future
        except asyncio.CancelledError:
            queued.cancel.ask()
            raise

    def end(self) -> None:
        """Give up what waits and what is at work; the thread ends when all have answered."""
        with self._wake:
            self._over = True
            for job in [*self._jobs, *([self._now] if self._now else [])]:
                job.cancel.ask()
            self._wake.notify()

    def _work(self) -> None:
        while True:
            with self._wake:
                while not self._jobs and not self._over:
                    self._wake.wait()
                if not self._jobs:
                    return
                job = self._now = heapq.heappop(self._jobs)
            # A job given up before it began still runs: it finds out at its first step, and answers for itself.
            with contextlib.suppress(GivenUp), watching(job.cancel):
                job.run()
            with self._wake:
                self._now = None
