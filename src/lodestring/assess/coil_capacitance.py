"""Capacitance of a coil: of the winding itself, and to metal near it that is tied to something.

Metal tied to nothing adds next to nothing. Where it is tied, its capacitance depends on which end of the coil is hot:
the network gets a capacitor from each end to the metal's node, and what that counts too often is taken off the
winding's own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.assess import blocks, circuit_net, named, pole_blocks, pole_bodies, sheet_places
from lodestring.assess.model import Model
from lodestring.assess.uncertainty import Input
from lodestring.physics.capacitance import Laying, Wound, hand_capacitance, machine_capacitance
from lodestring.physics.capacitance_metal import (
    Face,
    all_round,
    inner_face,
    plate_face,
    row_depth,
    stacked_er,
    to_metal,
)
from lodestring.physics.capacitance_pair import Filled
from lodestring.physics.capacitance_plan import Circle, Oblong, Outline
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.network_parts import Capacitor, Part
from lodestring.physics.one_thread import one_thread
from lodestring.physics.winding import PERFECT_LAYERS
from lodestring.reference import enamel, metal

LEAST = 1e-12
"""A winding of fewer than two rows is reckoned at this [F]: its field is outside it, which is not covered."""
TAPE_ER = 2.5
"""Relative permittivity of tape, of paper or plastic film."""
NEAREST = 50e-6
"""Pole pieces are taken no nearer to the innermost turns than this [m]."""


@dataclass(frozen=True, slots=True)
class CapacitanceIn:
    """What the capacitance of a winding depends on."""

    wound: Wound
    laying: Laying | None


def winding_step(given: CapacitanceIn) -> float:
    """Capacitance of the winding alone [F]."""
    return machine_capacitance(given.wound) if given.laying is None else hand_capacitance(given.wound, given.laying)


def _read(model: Model, name: str, row: str, why: str, narrow: str = "") -> float:
    return model.read(name, lambda: named.from_band(name, row, why, narrow))


def _enamel(model: Model, kind: str) -> float:
    name = f"enamel.{kind}.permittivity"

    def make() -> Input:
        found = enamel(kind)
        e = found.permittivity
        return Input(name, e.nominal, e.low, e.high, "catalogue", "the enamel's relative permittivity", "", found.rows)

    return model.read(name, make)


def filling(model: Model, pickup: str) -> float:
    """Relative permittivity of what fills the gaps between turns: wax, lacquer or air."""
    potting = model.inputs.design.pickup[pickup].potting
    if potting is None or potting.kind == "none":
        return 1.0
    return _read(
        model, f"filling.{potting.kind}", f"filling.{potting.kind}", f"how far the {potting.kind} fills the gaps"
    )


def wire_of(model: Model, pickup: str, coil: str) -> Filled:
    """The wire with its enamel and what is round it."""
    given = blocks.copper_in(model, pickup, coil)
    kind = blocks.coil_of(model, pickup, coil).wire.enamel
    return Filled(given.bare, given.overall, _enamel(model, kind), filling(model, pickup))


def winding(model: Model, pickup: str, coil: str) -> float:
    """Capacitance of the winding alone, end to end [F]."""

    def make() -> float:
        given, wound = blocks.copper_in(model, pickup, coil), blocks.copper(model, pickup, coil)
        wire = wire_of(model, pickup, coil)
        rows = given.turns * given.overall / given.height
        if rows < 2.0:
            return LEAST
        stack = Wound(given.turns, wound.mean_turn, given.height, min(given.packing, PERFECT_LAYERS), wire)
        laying = _laying(model, pickup, coil)
        factor = _of_hand(model)
        return factor * model.store.kept(winding_step, CapacitanceIn(stack, laying))

    return model.block(("winding capacitance", pickup, coil), make)


def _of_hand(model: Model) -> float:
    """Factor on the computed capacitance: what this hand's coils have shown, else the bench's band."""
    hand = model.inputs.hand
    if hand is not None and hand.capacitance is not None:
        learned = hand.capacitance
        return model.read("hand.capacitance", lambda: named.learned_input("hand.capacitance", learned))
    return _read(
        model, "hand.capacitance", "laying.capacitance", "capacitance of this hand's coils is not known yet",
        "measure the resonance of one finished coil",
    )  # fmt: skip


def _laying(model: Model, pickup: str, coil: str) -> Laying | None:
    """How the turns are laid; None for a machine's layers."""
    record, given = blocks.coil_of(model, pickup, coil), blocks.copper_in(model, pickup, coil)
    style = record.packing
    if style == "perfect machine layers":
        return None
    why = "how the hand moves the wire to and fro is not known"
    contact = _read(model, "hand.contact", "laying.contact", "how closely turns lie on each other is not known")
    if style == "traverse":  # side by side, as wide as the window takes
        return Laying(max(given.height / given.overall * 0.5, 2.0), given.overall, 0.0, contact)
    passes = _read(model, "hand.turns_per_pass", "laying.turns-per-pass", why, "count the turns of one pass")
    return Laying(passes, _read(model, "hand.scatter", "laying.scatter", why), 0.0, contact)


