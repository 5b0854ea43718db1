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
from lodestring.physics.ring import Array
from lodestring.physics.rod_pair import HARMONICS

CORNER = 0.08
"""The upright edges of a blade may reach this share of its thickness into the winding: the obround that stands for a
coil wound on a blade cuts 0.076 of the thickness off its corners, round which the wire really bends. There the
potential of the bore is off by that share of the winding's depth on a hundredth of the faces."""


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
        potential[where] = weights @ coil_potential(box, _into_bore(box, points) if inside else points, inside=inside)
    return Touch(mean, cosine, sine, potential)


def _into_bore(box: CoilBox, points: Array) -> Array:
    """The points (k, 3), those of a blade's edges that reach into the winding moved to its inner face."""
    beyond = np.clip(points[:, 0], -box.straight / 2, box.straight / 2)
    off = points[:, :2] - np.stack([beyond, np.zeros(len(points))], axis=1)
    distance = np.linalg.norm(off, axis=1)
    level = np.abs(points[:, 2]) < box.height / 2
    share = np.where(level & (distance > box.inner), box.inner / np.where(distance > 0.0, distance, 1.0), 1.0)
    out = points.copy()
    out[:, 0], out[:, 1] = beyond + share * off[:, 0], share * off[:, 1]
    return out


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
    corner = CORNER * min(body.size[0], body.size[1]) if -low[1] <= box.inner and high[1] <= box.inner else 0.0
    within, without = far <= box.inner * (1.0 + 1e-9) + corner, near >= box.outer * (1.0 - 1e-9)
    if level and not (within or without):
        raise DomainError(
            "a bar, blade or plate stands inside the winding, outside it, above it or below it",
            f"box {number}, from {1e3 * near:.2f} to {1e3 * far:.2f} mm from the coil's long axis, winding from "
            f"{1e3 * box.inner:.2f} to {1e3 * box.outer:.2f} mm",
            "a thinner one, or another place for it",
        )
    return bool(within and level)
