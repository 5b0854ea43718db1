"""The exponential sine sweep, and the filter that folds it back into a pulse.

Source: A. Farina, "Simultaneous measurement of impulse response and distortion with a swept-sine technique", AES 108th
convention (2000), from memory. The frequency rises by the same factor each second, so that what a harmonic of order k
adds comes out as a pulse of its own, T ln k / ln(high/low) before the one that is wanted, and can be cut away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError

Array = NDArray[np.float64]

FADE_IN = 0.25
"""Octaves over which the sweep swells at its low end: a sudden start would ring over the whole band."""
FADE_OUT = 1.0 / 24.0
"""Octaves at its high end."""


@dataclass(frozen=True, slots=True)
class Sweep:
    """A sweep from `low` to `high` [Hz] in `seconds`, after `lead` and before `tail` seconds of silence, at `rate`
    samples a second, with its peak at `level` of full scale.

    The silence before tells noise and hum; the one after lets the coil and the room ring out. Raises DomainError.
    """

    low: float = 20.0
    high: float = 20e3
    seconds: float = 10.0
    rate: int = 48000
    level: float = 0.5
    lead: float = 1.0
    tail: float = 1.0

    def __post_init__(self) -> None:
        if not 8000 <= self.rate <= 192000:
            raise DomainError("a sweep has 8,000 to 192,000 samples a second", f"{self.rate}", "48000")
        if not 1.0 <= self.low < 0.5 * self.high < 0.25 * self.rate:
            raise DomainError(
                "a sweep rises by an octave or more, from 1 Hz or above to below half the samples a second",
                f"{self.low:g} Hz to {self.high:g} Hz at {self.rate} a second",
                "20 Hz to 20000 Hz at 48000",
            )
        if not 1.0 <= self.seconds <= 60.0:
            raise DomainError("a sweep takes 1 to 60 seconds", f"{self.seconds:g} s", "10 s")
        if not 0.0 < self.level <= 1.0:
            raise DomainError("the level is above 0 and at most full scale, 1", f"{self.level:g}", "0.5")
        if not (0.0 <= self.lead <= 10.0 and 0.0 <= self.tail <= 10.0):
            raise DomainError("the silences take 0 to 10 seconds", f"{self.lead:g} s and {self.tail:g} s", "1 s each")

    @property
    def octaves(self) -> float:
        """How many octaves it runs through."""
        return math.log2(self.high / self.low)

    @property
    def slope(self) -> float:
        """By how much ln(frequency) rises in a second [1/s]."""
        return math.log(self.high / self.low) / self.seconds

    @property
    def samples(self) -> int:
        """Samples of the whole, silences included."""
        return round(self.lead * self.rate) + round(self.seconds * self.rate) + round(self.tail * self.rate)


def frequency_at(sweep: Sweep, time: float) -> float:
    """Frequency [Hz] `time` seconds after the sweep began to sound."""
    return sweep.low * math.exp(sweep.slope * time)


def harmonic_lead(sweep: Sweep, order: int) -> float:
    """How long before the wanted pulse the one of a harmonic stands [s], order 2 and up."""
    return math.log(order) / sweep.slope


def drive(sweep: Sweep) -> Array:
    """The samples to play, shape (sweep.samples,), of full scale 1."""
    made = np.zeros(sweep.samples)
    start = round(sweep.lead * sweep.rate)
    sound = _sound(sweep)
    made[start : start + len(sound)] = sweep.level * sound
    return made


def inverse(sweep: Sweep) -> Array:
    """The filter that makes a pulse of the sounding part of `drive`, shape (round(seconds x rate),).

    Convolved with it, the sweep of full level gives a pulse that holds 1 at every frequency of the flat band: the sweep
    backwards, falling by 6 dB an octave (Farina 2000).
    """
    sound = _sound(sweep)
    t = np.arange(len(sound)) / sweep.rate
    # The spectrum's power at f is rate^2 / (4 slope f) (stationary phase); f at time t is low exp(slope t).
    weight = 4.0 * sweep.slope * sweep.low * np.exp(sweep.slope * t) / sweep.rate**2
    return np.asarray((weight * sound)[::-1])


def _sound(sweep: Sweep) -> Array:
    t = np.arange(round(sweep.seconds * sweep.rate)) / sweep.rate
    octave = t * sweep.slope / math.log(2.0)
    rise = np.clip(octave / FADE_IN, 0.0, 1.0)
    fall = np.clip((sweep.octaves - octave) / FADE_OUT, 0.0, 1.0)
    fade = 0.25 * (1.0 - np.cos(np.pi * rise)) * (1.0 - np.cos(np.pi * fall))
    phase = 2.0 * np.pi * sweep.low / sweep.slope * np.expm1(sweep.slope * t)
    return np.asarray(fade * np.sin(phase))
