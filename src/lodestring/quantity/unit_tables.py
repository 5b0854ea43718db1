"""The units that may be typed for each kind, as exact ratios to SI.

Every factor is a definition, so it stands here as a Fraction and not in a data file with a spread. Sources: the SI
Brochure (9th edition, 2019) for prefixes, minute, hour, day, degree, degree Celsius and standard gravity
9.80665 m/s2 (CGPM 1901); the international yard and pound agreement of 1959 for inch = 25.4 mm and
pound = 0.45359237 kg; NIST SP 811 (2008), appendix B, for mil, gram-force, pound-force, gauss and degree Fahrenheit.

The same letter means different things for different kinds (m: metre, milli, minute; F: farad, Fahrenheit; G: gauss,
giga), so there is one table a kind and no table of all units.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from lodestring.quantity.kinds import Kind

# pi to 62 decimals, far beyond the 17 digits of a float, so that degrees too are rounded once.
PI = Fraction("3.14159265358979323846264338327950288419716939937510582097494459")

INCH = Fraction("0.0254")
FOOT = 12 * INCH
POUND = Fraction("0.45359237")
GRAVITY = Fraction("9.80665")


@dataclass(frozen=True, slots=True)
class Unit:
    """value in SI = number * scale + offset; a difference (a half-width) takes scale alone."""

    name: str
    scale: Fraction
    offset: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Table:
    """The units of one kind: names in the order they are offered, every spelling, and spellings by folded case."""

    names: tuple[str, ...]
    spellings: Mapping[str, Unit]
    folded: Mapping[str, Unit]


_Rows = Iterable[tuple[Unit, Iterable[str]]]

# Words that begin with m but carry no prefix: M and m are the same letter there, not mega and milli.
_PLAIN_M_WORDS = frozenset(
    (
        "mil",
        "mils",
        "min",
        "mins",
        "minute",
        "minutes",
        "metre",
        "metres",
        "meter",
        "meters",
        "meg",
        "megohm",
        "megohms",
    )
)


def fold(spelling: str) -> str:
    """The key of a spelling of careless case; a prefix m or M and single letters (but C and F) stay as typed."""
    low = spelling.lower()
    if len(spelling) == 1 and low not in "cf":
        return spelling
    if spelling[:1] == "M" and low not in _PLAIN_M_WORDS:
        return "M" + low[1:]
    return low


def _table(rows: _Rows) -> Table:
    spellings: dict[str, Unit] = {}
    folded: dict[str, Unit] = {}
    names = []
    for unit, others in rows:
        names.append(unit.name)
        for spelling in (unit.name, *others):
            if spellings.setdefault(spelling, unit) is not unit:
                raise ValueError(f"{spelling!r} stands twice in one table")
            folded.setdefault(fold(spelling), unit)
    return Table(tuple(names), spellings, folded)


def _row(name: str, scale: Fraction | str | int, others: str = "", *spaced: str) -> tuple[Unit, list[str]]:
    """`others` is split at spaces; spellings that hold a space follow one by one."""
    return Unit(name, Fraction(scale)), [*others.split(), *spaced]


def _per(tops: _Rows, bottoms: _Rows) -> _Rows:
    """Every unit of `tops` per every unit of `bottoms`, in every spelling of both."""
    bottoms = list(bottoms)
    for top, top_others in tops:
        for bottom, bottom_others in bottoms:
            name = f"{top.name}/{bottom.name}"
            spellings = [f"{t}/{b}" for t in (top.name, *top_others) for b in (bottom.name, *bottom_others)]
            yield Unit(name, top.scale / bottom.scale), [s for s in spellings if s != name]


_LENGTH = [
    _row("mm", "1e-3", "millimetre millimetres millimeter millimeters"),
    _row("in", INCH, 'inch inches "'),
    _row("cm", "1e-2", "centimetre centimetres centimeter centimeters"),
    _row("m", 1, "metre metres meter meters"),
    _row("um", "1e-6", "micron microns micrometre micrometres micrometer micrometers"),
    _row("nm", "1e-9"),
    _row("km", 1000, "kilometre kilometres kilometer kilometers"),
    _row("ft", FOOT, "foot feet '"),
    _row("mil", INCH / 1000, "mils thou"),
]
_OHM = [
    _row("ohm", 1, "ohms"),
    _row("kOhm", 1000, "kohm KOhm kilohm kilohms kiloohm kiloohms", "k ohm"),
    _row("mOhm", "1e-3", "milliohm milliohms"),
]
_FARAD = [
    _row("pF", "1e-12", "picofarad picofarads"),
    _row("nF", "1e-9", "nanofarad nanofarads"),
    _row("uF", "1e-6", "microfarad microfarads"),
    _row("F", 1, "farad farads"),
]
_PER_METRE = [
    _row("m", 1, "metre meter"),
    _row("km", 1000),
    _row("ft", FOOT, "foot"),
    _row("kft", 1000 * FOOT, "1000ft", "1000 ft"),
]

TABLES: dict[Kind, Table] = {
    Kind.LENGTH: _table(_LENGTH),
    Kind.MASS: _table(
        [
            _row("g", "1e-3", "gram grams gramme grammes"),
            _row("kg", 1, "kilogram kilograms kilo kilos"),
            _row("mg", "1e-6", "milligram milligrams"),
            _row("ug", "1e-9"),
            _row("oz", POUND / 16, "ounce ounces"),
            _row("lb", POUND, "lbs pound pounds"),
        ]
    ),
    Kind.MASS_PER_LENGTH: _table(
        [
            _row("g/m", "1e-3"),
            _row("mg/m", "1e-6"),
            _row("kg/m", 1),
            _row("kg/km", "1e-3"),
            _row("g/km", "1e-6"),
            _row("g/cm", "0.1"),
            _row("mg/mm", "1e-3"),
            _row("lb/in", POUND / INCH, "lbs/in"),
            _row("lb/ft", POUND / FOOT, "lbs/ft"),
        ]
    ),
    Kind.RESISTANCE: _table(
        [
            _row("ohm", 1, "ohms R"),
            _row("kOhm", 1000, "k K kohm KOhm kilohm kilohms kiloohm kiloohms", "k ohm"),
            _row("MOhm", 1_000_000, "M Mohm meg megohm megohms", "M ohm"),
            _row("GOhm", 1_000_000_000, "G Gohm gigohm"),
            _row("mOhm", "1e-3", "milliohm milliohms"),
        ]
    ),
    Kind.RESISTANCE_PER_LENGTH: _table(_per(_OHM, _PER_METRE)),
    Kind.INDUCTANCE: _table(
        [
            _row("H", 1, "henry henries henrys"),
            _row("mH", "1e-3", "millihenry millihenries"),
            _row("uH", "1e-6", "microhenry microhenries"),
            _row("nH", "1e-9"),
        ]
    ),
    Kind.CAPACITANCE: _table(
        [
            _row("nF", "1e-9", "n nanofarad nanofarads"),
            _row("pF", "1e-12", "p picofarad picofarads"),
            _row("uF", "1e-6", "u microfarad microfarads"),
            _row("F", 1, "farad farads"),
        ]
    ),
    Kind.CAPACITANCE_PER_LENGTH: _table(_per(_FARAD, _PER_METRE)),
    Kind.FREQUENCY: _table(
        [
            _row("Hz", 1, "hertz"),
            _row("kHz", 1000, "kilohertz"),
            _row("MHz", 1_000_000, "megahertz"),
        ]
    ),
    Kind.TEMPERATURE: _table(
        [
            (Unit("C", Fraction(1), Fraction("273.15")), ["°C", "degC", "deg C", "celsius"]),
            (Unit("F", Fraction(5, 9), Fraction("459.67") * 5 / 9), ["°F", "degF", "deg F", "fahrenheit"]),
            (Unit("K", Fraction(1)), ["kelvin", "kelvins"]),
        ]
    ),
    Kind.FORCE: _table(
        [
            _row("gf", GRAVITY / 1000, "gram-force grams-force"),
            _row("N", 1, "newton newtons"),
            _row("mN", "1e-3", "millinewton millinewtons"),
            _row("cN", "1e-2", "centinewton centinewtons"),
            _row("kN", 1000),
            _row("kgf", GRAVITY, "kilogram-force"),
            _row("lbf", POUND * GRAVITY, "pound-force"),
            _row("ozf", POUND * GRAVITY / 16, "ounce-force"),
        ]
    ),
    Kind.FLUX_DENSITY: _table(
        [
            _row("mT", "1e-3", "millitesla"),
            _row("G", "1e-4", "Gs gauss"),
            _row("T", 1, "tesla"),
            _row("uT", "1e-6", "microtesla"),
            _row("kG", "0.1", "kilogauss"),
        ]
    ),
    Kind.TIME: _table(
        [
            _row("s", 1, "sec secs second seconds"),
            _row("min", 60, "mins minute minutes"),
            _row("h", 3600, "hr hrs hour hours"),
            _row("d", 86400, "day days"),
            _row("ms", "1e-3", "millisecond milliseconds"),
            _row("us", "1e-6", "microsecond microseconds"),
        ]
    ),
    Kind.ANGLE: _table(
        [
            _row("deg", PI / 180, "° degree degrees"),
            _row("rad", 1, "radian radians"),
            _row("mrad", "1e-3"),
        ]
    ),
    Kind.TURN_RATE: _table(
        [
            _row(
                "turns/min",
                Fraction(1, 60),
                "turn/min /min 1/min rpm rev/min r/min turns/minute",
                "turns a minute",
                "turns per minute",
                "turns per min",
            ),
            _row("turns/s", 1, "turn/s /s 1/s rev/s r/s rps turns/second", "turns a second", "turns per second"),
        ]
    ),
    Kind.PERCENT: _table([_row("%", "1e-2", "percent pct", "per cent")]),
    Kind.RATIO: _table([]),
    Kind.DENSITY: _table(
        [
            _row("kg/m3", 1),
            _row("g/cm3", 1000, "g/cc g/ml kg/l kg/dm3"),
        ]
    ),
    Kind.RESISTIVITY: _table(
        [
            _row("ohm m", 1, "ohmm ohm-m"),
            _row("nOhm m", "1e-9", "nohmm nOhm-m nohm-m"),
            _row("uOhm m", "1e-6", "uohmm uOhm-m uohm-m"),
            _row("uOhm cm", "1e-8", "uohmcm uOhm-cm uohm-cm"),
            _row("ohm mm2/m", "1e-6", "ohmmm2/m"),
        ]
    ),
}
