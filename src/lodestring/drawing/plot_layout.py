"""A plot's layout and drawing. Labels stand in the margins, where no curve can run through them.

Series are labelled at their right ends, pushed apart where they would touch; if the margin cannot hold the words, a key
stands below the axis instead. Upright marks carry their words above the frame, in as many tiers as it takes.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from lodestring.drawing import clipping, ticks
from lodestring.drawing.figures import unit_sign
from lodestring.drawing.plot import (
    SMALLEST,
    Axis,
    Mark,
    Plot,
    Scale,
    Series,
    Span,
    apart,
    extent,
)
from lodestring.drawing.text import shorten, text_width_mm

SIZE = 3.0
"""Font size, mm: about 11 px on a page."""
ROW = 1.3 * SIZE
EDGE = 1.0
GUIDE = 5.0
"""Between the frame and the words at a line's end."""
TICK = 1.2
FLATTEST = 28.0
"""A frame is not lower than this, mm."""


@dataclass(frozen=True, slots=True)
class Ruler:
    """One axis laid out: values low..high onto start..end (mm)."""

    low: float
    high: float
    log: bool
    start: float
    end: float

    def at(self, value: float) -> float:
        """Place of a value, mm; values outside lie outside (a logarithmic axis never meets one not above 0)."""
        if self.log:
            share = math.log(value / self.low) / math.log(self.high / self.low)
        else:
            share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


@dataclass(frozen=True, slots=True)
class Layout:
    """A plot laid out at one width. Everything in mm, y up, (0, 0) the lower left corner of the picture."""

    width: float
    height: float
    x: Ruler
    y: Ruler
    x_ticks: ticks.Ticks
    y_ticks: ticks.Ticks
    beside: bool
    key: tuple[tuple[tuple[Series, str, float], ...], ...]
    flags: tuple[tuple[Mark | Span, str, float, float, int], ...]

    def frame(self) -> clipping.Box:
        return (self.x.start, self.y.start, self.x.end, self.y.end)


def rails(plot: Plot, width: float) -> dict[str, object]:
    """Where the frame lies in the picture of this width, so that a page turns a pointer into values: mm, y DOWN.

    `{width, height, x: {start, end, low, high, scale}, y: {...}}`: `start` is where `low` lies.
    """
    lay = layout(plot, width)
    out: dict[str, object] = {"width": lay.width, "height": lay.height}
    for name, ruler, turn in (("x", lay.x, False), ("y", lay.y, True)):
        start, end = (lay.height - ruler.start, lay.height - ruler.end) if turn else (ruler.start, ruler.end)
        scale = "log" if ruler.log else "linear"
        out[name] = {"start": start, "end": end, "low": ruler.low, "high": ruler.high, "scale": scale}
    return out


def layout(plot: Plot, width: float) -> Layout:
    """Everything placed for a picture `width` mm wide; it grows taller where marks and key need the room."""
    height = plot.height_mm or min(max(0.62 * width, 45.0), 95.0)
    xs, ys = _range(plot, "x", plot.axes.x), _range(plot, "y", plot.axes.y)
    y_ticks = _ticks(plot.axes.y, ys, max(2, int(height / 11)))
    left = EDGE + max((text_width_mm(w, SIZE) for w in y_ticks.words), default=0.0) + TICK + 1.0
    names = [s.label for s in plot.series] + [m.label for m in plot.marks if m.x is None]
    names += [b.label for b in plot.bands if isinstance(b, Span) and b.along == "y"]
    widest = max((text_width_mm(n, SIZE) for n in names), default=0.0)
    rows = len([n for n in names if n])
    beside = widest + GUIDE + EDGE <= 0.36 * width and rows * ROW <= height - 6 * ROW
    right = width - (widest + GUIDE + EDGE if beside and rows else 3.0)
    key = () if beside else _key(plot, width)
    x_ticks = _x_ticks(plot.axes.x, xs, right - left)
    bottom = EDGE + TICK + 2.2 * ROW + len(key) * ROW
    x = Ruler(xs[0], xs[1], plot.axes.x.scale is Scale.LOG, left, right)
    caption = text_width_mm(y_caption(plot, y_ticks, width), SIZE)
    flags = _flags(plot, x, width, beside, caption)
    tiers = max((f[4] + 1 for f in flags), default=1)
    top = height - EDGE - tiers * ROW - 0.3 * SIZE
    # Marks and long keys make the picture taller rather than the frame flatter than it is readable.
    grow = max(0.0, bottom + FLATTEST - top)
    y = Ruler(ys[0], ys[1], plot.axes.y.scale is Scale.LOG, bottom, top + grow)
    return Layout(width, height + grow, x, y, x_ticks, y_ticks, beside, key, flags)


def _range(plot: Plot, along: str, axis: Axis) -> tuple[float, float]:
    low, high = extent(plot, along)
    open_low, open_high = axis.low is None, axis.high is None
    low = low if axis.low is None else axis.low
    high = high if axis.high is None else axis.high
    log = axis.scale is Scale.LOG
    if not apart(low, high):
        low, high = _opened(axis, low, high)
    if log or along == "x":
        return low, high
    step = ticks.step_for(high - low, 8)
    if in_inches(axis):  # the frame ends at a mark of the axis
        made = ticks.inches(low, high, axis.units, 8).at
        step = made[1] - made[0] if len(made) > 1 else step
    low = step * math.floor(low / step + 1e-9) if open_low else low
    high = step * math.ceil(high / step - 1e-9) if open_high else high
    return low, high


