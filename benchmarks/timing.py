"""Times, said honestly: cold or warm, how often, least, median and greatest."""

from __future__ import annotations

import gc
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Times:
    """Seconds of each run, and whether each was a process of its own (cold) or the same one again (warm)."""

    kind: str
    seconds: tuple[float, ...]

    def text(self) -> str:
        """`warm  n 100  least 1.2 ms  median 1.3 ms  greatest 2.0 ms`."""
        figures = (min(self.seconds), statistics.median(self.seconds), max(self.seconds))
        least, median, greatest = (duration(value) for value in figures)
        return f"{self.kind}  n {len(self.seconds):<5} least {least:>8}  median {median:>8}  greatest {greatest:>8}"


@dataclass(frozen=True)
class Row:
    """One line of the table: what was timed, what it should be (may be empty), and the times."""

    what: str
    target: str
    times: Times


def duration(seconds: float) -> str:
    """Three figures with the fitting unit."""
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("us", 1e-6)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 1e-9:.3g} ns"


def warm(call: Callable[[], object], n: int, first: int = 3) -> Times:
    """Run `call` `first` times unseen, then n times. The collector rests meanwhile, as its pauses belong to nobody."""
    for _ in range(first):
        call()
    seconds = []
    gc.collect()
    gc.disable()
    try:
        for _ in range(n):
            start = time.perf_counter()
            call()
            seconds.append(time.perf_counter() - start)
    finally:
        gc.enable()
    return Times("warm", tuple(seconds))


def cold(arguments: list[str], n: int) -> Times:
    """Start Python with these arguments n times, once unseen before (compiled files, disk cache). It must exit 0."""
    seconds = []
    for _ in range(n + 1):
        start = time.perf_counter()
        subprocess.run([sys.executable, *arguments], check=True, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
        seconds.append(time.perf_counter() - start)
    return Times("cold", tuple(seconds[1:]))
