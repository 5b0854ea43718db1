"""What a person at the shell waits for."""

from __future__ import annotations

from collections.abc import Iterator

from timing import Row, cold


def rows() -> Iterator[Row]:
    """The bare start of Python is given too: nothing of ours can be under it."""
    yield Row("python alone", "", cold(["-c", "pass"], n=10))
    yield Row("lodestring --help", "under 0.15 s", cold(["-m", "lodestring", "--help"], n=10))
