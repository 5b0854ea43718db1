"""Match a set: which finished coils go together, and how many turns to take off which so that a pair cancels hum.

A uniform field links with a coil as its dipole moment does: m = N (2 s r_mean + pi <r^2>) + what the pole pieces add.
In series what is left is m1 - m2; in parallel each EMF counts with the admittance of its own coil, so equal quotients
E / Z cancel, not equal turns. Turns come off the outside, where a turn is largest. Source: the project's design, from
reciprocity; tests hold the numbers of its worked example.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

from lodestring.errors import DomainError
from lodestring.physics.coil import CoilBox, moment
from lodestring.proving.forward import CoilForward
from lodestring.proving.posterior import Fit

Connection = Literal["series", "parallel"]
MAINS = 50.0
NEVER = -120.0
"""A null is never told deeper than this [dB]."""


@dataclass(frozen=True, slots=True)
class Finished:
    """A finished coil as measured: turns with one standard deviation (ln units), shape [m], what its pole pieces add to
    a turn's moment [m^2], resistance at 20 C [ohm], inductance [H], and its field at the face [T]."""

    name: str
    turns: float
    turns_sd: float
    straight: float
    inner: float
    depth: float
    height: float
    pole_moment: float
    resistance: float
    inductance: float
    field: float = 0.1
    edge: float = 0.85
    """What the pole pieces add to the outermost turn's moment against the mean turn's."""

    def __post_init__(self) -> None:
        if not (self.turns >= 1.0 and self.depth > 0.0 and self.resistance > 0.0 and self.inductance > 0.0):
            raise DomainError(
                "a finished coil has turns, depth, resistance and inductance above 0",
                f"{self.turns:g} turns, {self.depth:g} m, {self.resistance:g} ohm, {self.inductance:g} H ({self.name})",
            )

    @property
    def moment(self) -> float:
        """Volts per tesla and radian per second of a uniform field [m^2]."""
        box = CoilBox(self.straight, self.inner, self.inner + self.depth, self.height)
        return self.turns * (moment(box) + self.pole_moment)

    def with_turns(self, turns: float) -> Finished:
        """The same coil with turns taken off (or put on) at its outside."""
        if turns < 1.0:
            raise DomainError("a coil keeps at least one turn", f"{turns:g}")
        depth = self.depth * turns / self.turns
        mean, before = (2.0 * self.straight + math.pi * (2.0 * self.inner + d) for d in (depth, self.depth))
        share = turns / self.turns
        return replace(
            self,
            turns=turns,
            depth=depth,
            pole_moment=self.pole_moment * (1.0 + (turns - self.turns) / self.turns * self.edge) / share,
            resistance=self.resistance * share * mean / before,
            inductance=self.inductance * share**2,
        )


def finished(name: str, of_coil: CoilForward, found: Fit) -> Finished:
    """A coil from its tables and what was found of it."""
    t, v = of_coil.tables, found.values()
    i = [s.name for s in found.spreads].index("turns")
    sd = math.sqrt(float(found.covariance[i, i])) * found.spreads[i].sigma
    over = (v["bare"] + v["film"]) / math.sqrt(1.0 + v["stretch"])
    depth = v["turns"] * math.pi * over**2 / (4.0 * v["packing"] * v["window"])
    mean = 2.0 * v["straight"] + math.pi * (2.0 * v["inner"] + depth)
    ohm = v["resistivity"] / (0.25 * math.pi * v["bare"] ** 2) * (1.0 + v["stretch"]) * v["turns"] * mean
    import numpy as np

    from lodestring.proving.forward import Wound, physical

    air, added = Wound(of_coil, physical(found.spreads, found.z[None]), (), None)._per_turn(t)
    henry = v["turns"] ** 2 * float(np.sum(air + added))
    field = (t.fields[0] if t.fields else 0.1) * v.get("strength", 1.0)
    edge, x = float(t.sections.whole_poles[-1]), depth / t.depth
    mu = v.get("permeability", 1.0)
    ratio = (
        1.0
        if t.answer is None
        else float(t.answer.added(np.array(mu - 1.0)) / t.answer.added(np.array(t.answer.permeability - 1.0)))
    )  # the poles' moment goes with permeability as what they add to the inductance: 1 per cent from 3 to 7
    poles = ratio * t.moment[1] * (1.0 + (x - 1.0) * edge) / x
    return Finished(name, v["turns"], sd, v["straight"], v["inner"], depth, v["window"], poles, ohm, henry, field, edge)


