"""The page of symbols: no letter means two things, and the signatures of physics/ use its names."""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "symbols.md"
PHYSICS = ROOT / "src" / "lodestring" / "physics"
ROW = re.compile(r"^\| ([^|]+) \| `([^`]+)` \| ([^|]+) \| ([^|]+) \|$", re.MULTILINE)
NUMBERS = {"float", "Floats", "NDArray", "ndarray", "ArrayLike"}


def rows() -> list[tuple[str, str]]:
    """Letter and code name of each row."""
    return [(found[1].strip(), found[2]) for found in ROW.finditer(PAGE.read_text(encoding="utf-8"))]


def numeric_parameters(text: str) -> list[tuple[str, int]]:
    """Name and line of each parameter of a public function that is annotated as a number or an array of numbers."""
    out = []
    for node in ast.parse(text).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            for arg in [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]:
                words = set(re.findall(r"\w+", ast.unparse(arg.annotation))) if arg.annotation else set()
                if words & NUMBERS:
                    out.append((arg.arg, arg.lineno))
    return out


def test_no_letter_and_no_code_name_means_two_things() -> None:
    letters, names = zip(*rows(), strict=True)
    assert len(letters) > 20
    assert sorted(set(letters)) == sorted(letters)
    assert sorted(set(names)) == sorted(names)


def test_signatures_of_physics_use_the_names_of_the_page() -> None:
    # a short form may stand in the column of meanings
    known = {name for row in ROW.finditer(PAGE.read_text(encoding="utf-8")) for name in re.findall(r"`(\w+)`", row[0])}
    read = 0
    for path in sorted(PHYSICS.glob("*.py")):
        for name, line in numeric_parameters(path.read_text(encoding="utf-8")):
            read += 1
            assert name in known, f"{path.name}, line {line}: {name} is not on docs/symbols.md"
    assert read > 10, "no signatures were read"


def test_the_reader_of_signatures_sees_numbers_and_passes_over_the_rest() -> None:
    text = "def f(a: float, b: str, *, c: NDArray[np.float64] | None = None): ...\ndef _g(d: float): ...\n"
    assert numeric_parameters(text) == [("a", 1), ("c", 1)]
