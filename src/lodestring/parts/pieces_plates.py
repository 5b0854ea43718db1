"""Plates, bobbin and press jig of one coil: from the set's records to the parts' records."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.design.coil import Coil
from lodestring.design.fields import at
from lodestring.layout.obround import Obround
from lodestring.layout.pole_row import Row
from lodestring.parts.choices import Choices
from lodestring.parts.ears import ear_for, screws_of
from lodestring.parts.exits import Exits, ExitsIn, exits
from lodestring.parts.fit import Calibration, FitClass, fitted
from lodestring.parts.process import process, usual
from lodestring.parts.records import Bobbin, Hole, Jig, Mark, Piece, Plate, Slot, Well
from lodestring.reference import plastic

RECESS = 1.2e-3
"""Depth of a jig's recess [m]: enough to hold a plate square."""
MARGIN = 4e-3
"""What a jig's block stands out over the plate [m]."""
FLUSH = 0.05e-3
"""A rod that stands out less than this [m] needs no well."""


@dataclass(frozen=True, slots=True)
class CoilPlates:
    """What is read of one coil: record, row of pole pieces, plate, and how its holes are made."""

    pickup: str
    coil: str
    record: Coil
    row: Row
    plate: blocks.PlateShape
    process: str
    machine: Calibration
    end: int
    outer_end: float
    """From the first turn to the tape's outside at the round ends [m], as drawn."""
    outer_loose: float
    """The same for a coil at the upper end of its interval."""
    fit: FitClass
    chosen: Choices

    @property
    def inner(self) -> Obround:
        return self.row.inner

    @property
    def name(self) -> str:
        return f"{self.pickup}-{self.coil}" if self.coil else self.pickup


def read_coil(assessment: Assessment, pickup: str, coil: str, chosen: Choices) -> CoilPlates:
    """One coil's plates as the assessment has them."""
    model = assessment.model
    record, row = blocks.coil_of(model, pickup, coil), blocks.row(model, pickup, coil)
    outer = assessment.facts[f"{blocks.coil_path(pickup, coil)}.outer_length"]
    drawn = blocks.outline(model, pickup, coil)
    made = chosen.process_for(record.bobbin.plate.material)
    where = blocks.crossings(model, pickup, coil)
    return CoilPlates(
        pickup,
        coil if len(blocks.sides(model.inputs.design.pickup[pickup])) > 1 else "",
        record,
        row,
        blocks.plate(model, pickup, coil),
        made,
        chosen.calibration(made),
        -1 if where[0] >= where[-1] else 1,
        drawn.depth_end + drawn.tape,
        max(((outer.high or 0.0) - row.inner.length) / 2, drawn.depth_end) + drawn.tape,
        chosen.rod_fit if record.bobbin.core.kind == "on rods" else chosen.pole_fit,
        chosen,
    )


def pole_holes(read: CoilPlates, fit: FitClass, machine: Calibration) -> tuple[tuple[Hole, ...], tuple[Slot, ...]]:
    """The holes of a coil's pole pieces about the coil's middle: round ones for rods, a slot for a blade."""
    body, layout, inner = read.record.poles.body, read.record.poles.layout, read.inner
    if body is None:
        return (), ()
    if body.diameter is not None:
        size = body.diameter.value
        drawn = fitted(size, fit, "hole", "upright", machine).drawn
        return tuple(Hole("rod", x - inner.cx, y - inner.cy, size, drawn, fit) for x, y in read.row.centres), ()
    if layout.length is None or layout.thickness is None:
        return (), ()
    (x, y), radius = read.row.centres[0], process(machine.process).inside_radius
    long, thick = (fitted(v.value, fit, "hole", "upright", machine).drawn for v in (layout.length, layout.thickness))
    return (), (Slot("blade", x - inner.cx, y - inner.cy, long, thick, min(radius, thick / 2)),)


def ways_out(read: CoilPlates, holes: tuple[Hole, ...]) -> Exits:
    """Eyelets, lead-out and groove of the bottom plate: clear of a loosely wound coil, or else of it as drawn."""
    found = exits(_exits_in(read, holes, read.outer_loose))
    return found if found.start is not None else exits(_exits_in(read, holes, read.outer_end))


def _exits_in(read: CoilPlates, holes: tuple[Hole, ...], outer: float) -> ExitsIn:
    web = max(plastic(read.record.bobbin.plate.material).least_web.nominal, process(read.process).wall)
    eyelet, lead_out = (
        fitted(usual("eyelet", n), "to size", "hole", "upright", read.machine).drawn for n in ("eyelet", "lead_out")
    )
    return ExitsIn(
        read.plate.length,
        read.plate.width,
        min(read.plate.corner, read.plate.length / 2, read.plate.width / 2),
        read.inner,
        outer,
        read.end,
        eyelet,
        lead_out,
        web,
        usual("groove", "width"),
        min(usual("groove", "depth"), 0.4 * read.plate.thickness),
        usual("groove", "from_hole"),
        tuple((h.x, h.y, h.drawn / 2) for h in holes),
    )


