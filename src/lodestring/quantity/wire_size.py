"""Wire sizes as they are named: a gauge number or a metric diameter.

A gauge number stays a name here. Two nominal diameters are in print for most of them (the formula of ASTM B258 and the
rounded values of the magnet-wire tables), so the diameter is looked up in `reference`, which says which one it gives.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

from lodestring.errors import QuantityError
from lodestring.quantity.kinds import Kind, Quantity
from lodestring.quantity.reading import EXAMPLES, read
from lodestring.quantity.showing import show, show_value
from lodestring.quantity.understanding import TEXT_LIMIT
from lodestring.quantity.wording import alternatives, quote

# ASTM B258 lists gauges down to 56 (from memory); 0 and the sizes above it (2/0 ...) are no coil wire.
GAUGES = range(1, 57)
# IEC 60317-0-1: enamelled round copper wire up to 5 mm (from memory); 5 um is thinner than any drawn for coils.
THINNEST, THICKEST = 5e-6, 5e-3

_GAUGE = re.compile(r"(?:AWG ?([0-9]{1,4})|([0-9]{1,4}) ?AWG)", re.IGNORECASE)
_BARE = re.compile(r"#? ?([0-9]{1,2})(?: ?(?:ga|gauge|g|swg))?\.?", re.IGNORECASE)
_METRIC = ("mm", "um", "µm", "μm")
_PROPOSAL = re.compile(r'"([^"]+)"')
_EXAMPLES = ("42 AWG", "0.063 mm")


@dataclass(frozen=True, slots=True)
class WireSize:
    """The name of a wire's size; no look-up.

    system: "AWG" with `number` (1..56), or "metric" with `diameter` (m, bare conductor, 5 um to 5 mm); else None.
    text: as typed, no part of equality. Raises QuantityError when system, number and diameter do not go together.
    """

    system: Literal["AWG", "metric"]
    number: int | None = None
    diameter: float | None = None
    text: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        if self.system == "AWG":
            whole = isinstance(self.number, int) and not isinstance(self.number, bool)
            if not whole or self.number not in GAUGES or self.diameter is not None:
                raise QuantityError(
                    f"an AWG size must be a whole number from {GAUGES[0]} to {GAUGES[-1]}, without a diameter",
                    f"number {self.number!r}, diameter {self.diameter!r}",
                    alternatives(_EXAMPLES[:1]),
                )
        elif self.system == "metric":
            if self.number is not None or self.diameter is None or not THINNEST <= self.diameter <= THICKEST:
                raise QuantityError(
                    "a metric wire size must be a diameter from 0.005 mm to 5 mm, without a number",
                    f"number {self.number!r}, diameter {self.diameter!r} m",
                    alternatives(_EXAMPLES[1:]),
                )
        else:
            raise QuantityError("the system of a wire size must be AWG or metric", repr(self.system))

    @property
    def label(self) -> str:
        """ "42 AWG" or "0.063 mm"; `read_wire_size(size.label) == size`."""
        if self.diameter is None:
            return f"{self.number} AWG"
        return show(Quantity(Kind.LENGTH, self.diameter), "mm")


def read_wire_size(text: str | float) -> WireSize:
    """`42 AWG`, `AWG 42`, `42AWG`, or a bare diameter in mm or um. Raises QuantityError for everything else."""
    must = "a wire size must be an AWG number or a bare diameter in mm"
    if not isinstance(text, str):
        gauge = isinstance(text, int) and not isinstance(text, bool) and text in GAUGES
        attempt = (f"{text} AWG",) if gauge else _EXAMPLES
        came = f"the bare number {text}" if gauge else f"a value of type {type(text).__name__}"
        raise QuantityError(must, came, alternatives(attempt))
    if len(text) > TEXT_LIMIT:
        raise QuantityError(must, f"a text of {len(text)} characters", alternatives(_EXAMPLES))
    plain = " ".join(text.split(" ")).strip(" ")
    if match := _GAUGE.fullmatch(plain):
        number = int(match[1] or match[2])
        if number not in GAUGES:
            raise QuantityError(f"an AWG number must lie between {GAUGES[0]} and {GAUGES[-1]}", quote(text), '"42 AWG"')
        return WireSize("AWG", number, None, text)
    if (match := _BARE.fullmatch(plain)) and int(match[1]) in GAUGES:
        raise QuantityError(must, quote(text), alternatives((f"{int(match[1])} AWG", _EXAMPLES[1])))
    try:
        length = read(text, Kind.LENGTH)
    except QuantityError as error:
        # A diameter that is nearly right (0.063 without its unit) has a better proposal already.
        likely = [t for t in _PROPOSAL.findall(error.attempt) if t not in EXAMPLES[Kind.LENGTH] and _is_metric(t)]
        raise QuantityError(must, quote(text), alternatives(likely or _EXAMPLES)) from None
    return _metric(length, text)


def _metric(length: Quantity, text: str) -> WireSize:
    if length.half_width is not None:
        raise QuantityError("a wire size must be a nominal diameter without ±", quote(text), alternatives(_EXAMPLES))
    if not text.rstrip(" ").endswith(_METRIC):
        in_mm = show_value(length.value, Kind.LENGTH, "mm", 6)
        likely = (in_mm,) if THINNEST <= length.value <= THICKEST else _EXAMPLES
        raise QuantityError("a wire size must be an AWG number or in mm", quote(text), alternatives(likely))
    if not THINNEST <= length.value <= THICKEST:
        raise QuantityError("a wire diameter must lie between 0.005 mm and 5 mm", quote(text), alternatives(_EXAMPLES))
    return WireSize("metric", None, length.value, text)


def _is_metric(text: str) -> bool:
    return text.endswith(_METRIC) and THINNEST <= read(text, Kind.LENGTH).value <= THICKEST
