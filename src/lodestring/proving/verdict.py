"""The verdict on a finished coil: is it the coil that was meant, if not what went wrong, what to measure next, what to
do now.

suspects.py says how probable each hypothesis is, further.py which reading would decide best.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.design.vocabulary import STAGES, Severity, Stage
from lodestring.physics.ring import Array
from lodestring.proving.faults import AS_DRAWN, Hypothesis, hypotheses
from lodestring.proving.forward import CoilForward, forward, physical
from lodestring.proving.further import Further, further
from lodestring.proving.measurement import NINETY, OPEN, At, Measurement
from lodestring.proving.posterior import Posterior, described, numeric
from lodestring.proving.suspects import Suspect, judge

SURE = 0.90
"""A verdict is sure from this probability on."""
FLOOR = 1e-4
"""What is less probable is not shown."""
SILENT = 0.7
"""Readings that shift the odds of a fault against "as drawn" by less than this, in ln units, do not speak of it."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading against what the coil as drawn should read (90 % interval), and how far off it is in standard
    deviations of both together; `off` None for a word, with `agrees` in its place."""

    measurement: Measurement
    value: float | str
    low: float | None
    high: float | None
    off: float | None
    agrees: bool


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do now: keep the coil, what to do, and until which stage the fault can be mended (None: no fault)."""

    keep: bool
    sentence: str
    attempt: str
    until: Stage | None
    too_late: bool


@dataclass(frozen=True, eq=False)
class Verdict:
    """See the module. `ranked` the most probable first; `families` probability by family of faults."""

    pickup: str
    coil: str
    stage: Stage
    taken: tuple[Measurement, ...]
    ranked: tuple[Suspect, ...]
    families: Mapping[str, float]
    compared: tuple[Compared, ...]
    unseen: tuple[str, ...]
    """Titles of the faults that these readings cannot speak of."""
    of_coil: CoilForward
    _every: tuple[Suspect, ...]
    _heard: float = 1.0

    @cached_property
    def next(self) -> tuple[Further, ...]:
        """The measurements not taken yet that would tell most, the best first."""
        return further(self.of_coil, self._every, self.taken, self.stage)

    @cached_property
    def now(self) -> Advice:
        """What to do now."""
        return _advice(self)

    @property
    def as_drawn(self) -> float:
        """Probability that the coil is as drawn."""
        return self.families.get(AS_DRAWN, 0.0)

    @property
    def first(self) -> Suspect:
        """The most probable of the most probable family."""
        family = max(self.families, key=lambda f: self.families[f])
        return next(s for s in self.ranked if s.hypothesis.family == family)

    @property
    def sure(self) -> bool:
        return self.share >= SURE

    @property
    def share(self) -> float:
        """Probability of the first family among what the readings can speak of."""
        return min(self.families[self.first.hypothesis.family] / self._heard, 1.0)

    @property
    def wound(self) -> Posterior | None:
        """What was wound, by the most probable hypothesis; None for a coil that nothing passes through."""
        return None if self.first.fit is None else described(self.first.fit)

    @property
    def finding(self) -> Finding | None:
        """The verdict as a finding; None for a coil that is as drawn."""
        if self.first.id == AS_DRAWN:
            return None
        fault = self.first.hypothesis.fault
        severity: Severity = "warning" if self.sure and not self.now.keep else "note"
        until = fault.until if fault is not None else "wound"
        about = f"pickup.{self.pickup}.coil.{self.coil}"
        return Finding("coil-not-as-drawn", severity, about, self.now.sentence, self.now.attempt, until, None,
                       self.families[self.first.hypothesis.family])  # fmt: skip


def verdict(
    model: Model,
    pickup: str,
    coil: str,
    taken: Iterable[Measurement],
    stage: Stage = "wound",
    of_coil: CoilForward | None = None,
) -> Verdict:
    """The verdict on one coil (or on a pair in series: give `of_coil=forward.pair(model, pickup)`)."""
    readings = tuple(taken)
    found = forward(model, pickup, coil) if of_coil is None else of_coil
    judged = judge(found, hypotheses(model.nominal(), found, stage), readings)
    ranked = tuple(sorted(judged, key=lambda s: -s.probability))
    families: dict[str, float] = {}
    for s in ranked:
        families[s.hypothesis.family] = families.get(s.hypothesis.family, 0.0) + s.probability
    drawn = next(s for s in ranked if s.id == AS_DRAWN)
    silent = [s for s in ranked if s is not drawn and _is_silent(s, drawn)]
    first = max(families, key=lambda f: families[f])
    heard = 1.0 - math.fsum(s.probability for s in silent) if first == AS_DRAWN else 1.0
    return Verdict(
        pickup,
        coil,
        stage,
        readings,
        tuple(s for s in ranked if s.probability >= FLOOR or s is drawn),
        families,
        _compared(found, drawn, readings),
        tuple(dict.fromkeys(s.title for s in silent)),
        found,
        ranked,
        heard,
    )


