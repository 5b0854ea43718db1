"""`lodestring netlist` and `lodestring curves`: what they print, what they write, what they refuse."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lodestring.cli.main import main
from lodestring.folder.examples import example_text

pytestmark = pytest.mark.usefixtures("shared_store")
HERON = example_text("heron")
BARE = HERON.partition("[harness]")[0]
POSITIONS = ("bridge", "bridge-neck", "neck")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


@pytest.fixture
def heron(tmp_path: Path) -> Path:
    path = tmp_path / "heron.toml"
    path.write_text(HERON, encoding="utf-8")
    return path


def files(path: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in path.parent.iterdir()}


def test_each_position_has_its_netlist_and_the_first_is_taken_where_none_is_named(heron: Path) -> None:
    printed = {p: run("netlist", str(heron), "--position", p).stdout for p in POSITIONS}
    assert len(set(printed.values())) == 3
    for text in printed.values():
        assert text.startswith("* Lodestring")
        assert text.endswith(".ac dec 100 20 20k\n.print ac vm(out) vp(out)\n.end\n")
    assert run("netlist", str(heron)).stdout == printed["bridge"]


@pytest.mark.parametrize("option", ["-o", "--output", "--out"])
def test_a_netlist_goes_into_a_file_and_replaces_an_older_one(option: str, heron: Path) -> None:
    out = heron.with_name("neck.cir")
    for position in ("bridge", "neck"):
        result = run("netlist", str(heron), "--position", position, option, str(out))
        assert result.exit_code == 0, result.stderr
        assert f"position {position}; others: " in result.stdout
        assert out.read_text(encoding="ascii") == run("netlist", str(heron), "--position", position).stdout
    assert sorted(files(heron)) == ["heron.toml", "neck.cir"]


def test_curves_go_to_the_screen_or_into_a_file(heron: Path) -> None:
    out = heron.with_name("heron.csv")
    whole = run("curves", str(heron)).stdout
    part = run("curves", str(heron), "--only", "pickup.neck.coil.main.wire").stdout
    assert whole.split("\n")[0].startswith("turn [1],pickup.bridge.coil.main.coil_depth_end [m],")
    assert part.split("\n")[0] == "turn [1],pickup.neck.coil.main.wire_length [m]"
    for keys, count in (
        (["pickup.neck.coil", "pickup.bridge.coil"], "8 curves"),
        (["pickup.neck.coil.main.w"], "1 curve"),
    ):
        only = [word for key in keys for word in ("--only", key)]
        result = run("curves", str(heron), *only, "--out", str(out))
        assert result.stdout == f"wrote {out}, {count}\n", result.stderr
        assert out.read_text(encoding="utf-8") == run("curves", str(heron), *only).stdout
    assert sorted(files(heron)) == ["heron.csv", "heron.toml"]


@pytest.mark.parametrize(
    ("text", "arguments", "words"),
    [
        pytest.param(
            HERON, ["netlist", "--position", "nek"], "one of bridge, bridge-neck, neck", id="no-such-position"
        ),
        pytest.param(HERON, ["netlist", "--position", ""], "one of bridge, bridge-neck, neck", id="an-empty-position"),
        pytest.param(BARE, ["netlist"], "needs a harness", id="no-harness"),
        pytest.param(BARE, ["netlist", "--position", "neck"], "needs a harness", id="no-harness-and-a-position"),
        pytest.param("format = 1\n", ["netlist"], "title", id="a-broken-set"),
        pytest.param(HERON, ["curves", "--only", "pickup.nek"], "pickup.neck.coil.main", id="no-such-curve"),
        pytest.param("format = 1\n", ["curves"], "title", id="a-broken-set-for-curves"),
    ],
)
@pytest.mark.parametrize("to_file", [False, True], ids=["screen", "file"])
def test_what_is_not_there_is_a_sentence_and_nothing_is_written(
    text: str, arguments: list[str], words: str, to_file: bool, heron: Path
) -> None:
    heron.write_text(text, encoding="utf-8")
    before = files(heron)
    command, *rest = arguments
    result = run(command, str(heron), *rest, *(["--out", str(heron.with_name("out.txt"))] if to_file else []))
    assert result.exit_code == 2
    assert result.stdout == ""
    assert words in result.stderr
    assert "Traceback" not in result.stderr
    assert files(heron) == before


@pytest.mark.parametrize("command", ["netlist", "curves"])
@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        pytest.param("notes.txt", b"my notes", "is overwritten", id="another-kind"),
        pytest.param("heron.toml", None, "set file must not be written over", id="the-set-file"),
        pytest.param("missing/out", None, "folder of the file to write must be there", id="no-such-folder"),
        pytest.param(".", None, "a folder", id="a-folder"),
    ],
)
def test_a_file_of_another_kind_is_never_replaced(
    command: str, name: str, content: bytes | None, words: str, heron: Path
) -> None:
    out = heron.parent / name
    if content is not None:
        out.write_bytes(content)
    before = files(heron)
    result = run(command, str(heron), "--out", str(out))
    assert result.exit_code == 2
    assert words in result.stderr
    assert files(heron) == before


@pytest.mark.parametrize("command", ["netlist", "curves"])
def test_a_full_disk_leaves_the_old_file_whole_and_no_scrap(
    command: str, heron: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = heron.with_name("out.txt")
    assert run(command, str(heron), "--out", str(out)).exit_code == 0
    before = files(heron)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    result = run(command, str(heron), "--out", str(out))
    assert result.exit_code == 2
    assert "No space left" in result.stderr
    assert files(heron) == before
