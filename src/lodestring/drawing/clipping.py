"""Straight clipping to an upright box, exact, so that no picture needs a clip path with an address in it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from lodestring.drawing.geometry import Point

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""


def inside(p: Point, box: Box, slack: float = 1e-9) -> bool:
    """Whether the point lies in the box or on its edge."""
    return box[0] - slack <= p[0] <= box[2] + slack and box[1] - slack <= p[1] <= box[3] + slack


def segment(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a-b inside the box (Liang and Barsky 1984), or None."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    low, high = 0.0, 1.0
    for p, q in ((-dx, a[0] - box[0]), (dx, box[2] - a[0]), (-dy, a[1] - box[1]), (dy, box[3] - a[1])):
        if p == 0:
            if q < 0:
                return None
            continue
        t = q / p
        if p < 0:
            low = max(low, t)
        else:
            high = min(high, t)
    if low > high:
        return None
    start = a if low == 0.0 else (a[0] + low * dx, a[1] + low * dy)
    end = b if high == 1.0 else (a[0] + high * dx, a[1] + high * dy)
    return start, end


def polyline(points: Sequence[Point], box: Box) -> list[list[Point]]:
    """The runs of a line inside the box, each of two points or more."""
    runs: list[list[Point]] = []
    for a, b in itertools.pairwise(points):
        part = segment(a, b, box)
        if part is None:
            continue
        start, end = part
        if runs and runs[-1][-1] == start:
            runs[-1].append(end)
        else:
            runs.append([start, end])
    return runs


def polygon(points: Sequence[Point], box: Box) -> list[Point]:
    """A filled polygon cut to the box (Sutherland and Hodgman 1974)."""
    shape = list(points)
    for axis, limit, keep_above in ((0, box[0], True), (0, box[2], False), (1, box[1], True), (1, box[3], False)):
        cut: list[Point] = []
        for i, p in enumerate(shape):
            before = shape[i - 1]
            in_p, in_before = ((q[axis] >= limit) is keep_above or q[axis] == limit for q in (p, before))
            if in_p != in_before:
                t = (limit - before[axis]) / (p[axis] - before[axis])
                cut.append((before[0] + t * (p[0] - before[0]), before[1] + t * (p[1] - before[1])))
            if in_p:
                cut.append(p)
        shape = cut
    return shape


def along(runs: Sequence[Sequence[Point]], every: float, first: float) -> list[Point]:
    """Points on the runs at `first`, then each `every` mm of way; in the middle if the way is shorter than that."""
    total = sum(math.dist(a, b) for run in runs for a, b in itertools.pairwise(run))
    wanted = [first + k * every for k in range(int((total - first) / every) + 1)] if total >= first else []
    if not wanted and total > 0:
        wanted = [total / 2]
    out: list[Point] = []
    gone = 0.0
    for run in runs:
        for a, b in itertools.pairwise(run):
            length = math.dist(a, b)
            while len(out) < len(wanted) and wanted[len(out)] <= gone + length + 1e-9 and length > 0:
                t = (wanted[len(out)] - gone) / length
                out.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
            gone += length
    return out
