"""Who may speak to the server: each line of the guard as a request that must be refused, and the like that must pass.

What is refused and why follows open standards: Host and 421 (RFC 9110, 7.2 and 15.5.20), Origin (RFC 6454, 7; "null"
is the opaque origin), Sec-Fetch-Site (W3C Fetch Metadata), cookies know no port (RFC 6265, 8.5).
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Awaitable, Callable
from typing import Any

import httpx
import pytest
from starlette.responses import PlainTextResponse

from lodestring.web import guard as guard_module
from lodestring.web.devices import Devices
from lodestring.web.guard import Gate, Guard, Refusal, Scope, judge, limit_of
from lodestring.web.ways import WAYS, Right, Way, way_of

GATE = Gate(23456, "abcdefghijklmnopqrstuv")
HOST = "127.0.0.1:23456"
OWN = f"http://{HOST}"
WORD = f"{GATE.cookie}={GATE.word}"


def scope(method: str = "GET", path: str = "/", kind: str = "http", **headers: str | None) -> Scope:
    """A request as a browser sends it from a page of ours, but for what is said otherwise (None: left out)."""
    sent = {"host": HOST, "cookie": WORD, "origin": None if method in ("GET", "HEAD") and kind == "http" else OWN}
    sent |= {name.replace("_", "-"): value for name, value in headers.items()}
    pairs = [(n.encode(), v.encode("latin-1")) for n, v in sent.items() if v is not None]
    return {"type": kind, "method": method, "path": path, "headers": pairs}


# id: (request, status; 0 = it passes)
CASES: dict[str, tuple[Scope, int]] = {
    "a page": (scope(), 0),
    "by the other name of this machine": (scope(host="localhost:23456"), 0),
    "a host in capitals": (scope(host="LOCALHOST:23456"), 0),
    "typed into the address bar": (scope(sec_fetch_site="none"), 0),
    "a form of ours": (scope("POST", "/shelf/copy", sec_fetch_site="same-origin"), 0),
    "a websocket of ours": (scope("GET", "/set/heron/push", "websocket"), 0),
    "another name that points here": (scope(host="pickups.example:23456"), 421),
    "our name without the port": (scope(host="127.0.0.1"), 421),
    "our name with another port": (scope(host="127.0.0.1:80"), 421),
    "a name that begins like ours": (scope(host="127.0.0.1:23456.example"), 421),
    "no host": (scope(host=None), 421),
    "a websocket by another name": (scope("GET", "/set/heron/push", "websocket", host="x.example:23456"), 421),
    "no word": (scope(cookie=None), 403),
    "a wrong word": (scope(cookie=f"{GATE.cookie}=abcdefghijklmnopqrstuw"), 403),
    "an empty word": (scope(cookie=f"{GATE.cookie}="), 403),
    "the word under another port's name": (scope(cookie=f"lodestring-23457={GATE.word}"), 403),
    "a word of letters beyond ASCII": (scope(cookie=f"{GATE.cookie}=\xe9\xff"), 403),
    "the word among other cookies": (scope(cookie=f"a=1; {WORD}; b=2"), 0),
    "a stale word before the right one": (scope(cookie=f"{GATE.cookie}=stale; {WORD}"), 0),
    "no word, a form": (scope("POST", "/shelf/copy", cookie=None), 403),
    "no word, a websocket": (scope("GET", "/set/heron/push", "websocket", cookie=None), 403),
    "no word, no such page": (scope(path="/nothing", cookie=None), 403),
    "a form from another site": (scope("POST", "/shelf/copy", origin="https://evil.example"), 403),
    "a form from another port here": (scope("POST", "/shelf/copy", origin="http://127.0.0.1:8000"), 403),
    "a form from our name without port": (scope("POST", "/shelf/copy", origin="http://127.0.0.1"), 403),
    "a form from our other name": (scope("POST", "/shelf/copy", origin="http://localhost:23456"), 403),
    "a form from an opaque origin": (scope("POST", "/shelf/copy", origin="null"), 403),
    "a form from nowhere": (scope("POST", "/shelf/copy", origin=None), 403),
    "a page asked by another site's script": (scope(origin="https://evil.example"), 403),
    "a websocket from another site": (scope("GET", "/set/a/push", "websocket", origin="https://evil.example"), 403),
    "a websocket from an opaque origin": (scope("GET", "/set/a/push", "websocket", origin="null"), 403),
    "a websocket from nowhere": (scope("GET", "/set/a/push", "websocket", origin=None), 403),
    "a page in another site's frame": (scope(sec_fetch_site="cross-site"), 403),
    "a page asked from another port": (scope(sec_fetch_site="same-site"), 403),
    "the entrance asked by another site": (scope(path="/enter", cookie=None, sec_fetch_site="cross-site"), 403),
    "the entrance": (scope(path="/enter", cookie=None), 0),
    "a body told too large": (scope("POST", "/shelf/copy", content_length="65537"), 413),
    "a body just small enough": (scope("POST", "/shelf/copy", content_length="65536"), 0),
    "a body told in words": (scope("POST", "/shelf/copy", content_length="many"), 413),
    "a body of 10^5000 bytes": (scope("POST", "/shelf/copy", content_length="1" + "0" * 5000), 413),
    "a body with a page": (scope(content_length="1"), 413),
}


@pytest.mark.parametrize(("request_", "status"), CASES.values(), ids=CASES.keys())
def test_a_request_passes_or_is_refused_with_a_sentence(request_: Scope, status: int) -> None:
    refusal = judge(GATE, request_)
    assert (0 if refusal is None else refusal.status) == status
    assert refusal is None or refusal.sentence.endswith(".")


def test_two_hosts_or_two_origins_are_refused() -> None:
    twice = scope("POST", "/shelf/copy")
    twice["headers"].append((b"origin", b"https://evil.example"))
    assert judge(GATE, twice) is not None
    hosts = scope()
    hosts["headers"].append((b"host", b"evil.example"))
    refusal = judge(GATE, hosts)
    assert refusal is not None
    assert refusal.status == 421


FILLED = {
    "name": "heron",
    "group": "g",
    "view": "top",
    "key": "set.wire_length",
    "file": "page.css",
    "word": "w" * 22,
    "serial": "w-1",
    "other": "w-2",
    "spool": "s-1",
    "sha": "a" * 64,
}


def concrete(way: Way) -> str:
    return re.sub(r"\{(\w+)\}", lambda m: FILLED[m.group(1)], way.path)


@pytest.mark.parametrize("way", WAYS, ids=lambda w: f"{w.method} {w.path}")
def test_every_way_of_the_table_asks_for_its_right(way: Way) -> None:
    kind, method = ("websocket", "GET") if way.method == "WS" else ("http", way.method)
    asked = scope(method, concrete(way), kind, cookie=None)
    refused = judge(GATE, asked)
    assert way_of(way.method, concrete(way)) == way
    assert (refused is None) is (way.right is Right.ANYONE)
    assert judge(GATE, scope(method, concrete(way), kind)) is None


def test_only_entrances_the_sign_of_life_and_the_packages_own_files_are_open_to_anyone() -> None:
    assert {w.path for w in WAYS if w.right is Right.ANYONE} == {"/enter", "/alive", "/join/{word}", "/static/{file}"}


SHARED = Gate(23456, GATE.word, "192.168.1.20", Devices())
LAN = "192.168.1.20:23456"


def let_in(design: bool) -> str:
    """Cookie of a device that was let in."""
    devices = SHARED.devices
    assert devices is not None
    word = devices.enter(devices.invite().path.rpartition("/")[2], "phone")
    found = devices.known(word or "")
    assert found is not None
    devices.allow(found.id, design)
    return f"lodestring-device-23456={word}"


@pytest.mark.parametrize("design", [False, True], ids=["a device that counts", "a device that may design"])
def test_a_device_may_use_the_ways_of_its_right_and_no_others(design: bool) -> None:
    cookie, most = let_in(design), Right.DESIGN if design else Right.COUNT
    for way in WAYS:
        kind, method = ("websocket", "GET") if way.method == "WS" else ("http", way.method)
        origin = None if method == "GET" and kind == "http" else f"http://{LAN}"
        refusal = judge(SHARED, scope(method, concrete(way), kind, host=LAN, origin=origin, cookie=cookie))
        assert (refusal is None) is (way.right <= most), way
        assert refusal is None or refusal.status == 403


def test_what_changes_sets_or_lets_devices_in_is_beyond_a_device_that_counts() -> None:
    beyond = {way.path for way in WAYS if way.right > Right.COUNT}
    assert {"/set/{name}/change", "/set/{name}/text", "/shelf/bin", "/devices/allow", "/devices/invite"} <= beyond


OVER_LAN = {
    "the maker's word, which may be overheard there": (f"{GATE.cookie}={GATE.word}", LAN),
    "a device's word on this machine's own address": ("device", HOST),
    "no word": (None, LAN),
    "a wrong device's word": ("lodestring-device-23456=abcdefghijklmnopqrstuv", LAN),
}


@pytest.mark.parametrize(("cookie", "host"), OVER_LAN.values(), ids=OVER_LAN)
def test_a_word_counts_on_its_own_address_alone(cookie: str | None, host: str) -> None:
    sent = let_in(False) if cookie == "device" else cookie
    refusal = judge(SHARED, scope(host=host, cookie=sent))
    assert refusal is not None
    assert refusal.status == 403


def test_the_address_on_the_network_is_unknown_unless_shared() -> None:
    refusal = judge(GATE, scope(host=LAN))
    assert refusal is not None
    assert refusal.status == 421


def test_no_way_takes_a_path() -> None:
    for way in WAYS:
        assert ":path" not in way.path
        assert set(re.findall(r"\{(\w+)\}", way.path)) <= set(FILLED)


Receive = Callable[[], Awaitable[dict[str, Any]]]


async def echo(scope: Scope, receive: Receive, send: Any) -> None:
    body = b""
    while True:
        message = await receive()
        body += message.get("body", b"")
        if not message.get("more_body", False):
            break
    await PlainTextResponse(f"{len(body)}", headers={"cache-control": "public"})(scope, receive, send)


def refuse(scope: Scope, refusal: Refusal) -> tuple[bytes, str]:
    return refusal.sentence.encode(), "text/plain; charset=utf-8"


def asked(content: Any, method: str = "POST", path: str = "/shelf/copy", **headers: str) -> httpx.Response:
    async def ask() -> httpx.Response:
        transport = httpx.ASGITransport(Guard(echo, GATE, refuse))  # type: ignore[arg-type]
        async with httpx.AsyncClient(transport=transport, base_url=OWN) as client:
            own = {"origin": OWN, "cookie": WORD}
            return await client.request(method, path, content=content, headers=own | headers)

    return asyncio.run(ask())


async def chunks(size: int, count: int) -> Any:
    for _ in range(count):
        yield b"x" * size


FORM = limit_of(way_of("POST", "/shelf/copy"))


def test_a_body_in_chunks_is_counted_as_it_comes() -> None:
    assert asked(chunks(1024, FORM // 1024)).text == str(FORM)
    over = asked(chunks(1024, FORM // 1024 + 1))
    assert over.status_code == 413
    assert "64 KiB" in over.text


def test_a_body_where_none_is_expected_is_refused() -> None:
    assert asked(chunks(1, 1), "GET", "/").status_code == 413


def test_a_body_that_comes_too_slowly_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard_module, "BODY_SECONDS", 0.2)

    async def slow() -> Any:
        yield b"x"
        await asyncio.sleep(5)

    assert asked(slow()).status_code == 408


@pytest.mark.parametrize("path", ["/", "/nothing"], ids=["an answer", "an answer of the guard's"])
def test_every_answer_carries_the_headers(path: str) -> None:
    cookie = WORD if path == "/" else "none=1"
    headers = asked(b"", "GET", path, cookie=cookie).headers
    policy = dict(piece.strip().partition(" ")[::2] for piece in headers["content-security-policy"].split(";"))
    assert policy["default-src"] == policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers.get_list("cache-control") == ["no-store"]


def test_two_starts_have_two_words_of_128_bits() -> None:
    words = {guard_module.new_word() for _ in range(50)}
    assert len(words) == 50
    assert all(len(w) >= 22 for w in words)  # 128 bits at 6 bits a letter: 22 letters (RFC 4648, 5)
