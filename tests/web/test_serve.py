"""The real server on loopback: limits that only a socket shows, the lock, and the command in a process of its own."""

from __future__ import annotations

import asyncio
import contextlib
import http.client
import json
import os
import re
import signal
import socket
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import fake_bench
import pytest
from web_server import headers_of, served
from wsproto import ConnectionType, WSConnection
from wsproto import events as ws

from lodestring.errors import FileProblem, LodestringError
from lodestring.web import address, lock, protocols
from lodestring.web.address import keep_port, kept_port, listen, own_folder
from lodestring.web.app import make_app
from lodestring.web.guard import HEAD_BYTES, Gate
from lodestring.web.push import QUEUE, Hub, News

WORD = "abcdefghijklmnopqrstuv"


@pytest.fixture
def bench() -> fake_bench.FakeBench:
    return fake_bench.FakeBench()


@pytest.fixture
def port(tmp_path: Path, bench: fake_bench.FakeBench) -> Iterator[int]:
    own = own_folder(tmp_path)
    found = listen(own, None)
    number = found.getsockname()[1]
    found.close()
    with served(make_app(tmp_path, Gate(number, WORD), bench), tmp_path) as bound:
        assert bound == number
        yield bound


def plain(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=5)


def ended(connection: socket.socket, seconds: float) -> bool:
    """Whether the other side ends the connection in that time."""
    connection.settimeout(seconds)
    try:
        while connection.recv(4096):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True


def head(port: int, line: str, **more: str) -> bytes:
    headers = headers_of(Gate(port, WORD)) | {n.replace("_", "-"): v for n, v in more.items()}
    return (line + "\r\n" + "".join(f"{n}: {v}\r\n" for n, v in headers.items()) + "\r\n").encode()


def status(raw: bytes) -> int:
    found = re.match(rb"HTTP/1.1 (\d+) ", raw)
    return int(found.group(1)) if found else 0


def asked(port: int, raw: bytes) -> bytes:
    with plain(port) as connection:
        connection.sendall(raw)
        out = b""
        with contextlib.suppress(OSError):
            while piece := connection.recv(65536):
                out += piece
        return out


def test_the_server_listens_on_loopback_only(port: int) -> None:
    others = {i[4][0] for i in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)} - {"127.0.0.1"}
    for other in [o for o in others if not str(o).startswith("127.")]:
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection((str(other), port), timeout=1)
    assert status(asked(port, head(port, "GET / HTTP/1.1", connection="close"))) == 200


def test_without_the_word_even_loopback_gets_403_and_by_another_name_421(port: int) -> None:
    assert status(asked(port, head(port, "GET / HTTP/1.1", cookie="x=1", connection="close"))) == 403
    assert status(asked(port, head(port, "GET / HTTP/1.1", host="rebound.example", connection="close"))) == 421


def test_no_answer_names_the_server_program(port: int) -> None:
    raw = asked(port, head(port, "GET / HTTP/1.1", connection="close"))
    assert b"\r\nserver:" not in raw.lower()


def test_a_head_that_is_too_long_is_refused(port: int) -> None:
    assert status(asked(port, head(port, "GET / HTTP/1.1", x_long="x" * HEAD_BYTES, connection="close"))) == 431
    with plain(port) as connection:  # one without an end
        connection.sendall(b"GET / HTTP/1.1\r\n")
        for _ in range(20):
            with contextlib.suppress(OSError):
                connection.sendall(b"x: " + b"x" * 1000 + b"\r\n")
                time.sleep(0.005)
        assert ended(connection, 3)


def test_a_body_in_chunks_over_the_limit_gets_413_and_the_connection_ends(port: int) -> None:
    chunk = b"4000\r\n" + b"x" * 0x4000 + b"\r\n"
    kind = "application/x-www-form-urlencoded"
    raw = head(port, "POST /shelf/copy HTTP/1.1", transfer_encoding="chunked", content_type=kind) + chunk * 5
    assert status(asked(port, raw)) == 413


def test_a_head_that_does_not_come_is_given_up(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protocols, "HEAD_SECONDS", 0.3)
    with plain(port) as silent, plain(port) as slow:
        slow.sendall(b"GET / HTTP/1.1\r\nHost: x")
        assert ended(silent, 3)
        assert ended(slow, 3)


