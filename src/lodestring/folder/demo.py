"""The main job on every example, into one folder: set files, figures as JSON, build sheets, templates."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from lodestring.assess.report import Assessment, as_json
from lodestring.design.toml_write import write_new
from lodestring.errors import FileProblem, LodestringError
from lodestring.folder.examples import example_text, examples
from lodestring.folder.open_set import assess_here
from lodestring.folder.printed import BEGINS
from lodestring.folder.whole_file import write_whole
from lodestring.paper.sheet import sheet_pdf
from lodestring.paper.template import template_pdf

FIRST = "heron"
JSON_BEGINS = b'{\n "assessment"'


def run(folder: Path) -> Iterator[str]:
    """Do it, and tell one line for each thing made, and last what to look at first.

    A file of ours that was changed is left alone, said so, and used as it stands; what is made from it is made anew.
    Raises FileProblem where the folder cannot be made or written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        came = error.strerror or type(error).__name__
        raise FileProblem(f'"{folder}" must be a folder, or a name for a new one', came, "another name") from None
    yield _lay("workshop", folder)
    for name, what in examples().items():
        yield f"{_lay(name, folder)} ({what})"
        try:
            assessment = assess_here(folder / f"{name}.toml")
            yield from _make(assessment, name, folder)
        except LodestringError as error:
            yield f"{name}: nothing more made: {str(error).splitlines()[0]}"
    first = folder / f"{FIRST}-sheet.pdf"
    yield f"Look first at {first}: page 1 is the set at a glance, then comes a page for each coil."


def _lay(name: str, folder: Path) -> str:
    """Put an example into the folder unless a file of that name is there."""
    path, text = folder / f"{name}.toml", example_text(name)
    if not path.exists():
        write_new(path, text)
        return str(path)
    try:
        same = path.read_bytes() == text.encode()
    except OSError as error:
        raise FileProblem(f'"{path}" must be readable', error.strerror or type(error).__name__) from None
    return str(path) if same else f"{path}: differs from the example, so it was left alone"


def _make(assessment: Assessment, name: str, folder: Path) -> Iterator[str]:
    figures = folder / f"{name}-figures.json"
    text = json.dumps(as_json(assessment), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    write_whole(figures, text.encode(), JSON_BEGINS, "file of figures")
    yield str(figures)
    for kind, draw in (("sheet", sheet_pdf), ("template", template_pdf)):
        printed = draw(assessment, "a4")
        path = folder / f"{name}-{kind}.pdf"
        write_whole(path, printed.pdf, BEGINS, "PDF")
        yield f"{path} ({printed.pages} {'page' if printed.pages == 1 else 'pages'})"
