"""Checks on a part before it is made: the solid against its record, and against what the process can do."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lodestring.assess.findings.say import mm
from lodestring.design.finding import Finding
from lodestring.errors import CatalogueError
from lodestring.parts.codes import finding
from lodestring.parts.contour import box, distance
from lodestring.parts.fit_piece import columns, rows, wall_height
from lodestring.parts.measure import Bore, Measured, measured
from lodestring.parts.process import Process, process
from lodestring.parts.records import Bobbin, Carrier, Cover, FitPiece, Hole, Jig, Piece, Plate, Ring, Shape
from lodestring.reference import metal, plastic

SAME = 2e-6
"""Sizes of solid and record agree to this [m]."""
SMALL_OVERHANG = 6e-6
"""Roofs of holes and the like below this area [m2] bridge by themselves."""


def about(piece: Piece) -> str:
    """Key path that a part's finding is about."""
    return ".".join(["pickup", piece.pickup, *(["coil", piece.coil] if piece.coil else [])]) if piece.pickup else "part"


def check(piece: Piece) -> tuple[Measured, list[Finding]]:
    """A part's measures and everything that speaks against making it. Raises NoKernel."""
    rules = process(piece.process)
    found = measured(piece.shape, rules.overhang)
    return found, [*_whole(piece, found), *_holes(piece, found), *_process(piece, found, rules)]


def _whole(piece: Piece, found: Measured) -> Iterator[Finding]:
    if found.solids != 1 or not found.valid:
        yield finding(
            "part-in-pieces", "blocker", about(piece),
            f"the {piece.title} comes out in {found.solids} pieces" if found.solids != 1 else
            f"the {piece.title} is not one closed solid",
            "holes and slots farther apart, or a greater part",
        )  # fmt: skip
    for name, is_, should in zip(("long", "wide", "high"), found.size, expected_size(piece.shape), strict=True):
        if abs(is_ - should) > SAME:
            yield finding(
                "part-off-size", "blocker", about(piece),
                f"the {piece.title} is {mm(is_)} {name}, not {mm(should)}", "report this set file as a fault of ours",
            )  # fmt: skip
            return


def expected_size(shape: Shape) -> tuple[float, float, float]:
    """Length, width, height [m] by the record."""
    if isinstance(shape, Bobbin):
        sizes = [_flat_size(p) for p in (shape.bottom, shape.top)]
        return max(s[0] for s in sizes), max(s[1] for s in sizes), shape.height
    if isinstance(shape, Plate):
        return (*_flat_size(shape), shape.thickness)
    if isinstance(shape, Carrier):
        return (*_flat_size(shape.body), shape.body.thickness)
    if isinstance(shape, Jig):
        return (*_flat_size(shape.block), shape.block.thickness)
    if isinstance(shape, Cover):
        return shape.length, shape.width, shape.depth
    if isinstance(shape, Ring):
        left, bottom, right, top = box(shape.flange())
        return right - left, top - bottom, shape.height
    deep = rows(shape)[4] + shape.peg
    return shape.length, deep, shape.floor + max(wall_height(shape), shape.peg)


def _flat_size(plate: Plate) -> tuple[float, float]:
    left, bottom, right, top = box(plate.outline())
    return right - left, top - bottom


def expected_holes(shape: Shape) -> list[tuple[float, float, float, bool]]:
    """(x, y or z, drawn diameter, upright) of every round hole by the record [m]."""
    if isinstance(shape, FitPiece):
        across, up = rows(shape)[1], shape.floor + 1.5 * shape.row
        sized = [(x, shape.nominal + o) for x, o in zip(columns(shape), shape.offsets, strict=True)]
        return [(x, across, d, True) for x, d in sized] + [(x, up, d, False) for x, d in sized]
    holes: tuple[Hole, ...] = ()
    if isinstance(shape, Bobbin):
        holes = shape.bottom.holes
    elif isinstance(shape, Carrier):
        holes = shape.body.holes
    elif isinstance(shape, Jig):
        return [(w.x, w.y, w.drawn, True) for w in shape.wells]
    elif isinstance(shape, Plate | Cover | Ring):
        holes = shape.holes
    return [(h.x, h.y, h.drawn, True) for h in holes]


