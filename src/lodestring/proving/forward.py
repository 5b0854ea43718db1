"""What every reading of a coil should be, from what was really wound: a fast function of turns, wire, enamel, stretch,
packing, belly, sizes, permeability, capacitance, temperature, and of what a fault adds.

All arguments carry a leading axis of k trials, so that a derivative costs one call. Shorted turns are a winding of
their own, closed on its resistance and coupled with the rest:

    Z = R_rest + j w L_rest + w^2 M^2 / (R_s + j w L_s)

with M, L_s and L_rest from the winding's own sheets (tables.py) and what the pole pieces add at each frequency. A
closed ring of metal outside the coil acts alike, L (1 - k^2 j w T / (1 + j w T)). Either also shields the coil from
the flux that drives it: their own current opposes it, e_rest - j w M e_s / (R_s + j w L_s), which takes the peak away
long before the impedance shows it. At the terminals lie the winding's
capacitance with its loss, what was put across for the measurement, and whatever a fault puts there.

Validity: one lumped coil: to 0.7 of its second resonance; up to 30 kHz for a usual coil. Source: circuit theory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lodestring.assess import blocks, named
from lodestring.assess.model import Model
from lodestring.physics.poles import MU0
from lodestring.physics.ring import Array
from lodestring.proving.measurement import Measurement
from lodestring.proving.spreads import Spread, Spreads, own_spread, spreads_of
from lodestring.proving.tables import FREQUENCIES, CoilTables, strip, tables

Values = Mapping[str, Array]
ROOM = 293.15
EYE = {"fat": 0.16, "thin": -0.16, "as drawn": 0.0}
"""ln of a coil's depth over its drawn depth that an eye calls so; `EYE_SIGMA` how far it errs. Assumed."""
EYE_SIGMA = 0.07
LOW = 0
"""Place of 200 Hz, against which a peak is told, in FREQUENCIES."""
GAUSS = ((-0.3872983346207417, 5 / 18), (0.0, 8 / 18), (0.3872983346207417, 5 / 18))
LEAST_PEAK = 0.25
"""A response that rises by less [dB] has no peak to be read."""


@dataclass(frozen=True, slots=True)
class Material:
    """What pole pieces are made of: conductivity [S/m], and their field at the face against that as drawn."""

    conductivity: float
    field: float = 1.0


@dataclass(frozen=True, eq=False)
class CoilForward:
    """One coil as drawn: its tables, what is believed of it, and the copper's temperature coefficient [1/K]."""

    tables: CoilTables
    spreads: Spreads
    alpha: float
    room: tuple[float, float]
    other: CoilTables | None = None
    """A second coil in series, wound with the same hand (a hum-cancelling pair measured as one)."""
    mutual: tuple[float, float] = (0.0, 0.0)
    """Mutual inductance of the two per turn of each, in air and by the pole pieces [H], signed as they are joined."""

    @property
    def name(self) -> str:
        return f"{self.tables.pickup}.{self.tables.coil}"

    def readings(self, values: Values, taken: Sequence[Measurement], material: Material | None = None) -> Array:
        """(k, m) what each of m numeric measurements should read; NaN where there is nothing to be read."""
        wound = Wound(self, values, taken, material)
        return np.stack([wound.reading(i) for i in range(len(taken))], axis=1) if taken else np.zeros((wound.k, 0))

    def observed(self, taken: Sequence[Measurement]) -> tuple[Array, Array]:
        """(m,) the numbers read, and the standard deviation of each: the meter's and the model's own together."""
        numbers = np.array([EYE[m.value] if m.quantity == "shape" else m.number for m in taken])  # type: ignore[index]
        return numbers, np.array([self._sigma(m) for m in taken])

    def _sigma(self, m: Measurement) -> float:
        if m.quantity == "shape":
            return EYE_SIGMA
        relative, absolute = own_spread(m.quantity)
        own = math.hypot(relative * m.number, absolute)
        if m.quantity == "resistance" and m.temperature is None:
            own = math.hypot(own, self.alpha * self.room[1] * m.number)
        return math.hypot(m.sigma, own)


