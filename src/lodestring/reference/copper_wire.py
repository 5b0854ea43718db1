"""Copper wire: what a size and a film measure, what pull the bench gives it, how far it stretches.

The default bare diameter is the *rounded* nominal of the magnet-wire tables, to which spools are made; the unrounded
formula of the gauge is a row of its own (`wire.awg-N.formula`) and differs by up to 1.5 % (3 % in resistance).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

from lodestring.errors import CatalogueError, DomainError
from lodestring.reference.records import Row, Spread
from lodestring.reference.store import Catalogue, catalogue

FILMS = ("single", "heavy", "grade 1", "grade 2")
_NEMA = {"single": "nema-single", "heavy": "nema-heavy"}
_IEC = {"single": "iec-grade-1", "heavy": "iec-grade-2", "grade 1": "iec-grade-1", "grade 2": "iec-grade-2"}
_SAME_SIZE = 0.25e-6  # m; metric sizes are whole micrometres apart
_TABLE_SLACK = 1.05  # a gauge may lie 5 % outside a table and take its end row: 36 and 46 AWG do


class WireSize(Protocol):
    """A named size: `system` "AWG" with a `number`, or "metric" with a `diameter` in metres."""

    @property
    def system(self) -> str: ...
    @property
    def number(self) -> float | None: ...
    @property
    def diameter(self) -> float | None: ...


@dataclass(frozen=True, slots=True)
class Wire:
    """Bare and overall diameter in metres; low and high are the standard's least and greatest."""

    label: str
    bare: Spread
    overall: Spread
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TensionBand:
    """Pull on the wire in newtons. `note` says how the figures were got when the size is not in the table itself."""

    usual_low: float
    usual_high: float
    warn: float
    breaks_low: float
    breaks_high: float
    rows: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Elongation:
    """Least elongation at break, as a ratio. `note` says when the end row stands in for a size outside the table."""

    least: float
    rows: tuple[str, ...]
    note: str


def wire(size: WireSize, film: str, tables: Catalogue | None = None) -> Wire:
    """Bare and overall diameter of a size with its film.

    `film`: "single" or "heavy" for a gauge; those or "grade 1" (= single) and "grade 2" (= heavy) for a metric size.
    Raises CatalogueError that says which figure is missing and which neighbouring sizes have it.
    """
    shelf = tables or catalogue()
    if size.system == "AWG" and size.number is not None:
        return _by_gauge(shelf, size.number, film)
    if size.system == "metric" and size.diameter is not None:
        return _by_diameter(shelf, size.diameter, film)
    raise CatalogueError(
        "a wire size must be a gauge or a metric size", f"the system {size.system!r}", "42 AWG or 0.063 mm"
    )


def gauge_number(diameter: float) -> float:
    """The gauge, unrounded, of a bare diameter in metres: n = 36 - 39 log92(d / 0.127 mm), inverse of ASTM B258."""
    if not diameter > 0 or not math.isfinite(diameter):
        raise DomainError("a wire's diameter must be greater than zero", f"{diameter!r} m", "a bare diameter")
    return 36 - 39 * math.log(diameter / 0.127e-3, 92)


def gauge_diameter(number: int, tables: Catalogue | None = None) -> float:
    """Bare diameter of a gauge [m]: the rounded nominal of the magnet-wire tables, by the formula where they end."""
    rounded = _rounded(tables or catalogue(), number)
    return 0.127e-3 * 92 ** ((36 - number) / 39) if rounded is None else rounded


def wire_sizes(tables: Catalogue | None = None) -> tuple[str, ...]:
    """Every size of the catalogue, as it is typed: gauges first."""
    shelf = tables or catalogue()
    gauges = [f"{n:g} AWG" for n in _gauges(shelf, "rounded")]
    return (*gauges, *(f"{d * 1e3:.3f} mm" for d in _diameters(shelf, "conductor")))


def _by_gauge(shelf: Catalogue, number: float, film: str) -> Wire:
    if film not in _NEMA:
        raise CatalogueError(
            "a gauge's film must be single or heavy", repr(film), "'single' for grade 1, 'heavy' for grade 2"
        )
    stem = f"wire.awg-{number:g}"
    nominal, coated = shelf.find(f"{stem}.rounded"), shelf.find(f"{stem}.{_NEMA[film]}")
    if nominal is None or coated is None:
        missing = "bare and overall diameter" if nominal is None else f"the overall diameter with {film} film"
        have = [f"{n:g} AWG" for n in _nearest(number, _gauges(shelf, _NEMA[film]))]
        raise _missing(f"{number:g} AWG", missing, have)
    limits = coated["bare"].spread()
    bare = Spread(limits.low, nominal["bare"].spread().nominal, limits.high)
    return Wire(f"{number:g} AWG", bare, coated["overall"].spread(), (nominal.id, coated.id))


def _by_diameter(shelf: Catalogue, diameter: float, film: str) -> Wire:
    if film not in _IEC:
        raise CatalogueError("a film must be one of: " + ", ".join(FILMS), repr(film), "'grade 1', the thin one")
    label = f"{diameter * 1e3:.3f} mm"
    stem = f"wire.mm-{diameter * 1e3:.3f}"
    conductor, coated = shelf.find(f"{stem}.conductor"), shelf.find(f"{stem}.{_IEC[film]}")
    named = conductor is not None and abs(conductor["bare"].spread().nominal - diameter) < _SAME_SIZE
    if conductor is None or coated is None or not named:
        missing = "bare and overall diameter" if not named else f"the overall diameter with {film} film"
        have = [f"{d * 1e3:.3f} mm" for d in _nearest(diameter, _diameters(shelf, _IEC[film]))]
        raise _missing(f"{diameter * 1e3:.6g} mm", missing, have)
    return Wire(label, conductor["bare"].spread(), coated["overall"].spread(), (conductor.id, coated.id))