# ---- metal ----


@dataclass(frozen=True, slots=True)
class PolesFaceIn:
    """Pole pieces against the innermost turns."""

    box: CoilBox
    metal: tuple[Outline, ...]
    height: float


def poles_face_step(given: PolesFaceIn) -> float:
    """Capacitance of that gap in vacuum [F]."""
    with one_thread():
        return inner_face(given.box, given.metal, 1.0, given.height).capacitance


def _node(pickup: str, to: str) -> str:
    return circuit_net.GROUND if to == "ground" else f"{pickup}.{to}"


def _poles(model: Model, pickup: str, coil: str) -> Face | None:
    """The pole pieces of a coil against its innermost turns."""
    base = model.nominal()
    wound = pole_blocks.winding(base, pickup, coil)
    box, place = wound.box, wound.place
    depth = row_depth(*_wire_sizes(base, pickup, coil))
    bore = CoilBox(box.straight, box.inner + depth, box.outer + depth, box.height)
    outlines: list[Outline] = []
    heights = []
    most = bore.inner - NEAREST
    for rod in pole_bodies.coil_rods(base, pickup, coil):
        x, y = rod.x - place[0], rod.y - place[1]
        free = most - math.hypot(max(abs(x) - bore.straight / 2, 0.0), y)
        outlines.append(Circle(x, y, min(rod.radius, free)))
        heights.append(_overlap(rod.z, rod.length, place[2], box.height))
    blade = pole_bodies.coil_blade(base, pickup, coil)
    if blade is not None:
        x, y, z = blade.centre
        long, thick = min(blade.size[0], bore.straight + 2 * most), min(blade.size[1], 2 * most)
        outlines.append(Oblong(x - place[0], y - place[1], long, thick, 0.0))
        heights.append(_overlap(z, blade.size[2], place[2], box.height))
    if not outlines or max(heights) <= 0.0:
        return None
    given = PolesFaceIn(bore, tuple(outlines), sum(heights) / len(heights))
    er = _read(
        model, f"pickup.{pickup}.coil.{coil}.core.permittivity", "filling.core", "what lies between core and poles"
    )
    return Face(er * model.store.kept(poles_face_step, given), 0.0, 0.0)


def _wire_sizes(model: Model, pickup: str, coil: str) -> tuple[float, float, float]:
    given = blocks.copper_in(model, pickup, coil)
    return given.bare, given.overall, given.overall * math.sqrt(PERFECT_LAYERS / min(given.packing, PERFECT_LAYERS))


def _overlap(one: float, length: float, other: float, height: float) -> float:
    """Height over which two upright things stand beside each other [m]."""
    return min(one + length / 2, other + height / 2) - max(one - length / 2, other - height / 2)


