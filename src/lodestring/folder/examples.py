"""The examples that come with the package, and a new set file made from one."""

from __future__ import annotations

import difflib
from importlib.resources import files
from pathlib import Path

from lodestring.design.toml_write import write_new
from lodestring.errors import LodestringError

SHELF = "lodestring.examples"


def examples() -> dict[str, str]:
    """Each example's name and what it is: the first comment line of its file."""
    out = {}
    for item in sorted(files(SHELF).iterdir(), key=lambda i: i.name):
        name = item.name.removesuffix(".toml")
        if name != item.name and name != "workshop":
            first = item.read_text(encoding="utf-8").splitlines()[0]
            out[name] = first.lstrip("# ").rstrip(".")
    return out


def example_text(name: str) -> str:
    """The text of an example's file. Raises LodestringError with the names there are."""
    known = examples()
    if name not in known and name != "workshop":
        near = difflib.get_close_matches(name, known, n=1)
        raise LodestringError(
            f"there must be an example of that name ({', '.join(known)})",
            f'"{name}"',
            near[0] if near else "one of those",
        )
    return files(SHELF).joinpath(f"{name}.toml").read_text(encoding="utf-8")


def start_from(name: str, path: Path) -> None:
    """Write a copy of an example as a new set file; an existing file is never overwritten."""
    text = example_text(name)
    write_new(path, text)
