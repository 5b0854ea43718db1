"""Sheets and templates as files: whole or not at all, and never over something else."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pdfplumber
import pytest

from lodestring.errors import FileProblem, LodestringError
from lodestring.folder.demo import run
from lodestring.folder.examples import example_text, examples
from lodestring.folder.printed import write_sheet, write_template


@pytest.fixture
def heron(tmp_path: Path, shared_store: None) -> Path:
    path = tmp_path / "heron.toml"
    path.write_text(example_text("heron"), encoding="utf-8")
    return path


@pytest.mark.parametrize("write", [write_sheet, write_template], ids=["sheet", "template"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_pdf_is_written_and_its_pages_counted(write: object, paper: str, heron: Path) -> None:
    written = write(heron, heron.with_name("out.pdf"), paper)  # type: ignore[operator]
    assert written.path.read_bytes().startswith(b"%PDF-")
    with pdfplumber.open(written.path) as pdf:
        assert written.pages == len(pdf.pages)
    assert sorted(p.name for p in heron.parent.iterdir()) == ["heron.toml", "out.pdf"]


def test_an_older_pdf_is_replaced(heron: Path) -> None:
    out = heron.with_name("out.pdf")
    out.write_bytes(b"%PDF-1.4 old")
    write_sheet(heron, out)
    assert len(out.read_bytes()) > 10_000


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        pytest.param("notes.txt", b"my notes", "only a PDF is overwritten", id="another-kind"),
        pytest.param("empty.pdf", b"", "only a PDF is overwritten", id="an-empty-file"),
        pytest.param("heron.toml", None, "over the set file", id="the-set-file-itself"),
        pytest.param("./../{folder}/heron.toml", None, "over the set file", id="the-set-file-by-another-path"),
        pytest.param("missing/out.pdf", None, "folder of the file to write must be there", id="no-such-folder"),
        pytest.param("heron.toml/out.pdf", None, "folder of the file to write must be there", id="a-file-as-folder"),
        pytest.param(".", None, "a folder", id="a-folder"),
        pytest.param("x" * 300 + ".pdf", None, "must be writable", id="a-name-too-long"),
        pytest.param("nul\0.pdf", None, "must be", id="a-zero-in-the-name"),
    ],
)
def test_what_cannot_be_written_is_said_and_nothing_is_lost(
    name: str, content: bytes | None, words: str, heron: Path
) -> None:
    out = heron.parent / name.replace("{folder}", heron.parent.name)
    if content is not None:
        out.write_bytes(content)
    before = {p.name: p.read_bytes() for p in heron.parent.iterdir()}
    with pytest.raises(FileProblem, match=words):
        write_sheet(heron, out)
    assert {p.name: p.read_bytes() for p in heron.parent.iterdir()} == before


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
def test_a_pipe_is_refused_and_not_waited_for(heron: Path) -> None:
    pipe = heron.with_name("pipe.pdf")
    os.mkfifo(pipe)
    with pytest.raises(FileProblem, match="ordinary file"):
        write_sheet(heron, pipe)


def test_a_link_stays_a_link_and_its_pdf_is_replaced(heron: Path) -> None:
    real, link = heron.with_name("real.pdf"), heron.with_name("link.pdf")
    real.write_bytes(b"%PDF-1.4 old")
    try:
        link.symlink_to(real)
    except OSError:
        pytest.skip("no links on this system")
    write_sheet(heron, link)
    assert link.is_symlink()
    assert len(real.read_bytes()) > 10_000


def test_an_unknown_paper_or_a_broken_set_writes_nothing(heron: Path) -> None:
    out = heron.with_name("out.pdf")
    with pytest.raises(LodestringError, match="a4 or letter"):
        write_sheet(heron, out, "a3")
    heron.write_text("format = 1\n", encoding="utf-8")
    with pytest.raises(LodestringError, match="title"):
        write_sheet(heron, out)
    assert not out.exists()


def test_a_full_disk_leaves_the_old_file_and_no_scrap(heron: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = heron.with_name("out.pdf")
    out.write_bytes(b"%PDF-1.4 old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileProblem, match="No space left"):
        write_sheet(heron, out)
    assert out.read_bytes() == b"%PDF-1.4 old"
    assert sorted(p.name for p in heron.parent.iterdir()) == ["heron.toml", "out.pdf"]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[str]]:
    """The folder of one run, to look at and to copy, and what the run told."""
    folder = tmp_path_factory.mktemp("demo") / "new" / "demo"
    return folder, list(run(folder))


def test_the_demo_makes_everything_for_every_example(demo: tuple[Path, list[str]]) -> None:
    folder, lines = demo
    wanted = {"workshop.toml"}
    for name in examples():
        wanted |= {f"{name}.toml", f"{name}-figures.json", f"{name}-sheet.pdf", f"{name}-template.pdf"}
    assert {p.name for p in folder.iterdir()} == wanted
    for name in wanted:
        assert any(name in line for line in lines)
    assert lines[-1].startswith("Look first at")


def test_the_demo_twice_gives_the_same_files_and_leaves_a_changed_set_alone(
    demo: tuple[Path, list[str]], tmp_path: Path
) -> None:
    shutil.copytree(demo[0], tmp_path, dirs_exist_ok=True)
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    changed = example_text("wren").replace("turns = 8600", "turns = 8000")
    (tmp_path / "wren.toml").write_text(changed, encoding="utf-8")
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    lines = list(run(tmp_path))
    assert (tmp_path / "wren.toml").read_text(encoding="utf-8") == changed
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "mine"
    assert any("wren.toml" in line and "left alone" in line for line in lines)
    for name in ("heron-sheet.pdf", "heron-figures.json", "plover-template.pdf", "workshop.toml"):
        assert (tmp_path / name).read_bytes() == before[name]
    assert (tmp_path / "wren-sheet.pdf").read_bytes() != before["wren-sheet.pdf"]


@pytest.mark.usefixtures("shared_store")
def test_the_demo_goes_on_past_a_broken_set_and_a_foreign_file(tmp_path: Path) -> None:
    (tmp_path / "wren.toml").write_text("format = 1\n", encoding="utf-8")
    (tmp_path / "plover-sheet.pdf").write_text("not a PDF", encoding="utf-8")
    lines = list(run(tmp_path))
    assert any(line.startswith("wren: nothing more made") for line in lines)
    assert any(line.startswith("plover: nothing more made") for line in lines)
    assert (tmp_path / "plover-sheet.pdf").read_text(encoding="utf-8") == "not a PDF"
    assert (tmp_path / "heron-sheet.pdf").exists()


def test_a_file_where_the_demo_wants_a_folder_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "demo").write_text("a file", encoding="utf-8")
    with pytest.raises(FileProblem, match="must be a folder"):
        list(run(tmp_path / "demo"))
