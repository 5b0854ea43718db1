"""`lodestring open`: find the server of a folder or be it, until Ctrl-C."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import socket
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import uvicorn

from lodestring.errors import LodestringError
from lodestring.web.address import listen, own_folder
from lodestring.web.app import make_app
from lodestring.web.devices import Devices
from lodestring.web.guard import HEAD_BYTES, App, Gate, new_word
from lodestring.web.lan import lan_address, listen_on
from lodestring.web.lock import give_back, running, take
from lodestring.web.protocols import CONNECTIONS, MESSAGE_BYTES, Http, Socket

FAREWELL_SECONDS = 2
"""How long answers under way have when the server is told to end."""


def open_folder(folder: Path, port: int | None, browser: bool, say: Callable[[str], None], share: bool = False) -> None:
    """Serve a folder, or open the server that already does. The first line said is the address with its word.

    share: let devices of the local network in too, by an invitation that the page of devices shows.

    Raises LodestringError and its kinds: no such folder, a port that another program has.
    """
    folder = folder.resolve()
    own = own_folder(folder)
    there = running(own)
    if there is not None:
        _found(there, browser, say)
        if share:
            say("It goes on as it was started; to share it, end it with Ctrl-C where it runs and open it with --share.")
        return
    lan = lan_address() if share else ""
    sockets = [listen(own, port)]
    try:
        number = sockets[0].getsockname()[1]
        if lan:
            sockets.append(listen_on(lan, number))
        gate = Gate(number, new_word(), lan, Devices() if lan else None)
        if not take(own, gate):
            other = running(own)
            if other is None:
                raise LodestringError(f'"{folder}" must be opened once at a time', "two starts at once", "it again")
            _found(other, browser, say)
            return
        try:
            say(gate.address)
            say(f"The workbench is open on {folder}; Ctrl-C here ends it.")
            if lan:
                say(f"For other devices: http://127.0.0.1:{number}/devices shows a code for their camera.")
                say(f"What they send and see crosses the network at {lan} in the clear, until this ends.")
            _serve(make_app(folder, gate), sockets, gate if browser else None)
        finally:
            give_back(own, gate)
    finally:
        for listening in sockets:
            listening.close()


def _found(gate: Gate, browser: bool, say: Callable[[str], None]) -> None:
    say(gate.address)
    say("The workbench was open on this folder already.")
    if browser:
        webbrowser.open(gate.address)


class _Server(uvicorn.Server):
    """Opens the browser once it listens."""

    def __init__(self, config: uvicorn.Config, gate: Gate | None) -> None:
        super().__init__(config)
        self.gate = gate

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        if self.gate is not None:  # a browser may take seconds to start
            threading.Thread(target=webbrowser.open, args=(self.gate.address,), daemon=True).start()


def configured(app: App) -> uvicorn.Config:
    """The server library with our limits and without its own log, headers and trust in proxies."""
    return uvicorn.Config(
        app,
        loop="asyncio",
        http=Http,
        ws=Socket,
        ws_max_size=MESSAGE_BYTES,
        ws_per_message_deflate=False,  # 64 KiB stay 64 KiB
        lifespan="on",
        log_config=None,
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        limit_concurrency=CONNECTIONS,
        h11_max_incomplete_event_size=HEAD_BYTES,
        timeout_keep_alive=30,
        timeout_graceful_shutdown=FAREWELL_SECONDS,
    )


def _serve(app: App, sockets: list[socket.socket], gate: Gate | None) -> None:
    server = _Server(configured(app), gate)

    def end(number: int, frame: FrameType | None) -> None:
        server.should_exit = True

    # The library ends on these signals too, then sends itself the signal again, for which these handlers stand.
    before = {
        number: signal.signal(number, end)
        for name in ("SIGTERM", "SIGHUP")
        if (number := getattr(signal, name, None)) is not None and threading.current_thread() is threading.main_thread()
    }
    try:
        with contextlib.suppress(KeyboardInterrupt, asyncio.CancelledError):
            server.run(sockets=sockets)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
