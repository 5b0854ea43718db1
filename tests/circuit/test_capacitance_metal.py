"""Capacitance of a winding to the metal near it, and its three capacitors.

Witnesses that share no formula with ours: finite elements of rods in a bore, run here (NGSolve); closed forms of
coaxial and parallel cylinders; the energy of a winding added up turn by turn; the worked figures of the project's
design; then reciprocity, scaling and the order of convergence.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.errors import DomainError
from lodestring.physics.capacitance_metal import (
    Face,
    ToMetal,
    all_round,
    inner_face,
    plate_face,
    row_depth,
    stacked_er,
    to_metal,
)
from lodestring.physics.capacitance_pair import EPSILON0
from lodestring.physics.capacitance_plan import Circle, Oblong, plan_capacitance
from lodestring.physics.coil_box import CoilBox

MM, UM, PF = 1e-3, 1e-6, 1e-12
A1 = CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM)
SIX = tuple(Circle((i - 2.5) * 10.4 * MM, 0.0, 2.4 * MM) for i in range(6))


def bore(box: CoilBox) -> Oblong:
    return Oblong(0.0, 0.0, box.straight + 2 * box.inner, 2 * box.inner, box.inner)


# ---- plane problem ----


@pytest.mark.parametrize("gap", [2.4, 0.8, 0.2, 0.05])
def test_a_rod_in_a_round_bore_is_a_coaxial_line(gap: float) -> None:
    found = plan_capacitance((Circle(0.0, 0.0, 2.4 * MM),), (Circle(0.0, 0.0, (2.4 + gap) * MM),))
    # panels as long as half the gap: 0.5 % is what the docstring promises
    assert found == pytest.approx(2 * math.pi * EPSILON0 / math.log1p(gap / 2.4), rel=0.005)


@pytest.mark.parametrize(
    ("diameter", "spacing", "expected"),
    [(63.5 * UM, 76.2 * UM, 4.469461e-11), (1e-3, 2e-3, 2.112160e-11)],
    ids=["C13 42 gauge", "C13 1 mm"],
)
def test_two_rods_alone_hold_what_electrostatics_says(diameter: float, spacing: float, expected: float) -> None:
    one, other = Circle(0.0, 0.0, diameter / 2), Circle(spacing, 0.0, diameter / 2)
    assert plan_capacitance((one,), (other,)) == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize(("other", "spacing"), [(0.3, 3.0), (4.0, 7.0)], ids=["thin", "thick and near"])
def test_two_unlike_rods_alone_hold_what_electrostatics_says(other: float, spacing: float) -> None:
    # textbook: 2 pi e0 / acosh((s^2 - a^2 - b^2)/(2 a b))
    found = plan_capacitance((Circle(0.0, 0.0, 2.4),), (Circle(0.0, spacing, other),))
    exact = 2 * math.pi * EPSILON0 / math.acosh((spacing**2 - 2.4**2 - other**2) / (2 * 2.4 * other))
    assert found == pytest.approx(exact, rel=0.005)


def test_finer_panels_converge() -> None:
    exact = 2 * math.pi * EPSILON0 / math.log(3.4 / 2.4)
    error = [
        abs(plan_capacitance((Circle(0, 0, 2.4 * MM),), (Circle(0, 0, 3.4 * MM),), fineness) / exact - 1)
        for fineness in (6.0, 12.0, 24.0)
    ]
    # smooth outlines and even panels: second order, a quarter each time
    assert error[1] < 0.35 * error[0]
    assert error[2] < 0.35 * error[1]


def _meshed(rods: tuple[Circle, ...], face: Oblong) -> float:
    """Capacitance [F/m] of rods to the obround face round them, by finite elements in mm."""
    occ = pytest.importorskip("netgen.occ", reason="pip install netgen-mesher ngsolve")
    ng = pytest.importorskip("ngsolve", reason="pip install ngsolve")
    s, r = (face.length - face.width) / MM, face.width / 2 / MM
    room = occ.WorkPlane(occ.Axes((-s / 2, -r, 0), occ.Z)).Rectangle(s, 2 * r).Face()
    for x in (-s / 2, s / 2):
        room = room + occ.WorkPlane(occ.Axes((x, 0, 0), occ.Z)).Circle(r).Face()
    room.edges.name = "face"
    for rod in rods:
        disc = occ.WorkPlane(occ.Axes((rod.x / MM, rod.y / MM, 0), occ.Z)).Circle(rod.radius / MM).Face()
        disc.edges.name = "rod"
        room = room - disc
    mesh = ng.Mesh(occ.OCCGeometry(room, dim=2).GenerateMesh(maxh=r / 3, grading=0.3))
    mesh.Curve(4)
    space = ng.H1(mesh, order=4, dirichlet="face|rod")
    u, v = space.TnT()
    form = ng.BilinearForm(ng.grad(u) * ng.grad(v) * ng.dx).Assemble()
    level = ng.GridFunction(space)
    level.Set(mesh.BoundaryCF({"rod": 1.0}, default=0.0), ng.BND)
    rest = (-form.mat * level.vec).Evaluate()
    level.vec.data += form.mat.Inverse(space.FreeDofs(), "sparsecholesky") * rest
    return float(ng.Integrate(ng.grad(level) * ng.grad(level), mesh)) * EPSILON0


@pytest.mark.parametrize(
    ("rods", "inner"),
    [
        (SIX, 3.2 * MM),
        (SIX, 2.5 * MM),
        ((Circle(-20 * MM, 0.4 * MM, 2.0 * MM), Circle(3 * MM, -0.9 * MM, 2.4 * MM)), 3.6 * MM),
    ],
    ids=["A1", "wrap of 0.1 mm", "two off the middle"],
)
def test_rods_in_a_bore_agree_with_finite_elements(rods: tuple[Circle, ...], inner: float) -> None:
    face = Oblong(0.0, 0.0, 52 * MM + 2 * inner, 2 * inner, inner)
    # fourth-order elements, error below 1e-4; ours 0.5 %
    assert plan_capacitance(rods, (face,)) == pytest.approx(_meshed(rods, face), rel=0.005)


@settings(max_examples=12)  # three plane solves each
@given(st.floats(0.5, 5.0), st.floats(-3.0, 3.0), st.floats(4.5, 9.0))
def test_either_side_may_be_called_the_metal_and_size_scales_out(radius: float, y: float, x: float) -> None:
    one, other = (Circle(0.0, 0.0, 2.0),), (Circle(x + radius, y, radius),)
    value = plan_capacitance(one, other)
    assert plan_capacitance(other, one) == pytest.approx(value, rel=1e-9)
    small = (Circle(0.0, 0.0, 2.0 * MM),), (Circle((x + radius) * MM, y * MM, radius * MM),)
    assert plan_capacitance(*small) == pytest.approx(value, rel=1e-6)  # rounding may move a panel's end


# ---- faces ----


def test_six_rods_against_the_inner_turns_hold_the_worked_figures() -> None:
    # the project's design: 7.7 pF in air, 23 pF if the gap has er 3, hot start only; two digits
    air, filled = inner_face(A1, SIX, 1.0, A1.height), inner_face(A1, SIX, 3.0, A1.height)
    assert air.capacitance == pytest.approx(7.7 * PF, abs=0.05 * PF)
    assert filled.capacitance == pytest.approx(23 * PF, abs=0.5 * PF)
    tied = to_metal([air])
    assert tied.start_hot == air.capacitance
    assert tied.finish_hot == 0.0


def test_a_cover_beside_the_outer_turns_holds_the_worked_figure() -> None:
    # the project's design: 13.6 pF at 1 mm, hot finish only: its plate formula, outer turn's length times h/g, leaves
    # out that the half tubes at the ends widen (2 %)
    cover = all_round(A1, 1 * MM, 1.0, A1.height)
    assert cover.capacitance == pytest.approx(13.6 * PF, rel=0.03)
    assert to_metal([cover]).start_hot == 0.0
    assert to_metal([cover]).finish_hot == cover.capacitance


@pytest.mark.parametrize("clear", [0.3, 1.0, 3.0])
def test_a_wall_all_round_is_what_the_plane_solve_says(clear: float) -> None:
    r = 6.8 + clear
    wall = Oblong(0.0, 0.0, (52 + 2 * r) * MM, 2 * r * MM, r * MM)
    winding = Oblong(0.0, 0.0, 65.6 * MM, 13.6 * MM, 6.8 * MM)
    solved = 10.5 * MM * plan_capacitance((wall,), (winding,))
    assert all_round(A1, clear * MM, 1.0, 10.5 * MM).capacitance == pytest.approx(solved, rel=0.005)


def test_a_blade_in_the_bore_is_a_plate_condenser_with_ends() -> None:
    # 40 x 3 mm in a bore 6.4 wide: two gaps of 1.7 mm, and the ends, which hold less than their own perimeter would
    blade = (Oblong(0.0, 0.0, 40 * MM, 3 * MM, 0.0),)
    found = inner_face(A1, blade, 1.0, A1.height).capacitance
    plates = EPSILON0 * A1.height * 2 * 40 / 1.7
    assert plates < found < plates + EPSILON0 * A1.height * 2 * (3 / 1.7 + 4 * 0.6)  # a corner adds about 0.6 gap


@pytest.mark.parametrize("diameter", [0.4, 0.6, 0.8377])
def test_a_row_of_wires_acts_like_a_plane_behind_its_face(diameter: float) -> None:
    # a ring of 40 wires inside a tube; nothing inside the ring: field on one side only, as for a winding
    count, clear = 40, 1.5
    radius = count / (2 * math.pi)
    ring = tuple(
        Circle(radius * math.cos(t), radius * math.sin(t), diameter / 2) for t in 2 * math.pi * np.arange(count) / count
    )
    held = plan_capacitance((Circle(0.0, 0.0, radius + clear),), ring, 3.0)
    acts = (radius + clear) / math.exp(2 * math.pi * EPSILON0 / held)
    # the formula's own 0.02; bend of the ring and 48 panels a wire: 0.005
    assert row_depth(diameter, 1.0, 1.0) == pytest.approx(radius + 0.5 - acts, abs=0.025)


# ---- three capacitors ----

volts = st.floats(-10.0, 10.0)


@given(volts, volts, volts)
def test_three_capacitors_store_what_the_turns_store(start: float, finish: float, metal: float) -> None:
    """The winding over a plate, added up shell by shell, and its inner and outer turns, against the three of ours."""
    clear, er = 2 * MM, 4.0
    faces = [inner_face(A1, SIX, 1.0, A1.height), all_round(A1, 1 * MM, 1.0, A1.height), plate_face(A1, clear, er)]
    tied = to_metal(faces)
    ours = 0.5 * (
        tied.start_metal * (start - metal) ** 2
        + tied.finish_metal * (finish - metal) ** 2
        + tied.start_finish * (start - finish) ** 2
    )
    xi = (np.arange(20000) + 0.5) / 20000
    r = A1.inner + xi * A1.depth
    ring = (2 * A1.straight + 2 * math.pi * r) * A1.depth / xi.size
    level = start + (finish - start) * xi
    stored = 0.5 * EPSILON0 * er / clear * float(ring @ (level - metal) ** 2)
    stored += 0.5 * faces[0].capacitance * (start - metal) ** 2 + 0.5 * faces[1].capacitance * (finish - metal) ** 2
    # midpoint rule of 20,000 shells: 1e-9 of the largest term
    assert ours == pytest.approx(stored, rel=1e-6, abs=1e-17)


def test_a_plate_under_turns_of_one_length_weighs_a_third() -> None:
    # long straight coil, so that turns weigh alike: <u^2> = 1/3 for either hot end, as for C16's quadratic energy
    long = CoilBox(1e3, 3.2 * MM, 6.8 * MM, 10.5 * MM)
    plate = plate_face(long, 2 * MM, 1.0)
    tied = to_metal([plate])
    assert tied.start_hot == pytest.approx(plate.capacitance / 3, rel=1e-5)
    assert tied.finish_hot == pytest.approx(plate.capacitance / 3, rel=1e-5)
    assert tied.start_finish == pytest.approx(-plate.capacitance / 6, rel=1e-5)


def test_metal_left_floating_beside_the_inner_turns_adds_nothing() -> None:
    tied = to_metal([inner_face(A1, SIX, 3.0, A1.height)])
    both = tied.start_metal + tied.finish_metal
    across = tied.start_metal * tied.finish_metal / both + tied.start_finish  # the metal's node eliminated
    assert across == pytest.approx(0.0, abs=1e-20)


def test_faces_of_one_node_add_up() -> None:
    faces = [Face(3 * PF, 0.0, 0.0), Face(5 * PF, 1.0, 1.0), Face(6 * PF, 0.5, 1 / 3)]
    whole = to_metal(faces)
    assert whole.start_metal == pytest.approx(6 * PF, rel=1e-12)
    assert whole.finish_metal == pytest.approx(8 * PF, rel=1e-12)
    assert whole.start_finish == pytest.approx(-1 * PF, rel=1e-12)
    assert to_metal([]) == ToMetal(0.0, 0.0, 0.0)


def test_layers_in_a_gap_add_like_capacitors_in_series() -> None:
    wrap, air = (0.1 * MM, 3.0), (0.3 * MM, 1.0)
    series = 1.0 / (wrap[0] / wrap[1] + air[0] / air[1])
    assert stacked_er((wrap, air)) / 0.4e-3 == pytest.approx(series, rel=1e-12)
    assert stacked_er((wrap,)) == pytest.approx(3.0, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: plan_capacitance((), SIX), "lies between two sides"),
        (lambda: plan_capacitance(SIX, (Oblong(0, 0, 56.8 * MM, 4.8 * MM, 2.4 * MM),)), "keep a distance"),
        (lambda: inner_face(A1, (Circle(0, 2 * MM, 2.4 * MM),), 1.0, A1.height), "reaches 1.2 mm into the winding"),
        (lambda: inner_face(A1, SIX, 0.5, A1.height), "permittivity is at least 1"),
        (lambda: inner_face(A1, SIX, 1.0, 0.0), "height above 0"),
        (lambda: all_round(A1, 0.0, 1.0, A1.height), "distance above 0"),
        (lambda: all_round(A1, math.nan, 1.0, A1.height), "distance above 0"),
        (lambda: plate_face(A1, 2 * MM, 1.0, 1.5), "from 0 to 1"),
        (lambda: Circle(0, 0, 0.0), "radius above 0"),
        (lambda: Oblong(0, 0, 10 * MM, 3 * MM, 2 * MM), "half the width"),
        (lambda: stacked_er(()), "one above 0"),
        (lambda: row_depth(80 * UM, 70 * UM, 75 * UM), "side by side"),
    ],
    ids=["none", "touch", "outside", "er", "height", "clear", "nan", "covered", "rod", "corner", "layers", "row"],
)
def test_what_cannot_be_is_refused_in_words(call, says: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(DomainError, match=says):
        call()
