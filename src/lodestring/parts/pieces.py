"""Which parts a set needs: read off its records, nothing else. Kept pickups need none."""

from __future__ import annotations

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.parts import pieces_around as around
from lodestring.parts.choices import Choices
from lodestring.parts.fit_piece import fit_piece
from lodestring.parts.pieces_plates import coil_pieces, read_coil
from lodestring.parts.records import Cover, Piece, Ring
from lodestring.reference.naming import unknown_name


def pieces(assessment: Assessment, chosen: Choices | None = None) -> tuple[Piece, ...]:
    """Every part of a set in the order of the set file, then the test pieces. Pure: no kernel is loaded.

    A core on rods gives a pair of plates and a press jig, a walled one a bobbin; bars give a carrier, a cover a cover,
    a baseplate a baseplate, room under the bobbin a spacer; a housing without a cover is offered as a ring, and what
    goes into the body as a template. Offered parts have `needed` False.
    """
    picked = Choices() if chosen is None else chosen
    found = [p for name in made(assessment) for p in of_pickup(assessment, name, picked)]
    return (*found, *_test_pieces(assessment, picked))


def made(assessment: Assessment) -> tuple[str, ...]:
    """Names of the pickups that are to be made."""
    return tuple(n for n, p in assessment.model.inputs.design.pickup.items() if p.coil)


def of_pickup(assessment: Assessment, pickup: str, chosen: Choices) -> tuple[Piece, ...]:
    """The parts of one pickup."""
    model = assessment.model.nominal()
    record = model.inputs.design.pickup[pickup]
    a = around.Around(model, pickup, record, chosen)
    hollow = blocks.hollow(model, pickup)
    found = [
        p for coil in blocks.sides(record) for p in coil_pieces(read_coil(assessment, pickup, coil, chosen), chosen)
    ]
    cover = around.cover_piece(a)
    ring = None if hollow is None or cover is not None else around.ring_piece(a, hollow)
    shape = next((p.shape for p in (cover, ring) if p is not None), None)
    template = around.template_piece(a, shape if isinstance(shape, Cover | Ring) else None)
    others = (around.carrier_piece(a), around.spacer_piece(a, hollow), around.baseplate_piece(a, hollow), cover, ring)
    return (*found, *(p for p in (*others, template) if p is not None))


def _test_pieces(assessment: Assessment, chosen: Choices) -> list[Piece]:
    """One for each diameter of rods, before the first part; needed until the printer's answers are kept."""
    sizes = []
    for pickup, coil in blocks.every_coil(assessment.model):
        body = blocks.coil_of(assessment.model, pickup, coil).poles.body
        if body is not None and body.diameter is not None and 2e-3 <= body.diameter.value <= 10e-3:
            sizes.append(round(body.diameter.value, 6))
    return [
        Piece(f"test-piece-{round(size * 1e5):04d}", f"test piece for {size * 1e3:.2f} mm", fit_piece(size), 1,
              chosen.printer.process, chosen.plastic, "standing on its floor, numbers up",
              "try a rod in every hole: it tells what this printer makes of a hole",
              needed=not chosen.printer.tried)
        for size in dict.fromkeys(sizes)
    ]  # fmt: skip


def only(found: tuple[Piece, ...], names: tuple[str, ...]) -> tuple[Piece, ...]:
    """The parts of these names, or of these pickups. Raises LodestringError (did you mean) for a name that is none."""
    if not names:
        return found
    known = {p.name for p in found} | {p.pickup for p in found if p.pickup}
    for name in names:
        if name not in known:
            raise unknown_name("a part of this set", name, tuple(sorted(known)))
    return tuple(p for p in found if p.name in names or p.pickup in names)
