"""What the project's own files must and must not hold."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

import lodestring

ROOT = Path(__file__).resolve().parent.parent
NOT_OURS = {"build", "dist", "__pycache__", "node_modules"}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

# Written in pieces, so that this file does not hold what it looks for.
REGISTRIES = ["pypi" + ".org", "python" + "hosted", "npm" + "js", "js" + "delivr", "un" + "pkg", "deb.deb" + "ian.org"]
PLACES = re.compile(r"(?<![\w.])/(?:work|tmp|home|root|opt|Users|mnt)/" + r"\w|[A-Z]:\\" + r"Users")


def files() -> Iterator[Path]:
    """All that is committed: no build results, nothing whose name begins with a dot but .ci and .gitignore."""
    folders = [ROOT]
    while folders:
        for path in sorted(folders.pop().iterdir()):
            hidden = path.name.startswith(".") and path.name not in {".ci", ".gitignore"}
            if hidden or path.name in NOT_OURS or path.suffix == ".egg-info":
                continue
            if path.is_dir():
                folders.append(path)
            else:
                yield path


def complaints(text: str) -> list[str]:
    """Lines that name a package registry or a place on somebody's machine."""
    return [
        line.strip()
        for line in text.splitlines()
        if PLACES.search(line) or any(name in line.lower() for name in REGISTRIES)
    ]


BAD_LINES = {
    "registry": "index = https://" + "pypi" + ".org/simple",
    "script from afar": "<script src='https://cdn.js" + "delivr.net/x.js'>",
    "work folder": "open('" + "/work" + "/main/x')",
    "temporary folder": "see " + "/tmp" + "/x",
    "home folder": "PATH=" + "/home" + "/ann/bin",
    "windows home": "C:" + "\\Users\\ann",
}


@pytest.mark.parametrize("line", BAD_LINES.values(), ids=BAD_LINES.keys())
def test_the_reader_of_addresses_and_places_sees_a_planted_one(line: str) -> None:
    assert complaints(f"fine\n{line}\nfine") == [line.strip()]


def test_no_file_names_a_registry_or_a_place_on_a_machine() -> None:
    seen, found = 0, []
    for path in files():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        seen += 1
        found += [f"{path.relative_to(ROOT)}: {line}" for line in complaints(text)]
    assert seen > 20
    assert not found, "\n".join(found)


def imported(folder: Path) -> dict[str, str]:
    """First names of all that is imported from outside the standard library -> one file that does."""
    out: dict[str, str] = {}
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) and not node.level else []
            out.update({name.split(".")[0]: str(path.relative_to(ROOT)) for name in names})
    own = {
        "lodestring",
        "tests",
        *(p.stem for p in (ROOT / "tools").glob("*.py")),
        *(p.stem for p in folder.rglob("*.py")),
    }
    return {name: path for name, path in out.items() if name not in sys.stdlib_module_names and name not in own}


def declared(*extras: str) -> set[str]:
    rows = [*PROJECT["dependencies"], *(row for extra in extras for row in PROJECT["optional-dependencies"][extra])]
    return {re.split(r"[<>=~!\[ ;]", row)[0].lower() for row in rows}


@pytest.mark.parametrize(
    ("folder", "extras"),
    [("src", ["parts", "cluster"]), ("tests", ["dev", "witness", "parts", "cluster"])],
    ids=["the package", "the tests"],
)
def test_everything_imported_is_declared(folder: str, extras: list[str]) -> None:
    # pydantic asks for one exact pydantic_core and hands out its types
    allowed, brought_by = declared(*extras) | {"pydantic_core"}, packages_distributions()
    for name, path in imported(ROOT / folder).items():
        names = {dist.lower() for dist in brought_by.get(name, [name])}
        assert names & allowed, f"{path} imports {name}; declare it in pyproject.toml"


def test_the_version_is_written_once() -> None:
    assert PROJECT["dynamic"] == ["version"]
    assert re.fullmatch(r"\d+\.\d+\.\d+(\.dev\d+|rc\d+)?", lodestring.__version__)
    holders = [
        p for p in (ROOT / "src").rglob("*.py") if f'"{lodestring.__version__}"' in p.read_text(encoding="utf-8")
    ]
    assert [p.name for p in holders] == ["version.py"]
