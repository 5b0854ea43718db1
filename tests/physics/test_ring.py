"""Field of a charged ring. Witnesses: a sum of point charges, scipy's elliptic integrals, axis, far field, Gauss."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ellipe, ellipkm1

from lodestring.physics.ring import elliptic, ring_field

# rho, zeta over a ring of radius 1: well away, inside, level with it, close to it, below it
PLACES = {
    "above": (0.3, 0.8),
    "outside": (2.5, 0.4),
    "inside its plane": (0.5, 0.0),
    "outside its plane": (1.7, 0.0),
    "close over it": (1.0, 0.05),
    "close inside it": (0.95, -0.02),
    "far": (12.0, -30.0),
}


def by_point_charges(rho: float, zeta: float, b: float, count: int = 4000) -> tuple[float, float]:
    """Coulomb's law over equal parts of the ring: converges faster than any power of their number."""
    phi = 2.0 * np.pi * (np.arange(count) + 0.5) / count
    dx, dy = rho - b * np.cos(phi), -b * np.sin(phi)
    r3 = (dx**2 + dy**2 + zeta**2) ** 1.5
    return float(np.mean(dx / r3)) / (4 * math.pi), float(np.mean(zeta / r3)) / (4 * math.pi)


def test_the_elliptic_integrals_are_scipys() -> None:
    m1 = np.logspace(-12, 0, 200)
    k, e = elliptic(m1)
    # a dozen roundings; ellipe takes m = 1 - m1, whose own rounding it magnifies less than this
    np.testing.assert_allclose(k, ellipkm1(m1), rtol=1e-14)
    np.testing.assert_allclose(e, ellipe(1.0 - m1), rtol=1e-14)


@pytest.mark.parametrize(("rho", "zeta"), PLACES.values(), ids=PLACES)
def test_a_ring_is_a_row_of_point_charges(rho: float, zeta: float) -> None:
    found = ring_field(np.array(rho), np.array(zeta), np.array(1.0))
    # H_rho is a difference of two terms (K and E) that nearly cancel far away: 1e-10 of the field is left
    size = math.hypot(*map(float, found))
    assert tuple(map(float, found)) == pytest.approx(by_point_charges(rho, zeta, 1.0), abs=1e-10 * size)


@pytest.mark.parametrize("zeta", [-2.0, 0.0, 0.3, 5.0])
def test_on_the_axis_the_field_is_that_of_the_textbook(zeta: float) -> None:
    h_rho, h_z = ring_field(np.array(0.0), np.array(zeta), np.array(1.5))
    assert float(h_rho) == 0.0
    assert float(h_z) == pytest.approx(zeta / (4 * math.pi * (1.5**2 + zeta**2) ** 1.5), rel=1e-13, abs=1e-18)


def test_close_to_the_ring_it_is_a_line_of_charge() -> None:
    # 1 / (2 pi d) per charge per length; the bend adds d / (2 b) ln(8 b / d) relative, 1.6e-5 / 2 here
    d = 1e-6
    _, h_z = ring_field(np.array(1.0), np.array(d), np.array(1.0))
    assert float(h_z) == pytest.approx(1.0 / (2 * math.pi * d) / (2 * math.pi), rel=2e-5)


def test_the_flux_through_a_closed_surface_is_the_charge() -> None:
    # a can of radius 2, height 2 round the ring; Gauss-Legendre, smooth integrands
    nodes, weights = np.polynomial.legendre.leggauss(40)
    h_rho, _ = ring_field(np.full(40, 2.0), nodes, np.array(1.0))
    side = 2 * math.pi * 2.0 * float(weights @ h_rho)
    rho = 1.0 + nodes
    _, up = ring_field(rho, np.full(40, 1.0), np.array(1.0))
    _, down = ring_field(rho, np.full(40, -1.0), np.array(1.0))
    assert side + 2 * math.pi * float((weights * rho) @ (up - down)) == pytest.approx(1.0, abs=1e-12)


def test_twice_the_size_is_a_quarter_of_the_field_and_the_mirror_image_turns_its_sign() -> None:
    rho, zeta, b = np.array([0.2, 1.1]), np.array([0.4, -0.1]), np.array([1.0, 0.9])
    one, two, mirror = ring_field(rho, zeta, b), ring_field(2 * rho, 2 * zeta, 2 * b), ring_field(rho, -zeta, b)
    np.testing.assert_allclose(two, np.array(one) / 4.0, rtol=1e-13)
    np.testing.assert_allclose(mirror, [one[0], -one[1]], rtol=1e-13)
