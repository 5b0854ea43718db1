"""What higher rooms have learned, as frozen records that an assessment takes in.

`Hand`: how this maker winds. `Spools`: wire left on each spool. `Stock`: parts left in the drawer.
"""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.quantity import WireSize


@dataclass(frozen=True, slots=True)
class Learned:
    """A learned value (SI) with the half-width of its 90 % interval and the number of coils behind it."""

    value: float
    half_width: float
    coils: int


@dataclass(frozen=True, slots=True)
class Hand:
    """What has been learned of this maker's winding; None where nothing is known yet."""

    packing: Learned | None = None
    belly: Learned | None = None
    stretch: Learned | None = None
    pace: Learned | None = None
    capacitance: Learned | None = None


@dataclass(frozen=True, slots=True)
class SpoolLeft:
    """Wire left on one spool: mass of the wire alone [kg], and ohms per metre [ohm/m at 20 C] where a sample was
    read.
    """

    name: str
    size: WireSize
    enamel: str
    film: str
    wire_mass: float
    wire_mass_half_width: float
    ohm_per_metre: Learned | None = None


@dataclass(frozen=True, slots=True)
class Spools:
    """All spools the book knows."""

    spools: tuple[SpoolLeft, ...] = ()


@dataclass(frozen=True, slots=True)
class Stock:
    """Parts left: name and count."""

    parts: tuple[tuple[str, int], ...] = ()
