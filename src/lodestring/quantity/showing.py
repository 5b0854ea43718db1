"""Quantities as text: exact, so that reading gives the same quantity again, or rounded for people."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from lodestring.errors import QuantityError
from lodestring.quantity.kinds import Kind, Quantity, finite
from lodestring.quantity.spelling import BARE, find_unit, tidy, units
from lodestring.quantity.understanding import TEXT_LIMIT
from lodestring.quantity.unit_tables import INCH, Unit

# 17 significant digits tell every two floats apart, after any factor; an offset (C, F) eats digits near absolute zero.
_FLOAT_DIGITS = 17
_OFFSET_DIGITS = 25

# (below this SI size, this unit), the last without a bound; zero takes the unit marked by _AT_ZERO.
_FITTING: dict[Kind, tuple[tuple[float, str], ...]] = {
    Kind.LENGTH: ((1e-8, "nm"), (1e-5, "um"), (10.0, "mm"), (float("inf"), "m")),
    Kind.MASS: ((1e-6, "ug"), (1e-4, "mg"), (1.0, "g"), (float("inf"), "kg")),
    Kind.MASS_PER_LENGTH: ((1e-4, "mg/m"), (1.0, "g/m"), (float("inf"), "kg/m")),
    Kind.RESISTANCE: ((1.0, "mOhm"), (1e3, "ohm"), (1e6, "kOhm"), (float("inf"), "MOhm")),
    Kind.RESISTANCE_PER_LENGTH: ((1.0, "ohm/km"), (1e3, "ohm/m"), (float("inf"), "kOhm/m")),
    Kind.INDUCTANCE: ((1e-6, "nH"), (1e-3, "uH"), (1.0, "mH"), (float("inf"), "H")),
    Kind.CAPACITANCE: ((1e-9, "pF"), (1e-6, "nF"), (float("inf"), "uF")),
    Kind.CAPACITANCE_PER_LENGTH: ((1e-9, "pF/m"), (1e-6, "nF/m"), (float("inf"), "uF/m")),
    Kind.FREQUENCY: ((1e3, "Hz"), (1e6, "kHz"), (float("inf"), "MHz")),
    Kind.TEMPERATURE: ((float("inf"), "C"),),
    Kind.FORCE: ((1.0, "gf"), (float("inf"), "N")),
    Kind.FLUX_DENSITY: ((1e-4, "uT"), (1.0, "mT"), (float("inf"), "T")),
    Kind.TIME: ((1e-3, "us"), (1.0, "ms"), (120.0, "s"), (7200.0, "min"), (float("inf"), "h")),
    Kind.ANGLE: ((float("inf"), "deg"),),
    Kind.TURN_RATE: ((float("inf"), "turns/min"),),
    Kind.PERCENT: ((float("inf"), "%"),),
    Kind.RATIO: ((float("inf"), ""),),
    Kind.DENSITY: ((float("inf"), "kg/m3"),),
    Kind.RESISTIVITY: ((1e-6, "nOhm m"), (1.0, "uOhm m"), (float("inf"), "ohm m")),
}

# What an exact text may be given in instead, where the fitting unit makes a long decimal of a short one (0.2 N in gf).
_PLAINER: dict[Kind, tuple[str, ...]] = {
    Kind.TEMPERATURE: ("K",),
    Kind.FORCE: ("mN", "N"),
    Kind.TIME: ("s",),
    Kind.ANGLE: ("rad",),
    Kind.TURN_RATE: ("turns/s",),
}
_PLAINER_SAVES = 5

_AT_ZERO: dict[Kind, str] = {
    Kind.LENGTH: "mm", Kind.MASS: "g", Kind.MASS_PER_LENGTH: "g/m", Kind.RESISTANCE: "ohm", Kind.INDUCTANCE: "H",
    Kind.RESISTANCE_PER_LENGTH: "ohm/m", Kind.FLUX_DENSITY: "mT", Kind.TIME: "s", Kind.RESISTIVITY: "nOhm m",
}  # fmt: skip


def show(quantity: Quantity, unit: str | None = None, digits: int | None = None) -> str:
    """`quantity` as text in `unit` (any spelling that can be read), or in a unit that fits its size.

    digits = None: exact, the fewest digits for which `read(show(q), q.kind) == q`, half-width included. Where a
    temperature in C or F would need more than 25 digits for that (within a millionth of a kelvin of absolute zero),
    it is given in K: exactness comes before the unit.
    digits = 1..17: for people, that many significant digits (the half-width at most two), closing zeros left out.

    Raises QuantityError for a unit that is not of this kind or digits outside 1..17.
    """
    if digits is None:
        return _show_exact(quantity, unit)
    if isinstance(digits, bool) or not 1 <= digits <= _FLOAT_DIGITS:
        raise QuantityError(f"digits must be a whole number from 1 to {_FLOAT_DIGITS}", repr(digits))
    name = unit if unit is not None else _fitting(quantity.kind, quantity.value, digits)
    known = _known(quantity.kind, name)
    text = _with_unit(_to_digits((Fraction(quantity.value) - known.offset) / known.scale, digits), name)
    if quantity.half_width is None:
        return text
    half = _to_digits(Fraction(quantity.half_width) / known.scale, min(digits, 2))
    return f"{text} ± {_with_unit(half, name)}"


def show_value(value_si: float, kind: Kind, unit: str | None = None, digits: int | None = 3) -> str:
    """A value in SI as text for people: `show` of a quantity without a half-width. Errors as `show`."""
    return show(Quantity(kind, value_si), unit, digits)


def show_inches(value_si: float, denominator: int = 64) -> str:
    """A length in m as inches and a fraction, "1 9/16 in"; with "≈" in front when the fraction is not exact.

    denominator: the finest division, 1 to 1024. Raises QuantityError when the value is not finite.
    """
    if isinstance(denominator, bool) or not isinstance(denominator, int) or not 1 <= denominator <= 1024:
        raise QuantityError("the finest division of an inch must be a whole number from 1 to 1024", repr(denominator))
    value = finite(value_si, "a length")
    nearest = Fraction(round(Fraction(value) / INCH * denominator), denominator)
    whole, part = divmod(abs(nearest), 1)
    words = [str(whole)] if whole or not part else []
    if part:
        words.append(f"{part.numerator}/{part.denominator}")
    sign = "-" if nearest < 0 else ""
    about = "" if float(nearest * INCH) == value else "≈ "
    return f"{about}{sign}{' '.join(words)} in"


def _known(kind: Kind, name: str) -> Unit:
    unit = find_unit(kind, tidy(name))
    if unit is None:
        raise QuantityError(
            f"the unit must be one of {kind.value}",
            f'"{name[:20]}"' if name.isprintable() else "an unprintable text",
            ", ".join(units(kind)) or "no unit",
        )
    return unit


def _fitting(kind: Kind, value: float, digits: int = _FLOAT_DIGITS) -> str:
    """The unit for a value's size, as it looks after rounding: 999.9 ohm to three digits is 1 kOhm."""
    size = abs(float(f"{value:.{digits - 1}e}"))
    if size == 0.0 and kind in _AT_ZERO:
        return _AT_ZERO[kind]
    return next((name for bound, name in _FITTING[kind] if size < bound), _FITTING[kind][-1][1])


