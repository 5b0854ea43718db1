"""Spoilt recordings are recognised, each by its name; good ones raise nothing."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from lodestring.signal.recording import Recording
from lodestring.signal.sweep import Sweep, drive
from lodestring.signal.trouble import Method, follow, troubles

Array = NDArray[np.float64]
RATE = 48000
SWEEP = Sweep(seconds=4.0, rate=RATE)
RNG = np.random.default_rng(11)


def good(method: Method) -> Array:
    """Reference and coil, with the noise of an ordinary input."""
    x = drive(SWEEP)
    if method == "impedance":
        b, a = signal.butter(1, 400.0, "highpass", fs=RATE)  # a coil behind a resistor: more the higher
        y = 0.8 * signal.lfilter(b, a, x)
    else:
        y = 0.1 * signal.lfilter([1.0, -1.0], [1.0], x)
    both = np.stack([x, y])
    return np.asarray(both + 2e-5 * RNG.standard_normal(both.shape))


def hum(x: Array, mains: float, amount: float) -> Array:
    t = np.arange(x.shape[1]) / RATE
    y = x.copy()
    y[1] += amount * (np.sin(2 * np.pi * mains * t) + 0.4 * np.sin(2 * np.pi * 3 * mains * t))
    return y


def resampled(x: Array, played: int, taken: int) -> Array:
    return np.asarray(signal.resample_poly(x, played // 300, taken // 300, axis=1))


# id: (what is done to a good recording, method, code that must come first, fatal)
SPOILT: dict[str, tuple[Callable[[Array], Array], Method, str, bool]] = {
    "reference clipped": (lambda x: np.clip(x * [[3.0], [1.0]], -1, 1), "impedance", "clipping", True),
    "coil clipped early": (lambda x: np.clip(x * [[1.0], [20.0]], -0.93, 0.93), "drive coil", "clipping", True),
    "44,100 taken for 48,000": (lambda x: resampled(x, 48000, 44100), "impedance", "wrong rate", True),
    "48,000 taken for 44,100": (lambda x: resampled(x, 44100, 48000), "impedance", "wrong rate", True),
    "channels swapped, impedance": (lambda x: x[::-1], "impedance", "swapped channels", True),
    "channels swapped, drive coil": (lambda x: x[::-1], "drive coil", "swapped channels", True),
    "hum of 50 Hz": (lambda x: hum(x, 50.0, 0.05), "impedance", "hum", False),
    "hum of 60 Hz": (lambda x: hum(x, 60.0, 0.05), "impedance", "hum", False),
    "hiss": (lambda x: x + 0.02 * RNG.standard_normal(x.shape), "impedance", "noise", False),
    "the coil silent": (lambda x: x * [[1.0], [0.0]], "impedance", "silence", True),
    "the reference silent": (lambda x: x * [[0.0], [1.0]], "impedance", "silence", True),
    "cut short at the end": (lambda x: x[:, : round(4.2 * RATE)], "impedance", "cut short", True),
    "begun too late": (lambda x: x[:, round(1.8 * RATE) :], "impedance", "cut short", True),
    "something else": (lambda x: 0.1 * RNG.standard_normal(x.shape), "impedance", "no sweep", True),
    "one channel": (lambda x: x[:1], "impedance", "one channel", True),
}  # fmt: skip


@pytest.mark.parametrize("method", ["impedance", "drive coil"])
def test_a_good_recording_raises_nothing(method: Method) -> None:
    assert troubles(Recording(good(method), RATE), SWEEP, method) == ()


@pytest.mark.parametrize("spoilt", SPOILT.values(), ids=SPOILT)
def test_a_spoilt_recording_is_recognised(spoilt: tuple[Callable[[Array], Array], Method, str, bool]) -> None:
    do, method, code, fatal = spoilt
    found = troubles(Recording(np.ascontiguousarray(do(good(method))), RATE), SWEEP, method)
    assert found, "nothing was noticed"
    assert found[0].code == code, [t.sentence for t in found]
    assert found[0].fatal is fatal


def test_a_wrong_rate_is_named_by_both_rates() -> None:
    found = troubles(Recording(resampled(good("impedance"), 48000, 44100), RATE), SWEEP, "impedance")
    assert "48,000" in found[0].sentence
    assert "44,100" in found[0].sentence


def test_a_recording_at_another_rate_than_the_sweep_is_as_good() -> None:
    x = resampled(good("impedance"), 96000, 48000)
    assert troubles(Recording(x, 96000), SWEEP, "impedance") == ()


def test_the_sweep_is_followed_to_its_beginning_and_its_end() -> None:
    track = follow(Recording(good("impedance"), RATE), SWEEP)
    assert track.start == pytest.approx(SWEEP.lead, abs=0.02)
    assert track.speed == pytest.approx(1.0, abs=1e-3)
    assert track.top > 0.9 * SWEEP.high
    assert track.share > 0.9
