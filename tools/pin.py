"""Writes requirements/tested.txt: names and versions of what `make test` ran with, and no addresses."""

from __future__ import annotations

import platform
from importlib.metadata import distributions
from pathlib import Path

OUT = Path(__file__).resolve().parent.parent / "requirements" / "tested.txt"
OURS = {"lodestring", "pip", "setuptools", "wheel"}


def main() -> None:
    """From the environment this runs in; not from pip's own listing, which names files and addresses."""
    pins = sorted({f"{d.name.lower().replace('_', '-')}=={d.version}" for d in distributions() if d.name not in OURS})
    head = f"# What make test was last run with (Python {platform.python_version()}); for reading, not required."
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text("\n".join([head, *pins]) + "\n", encoding="utf-8")
    print(f"{OUT.relative_to(OUT.parent.parent)}: {len(pins)} packages")


if __name__ == "__main__":
    main()
