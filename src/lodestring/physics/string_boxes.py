"""How blades answer a steel string: a short piece of each blade about the string stands for the whole.

What a string makes of a blade dies off within its own height along the blade, and a blade's panels are too long to
show it. So the answer comes from a piece of each blade near the string, `HALF` to either side and with lines of its own
under it, solved by itself and used for every string that finds it alike. It adds 2 per cent to the output 3 mm over a
steel blade, 5 per cent at 1.5 mm and 10 at 1 mm; a longer piece or a finer mesh changes the output by 0.1 per cent
(tests).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.panels import Box
from lodestring.physics.ring import Array

HALF = 9e-3
"""Metres of blade to either side of the string that answer it."""
LINES = ((1.0e-3, 2.5e-3, 4.5e-3), ())
"""Lines of panels to either side of the string, and along it [m]."""
REACH = 0.016
"""Blades further than this [m] from the string do not answer it noticeably."""
WHOLE = 1e-3
"""Pieces are cut to whole steps of this [m], so that strings over one blade find the same piece."""


def box_reaction(boxes: Sequence[Box], points: Array, frame: Array, dipole: Array) -> Array | None:
    """Field (3, n, n) along `frame` at the string's points (n, 3) [m] from what boxes answer to M at each point.

    frame (3, 3): directions along the string, sideways, up, one a row. dipole (n,): section times length [m^3] that a
    point's M stands for. None where no box near enough answers. Validity: strings across the boxes' length.
    """
    middle = points[len(points) // 2]
    pieces = tuple(p for b in boxes if not b.weak and (p := _piece(b, points, float(middle[0]))))
    if not pieces:
        return None
    local = _solved(pieces)
    at = points - np.array([middle[0], 0.0, 0.0])
    apart = local.box_nodes[:, None, :] - at
    square = np.einsum("inc,inc->in", apart, apart)
    along, normal = apart @ frame[0], np.einsum("inc,ic->in", apart, local.box_normals)
    felt = (3.0 * along * normal / square - (local.box_normals @ frame[0])[:, None]) / (4.0 * np.pi * square**1.5)
    charge = local.in_field(felt * dipole)
    return np.asarray(np.einsum("dc,kcn,nl->dkl", frame, local.field_operator(at), charge, optimize=True))


def _piece(box: Box, points: Array, x: float) -> Box | None:
    """The part of a box about a string that crosses it near x [m], in a frame with its zero there; None if too far."""
    if float(np.min(box.distance(points))) > REACH:
        return None
    low, high = max(float(box.low[0]) - x, -HALF), min(float(box.high[0]) - x, HALF)
    low, high = (round(v / WHOLE) * WHOLE for v in (low, high))
    if high - low < 2.0 * WHOLE:
        return None
    (_, y, z), (_, wide, upright) = box.centre, box.size
    return Box(((low + high) / 2, y, z), (high - low, wide, upright), complex(box.mu).real)


@lru_cache(maxsize=4)
def _solved(pieces: tuple[Box, ...]) -> MagneticSystem:
    aside = pieces[0].centre[0]
    found = MagneticSystem((), pieces, lines=(tuple(k * x - aside for x in LINES[0] for k in (-1, 1)), LINES[1]))
    found.in_field(np.zeros(found.count))
    return found
