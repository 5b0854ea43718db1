"""One string over one pickup: the fields along it at five positions, and everything that follows from them.

Positions: the middle one, one step up and down, one step to either side; gradients are central differences between
them. Per coil and per ampere and turn; remanences as given. The poles' reaction to the string is worked out at the
middle position and used at all five.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.coil import CoilBox, coil_field
from lodestring.physics.inductance import Place
from lodestring.physics.panels import Box
from lodestring.physics.pole_field import field_operator
from lodestring.physics.poles import MU0, Numbers, PoleSystem, Rod
from lodestring.physics.ring import Array
from lodestring.physics.string_field import (
    OnString,
    Reaction,
    StringShape,
    reaction,
    self_matrix,
    sensitivity,
    state,
    string_nodes,
    trapezoid,
)

STEP = 0.3e-3
"""Distance [m] of the outer positions from the middle one."""
NEAR = 0.015
"""A box nearer than this [m] to the string has a field that varies along it from node to node."""
FEW, DEGREE = 28, 20
PLACES = ((0.0, 0.0), (0.0, STEP), (0.0, -STEP), (STEP, 0.0), (-STEP, 0.0))


@dataclass(frozen=True, slots=True)
class Line:
    """A string: where it crosses the pickup's long axis (x, y = 0), height of its centre z, sideways run per length
    along the pickup's y axis, and the y of the rows it crosses."""

    x: float
    z: float
    run: float
    rows: tuple[float, ...]

    def nodes(self) -> Array:
        return string_nodes(self.rows)

    def frame(self) -> Array:
        """Directions along the string, sideways, up; one a row."""
        size = float(np.hypot(1.0, self.run))
        return np.array([[self.run / size, 1.0 / size, 0.0], [1.0 / size, -self.run / size, 0.0], [0.0, 0.0, 1.0]])

    def points(self, nodes: Array, side: float, up: float) -> Array:
        """Points (n, 3) [m]; s is counted from where the string crosses y = 0."""
        frame = self.frame()
        start = np.array([self.x, 0.0, self.z + up])
        points: Array = start + nodes[:, None] * frame[0] + side * frame[1]
        return points


@dataclass(frozen=True)
class Source:
    """A coil as a source of field: its box, the place of its middle, the poles' charge per ampere and turn."""

    box: CoilBox
    place: Place
    charge: Numbers


@dataclass(frozen=True)
class LineFields:
    """B [T] along one string at the five positions: (5, 3, n) of the magnets, (5, coils, 3, n) per ampere and turn."""

    nodes: Array
    magnets: Array
    coils: Array
    reaction: Reaction | None


def line_fields(
    system: PoleSystem | MagneticSystem, magnets: Numbers, coils: tuple[Source, ...], line: Line, area: float
) -> LineFields:
    """Fields along a string. `magnets` is the poles' charge from their remanence, `area` the string's section.

    Raises DomainError for a string that runs into a pole piece or a bar.
    """
    nodes, frame = line.nodes(), line.frame()
    boxes = system.boxes if isinstance(system, MagneticSystem) else ()
    refuse_in_body(system.rods, boxes, line.points(nodes, 0.0, 0.0))
    points = [line.points(nodes, side, up) for side, up in PLACES]
    together = np.concatenate(points)
    charges = np.stack([magnets.real, *(c.charge.real for c in coils)], axis=1)
    rods = system.poles if isinstance(system, MagneticSystem) else system
    operator = np.zeros((len(together), 3, 0)) if rods is None else field_operator(rods, together)
    poles = MU0 * np.tensordot(operator, charges[: operator.shape[2]], axes=([2], [0]))  # (k, 3, 1 + coils)
    if isinstance(system, MagneticSystem):
        poles = poles + MU0 * of_boxes(system, charges, points)
    direct = [MU0 * coil_field(c.box, together - np.asarray(c.place), 5, 12) for c in coils]
    shape = (len(PLACES), len(nodes), 3)
    b = np.einsum("dc,pnc->pdn", frame, poles[:, :, 0].reshape(shape))
    by_coil = np.stack(
        [np.einsum("dc,pnc->pdn", frame, (poles[:, :, i + 1] + d).reshape(shape)) for i, d in enumerate(direct)], axis=1
    )
    answer = reaction(system, operator[: len(nodes)], points[0], frame, nodes, area)
    return LineFields(nodes, b, by_coil, answer)


