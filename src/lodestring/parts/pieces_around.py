"""What goes round and under a pickup: cover, ring housing, baseplate, bar carrier, spacer, template for the body."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import blocks, pole_bodies, sheet_places
from lodestring.assess.model import Model
from lodestring.design.pickup import Cover as CoverRecord
from lodestring.design.pickup import Pickup
from lodestring.layout.clearance import Hollow
from lodestring.parts.choices import Choices
from lodestring.parts.contour import Ear
from lodestring.parts.ears import ear_for, screws_of
from lodestring.parts.fit import fitted
from lodestring.parts.lettering import strokes
from lodestring.parts.process import usual
from lodestring.parts.records import Carrier, Cover, Hole, Mark, Piece, Plate, Pocket, Ring, Slot
from lodestring.physics.sheet_shape import Outline

GAP = 0.3e-3
"""A gap under this [m] needs no spacer."""
PILOT = 2e-3
"""Drill [m] through which a wood screw's place is marked: common practice, no source."""
BESIDE = 25e-3
"""What a template stands out over its opening [m]: room for a router's foot and two clamps."""
ROUND = 1.5e-3
"""Corner of a carrier or a baseplate [m]."""
LETTERS = 4e-3


@dataclass(frozen=True, slots=True)
class Around:
    """One pickup with what is asked of it over and over."""

    model: Model
    pickup: str
    record: Pickup
    chosen: Choices

    @property
    def footprint(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) of all plates [m]."""
        boxes = []
        for coil in blocks.sides(self.record):
            inner, plate = blocks.row(self.model, self.pickup, coil).inner, blocks.plate(self.model, self.pickup, coil)
            boxes.append((inner.cx - plate.length / 2, inner.cy - plate.width / 2,
                          inner.cx + plate.length / 2, inner.cy + plate.width / 2))  # fmt: skip
        return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))

    @property
    def foot(self) -> float:
        """z of the lowest bobbin's underside [m]."""
        found = [blocks.coil_of(self.model, self.pickup, c).bobbin for c in blocks.sides(self.record)]
        return min(-2 * b.plate.thickness.value - b.window.value for b in found)

    def rods(self) -> list[tuple[float, float, float, float]]:
        """(x, y, diameter, z of the foot) of every rod [m]."""
        nominal = self.model.nominal()
        return [
            (r.x, r.y, 2 * r.radius, r.z - r.length / 2)
            for coil in blocks.sides(self.record)
            for r in pole_bodies.coil_rods(nominal, self.pickup, coil)
        ]

    def blades(self) -> list[tuple[float, float, float, float, float]]:
        """(x, y, length, thickness, z of the foot) of every blade [m]."""
        nominal = self.model.nominal()
        found = [pole_bodies.coil_blade(nominal, self.pickup, c) for c in blocks.sides(self.record)]
        return [(b.centre[0], b.centre[1], b.size[0], b.size[1], float(b.low[2])) for b in found if b]


def cover_outside(a: Around, given: CoverRecord) -> Outline:
    """A cover from above: as its size says; else round the coils, and round the plates with room, where these are
    greater (the figures of the set reckon with the metal near the coils alone)."""
    out = sheet_places.outside(a.model, a.pickup, given)
    if given.size is not None:
        return out
    left, bottom, right, top = a.footprint
    more = 2 * (given.thickness.value + usual("walls", "room"))
    x, y = (left + right) / 2, (bottom + top) / 2
    long, wide = (
        max(size + 2 * abs(middle - mine), extent + more)
        for size, middle, mine, extent in ((out.length, out.x, x, right - left), (out.width, out.y, y, top - bottom))
    )
    return Outline(x, y, long, wide, min(out.corner, wide / 2))


def cover_piece(a: Around) -> Piece | None:
    """The cover, lying on its top: y is mirrored."""
    given = a.record.cover
    if given is None:
        return None
    out, deep = cover_outside(a, given), sheet_places.deep(a.model, a.pickup, given)
    process = a.chosen.process_for(given.material)
    process = "cnc" if process == "cut sheet" else process
    machine = a.chosen.calibration(process)
    holes, slots = [], []
    for o in sheet_places.openings(a.model, a.pickup, given, out):
        x, y = o.x - out.x, -(o.y - out.y)
        if abs(o.length - o.width) < 1e-9 and o.corner > 0.49 * o.length:
            drawn = fitted(o.length, "to size", "hole", "upright", machine).drawn
            holes.append(Hole("pole piece", x, y, o.length, drawn, "to size"))
        else:
            grown = fitted(o.width, "to size", "hole", "upright", machine).drawn - o.width
            corner = min(o.corner + grown / 2, (o.width + grown) / 2) if o.corner else 0.0
            slots.append(Slot("opening", x, y, o.length + grown, o.width + grown, corner))
    shape = Cover(out.length, out.width, deep, given.thickness.value, out.corner, tuple(holes), tuple(slots))
    says = "lying on its top" if process != "cnc" else "a metal cover is folded or drawn over a form of its inside"
    return Piece(f"{a.pickup}-cover", f"{a.pickup} cover", shape, 1, process, given.material, says,
                 "over the pickup", a.pickup)  # fmt: skip


