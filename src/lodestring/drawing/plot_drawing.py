"""A plot that has been laid out, onto the pen."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.drawing import clipping, ticks
from lodestring.drawing.geometry import Point
from lodestring.drawing.look import Part, Role
from lodestring.drawing.pen import Pen, Style
from lodestring.drawing.plot import Band, Plot, Span
from lodestring.drawing.plot_layout import EDGE, GUIDE, ROW, SIZE, TICK, Layout, caption, y_caption
from lodestring.drawing.text import shorten, text_width_mm


@dataclass(frozen=True, slots=True)
class EndLabel:
    """Words at the right end: where its line ends (mm), and the look."""

    words: str
    at: Point
    style: Style


def draw_plot(pen: Pen, plot: Plot, lay: Layout) -> None:
    """From the back: spans, grid, bands, axes, marks, series, words."""
    looks = plot.looks()
    box = lay.frame()
    _spans(pen, plot, lay)
    _grid(pen, lay)
    for band in plot.bands:
        if isinstance(band, Band):
            _band(pen, band, lay, looks[band.id])
    _frame(pen, plot, lay)
    ends: list[EndLabel] = []
    _marks(pen, plot, lay, ends)
    for i, s in enumerate(plot.series):
        points = [(lay.x.at(a), lay.y.at(b)) for a, b in zip(s.x, s.y, strict=True)]
        runs = clipping.polyline(points, box)
        pen.runs(runs, looks[s.id], s.id)
        for at in clipping.along(runs, 16.0, 4.0 + 16.0 * i / max(len(plot.series), 1)) or _lone(points, box):
            pen.mark(at, looks[s.id])
        if s.label:
            ends.append(EndLabel(s.label, _last(runs, points, box), looks[s.id]))
    if lay.beside:
        _end_labels(pen, ends, lay)
    else:
        for row, entries in enumerate(lay.key):
            y = EDGE + (len(lay.key) - 1 - row) * ROW + 0.4 * ROW
            for s, words, left in entries:
                pen.runs([[(left, y), (left + 10.0, y)]], looks[s.id])
                pen.mark((left + 5.0, y), looks[s.id])
                pen.text((left + 12.0, y), words, SIZE, looks[s.id], middle=True)


def _last(runs: list[list[Point]], points: list[Point], box: clipping.Box) -> Point:
    """Where a series ends on the right; on the edge nearest its end if it does not come into the frame."""
    if runs:
        return max((run[-1] for run in runs), key=lambda p: p[0])
    x, y = points[-1]
    return (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3]))


def _lone(points: list[Point], box: clipping.Box) -> list[Point]:
    """A series of one point has no line to carry its mark."""
    return [p for p in points[:1] if clipping.inside(p, box)] if len(points) == 1 else []


def _spans(pen: Pen, plot: Plot, lay: Layout) -> None:
    left, bottom, right, top = lay.frame()
    for b in plot.bands:
        if isinstance(b, Span):
            ruler = lay.x if b.along == "x" else lay.y
            low, high = max(b.low, ruler.low), min(b.high, ruler.high)
            if low >= high:
                continue
            p, q = ruler.at(low), ruler.at(high)
            corners = [(p, bottom), (q, bottom), (q, top), (p, top)]
            if b.along == "y":
                corners = [(left, p), (right, p), (right, q), (left, q)]
            pen.area(corners, Role.SPAN, Part.SHAPE, name=b.id)


def _grid(pen: Pen, lay: Layout) -> None:
    left, bottom, right, top = lay.frame()
    for values_x, values_y, role in (
        (lay.x_ticks.fine, lay.y_ticks.fine, Role.GRID_FINE),
        (lay.x_ticks.at, lay.y_ticks.at, Role.GRID),
    ):
        upright = [((lay.x.at(v), bottom), (lay.x.at(v), top)) for v in values_x]
        level = [((left, lay.y.at(v)), (right, lay.y.at(v))) for v in values_y]
        pen.lines(upright + level, role, Part.SHAPE)


def _frame(pen: Pen, plot: Plot, lay: Layout) -> None:
    left, bottom, right, top = lay.frame()
    ticks_x = [((lay.x.at(v), bottom), (lay.x.at(v), bottom - TICK)) for v in lay.x_ticks.at]
    ticks_y = [((left, lay.y.at(v)), (left - TICK, lay.y.at(v))) for v in lay.y_ticks.at]
    axis = [((left, top), (left, bottom)), ((left, bottom), (right, bottom))]
    pen.lines(axis + ticks_x + ticks_y, Role.AXIS, Part.SHAPE)
    for value, words in zip(lay.x_ticks.at, lay.x_ticks.words, strict=True):
        pen.text((lay.x.at(value), bottom - TICK - 0.9 * SIZE), words, SIZE, Role.AXIS, anchor="middle")
    for value, words in zip(lay.y_ticks.at, lay.y_ticks.words, strict=True):
        pen.text((left - TICK - 0.6, lay.y.at(value)), words, SIZE, Role.AXIS, anchor="end", middle=True)
    room = lay.width - 2 * EDGE
    pen.text((EDGE, _tier(top, 0) + 0.35 * SIZE), y_caption(plot, lay.y_ticks, lay.width), SIZE, Role.AXIS)
    words = shorten(caption(plot.axes.x, lay.x_ticks.power), SIZE, room)
    at = max(right, EDGE + text_width_mm(words, SIZE))
    pen.text((at, bottom - TICK - 0.9 * SIZE - ROW), words, SIZE, Role.AXIS, anchor="end")


def _marks(pen: Pen, plot: Plot, lay: Layout, ends: list[EndLabel]) -> None:
    left, bottom, right, top = lay.frame()
    flagged = {what.id: (words, at, tier) for what, words, _, at, tier in lay.flags}
    lines: list[tuple[Point, Point, str]] = []
    for m in plot.marks:
        if m.x is not None and m.id in flagged:
            foot = bottom if m.y is None else min(max(lay.y.at(m.y), bottom), top)
            lines.append(((lay.x.at(m.x), foot), (lay.x.at(m.x), _tier(top, flagged[m.id][2])), m.id))
            if m.y is not None:
                pen.dot((lay.x.at(m.x), foot), 0.8, Role.MARK)
        elif m.x is None and m.y is not None and lay.y.low <= m.y <= lay.y.high:
            lines.append(((left, lay.y.at(m.y)), (right, lay.y.at(m.y)), m.id))
            ends.append(EndLabel(m.label, (right, lay.y.at(m.y)), Role.MARK))
    for b in plot.bands:
        if isinstance(b, Span) and b.along == "y" and b.label:
            middle = (max(b.low, lay.y.low) + min(b.high, lay.y.high)) / 2
            ends.append(EndLabel(b.label, (right, lay.y.at(middle)), Role.SPAN))
    for a, b_, name in lines:
        pen.line(a, b_, Role.MARK, name)
    for what, words, _, at, tier in lay.flags:
        style = Role.SPAN if isinstance(what, Span) else Role.MARK
        pen.text((at, _tier(top, tier) + 0.35 * SIZE), words, SIZE, style, knock_out=True)


def _tier(top: float, tier: int) -> float:
    return top + 0.3 * SIZE + tier * ROW


def _band(pen: Pen, band: Band, lay: Layout, style: Style) -> None:
    upper = [(lay.x.at(x), lay.y.at(v)) for x, v in zip(band.x, band.high, strict=True)]
    lower = [(lay.x.at(x), lay.y.at(v)) for x, v in zip(band.x, band.low, strict=True)]
    shown = clipping.polygon(upper + lower[::-1], lay.frame())
    if shown:
        pen.area(shown, style, Part.BAND, 0.15, band.id)


def _end_labels(pen: Pen, ends: list[EndLabel], lay: Layout) -> None:
    _, bottom, right, top = lay.frame()
    # Lines that leave through the same edge: the one farther right is labelled nearer that edge, so no guides cross.
    middle = (bottom + top) / 2
    ends = sorted(ends, key=lambda e: (e.at[1], -e.at[0] if e.at[1] < middle else e.at[0]))
    places = ticks.spread([e.at[1] for e in ends], ROW, bottom + 0.4 * ROW, top)
    for e, y in zip(ends, places, strict=True):
        style = Role.AXIS if e.style is Role.SPAN else e.style
        part = Part.SHAPE if e.style is Role.MARK else Part.GUIDE
        pen.lines([(e.at, (right + GUIDE - 1.0, y))], style, part)
        pen.text((right + GUIDE, y), e.words, SIZE, e.style, middle=True)