def forward(model: Model, pickup: str, coil: str) -> CoilForward:
    """The forward model of a coil that is to be made. Makes its tables (most of a second) the first time."""
    base = model.nominal()

    def make() -> CoilForward:
        found = tables(base, pickup, coil)
        room = named.room(base)
        known = base.input("workshop.room")
        return CoilForward(
            found,
            spreads_of(base, found),
            named.temperature_coefficient(base),
            (room, (known.high - known.low) / 3.3),
        )

    return base.block(("proving forward", pickup, coil), make)


def pair(model: Model, pickup: str) -> CoilForward:
    """Two coils in series, measured as one. Both are taken to be wound alike but for their drawn turns."""
    from dataclasses import replace

    from lodestring.assess import circuit_coil, pole_blocks
    from lodestring.assess.senses import hum_sense

    one, other = blocks.sides(model.inputs.design.pickup[pickup])
    base = model.nominal()
    sign = hum_sense(base, (pickup, one)) * hum_sense(base, (pickup, other))
    poles = pole_blocks.pole_part(base, pickup, one, other).real
    mutual = (sign * circuit_coil.mutual_air(base, pickup), sign * poles)
    return replace(forward(base, pickup, one), other=tables(base, pickup, other), mutual=mutual)


DEFAULTS = {
    "permeability": 1.0,
    "strength": 1.0,
    "shorted": 0.0,
    "shorted_place": 0.5,
    "joint": 0.0,
    "shunt": math.inf,
    "shunt_time": 0.0,
    "ring": 0.0,
    "ring_time": 0.0,
    "warmer": 0.0,
    "pair_reversed": 0.0,
    "pair_shorted": 0.0,
}


