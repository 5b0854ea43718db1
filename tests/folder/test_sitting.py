"""A change is read and computed before it is written, can be undone, and never takes another program's text away."""

from __future__ import annotations

import difflib
import re
import threading
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.errors import FileProblem, SetFileError
from lodestring.folder.examples import example_text
from lodestring.folder.sitting import Sitting

Sit = Callable[..., Sitting]
COIL = "pickup.bridge.coil.main"
TURNS = f"{COIL}.turns"


def lines_changed(before: str, after: str) -> list[str]:
    return [x for x in difflib.ndiff(before.splitlines(), after.splitlines()) if x[0] in "+-"]


def value_at(text: str, path: str) -> object:
    """Read by the standard library alone, which shares no code with the editor."""
    here: object = tomllib.loads(text)
    for part in path.split("."):
        here = here[int(part) - 1] if isinstance(here, list) else here[part]  # type: ignore[index]
    return here


@pytest.mark.parametrize(
    ("path", "typed", "stands"),
    [
        pytest.param(f"{COIL}.bobbin.window", "7/16 in", "7/16 in", id="inch-fraction"),
        pytest.param("instrument.nut.span", "1 9/16 in", "1 9/16 in", id="whole-and-fraction"),
        pytest.param(f"{COIL}.bobbin.window", "  10,4 mm ", "10,4 mm", id="comma-decimal"),
        pytest.param(f"{COIL}.poles.body.diameter", "4.8 mm ± 0.05", "4.8 mm ± 0.05", id="with-spread"),
        pytest.param(TURNS, "7 400", 7400, id="turns-set-off"),
        pytest.param(f"{COIL}.poles.height", "1 mm, 1 mm, 1.2 mm, 1.2 mm, 1 mm, 1 mm",
                     ["1 mm", "1 mm", "1.2 mm", "1.2 mm", "1 mm", "1 mm"], id="one-for-each-pole-piece"),
        pytest.param(f"{COIL}.poles.up", "south, north, south, north, south, north",
                     ["south", "north"] * 3, id="words-for-each-pole-piece"),
        pytest.param(f"{COIL}.poles.state", "95 mT", {"face": "95 mT"}, id="a-reading-in-place-of-a-word"),
        pytest.param(f"{COIL}.packing", "0.6", 0.6, id="number-or-word"),
        pytest.param(f"{COIL}.packing", "traverse", "traverse", id="word-or-number"),
        pytest.param("pickup.bridge.place", "45 mm, 48 mm", {"first": "45 mm", "last": "48 mm"}, id="slanted"),
        pytest.param("instrument.radius", "flat", "flat", id="word-or-length"),
        pytest.param("title", 'say "plain" \\ é', 'say "plain" \\ é', id="quotes-and-backslash"),
        pytest.param(f"{COIL}.tap", "4000, 5 000", [4000, 5000], id="taps"),
    ],
)  # fmt: skip
def test_what_was_typed_stands_in_the_file_letter_for_letter(sit: Sit, path: str, typed: str, stands: object) -> None:
    sitting = sit()
    outcome = sitting.change(path, typed, sitting.digest)
    assert outcome.done, outcome
    assert value_at(sitting.path.read_text(encoding="utf-8"), path) == stands


def test_a_change_touches_its_own_line_alone(sit: Sit) -> None:
    sitting = sit()
    sitting.change(f"{COIL}.wound", "anticlockwise", sitting.digest)
    assert lines_changed(example_text("heron"), sitting.text) == [
        '- wound = "clockwise"                  # seen from the strings, start to finish',
        '+ wound = "anticlockwise"                  # seen from the strings, start to finish',
    ]