def ring_piece(a: Around, hollow: Hollow) -> Piece:
    """An open ring round the clear inside that the set file gives."""
    wall, machine = usual("walls", "housing"), a.chosen.printer
    ear, hole, drawn = ear_for(a.chosen, machine)
    corner = min(hollow.corner, hollow.length / 2, hollow.width / 2)
    most = hollow.width / 2 + wall
    ear = ear if ear.radius <= most else Ear(most + 0.5e-3, most)
    reach = hollow.length / 2 + wall + ear.reach
    shape = Ring(hollow.length, hollow.width, corner, wall, hollow.depth, ear, usual("walls", "ear"),
                 screws_of(a.chosen, reach, hole, drawn))  # fmt: skip
    return Piece(f"{a.pickup}-ring", f"{a.pickup} ring housing", shape, 1, machine.process, a.chosen.plastic,
                 "standing on its ears", "holds the pickup, if its housing is yet to be made", a.pickup,
                 needed=False)  # fmt: skip


def baseplate_piece(a: Around, hollow: Hollow | None) -> Piece | None:
    """The baseplate under the lowest part, with ears where nothing says that they do not fit."""
    given, place = a.record.baseplate, pole_bodies.baseplate_place(a.model, a.pickup)
    if given is None or place is None:
        return None
    (_, _, _), (long, wide, thick) = place
    process = a.chosen.process_for(given.material)
    machine = a.chosen.calibration(process)
    ear, hole, drawn = ear_for(a.chosen, machine)
    fits = ear.radius <= wide / 2 - ROUND and (hollow is None or long + 2 * (ear.reach + ear.radius) <= hollow.length)
    lead = usual("eyelet", "lead_out")
    lead_drawn = fitted(lead, "to size", "hole", "upright", machine).drawn
    leads = tuple(Hole("lead-out", -long / 2 + 4e-3, y, lead, lead_drawn, "to size") for y in (-wide / 4, wide / 4))
    screws = screws_of(a.chosen, long / 2 + ear.reach, hole, drawn) if fits else ()
    grown = fitted(long, "to size", "peg", "upright", machine).drawn - long if process == "cut sheet" else 0.0
    shape = Plate(long + grown, wide + grown, ROUND + grown / 2, thick, (*leads, *screws), ear=ear if fits else None)
    return Piece(f"{a.pickup}-baseplate", f"{a.pickup} baseplate", shape, 1, process, given.material, "either side up",
                 "under the pickup", a.pickup)  # fmt: skip


def carrier_piece(a: Around) -> Piece | None:
    """What holds the bars under the bobbins, upside down (y mirrored): pockets up, pole pieces' holes through."""
    bars, machine = pole_bodies.bars(a.model, a.pickup), a.chosen.printer
    top = a.foot
    if not bars or any(float(b.high[2]) > top + 1e-6 for b in bars):
        return None
    left, bottom, right, upper = a.footprint
    wall = usual("walls", "housing")
    left, right = (
        min([left, *(float(b.low[0]) - wall for b in bars)]),
        max([right, *(float(b.high[0]) + wall for b in bars)]),
    )
    bottom, upper = (
        min([bottom, *(float(b.low[1]) - wall for b in bars)]),
        max([upper, *(float(b.high[1]) + wall for b in bars)]),
    )
    cx, cy, lowest = (left + right) / 2, (bottom + upper) / 2, min(float(b.low[2]) for b in bars)
    high = top - lowest

    def drawn(size: float) -> float:
        return fitted(size, "slip", "hole", "upright", machine).drawn

    pockets = tuple(
        Pocket(b.centre[0] - cx, -(b.centre[1] - cy), drawn(b.size[0]), drawn(b.size[1]), float(b.high[2]) - lowest)
        for b in bars
    )
    holes = tuple(Hole("rod", x - cx, -(y - cy), d, drawn(d), "slip") for x, y, d, foot in a.rods() if foot < top)
    slots = tuple(
        Slot("blade", x - cx, -(y - cy), drawn(long), drawn(thick), 0.0)
        for x, y, long, thick, foot in a.blades()
        if foot < top
    )
    body = Plate(right - left, upper - bottom, ROUND, high, holes, slots)
    return Piece(f"{a.pickup}-bar-carrier", f"{a.pickup} bar carrier", Carrier(body, pockets), 1, machine.process,
                 a.chosen.plastic, "pockets up", "holds the bars against the feet of the pole pieces",
                 a.pickup)  # fmt: skip


