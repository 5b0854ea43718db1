"""What a text can be a quantity of, and the record a text becomes.

The records are SI inside and checked once, at birth: a `Quantity` that exists is finite.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

from lodestring.errors import QuantityError


class Kind(StrEnum):
    """The quantity that is expected. `si_unit` names the unit of `Quantity.value`, `phrase` says it in a sentence."""

    LENGTH = "length"
    MASS = "mass"
    MASS_PER_LENGTH = "mass per length"
    RESISTANCE = "resistance"
    RESISTANCE_PER_LENGTH = "resistance per length"
    INDUCTANCE = "inductance"
    CAPACITANCE = "capacitance"
    CAPACITANCE_PER_LENGTH = "capacitance per length"
    FREQUENCY = "frequency"
    TEMPERATURE = "temperature"
    FORCE = "force"
    FLUX_DENSITY = "flux density"
    TIME = "time"
    ANGLE = "angle"
    TURN_RATE = "turn rate"
    PERCENT = "percentage"
    RATIO = "ratio"
    DENSITY = "density"
    RESISTIVITY = "resistivity"

    @property
    def si_unit(self) -> str:
        """The unit of `Quantity.value`; a percentage is held as a ratio ("1")."""
        return _SI_UNITS[self]

    @property
    def phrase(self) -> str:
        """The name with its article: "a length", "an inductance"."""
        return f"{'an' if self.value[0] in 'aeiou' else 'a'} {self.value}"


_SI_UNITS = {
    Kind.LENGTH: "m",
    Kind.MASS: "kg",
    Kind.MASS_PER_LENGTH: "kg/m",
    Kind.RESISTANCE: "ohm",
    Kind.RESISTANCE_PER_LENGTH: "ohm/m",
    Kind.INDUCTANCE: "H",
    Kind.CAPACITANCE: "F",
    Kind.CAPACITANCE_PER_LENGTH: "F/m",
    Kind.FREQUENCY: "Hz",
    Kind.TEMPERATURE: "K",
    Kind.FORCE: "N",
    Kind.FLUX_DENSITY: "T",
    Kind.TIME: "s",
    Kind.ANGLE: "rad",
    Kind.TURN_RATE: "turns/s",
    Kind.PERCENT: "1",
    Kind.RATIO: "1",
    Kind.DENSITY: "kg/m3",
    Kind.RESISTIVITY: "ohm m",
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value as a maker gives it.

    kind: what it is a value of.
    value: in `kind.si_unit`, finite; a temperature is absolute (K) and not below zero.
    half_width: half the width of a 90 % interval, in the same unit, finite, not negative; None = not given.
        For a temperature it is a difference (K).
    text: exactly what was typed, or "" when the value was never text. It takes no part in equality.

    Raises QuantityError when a value is not finite, a half-width is negative, a temperature is below absolute zero.
    """

    kind: Kind
    value: float
    half_width: float | None = None
    text: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "value", finite(self.value, f"the value of {self.kind.phrase}"))
        if self.kind is Kind.TEMPERATURE and self.value < 0.0:
            raise QuantityError("a temperature must not lie below absolute zero (0 K)", f"{self.value!r} K")
        if self.half_width is None:
            return
        half = finite(self.half_width, f"the half-width of {self.kind.phrase}")
        if half < 0.0:
            raise QuantityError("a half-width must not be negative", f"{half!r} {self.kind.si_unit}", f"{-half!r}")
        object.__setattr__(self, "half_width", half)


def finite(value: float, what: str) -> float:
    """`value` as a finite float without the sign of a zero; raises QuantityError naming `what` otherwise."""
    if isinstance(value, bool):
        raise QuantityError(f"{what} must be a number", f"the truth value {str(value).lower()}")
    try:
        number = float(value)
    except OverflowError:
        raise QuantityError(f"{what} must be a finite number", "one too large to compute with") from None
    except (TypeError, ValueError):
        raise QuantityError(f"{what} must be a number", f"{type(value).__name__}") from None
    if not math.isfinite(number):
        raise QuantityError(f"{what} must be a finite number", repr(number))
    return number + 0.0
