"""Obrounds: straight sides between two half circles. The shape of every coil here, and of most plates.

Units: metres. An obround lies along x about its centre (cx, cy).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lodestring.errors import DomainError


@dataclass(frozen=True, slots=True)
class Disc:
    """A round thing the coil must go round: centre and radius."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class Obround:
    """Straight length `s` between the centres of the half circles, half-width `r`, centre (cx, cy)."""

    s: float
    r: float
    cx: float = 0.0
    cy: float = 0.0

    @property
    def length(self) -> float:
        return self.s + 2 * self.r

    @property
    def width(self) -> float:
        return 2 * self.r

    @property
    def perimeter(self) -> float:
        return 2 * self.s + 2 * math.pi * self.r

    @property
    def area(self) -> float:
        return 2 * self.r * self.s + math.pi * self.r**2


def hull(discs: Sequence[Disc], wall: float) -> Obround:
    """The smallest obround along x that holds every disc with `wall` to spare. Raises DomainError for no disc.

    Half-width first: the discs' whole extent in y decides it. Then the straight length: the end circle of radius R must
    reach over each disc, so its centre lies at least |x| - sqrt((R - wall - r)^2 - dy^2) from the middle.
    For rods of one size in one row this gives s = distance of the outer centres, r = rod radius + wall, exactly.
    """
    if not discs:
        raise DomainError("a coil goes round something", "no pole piece and no wall")
    low = min(d.y - d.radius for d in discs)
    high = max(d.y + d.radius for d in discs)
    half, cy = (high - low) / 2 + wall, (high + low) / 2
    reach = [math.sqrt(max((half - wall - d.radius) ** 2 - (d.y - cy) ** 2, 0.0)) for d in discs]
    right = max(d.x - r for d, r in zip(discs, reach, strict=True))
    left = min(d.x + r for d, r in zip(discs, reach, strict=True))
    if right < left:
        right = left = (right + left) / 2
    return Obround(right - left, half, (right + left) / 2, cy)


def blade_obround(length: float, thickness: float, wall: float, cx: float = 0.0, cy: float = 0.0) -> Obround:
    """The obround that stands for the path of a wire round a rectangular blade.

    A turn at distance w from a rectangle has the perimeter 2 (length + thickness) + 2 pi w. The obround of half-width
    thickness/2 + w with s = length - (pi/2 - 1) thickness has the same perimeter at every w.
    """
    s = length - (math.pi / 2 - 1) * thickness
    if s <= 0:
        raise DomainError(
            "a blade is longer than it is thick", f"{length * 1e3:.2f} mm long, {thickness * 1e3:.2f} mm thick"
        )
    return Obround(s, thickness / 2 + wall, cx, cy)


def room_inside(length: float, width: float, corner: float, x: float, y: float) -> float:
    """Largest radius of a circle at (x, y) inside a rounded rectangle centred on 0; negative for a point outside."""
    corner = min(corner, length / 2, width / 2)
    qx, qy = abs(x) - (length / 2 - corner), abs(y) - (width / 2 - corner)
    outside = math.hypot(max(qx, 0.0), max(qy, 0.0))
    return corner - outside - min(max(qx, qy), 0.0)


def room_between(one: Obround, other: Obround) -> float:
    """Clear distance between two obrounds along x; negative when they overlap."""
    gap_x = abs(one.cx - other.cx) - (one.s + other.s) / 2
    return math.hypot(max(gap_x, 0.0), one.cy - other.cy) - one.r - other.r
