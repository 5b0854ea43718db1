"""How a unit may be spelled: look-alike signs, careless capitals, and spellings refused as unclear."""

from __future__ import annotations

import re
from fractions import Fraction

from lodestring.quantity.kinds import Kind
from lodestring.quantity.unit_tables import TABLES, Unit, fold

BARE = Unit("", Fraction(1))

# What a spelling that is refused as unclear may have meant.
_UNCLEAR: dict[Kind, dict[str, tuple[str, ...]]] = {
    Kind.RESISTANCE: {"m": ("mOhm", "MOhm")},
    Kind.CAPACITANCE: dict.fromkeys(("m", "M", "mF", "MF", "mf", "mfd", "MFD", "MFd"), ("uF", "nF")),
    Kind.FREQUENCY: dict.fromkeys(("mHz", "mhz"), ("MHz", "kHz")),
    Kind.TIME: {"m": ("min", "ms")},
}

# The letters of IEC 60062 that stand in place of the decimal sign, each with the unit it stands for. Its m (milli-) is
# left out, because a maker's m is as often meant as mega.
CODE_LETTERS: dict[Kind, dict[str, str]] = {
    Kind.RESISTANCE: {"R": "ohm", "r": "ohm", "k": "kOhm", "K": "kOhm", "M": "MOhm", "G": "GOhm"},
    Kind.CAPACITANCE: {"p": "pF", "n": "nF", "u": "uF"},
}

_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u00b5\u03bc", "u"),
        **dict.fromkeys("\u03a9\u2126", "ohm"),
        **dict.fromkeys("\u2033\u201c\u201d", '"'),
        **dict.fromkeys("\u2032\u2018\u2019", "'"),
        **dict.fromkeys("\u00b7\u22c5*", " "),
        **dict.fromkeys("\u00b2", "^2"),
        **dict.fromkeys("\u00b3", "^3"),
        **dict.fromkeys("\u2212\u2013\ufe63\uff0d", "-"),
        "\u2103": "\u00b0C",
        "\u2109": "\u00b0F",
        "\u2044": "/",
        "\u2215": "/",
    }
)
_SLASH = re.compile(r" */ *")
_POWER = re.compile(r"(?<=m)\^(?=[23])")


def tidy(text: str) -> str:
    """One spelling for signs that look alike (micro, ohm, quotes, raised digits), single spaces, none round a slash."""
    spaced = " ".join(text.translate(_SIGNS).split())
    return _POWER.sub("", _SLASH.sub("/", spaced).replace("''", '"'))


def units(kind: Kind) -> tuple[str, ...]:
    """The names of the units accepted for `kind`, commonest first; empty for a ratio, which is a bare number.

    Further spellings of the same units (inches, ", µm, kΩ, °C ...) are read too; see `docs/quantities.md`.
    """
    return TABLES[kind].names


def spellings(kind: Kind) -> tuple[str, ...]:
    """Every spelling of every unit of `kind` in tidied form, names included."""
    return tuple(TABLES[kind].spellings)


def find_unit(kind: Kind, spelling: str) -> Unit | None:
    """The unit of `kind` that a tidied spelling names; None where there is none. No spelling names the bare number."""
    table = TABLES[kind]
    if spelling == "":
        return BARE if kind is Kind.RATIO else None
    exact = table.spellings.get(spelling)
    if exact is not None or spelling in _UNCLEAR.get(kind, {}):
        return exact
    return table.folded.get(fold(spelling))


def unclear(kind: Kind, spelling: str) -> tuple[str, ...]:
    """The units a spelling may have meant that is refused because it is used for more than one; empty otherwise."""
    return _UNCLEAR.get(kind, {}).get(spelling, ())
