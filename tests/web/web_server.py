"""A real server on loopback in a thread, and the same application without one."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn

from lodestring.web.address import listen, own_folder
from lodestring.web.guard import App, Gate
from lodestring.web.serve import configured


@contextmanager
def served(app: App, folder: Path, gate: Gate | None = None) -> Iterator[int]:
    """The application on a real socket; its port."""
    listening = listen(own_folder(folder), None)
    server = uvicorn.Server(configured(app))
    thread = threading.Thread(target=server.run, args=([listening],), daemon=True)
    thread.start()
    end = time.monotonic() + 10
    while not server.started and time.monotonic() < end:
        time.sleep(0.01)
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()


def headers_of(gate: Gate) -> dict[str, str]:
    """What a browser sends from a page of ours."""
    host = gate.hosts[0]
    return {"host": host, "origin": f"http://{host}", "cookie": f"{gate.cookie}={gate.word}"}
