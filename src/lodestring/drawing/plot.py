"""Plots as frozen records: axes, series, interval bands, reference marks. SI inside; `plot_layout.py` lays them out.

    Plot(Axes(x, y), series, marks, bands, title=, desc=)     readout(plot, id) -> the figures of one series, for a page

All numbers are checked when a record is made; what is not finite raises DomainError with the item's id.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from lodestring.drawing.look import SeriesLook
from lodestring.drawing.picture import described
from lodestring.errors import DomainError
from lodestring.quantity import USUAL, Units

_ID = re.compile(r"[A-Za-z][A-Za-z0-9_.\-]*")
_LOOKS = (SeriesLook.FIRST, SeriesLook.SECOND, SeriesLook.THIRD, SeriesLook.FOURTH, SeriesLook.FIFTH)


SMALLEST, LARGEST = 1e-15, 1e15
"""Plotted values stay below LARGEST, those on a logarithmic axis above SMALLEST: past that no words would fit."""


def apart(low: float, high: float) -> bool:
    """Whether two ends of an axis can be told apart in the figures written along it."""
    return high - low > max(SMALLEST, 1e-6 * max(abs(low), abs(high)))


class Scale(StrEnum):
    """How values lie along an axis."""

    LINEAR = "linear"
    LOG = "log"


@dataclass(frozen=True, slots=True)
class Axis:
    """label: what is plotted, without the unit. unit: one of contract 2's. low, high: None takes what the data need.

    units: in which the maker wants the words along it; values are SI all the same.
    """

    label: str
    unit: str = "1"
    scale: Scale = Scale.LINEAR
    low: float | None = None
    high: float | None = None
    units: Units = USUAL

    def __post_init__(self) -> None:
        _finite(f"axis '{self.label}'", [v for v in (self.low, self.high) if v is not None])
        if self.low is not None and self.high is not None and not apart(self.low, self.high):
            raise DomainError(f"axis '{self.label}': low is below high", f"{self.low:g} and {self.high:g}")
        if self.scale is Scale.LOG:
            _positive(f"axis '{self.label}'", [v for v in (self.low, self.high) if v is not None])


@dataclass(frozen=True, slots=True)
class Axes:
    """The two axes of a plot."""

    x: Axis
    y: Axis


@dataclass(frozen=True, slots=True)
class Series:
    """A line through points (x[i], y[i]), in order. look: None gives each series of a plot the next one."""

    id: str
    label: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    look: SeriesLook | None = None

    def __post_init__(self) -> None:
        _named("Series", self.id)
        _finite(f"Series '{self.id}'", self.x, self.y)
        _same_length(f"Series '{self.id}'", self.x, self.y)


@dataclass(frozen=True, slots=True)
class Band:
    """The interval from low[i] to high[i] at x[i], shaded. of: the id of the series whose look it takes."""

    id: str
    x: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    of: str = ""

    def __post_init__(self) -> None:
        _named("Band", self.id)
        _finite(f"Band '{self.id}'", self.x, self.low, self.high)
        _same_length(f"Band '{self.id}'", self.x, self.low, self.high)
        if any(a > b for a, b in zip(self.low, self.high, strict=True)):
            raise DomainError(f"Band '{self.id}': low is not above high", "the two exchanged")


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of one axis shaded across the plot, with its words: the usual range, say. along: `x` or `y`."""

    id: str
    label: str
    low: float
    high: float
    along: str = "y"

    def __post_init__(self) -> None:
        _named("Span", self.id)
        _finite(f"Span '{self.id}'", [self.low, self.high])
        if self.along not in ("x", "y") or self.low >= self.high:
            raise DomainError(
                f"Span '{self.id}': along x or y, low below high", f"{self.along}, {self.low}, {self.high}"
            )