@pytest.mark.parametrize(
    ("path", "typed", "where", "words"),
    [
        pytest.param(TURNS, "lots", TURNS, "whole number", id="no-number"),
        pytest.param(TURNS, "7.8k", TURNS, "whole number", id="no-whole-number"),
        pytest.param(f"{COIL}.bobbin.window", "10", f"{COIL}.bobbin.window", "unit", id="no-unit"),
        pytest.param(f"{COIL}.bobbin.plate.width", "4 mm", f"{COIL}.bobbin.plate", "stand out", id="cannot-be-built"),
        pytest.param(f"{COIL}.wire.enamel", "butter", f"{COIL}.wire.enamel", "", id="not-in-the-catalogue"),
        pytest.param("pickup.bridge.place", " ", "pickup.bridge.place", "given", id="must-be-given"),
        pytest.param("pickup.bridge.colour", "red", "pickup.bridge.colour", "field", id="no-such-field"),
        pytest.param("..", "1", "..", "field", id="no-path"),
        pytest.param("title", "\ud800", "", "characters", id="half-a-surrogate-pair"),
        pytest.param("title", "a\x07b", "title", "printable", id="control-character"),
        pytest.param(f"{COIL}.poles.height", "1 mm, 2 mm", f"{COIL}.poles.height", "six|6", id="list-too-short"),
        pytest.param("pickup.bridge.place", "1 mm, 2 mm, 3 mm", "pickup.bridge.place", "two", id="three-places"),
    ],
)  # fmt: skip
def test_what_cannot_be_computed_is_not_written_and_told_at_its_place(
    sit: Sit, path: str, typed: str, where: str, words: str
) -> None:
    sitting = sit()
    before = sitting.path.read_bytes()
    outcome = sitting.change(path, typed, sitting.digest)
    assert not outcome.done
    assert sitting.path.read_bytes() == before
    assert outcome.problems[0].path == where
    assert re.search(words, outcome.problems[0].sentence())
    assert sitting.undo_depth == 0


# What one choice needs beside it: path, choice, what the standard library must find afterwards.
CHOICES = [
    ("heron", f"{COIL}.poles.body.kind", "steel"),
    ("plover", "pickup.main.coil.front.poles.body.kind", "magnet"),
    ("heron", f"{COIL}.poles.layout.kind", "blade"),
    ("heron", f"{COIL}.poles.layout.kind", "none"),
    ("heron", f"{COIL}.poles.layout.kind", "listed"),
    ("wren", "pickup.main.coil.main.poles.layout.kind", "one per string"),
    ("heron", f"{COIL}.bobbin.core.kind", "walled"),
    ("plover", "pickup.main.coil.rear.bobbin.core.kind", "on rods"),
    ("heron", "pickup.bridge.potting.kind", "lacquer"),
    ("heron", f"{COIL}.wire.size", "0.063 mm"),
    ("heron", "instrument.bridge.pitch", "10.5 mm"),
    ("heron", "instrument.strings.2.core", "0.010 in"),
    ("heron", "instrument.frets", "0"),
    *(
        ("heron", "harness.circuit", c)
        for c in ("straight to the jack", "one volume", "blend, one tone", "own netlist")
    ),
]


@pytest.mark.parametrize(
    ("example", "path", "choice"), CHOICES, ids=[f"{e}-{p.split('.')[-1]}-{c}" for e, p, c in CHOICES]
)
def test_no_choice_is_a_dead_end_and_one_undo_takes_all_of_it_back(
    sit: Sit, example: str, path: str, choice: str
) -> None:
    sitting = sit(example)
    outcome = sitting.change(path, choice, sitting.digest)
    assert outcome.done, outcome
    assert str(value_at(sitting.text, path)) == choice
    assert sitting.assessment is not None
    sitting.undo(sitting.digest)
    assert sitting.text == example_text(example)


def test_a_finding_can_be_done_and_its_finding_goes(sit: Sit) -> None:
    sitting = sit()
    sitting.change("pickup.neck.coil.main.poles.up", "south", sitting.digest)
    assert sitting.assessment is not None
    found = next(f for f in sitting.assessment.findings if f.change)
    outcome = sitting.changes(found.change, sitting.digest)
    assert outcome.done, outcome
    assert sitting.assessment is not None
    assert found.code not in [f.code for f in sitting.assessment.findings]


def test_undo_and_redo_walk_the_same_way_back_after_a_restart(sit: Sit) -> None:
    sitting = sit()
    texts = [sitting.text]
    for turns in ("7700", "7600", "7500"):
        sitting.change(TURNS, turns, sitting.digest)
        texts.append(sitting.text)
    sitting.undo(sitting.digest)
    again = sit()
    assert (again.undo_depth, again.redo_depth, again.text) == (2, 1, texts[2])
    for text in (texts[1], texts[0]):
        assert again.undo(again.digest).done
        assert again.path.read_text(encoding="utf-8") == text
    assert not again.undo(again.digest).done
    for text in texts[1:]:
        assert again.redo(again.digest).done
        assert again.path.read_text(encoding="utf-8") == text
    assert not again.redo(again.digest).done