def test_a_connection_that_is_kept_open_after_an_answer_may_wait_longer_than_a_head(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(protocols, "HEAD_SECONDS", 0.3)
    connection = http.client.HTTPConnection("127.0.0.1", port)
    for _ in range(2):
        connection.request("GET", "/", headers=headers_of(Gate(port, WORD)))
        assert connection.getresponse().read()
        time.sleep(0.6)
    connection.close()


def test_connections_over_the_limit_are_cut(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protocols, "CONNECTIONS", 4)
    with contextlib.ExitStack() as stack:
        opened = [stack.enter_context(plain(port)) for _ in range(6)]
        time.sleep(0.2)
        cut = [ended(c, 0.1) for c in opened]
    assert cut == [False] * 4 + [True] * 2


class Tab:
    """A websocket client made of a socket and a protocol library."""

    def __init__(self, port: int, name: str = "heron", **more: str) -> None:
        headers = headers_of(Gate(port, WORD)) | more
        host = headers.pop("host")
        self.socket = plain(port)
        self.protocol = WSConnection(ConnectionType.CLIENT)
        extra = [(n.encode(), v.encode()) for n, v in headers.items()]
        self.send(ws.Request(host=host, target=f"/set/{name}/push", extra_headers=extra))
        self.ready: list[ws.Event] = []

    def send(self, event: ws.Event) -> None:
        self.socket.sendall(self.protocol.send(event))

    def next(self) -> ws.Event:
        while not self.ready:
            data = self.socket.recv(65536)
            self.protocol.receive_data(data or None)
            self.ready += list(self.protocol.events())
        return self.ready.pop(0)

    def news(self) -> dict[str, str]:
        event = self.next()
        assert isinstance(event, ws.TextMessage), event
        told: dict[str, str] = json.loads(event.data)
        return told


def test_a_tab_is_told_the_present_state_then_what_changes(port: int, bench: fake_bench.FakeBench) -> None:
    tab = Tab(port)
    assert isinstance(tab.next(), ws.AcceptConnection)
    first = tab.news()
    assert first == {"set": "heron", "digest": bench.sets["heron"].digest, "group": "", "state": "here"}
    form = {"digest": first["digest"], "set.x": "7"}
    body = "&".join(f"{k}={v}" for k, v in form.items()).encode()
    kind = "application/x-www-form-urlencoded"
    raw = head(port, "POST /set/heron/change HTTP/1.1", content_type=kind, content_length=str(len(body)),
               connection="close", accept="application/json") + body  # fmt: skip
    assert status(asked(port, raw)) == 200
    second = tab.news()
    if second["state"] == "ready":  # of the state before, which was ready before the change came
        assert second["digest"] == first["digest"]
        second = tab.news()
    assert (second["state"], second["digest"]) == ("changed", bench.sets["heron"].digest)
    third = tab.news()
    assert (third["group"], third["state"], third["digest"]) == ("magnets", "ready", second["digest"])
    tab.socket.close()


@pytest.mark.parametrize(
    ("more", "wanted"),
    [({"cookie": "x=1"}, 403), ({"origin": "https://evil.example"}, 403), ({"origin": "null"}, 403),
     ({"host": "evil.example"}, 421)],
    ids=["no word", "another site", "opaque origin", "another name"],
)  # fmt: skip
def test_a_websocket_is_judged_like_a_page(port: int, more: dict[str, str], wanted: int) -> None:
    tab = Tab(port, **more)
    event = tab.next()
    assert isinstance(event, ws.RejectConnection)
    assert event.status_code == wanted
    tab.socket.close()


def test_a_websocket_of_a_set_there_is_not_is_refused(port: int) -> None:
    tab = Tab(port, "unknown")
    assert isinstance(tab.next(), ws.RejectConnection)
    tab.socket.close()


def test_a_message_over_64_kib_ends_the_websocket(port: int) -> None:
    tab = Tab(port)
    assert isinstance(tab.next(), ws.AcceptConnection)
    tab.news()
    tab.send(ws.TextMessage("x" * 65536))  # just allowed: read and forgotten
    tab.send(ws.TextMessage("x" * 65537))
    event = tab.next()
    assert isinstance(event, ws.CloseConnection)
    assert event.code == 1009  # RFC 6455, 7.4.1: message too big
    tab.socket.close()


class SlowSocket:
    """A websocket whose client reads nothing."""

    def __init__(self) -> None:
        self.closed: list[int] = []
        self.sent = 0

    async def accept(self) -> None: ...

    async def send_text(self, text: str) -> None:
        self.sent += 1
        await asyncio.sleep(60)

    async def receive(self) -> dict[str, str]:
        await asyncio.sleep(60)
        return {}

    async def close(self, code: int) -> None:
        self.closed.append(code)


def test_a_tab_that_does_not_keep_up_is_dropped_and_its_queue_stays_short() -> None:
    async def work() -> SlowSocket:
        hub, slow = Hub(), SlowSocket()
        hub.begin(asyncio.get_running_loop())
        task = asyncio.create_task(hub.serve(slow, "heron", News("heron", "d", "", "here")))  # type: ignore[arg-type]
        await asyncio.sleep(0.01)
        for i in range(QUEUE + 2):
            hub.tell(News("heron", "d", f"g{i}", "ready"))
        async with asyncio.timeout(2):
            await task
        return slow

    slow = asyncio.run(work())
    assert slow.closed == [4008]
    assert slow.sent == 1


def test_a_client_that_does_not_read_its_answer_is_cut(
    port: int, bench: fake_bench.FakeBench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(protocols, "SLOW_SECONDS", 0.3)
    bench.sets["heron"].text = "x" * 20_000_000
    with plain(port) as connection:
        connection.sendall(head(port, "GET /set/heron/set.toml HTTP/1.1"))
        time.sleep(1.5)
        connection.settimeout(5)
        seen = 0
        with contextlib.suppress(OSError):
            while piece := connection.recv(1 << 20):
                seen += len(piece)
    assert 0 < seen < 20_000_000


# ---- port and lock ----


def test_a_folder_keeps_its_port_from_one_start_to_the_next(tmp_path: Path) -> None:
    own = own_folder(tmp_path)
    numbers = []
    for _ in range(2):
        with contextlib.closing(listen(own, None)) as found:
            numbers.append(found.getsockname()[1])
    assert numbers[0] == numbers[1] == kept_port(own)
    assert address.LOWEST <= numbers[0] <= address.HIGHEST


def test_a_port_that_another_program_has_is_said_and_nothing_else_is_taken(tmp_path: Path) -> None:
    own = own_folder(tmp_path)
    with contextlib.closing(socket.socket()) as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        keep_port(own, other.getsockname()[1])
        with pytest.raises(LodestringError, match=r"must be free .* --port"):
            listen(own, None)


@pytest.mark.parametrize("text", ["", "80", "99999", "-1", "x" * 50, "²³²³²"])
def test_a_damaged_port_file_counts_as_none(tmp_path: Path, text: str) -> None:
    own = own_folder(tmp_path)
    (own / "port").write_text(text, encoding="utf-8")
    assert kept_port(own) is None


def test_a_folder_that_is_none_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    for name in ("missing", "file"):
        with pytest.raises(FileProblem, match="must be a folder"):
            own_folder(tmp_path / name)


def test_the_lock_is_the_makers_only_and_is_given_back(tmp_path: Path) -> None:
    own, gate = own_folder(tmp_path), Gate(23456, WORD)
    assert lock.take(own, gate)
    assert stat.S_IMODE((own / "lock").stat().st_mode) == 0o600
    assert not lock.take(own, Gate(23457, WORD))
    lock.give_back(own, Gate(23457, WORD))
    assert (own / "lock").exists(), "another start's lock is not ours to take away"
    lock.give_back(own, gate)
    assert not (own / "lock").exists()


def test_a_running_server_is_found_by_its_lock_and_proves_the_word(tmp_path: Path, port: int) -> None:
    own = own_folder(tmp_path)
    lock.take(own, Gate(port, WORD))
    assert lock.running(own) == Gate(port, WORD)
    (own / "lock").unlink()
    lock.take(own, Gate(port, "a word of another start"))
    assert lock.running(own) is None
    assert not (own / "lock").exists()


def test_another_program_at_the_port_learns_nothing_and_is_not_taken_for_ours(tmp_path: Path) -> None:
    own, heard = own_folder(tmp_path), []
    with contextlib.closing(socket.socket()) as other:
        other.bind(("127.0.0.1", 0))
        other.listen()

        def answer() -> None:
            connection, _ = other.accept()
            with connection:
                heard.append(connection.recv(4096))
                connection.sendall(b"HTTP/1.1 200 OK\r\ncontent-length: 2\r\n\r\nok")

        thread = threading.Thread(target=answer, daemon=True)
        thread.start()
        lock.take(own, Gate(other.getsockname()[1], WORD))
        assert lock.running(own) is None
        thread.join(5)
    assert heard
    assert WORD.encode() not in heard[0]


@pytest.mark.parametrize(
    "raw",
    [b"", b"{", b"[]", b'{"port": 1}', b'{"port": true, "word": "abcdefghijklmnop"}', b"\xff" * 5000, b"[" * 4000],
)
def test_a_damaged_lock_is_taken_away(tmp_path: Path, raw: bytes) -> None:
    own = own_folder(tmp_path)
    (own / "lock").write_bytes(raw)
    assert lock.running(own) is None
    assert not (own / "lock").exists()


# ---- the command ----


@contextlib.contextmanager
def command(folder: Path, *more: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """`lodestring open` in a process of its own, and the first line it printed."""
    arguments = [sys.executable, "-m", "lodestring", "open", str(folder), "--no-browser", *more]
    process = subprocess.Popen(arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        yield process, process.stdout.readline().strip()
    finally:
        process.kill()
        process.communicate()


ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/enter\?word=([\w-]{22})")


def enter(line: str) -> int:
    """Status of the shelf for whoever opens the printed address."""
    found = ADDRESS.fullmatch(line)
    assert found, line
    gate = Gate(int(found.group(1)), found.group(2))
    connection = http.client.HTTPConnection("127.0.0.1", gate.port, timeout=10)
    connection.request("GET", f"/enter?word={gate.word}")
    answer = connection.getresponse()
    answer.read()
    cookie = (answer.getheader("set-cookie") or "").partition(";")[0]
    connection.request("GET", answer.getheader("location") or "/nothing", headers={"cookie": cookie})
    shelf = connection.getresponse()
    shelf.read()
    connection.close()
    return shelf.status


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP], ids=["Ctrl-C", "TERM", "HUP"])
def test_open_prints_the_address_first_and_a_signal_ends_it_cleanly(tmp_path: Path, sign: signal.Signals) -> None:
    with command(tmp_path) as (process, line):
        assert enter(line) == 200
        assert (tmp_path / ".lodestring" / "lock").exists()
        process.send_signal(sign)
        _, err = process.communicate(timeout=10)
    assert process.returncode == 0, err
    assert err == ""
    assert not (tmp_path / ".lodestring" / "lock").exists()


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_a_killed_server_leaves_a_lock_that_the_next_start_sees_through(tmp_path: Path) -> None:
    with command(tmp_path) as (process, first):
        assert enter(first) == 200
        process.kill()
        process.wait(10)
        assert (tmp_path / ".lodestring" / "lock").exists()
        with command(tmp_path) as (_, second):
            assert enter(second) == 200
    one, two = ADDRESS.fullmatch(first), ADDRESS.fullmatch(second)
    assert one is not None
    assert two is not None
    assert one.group(1) == two.group(1), "the port stays"
    assert one.group(2) != two.group(2), "the word does not"


def test_a_second_start_gives_the_address_of_the_first_and_ends(tmp_path: Path) -> None:
    with command(tmp_path) as (_, first):
        assert enter(first) == 200
        for more in ((), ("--port", "23999")):
            with command(tmp_path, *more) as (process, second):
                assert second == first
                assert process.wait(10) == 0
        assert enter(first) == 200


def test_a_port_in_use_ends_with_a_sentence(tmp_path: Path) -> None:
    with contextlib.closing(socket.socket()) as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with command(tmp_path, "--port", str(other.getsockname()[1])) as (process, line):
            _, err = process.communicate(timeout=10)
    assert line == ""
    assert process.returncode == 2
    assert "must be free" in err
    assert "Traceback" not in err


def test_a_folder_that_is_not_there_ends_with_a_sentence(tmp_path: Path) -> None:
    with command(tmp_path / "missing") as (process, line):
        _, err = process.communicate(timeout=10)
    assert (line, process.returncode) == ("", 2)
    assert "must be a folder" in err
