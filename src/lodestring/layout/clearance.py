"""Millimetres to spare: coil against plate edge, housing and the other coil.

The round ends press the turns down; the long sides belly out (common practice, no source). So each coil has two depths,
at the ends and at mid-side, and each clearance counts what lies outside the last turn: tape, foil, plate bow.
Metres; negative means it does not fit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.layout.obround import Obround, room_inside


@dataclass(frozen=True, slots=True)
class CoilOutline:
    """A wound coil seen from above: inner obround, depth at the round ends and at mid-side, and the tape over it."""

    inner: Obround
    depth_end: float
    depth_side: float
    tape: float = 0.0

    @property
    def length(self) -> float:
        """Over the round ends, without tape."""
        return self.inner.s + 2 * (self.inner.r + self.depth_end)

    @property
    def width(self) -> float:
        """Over the bellied long sides, without tape."""
        return 2 * (self.inner.r + self.depth_side)


@dataclass(frozen=True, slots=True)
class Hollow:
    """The clear inside of a housing: rounded rectangle centred on the pickup's origin, narrowed by half the draft."""

    length: float
    width: float
    depth: float
    corner: float = 0.0
    draft: float = 0.0


def inside_plate(coil: CoilOutline, length: float, width: float, corner: float) -> tuple[float, float]:
    """Distance from the last turn to the plate's edge at (ends, mid-side). The plate is centred on the coil."""
    end = room_inside(length, width, corner, coil.inner.s / 2, 0.0) - coil.inner.r - coil.depth_end
    side = width / 2 - coil.inner.r - coil.depth_side
    return end, side


def inside_housing(coil: CoilOutline, housing: Hollow) -> tuple[float, float]:
    """Distance from the tape to the housing's wall at (ends, mid-side), the housing taken at its narrow bottom."""
    length, width = housing.length - housing.draft, housing.width - housing.draft
    inner = coil.inner
    end = min(
        room_inside(length, width, housing.corner, inner.cx + side * inner.s / 2, inner.cy) for side in (-1.0, 1.0)
    )
    end -= inner.r + coil.depth_end + coil.tape
    side = width / 2 - abs(inner.cy) - inner.r - coil.depth_side - coil.tape
    return end, side


def plate_inside_housing(length: float, width: float, corner: float, cx: float, cy: float, housing: Hollow) -> float:
    """Least distance from a plate (rounded rectangle about (cx, cy)) to the housing's wall.

    Checked along the straight edges and at the middle of each corner arc, where a rounded corner comes nearest.
    """
    hl, hw = housing.length - housing.draft, housing.width - housing.draft
    corner = min(corner, length / 2, width / 2)
    least = min(hl / 2 - abs(cx) - length / 2, hw / 2 - abs(cy) - width / 2)
    for sx in (-1.0, 1.0):
        for sy in (-1.0, 1.0):
            x, y = cx + sx * (length / 2 - corner), cy + sy * (width / 2 - corner)
            least = min(least, room_inside(hl, hw, housing.corner, x, y) - corner)
    return least


def between_coils(one: CoilOutline, other: CoilOutline) -> float:
    """Distance between two coils along x, tape counted: at their bellied sides where they lie side by side, else at
    their round ends (each serves strings of its own)."""
    gap_x = abs(one.inner.cx - other.inner.cx) - (one.inner.s + other.inner.s) / 2
    gap_y = abs(one.inner.cy - other.inner.cy)
    if gap_x <= 0.0:
        return gap_y - sum(c.inner.r + c.depth_side + c.tape for c in (one, other))
    return math.hypot(gap_x, gap_y) - sum(c.inner.r + c.depth_end + c.tape for c in (one, other))
