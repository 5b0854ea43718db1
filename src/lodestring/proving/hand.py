"""The hand: what is learned of this maker's winding over coils, so that the next prediction is narrower.

One thing at a time (packing, belly, stretch, capacitance, pace, the meter's and the printer's offsets). A coil's value
is the maker's own mean, plus what this wire and this winder do to it, plus the scatter from coil to coil, plus what the
measurements of that coil leave open:

    y_i = m + a(wire_i) + b(winder_i) + scatter e_i + sd_i e'_i

All are normal (on a log scale where a quantity is positive), so for a known scatter the next coil's value is normal;
the scatter itself is summed over with its prior. Few coils: wide; coils with another wire or on another winder count,
but less. Source: the normal hierarchical model, Gelman et al., Bayesian Data Analysis, chapter 5, from memory; the
priors are assumed (hand.toml).
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from lodestring.design.learned import Hand, Learned
from lodestring.errors import DomainError
from lodestring.physics.ring import Array
from lodestring.proving.forward import CoilForward
from lodestring.proving.measurement import NINETY, Measurement
from lodestring.proving.posterior import fit, numeric
from lodestring.proving.spreads import Spread, changed, of
from lodestring.reference import band

SCATTERS = np.exp(np.linspace(-2.4, 2.4, 33))
"""The scatter against the middle of its prior; ln normal with sigma `SCATTER_SIGMA`."""
SCATTER_SIGMA = math.log(2.0)
LEARNED = ("packing", "belly", "stretch", "capacitance")
"""What the measurements of a finished coil teach."""


@dataclass(frozen=True, slots=True)
class Before:
    """What is believed of a hand before any coil."""

    name: str
    title: str
    unit: str
    centre: float
    sigma: float
    log: bool
    wire: float
    winder: float
    scatter: float
    least: float
    most: float

    def inward(self, value: float) -> float:
        return math.log(value) if self.log else value

    def outward(self, x: float) -> float:
        return min(max(math.exp(x) if self.log else x, self.least), self.most)


@cache
def before() -> Mapping[str, Before]:
    """Every thing that can be learned, by name."""
    table = tomllib.loads(files("lodestring.proving").joinpath("hand.toml").read_text(encoding="utf-8"))
    return {name: _before(name, row) for name, row in table.items()}


def _before(name: str, row: Mapping[str, Any]) -> Before:
    centre, sigma = row.get("centre"), row.get("sigma")
    if "band" in row:
        spread = band(row["band"]).spread()
        centre = spread.nominal
        both = math.log(spread.high / spread.low) if row["log"] else spread.high - spread.low
        sigma = both / (2.0 * NINETY)
    if not isinstance(centre, float | int) or not isinstance(sigma, float | int):
        raise ValueError(f"hand.toml: {name} has a centre and a sigma, or a band")
    rest = {k: row[k] for k in ("title", "unit", "log", "wire", "winder", "scatter", "least", "most")}
    return Before(name=name, centre=float(centre), sigma=float(sigma), **rest)


@dataclass(frozen=True, slots=True)
class Sample:
    """One coil's value of one thing (SI), with its standard deviation (ln units where the thing is on a log scale), and
    the wire and winder it was wound with."""

    name: str
    value: float
    sd: float
    wire: str = ""
    winder: str = ""


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing learned: the next coil's value with its 90 % interval, the mean of this hand's coils with this wire and
    winder, the scatter from coil to coil (90 %: half-width), coils behind it, the next coil's interval before any."""

    name: str
    title: str
    unit: str
    value: float
    low: float
    high: float
    mean_low: float
    mean_high: float
    scatter: float
    coils: int
    before_low: float
    before_high: float


@dataclass(frozen=True, slots=True)
class LearnedHand:
    """What was learned, for one wire and one winder. `hand` is the record that an assessment takes."""

    hand: Hand
    things: tuple[Thing, ...]

    def of(self, name: str) -> Thing:
        """One of them. Raises KeyError."""
        for thing in self.things:
            if thing.name == name:
                return thing
        raise KeyError(name)


def learn(samples: Iterable[Sample], wire: str = "", winder: str = "") -> LearnedHand:
    """What a hand does with this wire on this winder, from samples of any wire and winder of the same maker."""
    by_name: dict[str, list[Sample]] = {}
    for sample in samples:
        if sample.name not in before():
            raise DomainError("a hand learns what its table names", repr(sample.name), ", ".join(before()))
        by_name.setdefault(sample.name, []).append(_checked(sample))
    things = tuple(_thing(before()[name], found, wire, winder) for name, found in by_name.items())
    learned = {t.name: _learned(t) for t in things if t.name in Hand.__dataclass_fields__}
    return LearnedHand(Hand(**learned), things)


def _checked(sample: Sample) -> Sample:
    known = before()[sample.name]
    if not (math.isfinite(sample.value) and math.isfinite(sample.sd) and sample.sd > 0.0):
        raise DomainError("a sample has a value and a standard deviation above 0", f"{sample.value:g}, {sample.sd:g}")
    if known.log and sample.value <= 0.0:
        raise DomainError(f"{known.title} lies above 0", f"{sample.value:g}")
    return sample


def _learned(t: Thing) -> Learned:
    middle = 0.5 * (t.low + t.high)
    return Learned(middle, 0.5 * (t.high - t.low), t.coils)


