"""What the book asks of an event, beyond its shape, before it takes it in: nothing that is in can stand in the way of
reading it again, or of the next entry.

What is in the book already is read without these questions: a book made by an earlier version still opens.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime

from lodestring.book.event import LINE_BYTES, Event, line
from lodestring.book.problem import BookProblem

LAMPORT_JUMP = 1_000_000
"""Every entry is numbered 1 + the highest seen, so no honest one lies so far beyond all others. After the greatest
number a device can hold there is no next one, and nobody could write any more."""
_LATELY = "SELECT coalesce(max(lamport), 0) FROM event WHERE seq > (SELECT max(seq) FROM event) - 1000"
_EVER = "SELECT coalesce(max(lamport), 0) FROM event"


def check_event(event: Event) -> None:
    """That its line is one that can be read again, and its time one that there is. Raises BookProblem."""
    size = len(line(event).encode("utf-8", "surrogatepass"))
    if size > LINE_BYTES:
        raise BookProblem(f"an event has at most {LINE_BYTES // 1024} KiB", f"{size} bytes", "several smaller ones")
    try:
        datetime.fromisoformat(event.at)
    except ValueError:
        raise BookProblem(
            "at of an event is a day and a time that there are", f'"{event.at}"', "setting the device's clock"
        ) from None


def check_numbers(connection: sqlite3.Connection, events: Iterable[Event]) -> None:
    """That no lamport number runs far ahead of all others, the book's and these events' own. Raises BookProblem."""
    numbers = sorted({e.lamport for e in events})
    for query in (_LATELY, _EVER):  # the first is quick, and may only be too low
        highest = int(connection.execute(query).fetchone()[0])
        far = next((n for before, n in zip([highest, *numbers], numbers, strict=False)
                    if n > max(before, highest) + LAMPORT_JUMP), None)  # fmt: skip
        if far is None:
            return
    raise BookProblem(
        "lamport of an event is 1 + the highest that was seen", f"{far}, far beyond {highest}", "loading the page again"
    )
