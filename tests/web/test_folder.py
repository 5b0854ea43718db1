"""The server on a real folder: what was saved is what is on disk, and no change is lost to another tab or an editor."""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
from test_app import JSON, opened

from lodestring.assess.report import as_json
from lodestring.assess.shown import shown
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import assess_here
from lodestring.web.bench_here import BenchHere

TURNS = "pickup.bridge.coil.main.turns"
TITLE = "<script>alert(1)</script>"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    text = apply_changes(example_text("heron"), {"title": json.dumps(TITLE)})
    (tmp_path / "heron.toml").write_text(text, encoding="utf-8")
    return tmp_path


def run(folder: Path, work: Callable[[httpx.AsyncClient], Awaitable[Any]]) -> Any:
    async def inner() -> Any:
        async with opened(BenchHere(folder)) as client:
            return await work(client)

    return asyncio.run(inner())


async def digest(client: httpx.AsyncClient) -> str:
    found = re.search(r'name="digest" value="([^"]+)"', (await client.get("/set/heron/text")).text)
    assert found
    return found.group(1)


async def change(client: httpx.AsyncClient, at: str, **more: str) -> httpx.Response:
    return await client.post("/set/heron/change", data={"digest": at, **more}, headers=JSON)


def test_a_change_is_on_disk_when_it_is_answered_and_the_figure_shown_is_that_of_the_file(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[dict[str, Any], str]:
        told = (await change(client, await digest(client), **{TURNS: "7000"})).json()
        return told, (await client.get("/set/heron")).text

    told, page = run(folder, work)
    assert told["done"], told
    assert f"{TURNS.rpartition('.')[2]} = 7000" in (folder / "heron.toml").read_text(encoding="utf-8")
    fact = assess_here(folder / "heron.toml").facts["pickup.bridge.coil.main.dc_resistance"]
    assert shown(fact).value in page


def test_slow_groups_come_one_after_the_other_and_say_what_the_command_says(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, str]:
        assert "Working" in (await client.get("/set/heron")).text
        for _ in range(600):
            findings = await client.get("/set/heron/part/findings")
            if findings.status_code == 200:
                return findings.text, (await client.get("/set/heron/part/figures.positions")).text
            await asyncio.sleep(0.05)
        pytest.fail("the findings were not ready in 30 s")

    findings, position = run(folder, work)
    assessment = assess_here(folder / "heron.toml")
    assert findings.count('<li class="finding ') == len(assessment.findings)
    assert shown(assessment.facts["position.bridge.peak_frequency"]).value in position


def test_a_value_that_cannot_be_computed_leaves_the_file_as_it_was(folder: Path) -> None:
    before = (folder / "heron.toml").read_bytes()

    async def work(client: httpx.AsyncClient) -> httpx.Response:
        return await change(client, await digest(client), **{TURNS: "-3"})

    answer = run(folder, work)
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["path"] == TURNS
    assert (folder / "heron.toml").read_bytes() == before


def test_the_later_of_two_tabs_is_told_and_offered_both(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[httpx.Response, httpx.Response]:
        seen = await digest(client)
        return await change(client, seen, **{TURNS: "7001"}), await change(client, seen, **{TURNS: "7002"})

    first, second = run(folder, work)
    assert first.status_code == 200
    assert second.status_code == 409
    conflict = second.json()["conflict"]
    assert "turns = 7002" in conflict["mine"]
    assert "turns = 7001" in conflict["theirs"]
    assert "turns = 7001" in (folder / "heron.toml").read_text(encoding="utf-8")


def test_a_text_editor_on_the_same_set_loses_nothing_and_can_be_undone(folder: Path) -> None:
    path = folder / "heron.toml"

    async def work(client: httpx.AsyncClient) -> tuple[httpx.Response, httpx.Response]:
        seen = await digest(client)
        before = path.read_text(encoding="utf-8")
        path.write_text(before.replace("turns = 7800", "turns = 7003"), encoding="utf-8")
        refused = await change(client, seen, **{TURNS: "7002"})
        now = await digest(client)
        assert "turns = 7003" in path.read_text(encoding="utf-8")
        return refused, await client.post("/set/heron/undo", data={"digest": now}, headers=JSON)

    refused, undone = run(folder, work)
    assert refused.status_code == 409
    assert undone.status_code == 200
    assert "turns = 7800" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "path",
    ["/", "/set/heron", "/set/heron/text", "/set/heron/picture/top.bridge.svg", "/set/heron/picture/response.svg",
     "/set/heron/why/set.wire_length"],
)  # fmt: skip
def test_a_set_titled_like_a_script_is_escaped(folder: Path, path: str) -> None:
    answer = run(folder, lambda client: client.get(path))
    assert answer.status_code == 200, answer.text
    assert "<script>alert" not in answer.text


@pytest.mark.parametrize(
    ("ending", "begins"),
    [("sheet.pdf", b"%PDF"), ("template.pdf?paper=letter", b"%PDF"), ("set.toml", b""), ("netlist.cir", b"")],
    ids=["sheet", "template", "set file", "netlist"],
)
def test_what_is_taken_away_is_what_the_commands_write(folder: Path, ending: str, begins: bytes) -> None:
    answer = run(folder, lambda client: client.get(f"/set/heron/{ending}"))
    assert answer.status_code == 200
    assert answer.content.startswith(begins)
    if ending == "netlist.cir":
        assert b"script" not in answer.content
    if ending == "set.toml":
        assert answer.content == (folder / "heron.toml").read_bytes()


def test_the_figures_are_those_of_the_command(folder: Path) -> None:
    answer = run(folder, lambda client: client.get("/set/heron/figures.json"))
    assert answer.json() == json.loads(json.dumps(as_json(assess_here(folder / "heron.toml"))))


@pytest.mark.parametrize("query", ["paper=a7", "paper=../x"])
def test_a_paper_there_is_not_gets_a_sentence(folder: Path, query: str) -> None:
    answer = run(folder, lambda client: client.get(f"/set/heron/sheet.pdf?{query}"))
    assert answer.status_code == 422
    assert "paper" in answer.text


def test_the_shelf_copies_renames_bins_and_takes_in(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        posts = [
            ("/shelf/copy", {"name": "heron", "new": "wren"}),
            ("/shelf/rename", {"name": "wren", "new": "dunlin"}),
            ("/shelf/bin", {"name": "dunlin"}),
            ("/shelf/import", {"name": "plover", "text": example_text("plover")}),
            ("/shelf/copy", {"name": "heron", "new": "../x"}),
            ("/shelf/copy", {"name": "heron", "new": "plover"}),
            ("/new", {"name": "new-one", "example": "heron"}),
        ]
        return [(await client.post(path, data=data)).status_code for path, data in posts]

    assert run(folder, work) == [303, 303, 303, 303, 422, 422, 303]
    assert sorted(p.name for p in folder.glob("*.toml")) == ["heron.toml", "new-one.toml", "plover.toml"]


def test_five_answers_make_a_set_and_wrong_ones_come_back_with_their_sentences(folder: Path) -> None:
    strings = "E4 0.010 in\nB3 0.013 in\nG3 0.017 in\nD3 0.026 in\nA2 0.036 in\nE2 0.046 in"
    good = {"name": "first", "title": "First", "strings": strings, "kind": "guitar", "scale": "648 mm",
            "spacing": "52.5 mm", "place": "45 mm"}  # fmt: skip

    async def work(client: httpx.AsyncClient) -> tuple[httpx.Response, httpx.Response]:
        return await client.post("/new", data=good | {"scale": "648 kg"}), await client.post("/new", data=good)

    wrong, right = run(folder, work)
    assert wrong.status_code == 422
    assert "648 kg" in wrong.text
    assert (right.status_code, right.headers["location"]) == (303, "/set/first"), right.text
    assert not [f for f in assess_here(folder / "first.toml").findings if f.severity == "blocker"]


def test_an_upload_that_is_no_set_is_told(folder: Path) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        files = [b"\x00\x01", b"format = 9", "x".encode("utf-16"), b"a = " + b"[" * 500]
        return [await client.post("/shelf/import", data={"name": "x"}, files={"file": ("x.toml", f)}) for f in files]

    for answer in run(folder, work):
        assert answer.status_code in (303, 400, 422), answer.text
