"""Pictures to SVG text: `svg(picture, width, ids=)`. One source for paper and page (contract 4).

Width and height are written in millimetres, and so is the viewBox: a sheet without a width is at 1:1. A page asks for
`mm_from_px(its width)`; a plot is then laid out anew for that width, a sheet is scaled as it is.
"""

from __future__ import annotations

import math
import re

from lodestring.drawing.boxes import TextBox, overlapping
from lodestring.drawing.figures import coordinate
from lodestring.drawing.geometry import Frame, bounds
from lodestring.drawing.pen import Pen
from lodestring.drawing.picture import Item, Sheet1to1
from lodestring.drawing.plot import Plot
from lodestring.drawing.plot_drawing import draw_plot
from lodestring.drawing.plot_layout import layout
from lodestring.drawing.sheet import draw
from lodestring.drawing.text import escape
from lodestring.errors import DomainError

Picture = Sheet1to1 | Plot

PLOT_WIDTH = 160.0
"""Width of a plot that is asked for without one, mm."""
NARROWEST_PLOT = 50.0
_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9_\-]*")


def mm_from_px(px: float) -> float:
    """A page's pixels as millimetres: CSS fixes 96 px to the inch of 25.4 mm."""
    return px * 25.4 / 96


def svg(picture: Picture, width: float | None = None, *, ids: str) -> str:
    """The picture as SVG text, the same text for the same picture.

    width: mm, None for a sheet's own size (1:1) or a plot of PLOT_WIDTH. ids: prefix of all ids, so that several
    pictures can stand on one page: a letter, then letters, digits, `_`, `-`. Raises DomainError for a width or prefix
    that cannot be.
    """
    if not _PREFIX.fullmatch(ids):
        raise DomainError("the prefix of a picture's ids is a letter, then letters, digits, '_' or '-'", repr(ids))
    if width is not None and not (math.isfinite(width) and 0 < width <= 1e4):
        raise DomainError("a picture is above 0 and at most 10 m wide", f"{width} mm")
    pen, (own_width, own_height) = _drawn(picture, width, ids)
    shown = own_width if width is None or isinstance(picture, Plot) else width
    kind = "sheet" if isinstance(picture, Sheet1to1) else "plot"
    w, h = coordinate(own_width), coordinate(own_height)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{ids}" class="pic pic-{kind}" role="img"'
        f' aria-labelledby="{ids}-title {ids}-desc" width="{coordinate(shown)}mm"'
        f' height="{coordinate(own_height * shown / own_width)}mm" viewBox="0 0 {w} {h}" stroke-linejoin="round">'
    )
    words = (
        f'<title id="{ids}-title">{escape(picture.title)}</title><desc id="{ids}-desc">{escape(picture.desc)}</desc>'
    )
    return "\n".join([head, words, *pen.elements, "</svg>"]) + "\n"


def text_boxes(picture: Picture, width: float | None = None) -> tuple[TextBox, ...]:
    """Where every line of text of the picture stands."""
    return tuple(_drawn(picture, width, "p")[0].texts)


def overlapping_texts(picture: Picture, width: float | None = None) -> tuple[tuple[str, str], ...]:
    """The pairs of texts that lie on one another: an empty tuple, or the drawing is to be mended."""
    return overlapping(text_boxes(picture, width))


def extent(items: tuple[Item, ...]) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of what the items draw, text included, before any origin: to choose a sheet's size."""
    pen = Pen(0.0, (0.0, 0.0), "p")
    draw(pen, items, Frame())
    if not pen.points:
        raise DomainError("an extent is of at least one item that draws", "none")
    return bounds(pen.points)


def _drawn(picture: Picture, width: float | None, ids: str) -> tuple[Pen, tuple[float, float]]:
    if isinstance(picture, Plot):
        lay = layout(picture, max(width or PLOT_WIDTH, NARROWEST_PLOT))
        pen = _pen(lay.height, (0.0, 0.0), ids)
        draw_plot(pen, picture, lay)
        return pen, (lay.width, lay.height)
    pen = _pen(picture.size_mm[1], picture.origin, ids)
    draw(pen, picture.items, Frame())
    return pen, picture.size_mm


def _pen(height: float, origin: tuple[float, float], ids: str) -> Pen:
    pen = Pen(height, origin, ids)
    pen.reserve("title", "desc")
    return pen
