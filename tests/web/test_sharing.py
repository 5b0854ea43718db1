"""Sharing end to end: a phone scans the code, comes in over the network's address, looks, and is shut out again."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path

import fake_bench
import httpx
import pytest

from lodestring.web.app import make_app
from lodestring.web.devices import Devices
from lodestring.web.guard import Gate

OWN, LAN = "http://127.0.0.1:23456", "http://192.168.1.20:23456"


def gate() -> Gate:
    return Gate(23456, "abcdefghijklmnopqrstuv", "192.168.1.20", Devices())


def clients(shared: Gate) -> tuple[httpx.AsyncClient, httpx.AsyncClient]:
    """The maker at the computer, and a phone."""
    app = make_app(Path("sets"), shared, fake_bench.FakeBench())
    transport = httpx.ASGITransport(app)  # type: ignore[arg-type]
    word = {"cookie": f"{shared.cookie}={shared.word}", "origin": OWN}
    return (
        httpx.AsyncClient(transport=transport, base_url=OWN, headers=word),
        httpx.AsyncClient(transport=transport, base_url=LAN, headers={"origin": LAN}),
    )


async def invitation(maker: httpx.AsyncClient) -> str:
    page = (await maker.get("/devices")).text
    found = re.search(r"http://192\.168\.1\.20:23456(/join/[\w-]+)", page)
    assert found, page
    assert "<svg" in page, "the code to scan"
    return found.group(1)


def test_a_phone_comes_in_by_the_code_looks_and_is_shut_out_again() -> None:
    async def work() -> None:
        maker, phone = clients(gate())
        path = await invitation(maker)
        assert (await phone.get("/")).status_code == 403
        assert (await phone.get(path)).status_code == 200
        entered = await phone.post(path, data={"name": "Ann's <phone>"})
        assert entered.status_code == 303
        assert "httponly" in entered.headers["set-cookie"].lower()
        assert (await phone.get("/")).status_code == 200
        assert (await phone.post("/set/heron/change", data={"x": "1"})).status_code == 403
        page = (await maker.get("/devices")).text
        assert "Ann&#39;s &lt;phone&gt;" in page
        id = re.search(r'name="id" value="(\w+)"', page)
        assert id
        assert (await maker.post("/devices/allow", data={"id": id.group(1), "design": "yes"})).status_code == 303
        assert (await phone.post("/set/heron/change", data={"x": "1"})).status_code != 403
        assert (await phone.get("/devices")).status_code == 403
        assert (await maker.post("/devices/drop", data={"id": id.group(1)})).status_code == 303
        assert (await phone.get("/")).status_code == 403

    asyncio.run(work())


def test_the_code_is_good_once_and_a_second_phone_is_told_so() -> None:
    async def work() -> None:
        maker, phone = clients(gate())
        path = await invitation(maker)
        assert (await phone.post(path, data={"name": "one"})).status_code == 303
        again = await phone.get(path)
        assert again.status_code == 403
        assert "has been used" in again.text
        assert await invitation(maker) != path

    asyncio.run(work())


def test_the_code_lets_nobody_in_on_the_computers_own_address() -> None:
    async def work() -> None:
        maker, _ = clients(gate())
        path = await invitation(maker)
        assert (await maker.get(path)).status_code == 403

    asyncio.run(work())


@pytest.mark.parametrize("way", ["invite", "drop", "allow"])
def test_without_sharing_the_page_says_how_and_nothing_can_be_done(way: str) -> None:
    async def work() -> None:
        maker, _ = clients(Gate(23456, "abcdefghijklmnopqrstuv"))
        page = await maker.get("/devices")
        assert "lodestring open --share" in page.text
        assert (await maker.post(f"/devices/{way}", data={"id": "x"})).status_code == 409

    asyncio.run(work())
