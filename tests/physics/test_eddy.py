"""Eddy currents in a rod. Witnesses: scipy's Bessel functions, printed values (check values R14-R16), FEM."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.linalg import solve_banded
from scipy.special import jve

from lodestring.errors import DomainError
from lodestring.physics.coil import CoilBox, air_inductance
from lodestring.physics.eddy import plate_permeability, rod_permeability
from lodestring.physics.inductance import answer, coil_touch, poles_inductance
from lodestring.physics.poles import MU0, PoleSystem, Rod

MM = 1e-3


def at_ka(size: float) -> complex:
    """The factor F at |ka|: mu 1, radius 1 m, conductivity chosen so."""
    return rod_permeability(1.0, size**2 / (2 * math.pi * MU0), 1.0, 1.0)


# R14: F = 2 J1(x) / (x J0(x)), x = |ka| exp(-j pi/4); eight digits (Landau & Lifshitz, ECM, section 59, problem)
R14 = {
    0.5: 0.99870033 - 0.03119416j,
    1: 0.97976720 - 0.12152309j,
    2: 0.77377697 - 0.34489551j,
    3: 0.49901030 - 0.35996284j,
    5: 0.28405561 - 0.24159802j,
    10: 0.14162547 - 0.13124808j,
}


@pytest.mark.parametrize("size", R14, ids=lambda size: f"|ka| {size}")
def test_the_factor_has_its_printed_values(size: float) -> None:
    assert at_ka(size) == pytest.approx(R14[size], abs=1e-8)


@pytest.mark.parametrize("size", [1e-3, 0.3, 1, 4, 12, 40, 150, 600], ids=lambda size: f"|ka| {size}")
def test_the_continued_fraction_is_the_quotient_of_bessel_functions(size: float) -> None:
    x = size * np.exp(-0.25j * np.pi)
    known = 2 * jve(1, x) / (x * jve(0, x))  # both scaled alike, so nothing overflows
    assert at_ka(size) == pytest.approx(complex(known), rel=1e-10)


# R15: alnico, mu 4, 47e-8 ohm m, radius 2.4 mm; R16: steel, mu 100, 15.9e-8
PRINTED = {
    "alnico 1 kHz": (4, 47e-8, 1e3, 3.987571 - 0.192701j),
    "alnico 5 kHz": (4, 47e-8, 5e3, 3.719099 - 0.874267j),
    "alnico 10 kHz": (4, 47e-8, 1e4, 3.135080 - 1.361361j),
    "steel 100 Hz": (100, 15.9e-8, 1e2, 86.281763 - 29.019391j),
    "steel 1 kHz": (100, 15.9e-8, 1e3, 26.559403 - 22.824702j),
    "steel 5 kHz": (100, 15.9e-8, 5e3, 11.837246 - 11.116167j),
    "steel 10 kHz": (100, 15.9e-8, 1e4, 8.365927 - 8.008706j),
}


@pytest.mark.parametrize(("mu", "resistivity", "frequency", "known"), PRINTED.values(), ids=PRINTED)
def test_a_rod_has_its_printed_permeability_at_a_frequency(
    mu: float, resistivity: float, frequency: float, known: complex
) -> None:
    assert rod_permeability(mu, 1 / resistivity, 2.4 * MM, frequency) == pytest.approx(known, abs=1e-6)


def test_without_frequency_or_conductivity_it_is_the_static_permeability() -> None:
    assert rod_permeability(4.0, 2e6, 2.5 * MM, 0.0) == 4.0
    assert rod_permeability(4.0, 0.0, 2.5 * MM, 1e4) == 4.0


def test_eddy_currents_only_lose() -> None:
    for mu in (4.0, 200.0):
        values = [rod_permeability(mu, 5e6, 2.5 * MM, f) for f in np.logspace(0, 6, 60)]
        assert all(v.imag < 0.0 < v.real for v in values)
        assert all(abs(b) < abs(a) for a, b in pairwise(values))


def test_at_high_frequency_only_a_skin_carries_flux() -> None:
    # F -> 2 delta (1 - j) / (2 a): mu_eff / mu = (1 - j) delta / a, the next term is of the order delta / a
    f, sigma, a = 1e6, 5e6, 2.5 * MM
    delta = 1 / math.sqrt(math.pi * f * MU0 * 200 * sigma)
    assert rod_permeability(200.0, sigma, a, f) == pytest.approx(200 * (1 - 1j) * delta / a, rel=2 * delta / a)


# Design page, A6: axisymmetric time-harmonic finite elements; L [H], R [ohm]. The page documents R 4-5 % high at low
# frequency and right at 20 kHz, L low by at most 0.7 %: mu_eff is that of a long rod in an axial field.
FEM = {
    "mu 4, 1 kHz": (4.0, 2e6, 1e3, 0.220816, 21.184),
    "mu 4, 5 kHz": (4.0, 2e6, 5e3, 0.217072, 499.00),
    "mu 4, 10 kHz": (4.0, 2e6, 1e4, 0.207853, 1695.7),
    "mu 4, 20 kHz": (4.0, 2e6, 2e4, 0.188823, 4340.1),
    "mu 200, 100 Hz": (200.0, 5e6, 1e2, 0.450460, 5.397),
    "mu 200, 1 kHz": (200.0, 5e6, 1e3, 0.424616, 200.40),
    "mu 200, 5 kHz": (200.0, 5e6, 5e3, 0.380977, 1715.0),
    "mu 200, 10 kHz": (200.0, 5e6, 1e4, 0.353329, 3993.7),
    "mu 200, 20 kHz": (200.0, 5e6, 2e4, 0.321102, 8747.6),
}
BOX = CoilBox(0.0, 3 * MM, 8 * MM, 8 * MM)


@pytest.mark.parametrize(("mu", "conductivity", "frequency", "l", "r"), FEM.values(), ids=FEM)
def test_the_coil_and_its_rod_at_a_frequency_are_those_of_finite_elements(
    mu: float, conductivity: float, frequency: float, l: float, r: float
) -> None:
    seen = rod_permeability(mu, conductivity, 2.5 * MM, frequency)
    system = PoleSystem([Rod(0, 0, 0, 14 * MM, 2.5 * MM, seen)])
    touch = coil_touch(system, BOX, order=6)
    found = answer(system, touch)
    rods = 5000**2 * poles_inductance(system, found, touch, found)
    assert 5000**2 * air_inductance(BOX) + rods.real == pytest.approx(l, rel=7e-3)
    loss = -2 * math.pi * frequency * rods.imag
    assert -0.005 * r < loss - r < 0.05 * r
    if frequency == 2e4:
        assert loss == pytest.approx(r, rel=5e-3)


BAD = {
    "permeability below 1": (0.5, 2e6, 2.5e-3, 1e3),
    "no radius": (4.0, 2e6, 0.0, 1e3),
    "negative conductivity": (4.0, -1.0, 2.5e-3, 1e3),
    "negative frequency": (4.0, 2e6, 2.5e-3, -1e3),
    "not a number": (4.0, 2e6, 2.5e-3, math.nan),
}


@pytest.mark.parametrize("values", BAD.values(), ids=BAD)
def test_a_rod_that_cannot_be_is_refused(values: tuple[float, float, float, float]) -> None:
    with pytest.raises(DomainError, match="permeability of 1 or more"):
        rod_permeability(*values)


# ---- plates ----


@pytest.mark.parametrize("x", [0.05, 0.6, 2.0, 6.0])
def test_a_plate_shows_what_finite_differences_of_the_field_across_it_show(x: float) -> None:
    # H'' = j w mu0 mu sigma H across the plate, H = 1 on both faces; the mean of H is the factor. Second order in the
    # step: 2000 steps leave 1e-5 at the thinnest skin here. x = half thickness over skin depth.
    steps = 2000
    h, square = 1.0 / steps, 2j * x * x  # half thickness 1: j w mu0 mu sigma = 2 j x^2
    main = np.full(steps, -2.0 / h**2 - square, complex)
    matrix = np.zeros((3, steps), complex)
    matrix[0, 1:], matrix[1], matrix[2, :-1] = 1.0 / h**2, main, 1.0 / h**2
    matrix[0, 1] = 2.0 / h**2  # symmetric about the middle
    right = np.zeros(steps, complex)
    right[-1] = -1.0 / h**2
    field = np.append(solve_banded((1, 1), matrix, right), 1.0)
    mean = h * (field.sum() - 0.5 * (field[0] + field[-1]))
    # skin depth d = 1 / sqrt(pi f mu0 mu sigma), x = t / (2 d)
    mu, sigma, t = 150.0, 5e6, 3e-3
    frequency = (2.0 * x / t) ** 2 / (math.pi * MU0 * mu * sigma)
    assert plate_permeability(mu, sigma, t, frequency) / mu == pytest.approx(mean, rel=2e-5)


def test_a_plate_at_low_and_at_high_frequency_goes_to_its_limits() -> None:
    mu, sigma, t = 150.0, 5e6, 3e-3
    assert plate_permeability(mu, sigma, t, 0.0) == mu
    low = plate_permeability(mu, sigma, t, 1e-3)
    assert low == pytest.approx(mu * (1 - 2j * math.pi * 1e-3 * MU0 * mu * sigma * t**2 / 12), rel=1e-6)
    high = 1e6
    depth = 1 / math.sqrt(math.pi * high * MU0 * mu * sigma)
    assert plate_permeability(mu, sigma, t, high) == pytest.approx(mu * 2 * depth / ((1 + 1j) * t), rel=1e-9)


def test_a_plate_as_thick_as_a_rod_lies_near_it() -> None:
    # the same skin, another section: a slab of half thickness a loses less than a rod of radius a, within a factor 2
    rod, plate = rod_permeability(150.0, 5e6, 2e-3, 1e3), plate_permeability(150.0, 5e6, 4e-3, 1e3)
    assert 1.0 < abs(rod) / abs(plate) < 2.1


@pytest.mark.parametrize("given", [(0.5, 1e6, 1e-3, 1e3), (2.0, 1e6, 0.0, 1e3), (2.0, -1.0, 1e-3, 1e3)], ids=str)
def test_a_plate_that_cannot_be_is_refused(given: tuple[float, float, float, float]) -> None:
    with pytest.raises(DomainError, match="a plate has"):
        plate_permeability(*given)