def plates(read: CoilPlates) -> tuple[Plate, Plate]:
    """(bottom, top) plate of a coil, each lying with its coil side up. The bottom one has the wire's ways out."""
    holes, slots = pole_holes(read, read.fit, read.machine)
    grown = 0.0
    if read.process == "cut sheet":  # printed outlines are left as drawn: nothing goes round them
        grown = fitted(read.plate.length, "to size", "peg", "upright", read.machine).drawn - read.plate.length
    corner = min(read.plate.corner, read.plate.length / 2, read.plate.width / 2) + grown / 2
    top = Plate(read.plate.length + grown, read.plate.width + grown, corner, read.plate.thickness, holes, slots)
    out = ways_out(read, holes)
    bottom = _eared(read, replace(top, holes=(*holes, *_exit_holes(read, out))))
    if out.groove is None:
        return bottom, top
    if read.process == "cut sheet":  # what cuts sheet cannot stop half-way: the groove is engraved, to be scraped
        return replace(bottom, marks=Mark(((out.groove.start, out.groove.end),))), top
    rounding = min(usual("rounding", "radius"), read.plate.thickness / 4)
    return replace(bottom, groove=out.groove, rounding=rounding, rounded_holes=("finish", "lead-out")), top


def _eared(read: CoilPlates, plate: Plate) -> Plate:
    """The bottom plate with ears, where they are chosen and its ends are wide enough."""
    ear, hole, drawn = ear_for(read.chosen, read.machine)
    if not read.chosen.ears or ear.radius > plate.width / 2:
        return plate
    screws = screws_of(read.chosen, plate.length / 2 + ear.reach, hole, drawn)
    return replace(plate, ear=ear, holes=(*plate.holes, *screws))


def _exit_holes(read: CoilPlates, out: Exits) -> list[Hole]:
    found = []
    for what, place, figure in (
        ("start", out.start, "eyelet"),
        ("finish", out.finish, "eyelet"),
        ("lead-out", out.lead_out, "lead_out"),
    ):
        if place is not None:
            size = usual("eyelet", figure)
            drawn = fitted(size, "to size", "hole", "upright", read.machine).drawn
            found.append(Hole(what, place[0], place[1], size, drawn, "to size"))
    return found


def bobbin(read: CoilPlates) -> Bobbin:
    """A walled bobbin in one piece."""
    bottom, top = plates(read)
    inner, layout, wall = read.inner, read.record.poles.layout, read.record.bobbin.core.wall
    length, width, corner = inner.length, inner.width, inner.r
    if layout.length is not None and layout.thickness is not None and wall is not None:
        length, width = layout.length.value + 2 * wall.value, layout.thickness.value + 2 * wall.value
        corner = min(wall.value, width / 2)
    return Bobbin(bottom, top, length, width, corner, read.record.bobbin.window.value)


def jig(read: CoilPlates, chosen: Choices) -> Jig | None:
    """The press jig of a coil on rods, with the top plate face down in it: y is mirrored. None without rods."""
    body, height = read.record.poles.body, read.record.poles.height
    if body is None or body.diameter is None or height is None:
        return None
    size, room = body.diameter.value, usual("walls", "room")
    drawn = fitted(size, "slip", "hole", "upright", chosen.printer).drawn
    wells = tuple(
        Well(x - read.inner.cx, -(y - read.inner.cy), size, drawn, "slip", at(height, i).value)
        for i, (x, y) in enumerate(read.row.centres)
        if at(height, i).value > FLUSH
    )
    plate, recess = read.plate, min(RECESS, read.plate.thickness / 2)
    corner = min(plate.corner, plate.length / 2, plate.width / 2)
    deepest = max((w.depth for w in wells), default=0.0)
    return Jig(
        Plate(plate.length + 2 * MARGIN, plate.width + 2 * MARGIN, corner + MARGIN if corner else 0.0,
              recess + deepest + usual("walls", "floor")),
        Plate(plate.length + room, plate.width + room, corner + room / 2 if corner else 0.0, recess),
        wells,
    )  # fmt: skip


def coil_pieces(read: CoilPlates, chosen: Choices) -> list[Piece]:
    """The parts of one coil: a pair of plates for rods that hold them, with their jig; else a bobbin in one piece."""
    material, where = read.record.bobbin.plate.material, (read.pickup, read.coil)
    if read.record.bobbin.core.kind == "walled":
        return [
            Piece(f"{read.name}-bobbin", f"{_said(read)} bobbin", bobbin(read), 1, read.process, material,
                  "standing on its bottom plate, support under the top plate", "the coil is wound on it", *where)
        ]  # fmt: skip
    bottom, top = plates(read)
    lies = "coil side up" if read.process != "cut sheet" else "either side up; scrape the start's groove along its line"
    found = [
        Piece(f"{read.name}-top-plate", f"{_said(read)} top plate", top, 1, read.process, material,
              "either side up", "rods stand in it, the coil lies under it", *where),
        Piece(f"{read.name}-bottom-plate", f"{_said(read)} bottom plate", bottom, 1, read.process, material, lies,
              "rods stand in it; start and finish leave through its eyelets", *where),
    ]  # fmt: skip
    made = jig(read, chosen)
    if made is not None:
        found.append(
            Piece(f"{read.name}-press-jig", f"{_said(read)} press jig", made, 1, chosen.printer.process, chosen.plastic,
                  "recess up", "top plate face down in it: each rod is pressed until its well stops it", *where)
        )  # fmt: skip
    return found


def _said(read: CoilPlates) -> str:
    return f"{read.pickup} {read.coil}".strip()
