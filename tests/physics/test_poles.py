"""Rods that act on each other, and the field above them.

Witnesses: finite elements (rows A1-A3, A6 of the design page: scalar and vector potential, which bound each other),
magpylib and closed forms where the permeability is 1 (check values R10-R12), symmetry, superposition, scaling, order.
"""

from __future__ import annotations

import math
from dataclasses import replace

import magpylib
import numpy as np
import pytest

from lodestring.errors import DomainError
from lodestring.physics.coil import CoilBox, coil_field
from lodestring.physics.inductance import answer, coil_touch, remanence_charge
from lodestring.physics.pole_field import field_operator, lateral_field
from lodestring.physics.poles import MU0, PoleSystem, Rod

MM = 1e-3


def row(mu: complex, count: int = 6, pitch: float = 10.4) -> list[Rod]:
    """Rods of 4.8 x 16 mm, tops at z = 8 mm."""
    return [Rod((i - (count - 1) / 2) * pitch * MM, 0.0, 0.0, 16 * MM, 2.4 * MM, mu) for i in range(count)]


ONE = Rod(0.0, 0.0, 0.0, 14 * MM, 2.5 * MM, 4.0)
# coil, turns, rods without permeability, x and z of the pole top over which the field is known
A1 = (CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM), 7600, row(1.0), (-5.2 * MM, 8 * MM))
A6 = (CoilBox(0.0, 3 * MM, 8 * MM, 8 * MM), 5000, [ONE], (0.0, 7 * MM))
HEIGHTS = np.array([1.0, 2.0, 3.0, 5.0]) * MM
# Rows of the design page: case, mu, Bz/Br at the heights, coil Bz [mT/A] there, tolerance of magnets, of coil.
# A1, A2: printed to 5 digits, 0.03 % allowed for 36 unknowns a rod. Steel: 0.03-0.2 % stated for mesh m (a steel rod's
# own remanence leaves a hundredth of the air value, so 0.15 % of it is a millionth of that).
FIELDS = {
    "A1 mu 4": (A1, 4.0, (0.15112, 0.09777, 0.06429, 0.03313), (310.08, 239.71, 188.70, 127.79), 3e-4, 3e-4),
    "A2 mu 1": (A1, 1.0, (0.29659, 0.17258, 0.10549, 0.04982), (174.45, 146.95, 124.89, 92.72), 1e-4, 5e-5),
    "A3 mu 200": (A1, 200.0, (0.00667, 0.00483, 0.00339, 0.00187), (639.23, 493.94, 373.92, 234.55), 2e-3, 7e-4),
    "A6a mu 4": (A6, 4.0, (0.15920, 0.10385, 0.06753, 0.03193), (245.55, 180.43, 132.77, 76.94), 4e-4, 1e-3),
    "A6b mu 200": (A6, 200.0, (0.00743, 0.00540, 0.00373, 0.00187), (599.08, 452.24, 326.51, 177.68), 3e-3, 1.5e-3),
}


def over(
    system: PoleSystem, x: float, top: float, sigma: np.ndarray, cosine: np.ndarray, sine: np.ndarray
) -> np.ndarray:
    """B_z over a pole top, with what varies round the rods."""
    points = np.stack([np.full(4, x), np.zeros(4), top + HEIGHTS], axis=-1)
    round_them = lateral_field(system, system.lateral(cosine, sine), points)[:, 2]
    return MU0 * (field_operator(system, points)[:, 2] @ sigma + round_them)


@pytest.mark.parametrize(("case", "mu", "of_magnets", "of_coil", "within", "coil_within"), FIELDS.values(), ids=FIELDS)
def test_the_field_over_a_pole_piece_is_that_of_finite_elements(
    case: tuple[CoilBox, int, list[Rod], tuple[float, float]],
    mu: float,
    of_magnets: tuple[float, ...],
    of_coil: tuple[float, ...],
    within: float,
    coil_within: float,
) -> None:
    box, turns, rods, (x, top) = case
    system = PoleSystem([replace(r, mu=mu) for r in rods])
    magnets = remanence_charge(system, [1.0] * len(rods))
    b = over(system, x, top, magnets, *system.drawn(magnets))
    assert b == pytest.approx(np.array(of_magnets), rel=within)
    found = answer(system, coil_touch(system, box))
    charge = found.sigma + system.in_field(system.leant(system.lateral(found.cosine, found.sine)))
    points = np.stack([np.full(4, x), np.zeros(4), top + HEIGHTS], axis=-1)
    b = over(system, x, top, charge, found.cosine, found.sine) + MU0 * coil_field(box, points)[:, 2]
    assert b * turns * 1e3 == pytest.approx(np.array(of_coil), rel=coil_within)


