"""What the server tells the open tabs: "group G of set S at state D is ready", never the figures themselves.

One websocket a tab. Each tab has a short queue; a tab that does not keep up is dropped and loads anew. Nothing that a
tab sends here means anything: what must not be lost is POSTed.
"""

from __future__ import annotations

import asyncio
import json
from dataclasses import asdict, dataclass

from starlette.websockets import WebSocket, WebSocketDisconnect

QUEUE = 32
"""Messages that may wait for one tab: a change tells of about a dozen groups."""
TABS = 32
TOO_SLOW, TOO_MANY = 4008, 4013
"""Close codes of ours: the page loads itself anew on the first, and works on without news on the second."""


@dataclass(frozen=True, slots=True)
class News:
    """`state`: working, ready, failed, cancelled (of one group); changed, units (of the whole set, group empty)."""

    set: str
    digest: str
    group: str
    state: str

    def text(self) -> str:
        return json.dumps(asdict(self), separators=(",", ":"))


class _Tab:
    def __init__(self, name: str) -> None:
        self.name = name
        self.queue: asyncio.Queue[str] = asyncio.Queue(QUEUE)
        self.dropped = asyncio.Event()


class Hub:
    """All open tabs. `tell` may be called from any thread."""

    def __init__(self) -> None:
        self._tabs: set[_Tab] = set()
        self._loop: asyncio.AbstractEventLoop | None = None

    def begin(self, loop: asyncio.AbstractEventLoop) -> None:
        """Says in which loop the tabs live; news from before is for nobody."""
        self._loop = loop

    def tell(self, news: News) -> None:
        loop = self._loop
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._spread, news)

    def _spread(self, news: News) -> None:
        text = news.text()
        for tab in self._tabs:
            if tab.name != news.set or tab.dropped.is_set():
                continue
            try:
                tab.queue.put_nowait(text)
            except asyncio.QueueFull:
                tab.dropped.set()

    async def serve(self, socket: WebSocket, name: str, first: News) -> None:
        """One tab, from its opening to its end; `first` is told at once, so that a tab knows whether it is behind."""
        await socket.accept()
        if len(self._tabs) >= TABS:
            await socket.close(TOO_MANY)
            return
        tab = _Tab(name)
        self._tabs.add(tab)
        tab.queue.put_nowait(first.text())
        tasks = [asyncio.create_task(c) for c in (_send(socket, tab), _hear(socket), tab.dropped.wait())]
        try:
            await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        finally:
            self._tabs.discard(tab)
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
        if tab.dropped.is_set():
            await _close(socket, TOO_SLOW)


async def _send(socket: WebSocket, tab: _Tab) -> None:
    while True:
        await socket.send_text(await tab.queue.get())


async def _hear(socket: WebSocket) -> None:
    """Waits for the end; what a tab says is read and forgotten."""
    while (await socket.receive())["type"] != "websocket.disconnect":
        pass


async def _close(socket: WebSocket, code: int) -> None:
    try:
        async with asyncio.timeout(1.0):
            await socket.close(code)
    except (TimeoutError, RuntimeError, WebSocketDisconnect):
        return  # it does not read: the connection is cut by the limit on writing
