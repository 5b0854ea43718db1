"""States kept to compare: whole, named, stored with the set, and nothing thrown away."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lodestring.errors import FileProblem, SetFileError
from lodestring.folder.examples import example_text
from lodestring.folder.places import kept_folder
from lodestring.folder.sitting import Sitting

Sit = Callable[..., Sitting]
TURNS = "pickup.bridge.coil.main.turns"


def test_a_kept_state_is_compared_as_it_was_after_the_set_has_moved_on_and_after_a_restart(sit: Sit) -> None:
    sitting = sit()
    state = sitting.keep("  fewer   turns ")
    sitting.change(TURNS, "7000", sitting.digest)
    again = sit()
    assert [(k.label, k.digest) for k in again.kept()] == [("fewer turns", state.digest)]
    assert again.compare(state.id).number(TURNS) == 7800
    assert again.assessment is not None
    assert again.assessment.number(TURNS) == 7000


def test_a_forgotten_state_leaves_the_list_and_lies_in_the_bin(sit: Sit, tmp_path: Path) -> None:
    sitting = sit()
    state = sitting.keep("one")
    sitting.keep("two")
    sitting.forget(state.id)
    assert [k.label for k in sitting.kept()] == ["two"]
    assert len(list(tmp_path.glob(f".lodestring/bin/forgotten/heron-{state.id}.json"))) == 1
    for act in (sitting.forget, sitting.compare):
        for id in (state.id, "../../heron", ""):
            with pytest.raises(FileProblem, match="kept"):
                act(id)


@pytest.mark.parametrize("label", ["x" * 81, "a\x07b", "\u202e"], ids=["long", "bell", "turned-round"])
def test_a_label_is_one_printable_line(sit: Sit, label: str) -> None:
    sitting = sit()
    with pytest.raises(FileProblem, match="label"):
        sitting.keep(label)
    assert sitting.kept() == ()


def test_a_state_without_a_label_is_called_by_its_time(sit: Sit) -> None:
    assert sit().keep(" ").label.startswith("as of 2")


def test_a_damaged_kept_state_is_passed_over_and_a_broken_one_tells_its_problems(sit: Sit, tmp_path: Path) -> None:
    sitting = sit()
    home = kept_folder(tmp_path, "heron")
    home.mkdir(parents=True)
    for name, body in (("0123456789ab", "{"), ("0123456789ac", "[1]"), ("notes", "{}")):
        (home / f"{name}.json").write_text(body, encoding="utf-8")
    assert sitting.kept() == ()
    sitting.path.write_text(example_text("heron").replace('"686 mm"', '"686"'), encoding="utf-8")
    state = sitting.keep("broken")
    with pytest.raises(SetFileError, match="unit"):
        sitting.compare(state.id)
