"""What went wrong while recording a sweep, told from the samples: each with what to do about it.

The sweep's frequency rises along a straight line in ln f. Following it through the reference channel tells where the
sweep begins, whether it runs at the right speed, and whether it came to its end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lodestring.signal.recording import Recording
from lodestring.signal.sweep import Sweep

Array = NDArray[np.float64]
Method = Literal["impedance", "drive coil"]

QUIET = 10.0 ** (-70.0 / 20.0)
"""Of full scale, rms: a channel that stays below it while the sweep runs holds nothing but noise."""
CEILING = 40
"""Samples at the very top: fewer can be chance."""
SPEED_OFF = 0.003
"""Relative: crystals of sound cards agree to 1e-4, rates taken for one another differ by 9 % and more."""
REACH = 0.9
"""Of the last octave: a sweep followed so far came to its end."""
HUM_SHARE = 0.05
"""Of the response's rms while the sweep runs, in the silence before."""
FRAME = 0.085
"""Seconds of one look at the frequency."""
SEEN_FROM = 200.0
"""Hz: below, one look does not tell frequencies apart finely enough."""
RATES = (44100, 48000, 88200, 96000, 176400, 192000)


@dataclass(frozen=True, slots=True)
class Trouble:
    """`code` in small words; `sentence` says what was found and what to do; `fatal`: nothing can be read off it."""

    code: str
    sentence: str
    fatal: bool


@dataclass(frozen=True, slots=True)
class Track:
    """The sweep as it was found: when it begins [s], its speed against the one that was played, how high it comes [Hz],
    and the share of the looks that lie on its line."""

    start: float
    speed: float
    top: float
    share: float


def troubles(recording: Recording, sweep: Sweep, method: Method) -> tuple[Trouble, ...]:
    """All that is wrong with a recording of reference (channel 1) and response (channel 2), the fatal first."""
    if recording.samples.shape[0] != 2:
        return (
            Trouble(
                "one channel",
                "The recording has one channel; record both: the reference on the first, the coil on the second.",
                True,
            ),
        )
    found = [*_levels(recording)]
    if not any(t.fatal for t in found):
        track = follow(recording, sweep)
        found += _course(track, recording, sweep)
        if not any(t.fatal for t in found):
            found += _channels(recording, sweep, track, method)
    return tuple(sorted(found, key=lambda t: not t.fatal))


