"""Working point of alnico rods. Witnesses: exact demagnetising factors (check value R01), a Bessel integral by scipy,
the straight curve whose answer is known, the law of the curve solved again, face readings of the bench (common
practice, no source), fields of the slices summed here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import j1

from lodestring.errors import DomainError
from lodestring.physics.inductance import remanence_charge
from lodestring.physics.magnet_state import (
    MagnetCurve,
    MagnetRod,
    RodState,
    _disc_potential,
    _own,
    effective_remanence,
    rod_states,
)
from lodestring.physics.pole_field import field_operator
from lodestring.physics.poles import MU0, PoleSystem, Rod

MM = 1e-3
# M01, M02, M04, M11: MMPA typical figures, from memory (hi; recoil mid)
ALNICO = {
    "alnico 5": MagnetCurve(1.28, 51e3, 43.8e3, 4.3),
    "alnico 2": MagnetCurve(0.75, 45e3, 13.5e3, 6.4),
    "alnico 3": MagnetCurve(0.70, 38e3, 10.7e3, 6.5),
}
FIVE = ALNICO["alnico 5"]


def straight(mu: float, br: float = 1.0) -> MagnetCurve:
    """A curve that is its own recoil line."""
    coercivity = br / (mu * MU0)
    return MagnetCurve(br, coercivity, br * coercivity / 4, mu)


def row(curve: MagnetCurve, count: int = 6, ups: tuple[int, ...] = (1,) * 6, pitch: float = 10.4) -> list[MagnetRod]:
    return [MagnetRod((i - (count - 1) / 2) * pitch * MM, 0, 0, 16 * MM, 2.4 * MM, curve, ups[i]) for i in range(count)]


def remanences(rods: list[MagnetRod]) -> list[float]:
    return [effective_remanence(s, r) for s, r in zip(rod_states(rods), rods, strict=True)]


# --- the curve ---


@pytest.mark.parametrize("curve", ALNICO.values(), ids=ALNICO)
def test_the_curve_passes_through_remanence_coercivity_and_greatest_energy(curve: MagnetCurve) -> None:
    h = np.linspace(-curve.coercivity, 0.0, 20_001)
    b = MU0 * (curve.magnetisation(h)[0] + h)
    assert b[-1] == pytest.approx(curve.remanence, rel=1e-12)
    assert b[0] == pytest.approx(0.0, abs=1e-12)
    assert np.max(-b * h) == pytest.approx(curve.energy_product, rel=1e-7)  # a parabola on 20,001 points


@pytest.mark.parametrize("curve", ALNICO.values(), ids=ALNICO)
def test_the_slope_of_the_curve_is_that_of_its_differences(curve: MagnetCurve) -> None:
    h = np.linspace(-1.2, 0.2, 57) * curve.coercivity + 0.1
    m, slope = curve.magnetisation(h)
    ahead, behind = curve.magnetisation(h + 1.0)[0], curve.magnetisation(h - 1.0)[0]
    smooth = (np.abs(h) > 2.0) & (np.abs(h + curve.coercivity) > 2.0)  # the curve has a bend at both ends
    assert slope[smooth] == pytest.approx((ahead - behind)[smooth] / 2.0, rel=1e-6)
    # alnico 5: the hyperbola leaves the axis with a permeability of 0.97, so M falls by 1e-4 up to H = 0
    assert np.all(np.diff(m) > -1e-4 * m.max())


# --- the field of slices ---


@pytest.mark.parametrize("q", [1e-3, 0.05, 0.7, 3.0, 20.0])
def test_the_field_between_two_discs_is_its_bessel_integral(q: float) -> None:
    # G(q) = int_0^q g, g = int J1^2 exp(-q u) / u du; scipy's adaptive rule up to u = 4000 and the tail 1 / (2 pi u^2)
    total = 0.0
    for a, b in zip((0, 1, 10, 100, 1000), (1, 10, 100, 1000, 4000), strict=True):
        total += quad(lambda u: j1(u) ** 2 / u**2 * -math.expm1(-q * u) if u else 0.0, a, b, limit=4000)[0]
    tail = 1 / (2 * math.pi * 4000**2)
    assert float(_disc_potential(np.array([q]))[0]) == pytest.approx(total + tail, abs=3e-9)


# R01: magnetometric factor of a cylinder magnetised evenly, exact
R01 = {0.5: 0.47448998, 1: 0.31157739, 2: 0.18186425, 3.4: 0.11412814, 10: 0.04119288, 20: 0.02090826}


@pytest.mark.parametrize("slender", R01, ids=lambda v: f"L/D {v}")
def test_slices_of_one_magnetisation_have_the_rods_demagnetising_factor(slender: float) -> None:
    cuts = -0.5 * np.cos(np.pi * np.arange(25) / 24)
    mean = np.diff(cuts) @ _own(2.0 * slender).sum(axis=1)
    assert -mean == pytest.approx(R01[slender], abs=1e-8)  # the digits of the table


# --- states ---


@pytest.mark.parametrize("mu", [1.05, 2.0, 4.0])
def test_a_magnet_without_a_knee_keeps_its_remanence(mu: float) -> None:
    assert remanences(row(straight(mu))) == pytest.approx([1.0] * 6, rel=1e-9)


def test_the_middle_of_a_rod_stands_on_the_curve_at_the_field_that_its_slices_make() -> None:
    # The field on the axis is summed here from charged discs. It is not the mean over the section, hence 15 %: but a
    # wrong sign or a missing end would be a factor.
    (state,) = rod_states(row(FIVE, 1))
    charge = -np.diff(np.concatenate([[0.0], state.m, [0.0]]))
    z = 0.5 * (state.cuts[1:] + state.cuts[:-1])
    d = z[:, None] - state.cuts
    h = np.sum(charge * 0.5 * (np.sign(d) - d / np.hypot(d, 2.4 * MM)), axis=1)
    on_curve = np.linspace(-1.5, 0.0, 3001) * FIVE.coercivity
    known = np.interp(state.m, FIVE.magnetisation(on_curve)[0], on_curve)
    assert h[10:14] == pytest.approx(known[10:14], rel=0.15)


@pytest.mark.parametrize("curve", ALNICO.values(), ids=ALNICO)
def test_the_ends_are_past_the_knee_and_the_middle_is_strongest(curve: MagnetCurve) -> None:
    state = rod_states(row(curve))[2]
    assert state.left[0] < state.left[6] < state.left[12]
    assert state.left[12] <= curve.remanence / MU0
    assert state.left[0] < 0.8 * state.left[12]
    assert state.left == pytest.approx(state.left[::-1], rel=1e-9)  # top and bottom alike


def test_magnets_weaken_like_neighbours_and_hold_unlike_ones() -> None:
    alone = remanences(row(FIVE, 1))[0]
    like, mixed = remanences(row(FIVE)), remanences(row(FIVE, 6, (1, -1, 1, -1, 1, -1)))
    assert max(like) < alone < min(map(abs, mixed))
    assert like == pytest.approx(like[::-1], rel=1e-9)
    assert like[0] > like[2]  # the end of the row has one neighbour less
    wide = remanences(row(FIVE, 6, pitch=80.0))
    assert wide == pytest.approx([alone] * 6, rel=2e-3)  # 80 mm apart: 0.1 mT


def test_a_row_turned_upside_down_has_every_sign_turned() -> None:
    up, down = remanences(row(FIVE)), remanences(row(FIVE, 6, (-1,) * 6))
    assert down == pytest.approx([-v for v in up], rel=1e-9)


def test_twice_the_size_is_in_the_same_state() -> None:
    double = [replace(r, x=2 * r.x, length=2 * r.length, radius=2 * r.radius) for r in row(FIVE)]
    small, big = rod_states(row(FIVE))[1], rod_states(double)[1]
    assert big.m == pytest.approx(small.m, rel=1e-9)


def test_a_longer_rod_keeps_more() -> None:
    values = [remanences([replace(row(FIVE, 1)[0], length=l * MM)])[0] for l in (10, 14, 18, 24, 60)]
    assert all(a < b for a, b in pairwise(values))
    assert values[-1] < FIVE.remanence


def face(curve: MagnetCurve, over: float = 0.5 * MM) -> float:
    rods = row(curve)
    system = PoleSystem([Rod(r.x, r.y, r.z, r.length, r.radius, curve.recoil) for r in rods])
    charge = remanence_charge(system, remanences(rods))
    point = np.array([[rods[2].x, 0.0, 8 * MM + over]])
    return float(MU0 * field_operator(system, point)[0, 2] @ charge)


# trade page, bands for a probe about 0.5 mm off (common practice, no source; alnico 5: hi). A linear model with the
# remanence of the data sheet says 250-400 mT.
BANDS = {"alnico 5": (90, 130), "alnico 2": (50, 85), "alnico 3": (50, 85)}


@pytest.mark.parametrize("grade", BANDS)
def test_a_probe_on_a_face_reads_what_the_bench_reads(grade: str) -> None:
    low, high = BANDS[grade]
    assert low < 1e3 * face(ALNICO[grade]) < high


def test_the_recoil_permeability_and_the_knee_both_lower_the_face() -> None:
    rods = row(FIVE)
    hard = PoleSystem([Rod(r.x, r.y, r.z, r.length, r.radius, 1.0) for r in rods])
    naive = MU0 * field_operator(hard, np.array([[rods[2].x, 0.0, 8.5 * MM]]))[0, 2] @ hard.of_magnets([1.28] * 6)
    assert naive > 0.4
    assert face(FIVE) < naive / 3


def by_rings(rods: list[MagnetRod], states: tuple[RodState, ...], x: float, z: float) -> float:
    """B_z on a rod's axis: end faces as discs, steps of M as rings on the side; neighbours as points."""
    total = 0.0
    for rod, state in zip(rods, states, strict=True):
        charge = -np.diff(np.concatenate([[0.0], state.m, [0.0]])) * math.pi * rod.radius**2
        d, apart = z - state.cuts, abs(x - rod.x)
        kernel = d / (4 * math.pi * (d**2 + (apart or rod.radius) ** 2) ** 1.5)
        if not apart:
            disc = 0.5 * (1 - d / np.hypot(d, rod.radius)) / (math.pi * rod.radius**2)
            kernel[[0, -1]] = disc[[0, -1]]
        total += MU0 * float(charge @ kernel)
    return total


