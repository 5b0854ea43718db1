"""Eddy currents in a thin sheet against closed forms and against routes that share no code with it.

Witnesses: Dodd & Deeds, J. Appl. Phys. 39 (1968) 2829, coil over a conducting plate of finite thickness (formula from
memory, its integral written out here); Maxwell's receding image (Treatise, 1873, section 657 and following); the weak
eddy currents of a disc and of a square in an even field (the same equation as the torsion of a bar: Timoshenko &
Goodier, Theory of Elasticity, J = 0.1406 a^4 for a square, from memory); coaxial circles by elliptic integrals; one
shorted turn; a finite-volume solve of a box cover with its own sum of Biot and Savart.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ellipe, ellipk, jv

from lodestring.physics.coil import CoilBox, air_inductance, mutual_inductance
from lodestring.physics.inductance import answer, coil_touch, poles_inductance
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.physics.sheet_coil import inductance_change, sheet_touch
from lodestring.physics.sheet_modes import sheet_modes
from lodestring.physics.sheet_shape import Outline, Sheet, cover, foil_ring, plate

Array = NDArray[np.float64]
MU0 = 4e-7 * math.pi
MM = 1e-3
NICKEL_SILVER, BRASS, COPPER = 1 / 28.7e-8, 1 / 6.2e-8, 58e6
BOX = CoilBox(0.0, 3 * MM, 8 * MM, 8 * MM)


def disc(radius: float, z: float, thickness: float) -> Sheet:
    return plate(Outline(0.0, 0.0, 2 * radius, 2 * radius, radius), z, thickness)


def change(sheet: Sheet, conductivity: float, frequency: float, unknowns: int) -> complex:
    modes = sheet_modes(sheet, conductivity, unknowns=unknowns)
    g = sheet_touch(modes, BOX)
    return complex(inductance_change(modes, g, g, frequency)[0])


# ---- an infinite plate ----


def dodd_and_deeds(gap: float, thickness: float, conductivity: float, frequency: float) -> complex:
    """dL [H per turn squared] of BOX, its lower face `gap` above an infinite plate: their integral over k."""
    top, steps = 4000.0, 6000
    k = (np.arange(steps) + 0.5) * top / steps
    x, w = np.polynomial.legendre.leggauss(40)
    r = 0.5 * (BOX.inner + BOX.outer) + 0.5 * BOX.depth * x
    radial = (0.5 * BOX.depth * w * r * jv(1, k[:, None] * r)).sum(axis=1)
    source = (radial * (np.exp(-k * gap) - np.exp(-k * (gap + BOX.height))) / k) ** 2
    k1 = np.sqrt(k * k + 2j * math.pi * frequency * MU0 * conductivity)
    fall = np.exp(-2.0 * k1 * thickness)
    answer_ = (k * k - k1 * k1) * (1.0 - fall) / ((k + k1) ** 2 - (k - k1) ** 2 * fall)
    return complex(MU0 * math.pi * np.sum(source * answer_) * top / steps / (BOX.depth * BOX.height) ** 2)


def test_a_plate_five_times_as_wide_as_the_coil_is_dodd_and_deeds_infinite_one() -> None:
    # 10 kHz, 0.5 mm = 0.19 skin depths; 600, 1000, 1600 unknowns: 1.9, 1.2, 0.7 %, the rest is the rim and the metal's
    # thickness
    sheet = disc(40 * MM, -0.5 * BOX.height - 1.25 * MM, 0.5 * MM)
    known = dodd_and_deeds(1.0 * MM, 0.5 * MM, NICKEL_SILVER, 1e4)
    assert abs(change(sheet, NICKEL_SILVER, 1e4, 1000) / known - 1.0) < 0.016


def test_weak_eddy_currents_reach_dodd_and_deeds_as_the_plate_grows() -> None:
    # what a rim at R leaves out of the loss falls as 1/R^2 (A of a dipole falls as 1/r^2): two plates of one mesh width
    # give the infinite one; 1.2 % of mesh and 1/R^4 remain
    known = dodd_and_deeds(1.0 * MM, 0.5 * MM, NICKEL_SILVER, 100.0)
    loss = [
        change(disc(r * MM, -0.5 * BOX.height - 1.25 * MM, 0.5 * MM), NICKEL_SILVER, 100.0, count).imag
        for r, count in ((24, 504), (40, 1400))
    ]
    w = (24 / 40) ** 2
    assert (loss[1] - w * loss[0]) / (1.0 - w) == pytest.approx(known.imag, rel=0.02)
    assert loss[0] / known.imag < 0.9  # and it was not there before


# ---- Maxwell's image ----


def circles(a: float, b: float, z: float) -> float:
    """Mutual inductance of coaxial circles [H], Maxwell."""
    m = 4 * a * b / ((a + b) ** 2 + z**2)
    k = math.sqrt(m)
    return float(MU0 * math.sqrt(a * b) * ((2 / k - k) * ellipk(m) - 2 / k * ellipe(m)))


def image(distance: float) -> float:
    """Mutual inductance of BOX with a like coil `distance` below it, per turn squared: Gauss over both sections."""
    x, w = np.polynomial.legendre.leggauss(5)
    radii, heights = 5.5 * MM + 2.5 * MM * x, 4 * MM * x
    total = 0.0
    for i, j, k, l in np.ndindex(5, 5, 5, 5):
        weight = w[i] * w[j] * w[k] * w[l] / 16
        total += weight * circles(radii[i], radii[j], distance + heights[k] - heights[l])
    return total


@pytest.mark.parametrize("time", [0.0, 2e-6, 6e-6], ids=lambda t: f"{t * 1e6:g} us")
def test_after_a_step_of_current_the_image_sinks_at_maxwells_speed(time: float) -> None:
    # flux of the sheet's currents through the coil: the coil's image, at 2 / (mu0 sigma t) away from its first place.
    # The rim and the mesh leave 0.1 to 0.6 %
    thickness, gap = 0.5 * MM, 2.0 * MM
    modes = sheet_modes(disc(40 * MM, -0.5 * BOX.height - gap, thickness), BRASS, unknowns=1000)
    g = sheet_touch(modes, BOX)
    seen = float(np.sum(g * g / modes.tau * np.exp(-time / modes.tau)))
    sunk = 2.0 * time / (MU0 * BRASS * thickness)
    assert seen == pytest.approx(image(BOX.height + 2.0 * gap + sunk), rel=0.008)


# ---- weak currents in an even field ----

FORMS = {
    "disc": (Outline(0, 0, 40 * MM, 40 * MM, 20 * MM), math.pi * 0.020**4 / 2),
    "square": (Outline(0, 0, 40 * MM, 40 * MM), 0.1406 * 0.040**4),
    "strip 4 : 1": (Outline(0, 0, 80 * MM, 20 * MM), 0.281 * 0.080 * 0.020**3),  # Timoshenko & Goodier, b/c = 4
}


@pytest.mark.parametrize(("outline", "torsion"), FORMS.values(), ids=FORMS)
def test_weak_eddy_currents_in_an_even_field_are_the_torsion_of_a_bar(outline: Outline, torsion: float) -> None:
    # psi obeys the equation of Prandtl's stress function: moment per w B = sigma t J / 4; printed to 4 and 3 digits
    modes = sheet_modes(plate(outline, 0.0, 0.5 * MM), BRASS, unknowns=400)
    assert float(np.sum(modes.moment**2)) == pytest.approx(BRASS * 0.5 * MM * torsion / 4, rel=0.015)


def test_the_error_falls_with_the_number_of_unknowns() -> None:
    # linear triangles: error of an energy as the square of the step, so as 1 / unknowns
    def off(unknowns: int) -> tuple[int, float]:
        modes = sheet_modes(plate(FORMS["disc"][0], 0.0, 0.5 * MM), BRASS, unknowns=unknowns)
        exact = BRASS * 0.5 * MM * FORMS["disc"][1] / 4
        return len(modes.tau), 1.0 - float(np.sum(modes.moment**2)) / exact

    (few, coarse), (many, fine) = off(60), off(600)
    order = math.log(coarse / fine) / math.log(many / few)
    assert 0.85 < order < 1.25
    assert fine > 0.0  # a stiff approximation: too little current


# ---- one shorted turn ----

TURN = CoilBox(52 * MM, 9.0 * MM, 9.05 * MM, 1.5 * MM)
RING = foil_ring(Outline(0, 0, 70.05 * MM, 18.05 * MM, 9.025 * MM), 0.75 * MM, 1.5 * MM, 0.05 * MM)
A1 = CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM)
SIX = [Rod((k - 2.5) * 10.4 * MM, 0, 0, 16 * MM, 2.4 * MM, 4.0) for k in range(6)]
FREQUENCIES = np.array([100.0, 1e3, 1e4])


@pytest.mark.parametrize("rods", [[], SIX], ids=["air", "rods"])
def test_a_narrow_ring_of_foil_is_one_shorted_turn(rods: list[Rod]) -> None:
    # R of the strip, L and M of a one-turn coil in its place, with what the pole pieces add by the formula for coils.
    # What the strip's width does to the current is not in one turn: 0.1 to 0.4 %, more above
    resistance = RING.outline.perimeter / (COPPER * 0.05 * MM * 1.5 * MM)
    own, mutual = air_inductance(TURN), mutual_inductance(A1, TURN, (0, 0, 0))
    system, found = None, None
    if rods:
        system = PoleSystem(rods)
        touch, turn = coil_touch(system, A1), coil_touch(system, TURN)
        found, of_turn = answer(system, touch), answer(system, turn)
        own += poles_inductance(system, of_turn, turn, of_turn).real
        mutual += poles_inductance(system, found, turn, of_turn).real
    modes = sheet_modes(RING, COPPER, system)
    g = sheet_touch(modes, A1, poles=found)
    s = 2j * math.pi * FREQUENCIES
    known = -s * mutual**2 / (resistance + s * own)
    seen = inductance_change(modes, g, g, FREQUENCIES)
    assert np.max(np.abs(seen / known - 1.0)) < 0.006
    if rods:  # the pole pieces matter here
        assert mutual > 1.15 * mutual_inductance(A1, TURN, (0, 0, 0))
        assert own > 1.04 * air_inductance(TURN)


# ---- a round cap, by rings of current ----


def cap_by_rings(radius: float, z: float, depth: float, hole: float, sheet: float, frequency: float) -> complex:
    """dL of BOX under a round cap with a round hole, as coaxial rings of wire; `sheet` = sigma t [S]."""
    flat, wall = 70, 60
    edge = np.linspace(hole, radius, flat + 1)
    drop = np.linspace(0.0, depth, wall + 1)
    r = np.concatenate([0.5 * (edge[1:] + edge[:-1]), np.full(wall, radius)])
    h = np.concatenate([np.full(flat, z), z - 0.5 * (drop[1:] + drop[:-1])])
    width = np.concatenate([np.diff(edge), np.diff(drop)])
    count = len(r)
    inductance = np.zeros((count, count))
    for i in range(count):
        for j in range(i):
            inductance[i, j] = inductance[j, i] = circles(r[i], r[j], h[i] - h[j])
    # a strip on itself: geometric mean distance of a line, w exp(-3/2) (Rosa & Grover)
    np.fill_diagonal(inductance, MU0 * r * (np.log(8.0 * r / (width * math.exp(-1.5))) - 2.0))
    x, w = np.polynomial.legendre.leggauss(6)
    flux = np.zeros(count)
    for i, j in np.ndindex(6, 6):
        at, up = 5.5 * MM + 2.5 * MM * x[i], 4 * MM * x[j]
        flux += w[i] * w[j] / 4 * np.array([circles(at, r[n], h[n] - up) for n in range(count)])
    s = 2j * math.pi * frequency
    return complex(-s * flux @ np.linalg.solve(np.diag(2 * math.pi * r / (sheet * width)) + s * inductance, flux))


@pytest.mark.parametrize("frequency", [100.0, 3e3, 3e4], ids=lambda f: f"{f:g} Hz")
def test_a_round_cap_with_a_hole_is_a_set_of_coupled_rings(frequency: float) -> None:
    # flat part, joint, wall and hole at once; 300, 600, 1200 unknowns leave 0.5, 0.3, 0.2 %, some of it the rings'
    hole = Outline(0, 0, 6 * MM, 6 * MM, 3 * MM)
    cap = cover(Outline(0, 0, 22 * MM, 22 * MM, 11 * MM), 5.5 * MM, 10 * MM, 0.5 * MM, [hole])
    known = cap_by_rings(11 * MM, 5.5 * MM, 10 * MM, 3 * MM, BRASS * 0.5 * MM, frequency)
    assert abs(change(cap, BRASS, frequency, 600) / known - 1.0) < 0.004


# ---- a box cover, by finite volumes ----


def filaments_b(points: Array) -> Array:
    """B (n, 3) per ampere and turn of a small obround coil by Biot and Savart: 4 x 6 contours of short pieces."""
    x, w = np.polynomial.legendre.leggauss(6)
    out = np.zeros((len(points), 3))
    for r, wr in zip(5 * MM + 1.5 * MM * x, w / 2, strict=True):
        t = np.linspace(-math.pi / 2, math.pi / 2, 40)
        arc = np.stack([10 * MM + r * np.cos(t), r * np.sin(t)], axis=1)
        side = np.stack([np.linspace(10, -10, 60) * MM, np.full(60, r)], axis=1)
        path = np.concatenate([arc, side[1:-1], -arc, -side[1:-1], arc[:1]])
        middle, run = 0.5 * (path[1:] + path[:-1]), np.diff(path, axis=0)
        for z, wz in zip(3 * MM * x, w / 2, strict=True):
            arm = points[:, None, :] - np.column_stack([middle, np.full(len(middle), z)])
            cube = wr * wz / np.sum(arm**2, axis=2) ** 1.5
            dx, dy = run.T
            out[:, 0] += (cube * dy * arm[..., 2]).sum(axis=1)
            out[:, 1] -= (cube * dx * arm[..., 2]).sum(axis=1)
            out[:, 2] += (cube * (dx * arm[..., 1] - dy * arm[..., 0])).sum(axis=1)
    return 1e-7 * out


def weak_loss_by_volumes(size: tuple[float, float, float], z: float, hole: tuple[float, float], h: float) -> float:
    """Loss per w^2 and sigma t of weak eddy currents in a box cover of square cells h, with a rectangular hole:
    sum of currents between nodes = flux. The hole is one node."""
    a, b, c = (round(s / h) for s in size)
    number: dict[tuple[int, int, int], int] = {}
    in_hole = [round(s / h / 2) for s in hole]

    def node(i: int, j: int, k: int) -> int:
        if k == 0 and abs(2 * i - a) <= 2 * in_hole[0] and abs(2 * j - b) <= 2 * in_hole[1]:
            return number.setdefault((-1, -1, -1), len(number))
        return -1 if k == c else number.setdefault((i, j, k), len(number))

    cells = [((i, j, 0), (1, 0, 0), (0, 1, 0)) for i in range(a) for j in range(b)]
    for k in range(c):
        for i in range(a):
            cells += [((i, 0, k), (1, 0, 0), (0, 0, 1)), ((i, b, k), (1, 0, 0), (0, 0, 1))]
        for j in range(b):
            cells += [((0, j, k), (0, 1, 0), (0, 0, 1)), ((a, j, k), (0, 1, 0), (0, 0, 1))]
    origin = np.array([-size[0] / 2, -size[1] / 2, z])
    corner, u, v = (np.array(part) for part in zip(*cells, strict=True))
    flip = np.array([1.0, 1.0, -1.0])  # k counts downward
    middle = np.array([size[0] / 2, size[1] / 2, 0.0]) + origin
    edges: list[tuple[int, int]] = []
    flux: list[tuple[int, float]] = []
    for du, dv in ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)):
        at = origin + h * flip * (corner + du * u + dv * v)
        field = filaments_b(at)
        for n, (p, pu, pv) in enumerate(zip(corner, u, v, strict=True)):
            across = np.cross(pu * flip, pv * flip)
            out_ = (
                across
                if across @ (at[n] - middle + np.array([0, 0, 1e-6 if p[2] == 0 and pv[2] == 0 else 0])) > 0
                else -across
            )
            to = node(*(p + round(du) * pu + round(dv) * pv))
            flux.append((to, float(field[n] @ out_) * h * h / 4))
    for p, pu, pv in zip(corner, u, v, strict=True):
        square = [node(*q) for q in (p, p + pu, p + pu + pv, p + pv)]
        edges += [(square[k], square[k - 1]) for k in range(4)]  # half of each edge's conductance
    matrix, right = np.zeros((len(number), len(number))), np.zeros(len(number))
    for p, q in edges:
        for one, other in ((p, q), (q, p)):
            if one >= 0 and one != other:
                matrix[one, one] += 0.5
                if other >= 0:
                    matrix[one, other] -= 0.5
    for to, value in flux:
        if to >= 0:
            right[to] += value
    return float(right @ np.linalg.solve(matrix, right))


def test_a_box_cover_with_a_slot_loses_what_finite_volumes_say() -> None:
    size, z, hole = (36 * MM, 16 * MM, 8 * MM), 5 * MM, (20 * MM, 4 * MM)
    volumes = [weak_loss_by_volumes(size, z, hole, h * MM) for h in (2.0, 1.0)]
    known = volumes[1] + (volumes[1] - volumes[0]) / 3  # second order
    sheet = cover(Outline(0, 0, *size[:2]), z, size[2], 0.5 * MM, [Outline(0, 0, *hole)])
    modes = sheet_modes(sheet, BRASS, unknowns=600)
    g = sheet_touch(modes, CoilBox(20 * MM, 3.5 * MM, 6.5 * MM, 6 * MM))
    # 300, 600, 1200 unknowns leave 0.7, 0.3, 0.1 %
    assert float(g @ g) / (BRASS * 0.5 * MM) == pytest.approx(known, rel=0.005)
