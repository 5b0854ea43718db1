"""A string over blades and a bar between them: field against magpylib (an open-source library for magnets), output
and pull against the string really moved, what is refused. The pair is invented.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from lodestring.errors import DomainError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.bodies_coil import bodies_touch
from lodestring.physics.coil import CoilBox
from lodestring.physics.inductance import answer, remanence_charge
from lodestring.physics.panels import Box
from lodestring.physics.string_field import OnString, StringShape, self_matrix, state
from lodestring.physics.string_run import Line, LineFields, Source, line_fields, string_result

MM = 1e-3
COIL, PLACE = CoilBox(70 * MM, 2.7 * MM, 6.2 * MM, 10 * MM), (0.0, 9 * MM, -7 * MM)
ROWS = (-9e-3, 9e-3)


def pair(mu: float, bar_mu: float = 1.05) -> list[Box]:
    """Two upright blades whose tops are 0.5 mm up, and a bar between their feet."""
    blades = [Box((0, y, -8.5 * MM), (72 * MM, 3 * MM, 18 * MM), mu) for y in (9 * MM, -9 * MM)]
    return [*blades, Box((0, 0, -15.5 * MM), (72 * MM, 15 * MM, 4 * MM), bar_mu)]


def along(boxes: list[Box], remanences: list[tuple[float, float, float]], z: float, area: float) -> LineFields:
    system = MagneticSystem((), boxes)
    found = answer(system, bodies_touch(system, COIL, PLACE))
    line = Line(10.1 * MM, z * MM, 0.01, ROWS)
    return line_fields(
        system, remanence_charge(system, (), remanences), (Source(COIL, PLACE, found.sigma),), line, area
    )


def test_over_a_blade_the_field_is_taken_at_every_node() -> None:
    # Permeability 1: magnets alone, exact. The bar is 16 mm off: its field is carried from some of the nodes, to 1e-3.
    magpylib = pytest.importorskip("magpylib", reason="pip install magpylib")
    boxes, remanences = pair(1.0, 1.0), [(0, 0, 0.6), (0, 0, -0.6), (0, 0.4, 0)]
    ours = along(boxes, remanences, 2.5, 1e-7)
    line = Line(10.1 * MM, 2.5 * MM, 0.01, ROWS)
    bodies = [
        magpylib.magnet.Cuboid(polarization=b, dimension=box.size, position=box.centre)
        for b, box in zip(remanences, boxes, strict=True)
    ]
    for at, (side, up) in enumerate(((0.0, 0.0), (0.0, 0.3e-3), (0.0, -0.3e-3), (0.3e-3, 0.0), (-0.3e-3, 0.0))):
        b = magpylib.getB(bodies, line.points(ours.nodes, side, up), sumup=True) @ line.frame().T
        assert np.allclose(ours.magnets[at], b.T, atol=1e-3 * np.abs(b).max())


@pytest.mark.parametrize("mu", [4.3, 150.0])
def test_over_a_blade_output_is_the_change_of_linkage_with_height(mu: float) -> None:
    # all worked out anew 20 um up and down, the blades' answer too; as over a rod, half a per cent is left
    shape = StringShape(math.pi * (0.5 * MM) ** 2 / 4, 0.25 * MM, 99.0, 1.95)
    boxes = pair(mu)
    magnets = [(0, 0, 0.6), (0, 0, -0.6), (0, 0, 0)] if mu < 100 else [(0, 0, 0), (0, 0, 0), (0, 0.4, 0)]

    def linkage(z: float) -> float:
        found = along(boxes, magnets, z, shape.area)
        at = OnString(found.nodes, found.magnets[0], found.coils[0], found.reaction)
        return float(state(shape, at, self_matrix(found.nodes, shape.radius)).linkage[0])

    output = string_result(shape, along(boxes, magnets, 3.0, shape.area)).output[0]
    assert output == pytest.approx((linkage(3.02) - linkage(2.98)) / (0.04 * MM), rel=0.01)


@pytest.mark.parametrize(
    "z", [-2.0, 0.5, 0.75], ids=["inside", "on its top", "nearer than the outer positions are off"]
)
def test_a_string_in_a_blade_is_refused_with_its_number(z: float) -> None:
    with pytest.raises(DomainError, match="box 1"):
        along(pair(150.0), [(0, 0, 0), (0, 0, 0), (0, 0.4, 0)], z, 1e-7)
