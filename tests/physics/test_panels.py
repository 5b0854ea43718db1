"""Rectangular bodies in a uniform field: published factors and limits.

Magnetometric demagnetising factor of a prism at low susceptibility: A. Aharoni, J. Appl. Phys. 83 (1998) 3432, equation
1 (formula from memory, hi; it gives 1/3 for a cube and adds up to 1 over three axes, which is asserted). Cube of
infinite permeability: polarisability 3.6443 volumes (J. Helsing and K.-M. Perfekt, Appl. Comput. Harmon. Anal. 34
(2013) 445; from memory, mid; an older figure in print is 3.6432, which these tests could not tell from it).
"""

from __future__ import annotations

import numpy as np
import pytest

from lodestring.errors import DomainError
from lodestring.physics import panels
from lodestring.physics.panel_self import box_self
from lodestring.physics.panels import Box, BoxShape, panel_mesh, steps, with_lines

CONDUCTING_CUBE = 3.6443
SIZES = {
    "cube": (1.0, 1.0, 1.0),
    "bar": (80e-3, 6e-3, 4e-3),
    "blade": (60e-3, 3e-3, 16e-3),
    "plate": (70e-3, 30e-3, 1.5e-3),
}


def aharoni(a: float, b: float, c: float) -> float:
    """Factor along c of a prism 2a x 2b x 2c."""
    r, ab, bc, ca = np.sqrt(a * a + b * b + c * c), np.hypot(a, b), np.hypot(b, c), np.hypot(c, a)
    return (
        float(
            (b * b - c * c) / (2 * b * c) * np.log((r - a) / (r + a))
            + (a * a - c * c) / (2 * a * c) * np.log((r - b) / (r + b))
            + b / (2 * c) * np.log((ab + a) / (ab - a))
            + a / (2 * c) * np.log((ab + b) / (ab - b))
            + c / (2 * a) * np.log((bc - b) / (bc + b))
            + c / (2 * b) * np.log((ca - a) / (ca + a))
            + 2 * np.arctan(a * b / (c * r))
            + (a**3 + b**3 - 2 * c**3) / (3 * a * b * c)
            + (a * a + b * b - 2 * c * c) / (3 * a * b * c) * r
            + c / (a * b) * (ca + bc)
            - (ab**3 + bc**3 + ca**3) / (3 * a * b * c)
        )
        / np.pi
    )


def moment(size: tuple[float, float, float], mu: complex, axis: int, mesh: str = "m") -> complex:
    """Mean magnetisation along a unit field along an axis."""
    body, influence = panel_mesh(BoxShape(size, mesh)), box_self(BoxShape(size, mesh))
    matrix = (mu + 1) / 2 * np.eye(body.count) - (mu - 1) * influence
    sigma = np.linalg.solve(matrix, (mu - 1) * body.normal[:, axis])
    return (body.area * sigma) @ body.node[:, axis] / np.prod(size)


def test_the_prism_formula_of_the_source_is_a_third_for_a_cube_and_adds_up_to_one() -> None:
    assert aharoni(1.0, 1.0, 1.0) == pytest.approx(1 / 3, abs=1e-12)
    assert aharoni(1, 2, 3) + aharoni(2, 3, 1) + aharoni(3, 1, 2) == pytest.approx(1.0, abs=1e-12)


# What is left is quadrature near the edges. The weak mesh is for mu - 1 of a tenth: its error in N counts a tenth.
@pytest.mark.parametrize(("mesh", "allowed"), {"weak": 4e-3, "m": 1.5e-3, "f": 1.5e-3}.items(), ids=["weak", "m", "f"])
@pytest.mark.parametrize("axis", [0, 1, 2], ids="xyz")
@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES.keys())
def test_the_demagnetising_factor_at_low_permeability_is_the_published_one(
    size: tuple[float, float, float], axis: int, mesh: str, allowed: float
) -> None:
    # M / (chi H) = 1 - N chi + ...: N from the slope at 0
    chi = 1e-4
    slope = (1 - moment(size, 1 + chi, axis, mesh) / chi) / chi
    a, b, c = (size[(axis + k) % 3] / 2 for k in (1, 2, 3))
    assert slope == pytest.approx(aharoni(a, b, c), abs=allowed)


# Error allowed: each mesh's own, as the module states; it falls with the mesh.
@pytest.mark.parametrize(("mesh", "allowed"), {"m": 1.6e-2, "f": 1.0e-2}.items(), ids=["m", "f"])
def test_a_cube_of_very_high_permeability_has_the_polarisability_of_a_conducting_one(mesh: str, allowed: float) -> None:
    assert moment((1.0, 1.0, 1.0), 1e7, 2, mesh) == pytest.approx(CONDUCTING_CUBE, rel=allowed)


