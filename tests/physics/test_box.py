"""Field of charged rectangles, against magpylib (an open-source library for magnets) and against brute quadrature."""

from __future__ import annotations

import numpy as np
import pytest

from lodestring.physics.box import Face, box_field, face_field, faces_of

MU0 = 4e-7 * np.pi
ROUNDING = 1e-11  # corner terms of order 1 for fields down to 1e-3 of the magnetisation: 1e-16 / 1e-3, and a margin
DIRECTIONS = {
    "along x": (1.0, 0.0, 0.0),
    "along y": (0.0, 1.0, 0.0),
    "along z": (0.0, 0.0, 1.0),
    "aslant": (0.3, -0.5, 0.8),
}
SIZE, CENTRE = np.array([30e-3, 6e-3, 4e-3]), np.array([2e-3, -1e-3, 5e-3])


def points(seed: int, count: int = 200) -> np.ndarray:
    """Inside, near and outside the body."""
    return CENTRE + np.random.default_rng(seed).uniform(-1.0, 1.0, (count, 3)) * SIZE * 1.5


@pytest.mark.parametrize("direction", DIRECTIONS.values(), ids=DIRECTIONS.keys())
def test_a_bar_magnet_has_the_field_of_magpylib_inside_and_out(direction: tuple[float, ...]) -> None:
    magpylib = pytest.importorskip("magpylib", reason="pip install magpylib")
    at = points(1)
    magnetisation = np.array(direction) * 0.4 / MU0
    bar = magpylib.magnet.Cuboid(magnetization=magnetisation, dimension=SIZE, position=CENTRE)
    assert np.allclose(box_field(CENTRE, SIZE, magnetisation, at), bar.getH(at), rtol=0, atol=ROUNDING * 0.4 / MU0)


CHARGES = {
    "even": lambda u, v: 1.0 + 0.0 * (u + v),
    "rising along u": lambda u, v: u + 0.0 * v,
    "rising along v": lambda u, v: v + 0.0 * u,
    "twisted": lambda u, v: u * v,
}


@pytest.mark.parametrize("axis", [0, 1, 2], ids="xyz")
@pytest.mark.parametrize("charge", CHARGES.values(), ids=CHARGES.keys())
def test_a_bilinear_charge_has_the_field_that_quadrature_gives(charge, axis: int) -> None:
    # 60 Gauss points a side on each panel; the nearest point is a third of a panel away: below 1e-9
    face = Face(axis, 1.0, 0.15, np.array([-0.5, 0.2, 0.3]), np.array([0.1, 0.3, 0.8]))
    at = np.array([[0.4, 0.9, -0.3], [-0.4, -1.9, 2.3], [0.5, 0.35, 0.6]])
    nodes = face.nodes
    ours = face_field(face, at) @ charge(nodes[:, (axis + 1) % 3], nodes[:, (axis + 2) % 3])
    x, w = np.polynomial.legendre.leggauss(60)
    brute = np.zeros((len(at), 3))
    for u0, u1 in zip(face.u[:-1], face.u[1:], strict=True):
        for v0, v1 in zip(face.v[:-1], face.v[1:], strict=True):
            u, v = u0 + (u1 - u0) * (x + 1) / 2, v0 + (v1 - v0) * (x + 1) / 2
            weight = np.outer(w, w) * (u1 - u0) * (v1 - v0) / 4 * charge(u[:, None], v[None, :])
            arm = at[:, None, :] - face.place(u, v)
            cube = (arm**2).sum(axis=2) ** 1.5
            brute += np.einsum("q,kqx->kx", weight.ravel(), arm / cube[..., None]) / (4 * np.pi)
    assert np.allclose(ours, brute, rtol=0, atol=1e-8)


def test_from_afar_a_panel_is_a_point_charge() -> None:
    face = Face(2, 1.0, 0.0, np.array([-1e-3, 1e-3]), np.array([-2e-3, 2e-3]))
    at = np.array([[0.1, 0.2, 0.3]])
    charge = 8e-6
    expected = charge * at / (4 * np.pi * np.linalg.norm(at) ** 3)
    # size over distance is 0.01; the first term left out is its square, times 0.2
    assert np.allclose(face_field(face, at).sum(axis=2), expected, rtol=1e-4)


def test_the_field_normal_to_a_face_jumps_by_its_charge_and_is_the_mean_on_it() -> None:
    face = Face(1, 1.0, 0.0, np.array([-1.0, 1.0]), np.array([-2.0, 2.0]))
    sides = face_field(face, np.array([[0.3, 1e-9, -0.2], [0.3, -1e-9, -0.2], [0.3, 0.0, -0.2]]))[:, 1].sum(axis=1)
    assert sides[0] - sides[1] == pytest.approx(1.0, abs=1e-8)
    assert sides[2] == pytest.approx((sides[0] + sides[1]) / 2, abs=1e-8)


def test_on_edges_corners_and_their_extensions_every_value_is_finite() -> None:
    low, high = CENTRE - SIZE / 2, CENTRE + SIZE / 2
    at = np.array(
        [[x, y, z] for x in (low[0], high[0], high[0] + 1e-3) for y in (low[1], 0.0) for z in (low[2], high[2])]
    )
    for face in faces_of(CENTRE, SIZE):
        assert np.isfinite(face_field(face, at)).all()


def test_a_divided_face_has_the_field_of_the_whole_one() -> None:
    whole = Face(0, 1.0, 0.0, np.array([-1.0, 1.0]), np.array([-2.0, 2.0]))
    parts = Face(0, 1.0, 0.0, np.array([-1.0, -0.9, 0.2, 1.0]), np.array([-2.0, 0.1, 2.0]))
    at = np.random.default_rng(3).uniform(-3, 3, (50, 3))
    assert np.allclose(face_field(whole, at).sum(axis=2), face_field(parts, at).sum(axis=2), rtol=0, atol=1e-13)
