"""How much wire a spool holds by its mass, which wire a sample says it is, and whether a coil fits in one piece."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.assess import named
from lodestring.assess.model import Model
from lodestring.design.coil import Wire
from lodestring.errors import LodestringError
from lodestring.making.spool_check import NEIGHBOURS
from lodestring.making.winding_ladder import Sight
from lodestring.physics import wire as physics
from lodestring.quantity import WireSize
from lodestring.reference import metal
from lodestring.reference import wire as catalogue_wire

TEN = 10.0
SAMPLE_SPREAD = 0.015
"""Half-width (90 %) of ohms per metre from one sample: length, meter and the wire's own unevenness (trade.md, common
practice, no source)."""
ROOM = 293.15
WARM = 4.0
"""K: a sample read at an unknown temperature is this far off 20 C at most, which is 1.6 per cent of copper's ohms."""


@dataclass(frozen=True, slots=True)
class Holds:
    """Wire on a spool [m] with its 90 % interval."""

    metres: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Sample:
    """What a sample says: ohms per metre at 20 C, what the named wire should have for 10 m, and what it probably is."""

    ohm_per_metre: float
    half_width: float
    expected: Sight
    agrees: bool
    likely: str
    others: tuple[tuple[str, Sight], ...]
    sentence: str


def holds(model: Model, spec: Wire, mass: float, half: float) -> Holds:
    """Metres of a wire that weigh `mass` [kg], known within `half`: the spread of its kilograms per metre with it."""
    found = model.estimate(
        ("metre's mass", named.wire_label(spec), spec.enamel), lambda m: named.mass_per_metre(m, spec), "coil.mass"
    )
    metres = mass / found.value
    if mass <= 0.0:
        return Holds(0.0, 0.0, half / found.value)
    up = math.hypot(half / mass, found.value / found.low - 1.0)
    down = math.hypot(half / mass, 1.0 - found.value / found.high)
    return Holds(metres, max(0.0, metres * (1.0 - down)), metres * (1.0 + up))


def fits(bare: float, needed: float, there: Holds | None) -> str:
    """Whether a coil that takes `bare` metres, `needed` with its reserve, fits: "yes", "perhaps", "no", "unknown"."""
    if there is None:
        return "unknown"
    if there.low >= needed:
        return "yes"
    return "perhaps" if there.high >= bare else "no"


def sample(spec: Wire, metres: float, ohm: float, temperature: float | None = None) -> Sample:
    """What `ohm` over `metres` at `temperature` [K] says of a spool that is meant to hold this wire.

    Without a temperature it is taken at 20 C, and its interval is wider for it.
    """
    warmth = metal("copper").temperature_coefficient
    if warmth is None:
        raise LodestringError("the catalogue must hold copper's temperature coefficient", "none")
    factor = 1.0 if temperature is None else 1.0 + warmth.nominal * (temperature - ROOM)
    per_metre = ohm / metres / factor
    share = SAMPLE_SPREAD if temperature is not None else math.hypot(SAMPLE_SPREAD, warmth.nominal * WARM)
    half = share * per_metre
    expected = _ten(spec.size)
    agrees = expected.low <= TEN * (per_metre + half) and TEN * (per_metre - half) <= expected.high
    others = tuple((f"{n} AWG", _ten(WireSize("AWG", n, None, f"{n} AWG"))) for n in NEIGHBOURS)
    near = [(n, s) for n, s in others if s.low <= TEN * (per_metre + half) and TEN * (per_metre - half) <= s.high]
    likely = _likely(spec, agrees, [n for n, _ in near])
    return Sample(per_metre, half, expected, agrees, likely, others, _sentence(spec, agrees, likely, TEN * per_metre))


def _ten(size: WireSize) -> Sight:
    """Ohms of 10 m at 20 C within the limits of the standard."""
    bare = catalogue_wire(size, "single").bare
    rho = metal("copper").resistivity.nominal
    value, high, low = (TEN * physics.resistance_per_metre(rho, d) for d in (bare.nominal, bare.low, bare.high))
    return Sight(value, low, high)


def _likely(spec: Wire, agrees: bool, near: list[str]) -> str:
    if agrees:
        return spec.size.label
    return " or ".join(near)


def _sentence(spec: Wire, agrees: bool, likely: str, ten: float) -> str:
    read = f"10 m read {ten:.1f} Ohm at 20 C"
    if agrees:
        return f"{read}: that is {spec.size.label}."
    if likely:
        return f"{read}: that is not {spec.size.label} but {likely}. Do not wind from this spool before you are sure."
    return (
        f"{read}: that fits no wire from {NEIGHBOURS[0]} to {NEIGHBOURS[-1]} AWG. Was it 10 m? Was the enamel off at "
        "both ends? Fingers off the ends?"
    )


def same_wire(one: Wire | None, other: Wire) -> bool:
    """Whether two wires are the same: size, film and enamel."""
    return one is not None and (one.size, one.film, one.enamel) == (other.size, other.film, other.enamel)


def wire_of(size: str, enamel: str, film: str) -> Wire:
    """A wire from its words. Raises LodestringError with a sentence for one the catalogue does not have."""
    from pydantic import ValidationError

    from lodestring.quantity import read_wire_size
    from lodestring.reference import enamel as catalogue_enamel

    found = read_wire_size(size)
    catalogue_enamel(enamel)
    try:
        made = Wire.model_validate({"size": found.text or found.label, "enamel": enamel, "film": film})
    except ValidationError as error:
        raise LodestringError("a spool's wire has a size, an enamel and a film", str(film)[:40], "single") from error
    catalogue_wire(made.size, made.film)
    return made
