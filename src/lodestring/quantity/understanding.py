"""A text into a quantity of the kind that is expected, or `Unread`. The sentences are made in `reading`."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from lodestring.quantity.kinds import Kind, Quantity
from lodestring.quantity.numerals import Unread, leading_number, spell_out_fractions
from lodestring.quantity.spelling import CODE_LETTERS, find_unit, tidy, unclear, units
from lodestring.quantity.unit_tables import Unit

TEXT_LIMIT = 80

_PLUS_MINUS = re.compile(r" *(?:±|\+/-|\+-) *")
_SIGN_GAP = re.compile(r"^([+-]) (?=[0-9.,])")
_CODE = re.compile(r"([+-]?)([0-9]*)([A-Za-z])([0-9]+)")

# What is meant when a neighbouring kind's unit is typed: a scale shows grams, a tension is wanted in gram-force.
_NEIGHBOURS: dict[tuple[Kind, str], str] = {
    (Kind.FORCE, "g"): "gf",
    (Kind.FORCE, "kg"): "kgf",
    (Kind.FORCE, "lb"): "lbf",
    (Kind.FORCE, "lbs"): "lbf",
    (Kind.FORCE, "oz"): "ozf",
    (Kind.MASS, "gf"): "g",
    (Kind.MASS, "kgf"): "kg",
    (Kind.MASS, "lbf"): "lb",
}


@dataclass(frozen=True, slots=True)
class Measure:
    """A number with its unit, and the number as typed; `coded` when a letter stood in place of the decimal sign."""

    number: Fraction
    unit: Unit
    typed: str
    coded: bool = False


def understand(text: str, kind: Kind) -> tuple[Quantity, Unit]:
    """The quantity in `text`, told its kind, and the unit it was typed in; raises Unread. Any text ends quickly."""
    parts = _PLUS_MINUS.split(_SIGN_GAP.sub(r"\1", tidy(spell_out_fractions(_checked(text, kind)))))
    if len(parts) > 2:
        raise Unread("there must be no more than one ± in a value")
    after = f" ± {parts[1]}" if len(parts) == 2 else ""
    if len(parts) == 2:
        _refuse_unit_after_half_width(parts[0], parts[1], kind)
    try:
        measure = _measure(parts[0], kind)
    except Unread as unread:
        raise unread.inside("", after) from None
    exact = measure.number * measure.unit.scale + measure.unit.offset
    if kind is Kind.TEMPERATURE and exact < 0:
        raise Unread("a temperature must not lie below absolute zero (0 K, -273.15 C, -459.67 F)")
    value = _rounded(exact)
    if len(parts) == 1:
        return Quantity(kind, value, None, text), measure.unit
    try:
        half = _half_width(parts[1], kind, measure, exact)
    except Unread as unread:
        raise unread.inside(f"{parts[0]} ± ", "") from None
    return Quantity(kind, value, _rounded(half), text), measure.unit


def _refuse_unit_after_half_width(value: str, half: str, kind: Kind) -> None:
    """`5 ± 50 um` may be 5 um or a bare 5: the unit stands after the value, where it cannot be mistaken."""
    try:
        bare = not leading_number(value)[2] and kind is not Kind.RATIO
        spelling = leading_number(half)[2]
    except Unread:
        return
    if bare and find_unit(kind, spelling) is not None:
        raise Unread("the unit must stand after the value, before the ±", (f"{value} {spelling} ± {half}",))


def _checked(text: str, kind: Kind) -> str:
    """`text` if it is short, not empty, and made of visible characters. The cap comes first."""
    if len(text) > TEXT_LIMIT:
        raise Unread(f"{kind.phrase} must be a text of at most {TEXT_LIMIT} characters", came=f"one of {len(text)}")
    if not text.strip():
        raise Unread(f"{kind.phrase} is wanted", came="an empty text" if not text else "a text of spaces only")
    for character in text:
        if unicodedata.category(character)[0] == "C":
            raise Unread(
                f"{kind.phrase} must be written without control characters",
                (" ".join("".join(c if unicodedata.category(c)[0] != "C" else " " for c in text).split()),),
            )
    return text


def _measure(part: str, kind: Kind) -> Measure:
    if (coded := _letter_code(part, kind)) is not None:
        return coded
    number, typed, spelling = leading_number(part)
    unit = find_unit(kind, spelling)
    if unit is not None:
        return Measure(number, unit, typed)
    raise _unknown_unit(number, typed, spelling, kind)


def _letter_code(part: str, kind: Kind) -> Measure | None:
    """`6k8`, `4n7`, `R47`: the letter stands in place of the decimal sign (IEC 60062, clause 4)."""
    m = _CODE.fullmatch(part) if kind in CODE_LETTERS else None
    if m is None:
        return None
    sign, whole, letter, decimals = m.groups()
    name = CODE_LETTERS[kind].get(letter)
    typed = f"{sign}{whole or '0'}.{decimals}"
    if name is None:
        meant = unclear(kind, letter)
        if meant:
            raise Unread(f"the letter {letter} is not clear in {kind.phrase}", tuple(f"{typed} {u}" for u in meant))
        return None
    unit = find_unit(kind, name)
    return None if unit is None else Measure(Fraction(typed), unit, typed, coded=True)


def _unknown_unit(number: Fraction, typed: str, spelling: str, kind: Kind) -> Unread:
    """What is to be said of a number whose unit is missing, unclear, or none of this kind's."""
    names = units(kind)
    if kind is Kind.RATIO:
        percent = find_unit(Kind.PERCENT, spelling)
        tries = (format(float(number / 100), ".12g"),) if percent and abs(number) < 10**9 else (typed,)
        return Unread("a ratio must be a bare number", tries, foreign=True)
    if not spelling:
        if kind is Kind.PERCENT and abs(number) < 10**9:
            return Unread("a percentage needs its sign", (f"{typed} %", f"{float(number * 100):.12g} %"))
        return Unread(f"{kind.phrase} needs its unit", tuple(f"{typed} {u}" for u in names[:2]))
    meant = unclear(kind, spelling)
    if meant:
        return Unread(f'"{spelling}" is not clear as a unit of {kind.value}', tuple(f"{typed} {u}" for u in meant))
    neighbour = _NEIGHBOURS.get((kind, spelling.lower()))
    likely = [neighbour] if neighbour else [u for u in names if u.lower() == spelling.lower()]
    return Unread(f"{kind.phrase} is wanted", tuple(f"{typed} {u}" for u in likely), foreign=True)


