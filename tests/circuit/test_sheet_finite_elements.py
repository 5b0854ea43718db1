"""A covered coil against finite elements: axisymmetric, time-harmonic, the cover with its real thickness (NGSolve).

Round coil, with and without a rod that stands through a hole of the cover. Unknown u = r A_phi; nothing is shared with
the model. The elements' own inductance of coil and rod is checked first: 0.220984 H with 5000 turns (design page, A6a,
finite elements of another make).
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from lodestring.physics.coil import CoilBox, air_inductance, coil_field
from lodestring.physics.eddy import rod_permeability
from lodestring.physics.inductance import answer, coil_touch, poles_inductance
from lodestring.physics.pole_field import field_operator
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.physics.sheet_coil import field_factor, inductance_change, kept, sheet_touch
from lodestring.physics.sheet_modes import at_permeability, sheet_modes
from lodestring.physics.sheet_shape import Outline, cover, round_hole

WHY = "ngsolve is missing; install it with: pip install ngsolve"
ng = pytest.importorskip("ngsolve", reason=WHY)
occ = pytest.importorskip("netgen.occ", reason=WHY)

MU0 = 4e-7 * math.pi
MM = 1e-3
NICKEL_SILVER = 1 / 28.7e-8
COIL = CoilBox(0.0, 3 * MM, 8 * MM, 8 * MM)
ROD_MU = 4.0
ROD = Rod(0, 0, 0, 14 * MM, 2.5 * MM, ROD_MU)
CAP = cover(Outline(0, 0, 22 * MM, 22 * MM, 11 * MM), 5.5 * MM, 10 * MM, 0.5 * MM, [round_hole(0, 0, 6 * MM)])
FREQUENCIES = (1e3, 5e3, 1e4, 2e4)
HEIGHT, WIDE = 9 * MM, 2 * MM  # a disc over cover and rod: on the axis itself u / r^2 loses its digits


@cache
def elements(
    rod: bool, mu: float = ROD_MU, of_rod: float = 0.0, of_cap: float = NICKEL_SILVER
) -> list[tuple[complex, complex]]:
    """L [H per turn squared] and mean B_z [T per A and turn] over the disc, at 0 Hz and FREQUENCIES."""
    reach = 140.0  # mm; in units of mm throughout the mesh
    bodies = {"coil": (3.0, 8.0, -4.0, 4.0, 1.0)}
    if rod:
        bodies["rod"] = (0.0, 2.5, -7.0, 7.0, 0.25 if of_rod else 0.5)
    faces, taken = [], None
    for name, (r0, r1, z0, z1, size) in bodies.items():
        faces.append(_rectangle(r0, r1, z0, z1, name, size))
    # from the middle of the metal 0.25 mm to each side
    cap = _rectangle(3.0, 11.25, 5.25, 5.75, "cap", 0.25) + _rectangle(10.75, 11.25, -4.5, 5.75, "cap", 0.25)
    cap.faces.name, cap.faces.maxh = "cap", 0.25
    faces.append(cap)
    for face in faces:
        taken = face if taken is None else taken + face
    air = _rectangle(0.0, reach, -reach, reach, "air", 10.0) - taken
    air.faces.name = "air"
    glued = occ.Glue([*faces, air])
    for edge in glued.edges:
        low, high = edge.bounding_box
        on_axis = max(abs(low[0]), abs(high[0])) < 1e-5
        far = low[0] > reach - 1e-5 or low[1] > reach - 1e-5 or high[1] < 1e-5 - reach
        edge.name = "axis" if on_axis else "far" if far else "inside"
    mesh = ng.Mesh(occ.OCCGeometry(glued, dim=2).GenerateMesh(maxh=10.0, grading=0.3))
    space = ng.H1(mesh, order=3, complex=True, dirichlet="axis|far")
    permeability = mesh.MaterialCF({"rod": mu}, default=1.0)
    conductivity = mesh.MaterialCF({"cap": of_cap, "rod": of_rod}, default=0.0)
    current = mesh.MaterialCF({"coil": 1.0 / 40.0}, default=0.0)  # one ampere over 5 x 8 mm
    u, v = space.TnT()
    out = []
    for frequency in (0.0, *FREQUENCIES):
        # mm: curl curl brings 1/mm^2, so w sigma mu0 is per mm^2 and mu0 J per mm
        form = ng.BilinearForm(space, symmetric=True)
        form += 1 / permeability * ng.grad(u) * ng.grad(v) / ng.x * ng.dx(bonus_intorder=4)
        form += 2j * math.pi * frequency * MU0 * MM**2 * conductivity * u * v / ng.x * ng.dx(bonus_intorder=4)
        load = ng.LinearForm(space)
        load += current * v * ng.dx
        form.Assemble()
        load.Assemble()
        found = ng.GridFunction(space)
        found.vec.data = form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky") * load.vec
        inductance = MU0 * MM * 2 * math.pi * complex(ng.Integrate(found * current, mesh))
        b: Any = MU0 / MM * 2 * complex(found(mesh(WIDE / MM, HEIGHT / MM))) / (WIDE / MM) ** 2
        out.append((inductance, b))
    return out


def _rectangle(r0: float, r1: float, z0: float, z1: float, name: str, size: float) -> Any:
    face = occ.MoveTo(r0, z0).Rectangle(r1 - r0, z1 - z0).Face()
    face.faces.name, face.faces.maxh = name, size
    return face


def test_the_elements_know_coil_and_rod() -> None:
    assert elements(False)[0][0].real == pytest.approx(air_inductance(COIL), rel=1e-3)  # walls at 140 mm
    assert 5000**2 * elements(True)[0][0].real == pytest.approx(0.220984, rel=1e-3)


@cache
def ours(rod: bool) -> tuple[np.ndarray, np.ndarray]:
    """Relative change of L and factor of the mean H_z over the disc, at FREQUENCIES."""
    x, w = np.polynomial.legendre.leggauss(4)
    points = np.array([[WIDE * math.sqrt(0.5 * (1 + at)), 0.0, HEIGHT] for at in x])
    own, still = air_inductance(COIL), coil_field(COIL, points)[:, 2]
    system, found = None, None
    if rod:
        system = PoleSystem([ROD])
        touch = coil_touch(system, COIL, order=6)
        found = answer(system, touch)
        own += poles_inductance(system, found, touch, found).real
        still = still + (field_operator(system, points) @ found.sigma)[:, 2]
    modes = sheet_modes(CAP, NICKEL_SILVER, system, 700)
    g = sheet_touch(modes, COIL, poles=found)
    f = np.array(FREQUENCIES)
    return inductance_change(modes, g, g, f) / own, field_factor(modes, g, still, points, f) @ (w * still) / (w @ still)


@pytest.mark.parametrize("rod", [False, True], ids=["coil", "coil and rod"])
def test_a_nickel_silver_cover_changes_the_coil_as_finite_elements_say(rod: bool) -> None:
    (rest, _), *covered = elements(rod)  # without frequency the cover is air, on the same mesh
    known = np.array([l / rest - 1.0 for l, _ in covered])
    seen = ours(rod)[0]
    # 0.5 mm is up to 0.26 skin depths, which beside an infinite plate is 1.7 % at 20 kHz (Dodd & Deeds); mesh 0.3 %
    assert np.all(np.abs(seen - known) < np.array([0.004, 0.008, 0.013, 0.02]) * np.abs(known))


@pytest.mark.parametrize("rod", [False, True], ids=["coil", "coil and rod"])
def test_a_cover_shades_a_string_over_it_as_finite_elements_say(rod: bool) -> None:
    (_, rest), *covered = elements(rod)
    known = np.array([b / rest for _, b in covered])
    assert abs(known[-1]) < 0.85  # there is a shadow
    assert np.all(np.abs(ours(rod)[1] - known) < np.array([0.0005, 0.003, 0.006, 0.013]))  # thickness, as above


# The sheet's part of L at 1, 5, 10, 20 kHz: thickness and mesh as above, and the rod's permeability, which is that of a
# long rod in an even field. Last column: by how much the rod's static permeability would be off
CONDUCTING = {
    "alnico": (4.0, 2e6, (0.005, 0.013, 0.02, 0.026), 0.3),
    "steel": (100.0, 5e6, (0.015, 0.019, 0.022, 0.026), 0.7),
}


@pytest.mark.parametrize(("mu", "conductivity", "bounds", "otherwise"), CONDUCTING.values(), ids=CONDUCTING)
def test_a_rod_with_eddy_currents_keeps_flux_from_the_cover(
    mu: float, conductivity: float, bounds: tuple[float, ...], otherwise: float
) -> None:
    bare, covered = elements(True, mu, conductivity, 0.0), elements(True, mu, conductivity)
    still = PoleSystem([Rod(0, 0, 0, 14 * MM, 2.5 * MM, mu)])
    touch = coil_touch(still, COIL, order=6)
    at_rest = sheet_modes(CAP, NICKEL_SILVER, still, 700)
    modes = kept(at_rest, [sheet_touch(at_rest, COIL, poles=answer(still, touch)), sheet_touch(at_rest, COIL)], 1e-4)
    for n, f in enumerate(FREQUENCIES):
        system = PoleSystem([Rod(0, 0, 0, 14 * MM, 2.5 * MM, rod_permeability(mu, conductivity, 2.5 * MM, f))])
        here = at_permeability(modes, system)
        g = sheet_touch(here, COIL, poles=answer(system, touch))
        known = covered[n + 1][0] - bare[n + 1][0]
        assert abs(inductance_change(here, g, g, f)[0] - known) < bounds[n] * abs(known)
    g = sheet_touch(modes, COIL, poles=answer(still, touch))
    assert abs(inductance_change(modes, g, g, 2e4)[0] - known) > otherwise * abs(known)