def of_boxes(system: MagneticSystem, charges: Array, points: list[Array]) -> Array:
    """H (k, 3, c) of the boxes' charge at all points, one position after the other.

    Of a box well away from the string the field is smooth along it: taken at `FEW` nodes, closer toward both ends, and
    carried to the others by a Chebyshev series in the node's number, within 0.1 per cent of the box's greatest field.
    Of one nearer than `NEAR` it is taken at every node.
    """
    count = len(points[0])
    number = np.linspace(-1.0, 1.0, count)
    some = np.unique(np.round(0.5 * (1.0 - np.cos(np.pi * np.linspace(0.0, 1.0, FEW))) * (count - 1)).astype(int))
    everywhere, few = np.concatenate(points), np.concatenate([p[some] for p in points])
    whole = np.zeros((len(everywhere), 3, charges.shape[1]))
    smooth = np.zeros((len(few), 3, charges.shape[1]))
    for box, here in enumerate(system.boxes):
        mine = charges[system.box_slices[box]]
        if float(np.min(here.distance(points[0]))) < NEAR:
            whole += system.box_field(box, everywhere, mine)
        else:
            smooth += system.box_field(box, few, mine)
    if smooth.any():
        by_node = smooth.reshape(len(points), len(some), -1).transpose(1, 0, 2)
        series = np.polynomial.chebyshev.chebfit(number[some], by_node.reshape(len(some), -1), DEGREE)
        carried = np.asarray(np.polynomial.chebyshev.chebval(number, series)).T
        whole += carried.reshape(count, len(points), -1).transpose(1, 0, 2).reshape(whole.shape)
    return whole


def refuse_in_body(rods: Sequence[Rod], boxes: Sequence[Box], points: Array) -> None:
    """Raise DomainError for a string whose middle line comes nearer to a body than the outer positions are off.

    Inside a body, and at the outer positions just above one, the fields of charge alone mean nothing.
    """
    for number, rod in enumerate(rods, 1):
        beside = np.hypot(points[:, 0] - rod.x, points[:, 1] - rod.y) < rod.radius + STEP
        within = np.abs(points[:, 2] - rod.z) < rod.length / 2 + STEP
        if np.any(beside & within):
            over = float(np.min(points[beside & within, 2])) - rod.z - rod.length / 2
            raise DomainError(
                f"the middle of a string passes a pole piece at {1e3 * STEP:g} mm or more",
                f"pole piece {number}, the string {1e3 * over:.2f} mm over its top",
                "a greater gap or a lower pole piece",
            )
    for number, box in enumerate(boxes, 1):
        least = float(np.min(box.distance(points)))
        if least < STEP:
            raise DomainError(
                f"the middle of a string passes a blade or a bar at {1e3 * STEP:g} mm or more",
                f"box {number}, the string {1e3 * least:.2f} mm from it",
                "a greater gap, a lower blade or another place for the bar",
            )


@dataclass(frozen=True)
class StringResult:
    """What one string gives over one pickup.

    `output` (coils,) [V s/m per turn], `sensitivity` (coils, n) [Wb/m per metre and turn], `second` (coils,) d2/dz2 of
    the linkage over its first derivative [1/m]; pull [N, + toward the pickup], its growth per metre of approach,
    stiffness up and sideways [N/m]; greatest field [T] on the string, applied; M / M_s at its greatest.
    """

    nodes: Array
    output: Array
    sensitivity: Array
    second: Array
    pull: float
    stiffness_up: float
    stiffness_side: float
    field: float
    saturation: float


def _slopes(b: Array) -> list[tuple[Array, Array]]:
    """dB_z/dz and dB_z/dx (n,) at each of the five positions, from B (5, 3, n) there.

    The stiffness needs how they change from one position to the next; d2B_z/dz dx is d2B_x/dz2, for B has no curl.
    """
    up, side = (b[1, 2] - b[2, 2]) / (2.0 * STEP), (b[3, 2] - b[4, 2]) / (2.0 * STEP)
    up_up, side_side = (b[1, 2] - 2.0 * b[0, 2] + b[2, 2]) / STEP, (b[3, 2] - 2.0 * b[0, 2] + b[4, 2]) / STEP
    up_side = (b[1, 1] - 2.0 * b[0, 1] + b[2, 1]) / STEP
    above, below = (up + up_up, side + up_side), (up - up_up, side - up_side)
    return [(up, side), above, below, (up + up_side, side + side_side), (up - up_side, side - side_side)]


def string_result(shape: StringShape, fields: LineFields, strength: float = 1.0) -> StringResult:
    """Everything about one string; `strength` multiplies the magnets."""
    nodes, own = fields.nodes, self_matrix(fields.nodes, shape.radius)
    b, coils = fields.magnets * strength, fields.coils
    slopes = _slopes(b)
    at = [OnString(nodes, b[i], coils[i], fields.reaction) for i in range(len(PLACES))]
    states = [state(shape, at[0], own, slopes[0])]
    for here, slope in zip(at[1:], slopes[1:], strict=True):
        states.append(state(shape, here, own, slope, states[0].m))
    weights = trapezoid(nodes)
    lines = np.stack(
        [
            sensitivity(
                shape, at[0], own, states[0], c,
                (states[1].b[2] * coils[1, c, 2] - states[2].b[2] * coils[2, c, 2]) / (2.0 * STEP),
            )
            for c in range(coils.shape[1])
        ]
    )  # fmt: skip
    middle, above, below = (s.linkage for s in states[:3])
    output = lines @ weights
    bend = (above - 2.0 * middle + below) / STEP**2
    return StringResult(
        nodes,
        output,
        lines,
        bend / output,
        -states[0].up,
        -(states[1].up - states[2].up) / (2.0 * STEP),
        -(states[3].sideways - states[4].sideways) / (2.0 * STEP),
        float(np.max(np.linalg.norm(b[0], axis=0))),
        float(np.max(np.abs(states[0].m)) / shape.most),
    )
