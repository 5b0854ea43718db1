"""`lodestring book`, as a maker types it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lodestring.cli.main import main
from lodestring.folder.workshop_book import export_to

OLD = Path(__file__).resolve().parent.parent / "book" / "old" / "schema-1.sqlite"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copyfile(OLD, tmp_path / "book.sqlite")
    return tmp_path


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["book", *map(str, words)])


def test_the_book_is_shown_as_a_list_and_coil_by_coil(folder: Path) -> None:
    every, one = run("show", "--folder", folder), run("show", "heron-bridge-main-1", "--folder", folder)
    assert every.exit_code == one.exit_code == 0
    assert "heron-bridge-main-1" in every.output
    assert "7,800 turns of 7,800" in every.output
    assert "turn  3,900  coil.snag" in one.output
    assert "here: 7,800 turns, holds the counter" in one.output


def test_the_book_goes_to_another_folder_and_nothing_comes_twice(folder: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    assert run("export", folder / "out.jsonl", "--folder", folder).output.endswith("9 lines\n")
    assert "8 entries, 8 of them new; 1 files" in run("import", folder / "out.jsonl", "--folder", other).output
    assert "8 entries, 0 of them new" in run("import", folder / "out.jsonl", "--folder", other).output
    assert run("show", "--folder", other).output == run("show", "--folder", folder).output


def test_a_large_book_is_exported_as_files_that_are_imported_one_by_one(folder: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    made = export_to(folder, folder / "out.jsonl", 600)
    assert [path.name for path, _ in made[:3]] == ["out.jsonl", "out-2.jsonl", "out-3.jsonl"]
    assert sum(count for _, count in made) == 9
    for path, _ in reversed(made):
        assert run("import", path, "--folder", other).exit_code == 0
    assert run("show", "--folder", other).output == run("show", "--folder", folder).output


def test_a_backup_is_made_once_and_never_over_another_file(folder: Path) -> None:
    assert "8 entries, read back whole" in run("backup", folder / "copy.sqlite", "--folder", folder).output
    again = run("backup", folder / "copy.sqlite", "--folder", folder)
    assert again.exit_code == 2
    assert "left alone" in again.output


REFUSED = {
    "no book": ("show", "--folder", "{tmp}/none"),
    "no such coil": ("show", "wren-1", "--folder", "{tmp}"),
    "no such file": ("import", "{tmp}/none.jsonl", "--folder", "{tmp}"),
    "a file that is none": ("import", "{tmp}/book.sqlite", "--folder", "{tmp}"),
    "over another file": ("export", "{tmp}/book.sqlite", "--folder", "{tmp}"),
}


@pytest.mark.parametrize("words", REFUSED.values(), ids=REFUSED)
def test_a_slip_gets_a_sentence_and_harms_nothing(words: tuple[str, ...], folder: Path) -> None:
    before = (folder / "book.sqlite").read_bytes()
    done = run(*(w.format(tmp=folder) for w in words))
    assert done.exit_code == 2
    assert "; " in done.output
    assert "Traceback" not in done.output
    assert (folder / "book.sqlite").read_bytes() == before
