"""Tapers: how a control's resistance follows its travel.

The share of the track between the end `a` (where the wiper stands at travel 0) and the wiper, for travel t from 0 to 1
(fully up), m the share at half travel:

    linear             t
    audio, two slopes  2 m t up to half travel, then m + (1 - m)(2 t - 1): two straight pieces of track, as printed ones
    audio, one curve   (b^t - 1) / (b - 1), b = (1/m - 1)^2: equal steps of travel are nearly equal steps in decibels
    reverse            1 - share(1 - t): the same track, read from its other end

That an audio track has 10 % of its resistance at half travel is common practice, no source; tracks of 5 to 20 % are
sold under the same word, so m is a parameter. A wiper never reaches exactly 0 ohm: END of the track stays between it
and either end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lodestring.errors import DomainError

Array = NDArray[np.float64]
END = 1e-6
"""Share of the track left at either end: 0.25 to 0.5 ohm of a usual control. A share and not a figure in ohm, so that a
circuit with all impedances k times as large answers alike; small enough to be heard by nobody (-120 dB)."""


class Law(Enum):
    """The shape of a track."""

    LINEAR = "linear"
    TWO_SLOPE = "audio, two slopes"
    EXPONENTIAL = "audio, one curve"


@dataclass(frozen=True, slots=True)
class Taper:
    """A track: its law, the share `middle` of its resistance at half travel (no matter for a linear one), and whether
    it is read from the other end. Raises DomainError for a `middle` outside 0..1."""

    law: Law = Law.LINEAR
    middle: float = 0.1
    reverse: bool = False

    def __post_init__(self) -> None:
        if not 0.0 < self.middle < 1.0:
            raise DomainError(
                "an audio track has a share of its resistance above 0 and below 1 at half travel",
                f"{self.middle:g}",
                "0.1, the usual one",
            )

    def share(self, travel: ArrayLike) -> Array:
        """Share of the track [1] between the end `a` and the wiper, from END to 1 - END, at `travel` from 0 to 1 (any
        shape). Raises DomainError for a travel outside 0..1."""
        t = np.asarray(travel, dtype=float)
        if not bool(np.all((t >= 0.0) & (t <= 1.0))):  # false for NaN too
            wrong = t[~((t >= 0.0) & (t <= 1.0))].flat[0]
            raise DomainError("a control's travel lies between 0 and 1", f"{wrong:g}", "1 for fully up")
        share = 1.0 - self._law(1.0 - t) if self.reverse else self._law(t)
        return np.clip(share, END, 1.0 - END)

    def _law(self, t: Array) -> Array:
        m = self.middle
        if self.law is Law.TWO_SLOPE:
            return np.where(t <= 0.5, 2.0 * m * t, m + (1.0 - m) * (2.0 * t - 1.0))
        if self.law is Law.EXPONENTIAL and m != 0.5:  # at one half the curve is the straight line
            power = 2.0 * math.log(1.0 / m - 1.0)
            return np.asarray(np.expm1(power * t) / math.expm1(power))
        return t


LINEAR = Taper()
AUDIO = Taper(Law.TWO_SLOPE)
AUDIO_CURVE = Taper(Law.EXPONENTIAL)
REVERSE_AUDIO = Taper(Law.TWO_SLOPE, reverse=True)
