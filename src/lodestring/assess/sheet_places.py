"""Where covers, baseplates and foils of metal lie: design record -> thin sheets.

The set file may leave a cover's size out and never says a baseplate's: what is then taken stands here and is assumed.
"""

from __future__ import annotations

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
"""Width of an open slot [m]; it is seven tenths of the cover's width long."""


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
    return max(_under(model, pickup), OVER)


def _under(model: Model, pickup: str) -> float:
    """Height of the cover's underside over the top plate's upper face [m]."""
    record = model.inputs.design.pickup[pickup]
    if record.cover is not None and _open(record.cover):
        return OVER
    tops = [height for coil in blocks.sides(record) for _, height in _poles(model, pickup, coil)]
    return max([0.0, *tops]) + AROUND


def _open(found: Cover) -> bool:
    return found.slots > 0 or found.holes != "none"


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


def _cover(model: Model, pickup: str, given: Cover) -> Sheet:
    record = model.inputs.design.pickup[pickup]
    thick = given.thickness.value
    names = blocks.sides(record)
    places = [pole_blocks.winding(model, pickup, c).place for c in names]
    middle = tuple((min(p[i] for p in places) + max(p[i] for p in places)) / 2.0 for i in (0, 1))
    top = _under(model, pickup) + thick / 2.0
    if given.size is not None:
        long, wide, deep = (s.value for s in given.size)
    else:
        room = 2.0 * (clear(model, pickup) + thick)
        long, wide = _across(model, pickup, 0) + room, _across(model, pickup, 1) + room
        bobbins = [model.inputs.design.pickup[pickup].coil or {}]
        deep = top + max(
            c.bobbin.window.value + 2.0 * c.bobbin.plate.thickness.value for each in bobbins for c in each.values()
        )
    corner = min(CORNER if given.corner is None else given.corner.value, (wide - thick) / 2.0)
    outline = Outline(middle[0], middle[1], long - thick, wide - thick, max(corner - thick / 2.0, 0.0))
    return cover(outline, top, deep - thick / 2.0, thick, _openings(model, pickup, given, outline))


def _openings(model: Model, pickup: str, given: Cover, outline: Outline) -> list[Outline]:
    if given.slots:
        step = outline.length / (given.slots + 1)
        first = outline.x - outline.length / 2.0
        return [Outline(first + (i + 1) * step, outline.y, SLOT, 0.7 * outline.width) for i in range(given.slots)]
    if given.holes == "none":
        return []
    return [
        hole for coil in blocks.sides(model.inputs.design.pickup[pickup]) for hole, _ in _poles(model, pickup, coil)
    ]


__all__ = ["Metalwork", "clear", "guides_flux", "metalwork", "sheet_metal", "top_gap"]
