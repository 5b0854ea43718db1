"""Who may speak to the server, and what its answers may do in a browser.

The server listens on loopback, which every user and every open web page of the machine can reach. So a request is
judged before anything else sees it: is it meant for this address (Host: another name that was made to point here is
refused), does it come from a page of ours (Origin, Sec-Fetch-Site), does it hold the word of this start (cookie), is
its body small and quick enough. `judge` is a pure function; `Guard` puts it in front of an application.
"""

from __future__ import annotations

import asyncio
import hmac
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from typing import Any

from starlette.exceptions import HTTPException

from lodestring.web.devices import COOKIE as DEVICE_COOKIE
from lodestring.web.devices import Device, Devices
from lodestring.web.ways import Right, Way, way_of

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

BODY_SECONDS = 30.0
"""How long a body may take to come in."""
HEAD_BYTES = 16 * 1024
"""Of a request's head; the server library bounds only heads that do not come whole."""
COOKIE = "lodestring-{port}"
"""Cookies know no port: the name holds it, so that two folders' servers do not take each other's word away."""

WORDLESS = "The word of this start is missing; open the address that `lodestring open` printed at the terminal."

DEVICE_MAY_NOT = "This device may look and count; who sits at the computer can let it do more, on the page of devices."

_SAFE = ("GET", "HEAD")
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self' {sockets}; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
# Referrer-Policy: with no-referrer a form would send the Origin null, which is refused.
_HEADERS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)


@dataclass(frozen=True, slots=True)
class Gate:
    """What one start of the server goes by: its port and its word."""

    port: int
    word: str
    lan: str = field(default="", compare=False)
    """Address on the local network, empty where the folder is not shared."""
    devices: Devices | None = field(default=None, compare=False)

    @property
    def own_hosts(self) -> tuple[str, ...]:
        """What this machine itself calls the server."""
        return (f"127.0.0.1:{self.port}", f"localhost:{self.port}")

    @property
    def hosts(self) -> tuple[str, ...]:
        return (*self.own_hosts, f"{self.lan}:{self.port}") if self.lan else self.own_hosts

    @property
    def address(self) -> str:
        """What the terminal prints and the browser is opened with."""
        return f"http://127.0.0.1:{self.port}/enter?word={self.word}"

    @property
    def cookie(self) -> str:
        return COOKIE.format(port=self.port)

    def knows(self, word: str) -> bool:
        """Whether it is the word, in a time that does not tell how much of it is right."""
        return hmac.compare_digest(word.encode("utf-8", "replace"), self.word.encode())

    def answer_to(self, nonce: str) -> str:
        """Proof of holding the word without saying it: how a second start recognises this server."""
        return hmac.new(self.word.encode(), f"lodestring alive {self.port} {nonce}".encode(), "sha256").hexdigest()


