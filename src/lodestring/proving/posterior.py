"""What was really wound, from all measurements at once: the most probable coil and how well it is known.

Every uncertain thing is counted in standard deviations from what was believed before, so the prior is a unit normal in
all directions. The reading's errors are Student's t with 6 degrees of freedom (assumed), so that one slip of the meter
does not pull the whole coil with it. The most probable coil is found by Gauss and Newton's steps with damping; around
it the posterior is taken as normal (Laplace, with Student's information for the bend), and the same gives the
probability of the readings:

    ln P(readings) = sum ln t(r_i) - z.z / 2 - ln det(1 + J' W J) / 2

Validity: many readings or narrow priors; wide one-sided quantities (turns shorted) are started from several places and
the best is kept. Tests hold it against a sampler that shares nothing with it. Source: MacKay, Information Theory,
Inference, and Learning Algorithms (2003), chapter 27, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lodestring.physics.ring import Array
from lodestring.proving.forward import CoilForward, Material, physical
from lodestring.proving.measurement import NINETY, Measurement
from lodestring.proving.spreads import FREE, Spread, Spreads, with_turns

FREEDOM = 6.0
"""Degrees of freedom of a reading's error."""
CONSTANT = math.lgamma((FREEDOM + 1.0) / 2.0) - math.lgamma(FREEDOM / 2.0) - 0.5 * math.log(FREEDOM * math.pi)
NOTHING = 12.0
"""Standard deviations that a reading is off where the coil of a trial would give none."""
STEP = 1e-3
NEAR = 2.5
HOPELESS = 25.0
"""ln of odds: e^-25 is nothing."""
ROUNDS = 25
FARTHEST = 6.0
"""No step goes farther than this from what was believed [standard deviations]."""


@dataclass(frozen=True, eq=False)
class Fit:
    """The most probable coil: `z` (p,) in standard deviations, its `covariance` (p, p), the log of the probability of
    the readings, what they should be there (m,), how far off each is (m,), and the slopes (m, p)."""

    spreads: Spreads
    z: Array
    covariance: Array
    log_evidence: float
    expected: Array
    off: Array
    slopes: Array

    def values(self) -> dict[str, float]:
        """The most probable value of each, SI."""
        return {name: float(v[0]) for name, v in physical(self.spreads, self.z[None]).items()}


