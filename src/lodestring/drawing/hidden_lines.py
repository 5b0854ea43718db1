"""Which lines of upright prisms are seen, from a direction: exact for convex outlines, whatever stands before whatever.

Every body of a pickup is an upright prism on a convex outline: plates, winding, rods, blades, bars. A point of an edge
is hidden where the ray from it to the eye runs through some prism, its own included; a ray through a convex body is one
interval, found by clipping against its planes. So there is no order of painting and nothing to sort. Edges are cut
where hidden and seen change, found by halving. Orthogonal axonometry in the sense of ISO 5456-3.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError

Array = NDArray[np.float64]
Point3 = tuple[float, float, float]

STEP = 0.8
"""mm: edges are looked at so closely; what is seen in a gap narrower than this may be missed."""
THICK = 0.02
"""mm of body on the way to the eye, and depth below its surface, that still count as on the surface: a ray that runs
along a face is not inside."""
HALVINGS = 12
SMOOTH = math.radians(20.0)
"""Two sides of an outline that meet at less than this are one curved face: no edge is drawn between them."""


@dataclass(frozen=True, slots=True)
class Prism:
    """`outline`: corners (k, 2) [mm], convex, counter-clockwise seen from above, from z `low` to `high`; `name` says
    what it is. Raises DomainError for an outline that is not."""

    name: str
    outline: tuple[tuple[float, float], ...]
    low: float
    high: float

    def __post_init__(self) -> None:
        sides = _sides(np.array(self.outline))
        turn = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
        if len(self.outline) < 3 or not self.low < self.high or not bool(np.all(turn > -1e-9)):
            raise DomainError("a prism stands on a convex outline and has a height", f'"{self.name}"')


@dataclass(frozen=True, slots=True)
class Seen:
    """Runs of points (x, y) on the picture [mm] of one body: those that are seen and those that are not."""

    name: str
    visible: tuple[tuple[tuple[float, float], ...], ...]
    hidden: tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True, slots=True)
class Eye:
    """`toward`: unit vector to the eye; `right` and `up`: the picture's axes, all perpendicular."""

    toward: Point3
    right: Point3
    up: Point3

    def project(self, points: Array) -> Array:
        """(n, 3) -> (n, 2)."""
        return np.asarray(points @ np.array([self.right, self.up]).T)


def eye(azimuth: float, elevation: float) -> Eye:
    """An eye at so many degrees from +x round z, and above the plane of the outlines."""
    a, e = math.radians(azimuth), math.radians(elevation)
    toward = (math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e))
    right = (-math.sin(a), math.cos(a), 0.0)
    up = (-math.sin(e) * math.cos(a), -math.sin(e) * math.sin(a), math.cos(e))
    return Eye(toward, right, up)


ISOMETRIC = eye(-45.0, math.degrees(math.asin(1.0 / math.sqrt(3.0))))
"""All three axes shortened alike (ISO 5456-3, 5.2)."""


def lines(prisms: Sequence[Prism], view: Eye = ISOMETRIC) -> tuple[Seen, ...]:
    """The edges and outlines of each prism, seen and hidden, in the order of the prisms."""
    planes = [_planes(p) for p in prisms]
    boxes = np.array([_box(p, view) for p in prisms]).reshape(-1, 4)

    def near(box: Array) -> list[tuple[Array, Array]]:
        """Only what overlaps it on the picture can hide it."""
        apart = np.concatenate([boxes[:, :2] > box[2:], boxes[:, 2:] < box[:2]], axis=1)
        return [planes[i] for i in np.flatnonzero(~np.any(apart, axis=1))]

    return tuple(_seen(prism, near(box), view) for prism, box in zip(prisms, boxes, strict=True))


def _box(prism: Prism, view: Eye) -> Array:
    """Left, bottom, right, top on the picture."""
    outline = np.array(prism.outline)
    corners = np.concatenate([np.column_stack([outline, np.full(len(outline), z)]) for z in (prism.low, prism.high)])
    flat = view.project(corners)
    return np.concatenate([flat.min(axis=0), flat.max(axis=0)])


def hidden(points: Array, planes: Iterable[tuple[Array, Array]], toward: Point3) -> NDArray[np.bool_]:
    """Which of points (n, 3) have more than THICK of some body between them and the eye."""
    found = np.zeros(len(points), dtype=bool)
    ray = np.array(toward)
    for normals, offsets in planes:
        slope, room = normals @ ray, offsets[None, :] - 0.5 * THICK - points @ normals.T
        with np.errstate(divide="ignore", invalid="ignore"):
            at = room / slope[None, :]
        ahead = np.where(slope[None, :] > 1e-12, at, np.inf).min(axis=1)
        back = np.where(slope[None, :] < -1e-12, at, -np.inf).max(axis=1)
        beside = ((np.abs(slope) <= 1e-12)[None, :] & (room < 0.0)).any(axis=1)
        found |= ~beside & (ahead - np.maximum(back, 0.0) > THICK)
    return found


