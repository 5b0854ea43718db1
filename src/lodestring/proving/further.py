"""Which further measurement would decide best.

The one whose outcome is expected to tell most bits about which suspect it is, by the readings that each suspect
foresees after those taken: normal ones, their spread from the fit's covariance and the meter, or none at all; for
answers in words their chances. Source: Lindley, On a measure of the information provided by an experiment, 1956, from
memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lodestring.design.vocabulary import STAGES, Stage
from lodestring.physics.ring import Array
from lodestring.proving.faults import said
from lodestring.proving.forward import EYE, EYE_SIGMA, CoilForward, physical
from lodestring.proving.measurement import OPEN, At, Measurement, measurement, quantities
from lodestring.proving.suspects import Suspect

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(7)


@dataclass(frozen=True, slots=True)
class Further:
    """A measurement not taken yet: how many bits it is expected to tell, and between which suspects."""

    measurement: str
    at: At
    information: float
    between: tuple[str, ...]
    ask: str
    how: str


def candidates(taken: Sequence[Measurement], stage: Stage) -> tuple[Measurement, ...]:
    """Measurements that could still be taken, each with a stand-in value."""
    have = {(m.quantity, m.at.capacitance) for m in taken}
    names = {m.quantity for m in taken}
    out = []
    for asked in quantities().values():
        if STAGES.index(asked.stage) > STAGES.index(stage) or not asked.by_coach:
            continue
        if asked.name in ("resonance", "peak"):
            missing = [farad for farad in (0.0, 470e-12) if (asked.name, farad) not in have]
            out += [_stand_in(asked.name, capacitance=farad, load=1e6) for farad in missing]
        elif asked.name not in names:
            told = {"frequency": 1000.0} if "frequency" in asked.needs else {}
            mode = {"mode": "series"} if "mode" in asked.needs else {}
            out.append(_stand_in(asked.name, **told, **mode, **({"pole": 1} if asked.name == "field" else {})))
    return tuple(out)


def _stand_in(name: str, **where: Any) -> Measurement:
    asked = quantities()[name]
    value: float | str = 1.0
    if asked.kind is None:
        value = asked.choices[0]
    elif name in ("pole_resistance", "cover_resistance"):
        value = OPEN
    return measurement(name, value, **where)


def further(
    of: CoilForward, ranked: Sequence[Suspect], taken: Sequence[Measurement], stage: Stage
) -> tuple[Further, ...]:
    """The five measurements not taken yet that would tell most about which suspect it is, the best first."""
    alive = [s for s in ranked if s.probability > 2e-3][:12]
    if len(alive) < 2:
        return ()
    p = np.array([s.probability for s in alive])
    p = p / p.sum()
    out = []
    asked = [m for m in candidates(taken, stage) if m.quantity in of_interest(of)]
    numbers = [m for m in asked if not isinstance(m.value, str)]
    foreseen = [_foreseen(of, s, numbers) for s in alive]
    for m in asked:
        if isinstance(m.value, str):
            table = _word_chances(of, alive, m)
            bits = _bits(p, table)
            apart = [float(np.abs(row - p @ table).sum()) for row in table]
        else:
            i = numbers.index(m)
            middle = np.array([f[0][i] for f in foreseen])
            sd = np.array([f[1][i] for f in foreseen])
            bits, apart = _bits_of_number(
                p, middle, sd, [s.hypothesis.says.get(m.quantity, {}).get(OPEN, 0.0) for s in alive]
            )
        between = _split(alive, p, np.array(apart))
        found = quantities()[m.quantity]
        out.append(Further(m.quantity, m.at, bits, between, found.ask, found.how))
    return tuple(sorted(out, key=lambda f: -f.information)[:5])


def of_interest(of: CoilForward) -> frozenset[str]:
    """Quantities that say something on this coil."""
    names = set(quantities())
    if not of.tables.fields:
        names -= {"field", "compass"}
    if not of.tables.kick:
        names -= {"kick"}
    return frozenset(names)


def _foreseen(of: CoilForward, s: Suspect, asked: Sequence[Measurement]) -> tuple[Array, Array]:
    """(m,) what a suspect foresees for a further reading after those taken, and its standard deviation with the
    meter's."""
    if s.fit is None:
        return np.full(len(asked), np.nan), np.ones(len(asked))
    z = s.fit.z
    trials = np.vstack([z, z + 0.05 * np.eye(len(z))])
    out = of.readings(physical(s.fit.spreads, trials), asked, s.hypothesis.material)
    slopes = np.nan_to_num((out[1:] - out[0]).T / 0.05)
    usual = []
    for i, m in enumerate(asked):
        value = float(out[0, i]) if np.isfinite(out[0, i]) else 1.0
        half = quantities()[m.quantity].half_width(value)
        usual.append(of._sigma(measurement(m.quantity, max(value, 1e-12), half_width=max(half, 1e-12), **_where(m))))
    sd = np.sqrt(np.einsum("ij,jk,ik->i", slopes, s.fit.covariance, slopes) + np.array(usual) ** 2)
    return out[0], sd


