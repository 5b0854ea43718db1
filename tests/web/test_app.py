"""The pages and forms with a fake bench behind them: every way answers, nothing answers 500, nothing is unescaped."""

from __future__ import annotations

import asyncio
import json
import re
import time
from collections.abc import Awaitable, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

import fake_bench
import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from web_server import headers_of

from lodestring.errors import DomainError
from lodestring.web import pages
from lodestring.web.app import make_app
from lodestring.web.guard import Gate
from lodestring.web.render import environment, island, render
from lodestring.web.ways import WAYS, Right

GATE = Gate(23456, "abcdefghijklmnopqrstuv")
JSON = {"accept": "application/json"}
FILLED = {
    "name": "heron",
    "group": "copper",
    "view": "top.bridge",
    "key": "set.wire_length",
    "file": "page.css",
    "word": "w" * 22,
    "serial": "w-1",
    "other": "w-2",
    "spool": "s-1",
    "sha": "a" * 64,
}


@asynccontextmanager
async def opened(bench: Any) -> Any:
    """A client of the application, its life begun and ended as the server does it."""
    app = make_app(Path("sets"), GATE, bench)
    messages: asyncio.Queue[Any] = asyncio.Queue()
    up = asyncio.Event()

    async def send(message: Any) -> None:
        up.set()

    life = asyncio.create_task(app({"type": "lifespan", "asgi": {"version": "3.0"}, "state": {}}, messages.get, send))
    await messages.put({"type": "lifespan.startup"})
    await up.wait()
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)  # type: ignore[arg-type]
    try:
        async with httpx.AsyncClient(
            transport=transport, base_url=f"http://{GATE.hosts[0]}", headers=headers_of(GATE)
        ) as client:
            yield client
    finally:
        await messages.put({"type": "lifespan.shutdown"})
        await life


def run(work: Callable[[httpx.AsyncClient], Awaitable[Any]], bench: Any = None) -> Any:
    async def inner() -> Any:
        async with opened(bench or fake_bench.FakeBench()) as client:
            return await work(client)

    return asyncio.run(inner())


def concrete(path: str) -> str:
    return re.sub(r"\{(\w+)\}", lambda m: FILLED[m.group(1)], path)


@pytest.mark.parametrize("way", [w for w in WAYS if w.method == "GET"], ids=lambda w: w.path)
def test_every_page_answers(way: Any) -> None:
    answer = run(lambda client: client.get(concrete(way.path)))
    expected = {"enter": 403, "join": 403, "alive": 400, "why": 422}.get(way.name, 200)
    if way.path.startswith(("/bench", "/spool", "/compare")) and way.name != "bench_winder":
        expected = (
            200 if way.name in ("bench_lost", "bench_snap") else 422
        )  # there is no folder, so no book: a sentence
    assert answer.status_code == expected, answer.text
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize("way", [w for w in WAYS if w.method == "POST"], ids=lambda w: w.path)
def test_every_form_answers_an_empty_form_with_a_page_or_a_sentence(way: Any) -> None:
    answer = run(lambda client: client.post(concrete(way.path), data={"x": ""}))
    # nobody was invited; devices send no forms; a form that only asks is shown again
    also = {"enter_device": 403, "bench_events": 400, "bench_sensor": 400, "bench_photo": 415, "bench_lost": 200}
    assert answer.status_code in (303, 409, 422, also.get(way.name)), answer.text


def test_the_entrance_turns_the_word_into_a_cookie_and_takes_it_out_of_the_address() -> None:
    answer = run(lambda client: client.get(f"/enter?word={GATE.word}", headers={"cookie": ""}))
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"
    name, *rest = [piece.strip().lower() for piece in answer.headers["set-cookie"].split(";")]
    assert name == f"{GATE.cookie}={GATE.word}".lower()
    assert {"httponly", "samesite=strict", "path=/"} <= set(rest)
    assert "23456" in GATE.cookie


