"""Runs every bench_*.py beside this file and prints one table."""

from __future__ import annotations

import importlib
import platform
from pathlib import Path


def main() -> None:
    """The machine first, since a time without one says nothing."""
    print(f"Python {platform.python_version()}, {platform.system()} {platform.machine()}")
    for path in sorted(Path(__file__).resolve().parent.glob("bench_*.py")):
        print(f"\n{path.stem.removeprefix('bench_')}")
        for row in importlib.import_module(path.stem).rows():
            print(f"  {row.what:<36} {row.times.text()}  {row.target}")


if __name__ == "__main__":
    main()
