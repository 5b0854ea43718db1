"""Rods and rectangular bodies together: finite elements, an open-source library for magnets, laws and limits.

The finite-element rows are those of tests/magnetics/fem_results.json (both formulations; their mean is taken). Systems
are invented.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lodestring.errors import DomainError
from lodestring.physics import bodies_touch
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.bodies_coil import bodies_touch as touch_of
from lodestring.physics.coil import CoilBox, air_inductance, coil_field
from lodestring.physics.inductance import answer, linkage, poles_inductance
from lodestring.physics.panels import Box
from lodestring.physics.pole_field import lateral_field
from lodestring.physics.poles import MU0, PoleSystem, Rod

MM = 1e-3
RESULTS = Path(__file__).resolve().parent.parent / "magnetics" / "fem_results.json"
FEM: dict[str, Any] = json.loads(RESULTS.read_text(encoding="utf-8")) if RESULTS.exists() else {}


def rod(
    x: float, y: float = 0.0, z: float = 0.0, length: float = 16.0, diameter: float = 4.8, mu: complex = 4.0
) -> Rod:
    """Millimetres."""
    return Rod(x * MM, y * MM, z * MM, length * MM, diameter / 2 * MM, mu)


def box(centre: tuple[float, ...], size: tuple[float, ...], mu: complex = 1.05) -> Box:
    """Millimetres."""
    return Box(tuple(c * MM for c in centre), tuple(s * MM for s in size), mu)  # type: ignore[arg-type]


ROW = [rod(x) for x in (-10, 0, 10)]
UNDER = box((0, 0, -10.6), (34, 6, 4))  # 0.6 mm below the rods
COIL = CoilBox(24e-3, 3.2e-3, 6.5e-3, 10e-3)
ABOVE = np.array([[x, y, z] for x in (0.0, 4.0, 10.0) for y in (0.0, 2.0) for z in (9.0, 11.0)]) * MM


def magnet_field(system: MagneticSystem, rods: Any, boxes: Any, points: np.ndarray) -> np.ndarray:
    """H of magnets with what leans to one side of each rod, one pass."""
    sigma = system.of_magnets(rods, boxes)
    lateral = system.lateral(*system.drawn(sigma))
    field = system.field_operator(points) @ (sigma + system.in_field(system.leant(lateral)))
    if system.poles:
        field = field + lateral_field(system.poles, system.of_rods(lateral), points)
    return np.asarray(field)


# ---- finite elements ----

# L and linkage as the issue asks: 0.4 % with bars under the rods, 1 % for blades, bars between rows, baseplates.
# The field at the strings has twice that: it is the small rest of what the steel leaves.
# B6: steel rods 0.5 mm apart, without a box.
ROWS = {"B2": 4e-3, "B2_gap": 4e-3, "B3": 1e-2, "B3_bar": 1e-2, "B4": 1e-2, "B5": 1e-2, "B6": 1e-2}


def solved(name: str) -> dict[str, Any]:
    """One row of the finite elements by our own code."""
    geometry = FEM[name]["geometry_m"]
    c = geometry["coil"]
    coil = CoilBox(c["s"], c["ri"], c["ro"], c["h"])
    rods = [
        Rod(r["x"], r["y"], r["z0"] + r["length"] / 2, r["length"], r["diameter"] / 2, r["mu"])
        for r in geometry["rods"]
    ]
    boxes = [Box(tuple(b["centre"]), tuple(b["size"]), b["mu"]) for b in geometry["blocks"]]
    system = MagneticSystem(rods, boxes)
    touch = touch_of(system, coil)
    one = answer(system, touch)
    br, magnets = [r["br"] for r in geometry["rods"]], [b["magnetisation"] for b in geometry["blocks"]]
    points = np.array(FEM[name]["points_m"])
    lateral = system.lateral(one.cosine, one.sine)
    field = system.field_operator(points) @ (one.sigma + system.in_field(system.leant(lateral))) + coil_field(
        coil, points
    )
    if system.poles:
        field = field + lateral_field(system.poles, system.of_rods(lateral), points)
    return {
        "L": c["turns"] ** 2 * (air_inductance(coil) + poles_inductance(system, one, touch, one).real),
        "linkage": c["turns"] * linkage(system, system.of_magnets(br, magnets), touch, one),
        "coil": MU0 * c["turns"] * field,
        "magnets": MU0 * magnet_field(system, br, magnets, points),
    }


@pytest.mark.parametrize(("name", "allowed"), ROWS.items(), ids=ROWS.keys())
def test_inductance_linkage_and_field_are_those_of_finite_elements(name: str, allowed: float) -> None:
    if name not in FEM:
        pytest.skip(f"run python tests/magnetics/fem_cases.py {name}")
    row, ours = FEM[name], solved(name)
    assert ours["L"] == pytest.approx((row["inductance_low_H"] + row["inductance_high_H"]) / 2, rel=allowed)
    if any(row["linkage_pair_Wb"]):
        assert ours["linkage"] == pytest.approx(sum(row["linkage_pair_Wb"]) / 2, rel=allowed)
    for key, stored in (("coil", "coil_b_pair_T_per_A"), ("magnets", "magnet_b_pair_T")):
        upward = np.mean(row[stored], axis=0)[:, 2]
        assert np.allclose(ours[key][:, 2], upward, rtol=2 * allowed, atol=2 * allowed * np.abs(upward).max() / 10)


# ---- the same as what is already known ----


def test_rods_alone_are_solved_as_by_the_rods_own_system() -> None:
    alone, system = PoleSystem(ROW), MagneticSystem(ROW, [])
    normal = np.random.default_rng(1).normal(size=alone.count)
    normal -= system._whose.T @ (system._whose @ (system._of_whole * normal))  # no net flux, as of any real field
    assert np.allclose(system.in_field(normal), alone.in_field(normal), rtol=1e-10)
    assert np.allclose(system.of_magnets([1.0, -1.0, 0.5]), alone.of_magnets([1.0, -1.0, 0.5]), rtol=1e-10)


def test_magnets_of_permeability_one_have_the_field_of_magpylib() -> None:
    magpylib = pytest.importorskip("magpylib", reason="pip install magpylib")
    system = MagneticSystem([replace(r, mu=1.0) for r in ROW], [replace(UNDER, mu=1.0)])
    ours = magnet_field(system, [1.0, 1.0, -1.0], [(0.1, 0.2, 0.4)], ABOVE)
    bodies = [
        magpylib.magnet.Cylinder(
            magnetization=(0, 0, b / MU0), dimension=(2 * r.radius, r.length), position=(r.x, r.y, r.z)
        )
        for r, b in zip(ROW, (1.0, 1.0, -1.0), strict=True)
    ]
    bodies.append(
        magpylib.magnet.Cuboid(
            magnetization=np.array([0.1, 0.2, 0.4]) / MU0, dimension=UNDER.size, position=UNDER.centre
        )
    )
    # rods: 8 Gauss points on a panel, 1 mm above the edge of the disc: 1e-4 of the field
    assert np.allclose(ours, magpylib.getH(bodies, ABOVE, sumup=True), rtol=1e-4, atol=1e-4 * np.abs(ours).max())


def test_rods_answer_a_bar_magnet_as_they_answer_the_field_that_magpylib_gives_it() -> None:
    magpylib = pytest.importorskip("magpylib", reason="pip install magpylib")
    system, alone = MagneticSystem(ROW, [replace(UNDER, mu=1.0)]), PoleSystem(ROW)
    bar = magpylib.magnet.Cuboid(magnetization=(0, 0, 0.4 / MU0), dimension=UNDER.size, position=UNDER.centre)
    points, phi = alone.ring_points(48)
    field = bar.getH(points.reshape(-1, 3)).reshape(points.shape)
    radial = field[..., 0] * np.cos(phi) + field[..., 1] * np.sin(phi)
    expected = alone.in_field((radial * alone.n_rho[:, None] + field[..., 2] * alone.n_z[:, None]).mean(axis=1))
    ours = system.of_magnets((), [(0, 0, 0.4)])[: alone.count]
    # 8 angles against 48
    assert np.allclose(ours, expected, rtol=0, atol=2e-3 * np.abs(expected).max())


def test_a_box_of_permeability_one_without_magnetisation_is_not_there() -> None:
    touch = touch_of(MagneticSystem(ROW, [replace(UNDER, mu=1.0)]), COIL)
    system = MagneticSystem(ROW, [replace(UNDER, mu=1.0)])
    with_it, alone = answer(system, touch), MagneticSystem(ROW, [])
    without = answer(alone, touch_of(alone, COIL))
    assert np.allclose(with_it.sigma[: alone.count], without.sigma, rtol=1e-9)
    assert not with_it.sigma[alone.count :].any()


# ---- laws ----


def test_the_mutual_inductance_of_two_coils_over_rods_bar_and_blade_is_the_same_from_either() -> None:
    rods = [rod(x, mu=200.0) for x in (-10, 0, 10)]
    system = MagneticSystem(rods, [box((0, 0, -10.6), (34, 6, 4), 1.1), box((0, 18, 0), (28, 3, 16), 100.0)])
    near, far = touch_of(system, COIL), touch_of(system, COIL, (0.0, 18e-3, 0.0))
    one, other = answer(system, near), answer(system, far)
    # reciprocity holds to the quadrature of the answers: 2e-3 on this mesh
    assert poles_inductance(system, one, far, other) == pytest.approx(
        poles_inductance(system, other, near, one), rel=2e-3
    )


def test_a_magnets_flux_through_the_coil_is_the_coils_field_on_the_magnet() -> None:
    # reciprocity: linkage = integral of M_fixed . mu0 H per ampere over the magnet; H at Gauss points in the bar
    system = MagneticSystem(ROW, [UNDER])
    touch = touch_of(system, COIL)
    one = answer(system, touch)
    lateral = system.lateral(one.cosine, one.sine)
    x, w = np.polynomial.legendre.leggauss(10)
    grid = np.stack(np.meshgrid(x, x, x, indexing="ij"), axis=-1).reshape(-1, 3) * np.array(UNDER.size) / 2
    weight = np.einsum("i,j,k->ijk", w, w, w).ravel() / 8 * np.prod(UNDER.size)
    at = grid + np.array(UNDER.centre)
    inside = coil_field(COIL, at) + system.field_operator(at) @ (one.sigma + system.in_field(system.leant(lateral)))
    assert system.poles is not None
    inside = inside + lateral_field(system.poles, system.of_rods(lateral), at)
    by_field = 0.4 * float(weight @ inside[:, 2])
    assert linkage(system, system.of_magnets((), [(0, 0, 0.4)]), touch, one) == pytest.approx(by_field, rel=3e-3)


LOPSIDED = [rod(-9, 1.0, 0.5), rod(1, -0.5, 0, 14), rod(12, 0.0, 1.0, 18, 4.0)]
MIRRORS = {"left and right": (-1, 1), "to and fro": (1, -1), "both": (-1, -1)}


@pytest.mark.parametrize("sign", MIRRORS.values(), ids=MIRRORS.keys())
def test_a_mirrored_pickup_has_the_mirrored_field(sign: tuple[int, int]) -> None:
    sx, sy = sign
    plan = box((3, 2, -12), (30, 5, 4)), box((2, 6.5, 0), (20, 3, 12), 50.0)
    field = magnet_field(MagneticSystem(LOPSIDED, plan), [1.0, 1.0, -1.0], [(0, 0, 0.4), (0, 0, 0)], ABOVE)
    rods = [replace(r, x=sx * r.x, y=sy * r.y) for r in LOPSIDED]
    boxes = [replace(b, centre=(sx * b.centre[0], sy * b.centre[1], b.centre[2])) for b in plan]
    flip = np.array([sx, sy, 1.0])
    image = magnet_field(MagneticSystem(rods, boxes), [1.0, 1.0, -1.0], [(0, 0, 0.4), (0, 0, 0)], ABOVE * flip)
    # what is left is the angles of the rings, which do not all fall on their images
    assert np.allclose(image * flip, field, rtol=0, atol=1e-6 * np.abs(field).max())


def test_a_pickup_turned_by_a_quarter_has_the_turned_field() -> None:
    plan = box((3, 2, -12), (30, 5, 4)), box((2, 6.5, 0), (20, 3, 12), 50.0)
    field = magnet_field(MagneticSystem(LOPSIDED, plan), [1.0, 1.0, -1.0], [(0, 0.2, 0.4), (0, 0, 0)], ABOVE)
    rods = [replace(r, x=-r.y, y=r.x) for r in LOPSIDED]
    boxes = [Box((-b.centre[1], b.centre[0], b.centre[2]), (b.size[1], b.size[0], b.size[2]), b.mu) for b in plan]
    at = np.stack([-ABOVE[:, 1], ABOVE[:, 0], ABOVE[:, 2]], axis=1)
    turned = magnet_field(MagneticSystem(rods, boxes), [1.0, 1.0, -1.0], [(-0.2, 0, 0.4), (0, 0, 0)], at)
    expected = np.stack([-field[:, 1], field[:, 0], field[:, 2]], axis=1)
    assert np.allclose(turned, expected, rtol=0, atol=1e-6 * np.abs(field).max())


def test_fields_of_magnets_add_up() -> None:
    system = MagneticSystem(ROW, [UNDER])
    both = system.of_magnets([1.0, 0.5, -1.0], [(0.1, 0, 0.4)])
    assert np.allclose(both, system.of_magnets([1.0, 0.5, -1.0]) + system.of_magnets((), [(0.1, 0, 0.4)]), rtol=1e-9)


def test_every_body_keeps_no_net_charge_even_of_steel_in_contact() -> None:
    system = MagneticSystem([rod(x, mu=1000.0) for x in (-10, 0, 10)], [box((0, 0, -8.75), (40, 16, 1.5), 1000.0)])
    sigma = answer(system, touch_of(system, COIL)).sigma
    for where in (*system.slices, *system.box_slices):
        charge = system.area[where] * sigma[where]
        assert abs(charge.sum()) < 1e-8 * np.abs(charge).sum()


def test_a_complex_permeability_goes_through_the_same_solve() -> None:
    plate = box((0, 0, -9.5), (40, 16, 1.5), 200.0)
    real = MagneticSystem(ROW, [plate])
    touch = touch_of(real, COIL)
    plain = poles_inductance(real, answer(real, touch), touch, answer(real, touch))
    for mu, check in (
        (200.0 + 0j, lambda dl: dl == pytest.approx(plain, rel=1e-10)),
        (150.0 - 50j, lambda dl: dl.imag < 0),
    ):
        system = MagneticSystem(ROW, [replace(plate, mu=mu)])
        one = answer(system, touch)
        assert check(poles_inductance(system, one, touch, one))


# ---- contact ----


def test_touching_bodies_give_finite_numbers_that_a_gap_of_two_micrometres_hardly_changes() -> None:
    def flux(gap: float) -> float:
        system = MagneticSystem(ROW, [box((0, 0, -10 - gap), (34, 6, 4))])
        touch = touch_of(system, COIL)
        return linkage(system, system.of_magnets((), [(0, 0, 0.4)]), touch, answer(system, touch))

    # 1 % for each 0.05 mm (the finite-element rows B2 and B2_gap): 4e-4 for 2 um
    assert flux(0.0) == pytest.approx(flux(2e-3), rel=1e-3)


def test_a_bar_cut_in_two_touching_halves_acts_as_the_whole() -> None:
    whole = MagneticSystem(ROW, [UNDER])
    halves = MagneticSystem(ROW, [box((x, 0, -10.6), (17, 6, 4)) for x in (-8.5, 8.5)])
    one, two = (magnet_field(s, (), [(0, 0, 0.4)] * len(s.boxes), ABOVE)[:, 2] for s in (whole, halves))
    # the cut faces carry charge of chi times the field along the bar; on a weak mesh its answer is good to 10 %
    assert np.allclose(one, two, rtol=2e-3)


def test_a_rod_touching_a_bar_with_its_side_gives_a_finite_answer() -> None:
    system = MagneticSystem(ROW, [box((0, 4.4, 0), (34, 4, 6))])
    assert np.isfinite(system.of_magnets([1.0] * 3, [(0, 0.4, 0)])).all()


OVERLAPS = {
    "rod in bar": ([rod(0), rod(10)], [box((10, 0, -9), (8, 6, 4))], "pole piece 2 and box 1"),
    "corner in rod": ([rod(0)], [box((3.5, 3.5, 0), (4, 4, 4))], "pole piece 1 and box 1"),
    "bar in bar": ([], [box((0, 0, 0), (8, 6, 4)), box((5, 0, 1), (8, 6, 4))], "boxes 1 and 2"),
}


@pytest.mark.parametrize(("rods", "boxes", "said"), OVERLAPS.values(), ids=OVERLAPS.keys())
def test_bodies_that_overlap_are_named(rods: list[Rod], boxes: list[Box], said: str) -> None:
    with pytest.raises(DomainError, match=said):
        MagneticSystem(rods, boxes)


def test_a_corner_that_clears_the_rod_is_not_an_overlap() -> None:
    # 2.4 mm radius; the corner at 1.8, 1.8 mm is 2.55 mm from the axis
    MagneticSystem([rod(0)], [box((3.8, 3.8, 0), (4, 4, 4))])


def test_nothing_at_all_and_a_wrong_number_of_magnets_are_refused() -> None:
    with pytest.raises(DomainError, match="at least one"):
        MagneticSystem([], [])
    with pytest.raises(DomainError, match="one remanence for each"):
        MagneticSystem(ROW, [UNDER]).of_magnets([1.0])


def test_a_blade_that_cuts_the_winding_is_named() -> None:
    system = MagneticSystem([], [box((0, 0, 0), (24, 3, 12), 100.0), box((0, 8, 0), (24, 9, 4), 100.0)])
    with pytest.raises(DomainError, match="box 2"):
        touch_of(system, COIL)


def test_the_least_gap_is_the_one_that_is_written() -> None:
    standing = rod(0, z=0.0)
    x, y, z = bodies_touch.offset_of_rod(standing, box((0, 0, -10), (34, 6, 4)))
    assert (x, y) == (0.0, 0.0)
    assert z - 10e-3 == pytest.approx(bodies_touch.LEAST_GAP, rel=1e-3)
