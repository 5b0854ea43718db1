"""A row as texts, for printing: what stands there, where it comes from, how it is known."""

from __future__ import annotations

from lodestring.reference.records import Row
from lodestring.reference.store import catalogue


def describe(row: Row) -> dict[str, str]:
    """Printable strings under id, title, values, conditions, source, address, place, known.

    A figure with a source of its own says so behind it, in brackets.
    """
    source = catalogue().source(row.source)
    figures = []
    for name, value in row.values.items():
        text = f"{name.replace('_', ' ')} {value.written}"
        if (value.source, value.place, value.known) != (row.source, row.place, row.known):
            text += f" [{catalogue().source(value.source).title}, {value.place}; {value.known}]"
        figures.append(text)
    return {
        "id": row.id,
        "title": row.title,
        "values": "; ".join(figures),
        "conditions": row.conditions,
        "source": f"{source.title} ({source.year})",
        "address": source.address,
        "place": row.place,
        "known": row.known,
    }