def _half_width(part: str, kind: Kind, measure: Measure, exact: Fraction) -> Fraction:
    """The half-width in SI. Without a unit it has the value's; % is of the value, or points of a percentage."""
    if (coded := _letter_code(part, kind)) is not None:
        half = coded.number * coded.unit.scale
    else:
        number, typed, spelling = leading_number(part)
        percent = find_unit(Kind.PERCENT, spelling)
        unit = measure.unit if not spelling else find_unit(kind, spelling)
        if not spelling and measure.coded:
            raise Unread(
                "after a letter code the half-width needs its unit", (f"{typed} {units(kind)[0]}", f"{typed} %")
            )
        if unit is not None:
            half = number * unit.scale
        elif percent is not None and kind is not Kind.TEMPERATURE:
            half = abs(exact) * number * percent.scale
        elif percent is not None:
            raise Unread("the half-width of a temperature must be in degrees, not in per cent", (typed,))
        else:
            raise _unknown_unit(number, typed, spelling, kind)
    if half < 0:
        raise Unread("a half-width must not be negative", (part.lstrip("-"),))
    return half


def _rounded(exact: Fraction) -> float:
    """The nearest float, refused where it would be infinite or a zero that is none."""
    try:
        value = float(exact)
    except OverflowError:
        raise Unread("a value must not be too large to compute with") from None
    if value == 0.0 and exact:
        raise Unread("a value must not be too small to compute with")
    return value
