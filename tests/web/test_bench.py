"""The bench's ways: what devices send is in the book before it is answered, once; forms say what is wrong; no 500."""

from __future__ import annotations

import asyncio
import json
import re
import secrets
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lodestring.book.fold import fold_coil
from lodestring.folder.examples import example_text
from lodestring.folder.workshop_book import close_book, read_book
from lodestring.web.app import make_app
from lodestring.web.guard import Gate

GATE = Gate(23456, "abcdefghijklmnopqrstuv")
OWN = "http://127.0.0.1:23456"
SERIAL = "wren-main-main-1"
JSON = {"accept": "application/json"}


@pytest.fixture
def folder(tmp_path: Path) -> Any:
    (tmp_path / "wren.toml").write_text(example_text("wren"), encoding="utf-8")
    yield tmp_path
    close_book(tmp_path)


def run(folder: Path, work: Callable[[httpx.AsyncClient], Awaitable[Any]]) -> Any:
    async def inside() -> Any:
        transport = httpx.ASGITransport(make_app(folder, GATE))  # type: ignore[arg-type]
        own = {"cookie": f"{GATE.cookie}={GATE.word}", "origin": OWN}
        async with httpx.AsyncClient(transport=transport, base_url=OWN, headers=own, timeout=60) as client:
            return await work(client)

    return asyncio.run(inside())


async def begun(client: httpx.AsyncClient) -> str:
    page = (await client.get("/bench")).text
    which = re.search(r'<option value="(wren/[^"]+)"', page)
    assert which, page
    answer = await client.post("/bench/begin", data={"coil": which.group(1), "serial": SERIAL})
    assert answer.status_code == 303, answer.text
    return SERIAL


def press(n: int, turns: int = 5, device: str = "page-1", **more: Any) -> dict[str, Any]:
    body = {"turns": turns, "by": "key"}
    envelope = {"v": 1, "id": secrets.token_hex(16), "device": device, "n": n, "lamport": n + 1, "coil": SERIAL}
    return {**envelope, "at": "2026-11-25T06:00:00.000Z", "kind": "coil.turns", "body": body, **more}


async def send(client: httpx.AsyncClient, *events: Any, **more: Any) -> Any:
    answer = await client.post(f"/bench/{SERIAL}/events", json={"events": list(events), **more})
    assert answer.status_code == 200, answer.text
    return answer.json()


def turns_in(folder: Path) -> int:
    with read_book(folder) as book:
        return fold_coil(book.events(coil=SERIAL), SERIAL).turns