def numeric(taken: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """The readings that are numbers, or stand for one (the look of the coil), on which the fit works."""
    return tuple(
        m
        for m in taken
        if m.quantity == "shape"
        or (not isinstance(m.value, str) and m.quantity not in ("pole_resistance", "cover_resistance"))
    )


def log_density(off: Array) -> Array:
    """ln of Student's t at residuals in standard deviations."""
    return np.asarray(CONSTANT - 0.5 * (FREEDOM + 1.0) * np.log1p(off**2 / FREEDOM))


def fit(
    of: CoilForward,
    spreads: Spreads,
    taken: Sequence[Measurement],
    material: Material | None = None,
    starts: Sequence[tuple[str, float]] = (),
    near: Fit | None = None,
    floor: float = -math.inf,
) -> Fit:
    """The most probable coil for numeric readings; `starts`: values (name, z) to begin from besides the middle.

    `near`: another fit to begin from, where it lies within `NEAR` of what was believed. A fit that stays far below
    `floor` (ln of a probability) is not polished.
    """
    names = [s.name for s in spreads]
    middle = np.zeros(len(spreads))
    if near is not None and float(np.abs(near.z).max(initial=0.0)) < NEAR:
        same = dict(zip(near.spreads, near.z, strict=True))
        middle = np.array([same.get(s, 0.0) for s in spreads])
    found = _climb(of, spreads, taken, material, middle, floor)
    for name, z in starts:
        place = middle.copy()
        place[names.index(name)] = z
        other = _climb(of, spreads, taken, material, place, max(floor, found.log_evidence))
        found = max(found, other, key=lambda f: f.log_evidence)
    return found


def _climb(
    of: CoilForward,
    spreads: Spreads,
    taken: Sequence[Measurement],
    material: Material | None,
    z: Array,
    floor: float,
) -> Fit:
    numbers, sigma = of.observed(taken)
    norm = -float(np.log(sigma).sum()) if len(sigma) else 0.0
    p = len(spreads)
    z = z.copy()

    def look(z: Array) -> tuple[Array, Array]:
        """Residuals (m,) and their slopes (m, p) at z."""
        trials = np.vstack([z, z + STEP * np.eye(p)])
        out = of.readings(physical(spreads, trials), taken, material)
        off = (out - numbers) / sigma
        slopes = (off[1:] - off[0]).T / STEP
        bad = ~np.isfinite(off[0])
        off[0][bad] = NOTHING
        slopes[~np.isfinite(slopes)] = 0.0
        slopes[bad] = 0.0
        return off[0], slopes

    off, slopes = look(z)
    height = float(log_density(off).sum()) - 0.5 * float(z @ z)
    damping = 1e-3
    for number in range(ROUNDS):
        weight = (FREEDOM + 1.0) / (FREEDOM + off**2)
        normal = np.eye(p) + (slopes * weight[:, None]).T @ slopes
        slope = -z - slopes.T @ (weight * off)
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), slope)
        longest = float(np.abs(step).max())
        if longest < 1e-2:
            break
        trial = np.clip(z + step * min(1.0, 2.0 / longest), -FARTHEST, FARTHEST)
        new_off, new_slopes = look(trial)
        new = float(log_density(new_off).sum()) - 0.5 * float(trial @ trial)
        if new > height:
            gain, z, off, slopes, height, damping = new - height, trial, new_off, new_slopes, new, damping * 0.2
            if gain < 1e-3 or (number > 2 and gain < 2.0 and height + norm < floor - HOPELESS):
                break
        elif damping > 1e3:
            break
        else:
            damping = max(damping * 8.0, 1e-3)
    # Student's information per reading; its bend at the middle alone would be a third too sure
    weight = (FREEDOM + 1.0) / (FREEDOM + 3.0) * FREEDOM / (FREEDOM + off**2)
    normal = np.eye(p) + (slopes * weight[:, None]).T @ slopes
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    evidence = height + norm - 0.5 * float(np.linalg.slogdet(normal)[1])
    return Fit(spreads, z, covariance, evidence, off * sigma + numbers, off, slopes * sigma[:, None])


@dataclass(frozen=True, slots=True)
class Known:
    """A value with its 90 % interval, SI."""

    name: str
    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Posterior:
    """What was wound: each thing with its 90 % interval, and how they hang together (correlation, (p, p))."""

    fit: Fit
    known: tuple[Known, ...]
    correlation: Array

    def of(self, name: str) -> Known:
        """One of them by name. Raises KeyError."""
        for k in self.known:
            if k.name == name:
                return k
        raise KeyError(name)

    def relative(self, name: str) -> float:
        """Standard deviation in ln units."""
        i = [s.name for s in self.fit.spreads].index(name)
        return float(np.sqrt(self.fit.covariance[i, i])) * self.fit.spreads[i].sigma


def described(found: Fit) -> Posterior:
    """A fit as values with intervals."""
    sd = np.sqrt(np.diag(found.covariance))
    known = []
    for i, s in enumerate(found.spreads):
        ends = [found.z[i] + side * NINETY * sd[i] for side in (0.0, -1.0, 1.0)]
        known.append(Known(s.name, *(float(physical((s,), np.array([[e]]))[s.name][0]) for e in ends)))
    scale = np.where(sd > 0.0, sd, 1.0)
    return Posterior(found, tuple(known), found.covariance / np.outer(scale, scale))


def posterior(of: CoilForward, taken: Sequence[Measurement], turns: str = "free", *new: Spread) -> Posterior:
    """What was wound, no fault assumed. `turns` "free": what the readings say; "counted": as drawn, 1 per cent."""
    from lodestring.proving.spreads import changed

    spreads = with_turns(of.spreads, FREE) if turns == "free" else of.spreads
    return described(fit(of, changed(spreads, *new), numeric(taken)))
