"""Covers, baseplates and foils that cannot be where they are: too small, too thick, in the way of a string or a bar.

Errors of the set file, as in buildable.py: the sheet's currents cannot be worked out, or the thing cannot be built.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lodestring.assess import blocks, named, pole_blocks, pole_bodies, sheet_places, string_blocks
from lodestring.assess.findings.say import coil_name, mm
from lodestring.assess.model import Model
from lodestring.design.cross_problem import Disagreement
from lodestring.design.pickup import Cover
from lodestring.errors import DomainError
from lodestring.physics.panels import Box
from lodestring.physics.ring import Array
from lodestring.physics.sheet_mesh import sheet_mesh
from lodestring.physics.sheet_modes import UNKNOWNS
from lodestring.physics.sheet_shape import THIN, Outline

RING = 1e-3
"""Points on a coil's outline are this far apart [m]."""


def sheets_apart(model: Model, pickup: str) -> Iterator[Disagreement]:
    """What is wrong with the cover, the baseplate and the foils of a pickup; the first thing of each."""
    record = model.inputs.design.pickup[pickup]
    if not record.coil:
        return
    found = [_foil(model, pickup, coil) for coil in record.coil]
    found += [_baseplate(model, pickup)] if record.baseplate is not None else []
    found += [_cover(model, pickup, record.cover)] if record.cover is not None else []
    first = [d for d in (next(search, None) for search in found) if d is not None]
    yield from first
    if not first:
        yield from _meshed(model, pickup)


def _foil(model: Model, pickup: str, coil: str) -> Iterator[Disagreement]:
    foil = blocks.coil_of(model, pickup, coil).foil
    if foil is not None and foil.ends == "joined":
        box = pole_blocks.winding(model, pickup, coil).box
        width = 2.0 * (box.outer + named.tape(model)) + foil.thickness.value
        yield from _thin((*_coil_path(pickup, coil), "foil", "thickness"), "foil", foil.thickness.value, width)


def _coil_path(pickup: str, coil: str) -> tuple[str, ...]:
    return ("pickup", pickup, "coil", coil)


def _baseplate(model: Model, pickup: str) -> Iterator[Disagreement]:
    record, place = model.inputs.design.pickup[pickup].baseplate, pole_bodies.baseplate_place(model, pickup)
    if record is not None and place is not None and sheet_places.sheet_metal(record.material) is not None:
        thick = record.thickness.value
        yield from _thin(("pickup", pickup, "baseplate", "thickness"), "a baseplate", thick, min(place[1][:2]))


def _thin(path: tuple[str, ...], what: str, thick: float, width: float) -> Iterator[Disagreement]:
    if thick > THIN * width:
        yield Disagreement(
            path,
            f"{what} of metal is reckoned as a thin sheet: at most a tenth of its width thick",
            f"{mm(thick)} thick, {mm(width)} wide",
            "thinner metal",
        )


def _cover(model: Model, pickup: str, given: Cover) -> Iterator[Disagreement]:
    path, outside = ("pickup", pickup, "cover"), sheet_places.outside(model, pickup, given)
    thick = given.thickness.value
    if given.size is not None:
        least = min(s.value for s in given.size[:2])
        if least <= 2.0 * thick or given.size[2].value <= thick:
            yield Disagreement(
                (*path, "size"),
                "a cover is an open box: wider than its two walls, deeper than its top is thick",
                " by ".join(s.text for s in given.size) + f" of metal or plastic {given.thickness.text} thick",
                "outside measures, z from its top down to its rim",
            )
            return
    if given.corner is not None and 2.0 * given.corner.value > min(outside.length, outside.width):
        yield Disagreement(
            (*path, "corner"),
            "a cover's corner radius is at most half its lesser side",
            f"{given.corner.text} on {mm(outside.length)} by {mm(outside.width)}",
            f"at most {mm(min(outside.length, outside.width) / 2.0)}",
        )
        return
    if sheet_places.sheet_metal(given.material) is not None:
        yield from _thin((*path, "thickness"), "a cover", thick, min(outside.length, outside.width) - thick)
    yield from _round_coils(model, pickup, given, outside)
    yield from _under_strings(model, pickup, given)
    yield from _through_walls(model, pickup, given, outside)