def _seen(prism: Prism, planes: list[tuple[Array, Array]], view: Eye) -> Seen:
    visible: list[tuple[tuple[float, float], ...]] = []
    out_of_sight: list[tuple[tuple[float, float], ...]] = []
    for curve in _edges(prism, view):
        for run, behind in _cut(curve, planes, view.toward):
            flat = tuple((float(x), float(y)) for x, y in view.project(run))
            if len(flat) > 1 and math.dist(flat[0], flat[-1]) + math.dist(flat[0], flat[len(flat) // 2]) > 1e-6:
                (out_of_sight if behind else visible).append(flat)
    return Seen(prism.name, tuple(visible), tuple(out_of_sight))


def _edges(prism: Prism, view: Eye) -> list[Array]:
    """Curves (n, 3): both outlines, upright edges at corners, and where a curved side turns away from the eye."""
    outline = np.array(prism.outline)
    closed = np.concatenate([outline, outline[:1]])
    made = [np.column_stack([closed, np.full(len(closed), z)]) for z in (prism.low, prism.high)]
    sides = _sides(outline)
    facing = (sides[:, 1] * view.toward[0] - sides[:, 0] * view.toward[1]) > 0.0
    for i, (x, y) in enumerate(prism.outline):
        before, after = sides[i - 1], sides[i]
        turn = math.atan2(before[0] * after[1] - before[1] * after[0], float(before @ after))
        if turn > SMOOTH or facing[i - 1] != facing[i]:
            made.append(np.array([[x, y, prism.low], [x, y, prism.high]]))
    return made


def _sides(outline: Array) -> Array:
    return np.asarray(np.roll(outline, -1, axis=0) - outline)


def _planes(prism: Prism) -> tuple[Array, Array]:
    """Outward normals (k, 3) and offsets (k,): inside is where normal . point <= offset."""
    outline = np.array(prism.outline)
    sides = _sides(outline)
    flat = np.column_stack([sides[:, 1], -sides[:, 0]]) / np.linalg.norm(sides, axis=1)[:, None]
    normals = np.concatenate([np.column_stack([flat, np.zeros(len(flat))]), [[0.0, 0.0, 1.0], [0.0, 0.0, -1.0]]])
    offsets = np.concatenate([np.sum(flat * outline, axis=1), [prism.high, -prism.low]])
    return np.asarray(normals), np.asarray(offsets)


def _cut(curve: Array, planes: list[tuple[Array, Array]], toward: Point3) -> Iterable[tuple[Array, bool]]:
    """The curve in runs that are all seen or all hidden, cut where one changes to the other."""
    fine = _divided(curve)
    middles = 0.5 * (fine[1:] + fine[:-1])
    behind = hidden(middles, planes, toward)
    run = [fine[0]]
    for i in range(1, len(behind)):
        was, now = bool(behind[i - 1]), bool(behind[i])
        if was == now:
            run.append(fine[i])
            continue
        late = bool(hidden(fine[i : i + 1], planes, toward)[0]) == was  # the change comes after this point
        a, b = (fine[i], middles[i]) if late else (middles[i - 1], fine[i])
        edge = _between(a, b, was, planes, toward)
        yield np.array([*run, *([fine[i]] if late else []), edge]), was
        run = [edge] if late else [edge, fine[i]]
    yield np.array([*run, fine[-1]]), bool(behind[-1])


def _divided(curve: Array) -> Array:
    """The same curve with points no farther apart than STEP."""
    made = [curve[:1]]
    for a, b in pairwise(curve):
        count = max(1, math.ceil(float(np.linalg.norm(b - a)) / STEP))
        made.append(a + (b - a) * (np.arange(1, count + 1) / count)[:, None])
    return np.concatenate(made)


def _between(a: Array, b: Array, a_hidden: bool, planes: list[tuple[Array, Array]], toward: Point3) -> Array:
    """Where on the way from a to b hidden and seen change, by halving."""
    for _ in range(HALVINGS):
        middle = 0.5 * (a + b)
        if bool(hidden(middle[None], planes, toward)[0]) == a_hidden:
            a = middle
        else:
            b = middle
    return np.asarray(0.5 * (a + b))
