"""What the bench calls usual: bands and thresholds by name, and the kinds of coil with what tells them apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from lodestring.errors import CatalogueError
from lodestring.reference.materials import names
from lodestring.reference.naming import unknown_name
from lodestring.reference.records import Row, Spread, Value
from lodestring.reference.store import catalogue

_FIGURES = ("turns", "resistance", "inductance")


@dataclass(frozen=True, slots=True)
class Criteria:
    """What tells a kind of coil: ranges are inclusive, "any" fits all; `fretless_only` is for a lap steel."""

    strings: tuple[int, int]
    coils: tuple[int, int]
    body: str
    layout: str
    awg: tuple[int, int]
    fretless_only: bool

    def fit(self, strings: int, coils: int, body: str, layout: str, awg: int, frets: int | None = None) -> bool:
        """Does a coil fit? `body` is "magnet" or "steel", `layout` a set file's layout kind, `awg` the nearest gauge.

        `frets` None or 0 means not known or none.
        """
        return (
            self.strings[0] <= strings <= self.strings[1]
            and self.coils[0] <= coils <= self.coils[1]
            and self.body in ("any", body)
            and self.layout in ("any", layout)
            and self.awg[0] <= awg <= self.awg[1]
            and not (self.fretless_only and frets)
        )


@dataclass(frozen=True, slots=True)
class CoilKind:
    """A kind of coil: `bands` hold `turns` (of each coil), `resistance` (ohm) and `inductance` (H) of the pickup."""

    name: str
    criteria: Criteria
    bands: Mapping[str, Spread]
    row: str


def band(name: str) -> Value:
    """A band or threshold: `wax.note`, `packing.hand`, or `tension.awg-42.warn` where the row has several figures.

    Raises CatalogueError with the names there are.
    """
    shelf = catalogue()
    row = shelf.find(f"band.{name}")
    if row is not None:
        if len(row.values) == 1:
            return next(iter(row.values.values()))
        figures = ", ".join(f"{name}.{figure}" for figure in row.values)
        raise CatalogueError("a band of several figures must be asked for by figure", repr(name), f"one of: {figures}")
    stem, _, figure = name.rpartition(".")
    row = shelf.find(f"band.{stem}") if stem else None
    if row is None or figure not in row.values:
        raise unknown_name("a band", name, names("bands"))
    return row[figure]


def band_row(name: str) -> str:
    """Id of the row that holds a band asked for by `band`. Raises CatalogueError as it does."""
    band(name)
    return f"band.{name if catalogue().find(f'band.{name}') is not None else name.rpartition('.')[0]}"


def coil_kinds() -> tuple[CoilKind, ...]:
    """All kinds of coil of the catalogue, in its order."""
    return tuple(_kind(r) for r in catalogue().table("bands") if r.id.startswith("band.kind."))


def _kind(row: Row) -> CoilKind:
    criteria = Criteria(
        strings=_whole(row, "strings"),
        coils=_whole(row, "coils"),
        body=row["body"].text,
        layout=row["layout"].text,
        awg=_whole(row, "awg"),
        fretless_only="frets" in row.values,
    )
    return CoilKind(row.title, criteria, MappingProxyType({f: row[f].spread() for f in _FIGURES}), row.id)


def _whole(row: Row, name: str) -> tuple[int, int]:
    spread = row[name].spread()
    return round(spread.low), round(spread.high)