def test_what_varies_round_the_rods_brings_the_coils_field_nearer() -> None:
    # design page: 0.25 % without, 0.11 % with it; A1 at 5 mm
    box, turns, rods, (x, top) = A1
    system = PoleSystem([replace(r, mu=4.0) for r in rods])
    found = answer(system, coil_touch(system, box))
    point = np.array([[x, 0.0, top + 5 * MM]])
    plain = MU0 * (coil_field(box, point)[0, 2] + field_operator(system, point)[0, 2] @ found.sigma) * turns * 1e3
    assert abs(plain / 127.79 - 1) == pytest.approx(1.6e-3, abs=3e-4)


# --- permeability 1: closed forms ---

# R10: Br 1.25 T, D 5, L 17 mm over the face; R11: Br 1 T, D 10, L 10 mm (1 / sqrt 5 on the face itself)
AXIAL = {
    "R10": (1.25, 5, 17, (1, 2, 2.5, 3, 4, 5, 10),
            (0.386938498, 0.229224530, 0.177984302, 0.140035373, 0.090618731, 0.061986290, 0.015998859)),
    "R11": (1.0, 10, 10, (2, 5), (0.275843123, 0.120788258)),
}  # fmt: skip


@pytest.mark.parametrize(("br", "d", "length", "heights", "known"), AXIAL.values(), ids=AXIAL)
def test_a_magnet_of_permeability_1_has_its_printed_field_on_the_axis(
    br: float, d: float, length: float, heights: tuple[float, ...], known: tuple[float, ...]
) -> None:
    system = PoleSystem([Rod(0, 0, 0, length * MM, d / 2 * MM, 1.0)])
    points = np.array([(0.0, 0.0, (length / 2 + h) * MM) for h in heights])
    b = MU0 * field_operator(system, points)[:, 2] @ system.of_magnets([br])
    assert b == pytest.approx(np.array(known), rel=1e-6)  # 8 Gauss points a panel, 1 mm and more away


def test_a_magnet_of_permeability_1_has_its_printed_field_off_the_axis() -> None:
    # R12: magpylib 6.3.0, J 1.25 T, D 5, L 17 mm, 2 mm over the face and in the middle plane
    places = [(1, 0, 10.5), (2.5, 0, 10.5), (4, 0, 10.5), (10, 0, 10.5), (5, 0, 0)]
    known = [(0.05700699831, 0.2117365567), (0.1051315056, 0.1279082074), (0.08385843704, 0.0497552125),
             (0.01681405627, 0.0001980495142), (0.0, -0.03400247344)]  # fmt: skip
    system = PoleSystem([Rod(0, 0, 0, 17 * MM, 2.5 * MM, 1.0)])
    b = MU0 * field_operator(system, np.array(places) * MM) @ system.of_magnets([1.25])
    assert b[:, [0, 2]] == pytest.approx(np.array(known), abs=1e-6)  # of 0.2 T
    assert np.max(np.abs(b[:, 1])) < 1e-15


def test_unlike_magnets_of_permeability_1_have_magpylibs_field_anywhere() -> None:
    rods = [Rod(-6 * MM, 1 * MM, 0, 12 * MM, 2 * MM, 1.0), Rod(5 * MM, -2 * MM, 3 * MM, 18 * MM, 2.4 * MM, 1.0)]
    strengths = [0.9, -1.2]
    rng = np.random.default_rng(7)
    points = rng.uniform(-15 * MM, 15 * MM, (60, 3))
    points[:, 2] = 14 * MM + np.abs(points[:, 2])
    system = PoleSystem(rods)
    b = MU0 * field_operator(system, points) @ system.of_magnets(strengths)
    known = sum(
        magpylib.magnet.Cylinder(
            polarization=(0, 0, j), dimension=(2 * r.radius, r.length), position=(r.x, r.y, r.z)
        ).getB(points)
        for r, j in zip(rods, strengths, strict=True)
    )
    assert b == pytest.approx(known, abs=2e-6 * float(np.max(np.abs(known))))  # 8 points a panel, 2 mm away at least


