"""A coil round rods, bars, blades and plates: its field and potential on all nodes of a system.

The formulas of inductance.py hold for a MagneticSystem as for rods alone: `answer`, `poles_inductance`, `linkage` and
`moment_of_poles` take the Touch made here. A box's own term has no lateral part: its charge is known all round.
"""

from __future__ import annotations

import math

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.coil import coil_field, coil_potential
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.inductance import Place, Touch, coil_touch
from lodestring.physics.panels import Box
from lodestring.physics.rod_pair import HARMONICS


def bodies_touch(system: MagneticSystem, box: CoilBox, place: Place = (0.0, 0.0, 0.0)) -> Touch:
    """One coil on all nodes of a system, per ampere and turn; `place` is the coil's middle in the system's frame.

    Raises DomainError for a body that cuts the winding. The potential has two branches: a body in the bore takes that
    of the bore, one outside the other; a body wholly above or below the winding may take either, as its charges add up
    to zero.
    """
    first = system.rod_count
    mean, potential = np.zeros(system.count), np.zeros(system.count)
    cosine = np.zeros((len(HARMONICS), system.count))
    sine = np.zeros_like(cosine)
    if system.poles:
        rods = coil_touch(system.poles, box, place)
        mean[:first], potential[:first] = rods.mean, rods.potential
        cosine[:, :first], sine[:, :first] = rods.cosine, rods.sine
    for number, (body, where) in enumerate(zip(system.boxes, system.box_slices, strict=True), 1):
        on = system.samples.body == len(system.rods) + number - 1
        points = system.samples.points[on] - np.asarray(place)
        weights = system.samples.weights[where][:, on]
        inside = in_bore(body, box, place, number)
        normal = np.einsum("qx,qx->q", coil_field(box, points), system.samples.normals[on])
        mean[where] = weights @ normal
        potential[where] = weights @ coil_potential(box, points, inside=inside)
    return Touch(mean, cosine, sine, potential)


def in_bore(body: Box, box: CoilBox, place: Place, number: int) -> bool:
    """True for a box in the bore of the coil, False for one outside, above or below. Raises DomainError, with the box's
    number, for one that cuts the winding."""
    low, high = body.low - np.asarray(place), body.high - np.asarray(place)
    near = math.hypot(max(low[0] - box.straight / 2, -high[0] - box.straight / 2, 0.0), max(low[1], -high[1], 0.0))
    far = math.hypot(
        max(abs(low[0]), abs(high[0])) - min(box.straight / 2, max(abs(low[0]), abs(high[0]))),
        max(abs(low[1]), abs(high[1])),
    )
    level = low[2] < box.height / 2 * (1.0 - 1e-9) and high[2] > -box.height / 2 * (1.0 - 1e-9)
    within, without = far <= box.inner * (1.0 + 1e-9), near >= box.outer * (1.0 - 1e-9)
    if level and not (within or without):
        raise DomainError(
            "a bar, blade or plate stands inside the winding, outside it, above it or below it",
            f"box {number}, from {1e3 * near:.2f} to {1e3 * far:.2f} mm from the coil's long axis, winding from "
            f"{1e3 * box.inner:.2f} to {1e3 * box.outer:.2f} mm",
            "a thinner one, or another place for it",
        )
    return bool(within and level)