class Wound:
    """k trials of a coil as wound, and what is read on them; each part is worked out once."""

    def __init__(
        self, of: CoilForward, values: Values, taken: Sequence[Measurement], material: Material | None
    ) -> None:
        self.of, self.taken, self.material = of, taken, material
        self.k = len(next(iter(values.values())))
        self.v = dict(values)
        for name, default in DEFAULTS.items():
            if name not in self.v:
                self.v[name] = np.full(self.k, default)
        self._copper(of.tables)
        self._z: dict[str, Array] = {}
        self._kept: dict[int, tuple[Array, Array]] = {}
        self.driven: Array = np.ones((self.k, 1), complex)
        """What is left of the driving flux, set by `impedance`."""

    # ---- copper ----

    def _copper(self, t: CoilTables) -> None:
        v = self.v
        grown = 1.0 + v["stretch"]
        over = (v["bare"] + v["film"]) / np.sqrt(grown)
        self.turns = v["turns"] * (t.copper.turns / self.of.tables.copper.turns)
        self.depth = self.turns * math.pi * over**2 / (4.0 * v["packing"] * v["window"])
        mean = 2.0 * v["straight"] + math.pi * (2.0 * v["inner"] + self.depth)
        self.length = self.turns * mean
        section = 0.25 * math.pi * v["bare"] ** 2
        self.per_metre = v["resistivity"] / section * grown
        self.resistance = self.per_metre * self.length
        enamel = 0.25 * math.pi * ((v["bare"] + v["film"]) ** 2 - v["bare"] ** 2) * t.copper.enamel_density
        self.mass = (v["density"] * section + enamel) * self.length / grown
        self.share = np.minimum(v["shorted"] / self.turns, 0.97)
        wide, _ = strip(np.maximum(self.share, 1e-9), self.depth, v["window"], self.turns)
        self.wide = np.minimum(wide / self.depth, 1.0)
        self.middle = 0.5 * self.wide + v["shorted_place"] * (1.0 - self.wide)
        turn = 2.0 * v["straight"] + 2.0 * math.pi * (v["inner"] + self.middle * self.depth)
        self.shorted_ohm = self.per_metre * self.share * self.turns * turn

    def _heat(self, m: Measurement | None) -> Array:
        kelvin = self.of.room[0] if m is None or m.temperature is None else m.temperature
        return 1.0 + self.of.alpha * (kelvin - ROOM + self.v["warmer"])

    # ---- inductance ----

    def _per_turn(self, t: CoilTables) -> tuple[Array, Array]:
        """(k,) inductance in air and what the pole pieces add at low frequency, per turn squared [H]."""
        if id(t) in self._kept:
            return self._kept[id(t)]
        v, given = self.v, t.copper
        inner, height = v["inner"] - given.inner, v["window"] - given.height
        x = np.clip((inner + self.depth) / t.depth, 0.25, 1.75)
        straight = np.log(v["straight"] / max(given.straight, 1e-6))
        a, b, c = t.air_by
        air = np.exp(np.polyval(t.air, x) + a * inner + b * height + c * straight)
        poles = np.zeros(self.k)
        if t.answer is not None:
            a, b = t.poles_by
            poles = np.exp(np.polyval(t.poles, x) + a * inner + b * height)
            poles = (
                poles * t.answer.added(v["permeability"] - 1.0) / t.answer.added(np.array(t.answer.permeability - 1))
            )
        self._kept[id(t)] = (air, poles)
        return air, poles

    def _left(self, t: CoilTables, f: Array) -> Array:
        """(k, f) what eddy currents leave of the pole pieces' share."""
        if t.answer is None:
            return np.ones((self.k, len(f)), complex)
        own = t.answer
        sigma = own.conductivity if self.material is None else self.material.conductivity
        mu = self.v["permeability"][:, None]
        argument = 2.0 * math.pi * f * (MU0 * sigma * own.size**2) * mu
        found = own.added(mu * own.skin.at(argument) - 1.0) / own.added(mu - 1.0)
        return np.asarray(found)

    def impedance(self, f: Array, heat: Array) -> Array:
        """(k, f) of the coil itself [ohm], without any capacitance."""
        self.driven = np.ones((self.k, 1), complex)
        z = self._one(self.of.tables, f, heat)
        if self.of.other is not None:
            n = self.turns
            self._copper(self.of.other)
            second = self._one(self.of.other, f, heat, False)
            air, by_poles = self.of.mutual
            both = 2j * math.pi * f * (n * self.turns)[:, None] * (air + by_poles * self._left(self.of.tables, f))
            sign = np.where(self.v["pair_reversed"] > 0.5, -1.0, 1.0)[:, None]
            shorted = (self.v["pair_shorted"] > 0.5)[:, None]
            z = z + np.where(shorted, -(both**2) / second, second + 2.0 * sign * both)
            self._copper(self.of.tables)
        return z

    def _one(self, t: CoilTables, f: Array, heat: Array, faulty: bool = True) -> Array:
        w = 2.0 * math.pi * f
        air, poles = (x[:, None] for x in self._per_turn(t))
        poles = poles * self._left(t, f)
        sheets = _between(t.sheets, f) if np.any(t.sheets) else 0.0
        n2 = (self.turns**2)[:, None]
        l = n2 * (air + poles + sheets)
        ohm = (self.resistance * heat)[:, None]
        if not faulty or not np.any(self.share > 0.0):
            z = ohm + 1j * w * l
        else:
            z = self._with_short(t, w, air, poles, ohm, heat)
        if faulty and np.any(self.v["ring"] > 0.0):
            wt = 1j * w * self.v["ring_time"][:, None]
            z = z - 1j * w * l * self.v["ring"][:, None] * wt / (1.0 + wt)
            self.driven = self.driven * (1.0 - self.v["ring"][:, None] * wt / (1.0 + wt))
        return np.asarray(z)

    def _mean(self, depth: Array, column: Array) -> Array:
        """(k,) mean over the shorted part of what `column` is at `depth`."""
        parts = [g * np.interp(self.middle + x * self.wide, depth, column) for x, g in GAUSS]
        return np.asarray(parts[0] + parts[1] + parts[2])

    def _with_short(self, t: CoilTables, w: Array, air: Array, poles: Array, ohm: Array, heat: Array) -> Array:
        s, q = t.sections, self.share[:, None]
        ka, kp = (self._mean(s.depth, column)[:, None] for column in (s.whole_air, s.whole_poles))
        op = np.interp(self.middle, s.depth, s.own_poles)[:, None]
        log = np.log(np.maximum(self.share, s.share[0]))
        at = [np.interp(log, np.log(s.share), column) for column in s.own_air.T]
        place = 2.0 * self.v["shorted_place"]
        oa = np.where(place < 1.0, at[0] + (at[1] - at[0]) * place, at[1] + (at[2] - at[1]) * (place - 1.0))[:, None]
        n2 = (self.turns**2)[:, None]
        own = n2 * q * q * (air * oa + poles * op)
        with_all = n2 * q * (air * ka + poles * kp)
        rest = n2 * (air + poles) - 2.0 * with_all + own
        mutual = with_all - own
        short = (self.shorted_ohm * heat)[:, None]
        loop = short + 1j * w * own
        self.driven = (1.0 - q * kp) - 1j * w * mutual / loop * q * kp
        return np.asarray(ohm - short + 1j * w * rest + (w * mutual) ** 2 / loop)

    # ---- terminals ----

    def _outside(self, w: Array, added: float, load: float | None) -> Array:
        farad = (self.v["capacitance"] * (1.0 if self.of.other is None else 0.5))[:, None]
        y = 1j * w * (farad * (1.0 - 1j * self.v["loss"][:, None]) + added)
        y = y + (1.0 / self.v["shunt"])[:, None] / (1.0 + 1j * w * self.v["shunt_time"][:, None])
        return np.asarray(y + (0.0 if load is None else 1.0 / load))

    def _at_meter(self, m: Measurement) -> Array:
        """(k,) impedance at the terminals at the meter's frequency [ohm]."""
        key = f"meter {m.at.frequency} {m.at.capacitance} {m.temperature}"
        if key in self._z:
            return self._z[key]
        f = np.array([m.at.frequency or 0.0])
        z = self.impedance(f, self._heat(m))
        y = 1.0 / z + self._outside(2.0 * math.pi * f, m.at.capacitance or 0.0, None)
        self._z[key] = np.asarray((1.0 / y)[:, 0] + self.v["joint"])
        return self._z[key]

    def response(self, m: Measurement) -> Array:
        """(k, FREQUENCIES) size of the response that is swept: volts at the terminals over the coil's EMF, or the
        impedance there."""
        if "sweep" not in self._z:
            self._z["sweep"] = self.impedance(FREQUENCIES, self._heat(None))
            self._z["driven"] = np.abs(self.driven)
        z = self._z["sweep"]
        y = self._outside(2.0 * math.pi * FREQUENCIES, m.at.capacitance or 0.0, m.at.load)
        if m.at.method == "impedance":
            return np.asarray(np.abs(1.0 / (1.0 / z + y) + self.v["joint"][:, None]))
        return np.asarray(self._z["driven"] / np.abs(1.0 + z * y))

    def _peaked(self, m: Measurement) -> tuple[Array, Array]:
        """(k,) frequency [Hz] and height over 200 Hz [dB] of the peak; NaN where there is none."""
        key = f"peak {m.at}"
        if key not in self._z:
            size = self.response(m)
            i = np.clip(np.argmax(size, axis=1), 1, len(FREQUENCIES) - 2)
            rows = np.arange(self.k)
            x = [(FREQUENCIES[i + d] / FREQUENCIES[i]) ** 2 for d in (-1, 0, 1)]
            y = [(size[rows, i] / size[rows, i + d]) ** 2 for d in (-1, 0, 1)]
            # 1 / size^2 of a coil with a capacitor is a parabola over f^2
            first, second = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])
            bend = (second - first) / (x[2] - x[0])
            with np.errstate(all="ignore"):
                place = 0.5 * (x[0] + x[1]) - 0.5 * first / bend
                least = y[1] - bend * (place - 1.0) ** 2
                f = FREQUENCIES[i] * np.sqrt(place)
                high = 20.0 * np.log10(size[rows, i] / size[:, LOW]) - 10.0 * np.log10(np.maximum(least, 1e-9))
            none = (np.argmax(size, axis=1) != i) | ~(high > LEAST_PEAK) | ~np.isfinite(f)
            self._z[key] = np.stack([np.where(none, np.nan, f), np.where(none, np.nan, high)])
        return self._z[key][0], self._z[key][1]

    # ---- readings ----

    def reading(self, i: int) -> Array:
        """(k,) what measurement number i should read."""
        m = self.taken[i]
        return np.asarray(getattr(self, f"_{m.quantity}")(m))

    def _resistance(self, m: Measurement) -> Array:
        ohm = self.resistance
        if self.of.other is not None:
            self._copper(self.of.other)
            ohm = ohm + np.where(self.v["pair_shorted"] > 0.5, 0.0, self.resistance)
            self._copper(self.of.tables)
        ohm = (ohm - self.shorted_ohm) * self._heat(m)
        with np.errstate(over="ignore"):
            return np.asarray(ohm / (1.0 + ohm / self.v["shunt"]) + self.v["joint"])

    def _shape(self, m: Measurement) -> Array:
        return np.asarray(np.log(self.depth / self.of.tables.depth))

    def _outer_length(self, m: Measurement) -> Array:
        return np.asarray(self.v["straight"] + 2.0 * (self.v["inner"] + self.depth))

    def _outer_width(self, m: Measurement) -> Array:
        return np.asarray(2.0 * (self.v["inner"] + self.depth * (1.0 + self.v["belly"])))

    def _wire_mass(self, m: Measurement) -> Array:
        return np.asarray(self.mass)

    def _sample(self, m: Measurement) -> Array:
        return np.asarray(self.per_metre / (1.0 + self.v["stretch"]))

    def _turns(self, m: Measurement) -> Array:
        return np.asarray(self.turns)

    def _inductance(self, m: Measurement) -> Array:
        z = self._at_meter(m)
        w = 2.0 * math.pi * (m.at.frequency or 0.0)
        if m.at.mode == "parallel":
            return -1.0 / (w * np.imag(1.0 / z))
        return np.imag(z) / w

    def _series_resistance(self, m: Measurement) -> Array:
        return np.real(self._at_meter(m))

    def _inductance_poles_out(self, m: Measurement) -> Array:
        return self.turns**2 * self._per_turn(self.of.tables)[0]

    def _resonance(self, m: Measurement) -> Array:
        return self._peaked(m)[0]

    def _peak(self, m: Measurement) -> Array:
        return self._peaked(m)[1]

    def _field(self, m: Measurement) -> Array:
        fields = self.of.tables.fields
        drawn = fields[min((m.at.pole or 1), len(fields)) - 1] if fields else 0.0
        return drawn * self.v["strength"] * (1.0 if self.material is None else self.material.field)

    def _pole_resistance(self, m: Measurement) -> Array:
        return np.full(self.k, np.nan)

    _cover_resistance = _pole_resistance


def _between(values: Array, f: Array) -> Array:
    """Values at FREQUENCIES, straight in log f between them; held at the ends."""
    x = np.log(f)
    at = np.log(FREQUENCIES)
    return np.interp(x, at, values.real) + 1j * np.interp(x, at, values.imag)


def physical(spreads: Sequence[Spread], z: Array) -> dict[str, Array]:
    """Values (k,) by name at z (k, p), each in standard deviations from its centre."""
    out = {}
    for i, s in enumerate(spreads):
        out[s.name] = s.centre * np.exp(s.sigma * z[:, i]) if s.log else s.centre + s.sigma * z[:, i]
    if "shorted_place" in out:
        out["shorted_place"] = 1.0 / (1.0 + np.exp(-out["shorted_place"]))
    return out
