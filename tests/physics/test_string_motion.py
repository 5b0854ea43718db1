"""Strings in motion. Sources: check values P09, P02, S12; the design's physics page, section 4. Witness: time."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lodestring.physics.string_motion import band_level, partial_velocities, pitch_shift

LENGTH, F1 = 0.686, 61.7354
AT = {45: 0.045, 150: 0.150}


def velocities(x: float, count: int, pluck: float = 0.120, height: float = 1e-3) -> np.ndarray:
    return partial_velocities(height, pluck, LENGTH, F1, np.array([x]), count)[:, 0]


def test_partials_near_the_bridge_follow_the_comb_of_the_place() -> None:
    # P09: length 647.7, place 155 mm: |sin(n pi x / L)| for n = 1, 2, 3, 6; elementary
    length, x, pluck = 0.6477, 0.155, 0.1
    v = partial_velocities(1e-3, pluck, length, 100.0, np.array([x]), 6)[:, 0]
    n = np.arange(1, 7)
    comb = np.abs(v * n / np.sin(n * math.pi * pluck / length))
    comb = comb / comb[0] * 0.682961
    assert comb[[0, 1, 2, 5]] == pytest.approx([0.682961, 0.997744, 0.774652, 0.979761], abs=2e-6)


def test_a_partial_with_a_node_at_the_pickup_is_not_heard() -> None:
    assert velocities(LENGTH / 4, 8)[3] == pytest.approx(0.0, abs=1e-15)
    assert velocities(0.05, 8, pluck=LENGTH / 5)[4] == pytest.approx(0.0, abs=1e-15)


def test_the_partials_add_up_to_the_pulses_of_an_ideal_pluck() -> None:
    # physics page: velocity +-A f1 L^2 / [x_p (L - x_p)] = 0.42774 m/s in pulses; built here from 2000 partials in time
    n = np.arange(1, 2001)
    t = (np.arange(2000) + 0.5) / 2000 / F1
    v = np.sin(2 * math.pi * F1 * np.outer(t, n)) @ velocities(0.150, 2000)
    flat = np.abs(np.abs(v) - 0.42774) < 0.01 * 0.42774  # all but the ringing at the edges of pulses and the rests
    still = np.abs(v) < 0.01 * 0.42774
    assert np.mean(flat) == pytest.approx(2 * 0.120 / LENGTH, abs=0.03)  # a pulse lasts min(x, x_p) of the way, twice
    assert np.mean(flat | still) > 0.95


@pytest.mark.parametrize(("x", "rms"), [(0.045, 0.15493), (0.150, 0.25300)], ids=["45 mm", "150 mm"])
def test_all_partials_together_have_the_rms_of_the_pulses(x: float, rms: float) -> None:
    # physics page; the partials left out fall off as 1 / n^2: 1e-4 with 10,000
    v = velocities(x, 10_000)
    assert math.sqrt(float(np.sum(v**2)) / 2) == pytest.approx(rms, rel=2e-4)


def level(x: float, band: tuple[float, float]) -> float:
    return band_level(np.array([1.0]), np.array([1.0]), np.array([x]), (1e-3, 0.120), LENGTH, F1, band)


def test_two_places_differ_by_what_the_physics_page_says() -> None:
    # section 4, ratio 150 to 45 mm: fundamental 9.8 dB, broadband 4.26 dB
    fundamental = velocities(0.150, 1)[0] / velocities(0.045, 1)[0]
    assert 20 * math.log10(fundamental) == pytest.approx(9.8, abs=0.05)
    broad = level(0.150, (0.0, 4e5)) / level(0.045, (0.0, 4e5))
    assert 20 * math.log10(broad) == pytest.approx(4.26, abs=0.005)
    # the page: partials to 1 kHz 4.6-5.8 dB, by the pluck (two digits)
    assert 4.54 < 20 * math.log10(level(0.150, (0.0, 1e3)) / level(0.045, (0.0, 1e3))) < 5.8


def test_volts_grow_with_the_pluck_and_the_pitch() -> None:
    once = level(0.1, (0.0, 5e3))
    again = band_level(np.array([1.0]), np.array([1.0]), np.array([0.1]), (2e-3, 0.120), LENGTH, F1, (0.0, 5e3))
    assert again == pytest.approx(2 * once, rel=1e-12)
    fast = band_level(np.array([1.0]), np.array([1.0]), np.array([0.1]), (1e-3, 0.120), LENGTH, 2 * F1, (0.0, 1e4))
    assert fast == pytest.approx(2 * once, rel=1e-12)  # P02: a velocity sensor


def test_a_length_heard_is_deaf_to_waves_as_short_as_itself() -> None:
    # P10's even aperture: sinc, null where the wavelength is the width; by 2001 places
    width = 0.02
    s = np.linspace(-width / 2, width / 2, 2001)
    weights = np.full(2001, width / 2000)
    weights[[0, -1]] /= 2

    def one(n: int) -> float:
        band = ((n - 0.5) * F1, (n + 0.5) * F1)
        return band_level(np.full(2001, 1 / width), weights, 0.1 + s, (1e-3, 0.0123), LENGTH, F1, band)

    for n in (5, 20, 50):
        point = abs(velocities(0.1, n, pluck=0.0123)[-1]) / math.sqrt(2)
        assert one(n) == pytest.approx(point * np.sinc(width * n / (2 * LENGTH)), rel=1e-5)


def test_a_band_leaves_out_what_lies_outside_it() -> None:
    whole, low, high = level(0.1, (0.0, 5e3)), level(0.1, (0.0, 999.0)), level(0.1, (999.0, 5e3))
    assert math.hypot(low, high) == pytest.approx(whole, rel=1e-12)


# --- pitch ---


def test_a_pull_lowers_a_string_by_the_printed_amount() -> None:
    # S12: k -1 N/m, mass 3.977654e-4 kg/m, length 647.7, 329.6276 Hz, place 155 mm: -0.73086 cent
    assert pitch_shift(-1.0, 0.155, 0.6477, 3.977654e-4, 329.6276) == pytest.approx(-0.73086, rel=1e-5)


def test_the_two_directions_beat_as_the_physics_page_says() -> None:
    # section 4: d 0.43 at 196 Hz, stiffness -17.61 up and down, +5.05 sideways: -10.37 and +2.96 cents, 13.3 apart,
    # 1.51 Hz
    up, side = (pitch_shift(k, 0.150, LENGTH, 1.13998e-3, 196.0) for k in (-17.61, 5.05))
    assert (up, side) == pytest.approx((-10.37, 2.96), abs=0.04)  # first order against the page's, 0.3 % of either
    assert 196.0 * (2 ** (side / 1200) - 2 ** (up / 1200)) == pytest.approx(1.51, abs=0.01)


def test_a_spring_shifts_the_root_of_the_exact_equation() -> None:
    # physics page: T kappa sin(kappa L) + k sin(kappa x) sin(kappa (L - x)) = 0, by bisection; first order in k
    mass, f1, x = 1.13998e-3, 196.0, 0.150
    tension = 4 * LENGTH**2 * f1**2 * mass

    def exact(k: float) -> float:
        lo, hi = 0.9 * math.pi / LENGTH, 1.1 * math.pi / LENGTH
        for _ in range(80):
            q = 0.5 * (lo + hi)
            value = tension * q * math.sin(q * LENGTH) + k * math.sin(q * x) * math.sin(q * (LENGTH - x))
            lo, hi = (q, hi) if value > 0 else (lo, q)
        return 1200 * math.log2(lo * LENGTH / math.pi)

    for k in (-2.0, -0.2, 1.0):
        assert pitch_shift(k, x, LENGTH, mass, f1) == pytest.approx(exact(k), rel=0.01 * abs(k) + 1e-4)


def test_a_spring_at_a_node_or_no_spring_does_nothing() -> None:
    assert pitch_shift(-5.0, 0.0, LENGTH, 1e-3, 196.0) == 0.0
    assert pitch_shift(0.0, 0.1, LENGTH, 1e-3, 196.0) == 0.0
