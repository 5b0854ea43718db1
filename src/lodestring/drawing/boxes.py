"""Where texts stand, so that a test (or a caller) can see that none lies on another."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from lodestring.drawing.geometry import Frame, Point, cos_sin
from lodestring.drawing.text import CAP_HEIGHT, DESCENT, text_width_mm


@dataclass(frozen=True, slots=True)
class TextBox:
    """Where a line of text stands: its words and its four corners, in order round, sheet mm."""

    text: str
    corners: tuple[Point, Point, Point, Point]


def text_box(at: Point, words: str, size: float, anchor: str, drop: float, rotation: float, bold: bool) -> TextBox:
    """The box of one line whose baseline lies `drop` mm below its anchor point, turned about that point."""
    width = text_width_mm(words, size, bold=bold)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[anchor]
    low, high = -drop - DESCENT * size, -drop + CAP_HEIGHT * size
    c, s = cos_sin(rotation)
    frame = Frame(at[0], at[1], c, s)
    corners = ((left, low), (left + width, low), (left + width, high), (left, high))
    a, b, d, e = (frame.point(p) for p in corners)
    return TextBox(words, (a, b, d, e))


def overlapping(boxes: Sequence[TextBox], slack: float = 0.05) -> tuple[tuple[str, str], ...]:
    """The pairs of texts whose boxes overlap by more than `slack` mm."""
    pairs = itertools.combinations(boxes, 2)
    return tuple((a.text, b.text) for a, b in pairs if _meet(a.corners, b.corners, slack))


def _meet(p: Sequence[Point], q: Sequence[Point], slack: float) -> bool:
    """Separating axes of two rectangles: they meet unless some edge direction parts them."""
    for corners in (p, q):
        for i in (0, 1):
            ex, ey = corners[i + 1][0] - corners[i][0], corners[i + 1][1] - corners[i][1]
            length = math.hypot(ex, ey) or 1.0
            nx, ny = ex / length, ey / length
            a = [x * nx + y * ny for x, y in p]
            b = [x * nx + y * ny for x, y in q]
            if min(max(a), max(b)) - max(min(a), min(b)) <= slack:
                return False
    return True