def _opened(axis: Axis, low: float, high: float) -> tuple[float, float]:
    """Room about data of (nearly) one value, or data that all lie beyond a fixed end; a fixed end stays."""
    log = axis.scale is Scale.LOG
    about = max(abs(low), abs(high))
    about = about if about > 1e3 * SMALLEST else 1.0
    wide = (low / 2, high * 2) if log else (low - about / 2, high + about / 2)
    low = wide[0] if axis.low is None else axis.low
    high = wide[1] if axis.high is None else axis.high
    if not apart(low, high):
        if axis.high is None:
            high = low * 10 if log else low + about
        else:
            low = high / 10 if log else high - about
    return low, high


def in_inches(axis: Axis) -> bool:
    """Whether the words along an axis are inches. A logarithmic axis of lengths there is none of."""
    return axis.unit == "m" and axis.units.inches and axis.scale is Scale.LINEAR


def _ticks(axis: Axis, ends: tuple[float, float], most: int) -> ticks.Ticks:
    if in_inches(axis):
        return ticks.inches(ends[0], ends[1], axis.units, most)
    make = ticks.logarithmic if axis.scale is Scale.LOG else ticks.linear
    return make(ends[0], ends[1], axis.unit, most)


def _x_ticks(axis: Axis, ends: tuple[float, float], room: float) -> ticks.Ticks:
    """The most ticks whose words do not touch."""
    ruler = Ruler(ends[0], ends[1], axis.scale is Scale.LOG, 0.0, room)
    made = _ticks(axis, ends, 2)
    for most in (12, 9, 7, 5, 4, 3, 2):
        made = _ticks(axis, ends, most)
        places = [(ruler.at(v), text_width_mm(w, SIZE)) for v, w in zip(made.at, made.words, strict=True)]
        pairs = itertools.pairwise(places)
        if all(q - p >= (a + b) / 2 + 0.9 * SIZE for (p, a), (q, b) in pairs):
            return made
    return made


def _key(plot: Plot, width: float) -> tuple[tuple[tuple[Series, str, float], ...], ...]:
    """Rows of (series, words, place) below the axis."""
    rows: list[list[tuple[Series, str, float]]] = [[]]
    at = EDGE
    for s in plot.series:
        if not s.label:
            continue
        words = shorten(s.label, SIZE, width - 2 * EDGE - 12.0)
        need = 12.0 + text_width_mm(words, SIZE) + 3.0
        if rows[-1] and at + need - 3.0 > width - EDGE:
            rows.append([])
            at = EDGE
        rows[-1].append((s, words, at))
        at += need
    return tuple(tuple(r) for r in rows if r)


def _flags(
    plot: Plot, x: Ruler, width: float, beside: bool, caption: float
) -> tuple[tuple[Mark | Span, str, float, float, int], ...]:
    """Words above the frame: (what, words, place of its line, left end of the words, tier), none on another.

    From right to left, words to the right of their line: a line that climbs to a higher tier then stands left of all
    words below it, except where the picture's edge pushes words back. The lowest tier begins with the y axis's caption,
    `caption` mm wide.
    """
    todo: list[tuple[float, Mark | Span, str]] = []
    for m in plot.marks:
        if m.x is not None and x.low <= m.x <= x.high:
            todo.append((x.at(m.x), m, m.label))
        elif m.x is None and not beside:
            todo.append((x.start, m, m.label))
    spans = [b for b in plot.bands if isinstance(b, Span) and (b.along == "x" or not beside) and b.label]
    todo += [(x.at(max(b.low, x.low)) if b.along == "x" else x.start, b, b.label) for b in spans]
    tiers: list[list[tuple[float, float]]] = [[(EDGE, EDGE + caption)]]
    out = []
    for place, what, label in sorted(todo, key=lambda t: -t[0]):
        words = shorten(label, SIZE, width - 2 * EDGE)
        long = text_width_mm(words, SIZE)
        left = max(EDGE, min(place - 0.3, width - EDGE - long))
        tier = 0
        while tier < len(tiers) and any(a < left + long + 1.5 and left < b + 1.5 for a, b in tiers[tier]):
            tier += 1
        if tier == len(tiers):
            tiers.append([])
        tiers[tier].append((left, left + long))
        out.append((what, words, place, left, tier))
    return tuple(out)


def y_caption(plot: Plot, made: ticks.Ticks, width: float) -> str:
    """The y axis's caption, cut to the picture's width."""
    return shorten(caption(plot.axes.y, made.power), SIZE, width - 2 * EDGE)


def caption(axis: Axis, power: int) -> str:
    """What is plotted and the unit, with the prefix that the axis's words leave out: `coil depth, mm`."""
    sign = axis.units.length_sign if in_inches(axis) else unit_sign(axis.unit, power)
    return f"{axis.label}, {sign}" if sign else axis.label
