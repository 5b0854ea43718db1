"""What one channel of a recording is to the other, at each frequency, with its noise.

The response's spectrum over the reference's gives a pulse response; a window keeps the part round its beginning, and so
cuts away what came of harmonics (they stand before) and most of the noise. Whatever both channels share, the sound
card's delay and its slope, falls out. The same windows laid where no response can be give the noise, at each
frequency by itself, so that hum widens only the points where it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

FLAT = 0.1
"""Seconds either side of the pulse that count in full: 20 ms would leave 8e-4 near a resonance of 5 kHz."""
SLOPE = 0.05
"""Seconds over which the window then falls to nothing."""
EDGE = 0.5
"""Octaves: the band is kept so far past its ends, and fades out over as much again, so that what the window smears off
the edge does not reach it."""
FEWEST = 4
"""Windows of noise: fewer tell too little of it."""


@dataclass(frozen=True, slots=True)
class Transfer:
    """`ratio` = response / reference at `frequency` [Hz]; `sigma`: standard deviation of each of its two parts.

    All of shape (f,). `delay` [s]: by how much the response's pulse stands after the reference's.
    """

    frequency: Array
    ratio: Complex
    sigma: Array
    delay: float


def transfer(reference: Array, response: Array, rate: float, low: float, high: float, points: int = 120) -> Transfer:
    """The ratio of two recordings (n,) made at once, `rate` samples a second, at about `points` frequencies that rise
    by the same factor from `low` to `high` [Hz], inside the band of the sweep.

    A frequency stands where the window's own grid has one, so neighbours at the low end may fall together. `sigma`
    holds for noise that does not change while recording. Raises DomainError for recordings of other lengths or too
    short.
    """
    if reference.ndim != 1 or reference.shape != response.shape:
        raise DomainError("both channels have as many samples", f"{reference.shape} and {response.shape}")
    half = round((FLAT + SLOPE) * rate)
    if len(reference) < 4 * FEWEST * half:
        raise DomainError(
            "a recording is long enough to tell response from noise",
            f"{len(reference) / rate:.1f} s",
            f"one of {4 * FEWEST * (FLAT + SLOPE):.1f} s or more",
        )
    if not 0.0 < low < high <= 0.5 * rate:
        raise DomainError("the band lies between 0 and half the samples a second", f"{low:g} Hz to {high:g} Hz")
    pulse = _pulse(reference, response, rate, low, high)
    delay = _delay(pulse, rate)
    pulse = np.roll(pulse, -delay)
    size = 1 << math.ceil(math.log2(4 * half))
    bins = np.unique(np.rint(np.geomspace(low, high, points) * size / rate).astype(int))
    bins = bins[(bins > 0) & (bins <= size // 2)]
    window = _window(half, rate)
    frequency = bins * rate / size
    turned = np.exp(2j * np.pi * frequency * half / rate)  # the window begins `half` samples before the pulse

    def spectrum(middle: int) -> Complex:
        piece = np.take(pulse, np.arange(middle - half, middle + half), mode="wrap")
        return np.asarray(np.fft.rfft(piece * window, size)[bins])

    # Noise is sought after the pulse alone: before it stand the harmonics.
    places = range(3 * half, len(pulse) // 2 - half, 2 * half)
    noise = np.mean([np.abs(spectrum(place)) ** 2 for place in places], axis=0)
    ratio = spectrum(0) * turned * np.exp(-2j * np.pi * frequency * delay / rate)
    return Transfer(np.asarray(frequency), ratio, np.sqrt(0.5 * noise), delay / rate)


def _pulse(reference: Array, response: Array, rate: float, low: float, high: float) -> Array:
    """Response over reference as a pulse response, circular, of the band alone."""
    from scipy import fft

    size = fft.next_fast_len(len(reference), real=True)
    r, y = fft.rfft(reference, size), fft.rfft(response, size)
    f = np.arange(len(r)) * rate / size
    with np.errstate(divide="ignore"):
        octave_low, octave_high = np.log2(f / low), np.log2(high / f)
    rise = np.clip(2.0 + octave_low / EDGE, 0.0, 1.0)
    fall = np.clip(2.0 + octave_high / EDGE, 0.0, 1.0)
    band = 0.25 * (1.0 - np.cos(np.pi * rise)) * (1.0 - np.cos(np.pi * fall))
    power = np.abs(r) ** 2
    inside = power[(f >= low) & (f <= high)]
    if not inside.size or not float(inside.max()) > 0.0:
        raise DomainError("the reference channel holds the sweep", "silence", "connecting the reference")
    # Where a gap of the reference divides by next to nothing the ratio fades out in place of blowing up.
    return np.asarray(fft.irfft(band * y * np.conj(r) / (power + 1e-9 * float(inside.max())), size))


def _delay(pulse: Array, rate: float) -> int:
    """Samples from the reference to the response, from its highest point; what is within a millisecond counts as none:
    a resonance peaks after its beginning."""
    at = int(np.argmax(np.abs(pulse)))
    at = at - len(pulse) if at > len(pulse) // 2 else at
    return 0 if abs(at) <= 1e-3 * rate else at


def _window(half: int, rate: float) -> Array:
    t = np.abs(np.arange(-half, half)) / rate
    return np.asarray(0.5 * (1.0 + np.cos(np.pi * np.clip((t - FLAT) / SLOPE, 0.0, 1.0))))
