"""Pole pieces: webs beside their holes, polarity, charge, strings read off a tape."""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.assess import blocks, sheet_places
from lodestring.assess.findings.say import coil_name, finding, length
from lodestring.assess.model import Model
from lodestring.design.coil import Face
from lodestring.design.fields import at
from lodestring.design.finding import Finding
from lodestring.layout.obround import room_inside
from lodestring.layout.pole_row import nearest_pair
from lodestring.reference import plastic

GRIP = 0.5e-3
"""Rods reach at least this far into the bottom plate [m] to hold it (assumed)."""
TAPE_NOTE = 0.5e-3
"""A paper tape that differs by more than this from the interpolation is worth a word (assumed)."""


def find(model: Model) -> Iterator[Finding]:
    """Findings about pole pieces, coil by coil."""
    for pickup, coil in blocks.every_coil(model):
        yield from _webs(model, pickup, coil)
        yield from _polarity(model, pickup, coil)
        yield from _charge(model, pickup, coil)
        yield from _reach(model, pickup, coil)
    yield from _order(model)
    for pickup, record in model.inputs.design.pickup.items():
        if record.coil and record.cover is not None and sheet_places.guides_flux(record.cover.material):
            yield finding(
                "cover-not-reckoned",
                "note",
                f"pickup.{pickup}.cover.material",
                f"the cover of the {pickup} pickup is of {record.cover.material}, which guides flux: what it does to "
                "field, inductance and peak is not reckoned",
                "nickel silver, brass or copper; or measure once with the cover off and once with it on",
            )
    for pickup, record in model.inputs.design.pickup.items():
        if record.coil and record.string_centres is not None:
            yield from _tape(model, pickup)