def test_the_error_of_a_cube_falls_by_more_than_two_when_even_steps_are_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    # the charge grows as r^-1/3 at an edge of 90 degrees, so on even steps the moment's error falls as h^4/3: by 2.5
    errors = []
    for n in (2, 4, 8):
        monkeypatch.setitem(panels.GRADINGS, f"{n} even", panels.Grading(1 / n, 1.0, 1 / n, 1 / n))
        errors.append(abs(moment((1.0, 1.0, 1.0), 1e7, 2, f"{n} even") / CONDUCTING_CUBE - 1))
    assert errors[1] < errors[0] / 2
    assert errors[2] < errors[1] / 2


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES.keys())
@pytest.mark.parametrize("mu", [5.0, 1e3, 1e6])
def test_charge_adds_up_to_zero_however_high_the_permeability(size: tuple[float, float, float], mu: float) -> None:
    body, influence = panel_mesh(BoxShape(size, "m")), box_self(BoxShape(size, "m"))
    assert np.allclose(body.area @ influence, body.area / 2, rtol=1e-11)
    sigma = np.linalg.solve((mu + 1) / 2 * np.eye(body.count) - (mu - 1) * influence, (mu - 1) * body.normal[:, 2])
    assert abs(body.area @ sigma) < 1e-13 * mu * (body.area @ abs(sigma))  # rounding, times mu


def test_a_cube_answers_alike_along_its_three_axes_and_a_box_does_not_care_how_it_is_named() -> None:
    along = [moment((1.0, 1.0, 1.0), 50.0, axis) for axis in range(3)]
    assert np.ptp(along) < 1e-10
    turned = [
        moment(size, 50.0, axis) for size, axis in (((6.0, 2.0, 1.0), 0), ((1.0, 6.0, 2.0), 1), ((2.0, 1.0, 6.0), 2))
    ]
    assert np.ptp(turned) < 1e-9


def test_a_long_thin_plate_takes_the_full_field_along_it_and_a_mu_th_across() -> None:
    # M = chi H / (1 + chi N): N of 200 x 20 x 0.2 is 0.0011 along and 0.987 across (Aharoni's formula at low chi)
    size, chi = (200e-3, 20e-3, 0.2e-3), 3.0
    assert moment(size, 1 + chi, 0) == pytest.approx(chi, rel=1e-2)
    assert moment(size, 1 + chi, 2) == pytest.approx(chi / (1 + chi), rel=2e-2)


def test_without_permeability_there_is_no_charge() -> None:
    assert moment((3.0, 2.0, 1.0), 1.0, 2) == 0.0
    assert abs(moment((3.0, 2.0, 1.0), 1.0 + 1e-9, 2)) < 2e-9


def test_size_does_not_matter_only_proportion() -> None:
    assert moment((60.0, 3.0, 16.0), 100.0, 2) == pytest.approx(moment((60e-3, 3e-3, 16e-3), 100.0, 2), rel=1e-9)


def test_a_complex_permeability_without_imaginary_part_changes_nothing_and_losses_have_one_sign() -> None:
    size = SIZES["blade"]
    assert moment(size, 100.0 + 0j, 2) == pytest.approx(moment(size, 100.0, 2), rel=1e-12)
    assert moment(size, 100.0 - 30j, 2).imag < 0.0


def test_steps_are_symmetric_fill_the_length_and_grow_from_the_edges() -> None:
    lines = steps(60e-3, 1e-3, 3.0, 10e-3)
    assert lines[0] == pytest.approx(-30e-3)
    assert np.allclose(lines, -lines[::-1])
    widths = np.diff(lines)[: len(lines) // 2]
    assert (np.diff(widths) >= -1e-12).all()


def test_lines_under_a_rod_are_kept_with_their_mirror_images_and_leave_no_sliver() -> None:
    lines = with_lines(steps(60e-3, 1e-3, 3.0, 10e-3), (2.6e-3, 5e-3, 7.4e-3))
    for line in (2.6e-3, 5e-3, 7.4e-3, -2.6e-3):
        assert np.min(np.abs(lines - line)) < 1e-9
    assert np.allclose(lines, -lines[::-1])
    assert np.diff(lines).min() > 0.7e-3


BAD = {
    "no thickness": ((0, 0, 0), (1e-2, 0.0, 1e-2), 5.0, "three sizes above 0"),
    "not a number": ((0, 0, float("nan")), (1e-2, 1e-2, 1e-2), 5.0, "finite place"),
    "mu below one": ((0, 0, 0), (1e-2, 1e-2, 1e-2), 0.5, "permeability is 1 or more"),
}


@pytest.mark.parametrize(("centre", "size", "mu", "said"), BAD.values(), ids=BAD.keys())
def test_a_body_that_cannot_be_is_refused_in_words(centre, size, mu, said: str) -> None:
    with pytest.raises(DomainError, match=said):
        Box(centre, size, mu)
