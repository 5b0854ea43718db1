"""Capacitance per height between conductors that stand upright beside each other: a plane problem, by panels.

Seen from above, rods, blades and the faces of the winding are closed lines at two potentials. Their charge lies on
straight panels of even charge; the potential of each panel at the middle of all is closed form; two potentials give the
charges. Textbook boundary elements (single layer, collocation). Nothing happens along z: no fringe at the ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.capacitance_pair import EPSILON0

__all__ = ["Circle", "Oblong", "Outline", "plan_capacitance"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Circle:
    """A rod from above: middle x, y and radius [m]."""

    x: float
    y: float
    radius: float

    def __post_init__(self) -> None:
        if not 0.0 < self.radius < math.inf:
            raise DomainError("a rod has a radius above 0", f"{self.radius * 1e3:g} mm")

    def line(self, step: float) -> Floats:
        """Points (q, 2) [m] round it, the last next to the first, at most `step` [m] apart."""
        count = max(64, math.ceil(2.0 * math.pi * self.radius / step))
        angle = 2.0 * math.pi * np.arange(count) / count
        return np.stack([self.x + self.radius * np.cos(angle), self.y + self.radius * np.sin(angle)], axis=1)


@dataclass(frozen=True, slots=True)
class Oblong:
    """A rectangle with rounded corners: middle x, y, length along x, width along y, radius of the corners [m].

    A blade or a housing has corner 0 or a small one; the obround face of a winding a corner of half its width.
    """

    x: float
    y: float
    length: float
    width: float
    corner: float

    def __post_init__(self) -> None:
        if not (0.0 < self.length < math.inf and 0.0 < self.width < math.inf):
            came = f"{self.length * 1e3:g} by {self.width * 1e3:g} mm"
            raise DomainError("a blade or a face has a length and a width above 0", came)
        if not 0.0 <= self.corner <= 0.5 * min(self.length, self.width) * (1.0 + 1e-9):
            raise DomainError("a corner's radius is from 0 to half the width", f"{self.corner * 1e3:g} mm")

    def line(self, step: float) -> Floats:
        """Points (q, 2) [m] round it, the last next to the first, at most `step` [m] apart."""
        r = self.corner
        a, b = 0.5 * self.length - r, 0.5 * self.width - r
        bend = max(16, math.ceil(0.5 * math.pi * r / step)) if r > 0.0 else 1
        corners = []
        for quarter, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
            angle = 0.5 * math.pi * (quarter + np.linspace(0.0, 1.0, bend + 1 if r > 0.0 else 1))
            corners.append(np.stack([sx * a + r * np.cos(angle), sy * b + r * np.sin(angle)], axis=1))
        turning = np.concatenate(corners)
        out = []
        for p, q in pairwise(np.concatenate([turning, turning[:1]])):
            parts = max(1, math.ceil(float(np.hypot(*(q - p))) / step))
            if np.any(p != q):
                out.append(p + (q - p) * (np.arange(parts) / parts)[:, None])
        return np.asarray(np.concatenate(out) + np.array([self.x, self.y]))


Outline = Circle | Oblong


@lru_cache(maxsize=256)
def plan_capacitance(metal: tuple[Outline, ...], winding: tuple[Outline, ...], fineness: float = 2.0) -> float:
    """Capacitance [F/m] per height between all of `metal` and all of `winding`, vacuum between them.

    A conductor may enclose the others. Panels are as long as the distance to the other side over `fineness`, at most
    1/48 of the outline: error below 0.5 % at 2 with gaps down to 1/50 of a rod's radius, falling as the panels'
    length squared (once at sharp corners). Ends of the height fringe: add a gap to the height for a rough upper bound.
    Raises DomainError where a side is empty, the two touch, or more than 4,000 panels would be needed.
    """
    if not metal or not winding:
        raise DomainError("a capacitance lies between two sides", "one of them without a conductor")
    from scipy.spatial import cKDTree

    size = max(float(np.ptp(o.line(1.0), axis=0).max()) for o in metal + winding)
    fine = [o.line(size / 3000.0) for o in metal + winding]
    sides = [np.concatenate(fine[: len(metal)]), np.concatenate(fine[len(metal) :])]
    trees = [cKDTree(side) for side in sides]
    panels, on_metal = [], []
    for i, points in enumerate(fine):
        is_metal = i < len(metal)
        away, _ = trees[1 if is_metal else 0].query(points)
        if away.min() < size / 3000.0:
            raise DomainError(
                "metal and winding keep a distance of at least a few thousandths of the coil's length",
                f"{away.min() * 1e3:.3g} mm",
                "a wrap between them",
            )
        ends = _graded(points, away / fineness)
        panels.append(np.stack([ends, np.roll(ends, -1, axis=0)], axis=1))
        on_metal.append(np.full(len(ends), is_metal))
    return _charge(np.concatenate(panels), np.concatenate(on_metal))


def _graded(points: Floats, longest: Floats) -> Floats:
    """Ends of panels (p, 2) on a closed line (q, 2), each about as long as `longest` (q,) allows there."""
    closed = np.concatenate([points, points[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    allowed = np.minimum(np.concatenate([longest, longest[:1]]), along[-1] / 48.0)
    need = np.concatenate([[0.0], np.cumsum(np.diff(along) * 0.5 * (1.0 / allowed[1:] + 1.0 / allowed[:-1]))])
    count = math.ceil(need[-1])
    where = np.interp(np.arange(count) * (need[-1] / count), need, along)
    return np.stack([np.interp(where, along, closed[:, axis]) for axis in (0, 1)], axis=1)


def _charge(panels: Floats, on_metal: NDArray[np.bool_]) -> float:
    """Charge [C/m] on the metal at 1 V against the rest at 0 V; the whole holds none, its level at infinity is free."""
    count = len(panels)
    if count > 4000:
        raise DomainError("a plan is solved with at most 4,000 panels", f"{count}", "a wider gap")
    start, end = panels[:, 0], panels[:, 1]
    length = np.hypot(*(end - start).T)
    tangent = (end - start) / length[:, None]
    middle = 0.5 * (start + end)
    from_start = middle[:, None, :] - start[None, :, :]
    u = np.einsum("ijx,jx->ij", from_start, tangent)
    v = from_start[..., 0] * tangent[:, 1] - from_start[..., 1] * tangent[:, 0]
    unit = length.max()  # a length's logarithm needs a unit; the free level makes any one right
    system = np.zeros((count + 1, count + 1))
    system[:-1, :-1] = -(_log_integral(u, v, unit) - _log_integral(u - length, v, unit)) / (2.0 * math.pi * EPSILON0)
    system[:-1, -1] = 1.0
    system[-1, :-1] = length
    scale = 1.0 / abs(system[:-1, :-1]).max()
    system[:-1, :-1] *= scale  # charges in units that keep the matrix balanced
    density = np.linalg.solve(system, np.append(on_metal.astype(np.float64), 0.0))[:-1] * scale
    return float(density[on_metal] @ length[on_metal])


def _log_integral(u: Floats, v: Floats, unit: float) -> Floats:
    """Integral of ln(sqrt(u^2 + v^2)/unit) over u."""
    square = u * u + v * v
    safe = np.where(square > 0.0, square, 1.0)
    return np.asarray(u * (0.5 * np.log(safe / unit**2) - 1.0) + v * np.arctan2(u, v * np.sign(v)) * np.sign(v))
