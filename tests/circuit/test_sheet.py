"""Laws that eddy currents in a sheet obey whatever its shape, the kernels under them, and what is refused.

Witnesses: Gauss quadrature and differences for the kernels; reciprocity between coils, field and moment, which ties the
vector potential (flux through the sheet) to Biot and Savart (field of the sheet); energy; scaling; passivity.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.errors import DomainError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.bodies_coil import bodies_touch
from lodestring.physics.coil import CoilBox, air_inductance, coil_field, moment
from lodestring.physics.inductance import answer, coil_touch, moment_of_poles, poles_inductance
from lodestring.physics.panels import Box
from lodestring.physics.pole_field import field_operator
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.physics.sheet_coil import (
    field_change,
    field_factor,
    inductance_change,
    kept,
    moment_change,
    sheet_touch,
)
from lodestring.physics.sheet_kernel import SEVEN, SEVEN_WEIGHTS, charge_matrix, opening_potential, potential_and_field
from lodestring.physics.sheet_mesh import SheetMesh, sheet_mesh
from lodestring.physics.sheet_modes import SheetModes, at_permeability, sheet_modes, skin_depth
from lodestring.physics.sheet_shape import Outline, Sheet, cover, foil_ring, plate, refuse_magnetic, round_hole
from lodestring.physics.sheet_vector import coil_potential_vector

MU0 = 4e-7 * math.pi
MM = 1e-3
NICKEL_SILVER, BRASS = 1 / 28.7e-8, 1 / 6.2e-8
A1 = CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM)
PITCH = [(k - 2.5) * 10.4 * MM for k in range(6)]
COVER = cover(
    Outline(0, 0, 70 * MM, 17 * MM, 3 * MM), 7.5 * MM, 15 * MM, 0.5 * MM, [round_hole(x, 0, 5.4 * MM) for x in PITCH]
)
RODS = PoleSystem([Rod(x, 0, 0, 16 * MM, 2.4 * MM, 4.0) for x in PITCH])
TINY = CoilBox(0.0, 0.05 * MM, 0.06 * MM, 0.01 * MM)
F = np.geomspace(20, 5e4, 40)


def covered(conductivity: float = NICKEL_SILVER) -> tuple[SheetModes, np.ndarray]:
    modes = sheet_modes(COVER, conductivity, RODS)
    return modes, sheet_touch(modes, A1, poles=answer(RODS, coil_touch(RODS, A1)))


# ---- kernels ----


def two_triangles() -> SheetMesh:
    nodes = np.array([[0.0, 0, 0], [2, 0.3, 0], [0.4, 1.5, 0.2], [5, 4, 1], [7, 4, 1.5], [5.5, 6, 0.5]])
    return SheetMesh(nodes, np.array([[0, 1, 2], [3, 4, 5]]), np.array([0, 1, 2, 3, 4, 5]), ())


def points_on(corners: np.ndarray, depth: int) -> tuple[np.ndarray, np.ndarray]:
    """Seven points on each of 4^depth parts of a triangle, and weights (sum 1)."""
    parts = [corners]
    for _ in range(depth):
        halves = [(p, 0.5 * (p + np.roll(p, -1, axis=0))) for p in parts]
        parts = [
            part
            for p, m in halves
            for part in (
                np.array([p[0], m[0], m[2]]),
                np.array([m[0], p[1], m[1]]),
                np.array([m[2], m[1], p[2]]),
                m,
            )
        ]
    return np.concatenate([SEVEN @ p for p in parts]), np.tile(SEVEN_WEIGHTS, len(parts)) / len(parts)


def test_the_seven_points_integrate_every_polynomial_of_degree_five() -> None:
    for a in range(6):
        for b in range(6 - a):
            known = 2.0 * math.factorial(a) * math.factorial(b) / math.factorial(a + b + 2)
            assert SEVEN_WEIGHTS @ (SEVEN[:, 0] ** a * SEVEN[:, 1] ** b) == pytest.approx(known, rel=1e-12)


def test_a_triangle_on_itself_and_two_apart_are_what_quadrature_gives() -> None:
    mesh = two_triangles()
    found = charge_matrix(mesh)
    (p, w), (q, v) = points_on(mesh.corners[0], 3), points_on(mesh.corners[1], 3)
    apart = np.linalg.norm(p[:, None] - q, axis=2)
    assert found[0, 1] == pytest.approx(float(w @ (1 / apart) @ v) * mesh.area[0] * mesh.area[1], rel=1e-3)
    # on itself: leave out each point's own part, whose share falls with the part's size; extrapolate in it
    own = []
    for depth in (3, 4):
        p, w = points_on(mesh.corners[0], depth)
        r = np.linalg.norm(p[:, None] - p, axis=2)
        own.append(float(w @ np.where(r > 0, 1 / np.where(r > 0, r, 1), 0.0) @ w) * mesh.area[0] ** 2)
    assert found[0, 0] == pytest.approx(2 * own[1] - own[0], rel=2e-3)


def test_the_potential_of_a_sheet_is_that_of_a_layer_of_dipoles() -> None:
    mesh = two_triangles()
    at = np.array([[0.8, 0.5, 0.9], [-1.0, 2.0, -0.4], [5.5, 4.5, 0.2], [3.0, 3.0, 3.0]])
    psi, _ = potential_and_field(mesh, at)
    lift = np.array([0.0, 0.0, 1.0])  # so that the corners' coordinates are independent
    p, w = points_on(mesh.corners[0], 4)
    arm = at[:, None] - p
    dipole = (arm @ mesh.normal[0]) / np.linalg.norm(arm, axis=2) ** 3 / (4 * math.pi)
    for corner in range(3):
        value = np.linalg.solve((mesh.corners[0] + lift).T, (p + lift).T)[corner]
        assert psi[:, corner] == pytest.approx(dipole @ (w * value) * mesh.area[0], rel=1e-4)


SHAPES = {
    "cover": COVER,
    "plate with a slot": plate(
        Outline(5 * MM, 0, 60 * MM, 30 * MM), 1 * MM, 1 * MM, [Outline(0, 2 * MM, 30 * MM, 6 * MM, 2 * MM)]
    ),
    "ring": foil_ring(Outline(0, 0, 40 * MM, 20 * MM, 10 * MM), 4 * MM, 8 * MM, 0.1 * MM),
}


@pytest.mark.parametrize("sheet", SHAPES.values(), ids=SHAPES)
def test_a_closed_current_has_the_gradient_of_its_potential_as_its_field(sheet: Sheet) -> None:
    # two kernels: solid angles with logarithms, and Biot and Savart
    mesh = sheet_mesh(sheet, 120)
    values = np.random.default_rng(3).normal(size=mesh.count)
    at = np.array([[3.0, 1.0, 12.0], [-9.0, 3.0, 15.0], [20.0, 30.0, -2.0], [1.0, 0.5, -14.0]]) * MM

    def potential(points: np.ndarray) -> np.ndarray:
        psi = potential_and_field(mesh, points)[0] @ (mesh.spread @ values)
        return psi + sum(values[n] * opening_potential(polygon, points) for n, polygon, _ in mesh.loops)

    field = np.einsum("pnx,n->px", potential_and_field(mesh, at)[1], mesh.spread @ values)
    step = 1e-3 * MM
    for c in range(3):
        move = step * np.eye(3)[c]
        slope = (potential(at + move) - potential(at - move)) / (2 * step)
        assert -slope == pytest.approx(field[:, c], rel=1e-5, abs=1e-6 * float(np.abs(field).max()))


@pytest.mark.parametrize("box", [A1, CoilBox(0.0, 3 * MM, 8 * MM, 8 * MM)], ids=["obround", "round"])
def test_the_curl_of_the_vector_potential_is_the_coils_field(box: CoilBox) -> None:
    at = np.array([[2.0, 1.0, 7.0], [30.0, 4.0, 6.5], [10.0, 9.0, 2.0], [-36.0, 3.0, -8.0], [0.5, 14.0, 0.0]]) * MM
    step = 2e-3 * MM
    slope = np.zeros((3, len(at), 2))
    for c in range(3):
        move = step * np.eye(3)[c]
        slope[c] = (coil_potential_vector(box, at + move) - coil_potential_vector(box, at - move)) / (2 * step)
    b = np.stack([-slope[2, :, 1], slope[2, :, 0], slope[0, :, 1] - slope[1, :, 0]], axis=1)
    known = MU0 * coil_field(box, at)
    assert np.max(np.abs(b - known)) < 2e-4 * np.max(np.abs(known))


# ---- laws ----


def test_the_mesh_covers_the_metal_and_each_opening_is_one_unknown() -> None:
    mesh = sheet_mesh(COVER, 300)
    assert mesh.area.sum() == pytest.approx(COVER.area, rel=4e-3)
    assert len(mesh.loops) == 6
    assert np.all(mesh.normal[np.isclose(mesh.normal[:, 2], 0) == 0, 2] > 0.99)
    wall = mesh.corners[np.isclose(mesh.normal[:, 2], 0)].mean(axis=1)
    outward = mesh.normal[np.isclose(mesh.normal[:, 2], 0)]
    assert np.all(np.sum(outward[:, :2] * wall[:, :2], axis=1) > 0)  # a convex box about the origin
    # around every inner side of the triangles the current crosses steadily: two triangles, opposite directions
    sides = np.concatenate([mesh.triangles[:, [0, 1]], mesh.triangles[:, [1, 2]], mesh.triangles[:, [2, 0]]])
    directed = {(int(a), int(b)) for a, b in sides}
    assert len(directed) == len(sides)


@pytest.mark.parametrize("rods", [False, True], ids=["air", "rods"])
def test_what_a_coil_does_at_a_point_a_small_coil_there_does_to_it(rods: bool) -> None:
    # two routes: field of the currents that the coil drives, and flux of a tiny coil through the same patterns. In air
    # three points a triangle leave 1.5e-4; rods see a tiny coil 4 mm above them by ten angles
    system = RODS if rods else None
    modes = sheet_modes(COVER, BRASS, system, 200)
    at = (PITCH[3] + 2 * MM, 1.5 * MM, 12.0 * MM)

    def flux(box: CoilBox, place: tuple[float, float, float]) -> np.ndarray:
        found = answer(RODS, coil_touch(RODS, box, place)) if rods else None
        return np.asarray(sheet_touch(modes, box, place, found))

    g, tiny = flux(A1, (0, 0, 0)), flux(TINY, at)
    by_coil = inductance_change(modes, g, tiny, F) / (MU0 * moment(TINY))
    by_field = field_change(modes, g, np.array([at]), F)[:, 0, 2]
    assert np.max(np.abs(by_coil - by_field)) < (2e-3 if rods else 3e-4) * np.max(np.abs(by_field))


def test_an_even_field_reaches_a_covered_coil_as_the_moment_says() -> None:
    # a large coil around everything makes a nearly even field; its flux through the patterns is their moment. 0.2 %:
    # the field of a ring 1 m wide over 70 mm varies by (3/4)(35/1000)^2
    modes, g = covered()
    wide = CoilBox(0.0, 0.999, 1.001, 2e-3)
    even = sheet_touch(modes, wide, poles=answer(RODS, coil_touch(RODS, wide))) / (0.5 * MU0)
    assert inductance_change(modes, g, even, F) == pytest.approx(moment_change(modes, g, F), rel=3e-3)
    whole = moment(A1) + moment_of_poles(RODS, answer(RODS, coil_touch(RODS, A1))).real
    assert np.all(moment_change(modes, g, F).real < 0)
    assert abs(moment_change(modes, g, [60.0])[0]) < 0.01 * whole  # hum goes through nickel silver


@pytest.mark.parametrize("conductivity", [NICKEL_SILVER, BRASS], ids=["nickel silver", "brass"])
def test_a_cover_only_loses_and_the_more_the_higher_the_frequency(conductivity: float) -> None:
    modes, g = covered(conductivity)
    change = inductance_change(modes, g, g, F)
    resistance = (2j * math.pi * F * change).real
    assert np.all(resistance > 0)
    assert np.all(np.diff(resistance) > 0)
    assert np.all(np.diff(change.real) < 0)
    assert np.all(change.real < 0)
    # even a perfect cover leaves the coil some inductance
    found = answer(RODS, coil_touch(RODS, A1))
    whole = air_inductance(A1) + poles_inductance(RODS, found, coil_touch(RODS, A1), found).real
    assert float(np.sum(g * g / modes.tau)) < whole


def test_the_loss_is_what_the_currents_burn() -> None:
    modes, g = covered(BRASS)
    mesh, f = modes.mesh, 5e3
    s = 2j * math.pi * f
    psi = modes.psi @ (-s * g / (1 + s * modes.tau))
    flow = np.stack([c @ psi for c in mesh.current])
    burnt = float(np.sum(mesh.area * np.sum(np.abs(flow) ** 2, axis=0))) / (BRASS * COVER.thickness)
    assert (s * inductance_change(modes, g, g, f)[0]).real == pytest.approx(burnt, rel=1e-9)


def scaled(sheet: Sheet, factor: float) -> Sheet:
    o = sheet.outline
    outline = Outline(factor * o.x, factor * o.y, factor * o.length, factor * o.width, factor * o.corner)
    holes = [
        Outline(factor * h.x, factor * h.y, factor * h.length, factor * h.width, factor * h.corner) for h in sheet.holes
    ]
    return cover(outline, factor * sheet.z, factor * sheet.depth, factor * sheet.thickness, holes)


@settings(max_examples=5)
@given(factor=st.floats(0.3, 3.0), share=st.floats(0.2, 5.0))
def test_size_and_conductivity_scale(factor: float, share: float) -> None:
    # lengths times a: L times a, time constants times a^2; sigma times b: time constants times b
    one = sheet_modes(COVER, BRASS, unknowns=100)
    other = sheet_modes(scaled(COVER, factor), share * BRASS, unknowns=100)
    g = sheet_touch(one, A1)
    big = CoilBox(factor * A1.straight, factor * A1.inner, factor * A1.outer, factor * A1.height)
    q = sheet_touch(other, big)
    seen = inductance_change(other, q, q, F / (factor**2 * share))
    assert seen == pytest.approx(
        factor * inductance_change(one, g, g, F), rel=1e-3
    )  # ties in the mesh are cut by rounding


def test_only_conductivity_times_thickness_counts() -> None:
    thin = cover(COVER.outline, COVER.z, COVER.depth, 0.25 * MM, COVER.holes)
    one, other = sheet_modes(COVER, BRASS, unknowns=100), sheet_modes(thin, 2 * BRASS, unknowns=100)
    assert other.tau == pytest.approx(one.tau, rel=1e-9)


def test_mirrored_coils_under_one_cover_answer_alike_and_help_each_other() -> None:
    box = CoilBox(50 * MM, 3 * MM, 7 * MM, 8 * MM)
    shell = cover(Outline(0, 0, 70 * MM, 36 * MM, 2 * MM), 6 * MM, 12 * MM, 0.5 * MM)
    modes = sheet_modes(shell, BRASS)
    one, other = (sheet_touch(modes, box, (0, y, 0)) for y in (9 * MM, -9 * MM))
    own, like = inductance_change(modes, one, one, F), inductance_change(modes, other, other, F)
    assert own == pytest.approx(like, rel=0.003)  # the mesh is not quite its own mirror image
    mutual = inductance_change(modes, one, other, F)
    assert np.all(np.abs(mutual) < np.abs(own))
    # any two currents together lose energy
    matrix = np.array([[own, mutual], [mutual, like]]).imag.transpose(2, 0, 1)
    assert np.all(np.linalg.eigvalsh(-matrix) > 0)


def test_the_same_permeability_changes_nothing() -> None:
    modes, g = covered()
    few = kept(modes, [g], 1e-3)
    h = sheet_touch(few, A1, poles=answer(RODS, coil_touch(RODS, A1)))
    again = at_permeability(few, RODS)
    assert inductance_change(again, h, h, F) == pytest.approx(inductance_change(few, h, h, F), rel=1e-9)
    at = np.array([[0.0, 2 * MM, 12 * MM]])
    assert field_change(again, h, at, F[:3]) == pytest.approx(field_change(few, h, at, F[:3]), rel=1e-9)


def test_a_few_patterns_hold_the_whole_within_the_error_they_state() -> None:
    modes, g = covered()
    few = kept(modes, [g], 1e-3)
    assert len(few.tau) < 60 < len(modes.tau)
    assert 0.0 < few.left_out <= 1e-3
    h = sheet_touch(few, A1, poles=answer(RODS, coil_touch(RODS, A1)))
    off = np.abs(inductance_change(few, h, h, F) - inductance_change(modes, g, g, F))
    assert np.max(off) <= few.left_out * float(np.sum(g * g / modes.tau)) * (1 + 1e-9)


def test_a_blade_in_a_slot_counts_as_well_as_rods_in_holes() -> None:
    # a box in a MagneticSystem; it leads flux through its slot and so raises the loss, less than twofold here
    slot = Outline(0, 0, 60 * MM, 5 * MM, 0.5 * MM)
    shell = cover(Outline(0, 0, 74 * MM, 20 * MM, 2 * MM), 7.5 * MM, 15 * MM, 0.5 * MM, [slot])
    blade = MagneticSystem([], [Box((0, 0, 0), (56 * MM, 3 * MM, 17 * MM), 4.0)])
    touch = bodies_touch(blade, A1)
    found = answer(blade, touch)
    modes = sheet_modes(shell, NICKEL_SILVER, blade, 200)
    g = sheet_touch(modes, A1, poles=found)
    bare = sheet_modes(shell, NICKEL_SILVER, unknowns=200)
    q = sheet_touch(bare, A1)
    assert (
        -1.0 > inductance_change(modes, g, g, [1e3])[0].imag / abs(inductance_change(bare, q, q, [1e3])[0].imag) > -2.0
    )
    # reciprocity through the blade, as for rods
    at = (3 * MM, 4 * MM, 12 * MM)
    tiny = sheet_touch(modes, TINY, at, answer(blade, bodies_touch(blade, TINY, at)))
    by_coil = inductance_change(modes, g, tiny, F) / (MU0 * moment(TINY))
    by_field = field_change(modes, g, np.array([at]), F)[:, 0, 2]
    assert np.max(np.abs(by_coil - by_field)) < 0.01 * np.max(np.abs(by_field))


def test_covers_do_what_the_trade_says() -> None:
    # common practice, no source: a nickel-silver cover takes 1 to 3 % of L, brass 5 to 15 %; no frequency is given. At
    # 2 to 3 kHz, on the way to the resonance, ours do; a string loses little
    for conductivity, low, high in ((NICKEL_SILVER, 0.005, 0.03), (BRASS, 0.05, 0.2)):
        modes, g = covered(conductivity)
        touch = coil_touch(RODS, A1)
        found = answer(RODS, touch)
        whole = air_inductance(A1) + poles_inductance(RODS, found, touch, found).real
        taken = -inductance_change(modes, g, g, [2e3, 3e3]).real / whole
        assert low < taken[0] < taken[1] < high + 0.02
        at = np.array([[PITCH[0], 0, 12 * MM]])
        still = coil_field(A1, at)[:, 2] + (field_operator(RODS, at) @ found.sigma)[:, 2]
        assert np.all(np.abs(field_factor(modes, g, still, at, [1e2, 3e3])) < 1.0)


def test_a_hole_lets_flux_through_and_no_cover_takes_nothing() -> None:
    loss = []
    for width in (3.0, 9.0, 13.0):
        shell = cover(
            COVER.outline, COVER.z, COVER.depth, COVER.thickness, [Outline(0, 0, 60 * MM, width * MM, 1 * MM)]
        )
        g = sheet_touch(modes := sheet_modes(shell, BRASS, unknowns=200), A1)
        loss.append(-float(inductance_change(modes, g, g, 1e3)[0].imag))
    assert loss[0] > loss[1] > loss[2] > 0


def test_the_skin_depth_is_the_printed_one() -> None:
    # check values C10, C11: copper 60 Hz, 1 and 10 kHz; nickel silver, brass
    for conductivity, f, depth in (
        (58e6, 60.0, 8.531600),
        (58e6, 1e3, 2.089807),
        (58e6, 1e4, 0.660855),
        (1 / 29e-8, 1e3, 8.570756),
        (1 / 6.4e-8, 1e4, 1.273240),
    ):
        assert skin_depth(conductivity, f) == pytest.approx(depth * MM, rel=1e-6)


# ---- refused ----

O = Outline(0, 0, 60 * MM, 20 * MM, 2 * MM)
BAD: dict[str, tuple[Callable[[], object], str]] = {
    "no width": (lambda: Outline(0, 0, 1.0, 0.0), "above 0"),
    "corner too large": (lambda: Outline(0, 0, 1.0, 0.5, 0.3), "corner radius"),
    "hole over the edge": (lambda: plate(O, 0, 1 * MM, [round_hole(28 * MM, 0, 6 * MM)]), "inside its outline"),
    "holes that overlap": (
        lambda: plate(O, 0, 1 * MM, [round_hole(0, 0, 6 * MM), round_hole(4 * MM, 0, 6 * MM)]),
        "apart from each other",
    ),
    "no thickness": (lambda: plate(O, 0, 0.0), "thickness above 0"),
    "a block": (lambda: plate(O, 0, 5 * MM), "thickness above 0"),
    "ring without height": (lambda: foil_ring(O, 0, 0.0, 0.1 * MM), "depth above 0"),
    "steel": (lambda: refuse_magnetic(150.0), "permeability of 1.5 at most"),
    "no conductivity": (lambda: sheet_modes(COVER, 0.0), "conductivity above 0"),
    "no number": (lambda: sheet_modes(COVER, math.nan), "conductivity above 0"),
    "too few pieces": (lambda: sheet_modes(COVER, BRASS, unknowns=5), "at least 20"),
    "rod without a hole": (
        lambda: sheet_modes(cover(COVER.outline, COVER.z, COVER.depth, COVER.thickness), BRASS, RODS),
        "in a hole wider than itself",
    ),
    "coil in the metal": (lambda: sheet_touch(sheet_modes(COVER, BRASS), A1, (0, 4 * MM, 0)), "do not share space"),
    "poles that the patterns do not know": (
        lambda: sheet_touch(sheet_modes(COVER, BRASS), A1, poles=answer(RODS, coil_touch(RODS, A1))),
        "pole pieces whose answer",
    ),
    "other pole pieces": (
        lambda: at_permeability(sheet_modes(COVER, BRASS), RODS),
        "keep the pole pieces that they were made with",
    ),
    "skin depth at rest": (lambda: skin_depth(BRASS, 0.0), "above 0"),
}


@pytest.mark.parametrize(("act", "words"), BAD.values(), ids=BAD)
def test_a_sheet_that_cannot_be_is_refused(act: Callable[[], object], words: str) -> None:
    with pytest.raises(DomainError, match=words):
        act()


def test_nickel_silver_is_not_refused() -> None:
    refuse_magnetic(1.0)
