"""Prints the lowest version of each requirement of the package itself, as constraints: `numpy==2.0`, one a line."""

from __future__ import annotations

import tomllib
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"


def lowest(requirements: list[str]) -> list[str]:
    """`["numpy>=2.0"]` -> `["numpy==2.0"]`. Every requirement has exactly a lower end."""
    return [f"{name}=={version}" for name, _, version in (row.partition(">=") for row in requirements)]


if __name__ == "__main__":
    print("\n".join(lowest(tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["dependencies"])))
