"""A measurement: what was read on a coil, with what, and how far the reading may be off. Contract 5's kind `measure`.

What can be measured stands in quantities.toml, with the sentence that asks for it and the order of asking (the
cheapest first: the first verdict needs only meter, caliper and scale).
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from lodestring.design.vocabulary import STAGES, Stage
from lodestring.errors import DomainError
from lodestring.quantity import Kind, read

OPEN = "open"
"""What a meter shows where nothing passes, in place of a number; for inductance and resonance: no reading."""
LEAST_LOAD = 500e3
"""An input below this [ohm] takes the peak away; then the impedance method is asked for."""
MOST_POLES = 60


@dataclass(frozen=True, slots=True)
class Asked:
    """A quantity that can be measured: how it is asked for, in what unit, how far it may be off.

    `kind` None: an answer in words, one of `choices`. `relative` and `absolute` (unit of the value) are half-widths of
    a 90 % interval where the meter's own is not given.
    """

    name: str
    title: str
    ask: str
    how: str
    kind: Kind | None
    unit: str
    choices: tuple[str, ...]
    can_be_open: bool
    relative: float
    absolute: float
    needs: tuple[str, ...]
    by_pole: bool
    by_coach: bool
    stage: Stage

    def half_width(self, value: float) -> float:
        """Usual half-width of a 90 % interval round a reading."""
        return max(self.relative * abs(value), self.absolute)


@cache
def quantities() -> Mapping[str, Asked]:
    """Every quantity by name, in the order of asking."""
    text = files("lodestring.proving").joinpath("quantities.toml").read_text(encoding="utf-8")
    return MappingProxyType({row["name"]: _asked(row) for row in tomllib.loads(text)["quantity"]})


def _asked(row: Mapping[str, Any]) -> Asked:
    kind = Kind(row["kind"]) if "kind" in row else None
    return Asked(
        row["name"],
        row["title"],
        row["ask"],
        row["how"],
        kind,
        row.get("unit", "" if kind is None else kind.si_unit),
        tuple(row.get("choices", ())),
        row.get("open", False),
        row.get("percent", 0.0) / 100.0,
        row.get("half", 0.0),
        tuple(row.get("needs", ())),
        row.get("poles", False),
        row.get("asked", True),
        row["from"],
    )


@dataclass(frozen=True, slots=True)
class At:
    """Under what a reading was taken; None where it does not matter or is not known.

    frequency [Hz], mode "series" or "parallel", pole piece from 1, capacitance added across the coil [F], load [ohm]
    that it was read with, method "" or "impedance".
    """

    frequency: float | None = None
    mode: str | None = None
    pole: int | None = None
    capacitance: float | None = None
    load: float | None = None
    method: str = ""


@dataclass(frozen=True, slots=True)
class Measurement:
    """One reading: a number in SI, or a word (a choice, or "open"); `half_width` of its 90 % interval, 0 for a word.

    `temperature` [K] of the coil; None where it was not written down. Raises DomainError at birth for a quantity that
    is not known, a number that cannot be, and where frequency, mode or capacitance are missing or the input took the
    peak away.
    """

    quantity: str
    value: float | str
    half_width: float = 0.0
    instrument: str = ""
    temperature: float | None = None
    at: At = field(default_factory=At)

    def __post_init__(self) -> None:
        asked = _known(self.quantity)
        if isinstance(self.value, str):
            _must_be_choice(asked, self.value)
        else:
            _must_be_number(asked, self.value, self.half_width)
        _must_be_told(asked, self.at)
        if self.temperature is not None and not 200.0 < self.temperature < 400.0:
            raise DomainError(
                "the temperature of a coil lies between -73 and 127 C", f"{self.temperature - 273.15:.0f} C", "22 C"
            )

    @property
    def asked(self) -> Asked:
        return quantities()[self.quantity]

    @property
    def number(self) -> float:
        """The value of a number; raises TypeError for a word."""
        if isinstance(self.value, str):
            raise TypeError(f"{self.quantity} is a word")
        return self.value

    @property
    def sigma(self) -> float:
        """Standard deviation of the reading, from its 90 % interval."""
        return self.half_width / NINETY


NINETY = 1.6448536269514722
"""Half-width of a normal 90 % interval in standard deviations."""


def _known(name: str) -> Asked:
    found = quantities().get(name)
    if found is None:
        import difflib

        near = difflib.get_close_matches(name, quantities(), 1)
        raise DomainError(
            "what is measured is a quantity of a coil",
            repr(name[:40]),
            near[0] if near else f"one of {', '.join(quantities())}",
        )
    return found


def _must_be_choice(asked: Asked, value: str) -> None:
    allowed = (*asked.choices, *((OPEN,) if asked.can_be_open else ()))
    if value not in allowed:
        attempt = f"one of {', '.join(allowed)}" if allowed else f"a number in {asked.unit}"
        raise DomainError(f"{asked.title}: a reading that can be", repr(value[:40]), attempt)


def _must_be_number(asked: Asked, value: float, half_width: float) -> None:
    if asked.kind is None:
        raise DomainError(f"{asked.title} is told in words", f"{value:g}", f"one of {', '.join(asked.choices)}")
    least = -math.inf if asked.name in ("peak", "field") else 0.0
    if not (math.isfinite(value) and value > least):
        came = f"{value:g} {asked.unit}"
        raise DomainError(f"{asked.title} is a number above 0", came, '"open" where nothing passes')
    if not (math.isfinite(half_width) and half_width > 0.0):
        raise DomainError("a reading has a half-width above 0", f"{half_width:g} {asked.unit}", "the meter's accuracy")


def _must_be_told(asked: Asked, where: At) -> None:
    for need in asked.needs:
        if getattr(where, need) is None:
            example = {"frequency": "at 1 kHz", "mode": "series", "capacitance": "with 0 pF, or with 470 pF"}[need]
            raise DomainError(f"{asked.title} means something only with its {need}", "none", example)
    if where.mode not in (None, "series", "parallel"):
        raise DomainError("a mode is series or parallel", repr(where.mode), "series")
    if where.method not in ("", "impedance"):
        raise DomainError('the method is left out, or "impedance"', repr(where.method[:40]))
    for name in ("frequency", "load", "capacitance"):
        value = getattr(where, name)
        least = 0.0 if name == "capacitance" else 1e-3
        if value is not None and not (math.isfinite(value) and value >= least):
            raise DomainError(f"{name} is a number above 0", f"{value:g}")
    if where.pole is not None and not 1 <= where.pole <= MOST_POLES:
        raise DomainError(f"pole pieces are counted from 1 to {MOST_POLES}", f"{where.pole}")
    loaded = where.load is not None and where.load < LEAST_LOAD and where.method != "impedance"
    if asked.name in ("resonance", "peak") and loaded:
        raise DomainError(
            f"a resonance is read into {LEAST_LOAD / 1e3:.0f} k or more, else the input takes the peak away",
            f"{(where.load or 0.0) / 1e3:.3g} k",
            "a buffer of 1 M, or the impedance method",
        )


def measurement(
    quantity: str,
    value: float | str,
    *,
    half_width: float | None = None,
    instrument: str = "",
    temperature: float | None = None,
    frequency: float | None = None,
    mode: str | None = None,
    pole: int | None = None,
    capacitance: float | None = None,
    load: float | None = None,
    method: str = "",
) -> Measurement:
    """A measurement from SI numbers or from a maker's text ("6.21k", "3.02 H ± 1 %", "open", "fat").

    Without `half_width` the reading's own ± counts, else the usual accuracy of the quantity. Raises DomainError or
    QuantityError.
    """
    asked = _known(quantity)
    word = isinstance(value, str) and value.strip().lower() in (*asked.choices, OPEN)
    if isinstance(value, str) and (word or asked.kind is None):
        value = value.strip().lower()
    elif isinstance(value, str):
        value, own = _read(asked, value)
        half_width = own if half_width is None else half_width
    if not isinstance(value, str) and half_width is None and asked.kind is not None:
        half_width = asked.half_width(value)
    where = At(frequency, mode, pole, capacitance, load, method)
    return Measurement(quantity, value, half_width or 0.0, instrument, temperature, where)


def _read(asked: Asked, text: str) -> tuple[float, float | None]:
    if asked.kind is None:
        raise DomainError(f"{asked.title} is told in words", repr(text[:40]), f"one of {', '.join(asked.choices)}")
    if asked.unit == "dB":
        text = text.strip().removesuffix("dB").strip()
    found = read(text, asked.kind)
    return found.value, found.half_width


def parse(text: str) -> Measurement:
    """`inductance=3.02 H @ 1 kHz, series, 22 C`: a name, a reading, and after @ under what it was taken.

    After the @, in any order, separated by commas: a frequency, "series" or "parallel", a temperature, a capacitance,
    "pole 3", "into 1M" (the input it was read with), "impedance" (the method), a percentage (the accuracy).
    """
    name, equals, rest = text.partition("=")
    if not equals:
        raise DomainError("a measurement is NAME=VALUE", repr(text[:60]), '"resistance=6.21k @ 22 C"')
    value, _, where = rest.partition("@")
    told: dict[str, Any] = {}
    asked = _known(name.strip())
    accuracy: float | None = None
    for piece in (p.strip() for p in where.split(",") if p.strip()):
        if piece in ("series", "parallel"):
            told["mode"] = piece
        elif piece == "impedance":
            told["method"] = piece
        elif piece.startswith("pole "):
            told["pole"] = _whole(piece[5:])
        elif piece.startswith("into "):
            told["load"] = read(piece[5:], Kind.RESISTANCE).value
        elif piece.endswith("%"):
            accuracy = read(piece, Kind.PERCENT).value
        else:
            told.update(_piece(piece))
    found = measurement(asked.name, value.strip(), **told)
    if accuracy is not None and not isinstance(found.value, str):
        return measurement(asked.name, found.number, half_width=abs(accuracy * found.number), **told)
    return found


def _whole(text: str) -> int:
    if not text.strip().isdecimal() or len(text) > 4:
        raise DomainError("a pole piece has a whole number", repr(text[:20]), "pole 3")
    return int(text)


def _piece(text: str) -> dict[str, float]:
    """What a bare value after @ is: told by its unit."""
    from lodestring.errors import QuantityError

    for name, kind in (
        ("temperature", Kind.TEMPERATURE),
        ("frequency", Kind.FREQUENCY),
        ("capacitance", Kind.CAPACITANCE),
    ):
        try:
            return {name: read(text, kind).value}
        except QuantityError:
            continue
    raise DomainError(
        "after @ stand temperature, frequency, mode, capacitance, pole, input or accuracy",
        repr(text[:40]),
        '"22 C", "1 kHz", "series", "470 pF", "pole 3", "into 1M", "1 %"',
    )


def to_body(given: Measurement) -> dict[str, Any]:
    """The body of an event of kind `measure`; keys that say nothing are left out."""
    where = given.at
    at = {
        k: getattr(where, k)
        for k in ("frequency", "mode", "pole", "capacitance", "load")
        if getattr(where, k) is not None
    }
    if where.method:
        at["method"] = where.method
    body: dict[str, Any] = {"quantity": given.quantity, "value": given.value, "unit": given.asked.unit}
    if not isinstance(given.value, str):
        body["half_width"] = given.half_width
    if given.instrument:
        body["instrument"] = given.instrument
    if given.temperature is not None:
        body["temperature"] = given.temperature
    return body | ({"at": at} if at else {})


def from_body(body: Mapping[str, Any]) -> Measurement:
    """The measurement an event of kind `measure` holds. Values are SI; another unit is refused.

    Raises DomainError for what cannot be one.
    """
    name = body.get("quantity")
    asked = _known(name if isinstance(name, str) else repr(name))
    unit = body.get("unit", asked.unit)
    if unit != asked.unit:
        raise DomainError(f"{asked.title} is kept in {asked.unit or 'words'}", repr(str(unit)[:20]))
    where = body.get("at", {})
    if not isinstance(where, Mapping):
        raise DomainError("what a reading was taken at is an object", type(where).__name__)
    value = body.get("value")
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise DomainError(f"{asked.title} has a value", type(value).__name__)
    numbers = {k: _number(where.get(k), k) for k in ("frequency", "capacitance", "load")}
    pole = where.get("pole")
    return measurement(
        asked.name,
        value if isinstance(value, str) else float(value),
        half_width=_number(body.get("half_width"), "half_width"),
        instrument=str(body.get("instrument", ""))[:80],
        temperature=_number(body.get("temperature"), "temperature"),
        mode=None if where.get("mode") is None else str(where["mode"]),
        pole=None if pole is None else _whole(str(pole)),
        method=str(where.get("method", "")),
        **numbers,
    )


def _number(value: object, name: str) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise DomainError(f"{name} is a number", repr(value)[:40])
    return float(value)


def next_to_ask(taken: Iterable[Measurement], stage: Stage = "wound") -> tuple[Asked, ...]:
    """What the coach asks for next, the cheapest first: not yet taken, and to be had by this stage."""
    have = {m.quantity for m in taken}
    reached = STAGES.index(stage)
    return tuple(
        a for a in quantities().values() if a.by_coach and a.name not in have and STAGES.index(a.stage) <= reached
    )


def series_inductance(reading: float, frequency: float, resistance: float) -> tuple[float, float]:
    """The two series inductances [H] that read `reading` in parallel mode, the larger first.

    L_p = L + R^2 / (w^2 L). Raises DomainError where no coil of that resistance reads so little: at least R / (pi f).
    """
    reactance = resistance / (2.0 * math.pi * frequency)
    inside = reading**2 - 4.0 * reactance**2
    if inside < 0.0:
        raise DomainError(
            f"in parallel mode at {frequency:g} Hz {resistance:.4g} ohm of coil read {2.0 * reactance:.4g} H or more",
            f"{reading:.4g} H",
            "series mode, or another reading",
        )
    root = math.sqrt(inside)
    return 0.5 * (reading + root), 2.0 * reactance**2 / (reading + root)