def _is_silent(s: Suspect, drawn: Suspect) -> bool:
    if s.probability <= 0.0 or drawn.probability <= 0.0:
        return False
    return abs(math.log(s.probability / drawn.probability / s.hypothesis.odds)) < SILENT


# ---- against the drawing ----


def _compared(of: CoilForward, drawn: Suspect, taken: Sequence[Measurement]) -> tuple[Compared, ...]:
    numbers = numeric(taken)
    middle, sd = predicted(of, drawn.hypothesis, numbers)
    _, sigma = of.observed(numbers)
    out = []
    for m in taken:
        if m in numbers and m.quantity != "shape":
            i = numbers.index(m)
            value, half = float(middle[i]), NINETY * float(sd[i])
            both = math.hypot(float(sd[i]), float(sigma[i]))
            off = (m.number - value) / both
            low = max(value - half, 0.0) if value > 0.0 else value - half
            out.append(Compared(m, value, low, value + half, off, abs(off) < 2.0))
        else:
            word = usual_answer(of, m)
            out.append(Compared(m, word, None, None, None, m.value == word or (m.value == "as drawn")))
    return tuple(out)


def usual_answer(of: CoilForward, m: Measurement) -> str:
    """The answer in words, or "open", that a coil as drawn gives."""
    t = of.tables
    if m.quantity == "kick":
        return t.kick
    if m.quantity == "compass":
        return t.up[min((m.at.pole or 1), len(t.up)) - 1] if t.up else "none"
    return {
        "shape": "as drawn",
        "steadiness": "steady",
        "squeal": "quiet",
        "hum": "usual",
        "sound": "full",
        "pole_resistance": OPEN,
        "cover_resistance": OPEN,
    }.get(m.quantity, "a reading")


def predicted(of: CoilForward, h: Hypothesis, asked: Sequence[Measurement]) -> tuple[Array, Array]:
    """(m,) what a hypothesis foresees before any reading, and its standard deviation."""
    p = len(h.spreads)
    trials = np.vstack([np.zeros(p), 0.5 * np.eye(p), -0.5 * np.eye(p)])
    out = of.readings(physical(h.spreads, trials), asked, h.material)
    slopes = out[1 : p + 1] - out[p + 1 :]
    return out[0], np.sqrt(np.nansum(slopes**2, axis=0))


# ---- what to do now ----


def _advice(v: Verdict) -> Advice:
    first = v.first
    share = v.share
    fault = first.hypothesis.fault
    certain = "is" if share >= SURE else "is probably" if share >= 0.6 else "may be"
    if fault is None:
        sentence = f"As far as these readings can tell, the coil {certain} as drawn ({_percent(share)})."
        attempt = "Go on." if share >= SURE else "Go on, or take one more reading: " + (v.next[0].ask if v.next else "")
        return Advice(True, sentence, attempt, None, False)
    sentence = f"The coil {certain} not as drawn: {first.title} ({_percent(share)})"
    sentence += f", {first.amount}." if first.amount else "."
    late = STAGES.index(v.stage) > STAGES.index(fault.until)
    few = first.fit is not None and "shorted" in first.hypothesis.shows and first.fit.values()["shorted"] < 25.0
    attempt = fault.cure(v.stage)
    if share < SURE and v.next:
        attempt = f"First read one more: {v.next[0].ask} {attempt}"
    return Advice(fault.plays or few, sentence, attempt, fault.until, late)


def _percent(share: float) -> str:
    return "over 99 %" if share > 0.995 else f"{100.0 * share:.0f} %"


def verdict_json(v: Verdict) -> dict[str, Any]:
    """A verdict as plain data: no NaN, SI."""
    from lodestring.proving.measurement import to_body

    wound = v.wound
    return {
        "pickup": v.pickup,
        "coil": v.coil,
        "stage": v.stage,
        "measured": [to_body(m) for m in v.taken],
        "as_drawn": v.as_drawn,
        "sure": v.sure,
        "suspects": [
            {"id": s.id, "family": s.hypothesis.family, "title": s.title, "probability": s.probability,
             "amount": s.amount}
            for s in v.ranked
        ],
        "compared": [
            {"quantity": c.measurement.quantity, "read": c.measurement.value, "drawn": c.value, "low": c.low,
             "high": c.high, "off": c.off, "agrees": c.agrees}
            for c in v.compared
            if not (isinstance(c.value, float) and not math.isfinite(c.value))
        ],
        "wound": None if wound is None else {k.name: [k.value, k.low, k.high] for k in wound.known},
        "unseen": list(v.unseen),
        "next": [{"quantity": f.measurement, "bits": f.information, "between": list(f.between), "ask": f.ask,
                  "how": f.how, "at": {k: x for k, x in _named(f.at).items() if x is not None and x != ""}}
                 for f in v.next],
        "now": {"keep": v.now.keep, "sentence": v.now.sentence, "try": v.now.attempt, "until": v.now.until,
                "too_late": v.now.too_late},
    }  # fmt: skip


def _named(where: At) -> dict[str, Any]:
    return {k: getattr(where, k) for k in where.__dataclass_fields__}
