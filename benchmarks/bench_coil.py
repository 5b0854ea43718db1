"""The coil's own field and inductance. `make bench` keeps numpy to one thread."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from timing import Row, warm

from lodestring.physics.coil import (
    CoilBox,
    air_inductance,
    coil_field,
    coil_potential,
    mutual_inductance,
    sheet_field,
    table_nodes,
    table_rule,
)


def rows() -> Iterator[Row]:
    """500 points where six strings pass, 2 to 6 mm over the coil; invented places."""
    box = CoilBox(52e-3, 3.2e-3, 6.8e-3, 10.5e-3)
    rng = np.random.default_rng(3)
    points = rng.uniform((-30e-3, -30e-3, 7.25e-3), (30e-3, 30e-3, 11.25e-3), (500, 3))
    bore = rng.uniform((-28e-3, -1.5e-3, -8e-3), (28e-3, 1.5e-3, 8e-3), (500, 3))
    nodes = table_nodes(box.inner, 2.5 * box.inner)
    yield Row("air inductance", "under 1.5 ms", warm(lambda: air_inductance(box), n=300))
    yield Row("field at 500 points, order 5", "under 3 ms", warm(lambda: coil_field(box, points, 5, 12), n=100))
    yield Row("field at 500 points, to 1e-5", "", warm(lambda: coil_field(box, points), n=100))
    yield Row("potential at 500 points in the bore", "", warm(lambda: coil_potential(box, bore), n=100))
    yield Row(
        "table of ten sheets, 500 points",
        "",
        warm(lambda: sheet_field(box.straight, nodes, box.height, points), n=50),
    )
    yield Row("weights of a table", "", warm(lambda: table_rule(nodes, box.inner, box.outer), n=300))
    yield Row(
        "mutual inductance, side by side",
        "",
        warm(lambda: mutual_inductance(box, box, (0.0, 18.7e-3, 0.0)), n=100),
    )
