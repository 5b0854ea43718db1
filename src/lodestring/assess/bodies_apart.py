"""Pole pieces, blades, bars and windings in one another's place, and strings that run into a bar or a blade.

Errors of the set file, as in buildable.py: nothing sensible can be computed from them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lodestring.assess import blocks, pole_blocks, pole_bodies, string_blocks
from lodestring.assess.findings.say import mm
from lodestring.assess.model import Model
from lodestring.design.cross_problem import Disagreement
from lodestring.errors import DomainError
from lodestring.physics.bodies_coil import in_bore
from lodestring.physics.bodies_touch import refuse_overlap
from lodestring.physics.panels import Box
from lodestring.physics.poles import Rod

Path = tuple[str | int, ...]
CLEAR = 0.4e-3
"""Nearest a string's middle may come to a bar or a blade [m]: nearer, the field along it cannot be followed."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A body, what the maker calls it, and the key path that moves it."""

    name: str
    path: Path
    body: Rod | Box


def bodies_apart(model: Model, pickup: str) -> Iterator[Disagreement]:
    """Bodies of a pickup that overlap, bars in a winding, strings in a bar or a blade; the first of each."""
    if not model.inputs.design.pickup[pickup].coil:
        return
    rods, boxes = _placed(model, pickup)
    for search in (_overlaps(rods, boxes), _in_windings(model, pickup, boxes), _in_strings(model, pickup, boxes)):
        first = next(search, None)
        if first is not None:
            yield first
            return


def _placed(model: Model, pickup: str) -> tuple[list[Placed], list[Placed]]:
    rods: list[Placed] = []
    boxes: list[Placed] = []
    record = model.inputs.design.pickup[pickup]
    for coil in blocks.sides(record):
        path: Path = ("pickup", pickup, "coil", coil, "poles")
        blade = pole_bodies.coil_blade(model, pickup, coil)
        of = f" of coil {coil}" if len(record.coil or {}) > 1 else ""
        if blade is not None:
            boxes.append(Placed(f"the blade{of}", path, blade))
        for number, rod in enumerate(pole_bodies.coil_rods(model, pickup, coil), 1):
            rods.append(Placed(f"pole piece {number}{of}", path, rod))
    for name, bar in zip(record.bar or {}, pole_bodies.bars(model, pickup), strict=True):
        boxes.append(Placed(f"bar {name}", ("pickup", pickup, "bar", name, "centre"), bar))
    return rods, boxes


def _overlaps(rods: list[Placed], boxes: list[Placed]) -> Iterator[Disagreement]:
    for k, box in enumerate(boxes):
        for other in (*rods, *boxes[:k]):
            try:
                if isinstance(other.body, Rod):
                    refuse_overlap((other.body,), (_box(box),))
                else:
                    refuse_overlap((), (_box(other), _box(box)))
            except DomainError as error:
                deep = error.came.partition(", ")[2]
                yield Disagreement(
                    box.path,
                    "pole pieces, blades and bars may touch but not overlap",
                    f"{other.name} and {box.name}, {deep}",
                    "move or shorten one of them",
                )


def _in_windings(model: Model, pickup: str, boxes: list[Placed]) -> Iterator[Disagreement]:
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        wound = pole_blocks.winding(model, pickup, coil)
        for box in boxes:
            try:
                in_bore(_box(box), wound.box, wound.place, 1)
            except DomainError as error:
                where = error.came.partition(", ")[2]
                yield Disagreement(
                    box.path, "a bar or a blade stands inside a winding, beside it, above it or below it",
                    f"{box.name} in the winding of coil {coil}: {where}", error.attempt,
                )  # fmt: skip


def _in_strings(model: Model, pickup: str, boxes: list[Placed]) -> Iterator[Disagreement]:
    if model.inputs.design.pickup[pickup].gap is None:
        return
    for number, line in enumerate(string_blocks.lines(model, pickup), 1):
        points = line.points(line.nodes(), 0.0, 0.0)
        for box in boxes:
            near = float(_box(box).distance(points).min())
            if near < CLEAR:
                yield Disagreement(
                    ("pickup", pickup, "gap") if box.path[-1] == "poles" else box.path,
                    f"a string's middle must pass a blade or a bar at {CLEAR * 1e3:.1f} mm or more",
                    f"string {number} {f'at {mm(near)} from' if near > 0.0 else 'inside'} {box.name}",
                    "a greater gap, a lower blade, or another place for the bar",
                )


def _box(placed: Placed) -> Box:
    assert isinstance(placed.body, Box)  # noqa: S101 - asked for boxes only
    return placed.body