def _where(m: Measurement) -> dict[str, Any]:
    a = m.at
    return {"frequency": a.frequency, "mode": a.mode, "pole": a.pole, "capacitance": a.capacitance, "load": a.load}


def _word_chances(of: CoilForward, alive: Sequence[Suspect], m: Measurement) -> Array:
    """(suspects, answers) chances of each answer."""
    asked = quantities()[m.quantity]
    if m.quantity == "shape":
        return _eye(of, alive)
    answers = list(asked.choices) or [OPEN, "finite"]
    rows = []
    for s in alive:
        row: list[float] = []
        for a in answers:
            if a == "finite":
                row.append(max(1.0 - row[0], 1e-3))
                continue
            trial = measurement(m.quantity, a, pole=1 if asked.by_pole else None)
            chances = s.hypothesis.says.get(m.quantity, {})
            row.append(max(chances.get(said(of, trial), 0.005), 1e-3))
        rows.append(np.array(row) / sum(row))
    return np.array(rows)


def _eye(of: CoilForward, alive: Sequence[Suspect]) -> Array:
    ask = measurement("shape", "as drawn")
    rows = []
    for s in alive:
        if s.fit is None:
            rows.append(np.array([0.1, 0.1, 0.8]))
            continue
        middle = float(of.readings(physical(s.fit.spreads, s.fit.z[None]), [ask], s.hypothesis.material)[0, 0])
        each = np.exp(
            -0.5 * ((middle - np.array([EYE[c] for c in ("fat", "thin", "as drawn")])) / (1.5 * EYE_SIGMA)) ** 2
        )
        rows.append((each + 1e-3) / (each + 1e-3).sum())
    return np.array(rows)


def _bits(p: Array, table: Array) -> float:
    """Expected bits about which suspect holds, from chances (suspects, answers)."""
    mixed = p @ table
    return float((p[:, None] * table * np.log2(table / mixed)).sum())


def _bits_of_number(p: Array, middle: Array, sd: Array, none: Sequence[float]) -> tuple[float, list[float]]:
    """The same for a number, each suspect foreseeing a normal one, or none at all."""
    has = np.isfinite(middle)
    silent = np.where(has, np.array(none), 1.0)
    silent = np.clip(silent, 1e-4, 1.0 - 1e-4)
    mean_silent = float(p @ silent)
    bits = float((p * silent * np.log2(silent / mean_silent)).sum())
    for i in np.flatnonzero(has):
        y = middle[i] + sd[i] * NODES
        log = np.full((len(p), len(y)), -np.inf)
        log[has] = np.log(1.0 - silent[has, None]) - 0.5 * ((y - middle[has, None]) / sd[has, None]) ** 2
        log[has] -= np.log(sd[has, None])
        most = log.max(axis=0)
        mixed = most + np.log(p @ np.exp(log - most))
        gain = WEIGHTS @ (log[i] - mixed) / WEIGHTS.sum()
        bits += float(p[i] * (1.0 - silent[i]) * gain / math.log(2.0))
    centre = float(np.average(middle[has], weights=p[has])) if has.any() else 0.0
    apart = [abs(m - centre) / s if h else 5.0 for m, s, h in zip(middle, sd, has, strict=True)]
    return max(bits, 0.0), apart


def _split(alive: Sequence[Suspect], p: Array, apart: Array) -> tuple[str, ...]:
    """The two suspects it decides between best: the most probable, and the weightiest that it sets apart."""
    weight = p * np.minimum(apart, 3.0)
    weight[0] = -1.0
    other = int(np.argmax(weight))
    return (alive[0].title, alive[other].title)