@dataclass(frozen=True, slots=True)
class Mark:
    """A reference: x alone is an upright line, y alone a level one, both a point with a line up to its words."""

    id: str
    label: str
    x: float | None = None
    y: float | None = None

    def __post_init__(self) -> None:
        _named("Mark", self.id)
        values = [v for v in (self.x, self.y) if v is not None]
        if not values:
            raise DomainError(f"Mark '{self.id}' has an x, a y or both", "neither")
        _finite(f"Mark '{self.id}'", values)


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot. height_mm: on paper, None takes 0.62 of the width within 45 and 95 mm."""

    axes: Axes
    series: tuple[Series, ...]
    marks: tuple[Mark, ...] = ()
    bands: tuple[Band | Span, ...] = ()
    title: str = ""
    desc: str = ""
    height_mm: float | None = None

    def __post_init__(self) -> None:
        described(self.title, self.desc)
        everything: list[Series | Mark | Band | Span] = [*self.series, *self.marks, *self.bands]
        ids = [item.id for item in everything]
        if len(set(ids)) != len(ids):
            twice = next(i for i in ids if ids.count(i) > 1)
            raise DomainError("each id in a plot is used once", f"'{twice}' twice", "another id")
        known = {s.id for s in self.series}
        for band in self.bands:
            if isinstance(band, Band) and band.of and band.of not in known:
                raise DomainError(f"Band '{band.id}': `of` is the id of a series of the plot", f"'{band.of}'")
        if self.height_mm is not None and not (math.isfinite(self.height_mm) and self.height_mm >= 30):
            raise DomainError("a plot is 30 mm high or more", f"{self.height_mm}")
        for along, axis in (("x", self.axes.x), ("y", self.axes.y)):
            if axis.scale is Scale.LOG:
                for item_id, values in _along(self, along):
                    _positive(f"'{item_id}' on the logarithmic axis '{axis.label}'", values)

    def looks(self) -> dict[str, SeriesLook]:
        """The look of each series and band, by id. Free looks are dealt in turn; a sixth series starts them again."""
        taken = [s.look for s in self.series]
        free = [look for look in _LOOKS if look not in taken] or list(_LOOKS)
        out: dict[str, SeriesLook] = {}
        dealt = 0
        for s in self.series:
            if s.look is None:
                out[s.id] = free[dealt % len(free)]
                dealt += 1
            else:
                out[s.id] = s.look
        for band in self.bands:
            if isinstance(band, Band):
                out[band.id] = out[band.of] if band.of else SeriesLook.KEPT
        return out


def readout(plot: Plot, id: str) -> dict[str, object]:
    """`{id, x, y, unit, label}` of one series or point mark, for the page's read-out: SI figures, `unit` {x, y}."""
    unit = {"x": plot.axes.x.unit, "y": plot.axes.y.unit}
    for series in plot.series:
        if series.id == id:
            return {"id": id, "x": list(series.x), "y": list(series.y), "unit": unit, "label": series.label}
    for mark in plot.marks:
        if mark.id == id:
            x, y = ([] if v is None else [v] for v in (mark.x, mark.y))
            return {"id": id, "x": x, "y": y, "unit": unit, "label": mark.label}
    known = ", ".join([s.id for s in plot.series] + [m.id for m in plot.marks])
    raise DomainError("a read-out is asked for by the id of a series or mark", f"'{id}'", f"one of {known}")


def extent(plot: Plot, along: str) -> tuple[float, float]:
    """Low and high of all that is plotted along `x` or `y`; (0, 1) if nothing is."""
    values = [v for _, vs in _along(plot, along) for v in vs]
    return (min(values), max(values)) if values else (0.0, 1.0)


def _along(plot: Plot, along: str) -> Iterable[tuple[str, Sequence[float]]]:
    for s in plot.series:
        yield s.id, s.x if along == "x" else s.y
    for m in plot.marks:
        value = m.x if along == "x" else m.y
        if value is not None:
            yield m.id, (value,)
    for b in plot.bands:
        if isinstance(b, Band):
            yield b.id, b.x if along == "x" else (*b.low, *b.high)
        elif b.along == along:
            yield b.id, (b.low, b.high)


def _named(kind: str, id: str) -> None:
    if not _ID.fullmatch(id):
        raise DomainError(f"the id of a {kind} is a letter, then letters, digits, '_', '.' or '-'", repr(id))


def _finite(label: str, *columns: Sequence[float]) -> None:
    for column in columns:
        for value in column:
            if not abs(value) <= LARGEST:
                raise DomainError(
                    f"{label} holds finite numbers up to {LARGEST:g}", f"{value}", "leaving the point out"
                )


def _positive(label: str, values: Sequence[float]) -> None:
    for value in values:
        if value < SMALLEST:
            raise DomainError(
                f"{label} is above 0 (at least {SMALLEST:g})", f"{value:g}", "a linear axis, or leaving the point out"
            )


def _same_length(label: str, *columns: Sequence[float]) -> None:
    lengths = [len(c) for c in columns]
    if len(set(lengths)) != 1 or lengths[0] == 0:
        raise DomainError(f"{label} has columns of one length, at least 1", ", ".join(map(str, lengths)))
