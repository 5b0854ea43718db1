"""Do the parts of a pickup go together: millimetres between pole pieces, coil at full size, cover, screws and tape.

The coil is taken with its belly and its tape, as drawn and at the loose end of its interval. Rooms are as made: a hole
is counted with what its fit leaves, not with what is drawn for this printer. What coil and plates have to spare in a
given housing stands with the set's own figures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lodestring.assess import blocks, sheet_places
from lodestring.assess.findings.say import mm
from lodestring.assess.report import Assessment
from lodestring.design.finding import Finding
from lodestring.layout.clearance import CoilOutline, Hollow, inside_housing, plate_inside_housing
from lodestring.parts.choices import Choices
from lodestring.parts.codes import finding
from lodestring.parts.ears import OVER_SCREW, ear_for
from lodestring.parts.fit import room
from lodestring.parts.pieces import made
from lodestring.parts.pieces_around import Around, cover_outside
from lodestring.parts.pieces_plates import CoilPlates, plates, read_coil

HEAD = 2.0
"""Diameter of a screw's head over that of its shank, about (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Clearance:
    """Room between two things [m]: as drawn, and at the loose end of what is uncertain. Negative: they touch."""

    pickup: str
    coil: str
    between: str
    room: float
    loose: float


def clearances(assessment: Assessment, chosen: Choices | None = None) -> tuple[Clearance, ...]:
    """Every clearance of every pickup that is to be made."""
    picked = Choices() if chosen is None else chosen
    out: list[Clearance] = []
    for pickup in made(assessment):
        model = assessment.model.nominal()
        a = Around(model, pickup, model.inputs.design.pickup[pickup], picked)
        for coil in blocks.sides(a.record):
            read = read_coil(assessment, pickup, coil, picked)
            out += _poles(read)
            out += _exits(read)
            out += _in_cover(a, coil, read)
        out += _over_poles(a)
        out += _screw_heads(a)
    return tuple(out)


def _poles(read: CoilPlates) -> list[Clearance]:
    """Rods in their holes, all round, from what the fit leaves; the loose end is the thickest rod in the tightest."""
    body = read.record.poles.body
    if body is None or body.diameter is None:
        return []
    left = room(read.fit)
    thick = body.diameter.half_width or 0.0
    return [Clearance(read.pickup, read.coil, f"rods and their holes, {read.fit}", left.nominal, left.low - thick)]


def _exits(read: CoilPlates) -> list[Clearance]:
    """From the last turn's tape to the nearest rim of an eyelet."""
    found = [h for h in plates(read)[0].holes if h.what in ("start", "finish")]
    if not found:
        return []
    ends = [
        min(math.hypot(max(abs(h.x) - read.inner.s / 2, 0.0), h.y) - read.inner.r - outer - h.drawn / 2 for h in found)
        for outer in (read.outer_end, read.outer_loose)
    ]
    return [Clearance(read.pickup, read.coil, "coil and eyelets", ends[0], ends[1])]


def _in_cover(a: Around, coil: str, read: CoilPlates) -> list[Clearance]:
    given = a.record.cover
    if given is None:
        return []
    out = cover_outside(a, given)
    wall = given.thickness.value
    inside = Hollow(out.length - 2 * wall, out.width - 2 * wall, sheet_places.deep(a.model, a.pickup, given),
                    max(out.corner - wall, 0.0))  # fmt: skip
    drawn = blocks.outline(a.model, a.pickup, coil)
    inner = replace(drawn.inner, cx=drawn.inner.cx - out.x, cy=drawn.inner.cy - out.y)
    more = read.outer_loose - read.outer_end
    ends = [
        min(inside_housing(CoilOutline(inner, drawn.depth_end + d, drawn.depth_side + d, drawn.tape), inside))
        for d in (0.0, more)
    ]
    plate = read.plate
    corner = min(plate.corner, plate.length / 2, plate.width / 2)
    apart = plate_inside_housing(plate.length, plate.width, corner, inner.cx, inner.cy, inside)
    return [
        Clearance(a.pickup, read.coil, "coil and cover", ends[0], ends[1]),
        Clearance(a.pickup, read.coil, "plates and cover", apart, apart),
    ]


def _over_poles(a: Around) -> list[Clearance]:
    """Pole tops under a cover without holes."""
    given = a.record.cover
    if given is None or (given.slots == 0 and given.holes != "none"):
        return []
    tops = [height for coil in blocks.sides(a.record) for height in sheet_places.pole_tops(a.model, a.pickup, coil)]
    if not tops:
        return []
    left = sheet_places.under(a.model, a.pickup) - max(tops)
    return [Clearance(a.pickup, "", "pole pieces and the cover's top", left, left)]


def _screw_heads(a: Around) -> list[Clearance]:
    """Heads of the screws in a ring's ears against its wall."""
    if a.record.housing is None or a.record.cover is not None:
        return []
    ear, hole, _ = ear_for(a.chosen, a.chosen.printer)
    head = HEAD * (hole - 0.4e-3) / 2  # a clearance hole of the medium series is about 0.4 mm wider than its screw
    left = ear.reach - head
    return [Clearance(a.pickup, "", "screw heads and the ring's wall", left, left - OVER_SCREW / 10)]


def assembly_findings(assessment: Assessment, chosen: Choices | None = None) -> list[Finding]:
    """What touches, or may; and whether the wire finds its way out of every plate."""
    picked = Choices() if chosen is None else chosen
    out = []
    for c in clearances(assessment, picked):
        if "press" in c.between or "force" in c.between:
            continue  # tight on purpose
        where = ".".join(["pickup", c.pickup, *(["coil", c.coil] if c.coil else [])])
        if c.room < 0.0:
            out.append(
                finding("parts-touch", "blocker", where, f"{c.between} of the {c.pickup} pickup lack {mm(c.room)}",
                        "more room between them", None, -c.room)
            )  # fmt: skip
        elif c.loose < 0.0:
            out.append(
                finding("parts-touch", "warning", where,
                        f"{c.between} of the {c.pickup} pickup have {mm(c.room)}, but may lack {mm(c.loose)}",
                        "measure the coil at the pauses, or more room", None, -c.loose)
            )  # fmt: skip
    return [*out, *_no_way_out(assessment, picked), *_untried(picked)]


def _no_way_out(assessment: Assessment, chosen: Choices) -> list[Finding]:
    out = []
    for pickup in made(assessment):
        for coil in blocks.sides(assessment.model.inputs.design.pickup[pickup]):
            read = read_coil(assessment, pickup, coil, chosen)
            if not any(h.what == "start" for h in plates(read)[0].holes):
                out.append(
                    finding("no-room-for-eyelets", "warning", f"{blocks.coil_path(pickup, coil)}.bobbin.plate.length",
                            f"the bottom plate of the {' '.join(x for x in (pickup, read.coil) if x)} coil has no free "
                            "end for two eyelets beyond the coil", "longer plates, or fewer turns")
                )  # fmt: skip
    return out


def _untried(chosen: Choices) -> list[Finding]:
    if chosen.printer.tried:
        return []
    return [
        finding("fit-not-tested", "note", "printer",
                "holes are drawn larger by what is usual for this process, known to 0.15 mm only",
                "printing the test piece and writing its answers into workshop.toml")
    ]  # fmt: skip