def is_metal(material: str) -> bool:
    """Whether the catalogue has a metal of this name."""
    from lodestring.errors import CatalogueError

    try:
        metal(material)
    except CatalogueError:
        return False
    return True


def faces(model: Model, pickup: str, coil: str) -> dict[str, list[Face]]:
    """Faces of a coil on tied metal, by the node the metal is tied to."""

    def make() -> dict[str, list[Face]]:
        record, made = model.inputs.design.pickup[pickup], blocks.coil_of(model, pickup, coil)
        out: dict[str, list[Face]] = {}
        if made.poles.grounded_to != "nothing":
            found = _poles(model, pickup, coil)
            out.setdefault(_node(pickup, made.poles.grounded_to), []).extend([found] if found else [])
        for sheet, look in ((record.baseplate, _baseplate), (record.cover, _cover), (made.foil, _foil)):
            if sheet is not None and sheet.grounded_to != "nothing" and is_metal(sheet.material):
                out.setdefault(_node(pickup, sheet.grounded_to), []).extend(look(model, pickup, coil))
        return out

    return model.block(("faces", pickup, coil), make)


def _plate(model: Model, pickup: str, coil: str) -> tuple[float, float]:
    """Thickness [m] and relative permittivity of the plates between a coil and metal above or below it."""
    er = _read(model, "plate.permittivity", "filling.plate", "the plate's relative permittivity")
    return blocks.coil_of(model, pickup, coil).bobbin.plate.thickness.value, er


def _baseplate(model: Model, pickup: str, coil: str) -> list[Face]:
    return [plate_face(pole_blocks.winding(model, pickup, coil).box, *_plate(model, pickup, coil))]


def _cover(model: Model, pickup: str, coil: str) -> list[Face]:
    """A cover's wall all round the outermost turns (round half of them, for one coil of a pair) and its top."""
    box, (thick, er) = pole_blocks.winding(model, pickup, coil).box, _plate(model, pickup, coil)
    clear = sheet_places.clear(model, pickup)
    wall = all_round(box, clear, 1.0, box.height)
    share = 1.0 / len(blocks.sides(model.inputs.design.pickup[pickup]))
    above = sheet_places.top_gap(model, pickup, coil)
    top = plate_face(box, thick + above, stacked_er(((thick, er), (above, 1.0))))
    return [Face(share * wall.capacitance, wall.mean, wall.square), top]


def _foil(model: Model, pickup: str, coil: str) -> list[Face]:
    box = pole_blocks.winding(model, pickup, coil).box
    return [all_round(box, max(named.tape(model), NEAREST), TAPE_ER, box.height)]


def parts(model: Model, pickup: str, coil: str) -> tuple[Part, ...]:
    """The coil's capacitors for the network."""
    finish, start = circuit_net.coil_nodes(pickup, coil)
    across = winding(model, pickup, coil)
    out: list[Part] = []
    for number, (node, here) in enumerate(faces(model, pickup, coil).items()):
        found = to_metal(here)
        across += found.start_finish
        for end, farad in ((start, found.start_metal), (finish, found.finish_metal)):
            if farad > 0.0 and end != node:
                out.append(Capacitor(f"{pickup}.{coil}.{end.rpartition('.')[2]}-metal-{number + 1}", end, node, farad))
    return (Capacitor(f"{pickup}.{coil}.capacitance", finish, start, max(across, LEAST)), *out)


def at_ends(model: Model, pickup: str, coil: str) -> float:
    """Capacitance between a coil's two ends, its ground end and all tied metal grounded [F]."""
    total = winding(model, pickup, coil)
    hot = blocks.coil_of(model, pickup, coil).hot
    for here in faces(model, pickup, coil).values():
        found = to_metal(here)
        total += found.start_finish + (found.start_metal if hot == "start" else found.finish_metal)
    return max(total, LEAST)
