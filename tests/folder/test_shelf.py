"""The shelf shows every set file of the folder, loses none, and takes names only."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from lodestring.errors import FileProblem, SetFileError
from lodestring.folder.examples import example_text
from lodestring.folder.shelf import (
    bin_set,
    binned,
    copy_set,
    export,
    import_text,
    new_set,
    rename_set,
    shelf,
    take_out,
)
from lodestring.folder.sitting import Sitting

TURNS = "pickup.bridge.coil.main.turns"


def everything(folder: Path) -> set[bytes]:
    return {p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_every_set_file_is_shown_with_what_it_is_or_what_is_wrong(folder: Path) -> None:
    (folder / "workshop.toml").write_text(example_text("workshop"), encoding="utf-8")
    (folder / "wren.toml").write_text(example_text("wren"), encoding="utf-8")
    (folder / "broken.toml").write_text('title = "Half"\nformat = 1\n', encoding="utf-8")
    (folder / "binary.toml").write_bytes(b"\x00\x01")
    (folder / "My Set.toml").write_text(example_text("wren"), encoding="utf-8")
    (folder / ".heron.toml.0123.tmp").write_text("left by a power cut", encoding="utf-8")
    (folder / "folder.toml").mkdir()
    (folder / "dangling.toml").symlink_to(folder / "nowhere")
    found = {e.name: e for e in shelf(folder)}
    assert sorted(found) == ["My Set", "binary", "broken", "dangling", "heron", "wren"]
    heron = found["heron"]
    assert (heron.title, heron.strings, heron.pickups, heron.coils, heron.scale) == ("Heron", 6, 2, 2, "686 mm")
    assert (heron.problem, heron.usable) == ("", True)
    assert found["broken"].title == "Half"
    assert "must be given" in found["broken"].problem
    assert "text file" in found["binary"].problem
    assert "must exist" in found["dangling"].problem
    assert not found["My Set"].usable
    assert "my-set.toml" in found["My Set"].problem


def test_a_folder_that_cannot_be_read_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="folder"):
        shelf(tmp_path / "none")


NAMES = ["", "Heron", "../out", "a/b", "a.b", "-a", "1a", "a" * 33, "workshop", "con", "com1", "a\x00", ".lodestring"]


@pytest.mark.parametrize("name", NAMES, ids=repr)
def test_only_names_are_names_and_nothing_is_written_beside_the_folder(folder: Path, name: str) -> None:
    before = everything(folder.parent)
    for act in (
        lambda: new_set(folder, name, example_text("wren")),
        lambda: copy_set(folder, "heron", name),
        lambda: rename_set(folder, "heron", name),
        lambda: bin_set(folder, name),
        lambda: import_text(folder, name, example_text("wren")),
        lambda: export(folder, name),
    ):
        with pytest.raises(FileProblem, match="name"):
            act()
    assert everything(folder.parent) == before


def test_a_set_is_never_written_over_by_new_copy_rename_import_or_out_of_the_bin(folder: Path) -> None:
    new_set(folder, "wren", example_text("wren"))
    new_set(folder, "other", example_text("wren"))
    item = bin_set(folder, "other")
    before = everything(folder)
    for act in (
        lambda: new_set(folder, "heron", example_text("wren")),
        lambda: copy_set(folder, "wren", "heron"),
        lambda: rename_set(folder, "wren", "heron"),
        lambda: import_text(folder, "heron", example_text("wren")),
        lambda: take_out(folder, item, "heron"),
    ):
        with pytest.raises(FileProblem):
            act()
    assert everything(folder) == before
    assert export(folder, "wren").decode() == example_text("wren")


def test_a_renamed_set_keeps_its_history_and_its_kept_states(folder: Path) -> None:
    sitting = Sitting(folder, "heron")
    sitting.keep("as drawn")
    sitting.change(TURNS, "7000", sitting.digest)
    rename_set(folder, "heron", "crane")
    moved = Sitting(folder, "crane")
    assert [k.label for k in moved.kept()] == ["as drawn"]
    assert moved.undo(moved.digest).done
    assert export(folder, "crane").decode() == example_text("heron")
    assert [e.name for e in shelf(folder)] == ["crane"]


def test_a_binned_set_can_be_taken_out_again_with_all_it_had(folder: Path) -> None:
    sitting = Sitting(folder, "heron")
    sitting.keep("as drawn")
    sitting.change(TURNS, "7000", sitting.digest)
    before = everything(folder)
    bin_set(folder, "heron")
    assert shelf(folder) == ()
    assert everything(folder) == before
    (item,) = binned(folder)
    assert item.name == "heron"
    assert take_out(folder, item.id) == "heron"
    again = Sitting(folder, "heron")
    assert (again.undo_depth, len(again.kept())) == (1, 1)
    assert binned(folder) == ()


def test_two_sets_of_one_name_binned_in_one_second_both_stay(folder: Path) -> None:
    for title in ("One", "Two", "Three"):
        new_set(folder, "same", example_text("wren").replace("Wren", title))
        bin_set(folder, "same")
    assert len(binned(folder)) == 3
    assert {b.name for b in binned(folder)} == {"same"}


def test_a_new_set_does_not_inherit_the_history_of_one_that_was_deleted_by_hand(folder: Path) -> None:
    sitting = Sitting(folder, "heron")
    sitting.change(TURNS, "7000", sitting.digest)
    (folder / "heron.toml").unlink()
    new_set(folder, "heron", example_text("wren"))
    assert Sitting(folder, "heron").undo_depth == 0
    assert any(b"7000" in raw for raw in everything(folder))  # but it lies in the bin


def test_what_is_exported_and_imported_is_the_same_byte_for_byte(folder: Path) -> None:
    raw = example_text("plover").replace("\n", "\r\n").encode()
    import_text(folder, "plover", b"\xef\xbb\xbf" + raw)
    assert export(folder, "plover") == b"\xef\xbb\xbf" + raw
    assert Sitting(folder, "plover").problems == ()


@pytest.mark.parametrize(
    "raw",
    [b"", b"\x00", b"title = 1", b"x" * 300_000, "\ud800"],
    ids=["empty", "binary", "no-set", "large", "surrogate"],
)
def test_what_is_no_set_file_is_not_imported(folder: Path, raw: bytes | str) -> None:
    before = everything(folder)
    with pytest.raises(SetFileError):
        import_text(folder, "guest", raw)
    assert everything(folder) == before


@pytest.mark.parametrize("act", ["bin", "rename"])
def test_what_is_not_there_can_be_neither_renamed_nor_binned(folder: Path, act: str) -> None:
    with pytest.raises(FileProblem, match="must be in the folder"):
        bin_set(folder, "gone") if act == "bin" else rename_set(folder, "gone", "there")


def test_a_disk_that_refuses_while_binning_leaves_the_set_on_the_shelf(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*given: object, **named: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "rename", refuse)
    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(FileProblem, match="writable"):
        bin_set(folder, "heron")
    monkeypatch.undo()
    assert export(folder, "heron").decode() == example_text("heron")
