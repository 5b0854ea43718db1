"""Reads a schematic's SVG as an electrician would: what is joined to what, from the ends of lines and the dots alone.

Two lines that meet at their ends are one wire; where more meet, or where one ends upon another, there must be a dot, or
the drawing is in doubt. Lines that cross without a dot are apart. Knows nothing of layout or of the plan.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field
from xml.etree import ElementTree

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

NS = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]
Segment = tuple[Point, Point]
NEAR = 2e-3  # the SVG rounds to 1e-4 mm; wires are 1 mm apart and more


@dataclass
class Read:
    """What was found: end name -> net number, ground's net, faults, and the names in their order."""

    net: dict[str, int] = field(default_factory=dict)
    grounds: set[int] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)
    names: list[str] = field(default_factory=list)


def read_schematic(svg: str) -> Read:
    root = ElementTree.fromstring(svg)
    wires: list[Segment] = []
    dots: list[Point] = []
    ends: list[tuple[str, Point]] = []
    grounds: list[Point] = []
    for group in root.iter(f"{NS}g"):
        css, name = group.get("class"), group.get("id", "")
        if css == "pic-wires":
            wires += [segment(line) for line in group.findall(f"{NS}line")]
            dots += [middle(path) for path in group.findall(f"{NS}path")]
        elif css == "pic-end":
            ends.append((name.partition("-end-")[2], segment(group.findall(f"{NS}line")[0])[0]))
        elif css == "pic-ground":
            grounds.append(segment(group.findall(f"{NS}line")[0])[0])
    return joined(wires, dots, ends, grounds)


def segment(line: ElementTree.Element) -> Segment:
    x1, y1, x2, y2 = (float(line.get(k, "nan")) for k in ("x1", "y1", "x2", "y2"))
    return (x1, y1), (x2, y2)


def middle(path: ElementTree.Element) -> Point:
    """Centre of a dot: the middle of the points its outline passes."""
    d = path.get("d", "")
    xs, ys = [], []
    for command in re.findall(r"[MA][^MAZ]*", d):
        *_, x, y = (float(n) for n in re.findall(r"-?\d+\.?\d*", command))
        xs.append(x)
        ys.append(y)
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def joined(wires: list[Segment], dots: list[Point], ends: list[tuple[str, Point]], grounds: list[Point]) -> Read:
    out = Read()
    points = [p for wire in wires for p in wire] + [p for _, p in ends] + grounds
    links: list[tuple[int, int]] = [(2 * i, 2 * i + 1) for i in range(len(wires))]
    dotted = [any(near(p, d) for d in dots) for p in points]
    for i, p in enumerate(points):
        here = [j for j, q in enumerate(points) if near(p, q)]
        if len(here) > 2 and not dotted[i]:
            out.faults.append(f"{len(here)} ends meet at {p} without a dot")
        links += [(i, j) for j in here if j != i]
        for k, wire in enumerate(wires):
            if inside(p, wire):
                if dotted[i]:
                    links.append((i, 2 * k))
                else:
                    out.faults.append(f"an end lies on a wire at {p} without a dot")
    for (i, a), (j, b) in itertools.combinations(enumerate(wires), 2):
        if overlaid(a, b):
            out.faults.append(f"wires lie on one another: {a} and {b}")
        cross = crossing(a, b)
        if cross is not None and any(near(cross, d) for d in dots):
            links.append((2 * i, 2 * j))
    for d in dots:
        if sum(near(p, d) for p in points) + 2 * sum(inside(d, w) for w in wires) < 3:
            out.faults.append(f"a dot at {d} joins nothing")
    for a, b in wires:
        if abs(a[0] - b[0]) > NEAR and abs(a[1] - b[1]) > NEAR:
            out.faults.append(f"a wire from {a} to {b} is neither level nor upright")
    rows, columns = zip(*links, strict=True) if links else ((), ())
    graph = coo_array((np.ones(len(links)), (rows, columns)), shape=(len(points), len(points)))
    labels = connected_components(graph, directed=False)[1]
    first = 2 * len(wires)
    for i, (name, _) in enumerate(ends):
        out.names.append(name)
        out.net[name] = int(labels[first + i])
    out.grounds = {int(labels[first + len(ends) + i]) for i in range(len(grounds))}
    return out


def near(p: Point, q: Point) -> bool:
    return abs(p[0] - q[0]) < NEAR and abs(p[1] - q[1]) < NEAR


def inside(p: Point, wire: Segment) -> bool:
    (ax, ay), (bx, by) = wire
    if abs(ax - bx) < NEAR:
        return abs(p[0] - ax) < NEAR and min(ay, by) + NEAR < p[1] < max(ay, by) - NEAR
    return abs(p[1] - ay) < NEAR and min(ax, bx) + NEAR < p[0] < max(ax, bx) - NEAR


def crossing(a: Segment, b: Segment) -> Point | None:
    for level, upright in ((a, b), (b, a)):
        if abs(level[0][1] - level[1][1]) < NEAR and abs(upright[0][0] - upright[1][0]) < NEAR:
            p = (upright[0][0], level[0][1])
            if inside(p, level) and inside(p, upright):
                return p
    return None


def overlaid(a: Segment, b: Segment) -> bool:
    for axis in (0, 1):
        if all(abs(p[axis] - a[0][axis]) < NEAR for p in (*a, *b)):
            one, two = (sorted(p[1 - axis] for p in s) for s in (a, b))
            return min(one[1], two[1]) - max(one[0], two[0]) > NEAR
    return False