def follow(recording: Recording, sweep: Sweep) -> Track:
    """Follow the sweep through the reference channel."""
    x, rate = recording.samples[0], recording.rate
    size = 1 << round(math.log2(FRAME * rate))
    hop = size // 4
    count = max(0, (len(x) - size) // hop + 1)
    frames = np.lib.stride_tricks.sliding_window_view(x, size)[::hop][:count] if count else np.zeros((0, size))
    power = np.abs(np.fft.rfft(frames * np.hanning(size), axis=1)) ** 2
    at = np.argmax(power, axis=1)
    energy = power.sum(axis=1)
    # A swept tone holds nearly all of a look within a tenth of its frequency; noise holds little there.
    summed = np.concatenate([np.zeros((count, 1)), np.cumsum(power, axis=1)], axis=1)
    each, last = np.arange(count), power.shape[1]
    upper, lower = np.minimum(np.ceil(1.12 * at + 3).astype(int), last), np.maximum((at / 1.12 - 2).astype(int), 0)
    share = summed[each, upper] - summed[each, lower]
    f = at * rate / size
    t = (np.arange(count) * hop + 0.5 * size) / rate
    clear = (f >= max(SEEN_FROM, 2.0 * sweep.low)) & (f < 0.45 * rate)
    if count:
        clear &= (energy > 1e-3 * float(energy.max())) & (share > 0.5 * energy)
    if int(clear.sum()) < 8:
        return Track(math.nan, math.nan, 0.0, 0.0)
    slope, offset = _line(t[clear], np.log(f[clear]))
    near = np.abs(np.log(f[clear]) - (offset + slope * t[clear])) < 0.03
    on_line = f[clear][near]
    start = (math.log(sweep.low) - offset) / slope if slope > 0.0 else math.nan
    top = float(on_line.max()) if on_line.size else 0.0
    return Track(start, slope / sweep.slope, top, float(near.mean()))


def _line(x: Array, y: Array) -> tuple[float, float]:
    """Slope and offset of the line through most of the points: the median of slopes between points far apart."""
    half = len(x) // 2
    slope = float(np.median((y[half : 2 * half] - y[:half]) / (x[half : 2 * half] - x[:half])))
    return slope, float(np.median(y - slope * x))


def _levels(recording: Recording) -> list[Trouble]:
    found = []
    for index, name in enumerate(("reference (channel 1)", "coil (channel 2)")):
        x = recording.samples[index]
        if float(np.sqrt(np.mean(x * x))) < QUIET:
            found.append(
                Trouble("silence", f"The {name} is silent; look at its plug, its input and the input's gain.", True)
            )
        elif _clipped(x):
            found.append(
                Trouble("clipping", f"The {name} is clipped; turn the output or the input's gain down by half.", True)
            )
    return found


def _clipped(x: Array) -> bool:
    """Whether most of the highest samples share one value: a ceiling. Of a sine's own highest 2 %, one in six lies in
    the highest 0.05 % (arc cosines); of a sweep whose level changes, fewer."""
    size = np.abs(x)
    top = float(size.max())
    high = size[size > 0.98 * top]
    at_top = int(np.count_nonzero(high > 0.9995 * top))
    return at_top >= CEILING and at_top > 0.5 * len(high)


def _course(track: Track, recording: Recording, sweep: Sweep) -> list[Trouble]:
    if not math.isfinite(track.speed) or track.share < 0.5:
        return [
            Trouble(
                "no sweep",
                "The sweep cannot be found in the reference channel; is it channel 1, and was it this sweep?",
                True,
            )
        ]
    if abs(track.speed - 1.0) > SPEED_OFF:
        return [Trouble("wrong rate", _speed_words(track.speed), True)]
    found = []
    first = -0.05 if track.start < 0.0 else 0.0
    if first:
        found.append(
            Trouble("cut short", "The beginning of the sweep is missing; start recording before it plays.", True)
        )
    end = track.start + sweep.seconds
    if track.top < sweep.high * (2.0 ** (REACH - 1.0)) or end > recording.seconds + 0.05:
        found.append(
            Trouble(
                "cut short",
                f"The sweep ends at {track.top:,.0f} Hz, not at {sweep.high:,.0f} Hz; record until it is silent again.",
                True,
            )
        )
    return found


def _speed_words(speed: float) -> str:
    pairs = [(a, b) for a in RATES for b in RATES if a != b and abs(speed * b / a - 1.0) < 0.01]
    guess = f", as if {pairs[0][0]:,} samples a second were taken for {pairs[0][1]:,}" if pairs else ""
    return (
        f"The recording runs at {speed:.3f} of the sweep's speed{guess}; set output, input and file to the same rate."
    )


def _channels(recording: Recording, sweep: Sweep, track: Track, method: Method) -> list[Trouble]:
    """Swapped channels and hum: the response against the reference, low and high in the band."""
    rate = recording.rate

    def rms(channel: int, low: float, high: float) -> float:
        begin, end = (track.start + math.log(f / sweep.low) / sweep.slope for f in (low, high))
        piece = recording.samples[channel, max(0, round(begin * rate)) : round(end * rate)]
        return float(np.sqrt(np.mean(piece * piece))) if piece.size else 0.0

    found = []
    bottom = rms(1, 100.0, 200.0) / max(rms(0, 100.0, 200.0), 1e-12)
    top = rms(1, 800.0, 1600.0) / max(rms(0, 800.0, 1600.0), 1e-12)
    falls = top < 0.5 * bottom  # an induced voltage rises with frequency, eightfold here
    above = bottom > 1.05 or top > 1.05  # behind a resistor no coil shows more than there is at the output
    if (method == "drive coil" and falls) or (method == "impedance" and above):
        found.append(Trouble("swapped channels", "The channels are swapped; the reference belongs on channel 1.", True))
    quiet = recording.samples[1, : max(0, round((track.start - 0.05) * rate))]
    if quiet.size > 0.2 * rate:
        loud = rms(1, max(sweep.low, 100.0), 0.5 * sweep.high)
        still = float(np.sqrt(np.mean(quiet * quiet)))
        if still > HUM_SHARE * loud:
            found.append(_noise(quiet, rate, still / loud))
    return found


def _noise(quiet: Array, rate: int, share: float) -> Trouble:
    """Hum of the mains or noise of another kind, by where its power lies."""
    power = np.abs(np.fft.rfft(quiet * np.hanning(len(quiet)))) ** 2
    f = np.arange(len(power)) * rate / len(quiet)
    width = 2.0 * rate / len(quiet)
    for mains in (50.0, 60.0):
        lines = np.abs(f - mains * np.maximum(1.0, np.rint(f / mains))) <= width
        lines &= f < 12.5 * mains
        if float(power[lines].sum()) > 0.5 * float(power.sum()):
            words = f"Hum of {mains:.0f} Hz is {100 * share:.0f} % of the response; turn the coil, or go farther away."
            return Trouble("hum", words, False)
    return Trouble("noise", f"Noise is {100 * share:.0f} % of the response; drive louder, or record again.", False)
