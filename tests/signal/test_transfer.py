"""Ratio of two channels: against digital filters whose response another library knows exactly, and its noise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from lodestring.errors import DomainError
from lodestring.signal.sweep import Sweep, drive
from lodestring.signal.transfer import transfer

Array = NDArray[np.float64]
SWEEP = Sweep(seconds=5.0, rate=48000, level=0.5)

# id: (numerator, denominator) of a filter; its response by scipy.signal.freqz
FILTERS = {
    "a resonance of 4 kHz, Q 6": signal.iirpeak(4e3, 6.0, fs=48000),
    "a low pass of 3 kHz": signal.butter(2, 3e3, fs=48000),
    "a rise of 6 dB an octave": (np.array([1.0, -0.999]), np.array([1.0])),
    "a gain": (np.array([0.25]), np.array([1.0])),
}


def played(b: Array, a: Array, sweep: Sweep = SWEEP) -> tuple[Array, Array]:
    x = drive(sweep)
    return x, np.asarray(signal.lfilter(b, a, x))


@pytest.mark.parametrize("taps", FILTERS.values(), ids=FILTERS)
def test_the_ratio_is_the_response_of_a_known_filter(taps: tuple[Array, Array]) -> None:
    x, y = played(*taps)
    got = transfer(x, y, SWEEP.rate, 100.0, 15e3)
    _, exact = signal.freqz(*taps, worN=2 * np.pi * got.frequency / SWEEP.rate)
    # The window is 0.1 s either side in full, so it tells some 10 Hz apart: seen at the low end alone.
    assert float(np.max(np.abs(got.ratio - exact)) / np.max(np.abs(exact))) < 2e-4
    assert abs(got.delay) < 1e-9


def test_a_shared_slope_and_a_shared_delay_fall_out() -> None:
    taps = FILTERS["a resonance of 4 kHz, Q 6"]
    x, y = played(*taps)
    card = signal.butter(1, [20, 20e3], "bandpass", fs=48000)
    late = [np.concatenate([np.zeros(777), signal.lfilter(*card, z)])[: len(x)] for z in (x, y)]
    plain, through = (transfer(a, b, SWEEP.rate, 60.0, 15e3) for a, b in ((x, y), late))
    assert float(np.max(np.abs(plain.ratio - through.ratio))) < 2e-4


def test_a_delay_of_the_response_alone_is_told_and_kept_in_the_phase() -> None:
    x, y = played(*FILTERS["a gain"])
    late = np.concatenate([np.zeros(960), y])[: len(y)]
    got = transfer(x, late, SWEEP.rate, 100.0, 10e3)
    assert got.delay == pytest.approx(0.02)
    assert float(np.max(np.abs(got.ratio - 0.25 * np.exp(-2j * np.pi * got.frequency * 0.02)))) < 2e-4


def test_harmonics_of_the_coil_are_cut_away() -> None:
    x, y = played(*FILTERS["a low pass of 3 kHz"])
    bent = y + 0.2 * y**2 + 0.1 * y**4
    got, plain = (transfer(x, z, SWEEP.rate, 100.0, 10e3) for z in (bent, y))
    # y^2 and y^4 hold even harmonics and a steady part only, so nothing of the wanted response changes.
    assert float(np.max(np.abs(got.ratio - plain.ratio))) < 5e-4
    raw = np.fft.rfft(bent) / np.fft.rfft(x)
    band = slice(round(0.2e3 * len(x) / SWEEP.rate), round(4e3 * len(x) / SWEEP.rate))
    exact = np.fft.rfft(y) / np.fft.rfft(x)
    assert float(np.max(np.abs(raw[band] - exact[band]))) > 0.02, "without the window they would be seen"


def test_the_told_noise_is_the_scatter_of_repeated_recordings() -> None:
    x, y = played(*FILTERS["a low pass of 3 kHz"])
    rng = np.random.default_rng(20261125)
    runs = [transfer(x, y + 2e-3 * rng.standard_normal(len(y)), SWEEP.rate, 100.0, 10e3, 30) for _ in range(24)]
    scatter = np.std([r.ratio.real for r in runs], axis=0, ddof=1)
    told = np.sqrt(np.mean([r.sigma**2 for r in runs], axis=0))
    # 24 runs know a scatter to 15 %, its mean over 30 points to a few per cent.
    assert float(np.mean(scatter / told)) == pytest.approx(1.0, abs=0.12)


def test_the_told_noise_is_what_the_closed_form_says() -> None:
    # physics.md 5: relative error^2 = 4 f ln(f2/f1) sigma^2 t_w / (f_s A^2 T |H|^2), both parts of the ratio together.
    x, y = played(*FILTERS["a gain"])
    rng = np.random.default_rng(7)
    noise = 1e-3
    got = transfer(x, y + noise * rng.standard_normal(len(y)), SWEEP.rate, 200.0, 8e3, 40)
    half = np.arange(-round(0.15 * 48000), round(0.15 * 48000)) / 48000
    window = 0.5 * (1 + np.cos(np.pi * np.clip((np.abs(half) - 0.1) / 0.05, 0, 1)))
    length = float(np.mean(window**2)) * 0.3
    closed = 4 * got.frequency * math.log(1000.0) * noise**2 * length / (48000 * 0.5**2 * SWEEP.seconds * 0.25**2)
    told = 2 * got.sigma**2 / 0.25**2
    # Few windows of noise tell one point to some 40 %; the mean of 40 points is told to 10 %.
    assert float(np.mean(told / closed)) == pytest.approx(1.0, abs=0.25)


def test_hum_widens_the_points_where_it_is_and_no_others() -> None:
    x, y = played(*FILTERS["a gain"])
    t = np.arange(len(x)) / SWEEP.rate
    quiet = transfer(x, y, SWEEP.rate, 40.0, 10e3)
    hummed = transfer(x, y + 3e-3 * np.sin(2 * np.pi * 150.0 * t), SWEEP.rate, 40.0, 10e3)
    near = np.abs(hummed.frequency - 150.0) < 4.0
    far = hummed.frequency > 300.0
    assert float(hummed.sigma[near].max()) > 30 * float(hummed.sigma[far].max())
    assert float(np.max(np.abs(hummed.ratio[far] - quiet.ratio[far]))) < 1e-3


WRONG = {
    "other lengths": (np.ones(96000), np.ones(95999), 60.0, 15e3),
    "too short": (np.ones(4800), np.ones(4800), 60.0, 15e3),
    "a band that is none": (np.ones(480000), np.ones(480000), 15e3, 60.0),
    "a silent reference": (np.zeros(480000), np.ones(480000), 60.0, 15e3),
}


@pytest.mark.parametrize("given", WRONG.values(), ids=WRONG)
def test_recordings_that_tell_nothing_are_refused_with_a_sentence(given: tuple[Array, Array, float, float]) -> None:
    x, y, low, high = given
    with pytest.raises(DomainError, match="; came "):
        transfer(x, y, 48000.0, low, high)
