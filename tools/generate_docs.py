"""Writes the pages of docs/ that are made from the code; with `--check` writes nothing and fails where one is behind.

A page is a function without arguments that returns the whole text. To add one, write the function in a module of its
own beside this file (docs_NAME.py) and name it in PAGES.
"""

from __future__ import annotations

import difflib
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import docs_assessment
import docs_catalogue
import docs_charges
import docs_commands
import docs_findings
import docs_set_file

ROOT = Path(__file__).resolve().parent.parent
NOTICE = "<!-- Made by tools/generate_docs.py from the code: change the code, then run `make docs-pages`. -->\n\n"

# path under the project -> what makes its text
PAGES: dict[str, Callable[[], str]] = {
    "docs/set-file.md": docs_set_file.set_page,
    "docs/workshop-file.md": docs_set_file.workshop_page,
    "docs/assessment.md": docs_assessment.page,
    "docs/findings.md": docs_findings.page,
    "docs/commands.md": docs_commands.page,
    "docs/catalogue.md": docs_catalogue.page,
    "docs/pictures/charges.svg": docs_charges.picture,
}


def text_of(make: Callable[[], str]) -> str:
    """The page as it stands in the file: notice first, one line end last."""
    return NOTICE + make().strip("\n") + "\n"


def behind(pages: Mapping[str, Callable[[], str]], root: Path) -> dict[str, str]:
    """Pages that differ from what the code would make now -> the first lines of the difference."""
    out = {}
    for name, make in pages.items():
        path, new = root / name, text_of(make)
        old = path.read_text(encoding="utf-8") if path.exists() else ""
        if old != new:
            lines = difflib.unified_diff(
                old.splitlines(), new.splitlines(), "in the file", "from the code", lineterm="", n=0
            )
            out[name] = "\n".join(list(lines)[:12])
    return out


def write(pages: Mapping[str, Callable[[], str]], root: Path) -> list[str]:
    """Write the pages that have fallen behind; their names."""
    names = list(behind(pages, root))
    for name in names:
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text_of(pages[name]), encoding="utf-8")
    return names


def main(arguments: list[str]) -> int:
    """0: all pages agree, or were written; 1: with --check, some have fallen behind."""
    if arguments == ["--check"]:
        found = behind(PAGES, ROOT)
        for name, difference in found.items():
            print(f"{name} has fallen behind the code; run: make docs-pages\n{difference}")
        return 1 if found else 0
    if arguments:
        print(f"generate_docs: the only option is --check; came {' '.join(arguments)}", file=sys.stderr)
        return 2
    for name in write(PAGES, ROOT):
        print(f"wrote {name}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
