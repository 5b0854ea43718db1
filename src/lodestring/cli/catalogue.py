"""The catalogue's tables as text, 80 columns wide, each row with its source and how it is known."""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterator

from lodestring.errors import CatalogueError
from lodestring.reference import Row, catalogue, describe

WIDTH = 80
ABOUT = {
    "wire-awg": "wire by gauge: bare and overall diameters",
    "wire-metric": "wire by conductor diameter",
    "wire-strength": "how far copper wire stretches, and what it bears",
    "enamel": "kinds of enamel",
    "metals": "conductors and pole metals",
    "magnets": "magnet grades, typical and guaranteed",
    "plastics": "materials of plates and bobbins",
    "waxes": "waxes and the bath",
    "strings": "string steel and wraps",
    "screws": "clearance holes",
    "making": "ways of making parts, fits, and small fittings",
    "coins": "coins as weights",
    "bands": "what the bench calls usual, and thresholds",
    "cautions": "cautions, by stage of the work",
}


def listing() -> str:
    """Which tables there are."""
    shelf = catalogue()
    lines = ["Tables of the catalogue; lodestring catalogue NAME prints one, wire all three:"]
    lines += [f"  {n:<15}{len(shelf.table(n)):>4} rows  {ABOUT.get(n, '')}".rstrip() for n in shelf.tables()]
    lines.append(f"\n{shelf.digest}")
    return "\n".join(lines)


def table(what: str) -> str:
    """One table, or every table whose name starts with `what`, or one row by its id. Raises CatalogueError."""
    shelf = catalogue()
    names = [n for n in shelf.tables() if n == what or n.startswith(f"{what}-")]
    if names:
        return "\n".join(line for name in names for line in _table(name, shelf.table(name)))
    row = shelf.find(what)
    if row is not None:
        return "\n".join(_row(row))
    near = difflib.get_close_matches(what, shelf.tables(), n=1)
    raise CatalogueError(
        f"the catalogue has the tables {', '.join(shelf.tables())}", f'"{what}"', near[0] if near else "one of those"
    )


def _table(name: str, rows: tuple[Row, ...]) -> Iterator[str]:
    yield f"{name}: {ABOUT.get(name, '')}".rstrip(": ")
    yield "-" * WIDTH
    for row in rows:
        yield from _row(row)
        yield ""


def _row(row: Row) -> Iterator[str]:
    told = describe(row)
    head = f"{told['title']}  [{told['id']}]"
    yield from textwrap.wrap(head, WIDTH, subsequent_indent="  ", break_on_hyphens=False)
    for figure in told["values"].split("; "):
        yield from textwrap.wrap(figure, WIDTH - 4, initial_indent="    ", subsequent_indent="      ")
    if told["conditions"]:
        yield from textwrap.wrap(told["conditions"], WIDTH - 4, initial_indent="    ", subsequent_indent="    ")
    source = f"{told['source']}, {told['place']}. Known: {told['known']}."
    yield from textwrap.wrap(source, WIDTH - 4, initial_indent="    ", subsequent_indent="    ")
