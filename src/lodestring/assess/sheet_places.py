"""Where covers, baseplates and foils of metal lie: design record -> thin sheets.

The set file may leave a cover's size out and never says a baseplate's: what is then taken stands here and is assumed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.assess import blocks, named, pole_blocks, pole_bodies
from lodestring.assess.model import Model
from lodestring.design.pickup import Cover
from lodestring.errors import CatalogueError
from lodestring.physics.sheet_shape import Outline, Sheet, cover, foil_ring, plate, round_hole
from lodestring.reference import Metal, metal

CORNER = 3e-3
"""Radius of a cover's upright corners where none is given [m]."""
AROUND = 0.2e-3
"""Room round a pole piece in its hole, and over a closed cover's pole pieces [m]."""
OVER = 0.1e-3
"""A cover with holes lies this far over the top plate [m]."""
SLOT = 1.5e-3
"""Width of an open slot [m], half of their spacing where that is less; it is seven tenths of the cover's width long."""
BRIDGE = 0.5e-3
"""Holes with less metal than this between them are one hole [m]."""


@dataclass(frozen=True)
class Metalwork:
    """A sheet and what it is made of: conductivity [S/m]."""

    name: str
    sheet: Sheet
    conductivity: float


def sheet_metal(material: str) -> Metal | None:
    """The metal of a sheet that conducts and is not magnetic; None for plastics and steel."""
    try:
        found = metal(material)
    except CatalogueError:
        return None
    return None if found.relative_permeability.nominal > pole_bodies.STEEL else found


def guides_flux(material: str) -> bool:
    """Whether a sheet of this material is magnetic."""
    try:
        return metal(material).relative_permeability.nominal > pole_bodies.STEEL
    except CatalogueError:
        return False


def clear(model: Model, pickup: str) -> float:
    """From the outermost turns to a cover's wall, on the long sides of the pickup [m]."""
    record = model.inputs.design.pickup[pickup]
    if record.cover is not None and record.cover.size is not None:
        path = f"pickup.{pickup}.cover.size.2"
        inside = model.given(path, record.cover.size[1]) - 2.0 * record.cover.thickness.value
        return max((inside - _across(model, pickup, 1)) / 2.0, 1e-4)
    return model.read(
        f"pickup.{pickup}.cover.clear",
        lambda: named.from_band(
            f"pickup.{pickup}.cover.clear", "cover.clear", "from the outer turns to the cover's wall",
            'write size = ["86 mm", "38 mm", "14 mm"] in the cover',
        ),
    )  # fmt: skip


def _across(model: Model, pickup: str, axis: int) -> float:
    """Extent of all windings of a pickup along x (0) or y (1) [m]."""
    low, high = [], []
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        wound = pole_blocks.winding(model, pickup, coil)
        half = wound.box.outer + (wound.box.straight / 2.0 if axis == 0 else 0.0)
        low.append(wound.place[axis] - half)
        high.append(wound.place[axis] + half)
    return max(high) - min(low)


def top_gap(model: Model, pickup: str, coil: str) -> float:
    """From a coil's top plate to the underside of the cover [m]."""
    return max(under(model, pickup), OVER)


def under(model: Model, pickup: str) -> float:
    """Height of the cover's underside over the top plate's upper face [m]."""
    record = model.inputs.design.pickup[pickup]
    if record.cover is not None and _has_holes(record.cover):
        return OVER
    tops = [height for coil in blocks.sides(record) for _, height in _poles(model, pickup, coil)]
    return max([0.0, *tops]) + AROUND


def _has_holes(found: Cover) -> bool:
    """Whether pole pieces stand in a cover's top: one with slots in place of holes lies over them."""
    return found.slots == 0 and found.holes != "none"


def _poles(model: Model, pickup: str, coil: str) -> list[tuple[Outline, float]]:
    """Each pole piece of a coil from above, with room round it, and the height of its top [m]."""
    base = model.nominal()
    out = [
        (round_hole(r.x, r.y, 2.0 * (r.radius + AROUND)), r.z + r.length / 2)
        for r in pole_bodies.coil_rods(base, pickup, coil)
    ]
    blade = pole_bodies.coil_blade(base, pickup, coil)
    if blade is not None:
        (x, y, z), (long, thick, upright) = blade.centre, blade.size
        out.append((Outline(x, y, long + 2 * AROUND, thick + 2 * AROUND, 0.0), z + upright / 2))
    return out


def pole_tops(model: Model, pickup: str, coil: str) -> tuple[float, ...]:
    """Height of each pole piece's top over the top plate's upper face [m]."""
    return tuple(top for _, top in _poles(model, pickup, coil))


