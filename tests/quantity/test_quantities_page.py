"""docs/quantities.md says what may be typed; each of its examples is read here."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lodestring.errors import QuantityError
from lodestring.quantity import Kind, read, read_note, read_wire_size, units

PAGE = (Path(__file__).parents[2] / "docs" / "quantities.md").read_text(encoding="utf-8")
SECTIONS = {title.strip(): body for title, body in re.findall(r"^## (.+)\n((?:(?!## ).*\n?)*)", PAGE, re.MULTILINE)}
CODE = r"`([^`]+)`"


def _rows(title: str) -> list[tuple[str, str]]:
    return re.findall(rf"^\| {CODE} \| {CODE} \|$", SECTIONS[title], re.MULTILINE)


def _title(kind: Kind) -> str:
    return kind.value.capitalize()


EXAMPLES = [(kind, typed, same) for kind in Kind for typed, same in _rows(_title(kind))]
REFUSED = re.findall(rf"^\| ([a-z ]+) \| {CODE} \| {CODE} \|$", SECTIONS["What is refused"], re.MULTILINE)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_has_a_section_with_an_example(kind: Kind) -> None:
    assert _rows(_title(kind))


@pytest.mark.parametrize("kind", [k for k in Kind if k is not Kind.RATIO])
def test_the_page_lists_exactly_the_units_that_are_accepted(kind: Kind) -> None:
    (line,) = re.findall(r"^Units: (.+)$", SECTIONS[_title(kind)], re.MULTILINE)
    assert tuple(re.findall(CODE, line)) == units(kind)


@pytest.mark.parametrize(("kind", "typed", "same"), EXAMPLES, ids=[f"{k}: {t}" for k, t, _ in EXAMPLES])
def test_an_example_on_the_page_is_read_as_the_page_says(kind: Kind, typed: str, same: str) -> None:
    # Exact: both texts denote the same real number, and each is rounded once.
    assert read(typed, kind) == read(same, kind)


@pytest.mark.parametrize(("wanted", "typed", "attempt"), REFUSED)
def test_what_the_page_calls_refused_is_refused_with_that_proposal(wanted: str, typed: str, attempt: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read(typed, Kind(wanted))
    assert f'"{attempt}"' in caught.value.attempt
    read(attempt, Kind(wanted))


@pytest.mark.parametrize(("typed", "label"), _rows("Wire size"))
def test_a_wire_size_on_the_page_is_read_as_the_page_says(typed: str, label: str) -> None:
    assert read_wire_size(typed).label == label


@pytest.mark.parametrize(("typed", "frequency"), _rows("Note"))
def test_a_note_on_the_page_has_the_frequency_the_page_says(typed: str, frequency: str) -> None:
    # 3e-6: the page gives six digits.
    assert read_note(typed).frequency == pytest.approx(read(frequency, Kind.FREQUENCY).value, rel=3e-6)


def test_the_refused_table_was_found() -> None:
    assert len(REFUSED) >= 10
