"""The number at the head of a text, exactly: decimals, inch fractions, exponents; and what is refused in between.

A number is a Fraction until the very end, so that each value is rounded to a float once.
"""

from __future__ import annotations

import re
from fractions import Fraction

# Beyond any float (1e308) in any unit, and small enough that 10**n costs nothing.
EXPONENT_LIMIT = 999

_MIXED = re.compile(r"([+-]?)([0-9]+)[ -]([0-9]+)/([0-9]+)")
_FRACTION = re.compile(r"([+-]?)([0-9]+)/([0-9]+)")
_DECIMAL = re.compile(r"([+-]?)(?=[.,]?[0-9])([0-9]*)(?:([.,])([0-9]*))?(?:[eE]([+-]?[0-9]+))?")
_RUN = re.compile(r"[+-]?[0-9][0-9.,]*[.,][0-9]+")
_SPACED = re.compile(r"[+-]?[0-9]{1,3}(?: [0-9]{3})+(?![0-9])")
_VULGAR = dict(zip("½⅓⅔¼¾⅛⅜⅝⅞", ("1/2", "1/3", "2/3", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"), strict=True))
_VULGAR_SIGN = re.compile(f"[{''.join(_VULGAR)}]")
_WORDS = re.compile(r"[+-]?(?:nan|inf(?:inity)?)\b", re.IGNORECASE)


class Unread(Exception):
    """A text that is not understood, before it is put into a sentence.

    must: what must hold. tries: whole texts that may have been meant, to be offered if they can be read.
    came: what was found, where the text itself does not show it. foreign: the unit may belong to another quantity.
    """

    def __init__(self, must: str, tries: tuple[str, ...] = (), came: str = "", foreign: bool = False) -> None:
        super().__init__(must)
        self.must = must
        self.tries = tries
        self.came = came
        self.foreign = foreign

    def inside(self, before: str, after: str) -> Unread:
        """The same, where the part that was not understood stands between `before` and `after`."""
        return Unread(self.must, tuple(before + t + after for t in self.tries), self.came, self.foreign)


def spell_out_fractions(text: str) -> str:
    """`25½ in` -> `25 1/2 in`; the single-sign fractions of phones and word processors."""
    return _VULGAR_SIGN.sub(lambda m: f" {_VULGAR[m[0]]} ", text)


def leading_number(text: str) -> tuple[Fraction, str, str]:
    """(number, the number as typed, the rest without spaces round it) of a tidied text; raises Unread."""
    value, end = _number(text)
    return value, text[:end], text[end:].strip()


def _number(text: str) -> tuple[Fraction, int]:
    if m := _MIXED.match(text):
        sign, whole, top, bottom = m.groups()
        part = _ratio(top, bottom)
        if part >= 1:
            raise Unread("the fraction after a whole number must be less than one")
        return _signed(sign, int(whole) + part), m.end()
    if m := _FRACTION.match(text):
        return _signed(m[1], _ratio(m[2], m[3])), m.end()
    _refuse_grouping(text)
    if (m := _DECIMAL.match(text)) is None:
        if _WORDS.match(text):
            raise Unread("a value must be a finite number")
        raise Unread("a value must begin with its number")
    sign, whole, comma, decimals, exponent = m.groups()
    decimals = decimals or ""
    if comma == "," and len(decimals) == 3 and 1 <= len(whole) <= 3 and int(whole):
        after = (f"e{exponent}" if exponent else "") + text[m.end() :]
        readings = (f"{sign}{whole}.{decimals}".rstrip("0").rstrip("."), f"{sign}{whole}{decimals}")
        raise Unread(
            "a comma before exactly three digits may be a decimal sign or a thousands sign, so it is not guessed",
            tuple(r + after for r in readings),
        )
    power = int(exponent) if exponent else 0
    if abs(power) > EXPONENT_LIMIT:
        raise Unread("a value must be neither too large nor too small to compute with")
    digits = Fraction(int(whole + decimals or "0"))
    return _signed(sign, digits * Fraction(10) ** (power - len(decimals))), m.end()


def _signed(sign: str, size: Fraction) -> Fraction:
    return -size if sign == "-" else size


def _ratio(top: str, bottom: str) -> Fraction:
    if not int(bottom):
        raise Unread("a fraction must not be divided by zero")
    return Fraction(int(top), int(bottom))


def _refuse_grouping(text: str) -> None:
    """Raise Unread where digits are set off in groups; the grouping differs from country to country."""
    if m := _SPACED.match(text):
        raise Unread("digits must be written without spaces between them", (m[0].replace(" ", "") + text[m.end() :],))
    m = _RUN.match(text)
    if m is None:
        return
    run = m[0]
    separators = [c for c in run if c in ".,"]
    if len(separators) < 2:
        return
    last = separators[-1]
    if separators.count(last) == 1:
        head, tail = run.rsplit(last, 1)
        plain = re.sub("[.,]", "", head) + "." + tail
    else:
        plain = re.sub("[.,]", "", run)
    raise Unread("a number must have one decimal sign and no thousands signs", (plain + text[m.end() :],))