def hum_left(one: Finished, other: Finished, connection: Connection = "series", load: complex | None = None,
             frequency: float = MAINS) -> float:  # fmt: skip
    """Hum of two opposed coils against the louder one alone under the same load [dB]. `load` [ohm], None for open."""
    a, b = one.moment, other.moment
    if connection == "series":
        return _db(abs(a - b) / max(a, b))
    w = 2.0 * math.pi * frequency
    za, zb = (complex(c.resistance, w * c.inductance) for c in (one, other))
    y = 0.0 if load is None else 1.0 / load
    both = abs(a / za - b / zb) / abs(1.0 / za + 1.0 / zb + y)
    alone = max(abs(a / za) / abs(1.0 / za + y), abs(b / zb) / abs(1.0 / zb + y))
    return _db(both / alone)


def _db(ratio: float) -> float:
    return max(20.0 * math.log10(ratio), NEVER) if ratio > 0.0 else NEVER


@dataclass(frozen=True, slots=True)
class Pairing:
    """Two finished coils: hum left in series and in parallel [dB], how far it may lie for all that is known of their
    turns (90 %: no worse than), and the second's level against the first [dB]."""

    one: str
    other: str
    series: float
    parallel: float
    worst: float
    level: float


def match(coils: Sequence[Finished]) -> tuple[Pairing, ...]:
    """Every pair of coils, the one that cancels best in series first."""
    if len({c.name for c in coils}) < len(coils):
        raise DomainError("each finished coil has a name of its own", ", ".join(c.name for c in coils))
    out = []
    for one, other in combinations(coils, 2):
        off = (
            1.645 * math.hypot(one.turns_sd * one.moment, other.turns_sd * other.moment) / max(one.moment, other.moment)
        )
        left = hum_left(one, other)
        worst = _db(10.0 ** (left / 20.0) + off)
        level = 20.0 * math.log10(other.turns * other.field / (one.turns * one.field))
        out.append(Pairing(one.name, other.name, left, hum_left(one, other, "parallel"), worst, level))
    return tuple(sorted(out, key=lambda p: p.series))


@dataclass(frozen=True, slots=True)
class TakeOff:
    """Turns to take off one coil: how many are best, the fewest that reach the goal, hum left before, with the best
    and as it may be for all that is known of the turns [dB]; `sentence` says it."""

    coil: str
    turns: int
    fewest: int
    before: float
    after: float
    worst: float
    sentence: str


def _best(coil: Finished, partner: Finished, connection: Connection, load: complex | None) -> int:
    """Turns off one coil that leave least hum; up to a third of it is looked at."""

    def left(off: int) -> float:
        return hum_left(coil.with_turns(coil.turns - off), partner, connection, load)

    most = int(0.3 * coil.turns)
    step = max(most // 60, 1)
    rough = min(range(0, most + 1, step), key=left)
    return min(range(max(rough - step, 0), rough + step + 1), key=left)


def turns_to_take_off(
    one: Finished, other: Finished, goal: float, connection: Connection = "series", load: complex | None = None
) -> TakeOff:
    """How many turns to take off which coil so that less than `goal` [dB, below 0] of the hum is left.

    Raises DomainError for a goal that no whole number of turns reaches.
    """
    if not goal < 0.0:
        raise DomainError("hum left is told in decibels below one coil alone", f"{goal:g} dB", "-40 dB")
    before = hum_left(one, other, connection, load)
    left = {}
    for coil, partner in ((one, other), (other, one)):
        best = _best(coil, partner, connection, load)
        here = hum_left(coil.with_turns(coil.turns - best), partner, connection, load)
        left[coil.name] = (here, best, coil, partner)
    name = min(left, key=lambda n: (left[n][0], left[n][1]))
    after, best, coil, partner = left[name]
    fewest = next(
        (k for k in range(best + 1) if hum_left(coil.with_turns(coil.turns - k), partner, connection, load) <= goal), -1
    )
    if fewest < 0:
        raise DomainError(
            f"some number of turns leaves {goal:g} dB", f"{after:.1f} dB at best", f"{after + 1.0:.0f} dB"
        )
    off = 1.645 * math.hypot(coil.turns_sd, partner.turns_sd)
    worst = _db(10.0 ** (after / 20.0) + off)
    said = (
        f"{before:.1f} dB is left as they are: that is enough."
        if fewest == 0
        else f"Take {best} turns off {name}, from its outside, counting backwards: {after:.0f} dB left in {connection} "
        f"instead of {before:.1f}; from {fewest} turns on it is below {goal:g} dB."
    )
    if worst > goal:
        said += f" The turns are not known well enough to promise more than {worst:.0f} dB: "
        said += "take off a few at a time and listen."
    return TakeOff(name, best, fewest, before, after, worst, said)
