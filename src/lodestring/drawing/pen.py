"""The one place that writes SVG elements: presentation attributes with the print look, plus a class, on every element.

Takes sheet millimetres with y up and writes y down. Remembers the box of every text, so that overlap can be tested, and
the extent of what was drawn. A `<style>`, an inline style, a link or a script is never written.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from lodestring.drawing import geometry
from lodestring.drawing.boxes import TextBox, text_box
from lodestring.drawing.figures import coordinate
from lodestring.drawing.geometry import ArcTo, Chain, Point
from lodestring.drawing.look import HOLLOW, LOOKS, PAPER, MarkShape, Part, Role, SeriesLook, css_class
from lodestring.drawing.text import CAP_HEIGHT, FAMILIES, escape
from lodestring.errors import DomainError

Style = Role | SeriesLook
THIN = 0.13
"""Width of hatching and of guides to labels, mm."""


class Pen:
    """Collects elements. `height` is the sheet's, `origin` the place of (0, 0) from its lower left corner."""

    def __init__(self, height: float, origin: Point, ids: str) -> None:
        self._height = height
        self._origin = origin
        self._ids = ids
        self._taken: set[str] = set()
        self.elements: list[str] = []
        self.texts: list[TextBox] = []
        self.points: list[Point] = []

    # -- attributes ----------------------------------------------------------------------------------------------
    def identity(self, name: str) -> str:
        """` id="prefix-name"`, or nothing for no name; a name that comes twice raises DomainError."""
        if not name:
            return ""
        if name in self._taken:
            raise DomainError("each name in a picture is used once", f"'{name}' twice", "another name")
        self._taken.add(name)
        return f' id="{escape(self._ids)}-{escape(name)}"'

    def reserve(self, *names: str) -> None:
        """Names the picture itself has taken."""
        self._taken.update(names)

    def _x(self, x: float) -> str:
        return coordinate(self._origin[0] + x)

    def _y(self, y: float) -> str:
        return coordinate(self._height - self._origin[1] - y)

    def _xy(self, p: Point) -> str:
        return f"{self._x(p[0])} {self._y(p[1])}"

    def _paint(self, style: Style, part: Part, fill: bool, offset: float | None = None) -> str:
        look = LOOKS[style]
        if part in (Part.HATCH, Part.GUIDE):
            look = replace(look, width=THIN, dash=())
        shown = look.fill if fill else "none"
        out = f'class="{css_class(style, part)}" fill="{shown}"'
        if look.stroke == "none" or look.width == 0:
            return out + ' stroke="none"'
        out += f' stroke="{look.stroke}" stroke-width="{coordinate(look.width)}"'
        if look.dash:
            out += f' stroke-dasharray="{" ".join(coordinate(d) for d in look.dash)}"'
            if offset:
                out += f' stroke-dashoffset="{coordinate(offset)}"'
        return out

    # -- elements ------------------------------------------------------------------------------------------------
    def line(self, a: Point, b: Point, style: Style, name: str = "", *, centred: bool = False) -> None:
        """A line; `centred` puts the middle of the first dash on the middle of the line."""
        dash = LOOKS[style].dash
        offset = None
        if centred and dash:
            offset = (dash[0] / 2 - math.dist(a, b) / 2) % sum(dash)
        self.points += [a, b]
        self.elements.append(
            f"<line{self.identity(name)} {self._paint(style, Part.SHAPE, False, offset)}"
            f' x1="{self._x(a[0])}" y1="{self._y(a[1])}" x2="{self._x(b[0])}" y2="{self._y(b[1])}"/>'
        )

    def lines(self, pairs: Iterable[tuple[Point, Point]], style: Style, part: Part) -> None:
        """Many separate lines as one path: hatching, grids, guides."""
        d = "".join(f"M{self._xy(a)}L{self._xy(b)}" for a, b in pairs)
        if not d:
            return
        paint = self._paint(style, part, False)
        self.elements.append(f'<path {paint} d="{d}"/>')

    def circle(self, centre: Point, radius: float, style: Style, name: str = "", *, fill: bool = True) -> None:
        self.points += [(centre[0] - radius, centre[1] - radius), (centre[0] + radius, centre[1] + radius)]
        self.elements.append(
            f"<circle{self.identity(name)} {self._paint(style, Part.SHAPE, fill)}"
            f' cx="{self._x(centre[0])}" cy="{self._y(centre[1])}" r="{coordinate(radius)}"/>'
        )

    def chains(self, chains: Sequence[Chain], style: Style, name: str = "", part: Part = Part.SHAPE) -> None:
        """One path; filled (even-odd) only if every chain is closed."""
        closed = all(c.closed for c in chains)
        for chain in chains:
            self.points += geometry.extreme_points(chain)
        rule = ' fill-rule="evenodd"' if closed and len(chains) > 1 else ""
        d = "".join(self._d(c) for c in chains)
        self.elements.append(f'<path{self.identity(name)} {self._paint(style, part, closed)}{rule} d="{d}"/>')

    def runs(self, runs: Sequence[Sequence[Point]], style: Style, name: str = "") -> None:
        """A curve in pieces, as one path without a filling."""
        d = "".join("M" + "L".join(self._xy(p) for p in run) for run in runs)
        if d:
            self.elements.append(f'<path{self.identity(name)} {self._paint(style, Part.SHAPE, False)} d="{d}"/>')

    def _d(self, chain: Chain) -> str:
        out = [f"M{self._xy(chain.start)}"]
        for start, segment in chain.joints():
            if isinstance(segment, ArcTo):
                out += self._arc(start, segment)
            else:
                out.append(f"L{self._xy(segment.to)}")
        return "".join(out) + ("Z" if chain.closed else "")

    def _arc(self, start: Point, a: ArcTo) -> list[str]:
        # At most half a turn per command: a whole turn in one would vanish, and near half a turn the rounding of the
        # ends could choose the wrong side.
        first, sweep = geometry.arc_angles(start, a)
        r = coordinate(math.dist(start, a.centre))
        flag = 0 if a.anticlockwise else 1  # y is turned over: anticlockwise here is SVG's sweep 0
        parts = 2 if abs(sweep) > math.pi * 0.9 else 1
        radius = math.dist(start, a.centre)
        middle = geometry.polar(a.centre, radius, math.degrees(first + sweep / 2))
        return [f"A{r} {r} 0 0 {flag} {self._xy(p)}" for p in ([middle, a.to] if parts == 2 else [a.to])]

    def area(self, points: Sequence[Point], style: Style, part: Part, opacity: float = 1.0, name: str = "") -> None:
        """A filled polygon without an edge, in the style's ink (BAND) or fill."""
        look = LOOKS[style]
        fill = look.ink if part is Part.BAND else look.fill
        d = "M" + "L".join(self._xy(p) for p in points) + "Z"
        faint = f' fill-opacity="{coordinate(opacity)}"' if opacity < 1 else ""
        self.elements.append(
            f'<path{self.identity(name)} class="{css_class(style, part)}" fill="{fill}"{faint} stroke="none" d="{d}"/>'
        )

    def head(self, tip: Point, direction: float, length: float, style: Style) -> None:
        """A filled arrowhead with its tip at `tip`, pointing to `direction` degrees; a third as wide as long."""
        c, s = geometry.cos_sin(direction)
        back, half = (tip[0] - length * c, tip[1] - length * s), length / 6
        corners = (tip, (back[0] - half * s, back[1] + half * c), (back[0] + half * s, back[1] - half * c))
        self.points += corners
        self._solid("M" + "L".join(self._xy(p) for p in corners) + "Z", style)

    def dot(self, centre: Point, radius: float, style: Style) -> None:
        self.points += [(centre[0] - radius, centre[1] - radius), (centre[0] + radius, centre[1] + radius)]
        self._solid(self._d(geometry.circle(centre, radius)), style)

    def _solid(self, d: str, style: Style) -> None:
        self.elements.append(
            f'<path class="{css_class(style, Part.HEAD)}" fill="{LOOKS[style].ink}" stroke="none" d="{d}"/>'
        )

    def mark(self, at: Point, style: Style, size: float = 1.5) -> None:
        """The style's mark, filled with paper where it is hollow."""
        shape = LOOKS[style].mark
        if shape is None:
            return
        look, half = LOOKS[style], size / 2
        hollow = shape in (MarkShape.RING, MarkShape.SQUARE)
        fill = PAPER if hollow else look.ink
        css = css_class(style, Part.HEAD) + (f" {HOLLOW}" if hollow else "")
        paint = f'class="{css}" fill="{fill}" stroke="{look.ink}" stroke-width="0.3"'
        x, y = at
        if shape in (MarkShape.DISC, MarkShape.RING):
            d = self._d(geometry.circle(at, half))
        elif shape is MarkShape.CROSS:
            d = f"M{self._xy((x - half, y - half))}L{self._xy((x + half, y + half))}"
            d += f"M{self._xy((x - half, y + half))}L{self._xy((x + half, y - half))}"
        else:
            corners = {
                MarkShape.SQUARE: [(-half, -half), (half, -half), (half, half), (-half, half)],
                MarkShape.TRIANGLE: [(-half, -half * 0.8), (half, -half * 0.8), (0.0, half * 1.1)],
                MarkShape.DIAMOND: [(-half, 0.0), (0.0, -half * 1.3), (half, 0.0), (0.0, half * 1.3)],
            }[shape]
            d = "M" + "L".join(self._xy((x + dx, y + dy)) for dx, dy in corners) + "Z"
        self.elements.append(f'<path {paint} d="{d}"/>')

    def text(
        self,
        at: Point,
        words: str,
        size: float,
        style: Style = Role.NOTE,
        *,
        anchor: str = "start",
        middle: bool = False,
        rotation: float = 0.0,
        bold: bool | None = None,
        knock_out: bool = False,
        name: str = "",
    ) -> None:
        """One line. Placed by its baseline, or by half the height of its capitals; turned about `at`."""
        look = LOOKS[style]
        heavy = look.bold if bold is None else bold
        drop = CAP_HEIGHT / 2 * size if middle else 0.0
        box = text_box(at, words, size, anchor, drop, rotation, heavy)
        self.points += box.corners
        if words.strip():
            self.texts.append(box)
        if knock_out:
            self.area(box.corners, Role.PAPER, Part.SHAPE)
        x, y = self._x(at[0]), coordinate(self._height - self._origin[1] - at[1] + drop)
        weight = ' font-weight="bold"' if heavy else ""
        turn = ""
        if rotation % 360:
            # about the anchor point itself, not the lowered baseline
            turn = f' transform="rotate({coordinate(-rotation)} {x} {self._y(at[1])})"'
        self.elements.append(
            f'<text{self.identity(name)} class="{css_class(style, Part.TEXT)}" x="{x}" y="{y}"'
            f' font-family="{FAMILIES}" font-size="{coordinate(size)}"{weight}'
            f' text-anchor="{anchor}" fill="{look.ink}" stroke="none"{turn}>{escape(words)}</text>'
        )

    # -- groups --------------------------------------------------------------------------------------------------
    def open_group(self, css: str, name: str = "") -> None:
        self.elements.append(f'<g{self.identity(name)} class="pic-{css}">')

    def close_group(self) -> None:
        self.elements.append("</g>")
