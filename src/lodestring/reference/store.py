"""The catalogue: cited tables, each file read when it is first asked for.

TOML parsing is slow against the start-up budget, so nothing is read on import and an assessment reads only the tables
it names. The digest covers the bytes of all files and needs no parsing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

from lodestring.errors import CatalogueError
from lodestring.reference.naming import unknown_name
from lodestring.reference.reading import read_rows, read_sources
from lodestring.reference.records import Row, Source

# table (and file) name -> how its row ids start
PREFIX: Mapping[str, str] = {
    "wire-awg": "wire.awg-",
    "wire-metric": "wire.mm-",
    "wire-strength": "strength.",
    "enamel": "enamel.",
    "metals": "metal.",
    "magnets": "magnet.",
    "plastics": "plastic.",
    "waxes": "wax.",
    "strings": "string.",
    "screws": "screw.",
    "making": "making.",
    "coins": "coin.",
    "bands": "band.",
    "cautions": "caution.",
}
_JOINED = {"wire": ("wire-awg", "wire-metric", "wire-strength")}
_SOURCES = "sources.toml"


def _packaged(file: str) -> bytes:
    from importlib import resources  # deferred: costs more than all of this module

    return resources.files("lodestring.reference").joinpath("data", file).read_bytes()


class Catalogue:
    """All tables. Immutable from outside; `read` gives the bytes of a data file by name."""

    __slots__ = ("_digest", "_read", "_rows", "_sources", "_tables")

    def __init__(self, read: Callable[[str], bytes] = _packaged) -> None:
        self._read = read
        self._tables: dict[str, tuple[Row, ...]] = {}
        self._rows: dict[str, Row] = {}
        self._sources: Mapping[str, Source] | None = None
        self._digest = ""

    def tables(self) -> tuple[str, ...]:
        """The names of the tables, in the order they are printed."""
        return tuple(PREFIX)

    def table(self, name: str) -> tuple[Row, ...]:
        """The rows of a table; `wire` is the three wire tables together. Raises CatalogueError for another name."""
        if name in _JOINED:
            return tuple(row for part in _JOINED[name] for row in self.table(part))
        if name not in PREFIX:
            raise unknown_name("a table", name, (*PREFIX, *_JOINED))
        if name not in self._tables:
            file = f"{name}.toml"
            rows = read_rows(file, self._read(file), PREFIX[name], self.sources())
            self._tables[name] = rows
            self._rows.update((row.id, row) for row in rows)
        return self._tables[name]

    def find(self, row_id: str) -> Row | None:
        """The row with this id, or None."""
        if row_id not in self._rows:
            for name, prefix in PREFIX.items():
                if row_id.startswith(prefix):
                    self.table(name)
        return self._rows.get(row_id)

    def row(self, row_id: str) -> Row:
        """The row with this id. Raises CatalogueError (did you mean) when there is none."""
        row = self.find(row_id)
        if row is not None:
            return row
        for name, prefix in PREFIX.items():
            if row_id.startswith(prefix):
                raise unknown_name("a row id", row_id, tuple(r.id for r in self.table(name)))
        raise CatalogueError(
            "a row id must start with the name of its table",
            repr(row_id),
            f"one that starts with {', '.join(sorted(PREFIX.values()))}",
        )

    def sources(self) -> Mapping[str, Source]:
        """All sources by id."""
        if self._sources is None:
            self._sources = read_sources(_SOURCES, self._read(_SOURCES))
        return self._sources

    def source(self, source_id: str) -> Source:
        """The source with this id. Raises CatalogueError when there is none."""
        if source_id not in self.sources():
            raise unknown_name("a source", source_id, tuple(self.sources()))
        return self.sources()[source_id]

    @property
    def digest(self) -> str:
        """`sha256:` over names and bytes of all data files, in a fixed order: names the catalogue in an assessment."""
        if not self._digest:
            import hashlib

            total = hashlib.sha256()
            for file in (_SOURCES, *(f"{name}.toml" for name in PREFIX)):
                # line ends are made equal so that a checkout with CRLF is the same catalogue
                data = self._read(file).replace(b"\r\n", b"\n")
                total.update(f"{file} {len(data)}\n".encode())
                total.update(data)
            self._digest = f"sha256:{total.hexdigest()}"
        return self._digest


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """The catalogue that ships with the package."""
    return Catalogue()