def _thing(known: Before, samples: Sequence[Sample], wire: str, winder: str) -> Thing:
    log = _scatter_weights(known, samples)
    scatters = known.scatter * SCATTERS
    weights = np.exp(log - log.max())
    weights /= weights.sum()
    middles, means, nexts = (np.empty(len(scatters)) for _ in range(3))
    for i, scatter in enumerate(scatters):
        middles[i], means[i] = _conditional(known, samples, wire, winder, float(scatter))
        nexts[i] = math.hypot(means[i], scatter)
    at = [_quantile(weights, middles, nexts, q) for q in (0.5, 0.05, 0.95)]
    mean = [_quantile(weights, middles, means, q) for q in (0.05, 0.95)]
    value, low, high = (known.outward(x) for x in at)
    wide = NINETY * math.hypot(math.hypot(known.sigma, known.wire), math.hypot(known.winder, known.scatter))
    centre = known.inward(known.centre)
    return Thing(
        known.name, known.title, known.unit, value, low, high,
        known.outward(mean[0]), known.outward(mean[1]), NINETY * float(weights @ scatters), len(samples),
        known.outward(centre - wide), known.outward(centre + wide),
    )  # fmt: skip


def _kernel(known: Before, samples: Sequence[Sample], scatter: float) -> Array:
    """(n, n) covariance of the samples' values."""
    wires = np.array([s.wire for s in samples])
    winders = np.array([s.winder for s in samples])
    out = np.full((len(samples), len(samples)), known.sigma**2)
    out += known.wire**2 * (wires[:, None] == wires) + known.winder**2 * (winders[:, None] == winders)
    out[np.diag_indices(len(samples))] += scatter**2 + np.array([s.sd for s in samples]) ** 2
    return out


def _values(known: Before, samples: Sequence[Sample]) -> Array:
    return np.array([known.inward(s.value) for s in samples]) - known.inward(known.centre)


def _scatter_weights(known: Before, samples: Sequence[Sample]) -> Array:
    """ln of the posterior of each scatter."""
    y = _values(known, samples)
    out = -0.5 * (np.log(SCATTERS) / SCATTER_SIGMA) ** 2
    for i, share in enumerate(SCATTERS):
        c = _kernel(known, samples, float(known.scatter * share))
        out[i] -= 0.5 * float(y @ np.linalg.solve(c, y)) + 0.5 * float(np.linalg.slogdet(c)[1])
    return np.asarray(out)


def _conditional(
    known: Before, samples: Sequence[Sample], wire: str, winder: str, scatter: float
) -> tuple[float, float]:
    """Mean of this hand with this wire and winder, and its standard deviation, for a scatter."""
    with_wire = np.array([s.wire == wire for s in samples])
    with_winder = np.array([s.winder == winder for s in samples])
    reach = known.sigma**2 + known.wire**2 * with_wire + known.winder**2 * with_winder
    own = known.sigma**2 + known.wire**2 + known.winder**2
    solved = np.linalg.solve(_kernel(known, samples, scatter), np.column_stack([_values(known, samples), reach]))
    return known.inward(known.centre) + float(reach @ solved[:, 0]), math.sqrt(
        max(own - float(reach @ solved[:, 1]), 0.0)
    )


def _quantile(weights: Array, middles: Array, sds: Array, q: float) -> float:
    """Quantile of a mixture of normals, by halving."""
    low, high = float((middles - 8 * sds).min()), float((middles + 8 * sds).max())
    for _ in range(60):
        x = 0.5 * (low + high)
        below = sum(
            float(w) * 0.5 * math.erfc(-(x - float(m)) / (float(s) * math.sqrt(2.0) + 1e-300))
            for w, m, s in zip(weights, middles, sds, strict=True)
        )
        low, high = (x, high) if below < q else (low, x)
    return 0.5 * (low + high)


def samples_of(
    of_coil: CoilForward, taken: Sequence[Measurement], wire: str = "", winder: str = ""
) -> tuple[Sample, ...]:
    """What one finished coil teaches of the hand, from its measurements, turns counted.

    `of_coil` from a model without a learned hand, so that a coil is never counted against what it taught itself. What
    the measurements do not narrow to three quarters of what was believed is left out.
    """
    base, wide = of_coil.spreads, []
    for name in LEARNED:
        spread = of(base, name)
        wide.append(replace(spread, sigma=max(spread.sigma, 3.0 * _own(name))))
    spreads = changed(base, *wide)
    found = fit(of_coil, spreads, numeric(taken))
    out = []
    for name in LEARNED:
        i = [s.name for s in spreads].index(name)
        sd = float(np.sqrt(found.covariance[i, i])) * spreads[i].sigma
        if sd > 0.75 * spreads[i].sigma:
            continue
        value = found.values()[name]
        if name in ("stretch", "capacitance"):
            value /= of(base, name).centre
        # a measurement's share alone: what was believed of this one is taken out again
        sd = 1.0 / math.sqrt(max(1.0 / sd**2 - 1.0 / spreads[i].sigma ** 2, 1e-12))
        z = float(found.z[i])
        value = _without_prior(spreads[i], value, z, sd, of(base, name).centre, name)
        out.append(Sample(name, value, sd, wire, winder))
    return tuple(out)


def _own(name: str) -> float:
    return before()[name].sigma


def _without_prior(spread: Spread, value: float, z: float, sd: float, centre: float, name: str) -> float:
    """The value that the measurements alone point at: the fit is drawn toward the centre by the prior's share."""
    pull = 1.0 + (sd / spread.sigma) ** 2
    moved = spread.sigma * z * pull
    if not spread.log:
        return spread.centre + moved
    base = spread.centre / centre if name in ("stretch", "capacitance") else spread.centre
    return base * math.exp(min(max(moved, -5.0), 5.0))
