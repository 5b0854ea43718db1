"""Build sheet and template of a set file as PDF files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lodestring.assess.report import Assessment
from lodestring.errors import FileProblem
from lodestring.folder.open_set import assess_here
from lodestring.folder.whole_file import check_target, same_place, write_whole
from lodestring.paper.press import Printed
from lodestring.paper.sheet import sheet_pdf
from lodestring.paper.sizes import paper_named
from lodestring.paper.template import template_pdf

BEGINS = b"%PDF"


@dataclass(frozen=True, slots=True)
class Written:
    """A PDF that was written, and how many pages it has."""

    path: Path
    pages: int


def write_sheet(set_path: Path, out: Path, paper: str = "a4") -> Written:
    """Write the build sheet of a set file. Raises LodestringError and its kinds; nothing is then written."""
    return _write(set_path, out, paper, sheet_pdf)


def write_template(set_path: Path, out: Path, paper: str = "a4") -> Written:
    """Write the paper template of a set file. As `write_sheet`; raises too where every pickup is kept."""
    return _write(set_path, out, paper, template_pdf)


def _write(set_path: Path, out: Path, paper: str, draw: Callable[[Assessment, str], Printed]) -> Written:
    paper_named(paper)
    if same_place(set_path, out):
        raise FileProblem(
            "the PDF must not be written over the set file", f'"{out}" for both', f"-o {set_path.stem}.pdf"
        )
    check_target(out, BEGINS, "PDF")  # before the work, so that a slip is told at once
    printed = draw(assess_here(set_path), paper)
    write_whole(out, printed.pdf, BEGINS, "PDF")
    return Written(out, printed.pages)