def _missing(label: str, what: str, neighbours: list[str]) -> CatalogueError:
    return CatalogueError(
        "a wire size must be one the catalogue has figures for",
        f"{label}, of which {what} is missing",
        f"a neighbour that has it: {' or '.join(neighbours)}" if neighbours else "a size that `catalogue wire` lists",
    )


def _gauges(shelf: Catalogue, kind: str) -> list[float]:
    return [
        float(r.id.split("awg-")[1].removesuffix(f".{kind}"))
        for r in shelf.table("wire-awg")
        if r.id.endswith(f".{kind}")
    ]


def _diameters(shelf: Catalogue, kind: str) -> list[float]:
    ids = [r.id for r in shelf.table("wire-metric") if r.id.endswith(f".{kind}")]
    return [float(i.split("mm-")[1].removesuffix(f".{kind}")) * 1e-3 for i in ids]


def _nearest(to: float, among: list[float]) -> list[float]:
    return sorted(sorted(among, key=lambda x: abs(x - to))[:2])


def tension_band(awg_or_diameter: float, tables: Catalogue | None = None) -> TensionBand:
    """The bench's band of winding tension, in newtons, for a gauge number (1 and more) or a bare diameter in metres.

    Gauges 40 to 44 are rows. Any other size is interpolated by section between the rows, or scaled in proportion to the
    section beyond them (down to 0.035 mm and up to 0.14 mm), and `note` says so. Common practice, no source.
    """
    shelf = tables or catalogue()
    rows = [r for r in shelf.table("bands") if r.id.startswith("band.tension.awg-")]
    section = {r.id: (_rounded(shelf, float(r.id.rsplit("-", 1)[1])) or 0.0) ** 2 for r in rows}
    if awg_or_diameter >= 1:
        row = shelf.find(f"band.tension.awg-{awg_or_diameter:g}")
        if row is not None:
            return _tension(((row, 1.0),), "")
        diameter = _rounded(shelf, awg_or_diameter)
        label = f"{awg_or_diameter:g} AWG"
    else:
        diameter, label = awg_or_diameter, f"{awg_or_diameter * 1e3:.4g} mm"
    if diameter is None or not 0.035e-3 <= diameter <= 0.14e-3:
        raise CatalogueError(
            "winding tension is known for 0.035 to 0.14 mm (36 to 46 AWG)", label, "a size in that range"
        )
    rows.sort(key=lambda r: section[r.id])
    here = diameter**2
    for thin, thick in pairwise(rows):
        if section[thin.id] <= here <= section[thick.id]:
            share = (here - section[thin.id]) / (section[thick.id] - section[thin.id])
            return _tension(
                ((thin, 1 - share), (thick, share)), f"{label}: interpolated by section between neighbouring gauges"
            )
    end = rows[0] if here < section[rows[0].id] else rows[-1]
    return _tension(((end, here / section[end.id]),), f"{label}: scaled by section from {end.title.rsplit(', ', 1)[1]}")


def _rounded(shelf: Catalogue, gauge: float) -> float | None:
    row = shelf.find(f"wire.awg-{gauge:g}.rounded")
    return None if row is None else row["bare"].value


def _tension(parts: tuple[tuple[Row, float], ...], note: str) -> TensionBand:
    usual = [(r["usual"].spread(), w) for r, w in parts]
    breaks = [(r["breaks"].spread(), w) for r, w in parts]
    return TensionBand(
        usual_low=sum(s.low * w for s, w in usual),
        usual_high=sum(s.high * w for s, w in usual),
        warn=sum(r["warn"].spread().nominal * w for r, w in parts),
        breaks_low=sum(s.low * w for s, w in breaks),
        breaks_high=sum(s.high * w for s, w in breaks),
        rows=tuple(r.id for r, _ in parts),
        note=note,
    )


def elongation(diameter: float, tables: Catalogue | None = None) -> Elongation:
    """Least elongation at break of annealed wire of a bare diameter in metres, linear between the rows of IS 13730.

    Up to 5 % outside the table the end row is taken, and `note` says so; further out it raises CatalogueError.
    """
    shelf = tables or catalogue()
    points = [
        (r["diameter"].spread().nominal, r["elongation"].spread().nominal, r.id)
        for r in shelf.table("wire-strength")
        if r.id.startswith("strength.elongation.")
    ]
    points.sort()
    (thinnest, at_thinnest, first), (thickest, at_thickest, last) = points[0], points[-1]
    if not thinnest / _TABLE_SLACK <= diameter <= thickest * _TABLE_SLACK:
        raise CatalogueError(
            f"elongation is known for {thinnest * 1e3:g} to {thickest * 1e3:g} mm",
            f"{diameter * 1e3:.4g} mm",
            "a size in that range",
        )
    for (d0, e0, thin), (d1, e1, thick) in pairwise(points):
        if d0 <= diameter <= d1:
            return Elongation(e0 + (e1 - e0) * (diameter - d0) / (d1 - d0), (thin, thick), "")
    end, least, row = (thinnest, at_thinnest, first) if diameter < thinnest else (thickest, at_thickest, last)
    return Elongation(least, (row,), f"the row of {end * 1e3:g} mm stands in for {diameter * 1e3:.4g} mm")
