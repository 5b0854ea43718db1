"""Every hypothesis about a coil after its readings: fitted, and with its probability.

Prior odds times the probability of the numbers (Laplace) times the chances of the answers in words, over the sum of
all. Source: Bayes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from lodestring.proving.faults import Hypothesis
from lodestring.proving.forward import CoilForward
from lodestring.proving.measurement import Measurement
from lodestring.proving.posterior import Fit, described, fit, numeric
from lodestring.quantity.figures import figure


@dataclass(frozen=True, eq=False)
class Suspect:
    """One hypothesis after the readings, its probability and its fit (None where nothing passes through the coil)."""

    hypothesis: Hypothesis
    probability: float
    fit: Fit | None

    @cached_property
    def amount(self) -> str:
        """In words what the readings say of the thing the fault sets; "" where that is nothing."""
        return "" if self.fit is None else amount(self.hypothesis, self.fit)

    @property
    def id(self) -> str:
        return self.hypothesis.id

    @property
    def title(self) -> str:
        return self.hypothesis.title


def judge(of: CoilForward, every: Sequence[Hypothesis], taken: tuple[Measurement, ...]) -> list[Suspect]:
    """Every hypothesis with its probability, in the order given; the first is "as drawn"."""
    numbers = numeric(taken)
    plain: Fit | None = None
    scores: list[float] = []
    fits: list[Fit | None] = []
    for h in every:
        found: Fit | None = None
        score = math.log(h.odds) + h.chance(of, taken)
        if h.breaks:
            score += sum(_without_current(of, m) for m in numbers)
        else:
            same = h.spreads is every[0].spreads and h.material is None
            best = max((f.log_evidence for f in fits if f is not None), default=-math.inf)
            found = plain
            if not same or plain is None:
                found = fit(of, h.spreads, numbers, h.material, h.starts, plain, best)
            plain = found if same else plain
            score += found.log_evidence if found is not None else 0.0
        scores.append(score)
        fits.append(found)
    most = max(scores)
    weights = [math.exp(s - most) for s in scores]
    total = math.fsum(weights)
    return [Suspect(h, w / total, f) for h, w, f in zip(every, weights, fits, strict=True)]


def _without_current(of: CoilForward, m: Measurement) -> float:
    """ln density of a number read on a coil that nothing passes through: sizes and mass as they should be."""
    if m.quantity in ("resistance", "inductance", "series_resistance", "resonance", "peak", "inductance_poles_out"):
        return math.log(1e-4 / abs(m.number or 1.0))
    alone = fit(of, of.spreads, (m,))  # sizes and mass are those of a whole coil
    return alone.log_evidence


AMOUNTS = {
    "shorted": ("1", "turns"),
    "turns": ("1", "turns"),
    "joint": ("ohm", ""),
    "shunt": ("ohm", "across"),
    "stretch": ("%", "stretch"),
    "warmer": ("K", "warmer"),
    "strength": ("%", "of the field as drawn"),
    "packing": ("1", "packing"),
}


def amount(h: Hypothesis, found: Fit) -> str:
    """What the readings say of the thing a fault sets, in words; "" where there is nothing to say."""
    for k in described(found).known:
        if k.name not in h.shows or k.name not in AMOUNTS:
            continue
        unit, words = AMOUNTS[k.name]
        if unit == "%":
            return f"{100 * k.value:.2g} % {words} ({100 * k.low:.2g} to {100 * k.high:.2g})"
        if unit == "K":
            return f"{k.value:.0f} K {words} ({k.low:.0f} to {k.high:.0f})"
        shown = figure(k.value, unit, k.low, k.high)
        return f"{shown.value} {shown.unit or words} ({shown.interval})".replace("  ", " ")
    return ""