def test_a_new_change_after_undo_gives_up_what_was_undone(sit: Sit) -> None:
    sitting = sit()
    for turns in ("7700", "7600"):
        sitting.change(TURNS, turns, sitting.digest)
    sitting.undo(sitting.digest)
    sitting.change(TURNS, "7000", sitting.digest)
    assert (sit().undo_depth, sit().redo_depth) == (2, 0)


# ---- another program, another page ----


def test_an_editors_change_is_taken_in_and_can_be_undone(sit: Sit) -> None:
    sitting = sit()
    theirs = sitting.text.replace("turns = 7800", "turns = 7100")
    sitting.path.write_text(theirs, encoding="utf-8")
    assert sitting.refresh()
    assert not sitting.refresh()
    assert (sitting.text, sitting.undo_depth) == (theirs, 1)
    assert sitting.undo(sitting.digest).done
    assert sitting.path.read_text(encoding="utf-8") == example_text("heron")


def test_a_change_to_a_file_that_moved_on_is_refused_with_both_texts(sit: Sit) -> None:
    sitting = sit()
    asked = sitting.digest
    theirs = sitting.text.replace('title = "Heron"', 'title = "Edited"')
    sitting.path.write_text(theirs, encoding="utf-8")
    outcome = sitting.change(TURNS, "7000", asked)
    assert not outcome.done
    assert outcome.conflict is not None
    assert outcome.conflict.theirs == theirs == sitting.path.read_text(encoding="utf-8")
    assert value_at(outcome.conflict.mine, TURNS) == 7000
    assert value_at(outcome.conflict.mine, "title") == "Heron"
    assert outcome.conflict.digest == sitting.digest
    assert sitting.change(TURNS, "7000", outcome.conflict.digest).done  # and then both stand
    assert value_at(sitting.text, "title") == "Edited"


def test_an_editor_that_saves_between_reading_and_writing_is_not_written_over(
    sit: Sit, monkeypatch: pytest.MonkeyPatch
) -> None:
    import lodestring.design.toml_write as toml_write

    sitting = sit()
    theirs = sitting.text.replace('title = "Heron"', 'title = "Edited"')
    temporary = toml_write._temporary

    def slow(path: str, raw: bytes) -> str:
        made = temporary(path, raw)
        sitting.path.write_text(theirs, encoding="utf-8")
        return made

    monkeypatch.setattr(toml_write, "_temporary", slow)
    outcome = sitting.change(TURNS, "7000", sitting.digest)
    assert not outcome.done
    assert sitting.path.read_text(encoding="utf-8") == theirs
    assert "changed" in outcome.problems[0].sentence()


def test_two_sittings_on_one_set_never_lose_a_change(sit: Sit) -> None:
    one, other = sit(), sit()
    start = other.digest
    assert one.change(TURNS, "7000", one.digest).done
    late = other.change("title", "Late", start)
    assert late.conflict is not None
    assert other.change("title", "Late", late.digest).done
    assert value_at(one.path.read_text(encoding="utf-8"), TURNS) == 7000
    one.refresh()
    assert (one.undo_depth, other.undo_depth) == (2, 2)
    assert one.undo(one.digest).done
    assert one.undo(one.digest).done
    assert one.text == example_text("heron")


