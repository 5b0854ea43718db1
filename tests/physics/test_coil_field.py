"""Field and potential of the coil. Sources beside each check.

Witnesses: a brute Biot-Savart sum, circular loops by elliptic integrals (Smythe; scipy's functions), finite elements
(design page, A2), the dipole far away, and the laws themselves: H = -grad psi, div H = 0, Ampere.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipk

from lodestring.errors import DomainError
from lodestring.physics.coil import (
    CoilBox,
    coil_field,
    coil_potential,
    moment,
    sheet_field,
    sheet_potential,
    table_nodes,
    table_rule,
)

MM = 1e-3
A1 = CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM)
ROUND = CoilBox(0.0, 3 * MM, 8 * MM, 8 * MM)
THIN = CoilBox(40 * MM, 5 * MM, 6 * MM, 8 * MM)
GAUSS = np.polynomial.legendre.leggauss


def gauss(low: float, high: float, count: int) -> tuple[np.ndarray, np.ndarray]:
    nodes, weights = GAUSS(count)
    return low + (high - low) * (0.5 + 0.5 * nodes), (high - low) * 0.5 * weights


def biot_savart(s: float, r: float, height: float, points: np.ndarray) -> np.ndarray:
    """H (n, 3) of one turn at half-width r spread over the height: dl x R / (4 pi R^3), summed."""
    places, steps = [], []
    phi, w = gauss(-math.pi / 2, math.pi / 2, 60)
    for sign in (1, -1):
        places.append(sign * np.stack([s / 2 + r * np.cos(phi), r * np.sin(phi)], axis=1))
        steps.append(sign * np.stack([-r * np.sin(phi), r * np.cos(phi)], axis=1) * w[:, None])
        for low, high in itertools.pairwise(np.linspace(-s / 2, s / 2, 9)) if s > 0 else ():
            x, wx = gauss(low, high, 16)
            places.append(np.stack([x, np.full(x.size, -sign * r)], axis=1))
            steps.append(np.stack([sign * wx, np.zeros(x.size)], axis=1))
    place, step = np.concatenate(places), np.concatenate(steps)
    z, wz = gauss(-height / 2, height / 2, 32)
    x, y = (points[:, None, axis] - place[:, axis] for axis in (0, 1))
    cube = ((x * x + y * y)[:, :, None] + (points[:, 2, None, None] - z) ** 2) ** -1.5 * (wz / height)
    plain, lifted = cube.sum(axis=2), (cube * (points[:, 2, None, None] - z)).sum(axis=2)
    h_x = lifted @ step[:, 1]
    h_y = -lifted @ step[:, 0]
    h_z = np.sum(plain * (step[:, 0] * y - step[:, 1] * x), axis=1)
    return np.stack([h_x, h_y, h_z], axis=1) / (4 * math.pi)


def relative(got: np.ndarray, known: np.ndarray) -> float:
    return float(np.max(np.linalg.norm(got - known, axis=-1) / np.linalg.norm(known, axis=-1)))


# mm; each at least 2 mm from a sheet at r 5 and 4 mm from its round edges, so that the sums have converged
PLACES = {
    "middle": (0.0, 0.0, 0.0),
    "bore, off centre": (11.0, 1.5, 4.0),
    "bore, round end": (27.0, 0.5, -1.0),
    "over the bore": (13.0, 0.7, 8.5),
    "over the round end": (26.0, 1.0, 10.5),
    "over the winding": (20.0, 5.0, 9.0),
    "below": (-20.0, -2.0, -9.0),
    "beside": (3.0, -12.0, 2.0),
    "off the end": (38.0, 2.0, 3.0),
    "far": (60.0, 50.0, 40.0),
}


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES)
def test_a_sheets_field_is_biot_savarts_sum(place: tuple[float, float, float]) -> None:
    points = np.array([place]) * MM
    got = sheet_field(52 * MM, np.array([5 * MM]), 10.5 * MM, points, 32)[0]
    assert relative(got, biot_savart(52 * MM, 5 * MM, 10.5 * MM, points)) < 1e-6


def test_a_round_sheets_field_is_biot_savarts_sum() -> None:
    points = np.array([(0, 0, 0), (2.0, 1.0, 1.0), (3.0, -3.0, 8.0), (-9.0, 2.0, -3.0), (20.0, 20.0, 20.0)]) * MM
    got = sheet_field(0.0, np.array([6 * MM]), 8 * MM, points, 32)[0]
    assert relative(got, biot_savart(0.0, 6 * MM, 8 * MM, points)) < 1e-6


def loop_field(a: float, rho: np.ndarray, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """H_rho, H_z of a circular loop of 1 A (Smythe, Static and Dynamic Electricity, 7.10)."""
    outer, inner = (a + rho) ** 2 + z * z, (a - rho) ** 2 + z * z
    m = 4 * a * rho / outer
    k, e = ellipk(m), ellipe(m)
    h_z = (k + (a * a - rho * rho - z * z) / inner * e) / (2 * math.pi * np.sqrt(outer))
    h_rho = z / rho * (-k + (a * a + rho * rho + z * z) / inner * e) / (2 * math.pi * np.sqrt(outer))
    return h_rho, h_z


def test_a_round_coil_is_a_heap_of_circular_loops() -> None:
    rho, z = np.array([0.5, 1.5, 2.0, 12.0, 4.0]) * MM, np.array([0.0, 3.0, 6.0, 2.0, 7.0]) * MM
    radii, wr = gauss(ROUND.inner, ROUND.outer, 24)
    levels, wz = gauss(-ROUND.height / 2, ROUND.height / 2, 40)
    h_rho, h_z = np.zeros(5), np.zeros(5)
    for (a, wa), (level, wl) in itertools.product(zip(radii, wr, strict=True), zip(levels, wz, strict=True)):
        part = loop_field(a, rho, z - level)
        h_rho += wa * wl * part[0] / (ROUND.depth * ROUND.height)
        h_z += wa * wl * part[1] / (ROUND.depth * ROUND.height)
    turn = 0.7
    points = np.stack([rho * math.cos(turn), rho * math.sin(turn), z], axis=1)
    known = np.stack([h_rho * math.cos(turn), h_rho * math.sin(turn), h_z], axis=1)
    assert relative(coil_field(ROUND, points), known) < 1e-5


def test_the_field_over_the_worked_coil_is_that_of_the_finite_elements() -> None:
    # design page A2 (mu_r 1: the coil alone), mT per ampere for 7600 turns, 1, 2, 3, 5 mm over a rod 16 mm long, third
    # of six on a pitch of 10.4 mm
    points = np.array([(-5.2, 0.0, 8.0 + d) for d in (1, 2, 3, 5)]) * MM
    got = coil_field(A1, points)[:, 2] * 7600 * 4e-7 * math.pi * 1e3
    assert got == pytest.approx([174.45, 146.95, 124.89, 92.72], abs=0.006)  # printed to 0.01


def test_far_away_the_coil_is_its_dipole_moment() -> None:
    way = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.48, 0.6, 0.64]])
    for distance, left in ((1.0, 4e-3), (10.0, 4e-5)):
        known = moment(A1) * (3 * way[:, 2:] * way - [0, 0, 1]) / (4 * math.pi * distance**3)
        # the next multipole of a body 52 mm long falls with the square: about 1.4 (26 mm / distance)^2
        assert relative(coil_field(A1, way * distance), known) < left


def gradient(psi: Callable[[np.ndarray], np.ndarray], points: np.ndarray) -> np.ndarray:
    """Sixth-order central differences, 0.05 mm apart: truncation and rounding both below 1e-9 at 2 mm from an edge."""
    step = 0.05 * MM
    out = np.empty((*psi(points).shape, 3))
    for axis in range(3):
        shift = np.zeros(3)
        shift[axis] = step
        d1, d2, d3 = (psi(points + k * shift) - psi(points - k * shift) for k in (1, 2, 3))
        out[..., axis] = (45 * d1 - 9 * d2 + d3) / (60 * step)
    return out


# branch, mm
BRANCHES = {
    "in the bore": (True, [(0.0, 0.0, 0.0), (20.0, 1.0, 2.0), (27.0, 1.0, -1.0)]),
    "over and under": (True, [(10.0, 1.0, 9.0), (26.0, 2.0, 8.0), (0.0, 4.0, -8.0)]),
    "beside": (False, [(0.0, 12.0, 2.0), (36.0, 3.0, -3.0), (10.0, -9.0, 0.0)]),
}


@pytest.mark.parametrize(("inside", "places"), BRANCHES.values(), ids=BRANCHES)
def test_the_field_is_the_falling_of_the_potential(inside: bool, places: list[tuple[float, float, float]]) -> None:
    points = np.array(places) * MM
    for s in (52 * MM, 0.0):
        # without its straight part the coil's ends close up, and points beyond an end move with it
        at = points if s else points - np.clip(points * [1, 0, 0], -26 * MM, 26 * MM)
        radii = np.array([4.0, 6.5]) * MM
        got = -gradient(lambda p, s=s, radii=radii: sheet_potential(s, radii, 10.5 * MM, p, inside, 64), at)
        assert np.max(np.abs(got - sheet_field(s, radii, 10.5 * MM, at, 64))) < 1e-8 / (10.5 * MM)


def test_the_coils_field_is_the_falling_of_its_potential() -> None:
    points = np.array([(0.0, 0.0, 0.0), (20.0, 1.0, 2.0), (26.0, 2.0, 8.0), (3.0, 5.0, 9.0)]) * MM
    got = -gradient(lambda p: coil_potential(A1, p, 8, angles=24), points)
    assert relative(got, coil_field(A1, points, 8, 24)) < 1e-8


def test_the_two_branches_differ_by_half_above_and_minus_half_below() -> None:
    points = np.array([(10.0, 1.0, 9.0), (3.0, 20.0, 7.0), (0.0, 0.0, -6.0)]) * MM
    step = coil_potential(A1, points, inside=False) - coil_potential(A1, points, inside=True)
    assert step == pytest.approx([0.5, 0.5, -0.5], abs=1e-14)


def line_integral(box: CoilBox, corners: list[tuple[float, float, float]], count: int, **points: int) -> float:
    total = 0.0
    for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
        t, w = gauss(0.0, 1.0, count)
        a, b = np.array(start) * MM, np.array(end) * MM
        total += float(w @ (coil_field(box, a + np.outer(t, b - a), **points) @ (b - a)))
    return total


# id: corners in mm of a closed path, what it encloses of 1 ampere turn
PATHS = {
    "round one side": ([(0, 0, -9), (0, 0, 9), (0, 12, 9), (0, 12, -9)], 1.0),
    "round one end": ([(20, 0, -9), (20, 0, 9), (40, 3, 9), (40, 3, -9)], 1.0),
    "round the whole": ([(0, -12, -9), (0, -12, 9), (0, 12, 9), (0, 12, -9)], 0.0),
    "in the bore": ([(0, -2, -4), (0, -2, 4), (0, 2, 4), (0, 2, -4)], 0.0),
    # a straight up the winding at a third of its depth, well above and below it
    "through the winding": ([(0, 0, -9), (0, 0, 9), (0, 4.4, 9), (0, 4.4, -9)], 1 / 3),
}


@pytest.mark.parametrize(("corners", "enclosed"), PATHS.values(), ids=PATHS)
def test_the_line_integral_of_the_field_is_the_current_it_encloses(
    corners: list[tuple[float, float, float]], enclosed: float
) -> None:
    # Ampere, per ampere and turn. In the winding the path crosses faces, where H bends: cut there by many points
    inside = enclosed not in (0.0, 1.0)
    got = line_integral(A1, corners, 400 if inside else 60, **({"order": 60, "angles": 12} if inside else {}))
    assert got == pytest.approx(enclosed, abs=2e-4 if inside else 2e-6)


CUBES = {
    "in the bore": (5.0, 0.5, 2.0),
    "in the round end": (27.0, 0.5, 2.0),
    "in the winding": (3.0, 5.0, 0.0),
    "in the winding's end": (30.0, 3.0, 1.0),
    "outside": (10.0, 12.0, 3.0),
}


@pytest.mark.parametrize("centre", CUBES.values(), ids=CUBES)
def test_no_flux_begins_or_ends_in_a_small_cube(centre: tuple[float, float, float]) -> None:
    nodes, weights = GAUSS(8)
    u, v = (grid.ravel() for grid in np.meshgrid(nodes, nodes))
    share = np.outer(weights, weights).ravel()
    flux, through = 0.0, 0.0
    for axis, sign in itertools.product(range(3), (1.0, -1.0)):
        face = np.insert(np.stack([u, v], axis=1), axis, sign, axis=1) * 0.5 * MM + np.array(centre) * MM
        out = sign * float(share @ coil_field(A1, face)[:, axis])
        flux += out
        through += abs(out)
    assert abs(flux) < 1e-5 * through


def test_the_mean_over_the_radius_converges_as_the_distance_of_the_face_lets_it() -> None:
    # a Gauss rule converges by exp(-2 asinh(2 g / D)) a point; its nearest pole lies g above the middle of the range
    g = 0.5 * A1.depth
    point = np.array([[0.0, 5 * MM, 0.5 * A1.height + g]])
    exact = coil_field(A1, point, 40)
    errors = [float(np.linalg.norm(coil_field(A1, point, order) - exact)) for order in (4, 8, 12)]
    expected = 2 * math.asinh(2 * g / A1.depth)
    assert math.log(errors[0] / errors[2]) / 8 == pytest.approx(expected, rel=0.15)


DISTANCES = [0.1, 0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 4.0]


@pytest.mark.parametrize("share", DISTANCES, ids=[f"{d} D" for d in DISTANCES])
@pytest.mark.parametrize("box", [A1, ROUND, THIN], ids=["A1", "round", "thin"])
def test_points_are_spent_so_that_the_field_near_a_face_is_right_to_1e_5(box: CoilBox, share: float) -> None:
    g, z = max(share * box.depth, 0.05 * box.outer), 0.5 * box.height  # the promise ends at 0.05 r
    spots = [(box.inner, z + g), (0.5 * (box.inner + box.outer), z + g), (box.outer + g, z), (box.outer + g, 0.0)]
    if box.inner > g:
        spots.append((box.inner - g, z))
    ways = [(0.5 * box.straight, 0.2), (0.5 * box.straight, 0.9), (0.4 * box.straight, 0.5 * math.pi)]
    points = np.array(
        [(x + rho * math.cos(phi), rho * math.sin(phi), height) for x, phi in ways for rho, height in spots]
    )
    # the witness for the count of points is many more of them; the formula has its own witnesses above
    assert relative(coil_field(box, points), coil_field(box, points, 120, 400)) < 1e-5


def test_symmetry_holds() -> None:
    point = np.array([[17.0, 2.0, 3.0]]) * MM
    h = coil_field(A1, point)[0]
    for mirror, sign in (((-1, 1, 1), (-1, 1, 1)), ((1, -1, 1), (1, -1, 1)), ((1, 1, -1), (-1, -1, 1))):
        # current is odd and the field of a moment along z is even under z, so H_x and H_y change sign with z
        assert coil_field(A1, point * mirror)[0] == pytest.approx(h * sign, rel=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 10.0), st.floats(0.5, 5.0), st.floats(1e-3, 1e3))
def test_the_field_falls_with_the_size_of_the_whole(s: float, h: float, unit: float) -> None:
    point = np.array([[0.3 * s, 0.4, 0.7 * h]])
    one = coil_field(CoilBox(s, 1.0, 2.0, h), point)
    many = coil_field(CoilBox(s * unit, unit, 2.0 * unit, h * unit), point * unit)
    assert many * unit == pytest.approx(one, rel=1e-9, abs=1e-12)
    assert one[0, 2] > 0.0  # over the bore the field points along the moment


def test_a_table_of_sheets_serves_every_outer_half_width() -> None:
    phi = np.arange(8) * math.pi / 4
    ring = np.stack([26.0 + 2.4 * np.cos(phi), 2.4 * np.sin(phi), np.linspace(-8, 8, 8)], axis=1) * MM
    nodes = table_nodes(3.2 * MM, 9.0 * MM, 10)
    psi, field = (f(52 * MM, nodes, 10.5 * MM, ring, angles=48) for f in (sheet_potential, sheet_field))
    for outer in (4 * MM, 6.8 * MM, 9 * MM):
        box = CoilBox(52 * MM, 3.2 * MM, outer, 10.5 * MM)
        rule = table_rule(nodes, box.inner, outer)
        assert rule @ psi == pytest.approx(coil_potential(box, ring, 40, angles=48), abs=3e-6)
        exact = coil_field(box, ring, 40, 48)
        assert np.max(np.abs(np.tensordot(rule, field, axes=1) - exact)) < 3e-5 * np.max(np.abs(exact))


POINT = np.zeros((1, 3))
REFUSED: dict[str, tuple[Callable[[], object], str]] = {
    "shape": (lambda: coil_field(A1, np.zeros(3)), r"shape \(n, 3\)"),
    "nan point": (lambda: coil_field(A1, np.array([[0.0, math.nan, 0.0]])), "finite"),
    "radius 0": (lambda: sheet_field(0.0, np.array([0.0]), 1.0, POINT), "half-widths of sheets"),
    "height 0": (lambda: sheet_potential(0.0, np.array([1.0]), 0.0, POINT), "height above 0"),
    "straight below 0": (lambda: sheet_field(-1.0, np.array([1.0]), 1.0, POINT), "straight length"),
    "potential in the winding": (lambda: coil_potential(A1, np.array([[0.0, 5 * MM, 0.0]])), "try inside=False"),
    "bore's branch outside": (lambda: coil_potential(A1, np.array([[0.0, 9 * MM, 0.0]])), "points in the bore"),
    "outside branch in the bore": (lambda: coil_potential(A1, POINT, inside=False), "try inside=True"),
    "order 0": (lambda: coil_field(A1, POINT, -1), "at least one point"),
}


@pytest.mark.parametrize(("call", "said"), REFUSED.values(), ids=REFUSED)
def test_a_question_without_meaning_is_refused_with_a_sentence(call: Callable[[], object], said: str) -> None:
    with pytest.raises(DomainError, match=said):
        call()


def test_values_stay_finite_on_edges_axes_and_centres() -> None:
    z = A1.height / 2
    points = np.array([(0, A1.inner, z), (0, 5 * MM, z), (26 * MM, 0, z), (26 * MM, 0, 0), (26 * MM + A1.outer, 0, -z)])
    assert np.all(np.isfinite(coil_field(A1, points)))
    assert np.all(np.isfinite(sheet_field(A1.straight, np.array([A1.inner, 5 * MM]), A1.height, points)))
    assert coil_field(A1, np.zeros((0, 3))).shape == (0, 3)
