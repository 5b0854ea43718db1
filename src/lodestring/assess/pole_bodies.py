"""Bodies of a pickup as magnetics sees them: design record + named inputs -> rods, and boxes for blades, bars and a
steel baseplate.

Positions of the pole pieces are those of the unshifted model, stretched by one named input (the row's straight length
with its own interval): so the four measures behind it do not each ask for a new solve.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.assess.uncertainty import Input
from lodestring.design.coil import Body
from lodestring.design.fields import at
from lodestring.errors import CatalogueError
from lodestring.physics.eddy import plate_permeability, rod_permeability
from lodestring.physics.panels import Box
from lodestring.physics.poles import Rod
from lodestring.reference import Magnet, Metal, magnet, metal

STEEL = 1.5
"""A baseplate of a metal with a permeability above this is a magnetic body."""


@dataclass(frozen=True, slots=True)
class PolesIn:
    """Every rod of a pickup, all coils, and its boxes: blades coil by coil, bars, a steel baseplate."""

    rods: tuple[Rod, ...]
    boxes: tuple[Box, ...] = ()


def straight_factor(model: Model, pickup: str, coil: str) -> float:
    """Stretch of the row of pole pieces: 1, or what the interval of its straight length makes of it."""
    path = blocks.coil_path(pickup, coil)

    def make() -> Input:
        found = model.nominal().estimate(
            ("row's length", pickup, coil), lambda m: blocks.row(m, pickup, coil).inner.s, "layout.obround", False
        )
        if found.value <= 0.0:
            return Input(f"{path}.row", 1.0, 1.0, 1.0, "computed", "one pole piece")
        low, high = found.low / found.value, found.high / found.value
        return Input(f"{path}.row", 1.0, low, high, "computed", "places of the pole pieces under the strings")

    return model.read(f"{path}.row", make)


def grade_of(body: Body) -> Magnet | Metal:
    """Catalogue row of a pole piece's material."""
    return magnet(body.grade) if body.kind == "magnet" else metal(body.grade)


def permeability(model: Model, body: Body) -> float:
    """Relative (recoil) permeability of a pole piece."""
    found = grade_of(body)
    spread = found.recoil_permeability if isinstance(found, Magnet) else found.relative_permeability
    kind = "recoil permeability" if isinstance(found, Magnet) else "permeability in weak fields"
    name = f"{body.kind}.{body.grade}.permeability"
    return model.read(
        name,
        lambda: Input(name, spread.nominal, spread.low, spread.high, "catalogue", kind,
                      "measure the inductance with the pole pieces out and in", found.rows),
    )  # fmt: skip


def coil_rods(model: Model, pickup: str, coil: str) -> tuple[Rod, ...]:
    """The rods of one coil, numbered from string 1 on."""

    def make() -> tuple[Rod, ...]:
        record = blocks.coil_of(model, pickup, coil)
        body, height = record.poles.body, record.poles.height
        if body is None or body.diameter is None or height is None:
            return ()
        path = blocks.coil_path(pickup, coil)
        row = model.nominal().block(("row", pickup, coil), lambda: blocks.row(model.nominal(), pickup, coil))
        stretch = straight_factor(model, pickup, coil)
        radius = model.given(f"{path}.poles.body.diameter", body.diameter) / 2
        mu = permeability(model, body)
        middle = row.inner.cx
        rods = []
        for i, (x, y) in enumerate(row.centres):
            length = at(body.length, i).value
            rods.append(Rod(middle + (x - middle) * stretch, y, at(height, i).value - length / 2, length, radius, mu))
        return tuple(rods)

    return model.block(("rods", pickup, coil), make)


def coil_blade(model: Model, pickup: str, coil: str) -> Box | None:
    """The blade of one coil; None for a coil with rods or without pole pieces."""

    def make() -> Box | None:
        record = blocks.coil_of(model, pickup, coil)
        body, height, layout = record.poles.body, record.poles.height, record.poles.layout
        if body is None or height is None or layout.length is None or layout.thickness is None:
            return None
        path = blocks.coil_path(pickup, coil)
        nominal = model.nominal()
        row = nominal.block(("row", pickup, coil), lambda: blocks.row(nominal, pickup, coil))
        x, y = row.centres[0]
        upright, top = at(body.length, 0).value, at(height, 0).value
        long = layout.length.value * straight_factor(model, pickup, coil)
        thick = model.given(f"{path}.poles.layout.thickness", layout.thickness)
        return Box((x, y, top - upright / 2), (long, thick, upright), permeability(model, body))

    return model.block(("blade", pickup, coil), make)


def bars(model: Model, pickup: str) -> tuple[Box, ...]:
    """The bar magnets of a pickup."""
    found = []
    for bar in (model.inputs.design.pickup[pickup].bar or {}).values():
        mu = magnet(bar.grade).recoil_permeability.nominal
        x, y, z = (c.value for c in bar.centre)
        found.append(Box((x, y, z), (bar.size[0].value, bar.size[1].value, bar.size[2].value), mu))
    return tuple(found)