def _holes(piece: Piece, found: Measured) -> Iterator[Finding]:
    """Every hole of the record is in the solid at its place and size, and no other."""
    left = list(found.bores)
    for x, other, diameter, upright in expected_holes(piece.shape):
        hit = next((b for b in left if _is(b, x, other, diameter, upright)), None)
        if hit is None:
            yield finding(
                "part-holes-differ", "blocker", about(piece),
                f"the {piece.title} lacks a hole of {mm(diameter)} at x {x * 1e3:.1f} mm",
                "holes and slots farther apart",
            )  # fmt: skip
        else:
            left.remove(hit)


def _is(bore: Bore, x: float, other: float, diameter: float, upright: bool) -> bool:
    axis = 2 if upright else 1
    second = bore.at[1] if upright else bore.at[2]
    return (
        bore.along[axis] > 0.999
        and abs(bore.diameter - diameter) < SAME
        and math.dist((bore.at[0], second), (x, other)) < SAME
    )


def _process(piece: Piece, found: Measured, rules: Process) -> Iterator[Finding]:
    # a printed hole comes out smaller than drawn: what stands round it is thicker by half of that
    give = max(rules.hole_small.nominal, 0.0) / 2
    wall, web = found.wall + 2 * give, min(edge_distances(piece.shape, give), default=math.inf)
    least_web = max(rules.wall, _web(piece))
    if isinstance(piece.shape, FitPiece) or not not_metal(piece.material):
        wall = web = math.inf  # raised figures are thin on purpose, and metal is bought by its thickness
    if wall < rules.wall - SAME or web < least_web - SAME:
        thin, least = (wall, rules.wall) if wall - rules.wall < web - least_web else (web, least_web)
        yield finding(
            "part-wall-thin", "warning", about(piece),
            f"the {piece.title} comes out {mm(thin)} thin at one place; {piece.process} in {piece.material} wants "
            f"{mm(least)}",
            "a wider plate, smaller holes or a thicker wall", None, least - thin,
        )  # fmt: skip
    smallest = min((d for *_, d, _ in expected_holes(piece.shape)), default=rules.least_hole)
    if smallest < rules.least_hole - SAME:
        yield finding(
            "part-hole-small", "warning", about(piece),
            f"the {piece.title} has a hole of {mm(smallest)}; {piece.process} makes {mm(rules.least_hole)} and more",
            "drill it",
        )  # fmt: skip
    if rules.printed and found.overhang > SMALL_OVERHANG and not isinstance(piece.shape, FitPiece):
        yield finding(
            "part-overhangs", "note", about(piece),
            f"the {piece.title}, {piece.orientation}, hangs over on {found.overhang * 1e6:.0f} mm2",
            "print it with support there", None, found.overhang,
        )  # fmt: skip


def not_metal(material: str) -> bool:
    """Whether a material is no metal."""
    try:
        metal(material)
    except CatalogueError:
        return True
    return False


def _web(piece: Piece) -> float:
    """Least material between holes for the part's plastic [m]; 0 for what the catalogue does not know as one."""
    try:
        return plastic(piece.material).least_web.nominal
    except CatalogueError:
        return 0.0


def edge_distances(shape: Shape, give: float = 0.0) -> list[float]:
    """Material [m] between each hole and the outline or a slot, and between each two holes, in closed form; each round
    hole taken smaller by `give` all round."""
    if isinstance(shape, Jig):
        wells = [(w.x, w.y, w.drawn / 2 - give) for w in shape.wells]
        return [math.dist(a[:2], b[:2]) - a[2] - b[2] for i, a in enumerate(wells) for b in wells[i + 1 :]]
    plate = shape.bottom if isinstance(shape, Bobbin) else shape.body if isinstance(shape, Carrier) else shape
    if not isinstance(plate, Plate):
        return []
    holes = [(h.x, h.y, h.drawn / 2 - give) for h in plate.holes]
    lines = [plate.outline(), *(s.contour() for s in plate.slots)]
    out = [distance(line, (x, y)) - r for line in lines for x, y, r in holes]
    return out + [math.dist(a[:2], b[:2]) - a[2] - b[2] for i, a in enumerate(holes) for b in holes[i + 1 :]]
