"""The choice of units in the workshop file: written whole, all else letter for letter, and never blindly."""

from __future__ import annotations

from pathlib import Path

import pytest

from lodestring.assess.shown import shown
from lodestring.design.read import read_workshop
from lodestring.errors import FileProblem, LodestringError
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import assess_here
from lodestring.folder.shown_units import choose, chosen

SHOP = '# mine\nformat = 1\nroom = "21 C"   # by the window\n'


def test_a_choice_makes_the_file_where_there_is_none_and_is_read_back(tmp_path: Path) -> None:
    choose(tmp_path, {"length": "inch fractions"}, chosen(tmp_path).digest)
    found = {c.key: c.chosen for c in chosen(tmp_path).choices}
    assert found == {"length": "inch fractions", "wire": "", "mass": "", "force": ""}


def test_all_else_in_the_file_stays_letter_for_letter(tmp_path: Path) -> None:
    path = tmp_path / "workshop.toml"
    path.write_text(SHOP)
    choose(tmp_path, {"length": "inch decimals", "mass": "oz"}, chosen(tmp_path).digest)
    assert path.read_text().startswith(SHOP)
    choose(tmp_path, {"length": "", "mass": ""}, chosen(tmp_path).digest)
    assert SHOP.rstrip() in path.read_text()
    record = read_workshop(path.read_bytes(), "workshop.toml").record
    assert record.shown is None or record.shown.length is None


def test_a_file_that_was_changed_since_is_not_written_over(tmp_path: Path) -> None:
    before = chosen(tmp_path).digest
    (tmp_path / "workshop.toml").write_text(SHOP)
    with pytest.raises(FileProblem, match="changed since"):
        choose(tmp_path, {"length": "mm"}, before)
    assert (tmp_path / "workshop.toml").read_text() == SHOP


WRONG = {
    "a unit there is not": {"length": "furlong"},
    "a choice there is not": {"colour": "red"},
    "a line more": {"mass": 'g"\nx = 1'},
}


@pytest.mark.parametrize("wanted", WRONG.values(), ids=WRONG)
def test_a_choice_that_is_none_is_refused_and_nothing_written(wanted: dict[str, str], tmp_path: Path) -> None:
    path = tmp_path / "workshop.toml"
    path.write_text(SHOP)
    with pytest.raises(LodestringError):
        choose(tmp_path, wanted, chosen(tmp_path).digest)
    assert path.read_text() == SHOP


def test_a_file_with_problems_of_its_own_says_so(tmp_path: Path) -> None:
    (tmp_path / "workshop.toml").write_text("format = 1\nroom = 3\n")
    assert "room" in chosen(tmp_path).problem or chosen(tmp_path).problem.endswith(".")


def test_the_figures_of_a_set_follow_and_their_si_values_do_not_move(tmp_path: Path) -> None:
    path = tmp_path / "heron.toml"
    path.write_text(example_text("heron"), encoding="utf-8")
    key = "pickup.bridge.coil.main.outer_length"
    plain = assess_here(path)
    value, words = plain.facts[key].number, shown(plain.facts[key], plain.units)
    choose(tmp_path, {"length": "inch fractions"}, "")
    again = assess_here(path)
    assert again.facts[key].number == value
    told = shown(again.facts[key], again.units)
    assert words.unit == "mm"
    assert told.unit == "in"
    assert "/" in told.value