def steel_plate(model: Model, pickup: str) -> Metal | None:
    """The metal of a baseplate that is a magnetic body; None for others and for no baseplate."""
    plate = model.inputs.design.pickup[pickup].baseplate
    if plate is None:
        return None
    try:
        found = metal(plate.material)
    except CatalogueError:
        return None  # a plastic
    return found if found.relative_permeability.nominal > STEEL else None


def baseplate(model: Model, pickup: str) -> Box | None:
    """A steel baseplate as a magnetic body; None for another metal and for none."""
    steel, place = steel_plate(model, pickup), baseplate_place(model, pickup)
    return None if steel is None or place is None else Box(*place, steel.relative_permeability.nominal)


Triple = tuple[float, float, float]


def baseplate_place(model: Model, pickup: str) -> tuple[Triple, Triple] | None:
    """Middle and size [m] of a baseplate: as long and wide as all plates of the pickup's coils together, right under
    its lowest part (assumed, as the set file gives material and thickness only); None for a pickup without one."""
    record = model.inputs.design.pickup[pickup]
    if record.baseplate is None or not record.coil:
        return None
    nominal = model.nominal()
    xs, ys, lows = [], [], []
    for name, coil in record.coil.items():
        inner, plate = blocks.row(nominal, pickup, name).inner, coil.bobbin.plate
        xs += [inner.cx - plate.length.value / 2, inner.cx + plate.length.value / 2]
        ys += [inner.cy - plate.width.value / 2, inner.cy + plate.width.value / 2]
        lows.append(-2 * plate.thickness.value - coil.bobbin.window.value)
        lows += [r.z - r.length / 2 for r in coil_rods(nominal, pickup, name)]
    found = [coil_blade(nominal, pickup, c) for c in blocks.sides(record)]
    lows += [float(box.low[2]) for box in (*(b for b in found if b), *bars(nominal, pickup))]
    thick = record.baseplate.thickness.value
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2, min(lows) - thick / 2)
    return middle, (max(xs) - min(xs), max(ys) - min(ys), thick)


def poles_in(model: Model, pickup: str, frequency: float = 0.0, own: str = "", plate: bool = True) -> PolesIn | None:
    """Every rod and box of a pickup; at a frequency, with the permeability that eddy currents leave. None without any.

    `own` names one coil: then its rods or its blade alone, in the frame of the coil's own middle, so that two coils
    alike share what is solved. Without `plate` a steel baseplate is left out.
    """

    def make() -> PolesIn | None:
        rods: list[Rod] = []
        boxes: list[Box] = []
        for coil in (own,) if own else blocks.sides(model.inputs.design.pickup[pickup]):
            body = blocks.coil_of(model, pickup, coil).poles.body
            mine, blade = coil_rods(model, pickup, coil), coil_blade(model, pickup, coil)
            if frequency and body is not None:
                conductivity = 1.0 / grade_of(body).resistivity.nominal
                mine = tuple(
                    replace(r, mu=rod_permeability(r.mu.real, conductivity, r.radius, frequency)) for r in mine
                )
                blade = None if blade is None else _at_frequency(blade, 1, conductivity, frequency)
            rods.extend(mine)
            boxes.extend([blade] if blade else [])
        if own:
            x, y = middle(model, pickup, own)
            rods = [replace(r, x=round(r.x - x, 12), y=round(r.y - y, 12)) for r in rods]
            boxes = [replace(b, centre=(b.centre[0] - x, b.centre[1] - y, b.centre[2])) for b in boxes]
        else:
            boxes.extend(bars(model, pickup))
            base, steel = baseplate(model, pickup), steel_plate(model, pickup)
            if plate and base is not None and steel is not None:
                boxes.append(_at_frequency(base, 2, 1.0 / steel.resistivity.nominal, frequency) if frequency else base)
        return PolesIn(tuple(rods), tuple(boxes)) if rods or boxes else None

    return model.block(("poles", pickup, frequency, own, plate), make)


def middle(model: Model, pickup: str, coil: str) -> tuple[float, float]:
    """Middle of a coil in the pickup's frame [m], in the unshifted model."""
    nominal = model.nominal()
    inner = nominal.block(("row", pickup, coil), lambda: blocks.row(nominal, pickup, coil)).inner
    return inner.cx, inner.cy


def _at_frequency(box: Box, across: int, conductivity: float, frequency: float) -> Box:
    """A box as a plate that is thin along axis `across` (0, 1, 2)."""
    return replace(box, mu=plate_permeability(complex(box.mu).real, conductivity, box.size[across], frequency))


def tops(model: Model, pickup: str, x: float) -> list[tuple[float, float]]:
    """(distance along the row from x, height of its top) of every pole piece of a pickup [m]."""
    found = []
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        found += [(abs(r.x - x), r.z + r.length / 2) for r in coil_rods(model, pickup, coil)]
        blade = coil_blade(model, pickup, coil)
        if blade is not None:
            beside = abs(x - blade.centre[0]) - blade.size[0] / 2
            found.append((max(beside, 0.0), float(blade.high[2])))
    return found
