"""Where bodies stand to one another: refused if they overlap, kept a least gap apart if they touch.

Faces that touch carry charges that nearly cancel, and which side of a face a point on it is on would be chance. So
bodies nearer than `LEAST_GAP` count as that far apart where they act on each other; each is in its own place for
everything else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.panels import Box, Vector
from lodestring.physics.poles import Rod
from lodestring.physics.ring import Array
from lodestring.physics.rod_panel import LEAST_GAP

DIGITS = 9
"""Decimals of a metre to which offsets are rounded, so that equal places share their blocks."""
TOUCHING = 1e-9
"""Metres of overlap that rounding of a drawing may leave between bodies that touch."""


def _rounded(offset: Array) -> Vector:
    x, y, z = (round(float(v), DIGITS) + 0.0 for v in offset)
    return x, y, z


def rod_gaps(rod: Rod, box: Box) -> tuple[float, float, Vector]:
    """Gap of the heights and gap of the plans [m], each below 0 where they overlap, and the direction (unit, in plan)
    from the box to the rod where the plans are apart."""
    rise = abs(rod.z - box.centre[2]) - (rod.length + box.size[2]) / 2
    off = [
        math.copysign(max(abs(c) - s / 2, 0.0), c)
        for c, s in ((rod.x - box.centre[0], box.size[0]), (rod.y - box.centre[1], box.size[1]))
    ]
    distance = math.hypot(*off)
    if distance == 0.0:  # the axis passes through the box's plan
        return rise, -rod.radius, (0.0, 0.0, 0.0)
    return rise, distance - rod.radius, (off[0] / distance, off[1] / distance, 0.0)


def offset_of_rod(rod: Rod, box: Box) -> Vector:
    """From the box's middle to the rod's [m], at least `LEAST_GAP` between them."""
    offset = np.array([rod.x - box.centre[0], rod.y - box.centre[1], rod.z - box.centre[2]])
    rise, aside, direction = rod_gaps(rod, box)
    if max(rise, aside) < LEAST_GAP:
        if rise >= aside:
            offset[2] += math.copysign(LEAST_GAP - rise, offset[2])
        else:
            offset += (LEAST_GAP - aside) * np.array(direction)
    return _rounded(offset)


def offset_of_boxes(target: Box, source: Box) -> Vector:
    """From the target's middle to the source's [m], at least `LEAST_GAP` between them."""
    offset = np.array(source.centre) - np.array(target.centre)
    gaps = np.abs(offset) - (np.array(source.size) + np.array(target.size)) / 2
    axis = int(np.argmax(gaps))
    if gaps[axis] < LEAST_GAP:
        offset[axis] += math.copysign(LEAST_GAP - gaps[axis], offset[axis])
    return _rounded(offset)


def shift(body: Rod | Box, box: Box) -> Array:
    """How far (3,) [m] a body counts as moved away from a box that it touches; 0 for the box itself."""
    if body is box:
        return np.zeros(3)
    if isinstance(body, Rod):
        place = np.array([body.x, body.y, body.z])
        offset = np.array(offset_of_rod(body, box))
    else:
        place = np.array(body.centre)
        offset = -np.array(offset_of_boxes(body, box))
    moved: Array = offset - (place - np.array(box.centre))
    return moved


def refuse_overlap(rods: Sequence[Rod], boxes: Sequence[Box]) -> None:
    """Raises DomainError that numbers (from 1) a pole piece and a box, or two boxes, that overlap. Touching is
    allowed."""
    for j, box in enumerate(boxes, 1):
        for i, rod in enumerate(rods, 1):
            rise, aside, _ = rod_gaps(rod, box)
            if max(rise, aside) < -TOUCHING:
                raise DomainError(
                    "a pole piece and a bar, blade or plate may touch but not overlap",
                    f"pole piece {i} and box {j}, {-1e3 * max(rise, aside):.2f} mm into one another",
                    "move one of them, or make a hole a separate body cannot have: leave the plate out",
                )
        for k, other in enumerate(boxes[: j - 1], 1):
            gap = float(
                np.max(
                    np.abs(box.low + box.high - other.low - other.high) / 2
                    - (np.array(box.size) + np.array(other.size)) / 2
                )
            )
            if gap < -TOUCHING:
                raise DomainError(
                    "bars, blades and plates may touch but not overlap",
                    f"boxes {k} and {j}, {-1e3 * gap:.2f} mm into one another",
                    "move one of them",
                )