def test_a_wrong_word_opens_nothing() -> None:
    answer = run(lambda client: client.get("/enter?word=wrong", headers={"cookie": ""}))
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_a_second_start_is_answered_with_a_proof_that_does_not_hold_the_word() -> None:
    answer = run(lambda client: client.get("/alive?nonce=0123456789abcdef", headers={"cookie": ""}))
    assert answer.text == GATE.answer_to("0123456789abcdef")
    assert GATE.word not in answer.text
    assert Gate(GATE.port, "another word of this length").answer_to("0123456789abcdef") != answer.text


@pytest.mark.parametrize(
    "path",
    ["/nothing", "/set/Heron", "/set/..%2f..%2fetc", "/set/%2e%2e", "/set/heron.toml", "/set/unknown",
     "/static/../app.py",
     "/static/%2e%2e%2fapp.py", "/static/page.py", "/set/heron/picture/..%2fx.svg", "/set/heron/part/nothing", "/set/"],
)  # fmt: skip
def test_what_is_not_there_or_is_a_path_is_404_with_a_sentence(path: str) -> None:
    answer = run(lambda client: client.get(path))
    assert answer.status_code == 404
    assert "try" in answer.text or "must" in answer.text


def digest_of(bench: fake_bench.FakeBench) -> str:
    return bench.sets["heron"].digest


def test_a_form_without_javascript_changes_the_set_and_goes_back_to_its_page() -> None:
    bench = fake_bench.FakeBench()
    data = {"digest": digest_of(bench), "pickup.bridge.coil.main.turns": "7800"}
    answer = run(lambda client: client.post("/set/heron/change", data=data), bench)
    assert (answer.status_code, answer.headers["location"]) == (303, "/set/heron")
    assert bench.sets["heron"].text == "7800"


def test_the_same_form_answers_a_script_with_the_groups_that_changed() -> None:
    bench = fake_bench.FakeBench()
    data = {"digest": digest_of(bench), "path": "pickup.bridge.coil.main.turns", "typed": "7800"}
    told = run(lambda client: client.post("/set/heron/change", data=data, headers=JSON), bench).json()
    assert told["done"]
    assert told["digest"] == digest_of(bench)
    assert told["changed"] == ["copper", "magnets"]
    assert "quick 7800" in told["parts"]["copper"]
    assert told["working"] == ["magnets"]


def test_a_refused_value_comes_back_with_its_sentence_at_its_field_and_writes_nothing() -> None:
    bench = fake_bench.FakeBench()
    data = {"digest": digest_of(bench), "instrument.scale": "bad"}
    answer = run(lambda client: client.post("/set/heron/change", data=data), bench)
    assert answer.status_code == 422
    assert "this must be good; came bad; try 1" in answer.text
    told = run(lambda client: client.post("/set/heron/change", data=data, headers=JSON), bench).json()
    assert told["problems"][0]["path"] == "instrument.scale"
    assert bench.sets["heron"].text == "1"


def test_a_change_to_another_state_is_refused_with_both_texts() -> None:
    bench = fake_bench.FakeBench()
    data = {"digest": "stale", "instrument.scale": "my <b>text</b>"}
    answer = run(lambda client: client.post("/set/heron/change", data=data), bench)
    assert answer.status_code == 409
    assert "my &lt;b&gt;text&lt;/b&gt;" in answer.text
    assert digest_of(bench) in answer.text
    told = run(lambda client: client.post("/set/heron/change", data=data, headers=JSON), bench).json()
    assert told["conflict"]["mine"] == data["instrument.scale"]
    assert told["conflict"]["theirs"] == "1"


HOSTILE = """<script>alert(1)</script>"'><img src=x onerror=alert(1)> & </textarea></title>{{ 7*7 }}"""


@pytest.mark.parametrize("path", ["/", "/set/heron", "/set/heron/text", "/new"])
def test_what_a_maker_wrote_is_escaped_on_every_page(path: str) -> None:
    bench = fake_bench.FakeBench(title=HOSTILE)
    bench.sets["heron"].text = HOSTILE
    bench.sets["heron"].keep(HOSTILE)
    bench.sets["heron"].words = (HOSTILE,)
    answer = run(lambda client: client.get(path), bench)
    assert answer.status_code == 200
    assert "<script>alert" not in answer.text
    assert "<img src=x" not in answer.text
    assert "49" not in answer.text.replace("&#34;", "").replace("&#39;", "")
    assert path == "/new" or "&lt;script&gt;" in answer.text