def spacer_piece(a: Around, hollow: Hollow | None) -> Piece | None:
    """What fills the room under the bobbin: down to the baseplate, or to the housing's floor."""
    base = pole_bodies.baseplate_place(a.model, a.pickup)
    if a.record.bar or (base is None and hollow is None):
        return None
    floor = base[0][2] + base[1][2] / 2 if base is not None else -(hollow.depth if hollow else 0.0)
    high = a.foot - floor
    if high < GAP:
        return None
    left, bottom, right, upper = a.footprint
    cx, cy, machine = (left + right) / 2, (bottom + upper) / 2, a.chosen.printer
    slots = tuple(_trough(a, coil, cx, cy) for coil in blocks.sides(a.record) if _feet_below(a, coil))
    first = blocks.sides(a.record)[0]
    corner = min(blocks.plate(a.model, a.pickup, first).corner, (right - left) / 2, (upper - bottom) / 2)
    shape = Plate(right - left, upper - bottom, corner, high, slots=slots)
    what = "between bobbin and baseplate" if base is not None else "packs the pickup up from its housing's floor"
    return Piece(f"{a.pickup}-spacer", f"{a.pickup} spacer", shape, 1, machine.process, a.chosen.plastic,
                 "either side up", what, a.pickup, needed=base is not None)  # fmt: skip


def _feet_below(a: Around, coil: str) -> bool:
    """Whether a coil's pole pieces stand out under its bobbin."""
    nominal = a.model.nominal()
    blade = pole_bodies.coil_blade(nominal, a.pickup, coil)
    feet = [r.z - r.length / 2 for r in pole_bodies.coil_rods(nominal, a.pickup, coil)]
    return min([*feet, *([float(blade.low[2])] if blade else [])], default=0.0) < a.foot


def _trough(a: Around, coil: str, cx: float, cy: float) -> Slot:
    """One opening round all feet of a coil: the coil's own inner outline, and room."""
    inner, room = blocks.row(a.model, a.pickup, coil).inner, usual("walls", "room")
    width = inner.width + 2 * room
    return Slot("feet", inner.cx - cx, inner.cy - cy, inner.length + 2 * room, width, width / 2)


def template_piece(a: Around, around: Cover | Ring | None) -> Piece | None:
    """Laid on the body: the cavity to rout along, screws to drill, and lines to set it by."""
    room, machine = usual("walls", "room"), a.chosen.printer
    screws: tuple[Hole, ...] = ()
    if isinstance(around, Ring):
        grown = 2 * (around.wall + room)
        long, wide, corner = around.length + grown, around.width + grown, around.corner + around.wall + room
        drawn = fitted(PILOT, "to size", "hole", "upright", machine).drawn
        screws = tuple(Hole("screw mark", h.x, h.y, PILOT, drawn, "to size") for h in around.holes)
    elif isinstance(around, Cover):
        long, wide, corner = around.length + 2 * room, around.width + 2 * room, around.corner + room
    else:
        return None
    outer_l, outer_w = long + 2 * BESIDE, wide + 2 * BESIDE
    edge = BESIDE - 2e-3
    runs = [((0.0, s * wide / 2 + s * 1e-3), (0.0, s * (wide / 2 + edge))) for s in (1.0, -1.0)]
    runs += [((s * (long / 2 + 14e-3), 0.0), (s * (long / 2 + edge), 0.0)) for s in (1.0, -1.0)]
    letters = strokes("NUT ^", LETTERS, (12e-3, wide / 2 + 4e-3)), strokes(a.pickup, LETTERS, (-20e-3, wide / 2 + 4e-3))
    shape = Plate(outer_l, outer_w, 3e-3, usual("walls", "template"), screws,
                  (Slot("cavity", 0.0, 0.0, long, wide, min(corner, wide / 2)),),
                  marks=Mark((*runs, *letters[0], *letters[1])))  # fmt: skip
    return Piece(f"{a.pickup}-template", f"{a.pickup} template", shape, 1, a.chosen.sheet.process, "sheet of 6 mm",
                 "lettering up", "clamped to the body: rout along its opening, drill through its marks", a.pickup,
                 needed=False)  # fmt: skip
