"""A program that writes into a book and says on standard output which events are acknowledged. Run by the tests.

    writer.py BOOK DEVICE [sound | early | off]

`sound` is the book as it is. The two others are wrong on purpose: `early` acknowledges before it commits, `off` lets
SQLite answer before the disk has anything. The tests must tell both from the sound one.
"""

from __future__ import annotations

import os
import sys
import threading
from pathlib import Path

from lodestring.book import store
from lodestring.book.event import read_event

MANY = int(os.environ.get("WRITER_EVENTS", "1000000"))


def main() -> None:
    path, device, way = Path(sys.argv[1]), sys.argv[2], sys.argv[3] if len(sys.argv) > 3 else "sound"
    if way == "off":
        plain = store._connect

        def careless(path: Path, read_only: bool) -> object:
            connection = plain(path, read_only)
            connection.execute("PRAGMA synchronous = OFF")
            return connection

        store._connect = careless  # type: ignore[assignment]
    book = store.open_book(path)
    n = book.latest_n(device, coil="c")
    os.write(1, b"ready\n")
    for _ in range(MANY):
        n += 1
        id = f"{int.from_bytes(os.urandom(12), 'big'):032x}"
        event = read_event(
            {
                "v": 1, "id": id, "device": device, "n": n, "lamport": n, "at": "2026-11-25T06:00:00Z", "coil": "c",
                "kind": "coil.turns", "body": {"turns": 1, "by": "key"},
            }
        )  # fmt: skip
        if way == "early":
            os.write(1, f"{id}\n".encode())
            thread = threading.Thread(target=book.append, args=([event],))
            thread.start()
            thread.join()
        else:
            book.append([event])
            os.write(1, f"{id}\n".encode())
    book.close()


if __name__ == "__main__":
    main()
