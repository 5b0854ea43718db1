"""L, C and losses out of sweeps: coils whose pole pieces follow Bessel's law, which the fit does not know."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import jv

from lodestring.errors import DomainError
from lodestring.proving.sweep_fit import SweepFit, coil_curve, fit_impedance, fit_induced
from lodestring.signal.methods import coil_impedance, impedance_sigma, induced, input_admittance
from lodestring.signal.sweep import Sweep, drive
from lodestring.signal.transfer import transfer

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]
F = np.geomspace(80.0, 15e3, 110)
MU0 = 4e-7 * np.pi
# id: (relative permeability, conductivity [S/m]) of rods 4.8 mm thick; demagnetisation 0.0913 as in A6b
RODS = {"alnico": (4.0, 2.0e6), "steel": (200.0, 5.0e6), "ferrite": (1.05, 1e-3)}


def pull(f: Array, mu: float, conductivity: float) -> Complex:
    """chi / (1 + N chi) of a long rod over its value at rest: the exact factor 2 J1(ka) / (ka J0(ka))."""
    ka = np.sqrt(-2j * np.pi * f * MU0 * mu * conductivity) * 2.4e-3
    chi = mu * 2 * jv(1, ka) / (ka * jv(0, ka)) - 1
    return np.asarray((chi / (1 + 0.0913 * chi)) / ((mu - 1) / (1 + 0.0913 * (mu - 1))))


def coil(
    f: Array, rod: tuple[float, float], r: float = 6200.0, c: float = 110e-12, air: float = 1.6
) -> tuple[Complex, Complex]:
    """Impedance and L(f) of 6.2 kohm, 1.6 H in air and a quarter more by its rods, and C."""
    l = air * (1.0 + 0.25 * pull(f, *rod))
    s = 2j * np.pi * f
    return 1 / (1 / (r + s * l) + s * c), l


@pytest.mark.parametrize("rod", RODS.values(), ids=RODS)
def test_inductance_and_capacitance_come_out_of_a_coil_whose_rods_follow_bessels_law(rod: tuple[float, float]) -> None:
    z, _ = coil(F, rod)
    fit = fit_impedance(F, z, 1e-3 * np.abs(z), (6200.0, 20.0))
    _, l = coil(np.array([1000.0]), rod)
    assert fit.inductance.value == pytest.approx(float(l[0].real), rel=1e-3)
    assert fit.capacitance.value == pytest.approx(110e-12, rel=4e-3)
    assert fit.capacitance.low < 110e-12 < fit.capacitance.high
    assert not fit.strangers


def test_the_resonance_is_where_the_impedance_is_highest() -> None:
    z, _ = coil(F, RODS["alnico"])
    fit = fit_impedance(F, z, 1e-3 * np.abs(z), (6200.0, 20.0))
    fine = np.linspace(5e3, 15e3, 200001)
    exact, _ = coil(fine, RODS["alnico"])
    assert fit.resonance.value == pytest.approx(float(fine[np.argmax(np.abs(exact))]), rel=3e-4)


def test_one_fixed_inductance_is_a_trap_and_the_fit_does_not_fall_into_it() -> None:
    # physics.md 5: with L fixed, two resonances tell 86.8 pF for 90; here by the same recipe on rods of steel.
    fine = np.linspace(2e3, 16e3, 400001)

    def peak(extra: float) -> float:
        z, _ = coil(fine, RODS["steel"], c=90e-12 + extra)
        return float(fine[np.argmax(np.abs(z))])

    f1, f2 = peak(0.0), peak(220e-12)
    trapped = 220e-12 / ((f1 / f2) ** 2 - 1.0)
    z, _ = coil(F, RODS["steel"], c=90e-12)
    fit = fit_impedance(F, z, 1e-3 * np.abs(z), (6200.0, 20.0))
    assert abs(trapped / 90e-12 - 1.0) > 0.02
    assert abs(fit.capacitance.value / 90e-12 - 1.0) < 0.005


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    rng = np.random.default_rng(20261125)
    z, _ = coil(F, RODS["alnico"])
    _, l = coil(np.array([1000.0]), RODS["alnico"])
    inside = 0
    for _ in range(40):
        sigma = 0.02 * np.abs(z)
        noisy = z + sigma * (rng.standard_normal(len(F)) + 1j * rng.standard_normal(len(F)))
        fit = fit_impedance(F, noisy, sigma, (6200.0 + 20.0 * rng.standard_normal(), 20.0))
        inside += fit.inductance.low < float(l[0].real) < fit.inductance.high
    # Of 40 draws of a 90 % interval, 31 to 40 lie inside in 99 of 100 sets.
    assert 31 <= inside <= 40


def test_a_hum_line_pulls_nothing_and_is_told_as_a_stranger() -> None:
    z, _ = coil(F, RODS["alnico"])
    spoilt = z.copy()
    at = int(np.argmin(np.abs(F - 150.0)))
    spoilt[at] *= 1.4
    fit, clean = (fit_impedance(F, x, 2e-3 * np.abs(z), (6200.0, 20.0)) for x in (spoilt, z))
    assert fit.inductance.value == pytest.approx(clean.inductance.value, rel=2e-3)
    assert fit.strangers == pytest.approx((float(F[at]),))


def test_a_whole_recording_by_the_impedance_method_gives_the_coil_back() -> None:
    for fit in _recorded(RODS["alnico"]):
        _, l = coil(np.array([1000.0]), RODS["alnico"])
        assert fit.inductance.value == pytest.approx(float(l[0].real), rel=5e-3)
        assert fit.capacitance.value == pytest.approx(110e-12, rel=0.02)


def _recorded(rod: tuple[float, float]) -> Iterator[SweepFit]:
    """The sweep played through 100 kohm into the coil, the input loading it, 16 bits; for two cards."""
    sweep = Sweep(rate=48000, seconds=5.0, level=0.5)
    x = drive(sweep)
    f = np.fft.rfftfreq(len(x), 1 / sweep.rate)
    f[0] = 1e-3
    for r_in, c_in in ((20e3, 100e-12), (1e6, 30e-12)):
        z, _ = coil(f, rod)
        load = 1 / (1 / z + 1 / r_in + 2j * np.pi * f * c_in)
        y = np.fft.irfft(np.fft.rfft(x) * load / (100e3 + load), len(x))
        steps = 2.0**15
        seen = transfer(np.round(x * steps) / steps, np.round(y * steps) / steps, sweep.rate, 80.0, 15e3)
        got = coil_impedance(seen.frequency, seen.ratio, 100e3, r_in, c_in)
        yield fit_impedance(seen.frequency, got, impedance_sigma(got, seen.ratio, seen.sigma, 100e3), (6200.0, 20.0))


def test_a_drive_coil_tells_resonance_and_inductance_through_a_known_input() -> None:
    f = np.geomspace(80.0, 18e3, 120)
    _, l = coil(f, RODS["alnico"])
    load = input_admittance(f, 1e6, 330e-12)
    series = 6200.0 + 2j * np.pi * f * l
    mutual = 2e-3 * (1.0 + 0.3 * pull(f, *RODS["alnico"])) / 1.3  # its rods carry a larger share than of L
    ratio = 2j * np.pi * f * mutual / (1 + series * (2j * np.pi * f * 110e-12 + load)) / 10.0
    got = induced(f, ratio, 10.0, 1e6)
    fit = fit_induced(f, got, 1e-3 * np.abs(got), load, (6200.0, 20.0))
    both = 1 / (fit.inductance.value * (fit.capacitance.value + 330e-12))
    _, at = coil(np.array([1000.0]), RODS["alnico"])
    assert both == pytest.approx(1 / (float(at[0].real) * 440e-12), rel=0.03)
    assert fit.inductance.low < float(at[0].real) < fit.inductance.high


def test_the_curve_at_its_limits_is_a_resistance_and_a_capacitance() -> None:
    p = np.array([6e3, 2.5, 4e-5, 0.05, 0.1, 0.02, 1e-10, 0.0])
    low, high = coil_curve(np.array([1e-3, 1e7]), p)
    assert low == pytest.approx(6e3, rel=1e-4)
    assert abs(high) == pytest.approx(1 / (2 * np.pi * 1e7 * 1e-10), rel=1e-2)


REFUSED = {
    "few points": lambda: fit_impedance(F[:10], np.ones(10, complex), np.ones(10)),
    "no resonance in the band": lambda: fit_impedance(F[:60], coil(F[:60], RODS["alnico"])[0], np.ones(60)),
    "not a number": lambda: fit_impedance(F, np.full(110, np.nan, complex), np.ones(110)),
    "a capacitor": lambda: fit_impedance(F, 1 / (2j * np.pi * F * 1e-9) + 0 * F, np.ones(110)),
}


@pytest.mark.parametrize("call", REFUSED.values(), ids=REFUSED)
def test_what_is_no_coils_curve_is_refused_with_a_sentence(call: object) -> None:
    with pytest.raises(DomainError, match="; came "):
        call()  # type: ignore[operator]
