"""In which units a maker wants to see figures, and how many of each unit go to SI. What was typed is never rewritten.

Lengths, masses, forces and wire sizes have a choice: makers measure them in two systems. Electrical units and
temperatures (wax, glue, the meter's table) have none.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from lodestring.quantity.unit_tables import FOOT, GRAVITY, INCH, POUND

LengthIn = Literal["mm", "inch fractions", "inch decimals"]
WireIn = Literal["AWG", "mm"]
MassIn = Literal["g", "oz"]
ForceIn = Literal["gf", "mN"]


@dataclass(frozen=True, slots=True)
class Units:
    """The choice. `wire`: None calls a wire as the set file does; `force`: None says a pull on wire in gf, the pull of
    magnets in mN, as each is usual."""

    length: LengthIn = "mm"
    wire: WireIn | None = None
    mass: MassIn = "g"
    force: ForceIn | None = None

    @property
    def inches(self) -> bool:
        """Whether lengths are in inches, either way."""
        return self.length != "mm"

    @property
    def decimals(self) -> Units:
        """The same in decimals: for differences and ends that are to be told apart finer than by 1/64."""
        return replace(self, length="inch decimals") if self.inches else self

    @property
    def length_sign(self) -> str:
        """ "mm" or "in": what a drawing or table says once for all its lengths."""
        return "in" if self.inches else "mm"


USUAL = Units()
"""Where nothing was chosen."""

Rows = tuple[tuple[float, float, str], ...]
"""(from this SI size on, divide by, unit), the first that fits."""

_IN_INCHES: Rows = ((2.0, float(FOOT), "ft"), (0.0, float(INCH), "in"))
_IN_OUNCES: Rows = ((2.0, float(POUND), "lb"), (0.0, float(POUND / 16), "oz"))
_IN_GRAM_FORCE: Rows = ((0.0, float(GRAVITY / 1000), "gf"),)

FINEST = 64
"""Parts of an inch on a maker's rule (common practice, no source)."""
LEAST_FRACTION = float(INCH / 16)
"""Below a sixteenth the step of 1/64 is a quarter of the length and more: thousandths are said instead [m]."""
NO_REST = float(INCH / 500)
"""0.002 in: what lies nearer to a fraction than this is drawn as that fraction, as a rule and a knife can no better
(common practice, no source) [m]."""
EXACT = 1e-9
"""m: far below anything a bench can make, far above the rounding of floats."""


def rows_of(unit: str, units: Units) -> Rows | None:
    """The rows of an SI unit where another than the usual ones are chosen, else None."""
    if unit == "m" and units.inches:
        return _IN_INCHES
    if unit == "kg" and units.mass == "oz":
        return _IN_OUNCES
    if unit == "N" and units.force == "gf":
        return _IN_GRAM_FORCE
    return None


def nearest(metres: float) -> tuple[str, float]:
    """The nearest 64th of an inch, as `1 9/16` (a true minus before it), and what it leaves over [m]."""
    parts = Fraction(round(Fraction(metres) / INCH * FINEST), FINEST)
    whole, part = divmod(abs(parts), 1)
    words = [str(whole)] if whole or not part else []
    if part:
        words.append(f"{part.numerator}/{part.denominator}")
    return ("\u2212" if parts < 0 else "") + " ".join(words), metres - float(parts * INCH)
