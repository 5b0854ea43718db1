"""The coil as a body: an obround winding of rectangular section, turns spread evenly over it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.errors import DomainError


@dataclass(frozen=True, slots=True)
class CoilBox:
    """The winding [m], coil-centred: x along the long axis, z along the rods, the winding at |z| <= height / 2.

    straight s >= 0 (0 = round coil), inner r_i > 0, outer r_o > r_i, height h > 0, all finite; else DomainError.
    A turn at half-width r runs along |y| = r for |x| <= s/2 and round two half circles, counter-clockwise seen from +z.
    """

    straight: float
    inner: float
    outer: float
    height: float

    def __post_init__(self) -> None:
        sizes = (self.straight, self.inner, self.outer, self.height)
        came = "straight {:g}, inner {:g}, outer {:g}, height {:g} m".format(*sizes)
        if not all(math.isfinite(size) for size in sizes):
            raise DomainError("the sizes of a coil are finite numbers", came)
        if self.straight < 0.0 or self.inner <= 0.0 or self.height <= 0.0:
            raise DomainError(
                "a coil has an inner half-width and a height above 0 and a straight length of 0 or more", came
            )
        if self.outer <= self.inner:
            raise DomainError(
                "the outer half-width of a coil lies above its inner one", came, "more turns, or a thin winding"
            )

    @property
    def depth(self) -> float:
        """r_o - r_i [m]."""
        return self.outer - self.inner


def moment(box: CoilBox) -> float:
    """Dipole moment along z per ampere and per turn [m^2]: the mean area of a turn, 2 s r_mean + pi <r^2>.

    Also the flux linkage per tesla of a uniform field along z (hum). Exact; air only. Source: derived in the project's
    design from m = I times area of each turn.
    """
    r_mean = 0.5 * (box.inner + box.outer)
    r_square = (box.inner**2 + box.inner * box.outer + box.outer**2) / 3.0
    return 2.0 * box.straight * r_mean + math.pi * r_square
