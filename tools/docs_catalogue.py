"""The catalogue page: every row with figures, spread, conditions, source, place, how known; then the sources."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lodestring.reference import HOW_KNOWN, Row, Source, Value, catalogue

KNOWN = {
    "standard read": "the source itself was read",
    "second-hand": "read in a copy or a transcription of the source",
    "memory hi": "recalled, quite sure",
    "memory mid": "recalled, fairly sure",
    "memory lo": "recalled, not sure",
    "common practice": "what the trade does; no source",
    "assumed": "nobody has measured it for this purpose; a guess with a wide spread",
    "computed": "worked out from other rows or by definition",
}

TITLES = {"wire-awg": "Wire by gauge", "wire-metric": "Wire by metric size", "wire-strength": "Strength of wire"}

HEAD = """
# Catalogue

Every figure that the calculations take from outside, as it is shipped. The first column of a table names the figure.
**As printed** is what the source says; the next columns are the same in the unit that is counted with, and the lower
and upper end of its spread. What the two ends mean is said in the row's conditions. A figure that is missing is missing
on purpose: it is not guessed.

`lodestring catalogue` prints the same tables at the shell.

## How a figure is known
"""


def page() -> str:
    """The whole page."""
    book = catalogue()
    parts = [HEAD.strip(), table(["word", "meaning"], ([word, KNOWN[word]] for word in HOW_KNOWN))]
    for name in book.tables():
        parts.append(f"## {TITLES.get(name, name.capitalize())}")
        parts += [part for row in book.table(name) for part in row_parts(row)]
    parts += ["## Sources", *sources(book.sources().values())]
    return "\n\n".join(parts)


def row_parts(row: Row) -> Iterator[str]:
    """Title and id, the figures, what holds for all of them."""
    yield f"### {plain(row.title)}"
    names = f"Also called {plain(', '.join(row.also))}. " if row.also else ""
    yield (
        f"`{row.id}`. {names}{plain(row.conditions[:1].upper() + row.conditions[1:])}. "
        f"Source: {link(row.source)}; {plain(row.place)}; {row.known}."
    )
    yield table(
        ["figure", "as printed", "value", "low", "high", "unit", "from elsewhere"],
        (figure(name, value, row) for name, value in row.values.items()),
    )


def figure(name: str, value: Value, row: Row) -> list[str]:
    """One line; the last cell says what differs from the row's own source."""
    elsewhere = []
    if value.source != row.source:
        elsewhere.append(link(value.source))
    if value.place != row.place:
        elsewhere.append(plain(value.place))
    if value.known != row.known:
        elsewhere.append(value.known)
    if value.text:
        return [name.replace("_", " "), plain(value.text), "", "", "", "", "; ".join(elsewhere)]
    numbers = [number(part) for part in (value.value, value.low, value.high)]
    return [name.replace("_", " "), plain(value.written), *numbers, plain(value.unit), "; ".join(elsewhere)]


def sources(all_of_them: Iterable[Source]) -> Iterator[str]:
    """An anchor each, so that a row can point to its source."""
    for source in all_of_them:
        said = [plain(part) for part in (source.what, source.year, source.address) if part]
        yield f"(source-{source.id})=\n**{source.id}**: {plain(source.title)}. {plain('; '.join(said))}."


def link(source_id: str) -> str:
    """A reference to the source at the foot of the page."""
    return f"[{source_id}](#source-{source_id})"


def number(value: float | None) -> str:
    """Six figures: enough to find a slip, few enough to read."""
    return "" if value is None else f"{value:.6g}"


def table(head: list[str], rows: Iterable[list[str]]) -> str:
    """A table in Markdown."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def plain(text: str) -> str:
    """Free text, with nothing in it that Markdown would read as markup."""
    for sign in "\\`*_|<>[]$#":
        text = text.replace(sign, f"\\{sign}")
    return text