def metalwork(model: Model, pickup: str) -> tuple[Metalwork, ...]:
    """Every sheet of a pickup in which currents run: cover, baseplate, closed foils."""
    record, base = model.inputs.design.pickup[pickup], model.nominal()

    def make() -> tuple[Metalwork, ...]:
        out: list[Metalwork] = []
        if record.cover is not None:
            found = sheet_metal(record.cover.material)
            if found is not None:
                out.append(Metalwork("cover", _cover(base, pickup, record.cover), 1.0 / found.resistivity.nominal))
        if record.baseplate is not None:
            found = sheet_metal(record.baseplate.material)
            where = pole_bodies.baseplate_place(base, pickup)
            if found is not None and where is not None:
                (x, y, z), (long, wide, thick) = where
                lying = plate(Outline(x, y, long, wide, 0.0), z, thick)
                out.append(Metalwork("baseplate", lying, 1.0 / found.resistivity.nominal))
        for coil, made in (record.coil or {}).items():
            foil = made.foil
            found = None if foil is None else sheet_metal(foil.material)
            if foil is not None and found is not None and foil.ends == "joined":
                wound = pole_blocks.winding(base, pickup, coil)
                out_by = wound.box.outer + named.tape(base) + foil.thickness.value / 2
                x, y, z = wound.place
                outline = Outline(x, y, wound.box.straight + 2 * out_by, 2 * out_by, out_by)
                ring = foil_ring(outline, z + wound.box.height / 2, wound.box.height, foil.thickness.value)
                out.append(Metalwork(f"foil of {coil}", ring, 1.0 / found.resistivity.nominal))
        return tuple(out)

    return base.block(("metalwork", pickup), make)


def outside(model: Model, pickup: str, given: Cover) -> Outline:
    """A cover from above, as its size says or round the coils, in the unshifted model."""
    record, base = model.inputs.design.pickup[pickup], model.nominal()
    places = [pole_blocks.winding(base, pickup, c).place for c in blocks.sides(record)]
    x, y = ((min(p[i] for p in places) + max(p[i] for p in places)) / 2.0 for i in (0, 1))
    if given.size is not None:
        long, wide = given.size[0].value, given.size[1].value
    else:
        room = 2.0 * (clear(base, pickup) + given.thickness.value)
        long, wide = _across(base, pickup, 0) + room, _across(base, pickup, 1) + room
    corner = min(CORNER, wide / 2.0, long / 2.0) if given.corner is None else given.corner.value
    return Outline(x, y, long, wide, min(corner, wide / 2.0, long / 2.0))


def deep(model: Model, pickup: str, given: Cover) -> float:
    """From a cover's top face down to its rim: as its size says, or as deep as the bobbins [m]."""
    if given.size is not None:
        return given.size[2].value
    coils = (model.inputs.design.pickup[pickup].coil or {}).values()
    bobbin = max(c.bobbin.window.value + 2.0 * c.bobbin.plate.thickness.value for c in coils)
    return under(model, pickup) + given.thickness.value + bobbin


def _cover(model: Model, pickup: str, given: Cover) -> Sheet:
    """A cover by the middle of its metal."""
    thick, out = given.thickness.value, outside(model, pickup, given)
    corner = max(out.corner - thick / 2.0, 0.0)
    middle = Outline(out.x, out.y, out.length - thick, out.width - thick, corner)
    z = under(model, pickup) + thick / 2.0
    walls = deep(model, pickup, given) - thick / 2.0
    return cover(middle, z, walls, thick, openings(model, pickup, given, middle))


def openings(model: Model, pickup: str, given: Cover, outline: Outline) -> list[Outline]:
    """The openings in a cover's top: slots across it, or holes over the pole pieces, near ones made one."""
    if given.slots:
        step = outline.length / (given.slots + 1)
        first, wide = outline.x - outline.length / 2.0, min(SLOT, step / 2.0)
        return [Outline(first + (i + 1) * step, outline.y, wide, 0.7 * outline.width) for i in range(given.slots)]
    if given.holes == "none":
        return []
    holes = [h for coil in blocks.sides(model.inputs.design.pickup[pickup]) for h, _ in _poles(model, pickup, coil)]
    return _joined(holes)


def _joined(holes: list[Outline]) -> list[Outline]:
    """Holes, those with less than a bridge of metal between them made one."""
    out: list[Outline] = []
    for hole in holes:
        while (near := next((o for o in out if _gap(o, hole) < BRIDGE), None)) is not None:
            out.remove(near)
            hole = _round_both(near, hole)
        out.append(hole)
    return out


def _gap(one: Outline, other: Outline) -> float:
    """Least distance of two outlines, near enough: their corners' middles and radii."""
    apart = [
        max(abs(a - b) - (s - 2.0 * one.corner + t - 2.0 * other.corner) / 2.0, 0.0)
        for a, b, s, t in ((one.x, other.x, one.length, other.length), (one.y, other.y, one.width, other.width))
    ]
    return math.hypot(*apart) - one.corner - other.corner


def _round_both(one: Outline, other: Outline) -> Outline:
    west, south = (min(o.x - o.length / 2.0 for o in (one, other)), min(o.y - o.width / 2.0 for o in (one, other)))
    east, north = (max(o.x + o.length / 2.0 for o in (one, other)), max(o.y + o.width / 2.0 for o in (one, other)))
    corner = min(one.corner, other.corner)
    return Outline((west + east) / 2.0, (south + north) / 2.0, east - west, north - south, corner)


__all__ = [
    "Metalwork",
    "clear",
    "deep",
    "guides_flux",
    "metalwork",
    "openings",
    "outside",
    "pole_tops",
    "sheet_metal",
    "top_gap",
    "under",
]
