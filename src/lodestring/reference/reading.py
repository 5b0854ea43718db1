"""One data file -> checked rows. A row that lacks anything does not load.

File: `[common.NAME]` tables hold keys that several rows share; each `[[row]]` may name one with `common = "NAME"`.
A figure is `{ value, unit, spread }` (spread: `{ low, high }`, `{ half }`, `{ percent }` or "exact"), a band
`{ low, high, unit }`, or a text `{ text }`; it may carry its own `source`, `place`, `known`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Any

from lodestring.errors import CatalogueError
from lodestring.reference.records import HOW_KNOWN, Row, Source, Value
from lodestring.reference.units import known_units, si_unit, to_si

_TEXTS = ("id", "title", "conditions", "source", "place", "known")
_ROW_KEYS = {*_TEXTS, "values", "also", "common"}
_OWN = ("source", "place", "known")
_NUMBER = {"value", "unit", "spread", *_OWN}
_BAND = {"low", "high", "unit", *_OWN}
_TEXT = {"text", *_OWN}


class _Where:
    """Builds the error for one row: it always names the file and the row."""

    def __init__(self, file: str, row: str) -> None:
        self.file = file
        self.row = row

    def error(self, must: str, came: str) -> CatalogueError:
        return CatalogueError(f"{self.file}: {self.row}: {must}", came, "mending the row in the data file")


def parse_toml(file: str, data: bytes) -> dict[str, Any]:
    """The file as a dictionary. Raises CatalogueError that names the file."""
    import tomllib  # deferred: `import lodestring.reference` touches no table

    try:
        return tomllib.loads(data.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise CatalogueError(f"{file}: a catalogue file must be UTF-8 TOML", str(problem), "mending the file") from None


def read_sources(file: str, data: bytes) -> Mapping[str, Source]:
    """All sources by id. Raises CatalogueError when one lacks a key or comes twice."""
    found: dict[str, Source] = {}
    for number, raw in enumerate(parse_toml(file, data).get("source", []), start=1):
        where = _Where(file, f"source {raw.get('id', number)}")
        for name in ("id", "title", "what", "year"):
            _text(where, raw, name)
        if raw["id"] in found:
            raise where.error("a source id must be used once", "the same id again")
        found[raw["id"]] = Source(raw["id"], raw["title"], raw["what"], raw["year"], raw.get("address", ""))
    return MappingProxyType(found)


def read_rows(file: str, data: bytes, prefix: str, sources: Collection[str]) -> tuple[Row, ...]:
    """All rows of a file, in its order; every id starts with `prefix`, every source is one of `sources`."""
    whole = parse_toml(file, data)
    common = whole.get("common", {})
    rows: dict[str, Row] = {}
    for number, raw in enumerate(whole.get("row", []), start=1):
        row = _row(file, number, raw, common, prefix, sources)
        if row.id in rows:
            raise _Where(file, f"row {row.id}").error("a row id must be used once", "the same id again")
        rows[row.id] = row
    if not rows:
        raise CatalogueError(f"{file}: a catalogue file must hold rows", "none", "adding [[row]] tables")
    return tuple(rows.values())


def _row(
    file: str, number: int, raw: dict[str, Any], common: dict[str, Any], prefix: str, sources: Collection[str]
) -> Row:
    where = _Where(file, f"row {raw.get('id', number)}")
    name = raw.get("common")
    if name is not None and name not in common:
        raise where.error("`common` must name a [common.NAME] table of the same file", repr(name))
    merged = {**common.get(name, {}), **raw} if name is not None else raw
    if odd := sorted(set(merged) - _ROW_KEYS):
        raise where.error("a row has only the keys the loader knows", f"{', '.join(odd)}")
    for text in _TEXTS:
        _text(where, merged, text)
    if not merged["id"].startswith(prefix):
        raise where.error(f"an id in this file must start with `{prefix}`", repr(merged["id"]))
    _provenance(where, merged, sources)
    values = merged.get("values")
    if not isinstance(values, dict) or not values:
        raise where.error("a row must have `values`", "a row without values")
    return Row(
        id=merged["id"],
        title=merged["title"],
        values=MappingProxyType({k: _value(where, k, v, merged, sources) for k, v in values.items()}),
        conditions=merged["conditions"],
        source=merged["source"],
        place=merged["place"],
        known=merged["known"],
        also=tuple(merged.get("also", ())),
    )


def _text(where: _Where, raw: Mapping[str, Any], name: str) -> None:
    got = raw.get(name)
    if got is None:
        raise where.error(f"a row must have `{name}`", f"a row without `{name}`")
    if not isinstance(got, str) or not got.strip():
        raise where.error(f"`{name}` must be a text that says something", repr(got))


def _provenance(where: _Where, raw: Mapping[str, Any], sources: Collection[str]) -> None:
    if raw["source"] not in sources:
        raise where.error("`source` must be an id of sources.toml", repr(raw["source"]))
    if raw["known"] not in HOW_KNOWN:
        raise where.error(f"`known` must be one of: {', '.join(HOW_KNOWN)}", repr(raw["known"]))


def _value(where: _Where, name: str, raw: Any, row: Mapping[str, Any], sources: Collection[str]) -> Value:
    here = _Where(where.file, f"{where.row}: values.{name}")
    if not isinstance(raw, dict):
        raise here.error("a figure must be { value, unit, spread }, { low, high, unit } or { text }", repr(raw))
    own = {k: raw.get(k, row[k]) for k in _OWN}
    _provenance(here, own, sources)
    if "text" in raw:
        _only(here, raw, _TEXT)
        _text(here, raw, "text")
        return Value(None, "", raw["text"], None, None, raw["text"], own["source"], own["place"], own["known"])
    unit = raw.get("unit")
    if unit is None:
        raise here.error("a figure must have `unit`", "a figure without `unit`")
    if unit not in known_units():
        raise here.error(f"`unit` must be one of: {', '.join(known_units())}", repr(unit))
    if "value" in raw or "spread" in raw:
        _only(here, raw, _NUMBER)
        value = _number(here, raw, "value")
        low, high = _spread(here, value, raw.get("spread"))
        written = _written(f"{value:.10g}", unit)
        if not low == value == high:
            written += f" ({low:.10g} to {high:.10g})"
    else:
        _only(here, raw, _BAND)
        low, high = _number(here, raw, "low"), _number(here, raw, "high")
        value, written = None, _written(f"{low:.10g} to {high:.10g}", unit)
    if not low <= (low if value is None else value) <= high:
        raise here.error("low <= value <= high must hold", f"low {low:g}, value {value}, high {high:g}")
    si = None if value is None else to_si(value, unit)
    low_si, high_si = to_si(low, unit), to_si(high, unit)
    return Value(si, si_unit(unit), "", low_si, high_si, written, own["source"], own["place"], own["known"])


def _spread(here: _Where, value: float, spread: Any) -> tuple[float, float]:
    """Low and high in the source's own unit (a half-width in C must not get the zero of the Celsius scale)."""
    if spread is None:
        raise here.error("a number must have `spread`", "a number without `spread`")
    if spread == "exact":
        return value, value
    if isinstance(spread, dict):
        if set(spread) == {"low", "high"}:
            return _number(here, spread, "low"), _number(here, spread, "high")
        if set(spread) == {"half"}:
            half = _number(here, spread, "half")
            return value - half, value + half
        if set(spread) == {"percent"}:
            half = abs(value) * _number(here, spread, "percent") / 100
            return value - half, value + half
    raise here.error('`spread` must be { low, high }, { half }, { percent } or "exact"', repr(spread))


def _number(here: _Where, raw: Mapping[str, Any], name: str) -> float:
    got = raw.get(name)
    if got is None:
        raise here.error(f"a figure must have `{name}`", f"a figure without `{name}`")
    if isinstance(got, bool) or not isinstance(got, int | float) or not math.isfinite(got):
        raise here.error(f"`{name}` must be a finite number", repr(got))
    return float(got)


def _only(here: _Where, raw: Mapping[str, Any], allowed: Collection[str]) -> None:
    if odd := sorted(set(raw) - set(allowed)):
        raise here.error("a figure has only the keys the loader knows", ", ".join(odd))


def _written(number: str, unit: str) -> str:
    if unit == "1":
        return number
    return f"{number} {'°C' if unit == 'C' else unit}"