def _round_coils(model: Model, pickup: str, given: Cover, outside: Outline) -> Iterator[Disagreement]:
    """A cover goes round the windings."""
    thick = given.thickness.value
    long, wide = outside.length - 2.0 * thick, outside.width - 2.0 * thick
    inside = Outline(outside.x, outside.y, long, wide, max(outside.corner - thick, 0.0))
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        wound = pole_blocks.winding(model, pickup, coil)
        box, (x, y, _) = wound.box, wound.place
        ring = Outline(x, y, box.straight + 2.0 * box.outer, 2.0 * box.outer, box.outer).ring(RING)
        if bool(np.all(inside.holds(ring))):
            continue
        need = [2.0 * float(np.abs(ring[:, c] - (outside.x, outside.y)[c]).max() + thick) for c in (0, 1)]
        small = [f"{mm(n)} {word}" for n, has, word in zip(need, (outside.length, outside.width), ("long", "wide"),
                                                           strict=True) if n >= has]  # fmt: skip
        yield Disagreement(
            ("pickup", pickup, "cover", "size" if given.size is not None else "corner"),
            f"a cover goes round the windings: {coil_name(model, pickup, coil)} needs one "
            + (f"more than {' and '.join(small)}" if small else "with sharper corners"),
            f"{mm(outside.length)} by {mm(outside.width)} outside, corners of {mm(outside.corner)}",
            "a bigger cover, or a smaller coil",
        )
        return


def _under_strings(model: Model, pickup: str, given: Cover) -> Iterator[Disagreement]:
    """Strings at rest pass over the cover's top."""
    if model.inputs.design.pickup[pickup].gap is None:
        return
    top = sheet_places.under(model, pickup) + given.thickness.value
    diameters = blocks.strings_in(model).diameters
    for number, line in enumerate(string_blocks.lines(model, pickup), 1):
        below = line.z - diameters[number - 1] / 2.0
        if below <= top:
            yield Disagreement(
                ("pickup", pickup, "gap"),
                f"strings pass over the cover, whose top lies {mm(top)} over the top plate",
                f"string {number} at {'-' if below < 0.0 else ''}{mm(below)} over it",
                "a greater gap, a thinner cover, or one with holes for the pole pieces",
            )
            return


def _through_walls(model: Model, pickup: str, given: Cover, outside: Outline) -> Iterator[Disagreement]:
    """Bars and a steel baseplate lie inside a cover's walls, or outside or below them."""
    top = sheet_places.under(model, pickup)
    bottom = top + given.thickness.value - sheet_places.deep(model, pickup, given)
    record = model.inputs.design.pickup[pickup]
    named_bars = zip(record.bar or {}, pole_bodies.bars(model, pickup), strict=True)
    bodies: list[tuple[tuple[str, ...], str, Box]] = [(("bar", n, "centre"), f"bar {n}", b) for n, b in named_bars]
    plate = pole_bodies.baseplate(model, pickup)
    if plate is not None:
        bodies.append((("cover", "size"), "the baseplate", plate))
    for path, name, box in bodies:
        if float(box.low[2]) < top and float(box.high[2]) > bottom + 1e-6 and _crosses(outside, box):
            yield Disagreement(
                ("pickup", pickup, *path),
                "bars and a steel baseplate lie inside a cover, outside it or below it",
                f"{name} through the cover's wall",
                "a cover that is wider or less deep, or another place for it",
            )


def _crosses(outline: Outline, box: Box) -> bool:
    low, high = np.asarray(box.low), np.asarray(box.high)
    corners: Array = np.array([[x, y] for x in (low[0], high[0]) for y in (low[1], high[1])])
    if bool(np.all(outline.holds(corners))):
        return False
    middle, half = np.array([outline.x, outline.y]), 0.5 * np.array([outline.length, outline.width])
    return bool(np.all((low[:2] < middle + half) & (high[:2] > middle - half)))


def _meshed(model: Model, pickup: str) -> Iterator[Disagreement]:
    """What is left: holes and slots too close to each other or to the edge."""
    try:
        for work in sheet_places.metalwork(model, pickup):
            sheet_mesh(work.sheet, UNKNOWNS)
    except DomainError as error:
        part = "cover" if model.inputs.design.pickup[pickup].cover is not None else "coil"
        yield Disagreement(("pickup", pickup, part), error.must, error.came, error.attempt)


__all__ = ["sheets_apart"]
