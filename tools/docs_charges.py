"""docs/pictures/charges.svg: the charge that stands for a rod, along its outline, as the solver finds it."""

from __future__ import annotations

import numpy as np

from lodestring.drawing.plot import Axes, Axis, Mark, Plot, Series
from lodestring.drawing.svg import svg
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.inductance import answer, coil_touch
from lodestring.physics.poles import PoleSystem, Rod

LENGTH, RADIUS, PITCH = 16e-3, 2.4e-3, 10.4e-3
COIL = CoilBox(52e-3, 3.2e-3, 6.8e-3, 10.5e-3)
THIRD = 2


def picture() -> str:
    """The plot as SVG text."""
    rows = [
        ("magnet", "a magnet, permeability 4", _charge(4.0, magnet=True)),
        ("alnico", "the same in the coil's field", _charge(4.0)),
        ("steel", "steel, permeability 200, in the coil's field", _charge(200.0)),
    ]
    series = tuple(
        Series(name, label, tuple(x.tolist()), tuple((y / np.abs(y).max()).tolist())) for name, label, (x, y) in rows
    )
    plot = Plot(
        Axes(Axis("from the middle of the top face, over the edge, down the side, to the middle of the bottom", "m"),
             Axis("charge, over its greatest", "1", low=-1.0, high=1.0)),
        series,
        (Mark("top", "upper edge", x=RADIUS), Mark("bottom", "lower edge", x=RADIUS + LENGTH)),
        title="Charge along the outline of a rod",
        desc="Surface charge on the third of six rods: of one sign at the top, of the other at the bottom, crowded at "
        "the edges; steel carries more of it along the side than a magnet of low permeability.",
        height_mm=70.0,
    )  # fmt: skip
    return svg(plot, 160.0, ids="charges")


def _charge(mu: float, magnet: bool = False) -> tuple[np.ndarray, np.ndarray]:
    """Length along the outline [m] and charge there [A/m] of the third rod."""
    system = PoleSystem([Rod((i - 2.5) * PITCH, 0.0, 0.0, LENGTH, RADIUS, mu) for i in range(6)])
    charge = system.of_magnets([1.0] * 6) if magnet else answer(system, coil_touch(system, COIL)).sigma
    where, mesh = system.slices[THIRD], system.meshes[THIRD]
    top, bottom = mesh.n_z > 0.5, mesh.n_z < -0.5
    along = np.where(top, mesh.rho, np.where(bottom, 2 * RADIUS + LENGTH - mesh.rho, RADIUS + LENGTH / 2 - mesh.z))
    order = np.argsort(along)
    return along[order], charge[where][order]