def _webs(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    record = blocks.coil_of(model, pickup, coil)
    body = record.poles.body
    if body is None or body.diameter is None:
        return
    material = record.bobbin.plate.material
    least = plastic(material).least_web.nominal
    row, shape = blocks.row(model, pickup, coil), blocks.plate(model, pickup, coil)
    radius = body.diameter.value / 2
    path = blocks.coil_path(pickup, coil)
    name = coil_name(model, pickup, coil)
    edges = [
        room_inside(shape.length, shape.width, shape.corner, x - row.inner.cx, y - row.inner.cy) - radius
        for x, y in row.centres
    ]
    if min(edges) < least:
        worst = edges.index(min(edges)) + 1
        yield finding(
            "hole-near-edge",
            "warning",
            f"{path}.bobbin.plate",
            f"in {name} the hole of pole piece {worst} leaves a web of "
            f"{length(model, max(min(edges), 0.0))} to the plate's edge; {material} wants {length(model, least)}",
            "a longer or wider plate",
            None,
            least - min(edges),
        )
    pair = nearest_pair(row.centres)
    if pair is not None and pair[2] - 2 * radius < least:
        web = pair[2] - 2 * radius
        yield finding(
            "hole-near-neighbour",
            "warning",
            f"{path}.poles.layout",
            f"in {name} the holes of pole pieces {pair[0] + 1} and {pair[1] + 1} leave a web of "
            f"{length(model, max(web, 0.0))} between them; {material} wants {length(model, least)}",
            "thinner pole pieces, or set them further apart",
            None,
            least - web,
        )


def _polarity(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    poles = blocks.coil_of(model, pickup, coil).poles
    path = f"{blocks.coil_path(pickup, coil)}.poles"
    name = coil_name(model, pickup, coil)
    up = poles.up
    if isinstance(up, tuple) and len(set(up)) > 1:
        north = sum(end == "north" for end in up)
        most = "north" if north * 2 >= len(up) else "south"
        odd = [str(i + 1) for i, end in enumerate(up) if end != most]
        yield finding(
            "mixed-poles",
            "warning",
            f"{path}.up",
            f"{name} has {north} pole pieces north up and {len(up) - north} south up; strings over the odd ones "
            f"({', '.join(odd)}) sound out of phase with the others and weaker between unlike neighbours",
            f"all {most} up",
            {f"{path}.up": f'"{most}"'},
        )
    magnets = poles.body is not None and poles.body.kind == "magnet"
    if not magnets and not model.inputs.design.pickup[pickup].bar:
        steel = "a steel blade" if poles.layout.kind == "blade" else "steel pole pieces"
        what = "no pole pieces" if poles.body is None else steel
        yield finding(
            "no-magnet",
            "warning",
            f"{path}.layout" if poles.body is None else f"{path}.body",
            f"{name} has {what} and the {pickup} pickup has no bar magnet, so the strings are not magnetised",
            f"a bar magnet under the row: [pickup.{pickup}.bar.NAME]",
        )


def _charge(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    poles = blocks.coil_of(model, pickup, coil).poles
    if poles.body is None or poles.body.kind != "magnet":
        return
    states = poles.state if isinstance(poles.state, tuple) else (poles.state,)
    flat = [s for s in states if not isinstance(s, Face) and s == "uncharged"]
    if not flat:
        return
    path = f"{blocks.coil_path(pickup, coil)}.poles.state"
    some = 0 < len(flat) < len(states)
    which = f"{len(flat)} of {len(states)} magnets" if some else "the magnets"
    yield finding(
        "magnets-uncharged",
        "warning" if some else "note",
        path,
        f"{which} of {coil_name(model, pickup, coil)} are not charged; uncharged, there is no sound",
        "charge the assembled coil between two strong blocks, then check every pole piece with one marked rod",
        {path: '"charged"'},
    )


def _reach(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    """Rods that carry the wire must reach into the bottom plate, or nothing holds it."""
    record = blocks.coil_of(model, pickup, coil)
    body, height, bobbin = record.poles.body, record.poles.height, record.bobbin
    if body is None or height is None or bobbin.core.kind != "on rods":
        return
    plate = bobbin.plate.thickness.value + bobbin.window.value
    count = max(len(v) if isinstance(v, tuple) else 1 for v in (height, body.length))
    feet = [at(height, i).value - at(body.length, i).value for i in range(count)]
    short = max(feet) + plate
    if short > -GRIP:
        what, them = ("blade ends", "blade") if record.poles.layout.kind == "blade" else ("rods end", "rods")
        yield finding(
            "rods-too-short",
            "blocker",
            f"{blocks.coil_path(pickup, coil)}.poles.body.length",
            f"in {coil_name(model, pickup, coil)} the {what} {length(model, short)} "
            f"{'above' if short > 0 else 'inside'} the bottom plate's upper face, "
            f"so {'they do' if them == 'rods' else 'it does'} not hold it",
            f"{'' if them == 'rods' else 'a '}longer {them}, a lower window, or less height above the top plate",
            None,
            short,
        )


def _order(model: Model) -> Iterator[Finding]:
    strings = model.inputs.design.instrument.strings
    if len(strings) > 1 and strings[0].note.frequency < strings[-1].note.frequency:
        yield finding(
            "strings-run-up",
            "warning",
            "instrument.strings",
            f"string 1 is {strings[0].note.name} and the last {strings[-1].note.name}: string 1 is the highest, so "
            "gaps, heights and sides would be mirrored",
            "list the strings from the highest to the lowest",
        )


def _tape(model: Model, pickup: str) -> Iterator[Finding]:
    coil = blocks.sides(model.inputs.design.pickup[pickup])[0]
    tape = blocks.crossings(model, pickup, coil)
    plain = blocks.crossings(model, pickup, coil, use_tape=False)
    differences = [a - b for a, b in zip(tape, plain, strict=True)]
    worst = max(range(len(tape)), key=lambda i: abs(differences[i]))
    if abs(differences[worst]) > TAPE_NOTE:
        yield finding(
            "tape-differs",
            "note",
            f"pickup.{pickup}.string_centres",
            f"under the {pickup} pickup the tape puts string {worst + 1} {length(model, differences[worst])} "
            "from where nut and bridge put it; the tape is used",
            "read the tape once more, and check the spread at nut and bridge",
            None,
            abs(differences[worst]),
        )