def test_presses_are_in_the_book_when_they_are_answered_and_five_deliveries_count_once(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        one, two = press(1), press(2)
        for _ in range(5):
            told = await send(client, one, two, one)
            assert set(told["have"]) == {one["id"], two["id"]}
            assert told["state"]["turns"] == turns_in(folder) == 10

    run(folder, work)


def test_the_book_asks_a_device_for_what_it_lacks(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        told = await send(client, press(1), press(4), holds={"page-1": 6})
        assert told["wants"] == {"page-1": [2, 3, 5, 6]}
        told = await send(client, press(2), press(3), press(5), press(6), holds={"page-1": 6})
        assert told["wants"] == {}
        assert told["state"]["turns"] == 30

    run(folder, work)


def test_one_event_that_is_none_does_not_hold_up_the_others(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        wrong, other = press(2, turns="5"), press(3, coil="another")  # type: ignore[arg-type]
        told = await send(client, press(1), wrong, other, 7, press(4))
        assert len(told["have"]) == 2
        assert set(told["refused"]) == {wrong["id"], other["id"], "None"}
        assert told["state"]["turns"] == 10

    run(folder, work)


def test_another_devices_turns_stand_apart_until_they_are_admitted(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        await send(client, press(1))
        told = await send(client, press(1, 7, "page-2", lamport=9))
        assert told["state"]["turns"] == 5
        assert "Count the 7" in told["state"]["html"]
        assert (await client.post(f"/bench/{SERIAL}/admit", data={"device": "page-2"})).status_code == 303
        assert turns_in(folder) == 12
        assert (await client.post(f"/bench/{SERIAL}/take", data={"device": "page-2"})).status_code == 303
        told = await send(client, press(2, 100, lamport=50))
        assert told["state"]["holder"] == "page-2"
        assert told["state"]["turns"] == 12

    run(folder, work)


def test_a_typed_reading_is_the_total_and_one_that_looks_like_a_slip_is_asked_about(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        typed = f"/bench/{SERIAL}/typed"
        assert (await client.post(typed, data={"reading": "4 000"})).status_code == 303
        assert turns_in(folder) == 4000
        slip = await client.post(typed, data={"reading": "400"})
        assert slip.status_code == 409
        assert "Is a digit wrong" in slip.text or "digit wrong" in slip.text
        assert turns_in(folder) == 4000
        assert (await client.post(typed, data={"reading": "400", "sure": "yes"})).status_code == 303
        assert turns_in(folder) == 400
        assert (await client.post(typed, data={"reading": "many"})).status_code == 422

    run(folder, work)


def test_a_counter_that_was_reset_keeps_the_coils_turns(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        await client.post(f"/bench/{SERIAL}/typed", data={"reading": "3000"})
        assert (await client.post(f"/bench/{SERIAL}/reset", data={"reading": "0"})).status_code == 303
        assert (await client.post(f"/bench/{SERIAL}/typed", data={"reading": "500"})).status_code == 303
        assert turns_in(folder) == 3500
        assert (await client.post(f"/bench/{SERIAL}/off", data={"turns": "20"})).status_code == 303
        assert turns_in(folder) == 3480

    run(folder, work)


@pytest.mark.parametrize("reading", ["1500", "1 500", "1\u202f500"])
def test_the_page_goes_on_from_a_reading_however_it_was_typed(folder: Path, reading: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        await client.post(f"/bench/{SERIAL}/typed", data={"reading": "3000"})
        await client.post(f"/bench/{SERIAL}/reset", data={"reading": reading})
        told = (await client.get(f"/bench/{SERIAL}/state")).json()
        assert told["zero"] + 1500 * told["factor"] == told["turns"] == 3000

    run(folder, work)


def test_presses_of_a_hundred_pages_are_covered_by_a_reading(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        await send(client, *(press(1, 1, f"page-{i}", lamport=i + 2) for i in range(100)))
        answer = await client.post(f"/bench/{SERIAL}/typed", data={"reading": "4000"})
        assert answer.status_code == 303, answer.text
        assert turns_in(folder) == 4000

    run(folder, work)


def test_a_press_of_a_day_that_is_none_does_not_hold_up_the_others(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        wrong = press(2, at="2026-99-99T00:00:00Z")
        told = await send(client, press(1), wrong, press(3))
        assert set(told["refused"]) == {wrong["id"]}
        assert told["state"]["turns"] == 10

    run(folder, work)


@pytest.mark.parametrize("serial", ["begin", "winder"])
def test_a_coil_is_not_called_as_a_page_of_the_bench(folder: Path, serial: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        which = re.search(r'<option value="(wren/[^"]+)"', (await client.get("/bench")).text)
        assert which
        answer = await client.post("/bench/begin", data={"coil": which.group(1), "serial": serial})
        assert answer.status_code == 422
        assert "not the name of a page" in answer.text

    run(folder, work)


def test_a_sensors_lost_line_costs_nothing_and_a_restart_goes_on(folder: Path) -> None:
    async def line(client: httpx.AsyncClient, text: str) -> int:
        answer = await client.post(f"/bench/{SERIAL}/sensor", content=text)
        assert answer.status_code == 200, answer.text
        return int(answer.json()["turns"])

    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        assert await line(client, "n 1234 a7f3") == 0, "it ran before the coil was begun"
        assert await line(client, "n 1240 a7f3\n") == 6
        assert await line(client, "n 1300 a7f3") == 66, "the lines between were lost"
        assert await line(client, "n 1300 a7f3") == 66
        assert await line(client, "n 5 b001") == 71, "it was plugged in anew"
        assert (await client.post(f"/bench/{SERIAL}/sensor", content="hello")).status_code == 400

    run(folder, work)


def test_a_snap_is_a_choice_with_its_figures(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        await client.post(f"/bench/{SERIAL}/typed", data={"reading": "5000"})
        asked = await client.post(f"/bench/{SERIAL}/snap", data={"overrun": "10", "removed": "30", "found_end": "yes"})
        assert asked.status_code == 200
        for words in ("Splice and go on", "Stop here", "Start again", "resistance", "inductance", "4\u202f960 turns"):
            assert words in asked.text, words
        assert turns_in(folder) == 5000, "asking changes nothing"
        chosen = {
            "overrun": "10",
            "removed": "30",
            "found_end": "yes",
            "then": "spliced",
            "cause": "kink or loop in the wire",
        }
        assert (await client.post(f"/bench/{SERIAL}/snap", data=chosen)).status_code == 303
        assert turns_in(folder) == 4960
        with read_book(folder) as book:
            snap = fold_coil(book.events(coil=SERIAL)).snaps[-1]
        assert (snap.body["then"], snap.body["cause"], snap.turns) == ("spliced", "kink or loop in the wire", 4960)

    run(folder, work)


def test_an_evening_by_forms_alone_ends_with_a_card(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        spool = {
            "name": "s1",
            "size": "42 AWG",
            "enamel": "polyurethane",
            "film": "single",
            "mass": "520 g",
            "empty": "120 g",
        }
        assert (await client.post("/spools", data=spool)).status_code == 303
        assert (await client.post("/spool/s1", data={"kind": "spool.sample", "ohm": "54.1 ohm"})).status_code == 303
        page = (await client.get("/spool/s1")).text
        assert "metres left" in page
        which = re.search(r'<option value="(wren/[^"]+)"', (await client.get("/bench")).text)
        assert which
        begin = {"coil": which.group(1), "serial": SERIAL, "spool": "s1"}
        assert (await client.post("/bench/begin", data=begin)).status_code == 303
        way = f"/bench/{SERIAL}"
        for path, data in (
            ("press", {"x": ""}),
            ("press", {"way": "off"}),
            ("typed", {"reading": "2000"}),
            ("check", {"end": "50 mm", "side": "9 mm", "spool_mass": "470.2 g"}),
            ("note", {"kind": "coil.snag", "text": "at the felt"}),
            ("note", {"kind": "note", "text": "<b>calm</b>"}),
            ("typed", {"reading": "8000"}),
            ("note", {"kind": "coil.wire_end", "end": "finish"}),
            ("note", {"kind": "coil.end", "state": "wound"}),
            ("measure", {"quantity": "resistance", "value": "5.9k", "temperature": "21 C"}),
            ("note", {"kind": "coil.wax", "temperature": "63 C", "minutes": "20 min"}),
        ):
            answer = await client.post(f"{way}/{path}", data=data)
            assert answer.status_code == 303, (path, answer.text)
        page = (await client.get(way)).text
        assert "&lt;b&gt;calm&lt;/b&gt;" in page
        card = await client.get(f"{way}/card.pdf")
        assert card.content.startswith(b"%PDF")
        assert "wound" in (await client.get("/")).text or "potted" in (await client.get("/")).text
        again = await client.post("/bench/begin", data={"again": SERIAL})
        assert again.status_code == 303
        other = again.headers["location"].rpartition("/")[2]
        assert (await client.get(f"/compare/{SERIAL}/{other}")).status_code == 200

    run(folder, work)


def test_slips_get_a_sentence_and_write_nothing(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await begun(client)
        before = (await client.get(f"/bench/{SERIAL}/state")).json()["lamport"]
        for path, data in (
            ("check", {"x": ""}),
            ("check", {"end": "much"}),
            ("note", {"kind": "note", "text": " "}),
            ("note", {"kind": "coil.begin"}),
            ("note", {"kind": "coil.aim", "target": "-3"}),
            ("note", {"kind": "coil.wax", "temperature": "warm"}),
            ("note", {"kind": "coil.end", "state": "eaten"}),
            ("off", {"turns": "9999999"}),
            ("void", {"event": "x"}),
            ("snap", {"overrun": "a few"}),
        ):
            answer = await client.post(f"/bench/{SERIAL}/{path}", data=data)
            assert answer.status_code == 422, (path, answer.status_code)
            assert "; " in answer.text
        assert (await client.get(f"/bench/{SERIAL}/state")).json()["lamport"] == before
        assert (await client.get("/bench/no-such-coil")).status_code in (404, 422)
        assert (await client.post("/bench/no-such-coil/press", data={"x": ""})).status_code in (404, 422)
        with read_book(folder) as book:
            assert book.coils() == (SERIAL,), "nothing was made for a serial nobody begun"

    run(folder, work)


JSONS = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


ENVELOPES = st.fixed_dictionaries({"events": JSONS, "holds": JSONS})


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.one_of(JSONS, st.fixed_dictionaries({"events": JSONS, "holds": JSONS}), st.binary(max_size=60)),
        min_size=4,
        max_size=8,
    )
)
def test_no_body_of_a_device_makes_a_fault(folder: Path, bodies: list[Any]) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        if not (folder / "book.sqlite").exists():
            await begun(client)
        for body in bodies:
            raw = body if isinstance(body, bytes) else json.dumps(body).encode()
            answer = await client.post(f"/bench/{SERIAL}/events", content=raw, headers=JSON)
            assert answer.status_code in (200, 400, 422), answer.text

    run(folder, work)