def test_many_threads_at_once_leave_every_accepted_change_in_the_history(sit: Sit) -> None:
    sittings = [sit() for _ in range(4)]
    done: list[int] = []

    def work(number: int) -> None:
        for i in range(5):
            turns = 7000 + 10 * number + i
            sitting = sittings[number]
            for _ in range(100):
                if sitting.change(TURNS, str(turns), sitting.digest).done:
                    done.append(turns)
                    break

    threads = [threading.Thread(target=work, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    again = sit()
    seen = [value_at(again.text, TURNS)]
    while again.undo_depth:
        again.undo(again.digest)
        seen.append(value_at(again.text, TURNS))
    assert len(done) == 20
    assert set(done) <= set(seen)


# ---- files as they come ----


@pytest.mark.parametrize("bom", [b"", b"\xef\xbb\xbf"], ids=["plain", "byte-order-mark"])
def test_a_file_with_windows_line_ends_keeps_them_in_every_line(sit: Sit, bom: bytes) -> None:
    raw = bom + example_text("heron").replace("\n", "\r\n").encode()
    sitting = sit(raw=raw)
    for outcome in (
        sitting.change(TURNS, "7000", sitting.digest),
        sitting.add("pickup.middle", sitting.digest),
        sitting.replace_text(sitting.text.replace("\r\n", "\n").replace("Heron", "Crane"), sitting.digest),
    ):
        assert outcome.done, outcome
    found = sitting.path.read_bytes()
    assert found.startswith(bom + b"# ")
    assert found.count(b"\n") == found.count(b"\r\n") > 80
    while sitting.undo_depth:
        sitting.undo(sitting.digest)
    assert sitting.path.read_bytes() == raw


def test_a_link_stays_a_link_and_what_it_leads_to_is_changed(sit: Sit, tmp_path: Path) -> None:
    home = tmp_path / "elsewhere"
    home.mkdir()
    (home / "real.toml").write_text(example_text("heron"), encoding="utf-8")
    (tmp_path / "heron.toml").symlink_to(home / "real.toml")
    sitting = sit()
    assert sitting.change(TURNS, "7000", sitting.digest).done
    assert (tmp_path / "heron.toml").is_symlink()
    assert value_at((home / "real.toml").read_text(encoding="utf-8"), TURNS) == 7000


def test_a_file_deleted_meanwhile_is_said_and_can_be_put_back(sit: Sit) -> None:
    sitting = sit()
    sitting.path.unlink()
    outcome = sitting.change(TURNS, "7000", sitting.digest)
    assert not outcome.done
    assert "must be there" in outcome.problems[0].sentence()
    assert not sitting.path.exists()
    assert sitting.gone
    assert any("no longer in the folder" in w for w in sitting.words)
    assert sitting.put_back().done
    assert sitting.path.read_text(encoding="utf-8") == example_text("heron")
    assert sitting.change(TURNS, "7000", sitting.digest).done


def test_a_file_another_program_broke_is_shown_with_its_problems_and_can_be_mended(sit: Sit) -> None:
    sitting = sit()
    broken = sitting.text.replace('scale = "686 mm"', 'scale = "686"')
    sitting.path.write_text(broken, encoding="utf-8")
    sitting.refresh()
    assert sitting.assessment is None
    assert [p.path for p in sitting.problems] == ["instrument.scale"]
    assert sitting.change("instrument.scale", "27 in", sitting.digest).done
    assert sitting.problems == ()
    assert sitting.undo(sitting.digest).done
    assert sitting.undo(sitting.digest).done
    assert sitting.text == example_text("heron")


@pytest.mark.parametrize("raw", [b"\xff\xfe\x00x", b"title = [", b"", b"a\x00b", b"\xe9"], ids=repr)
def test_bytes_that_are_no_set_file_open_with_a_problem_and_come_back_by_undo(sit: Sit, raw: bytes) -> None:
    sitting = sit()
    sitting.path.write_bytes(raw)
    sitting.refresh()
    assert sitting.problems
    assert sitting.undo(sitting.digest).done
    assert sitting.redo(sitting.digest).done
    assert sitting.path.read_bytes() == raw


def test_a_broken_workshop_file_is_left_out_of_account_with_a_word(sit: Sit, tmp_path: Path) -> None:
    (tmp_path / "workshop.toml").write_text("format = 1\nrooom = 3\n", encoding="utf-8")
    sitting = sit()
    assert sitting.assessment is not None
    assert any("workshop" in w for w in sitting.words)
    (tmp_path / "workshop.toml").write_text('format = 1\nroom = "30 C"\n', encoding="utf-8")
    assert sitting.words == ()
    assert sitting.assessment.model.inputs.workshop is not None


def test_a_set_that_is_not_there_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(SetFileError, match="must exist"):
        Sitting(tmp_path, "heron")
    for name in ("../heron", "a/b", "", "Heron", "workshop", "nul", ".", "a" * 33):
        with pytest.raises(FileProblem, match="name"):
            Sitting(tmp_path, name)


# ---- parts ----

PARTS = [
    ("heron", "pickup.middle"), ("heron", "pickup.bridge.coil.rear"), ("heron", "pickup.bridge.bar.under"),
    ("heron", "pickup.bridge.cover"), ("heron", "pickup.neck.baseplate"), ("heron", f"{COIL}.foil"),
    ("heron", "harness.volume.bleed"), ("heron", "harness.volume.1"), ("heron", "harness.lead_out"),
    ("heron", "harness.positions.1"), ("heron", "instrument.strings.7"), ("heron-neck-kept", "pickup.extra"),
    ("plover", "instrument.strings.9"), ("wren", "pickup.neck"), ("wren", "harness.volume"), ("wren", "harness.cable"),
    ("plover", "pickup.neck"), ("plover", "pickup.main.cover"), ("plover", "intent.level"),
    ("plover", "harness.positions.4"),
]  # fmt: skip


@pytest.mark.parametrize(("example", "path"), PARTS, ids=[f"{e}-{p}" for e, p in PARTS])
def test_a_part_is_added_computed_marked_assumed_and_removed_again(sit: Sit, example: str, path: str) -> None:
    sitting = sit(example)
    outcome = sitting.add(path, sitting.digest)
    assert outcome.done, outcome
    assert sitting.assessment is not None
    assert value_at(sitting.text, path) is not None
    added = [x for x in lines_changed(example_text(example), sitting.text) if x.startswith("+ ") and "=" in x]
    assert added
    assert all("# assumed" in line or "positions" in line or "name =" in line for line in added), added
    assert not sitting.add(path, sitting.digest).done
    if path != "harness.volume.1":
        assert sitting.remove(path, sitting.digest).done
        kept = tomllib.loads(sitting.text)
        was = tomllib.loads(example_text(example))
        for table in ("instrument", "pickup"):
            assert kept[table] == was[table]


@pytest.mark.parametrize(
    ("example", "path", "words"),
    [
        pytest.param("wren", "pickup.main", "at least one pickup", id="the-only-pickup"),
        pytest.param("wren", "pickup.main.coil.main", "at least one coil", id="the-only-coil"),
        pytest.param("wren", "pickup.none", "must be there", id="what-is-not-there"),
    ],
)
def test_what_must_stay_cannot_be_removed(sit: Sit, example: str, path: str, words: str) -> None:
    sitting = sit(example)
    outcome = sitting.remove(path, sitting.digest)
    assert not outcome.done
    assert words in outcome.problems[0].sentence()


@pytest.mark.parametrize("path", ["pickup.neck", "pickup.bridge"])
def test_a_removed_pickup_leaves_no_name_behind(sit: Sit, path: str) -> None:
    sitting = sit()
    outcome = sitting.remove(path, sitting.digest)
    assert outcome.done, outcome
    name = path.rpartition(".")[2]
    assert f'"{name}' not in sitting.text.replace('"bridge line', "")
    assert sitting.assessment is not None


def test_a_changed_value_is_no_longer_assumed_and_its_neighbours_still_are(sit: Sit) -> None:
    sitting = sit()
    sitting.add("pickup.bridge.cover", sitting.digest)
    sitting.change("pickup.bridge.cover.thickness", "0.6 mm", sitting.digest)
    line = next(x for x in sitting.text.splitlines() if x.startswith("cover"))
    assert line.endswith("# assumed: material, grounded_to")


# ---- anything at all ----


@given(path=st.text(max_size=40) | st.sampled_from([TURNS, "title", "harness.volume", "instrument.strings"]),
       typed=st.none() | st.text(max_size=30))  # fmt: skip
def test_no_path_and_no_text_raises_or_leaves_a_file_that_cannot_be_read(
    path: str, typed: str | None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    home = tmp_path_factory.mktemp("any")
    (home / "wren.toml").write_text(example_text("wren"), encoding="utf-8")
    sitting = Sitting(home, "wren")
    for outcome in (
        sitting.change(path, typed, sitting.digest),
        sitting.add(path, sitting.digest),
        sitting.remove(path, sitting.digest),
        sitting.changes({path: typed}, sitting.digest),
    ):
        assert outcome.done or outcome.problems
    assert sitting.problems == ()