def new_word() -> str:
    """A word for one start: 128 bits."""
    return secrets.token_urlsafe(16)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a request is not answered: status, and a sentence for the person who sent it."""

    status: int
    sentence: str


def judge(gate: Gate, scope: Scope) -> Refusal | None:
    """None if a request (http or websocket) may pass."""
    headers: list[tuple[bytes, bytes]] = list(scope.get("headers", ()))
    if sum(len(name) + len(value) + 4 for name, value in headers) + len(scope.get("query_string", b"")) > HEAD_BYTES:
        return Refusal(431, "The head of the request is too long; try a shorter address, or fewer cookies.")
    hosts = _all(headers, b"host")
    if len(hosts) != 1 or hosts[0].lower() not in gate.hosts:
        return Refusal(421, f"The host must be {gate.hosts[0]}; try the address that the terminal printed.")
    socket = scope["type"] == "websocket"
    method = "WS" if socket else str(scope["method"])
    way = way_of(method, str(scope["path"]))
    site = _all(headers, b"sec-fetch-site")
    if any(s not in ("same-origin", "none") for s in site):
        return Refusal(403, "Another site asked for this page; open the workbench's own address.")
    origins = _all(headers, b"origin")
    if origins and (len(origins) != 1 or origins[0].lower() != f"http://{hosts[0].lower()}"):
        return Refusal(403, "The request must come from a page of the workbench; try loading the page again.")
    if not origins and method not in _SAFE:
        return Refusal(403, "The request must say which page it comes from; try it from a page of the workbench.")
    needed = Right.READ if way is None else way.right
    held = right_of(gate, hosts[0].lower(), headers) if needed > Right.ANYONE else Right.ANYONE
    if held < needed:
        return Refusal(403, WORDLESS if held is Right.ANYONE else DEVICE_MAY_NOT)
    return _body(way, headers)


def right_of(gate: Gate, host: str, headers: list[tuple[bytes, bytes]]) -> Right:
    """What who sends these headers may do. The maker's word counts on this machine's own address alone: on the local
    network, where it could be overheard, a device has a word of its own."""
    if host in gate.own_hosts:
        return Right.MAKER if _holds_word(gate, headers) else Right.ANYONE
    device = None if gate.devices is None else device_of(gate.devices, gate.port, headers)
    if device is None:
        return Right.ANYONE
    return Right.DESIGN if device.design else Right.COUNT


def device_of(devices: Devices, port: int, headers: list[tuple[bytes, bytes]]) -> Device | None:
    """The device whose word is among the cookies."""
    words = [value for name, value in _cookies(headers) if name == DEVICE_COOKIE.format(port=port)]
    return next((found for word in words if (found := devices.known(word)) is not None), None)


def _body(way: Way | None, headers: list[tuple[bytes, bytes]]) -> Refusal | None:
    told = _all(headers, b"content-length")
    if told and (not told[0].isdigit() or int(told[0][:12]) > limit_of(way)):
        return _too_large(way)
    return None


def limit_of(way: Way | None) -> int:
    """Bytes a body may have."""
    return 0 if way is None else way.limit


def _too_large(way: Way | None) -> Refusal:
    return Refusal(413, f"What is sent must be at most {limit_of(way) // 1024} KiB here; try less at once.")


def _all(headers: list[tuple[bytes, bytes]], name: bytes) -> list[str]:
    return [value.decode("latin-1").strip() for key, value in headers if key.lower() == name]


def _holds_word(gate: Gate, headers: list[tuple[bytes, bytes]]) -> bool:
    """Any cookie of our name counts, so that a stale one with another path does not shut the maker out."""
    return any(gate.knows(value) for name, value in _cookies(headers) if name == gate.cookie)


def _cookies(headers: list[tuple[bytes, bytes]]) -> list[tuple[str, str]]:
    pieces = [piece.strip() for line in _all(headers, b"cookie") for piece in line.split(";")]
    return [(p.partition("=")[0], p.partition("=")[2]) for p in pieces]


class _Stop(HTTPException):
    """The body is too large or too slow. The rest of it is not wanted, so the connection ends with the answer."""

    def __init__(self, refusal: Refusal) -> None:
        self.refusal = refusal
        super().__init__(refusal.status, refusal.sentence, {"connection": "close"})


class Guard:
    """In front of an application: refuses what `judge` refuses, bounds the body, and puts its headers on each answer.

    `refuse` makes the page of a refusal (bytes and media type).
    """

    def __init__(self, app: App, gate: Gate, refuse: Callable[[Scope, Refusal], tuple[bytes, str]]) -> None:
        self.app = app
        self.gate = gate
        self.refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        refusal = judge(self.gate, scope)
        if scope["type"] == "websocket":
            if refusal is None:
                await self.app(scope, receive, send)
            else:
                await _shut(scope, receive, send, refusal)
            return
        guarded = _WithHeaders(send, self.gate)
        if refusal is not None:
            await self._answer(scope, guarded, refusal)
            return
        limited = _Body(receive, way_of(scope["method"], scope["path"]))
        try:
            await self.app(scope, limited, guarded)
        except _Stop as stop:
            if guarded.started:
                raise  # the server then cuts the connection
            await self._answer(scope, guarded, stop.refusal)

    async def _answer(self, scope: Scope, send: Send, refusal: Refusal) -> None:
        body, media = self.refuse(scope, refusal)
        headers = [
            (b"content-type", media.encode()),
            (b"content-length", str(len(body)).encode()),
            (b"connection", b"close"),  # a body that was not read must not be taken for the next request
        ]
        await send({"type": "http.response.start", "status": refusal.status, "headers": headers})
        await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})


async def _shut(scope: Scope, receive: Receive, send: Send, refusal: Refusal) -> None:
    await receive()  # websocket.connect
    if "websocket.http.response" in (scope.get("extensions") or {}):
        body = refusal.sentence.encode()
        headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
        headers += list(_HEADERS)
        await send({"type": "websocket.http.response.start", "status": refusal.status, "headers": headers})
        await send({"type": "websocket.http.response.body", "body": body})
    else:
        await send({"type": "websocket.close", "code": 1008, "reason": ""})


class _Body:
    """`receive` that counts: a body told as chunks has no length beforehand."""

    def __init__(self, receive: Receive, way: Way | None) -> None:
        self.receive = receive
        self.way = way
        self.seen = 0
        self.until: float | None = None
        self.done = False

    async def __call__(self) -> Message:
        if self.done:
            return await self.receive()  # waits for the client to go away, which may take as long as it likes
        loop = asyncio.get_running_loop()
        self.until = self.until or loop.time() + BODY_SECONDS
        try:
            async with asyncio.timeout_at(self.until):
                message = await self.receive()
        except TimeoutError:
            raise _Stop(Refusal(408, "What was sent came too slowly; try again.")) from None
        if message["type"] == "http.request":
            self.seen += len(message.get("body", b""))
            self.done = not message.get("more_body", False)
            if self.seen > limit_of(self.way):
                raise _Stop(_too_large(self.way))
        return message


class _WithHeaders:
    """`send` that puts our headers on the start of each answer, in place of any of the same name."""

    def __init__(self, send: Send, gate: Gate) -> None:
        self.send = send
        self.started = False
        policy = _POLICY.format(sockets=" ".join(f"ws://{host}" for host in gate.hosts))
        self.ours = (*_HEADERS, (b"content-security-policy", policy.encode()))

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            names = {name for name, _ in self.ours}
            rest = [(k, v) for k, v in message.get("headers", ()) if k.lower() not in names]
            message = {**message, "headers": [*rest, *self.ours]}
        await self.send(message)
