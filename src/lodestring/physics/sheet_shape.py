"""Thin sheets of metal round a coil: a cover, a baseplate, a closed ring of foil.

All three are one shape: a flat part of rounded-rectangular outline with holes, and walls that go down from its rim. A
plate has no walls, a ring no flat part. Sizes are those of the middle of the metal's thickness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.ring import Array

LEAST_SIDES = 12
"""A round hole has at least so many sides."""
SHARP = 0.25
"""A corner of a radius below this share of a step is taken as sharp."""
THIN = 0.1
"""A sheet is at most this share of its outline's lesser side thick."""
MAGNETIC = 1.5
"""Relative permeability above which a sheet is no matter for this model."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A rectangle with round corners, seen from above: middle (x, y), length along x, width along y, corner radius [m].

    A corner radius of half the width makes an obround, with equal sides a circle. Raises DomainError for sizes that
    are not above 0 and for a corner that does not fit.
    """

    x: float
    y: float
    length: float
    width: float
    corner: float = 0.0

    def __post_init__(self) -> None:
        sizes = (self.length, self.width)
        came = "{:g} by {:g} m with corners of {:g} m".format(*sizes, self.corner)
        if not (all(0.0 < s < math.inf for s in sizes) and math.isfinite(self.x) and math.isfinite(self.y)):
            raise DomainError("an outline has a length and a width above 0 and a finite place", came)
        if not 0.0 <= self.corner <= 0.5 * min(sizes) * (1.0 + 1e-9):
            raise DomainError("the corner radius of an outline is at most half its lesser side", came)

    @property
    def circular(self) -> bool:
        return math.isclose(self.length, self.width) and math.isclose(2.0 * self.corner, self.length)

    @property
    def perimeter(self) -> float:
        """[m]"""
        return 2.0 * (self.length + self.width) - (8.0 - 2.0 * math.pi) * self.corner

    @property
    def area(self) -> float:
        """[m^2]"""
        return self.length * self.width - (4.0 - math.pi) * self.corner**2

    def ring(self, step: float) -> Array:
        """Points (n, 2) [m] counter-clockwise, about `step` apart; a circle's polygon has the circle's area."""
        if self.circular:
            count = max(LEAST_SIDES, 4 * math.ceil(self.perimeter / (4.0 * step)))
            part = 2.0 * math.pi / count
            angle = part * np.arange(count)
            radius = self.corner * math.sqrt(part / math.sin(part))
            return np.asarray(np.array([self.x, self.y]) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1))
        corner = self.corner if self.corner > SHARP * step else 0.0
        arc = max(2, math.ceil(0.5 * math.pi * corner / step)) if corner else 0
        half = 0.5 * np.array([self.length, self.width]) - corner
        points: list[Array] = []
        for quarter in range(4):  # a corner, and the side that leads on from it
            first = 0.5 * math.pi * (quarter - 1)
            angle = first + 0.5 * math.pi * np.arange(arc + 1) / max(arc, 1)
            sign = np.array([(1, -1), (1, 1), (-1, 1), (-1, -1)][quarter])
            points.append(half * sign + corner * np.stack([np.cos(angle), np.sin(angle)], axis=1))
            along = np.array([(0, 1), (-1, 0), (0, -1), (1, 0)][quarter]) * 2.0 * half
            count = max(1, round(float(np.abs(along).max()) / step))
            points.append(points[-1][-1] + along * (np.arange(1, count)[:, None] / count))
        ring = np.concatenate(points)
        apart = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1)
        return np.asarray(np.array([self.x, self.y]) + ring[apart > 1e-6 * step])

    def holds(self, points: Array) -> np.ndarray:
        """(n,) True for points (n, 2) [m] inside."""
        across = np.abs(points - np.array([self.x, self.y])) - 0.5 * np.array([self.length, self.width]) + self.corner
        outside = np.hypot(*np.maximum(across, 0.0).T) + np.minimum(across.max(axis=1), 0.0)
        return np.asarray(outside < self.corner)


def round_hole(x: float, y: float, diameter: float) -> Outline:
    """A round hole [m]."""
    return Outline(x, y, diameter, diameter, 0.5 * diameter)


@dataclass(frozen=True)
class Sheet:
    """One piece of sheet metal [m]: outline, height z of the flat part or of a ring's upper edge, depth of the walls
    below it (0: none), thickness, holes in the flat part; `flat` False leaves the flat part out.

    Raises DomainError for a sheet without extent, for holes that overlap or reach the edge, and for metal that is not
    thin against the outline (thickness above a tenth of its lesser side).
    """

    outline: Outline
    z: float
    depth: float
    thickness: float
    holes: tuple[Outline, ...] = ()
    flat: bool = True

    def __post_init__(self) -> None:
        if not (0.0 <= self.depth < math.inf and math.isfinite(self.z)) or (self.depth == 0.0 and not self.flat):
            raise DomainError("a sheet is flat, or its walls have a depth above 0", f"depth {self.depth:g} m")
        if not 0.0 < self.thickness <= THIN * min(self.outline.length, self.outline.width):
            raise DomainError(
                "sheet metal has a thickness above 0 and below a tenth of its width", f"{self.thickness:g} m"
            )
        if self.holes and not self.flat:
            raise DomainError("holes are in the flat part of a sheet", "holes in a ring")
        step = 0.1 * min([self.outline.width, *(min(h.length, h.width) for h in self.holes)])
        rings = [h.ring(step) for h in self.holes]
        for i, hole in enumerate(rings):
            whole = bool(np.all(self.outline.holds(hole)))
            if not whole or any(np.any(o.holds(hole)) for j, o in enumerate(self.holes) if j != i):
                raise DomainError(
                    "holes of a sheet lie inside its outline and apart from each other",
                    f"number {i + 1} at x {1e3 * self.holes[i].x:.2f}, y {1e3 * self.holes[i].y:.2f} mm",
                    "a smaller hole, or another place for it",
                )

    @property
    def area(self) -> float:
        """Of the metal [m^2]."""
        flat = self.outline.area - sum(h.area for h in self.holes) if self.flat else 0.0
        return flat + self.depth * self.outline.perimeter


def cover(outline: Outline, z: float, depth: float, thickness: float, holes: Sequence[Outline] = ()) -> Sheet:
    """An open box upside down: flat part at height z, walls `depth` down from it [m]."""
    return Sheet(outline, z, depth, thickness, tuple(holes))


def plate(outline: Outline, z: float, thickness: float, holes: Sequence[Outline] = ()) -> Sheet:
    """A flat plate at height z [m]: a baseplate, say."""
    return Sheet(outline, z, 0.0, thickness, tuple(holes))


def foil_ring(outline: Outline, z: float, depth: float, thickness: float) -> Sheet:
    """A closed ring of foil, `depth` high below its upper edge at z [m]. A foil with a gap carries no current round the
    coil: leave it out."""
    return Sheet(outline, z, depth, thickness, (), False)


def refuse_magnetic(mu: float) -> None:
    """Raise DomainError for sheet metal of a relative permeability above 1.5: steel guides flux, which is not here."""
    if not mu <= MAGNETIC:
        raise DomainError(
            f"eddy currents are reckoned for covers and plates with a permeability of {MAGNETIC:g} at most",
            f"{mu:g}",
            "nickel silver, brass or copper; a steel one is not covered",
        )
