"""The server library's two protocols with the limits it does not have: time for a request's head, connections, and a
client that does not read what it is sent.
"""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.protocols.websockets.wsproto_impl import WSProtocol

HEAD_SECONDS = 10.0
"""From the connection, or the first byte of a further request, to the end of the request's head."""
SLOW_SECONDS = 20.0
"""A client whose queue stays full for so long is dropped."""
CONNECTIONS = 64
"""At once; a page with all its pictures opens six."""
MESSAGE_BYTES = 64 * 1024


class _Watch:
    """One timer that drops a connection."""

    def __init__(self) -> None:
        self.timer: asyncio.TimerHandle | None = None

    def start(self, seconds: float, transport: Any) -> None:
        if self.timer is None:
            self.timer = asyncio.get_running_loop().call_later(seconds, transport.abort)

    def stop(self) -> None:
        if self.timer is not None:
            self.timer.cancel()
            self.timer = None


class Http(H11Protocol):
    """HTTP/1.1 with those limits."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._head, self._slow = _Watch(), _Watch()

    def connection_made(self, transport: Any) -> None:
        super().connection_made(transport)
        if len(self.connections) > CONNECTIONS:
            transport.abort()
            return
        self._head.start(HEAD_SECONDS, transport)

    def data_received(self, data: bytes) -> None:
        before = self.cycle
        if before is None or before.response_complete:
            self._head.start(HEAD_SECONDS, self.transport)
        super().data_received(data)
        if self.cycle is not before or self.transport.get_protocol() is not self:  # a head is complete
            self._head.stop()

    def connection_lost(self, exc: Exception | None) -> None:
        self._head.stop()
        self._slow.stop()
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        self._slow.start(SLOW_SECONDS, self.transport)
        super().pause_writing()

    def resume_writing(self) -> None:
        self._slow.stop()
        super().resume_writing()


class Socket(WSProtocol):
    """Websockets with those limits."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._slow = _Watch()

    def connection_lost(self, exc: Exception | None) -> None:
        self._slow.stop()
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        self._slow.start(SLOW_SECONDS, self.transport)
        super().pause_writing()

    def resume_writing(self) -> None:
        self._slow.stop()
        super().resume_writing()