def test_iron_without_permeability_answers_no_field() -> None:
    system = PoleSystem(row(1.0))
    assert np.all(system.in_field(system.n_z) == 0.0)
    assert system.of_magnets([1.0] * 6) == pytest.approx(system.n_z / MU0, rel=1e-14)


def test_the_charge_that_varies_round_a_rod_is_that_of_a_bar_magnetised_across() -> None:
    # cos(phi) on the side = magnetised along x; magpylib, on the side and 3 mm over the top
    rod = Rod(0, 0, 0, 16 * MM, 2.4 * MM, 4.0)
    system = PoleSystem([rod], "f")
    cosine = np.zeros((3, system.count))
    cosine[0] = system.side / (2 * system.beta)
    points = np.array([[6, 0, 0], [0, 6, 2], [1, 2, 11], [-4, 3, 9]]) * MM
    found = lateral_field(system, system.lateral(cosine, 0 * cosine), points)
    magnet = magpylib.magnet.Cylinder(magnetization=(1.0, 0, 0), dimension=(4.8 * MM, 16 * MM))
    assert found == pytest.approx(magnet.getH(points), abs=3e-4)  # rings of the nodes themselves: 2e-4 of M at 3 mm


# --- laws ---

UNEVEN = [
    Rod(-15 * MM, 0.5 * MM, 0.5 * MM, 17 * MM, 2.4 * MM, 4.0),
    Rod(-5 * MM, -0.5 * MM, 0, 16 * MM, 2.4 * MM, 4.0),
    Rod(6 * MM, 0, 1 * MM, 18 * MM, 2.0 * MM, 100.0),
]
POINTS = np.array([[-5, 2, 11], [4, -3, 14], [0, 9, 0]]) * MM


def field(rods: list[Rod], strengths: list[float], points: np.ndarray = POINTS, mesh: str = "m") -> np.ndarray:
    system = PoleSystem(rods, mesh)
    charge = remanence_charge(system, strengths)
    across = lateral_field(system, system.lateral(*system.drawn(charge)), points)
    return MU0 * (field_operator(system, points) @ charge + across)


def test_fields_of_magnets_add() -> None:
    both = field(UNEVEN, [1.0, 0.4, 0.0])
    assert both == pytest.approx(field(UNEVEN, [1.0, 0.0, 0.0]) + 0.4 * field(UNEVEN, [0.0, 1.0, 0.0]), rel=1e-10)


def test_turning_every_magnet_turns_the_field() -> None:
    assert field(UNEVEN, [-1.0, -1.0, 0.0]) == pytest.approx(-field(UNEVEN, [1.0, 1.0, 0.0]), rel=1e-12)


@pytest.mark.parametrize("axis", [0, 1, 2], ids=["x", "y", "z"])
def test_the_mirror_image_of_the_rods_has_the_mirror_image_of_the_field(axis: int) -> None:
    sign = np.ones(3)
    sign[axis] = -1.0
    turned = [replace(r, x=r.x * sign[0], y=r.y * sign[1], z=r.z * sign[2]) for r in UNEVEN]
    # a magnetisation along z is turned by the mirror z -> -z; the field of charges is a true vector
    strengths = [1.0 * sign[2], 0.5 * sign[2], 0.0]
    mirrored = field(turned, strengths, POINTS * sign)
    assert mirrored * sign == pytest.approx(field(UNEVEN, [1.0, 0.5, 0.0]), rel=1e-9, abs=1e-12)


def test_neither_order_nor_place_of_the_whole_matters() -> None:
    known = field(UNEVEN, [1.0, 0.5, 0.0])
    assert field(UNEVEN[::-1], [0.0, 0.5, 1.0]) == pytest.approx(known, rel=1e-10)
    shift = np.array([3.0, -7.0, 20.0]) * MM
    moved = [replace(r, x=r.x + shift[0], y=r.y + shift[1], z=r.z + shift[2]) for r in UNEVEN]
    # distances are rounded to a nanometre, so that like pairs share a block
    assert field(moved, [1.0, 0.5, 0.0], POINTS + shift) == pytest.approx(known, rel=1e-5)


