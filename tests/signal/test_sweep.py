"""The exponential sweep: Farina's identity and where harmonics fall."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from lodestring.errors import DomainError
from lodestring.signal.sweep import Sweep, drive, frequency_at, harmonic_lead, inverse

SHORT = Sweep(low=40.0, high=16e3, seconds=4.0, rate=48000, level=1.0, lead=0.0, tail=0.0)


def test_a_sweep_and_its_inverse_make_a_pulse_that_holds_one_at_every_frequency_of_the_band() -> None:
    # Farina, AES 108th convention (2000). Ripple near the ends comes of the fades and of the Fresnel tails.
    pulse = signal.fftconvolve(drive(SHORT), inverse(SHORT))
    held = np.abs(np.fft.rfft(pulse))
    f = np.fft.rfftfreq(len(pulse), 1 / SHORT.rate)
    inside = (f > 80) & (f < 12e3)
    assert float(np.abs(held[inside] - 1.0).max()) < 0.03
    assert float(np.mean(held[inside])) == pytest.approx(1.0, abs=1e-3)
    at = int(np.argmax(np.abs(pulse)))
    assert at == len(drive(SHORT)) - 1, "the pulse stands where the last sample of the sweep meets its inverse"


@pytest.mark.parametrize("order", [2, 3])
def test_a_harmonic_stands_where_the_convention_paper_says(order: int) -> None:
    bent = drive(SHORT) ** order  # a square has harmonic 2 alone, a cube 1 and 3
    pulse = np.abs(signal.fftconvolve(bent, inverse(SHORT)))
    lead = round(harmonic_lead(SHORT, order) * SHORT.rate)
    assert harmonic_lead(SHORT, order) == pytest.approx(SHORT.seconds * math.log(order) / math.log(400.0))
    wanted = len(bent) - 1 - lead
    window = pulse[wanted - 2000 : wanted + 2000]
    assert abs(int(np.argmax(window)) - 2000) <= 1


def test_the_frequency_rises_from_low_to_high_and_is_what_a_hilbert_transform_reads() -> None:
    phase = np.unwrap(np.angle(signal.hilbert(drive(SHORT))))
    read = np.diff(phase) * SHORT.rate / (2 * np.pi)
    for share in (0.2, 0.5, 0.8):
        at = share * SHORT.seconds
        told = frequency_at(SHORT, at)
        assert float(read[round(at * SHORT.rate)]) == pytest.approx(told, rel=2e-3)
    assert frequency_at(SHORT, SHORT.seconds) == pytest.approx(SHORT.high)


def test_the_samples_stay_within_the_level_and_the_silences_are_silent() -> None:
    sweep = Sweep(seconds=2.0, level=0.3, lead=0.5, tail=0.25)
    made = drive(sweep)
    assert len(made) == sweep.samples == round(2.75 * sweep.rate)
    assert float(np.abs(made).max()) == pytest.approx(0.3, rel=1e-3)
    assert not made[: sweep.rate // 2].any()
    assert not made[-sweep.rate // 4 :].any()


WRONG = {
    "falling": {"low": 2e3, "high": 1e3},
    "past half the rate": {"high": 23e3, "rate": 44100},
    "nothing long": {"seconds": 0.1},
    "not a number": {"seconds": math.nan},
    "too loud": {"level": 1.5},
    "an odd rate": {"rate": 1},
    "a long silence": {"lead": 60.0},
}


@pytest.mark.parametrize("given", WRONG.values(), ids=WRONG)
def test_a_sweep_that_cannot_be_is_refused_with_a_sentence(given: dict[str, float]) -> None:
    with pytest.raises(DomainError, match="; came "):
        Sweep(**given)  # type: ignore[arg-type]
