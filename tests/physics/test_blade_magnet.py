"""Working point of magnet blades, and how blades answer a string.

Witnesses: the sum rule of demagnetising factors and the cube's third, quadrature by scipy, the straight curve whose
answer is known, magpylib (an open-source library for magnets) slice by slice, the surface-charge solution of the whole
blade, a longer piece of blade on a finer mesh.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import dblquad

from lodestring.errors import DomainError
from lodestring.physics import string_boxes
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.magnet_state import (
    MagnetBlade,
    MagnetCurve,
    MagnetRod,
    _cuts,
    _own_of,
    effective_remanence,
    rod_states,
)
from lodestring.physics.panels import Box
from lodestring.physics.poles import MU0
from lodestring.physics.rectangle_charge import field_across, mean_potential
from lodestring.physics.string_boxes import box_reaction
from lodestring.physics.string_field import trapezoid
from lodestring.physics.string_run import Line

MM = 1e-3
FIVE = MagnetCurve(1.28, 51e3, 43.8e3, 4.3)  # alnico 5, MMPA typical figures, from memory (hi; recoil mid)
BLADE = MagnetBlade(0.0, 0.0, 0.0, 17 * MM, 60 * MM, 3 * MM, FIVE, 1)


def straight(mu: float, br: float = 1.0) -> MagnetCurve:
    """A curve that is its own recoil line."""
    coercivity = br / (mu * MU0)
    return MagnetCurve(br, coercivity, br * coercivity / 4, mu)


# ---- charged rectangles ----


@pytest.mark.parametrize("d", [0.5, 2.0, 7.0])
def test_the_mean_potential_is_the_integral_over_pairs_of_points(d: float) -> None:
    a, b = 6.0, 3.0
    found, _ = dblquad(lambda v, u: (a - u) * (b - v) / np.sqrt(u * u + v * v + d * d), 0, a, 0, b, epsabs=1e-12)
    assert mean_potential(a, b, np.array(d)) == pytest.approx(found / (np.pi * a * b), rel=1e-9)


def test_far_away_a_rectangle_is_a_point_and_at_its_face_half_its_charge() -> None:
    a, b = 60 * MM, 3 * MM
    assert mean_potential(a, b, np.array(5.0)) == pytest.approx(a * b / (4 * np.pi * 5.0), rel=1e-4)
    near = field_across(a, b, np.array(0.0), np.array(0.0), np.array([1e-9, -1e-9]))
    assert near == pytest.approx([0.5, -0.5], abs=1e-6)


def factor(x: float, y: float, z: float) -> float:
    """Magnetometric demagnetising factor along z of a prism, from evenly magnetised slices."""
    blade = replace(BLADE, long=x, thick=y, length=z)
    thickness = np.diff(_cuts(z))
    return float(-(thickness @ _own_of(blade) @ np.ones(len(thickness))) / z)


@pytest.mark.parametrize("size", [(60, 3, 17), (10, 10, 10), (40, 8, 4)], ids=str)
def test_the_factors_of_three_directions_add_up_to_one(size: tuple[float, float, float]) -> None:
    x, y, z = (s * MM for s in size)
    # exact for any body; the slices are exact for even magnetisation
    assert factor(x, y, z) + factor(y, z, x) + factor(z, x, y) == pytest.approx(1.0, abs=1e-9)
    assert factor(10.0, 10.0, 10.0) == pytest.approx(1.0 / 3.0, abs=1e-9)


# ---- the working point ----


@pytest.mark.parametrize("mu", [1.05, 4.0])
def test_a_blade_without_a_knee_keeps_its_remanence(mu: float) -> None:
    blade = replace(BLADE, curve=straight(mu))
    assert effective_remanence(rod_states([blade])[0], blade) == pytest.approx(1.0, rel=1e-6)


def test_slices_of_a_straight_curve_are_magnetised_as_the_whole_solution_says() -> None:
    # The surface-charge solution of a blade with recoil permeability 3 and Br 1 T: M varies over its section there, and
    # is even over it here; 2 per cent of the mean M is what that makes.
    blade = replace(BLADE, curve=straight(3.0))
    system = MagneticSystem((), (Box((0, 0, 0), (60 * MM, 3 * MM, 17 * MM), 3.0),), "f")
    charge = system.of_magnets((), [(0.0, 0.0, 1.0)])
    whole = float(np.sum(system.area * charge * system.z)) / (60 * 3 * 17 * MM**3)
    state = rod_states([blade])[0]
    slices = float(np.sum(state.m * np.diff(state.cuts))) / (17 * MM)
    assert slices == pytest.approx(whole, rel=0.02)


def test_one_remanence_gives_the_field_of_all_slices_at_the_string() -> None:
    magpylib = pytest.importorskip("magpylib", reason="pip install magpylib")
    state = rod_states([BLADE])[0]
    slices = [
        magpylib.magnet.Cuboid(
            magnetization=(0, 0, m), dimension=(60 * MM, 3 * MM, high - low), position=(0, 0, (low + high) / 2)
        )
        for m, low, high in zip(state.left, state.cuts[:-1], state.cuts[1:], strict=True)
    ]
    one = magpylib.magnet.Cuboid(
        magnetization=(0, 0, effective_remanence(state, BLADE) / MU0),
        dimension=(60 * MM, 3 * MM, 17 * MM),
        position=(0, 0, 0),
    )
    at = np.array([0.0, 0.0, 10e-3])
    assert one.getH(at)[2] == pytest.approx(magpylib.getH(slices, at, sumup=True)[2], rel=1e-6)


def test_a_blade_keeps_less_than_its_catalogue_and_the_more_the_taller_it_is() -> None:
    values = [
        effective_remanence(rod_states([b])[0], b) for b in (replace(BLADE, length=h * MM) for h in (8, 12, 17, 25))
    ]
    assert values == sorted(values)
    assert values[0] > 0.3
    assert values[-1] < FIVE.remanence


def test_blades_turned_over_or_twice_the_size_are_in_the_same_state() -> None:
    two = [replace(BLADE, y=9 * MM), replace(BLADE, y=-9 * MM, up=-1)]
    big = [replace(b, y=2 * b.y, length=2 * b.length, long=2 * b.long, thick=2 * b.thick) for b in two]
    state, turned, large = (rod_states(list(s)) for s in (two, [replace(b, up=-b.up) for b in two], big))
    assert np.allclose(state[0].m, -turned[0].m)
    assert np.allclose(state[0].m, -state[1].m)
    assert np.allclose(large[0].m, state[0].m)


def test_like_blades_weaken_each_other_and_unlike_ones_hold() -> None:
    alone = effective_remanence(rod_states([BLADE])[0], BLADE)
    like, unlike = (rod_states([BLADE, replace(BLADE, y=9 * MM, up=up)])[0] for up in (1, -1))
    assert effective_remanence(like, BLADE) < alone < effective_remanence(unlike, BLADE)


def test_a_row_of_rods_and_the_blade_that_fills_it_weaken_a_third_alike() -> None:
    # Far off, six rods and a blade of their volume are the same source; each is taken in its own way (points, charged
    # rectangle), so this checks the two couplings against each other.
    third = MagnetRod(0.0, 60 * MM, 0.0, 17 * MM, 2.4 * MM, straight(1.0001), 1)
    rods = [MagnetRod(x * MM, 0, 0, 17 * MM, 2.4 * MM, straight(1.0001), 1) for x in (-25, -15, -5, 5, 15, 25)]
    blade = MagnetBlade(0, 0, 0, 17 * MM, 60 * MM, 6 * np.pi * 2.4**2 / 60 * MM, straight(1.0001), 1)
    fields = []
    for others in (rods, [blade]):
        state = rod_states([third, *others])[0]
        fields.append(float(np.mean((state.m - 1 / MU0) / 0.0001)))
    alone = float(np.mean((rod_states([third])[0].m - 1 / MU0) / 0.0001))
    assert fields[1] - alone == pytest.approx(fields[0] - alone, rel=0.02)


def test_a_blade_without_volume_is_refused() -> None:
    with pytest.raises(DomainError, match="length, thickness and height above 0"):
        replace(BLADE, thick=0.0)


# ---- a blade answers a string ----

PAIR = tuple(Box((0, y, -8.5 * MM), (72 * MM, 3 * MM, 18 * MM), 150.0) for y in (9 * MM, -9 * MM))


def answer_of(boxes: tuple[Box, ...], height: float, x: float = 0.01) -> np.ndarray:
    line = Line(x, height, 0.0, (-9e-3, 9e-3))
    nodes = line.nodes()
    found = box_reaction(boxes, line.points(nodes, 0, 0), line.frame(), 2e-7 * trapezoid(nodes))
    assert found is not None
    return found


@pytest.mark.parametrize("height", [1.5, 2.0, 3.5])
@pytest.mark.parametrize(
    "change",
    [
        {"HALF": 14e-3, "LINES": ((1e-3, 2.5e-3, 4.5e-3, 6.5e-3, 9e-3), ())},
        {"LINES": (tuple(k * 5e-4 for k in range(1, 14)), ())},
    ],
    ids=["longer", "finer"],
)
def test_a_longer_piece_of_blade_and_a_finer_mesh_answer_the_string_alike(
    height: float, change: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    # An answer that is 10 per cent of the output 1 mm over the blade and 2 per cent at 3 mm, where a longer piece adds
    # to it (6 per cent of it): 0.3 and 0.1 per cent of the output.
    nodes = Line(0.0, 0.0, 0.0, (-9e-3, 9e-3)).nodes()
    m = (nodes - 9e-3) * np.exp(-(((nodes - 9e-3) / 4e-3) ** 2))  # M along the string over one blade, roughly
    usual = answer_of(PAIR, height * MM) @ m
    string_boxes._solved.cache_clear()
    for name, value in change.items():
        monkeypatch.setattr(string_boxes, name, value)
    other = answer_of(PAIR, height * MM) @ m
    string_boxes._solved.cache_clear()
    assert np.abs(other - usual).max() < (0.03 if height < 3.0 else 0.06) * np.abs(usual).max()


def test_the_answer_to_a_string_is_mutual() -> None:
    # a dipole's field at another through the blade is the other's at it: the matrix along the string, with the dipole
    # sizes taken off, is symmetric; what is left is the panels' error
    line = Line(0.01, 3 * MM, 0.0, (-9e-3, 9e-3))
    nodes = line.nodes()
    whole = answer_of(PAIR, 3 * MM)[0] / (2e-7 * trapezoid(nodes))
    assert np.abs(whole - whole.T).max() < 0.03 * np.abs(whole).max()


def test_a_wide_steel_block_answers_with_the_strings_mirror_image(monkeypatch: pytest.MonkeyPatch) -> None:
    # Over iron without end (closed form by images) a dipole along the surface sees its image, turned round:
    # -b (3 s^2 / r^2 - 1) / (4 pi r^3), r^2 = s^2 + (2 h)^2, b = (mu - 1) / (mu + 1). The block is 50 mm of it, on a
    # mesh fine enough for a dipole 3 mm above it; 2 per cent is what its panels leave.
    monkeypatch.setattr(string_boxes, "HALF", 25e-3)
    lines = tuple(x * MM for x in (1, 2, 3, 4.5, 6.5, 9, 13))
    monkeypatch.setattr(string_boxes, "LINES", (lines, tuple(k * x for x in lines for k in (-1, 1))))
    string_boxes._solved.cache_clear()
    block = Box((0, 0, -15 * MM), (200 * MM, 50 * MM, 30 * MM), 150.0)
    line = Line(0.0, 3 * MM, 0.0, (0.0,))
    nodes = line.nodes()
    found = box_reaction((block,), line.points(nodes, 0, 0), line.frame(), np.ones(len(nodes)))
    string_boxes._solved.cache_clear()
    assert found is not None
    middle = len(nodes) // 2
    s, h = nodes - nodes[middle], 3 * MM
    r2 = s**2 + (2 * h) ** 2
    image = -(149.0 / 151.0) * (3 * s**2 / r2 - 1.0) / (4 * np.pi * r2**1.5)
    near = np.abs(s) < 8 * MM
    assert np.allclose(found[0][near, middle], image[near], atol=0.02 * image.max())


def test_a_ferrite_bar_or_a_blade_far_below_does_not_answer() -> None:
    line = Line(0.01, 3 * MM, 0.0, (0.0,))
    nodes = line.nodes()
    for box in (replace(PAIR[0], mu=1.05), replace(PAIR[0], centre=(0, 0, -40 * MM))):
        assert box_reaction((box,), line.points(nodes, 0, 0), line.frame(), trapezoid(nodes)) is None