@pytest.mark.parametrize("curve", ALNICO.values(), ids=ALNICO)
def test_one_remanence_a_rod_gives_the_slices_field_at_the_string(curve: MagnetCurve) -> None:
    # Slices even across with their steps on the side read 4 % high there even for a rod whose answer is known (straight
    # curve); beyond that the one figure may be 6 % low: a third of the stated 15 %.
    def ratio(given: MagnetCurve) -> float:
        rods = row(given)
        states = rod_states(rods)
        return face(given, 2 * MM) / by_rings(rods, states, rods[2].x, 10 * MM)

    bias = ratio(straight(4.0))
    assert 0.94 < bias < 1.0
    assert 0.92 < ratio(curve) / bias < 1.01


BAD: dict[str, tuple[Callable[[], object], str]] = {
    "no remanence": (lambda: MagnetCurve(0.0, 51e3, 43.8e3, 4.3), "above 0"),
    "no coercivity": (lambda: MagnetCurve(1.28, 0.0, 43.8e3, 4.3), "above 0"),
    "no energy": (lambda: MagnetCurve(1.28, 51e3, 0.0, 4.3), "above 0"),
    "recoil below 1": (lambda: MagnetCurve(1.28, 51e3, 43.8e3, 0.9), "above 0"),
    "not a number": (lambda: MagnetCurve(math.nan, 51e3, 43.8e3, 4.3), "above 0"),
    "more energy than the square": (lambda: MagnetCurve(1.28, 51e3, 70e3, 4.3), "below remanence times coercivity"),
    "no length": (lambda: MagnetRod(0, 0, 0, 0.0, 2.4 * MM, FIVE, 1), "length and radius"),
    "no radius": (lambda: MagnetRod(0, 0, 0, 16 * MM, 0.0, FIVE, 1), "length and radius"),
}


@pytest.mark.parametrize(("call", "says"), BAD.values(), ids=BAD)
def test_a_magnet_that_cannot_be_is_refused(call: Callable[[], object], says: str) -> None:
    with pytest.raises(DomainError, match=says):
        call()
