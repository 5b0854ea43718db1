"""What can go wrong is said in one sentence of three parts (house style 9)."""

from __future__ import annotations

import pytest

from lodestring import errors
from lodestring.errors import LodestringError, Problem, SetFileError

SENTENCES = {
    "all three": (
        ("a gap must be more than 0 mm", "-2 mm", "2 mm"),
        "a gap must be more than 0 mm; came -2 mm; try 2 mm",
    ),
    "nothing to try": (("a gap is needed", "none", ""), "a gap is needed; came none"),
    "nothing came": (("a gap is needed", "", "2 mm"), "a gap is needed; try 2 mm"),
    "only what must hold": (("a gap is needed", "", ""), "a gap is needed"),
}


@pytest.mark.parametrize(("parts", "expected"), SENTENCES.values(), ids=SENTENCES.keys())
def test_the_sentence_says_what_must_hold_what_came_and_what_to_try(parts: tuple[str, str, str], expected: str) -> None:
    error = LodestringError(*parts)
    assert str(error) == expected
    assert (error.must, error.came, error.attempt) == parts


def test_a_set_file_error_tells_all_problems_a_line_each() -> None:
    problems = [Problem("pickup.neck.gap", "must be given", line=7), Problem("", "must be TOML", "a picture")]
    error = SetFileError("heron.toml", problems)
    assert str(error).splitlines() == [
        "heron.toml:7: pickup.neck.gap: must be given",
        "heron.toml: must be TOML; came a picture",
    ]


def test_every_error_has_the_one_root() -> None:
    kinds = [thing for thing in vars(errors).values() if isinstance(thing, type) and issubclass(thing, Exception)]
    assert len(kinds) > 3
    assert all(issubclass(kind, LodestringError) for kind in kinds)