def _with_unit(number: str, name: str) -> str:
    """A space between number and unit, except before signs that cling to it."""
    return f"{number}{name}" if name in {"", '"', "'", "°", "″", "′"} else f"{number} {name}"


def _show_exact(quantity: Quantity, unit: str | None) -> str:
    kind = quantity.kind
    if unit is not None:
        text, _ = _exact_text(quantity, unit)
    else:
        text, length = _exact_text(quantity, _fitting(kind, quantity.value))
        for name in _PLAINER.get(kind, ()):
            other, other_length = _exact_text(quantity, name)
            if other is not None and (text is None or other_length + _PLAINER_SAVES <= length):
                text, length = other, other_length
    if text is None:
        text, _ = _exact_text(quantity, kind.si_unit)
    if text is None:  # 17 digits tell all floats apart in SI, so this is a fault of this module
        raise QuantityError(f"{kind.phrase} must have an exact text", repr(quantity.value))
    return text


def _exact_text(quantity: Quantity, name: str) -> tuple[str | None, int]:
    """(text or None, its count of digits) in one unit."""
    unit = _known(quantity.kind, name)
    value, length = _shortest(quantity.value, unit.scale, unit.offset)
    if value is None:
        return None, length
    text = _with_unit(value, name)
    if quantity.half_width is None:
        return text, length
    half, half_length = _shortest(quantity.half_width, unit.scale, BARE.offset)
    length += half_length
    if half is None:
        return None, length
    both = f"{text} ± {_with_unit(half, name)}"
    # A long spelling twice, with all digits, would be more than may be typed; the half-width has that unit anyway.
    return (both if len(both) <= TEXT_LIMIT else f"{text} ± {half}"), length


def _shortest(value: float, scale: Fraction, offset: Fraction) -> tuple[str | None, int]:
    """The decimal with fewest digits that scale and offset lead back to `value` exactly, and its count of digits."""
    exact = (Fraction(value) - offset) / scale
    limit = _OFFSET_DIGITS if offset else _FLOAT_DIGITS
    for count, (text, rounded) in enumerate(_roundings(exact, limit), start=1):
        try:
            if float(rounded * scale + offset) == value:
                return text, count
        except OverflowError:  # rounded up past the largest float; more digits help
            continue
    return None, limit


def _to_digits(exact: Fraction, digits: int) -> str:
    return next(text for text, _ in _roundings(exact, digits, digits))


def _roundings(exact: Fraction, last: int, first: int = 1) -> Iterator[tuple[str, Fraction]]:
    """`exact` to first, first + 1 ... last significant digits, as text and as number."""
    if not exact:
        yield "0", exact
        return
    size = abs(exact)
    # The power of the leading digit: right, or one too large, from the counts of digits.
    power = len(str(size.numerator)) - len(str(size.denominator))
    if size < Fraction(10) ** power:
        power -= 1
    for count in range(first, last + 1):
        step = Fraction(10) ** (power - count + 1)
        whole = round(size / step)
        sign = "-" if exact < 0 else ""
        yield sign + _decimal(whole, power - count + 1), (whole if exact > 0 else -whole) * step


def _decimal(whole: int, power: int) -> str:
    """whole * 10**power as text, without closing zeros after the decimal point; with an exponent if it is long."""
    digits = str(whole).rstrip("0")
    power += len(str(whole)) - len(digits)
    leading = power + len(digits) - 1
    if not -5 <= leading < 15:
        mantissa = digits[0] + ("." + digits[1:] if len(digits) > 1 else "")
        return f"{mantissa}e{leading}"
    if power >= 0:
        return digits + "0" * power
    if leading < 0:
        return "0." + "0" * (-leading - 1) + digits
    return f"{digits[: leading + 1]}.{digits[leading + 1 :]}"