def test_twice_the_size_has_the_same_field() -> None:
    double = [Rod(2 * r.x, 2 * r.y, 2 * r.z, 2 * r.length, 2 * r.radius, r.mu) for r in UNEVEN]
    known = field(UNEVEN, [1.0, 0.5, 0.0])
    assert field(double, [1.0, 0.5, 0.0], 2 * POINTS) == pytest.approx(known, rel=1e-5)  # the nanometre again


def test_a_turned_row_is_the_row_turned() -> None:
    # thirty degrees about z: the directions of every pair enter
    c, s = math.cos(math.pi / 6), math.sin(math.pi / 6)
    turned = [replace(r, x=c * r.x - s * r.y, y=s * r.x + c * r.y) for r in UNEVEN]
    matrix = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    # what is left is the 16 points a ring stands for when its charge varies, next to 2e-4 of the field
    known = field(UNEVEN, [1.0, 0.5, 0.0]) @ matrix.T
    assert field(turned, [1.0, 0.5, 0.0], POINTS @ matrix.T) == pytest.approx(known, abs=2e-5 * np.abs(known).max())


def test_the_net_charge_of_every_rod_is_nothing() -> None:
    system = PoleSystem(UNEVEN)
    charge = remanence_charge(system, [1.0, 0.5, 0.0]) * system.area
    for where in system.slices:
        assert abs(charge[where].sum()) < 1e-12 * np.abs(charge).sum()


def test_a_real_permeability_given_as_complex_answers_alike() -> None:
    real, again = PoleSystem(UNEVEN), PoleSystem([replace(r, mu=complex(r.mu)) for r in UNEVEN])
    normal = real.n_z + 0.3 * real.n_rho
    assert again.in_field(normal) == pytest.approx(real.in_field(normal), rel=1e-10)


def test_the_fine_mesh_agrees_with_the_usual_one() -> None:
    coarse, fine = (field(UNEVEN, [1.0, 0.5, 0.0], mesh=mesh) for mesh in "mf")
    assert coarse == pytest.approx(fine, abs=1e-3 * float(np.max(np.abs(fine))))


def test_a_like_neighbour_weakens_a_magnet_and_an_unlike_one_strengthens_it() -> None:
    def moment(strengths: list[float]) -> float:
        system = PoleSystem(row(4.0, 2, 7.0))
        charge = remanence_charge(system, strengths) * system.area * system.z
        return float(charge[system.slices[0]].sum())

    assert moment([1.0, 1.0]) < moment([1.0, 0.0]) < moment([1.0, -1.0])


def test_forty_pole_pieces_work() -> None:
    rods = [replace(r, y=(-3.5 if i % 2 else 3.5) * MM) for i, r in enumerate(row(4.0, 40, 8.0))]
    system = PoleSystem(rods)
    charge = remanence_charge(system, [1.0] * 40)
    assert np.all(np.isfinite(charge))
    first, last = charge[system.slices[0]], charge[system.slices[-1]]
    assert first == pytest.approx(last, rel=1e-6)  # the row is its own image, turned by half a turn


# --- what cannot be ---

BAD: dict[str, tuple[list[Rod], str]] = {
    "none": ([], "at least one"),
    "overlapping": (row(4.0, 2, 4.0), "must not touch"),
    "touching": (row(4.0, 2, 4.8), "must not touch"),
    "one on top of the other": ([ONE, replace(ONE, z=14 * MM)], "must not touch"),
    "permeability below 1": (row(0.5, 2), "1 or more"),
    "no length": ([replace(ONE, length=0.0)], "above 0"),
    "no radius": ([replace(ONE, radius=0.0)], "above 0"),
    "place not a number": ([replace(ONE, x=math.nan)], "finite"),
    "endless permeability": ([replace(ONE, mu=math.inf)], "finite"),
}


@pytest.mark.parametrize(("rods", "says"), BAD.values(), ids=BAD)
def test_rods_that_cannot_be_are_refused_with_a_sentence(rods: list[Rod], says: str) -> None:
    with pytest.raises(DomainError, match=says):
        PoleSystem(rods)


def test_a_refusal_of_overlap_names_the_two() -> None:
    with pytest.raises(DomainError, match="numbers 2 and 3"):
        PoleSystem([*row(4.0, 2, 30.0), Rod(16 * MM, 0, 0, 16 * MM, 2.4 * MM, 4.0)])