def test_a_data_island_cannot_be_left() -> None:
    value = {"title": "</script><!--<script>\u2028&", "n": 1}
    text = str(island(value))
    assert not set("<>&\u2028") & set(text)
    assert json.loads(text) == value


def test_a_page_has_no_inline_script_or_style() -> None:
    answer = run(lambda client: client.get("/set/heron"))
    for tag in re.findall(r"<script[^>]*>", answer.text):
        assert 'type="application/json"' in tag or "src=" in tag
    assert not re.search(r"<style|\sstyle=|\son\w+=", answer.text)


def waits(until: Callable[[], bool]) -> None:
    end = time.monotonic() + 5
    while not until():
        assert time.monotonic() < end, "waited for 5 s"
        time.sleep(0.005)


def test_a_slow_group_is_marked_as_working_until_it_is_ready() -> None:
    bench = fake_bench.FakeBench()
    bench.go.clear()

    async def work(client: httpx.AsyncClient) -> tuple[httpx.Response, httpx.Response, httpx.Response]:
        first = await client.get("/set/heron")
        working = await client.get("/set/heron/part/magnets")
        bench.go.set()
        await asyncio.to_thread(waits, lambda: bool(bench.slow_runs))
        await asyncio.sleep(0.05)
        return first, working, await client.get("/set/heron/part/magnets")

    first, working, ready = run(work, bench)
    assert 'http-equiv="refresh"' in first.text
    assert working.status_code == 202
    assert "slow" not in working.text
    assert ready.status_code == 200
    assert "slow 1" in ready.text


def test_typing_fast_never_works_out_or_shows_an_older_state_last() -> None:
    bench = fake_bench.FakeBench()
    bench.go.clear()

    async def work(client: httpx.AsyncClient) -> httpx.Response:
        for i in range(2, 12):
            data = {"digest": digest_of(bench), "set.x": str(i)}
            assert (await client.post("/set/heron/change", data=data, headers=JSON)).status_code == 200
        bench.go.set()
        await asyncio.to_thread(waits, lambda: bool(bench.slow_runs))
        await asyncio.sleep(0.1)
        return await client.get("/set/heron/part/magnets")

    assert "slow 11" in run(work, bench).text
    assert bench.slow_runs == ["11"]


def test_long_work_can_be_cancelled_and_is_begun_again_with_the_next_page() -> None:
    bench = fake_bench.FakeBench()
    bench.go.clear()

    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        await client.get("/set/heron")
        out = [await client.post("/set/heron/cancel", data={}, headers={**JSON, "content-type": FORM})]
        bench.go.set()
        await asyncio.sleep(0.1)
        out.append(await client.get("/set/heron/part/magnets"))
        assert not bench.slow_runs
        await client.get("/set/heron")
        await asyncio.to_thread(waits, lambda: bool(bench.slow_runs))
        await asyncio.sleep(0.05)
        return [*out, await client.get("/set/heron/part/magnets")]

    cancelled, part, again = run(work, bench)
    assert cancelled.json()["done"]
    assert 'data-state="cancelled"' in part.text
    assert "slow 1" in again.text


FORM = "application/x-www-form-urlencoded"


@pytest.mark.parametrize(
    "error",
    [DomainError("a gap must be above 0", "-1 mm"), ZeroDivisionError("x")],
    ids=["a sentence", "a fault of ours"],
)
def test_work_that_fails_says_so_in_its_group(error: Exception) -> None:
    bench = fake_bench.FakeBench()
    bench.fail = error

    async def work(client: httpx.AsyncClient) -> httpx.Response:
        await client.get("/set/heron")
        await asyncio.sleep(0.1)
        return await client.get("/set/heron/part/magnets")

    answer = run(work, bench)
    assert 'data-state="failed"' in answer.text
    assert ("a gap must be above 0" if isinstance(error, DomainError) else "a fault of ours") in answer.text


