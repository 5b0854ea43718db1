"""Two small pictures, not to scale: which way the bobbin turns at the winder, and a row's ends toward the strings."""

from __future__ import annotations

from collections.abc import Sequence

from lodestring.drawing.coil_shapes import block_arrow
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Anchor, Level, Sheet1to1, Text
from lodestring.drawing.shapes import Circle, Item, Obround, Rect
from lodestring.drawing.top_view import LETTER, sized
from lodestring.making.polarity_map import PoleEnd
from lodestring.making.winding_plan import Mounting

ROW = 14
"""Pole pieces in one line of the polarity picture."""


def mounting_view(mounting: Mounting) -> Sheet1to1:
    """The bobbin at the winder seen from its free end, and the way it turns."""
    clockwise = mounting.bobbin_turns == "clockwise"
    plate = "TOP" if mounting.facing.startswith("top") else "BOTTOM"
    items: list[Item] = [
        Obround((0.0, 0.0), 18.0, 6.2, Role.PLATE),
        Text((0.0, 1.7), plate, 3.6, Anchor.MIDDLE, Level.MIDDLE, bold=True),
        Text((0.0, -2.2), "plate", 3.0, Anchor.MIDDLE, Level.MIDDLE),
    ]
    for side in (0.0, 180.0):
        start, sweep = (side + 62.0, -124.0) if clockwise else (side - 62.0, 124.0)
        at = 9.0 if side == 0.0 else -9.0
        items.append(block_arrow((at, 0.0), 9.6, 1.9, start, sweep, Role.COPPER))
    return sized(
        items,
        f"The bobbin turns {mounting.bobbin_turns}",
        f"{mounting.facing}: seen from the bobbin's free end it turns {mounting.bobbin_turns}.",
    )


def polarity_view(ends: Sequence[PoleEnd], title: str) -> Sheet1to1:
    """A row of pole pieces from the strings, nut up: north a circle with N, south a square with S; numbers under."""
    items: list[Item] = []
    for place, end in enumerate(sorted(ends, key=lambda e: e.x)):
        x, y = 8.6 * (place % ROW), -13.0 * (place // ROW)
        letter = LETTER.get(end.up, "")
        if end.up == "north":
            items.append(Circle((x, y), 3.4, Role.OUTLINE))
        elif end.up == "south":
            items.append(Rect((x, y), 6.4, 6.4, 0.0, Role.OUTLINE))
        else:
            items.append(Circle((x, y), 3.4, Role.HIDDEN))
        items.append(Text((x, y), letter or "–", 3.6, Anchor.MIDDLE, Level.MIDDLE, bold=True))
        items.append(Text((x, y - 6.6), str(end.number), 2.9, Anchor.MIDDLE))
    told = ", ".join(f"{e.number} {e.up or 'no end'}" for e in ends)
    return sized(items or [Text((0, 0), "no pole pieces")], title, f"End toward the strings by pole piece: {told}.")