POSTS = [w for w in WAYS if w.method == "POST"]
KEYS = ["name", "new", "digest", "path", "typed", "add", "remove", "label", "id", "text", "compare", "example", "file",
        "do:instrument.scale", "instrument.scale", "pickup.bridge.coil.main.turns", ""]  # fmt: skip
VALUES = ["", "heron", "1", "bad", "../x", "a" * 40, "\x00",
          "\ud800".encode("utf-16", "surrogatepass").decode("latin-1"),
          "<script>", "[" * 50, "1e400", "±", "\r\n"]  # fmt: skip
FIELDS = st.dictionaries(st.sampled_from(KEYS) | st.text(max_size=8), st.sampled_from(VALUES) | st.text(max_size=40))
BODIES = st.one_of(
    st.tuples(st.just(FORM), FIELDS.map(lambda f: httpx.QueryParams(f).__str__().encode())),
    st.tuples(st.just(FORM), st.binary(max_size=200)),
    st.tuples(
        st.sampled_from(["multipart/form-data; boundary=x", "multipart/form-data", "multipart/form-data; boundary="]),
        st.binary(max_size=200)
        | FIELDS.map(
            lambda f: (
                "".join(
                    f'--x\r\nContent-Disposition: form-data; name="{k}"; filename="{k}"\r\n\r\n{v}\r\n'
                    for k, v in f.items()
                ).encode("utf-8", "replace")
                + b"--x--\r\n"
            )
        ),
    ),
    st.tuples(st.sampled_from(["application/json", "text/plain", "", "\x7f"]), st.binary(max_size=200)),
)


@pytest.mark.parametrize("way", POSTS, ids=lambda w: w.path)
@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(bodies=st.lists(st.tuples(BODIES, st.booleans()), min_size=1, max_size=6))
def test_no_body_makes_a_fault(way: Any, bodies: list[tuple[tuple[str, bytes], bool]]) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        for (kind, body), as_json in bodies:
            headers = {"content-type": kind, **(JSON if as_json else {})}
            answer = await client.post(concrete(way.path), content=body, headers=headers)
            refused = (403,) if way.name == "enter_device" else ()  # nobody was invited
            assert answer.status_code in (200, 303, 400, 404, 409, 413, 415, 422, *refused), (answer.status_code, body)

    run(work)


@settings(max_examples=150)
@given(
    path=st.text(max_size=40), query=st.text(max_size=40), way=st.sampled_from([w for w in WAYS if w.method == "GET"])
)
def test_no_address_makes_a_fault(path: str, query: str, way: Any) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        for address in (f"/{path}", re.sub(r"\{\w+\}", lambda m: path or "x", way.path), concrete(way.path)):
            asked = dict.fromkeys(("width", "compare", "word", "nonce", "paper", "position"), query)
            answer = await client.get(quote(address.replace("//", "/"), safe="/"), params=asked)
            assert answer.status_code < 500, address

    run(work)


def page_records() -> Iterator[type]:
    for thing in vars(pages).values():
        if isinstance(thing, type) and thing.__module__ == pages.__name__:
            yield thing


@pytest.mark.parametrize("record", list(page_records()), ids=lambda r: r.__name__)
def test_every_field_of_a_page_has_its_help(record: Any) -> None:
    for name, field in record.__dataclass_fields__.items():
        assert len(field.metadata.get("help", "")) > 8, name
    assert record.__doc__


def test_a_name_that_a_page_does_not_have_is_an_error_not_an_empty_place() -> None:
    made = environment().from_string("{{ title }}{{ nothing }}")
    with pytest.raises(Exception, match="nothing"):
        made.render(title="x")
    with pytest.raises(TypeError):
        render("refused.html", {"title": "x"})


def test_only_ways_of_the_table_are_routes() -> None:
    app = make_app(Path("sets"), GATE, fake_bench.FakeBench())
    routes = {(r.path) for r in app.app.routes}  # type: ignore[attr-defined]
    assert routes == {w.path for w in WAYS}
    assert sum(w.right is Right.ANYONE for w in WAYS) == 5
