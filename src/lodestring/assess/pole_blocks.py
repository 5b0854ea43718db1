"""Coils on their pole pieces: solved systems of rods and boxes, responses, what the poles add to a coil."""

from __future__ import annotations

from dataclasses import replace

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.assess.pole_bodies import (
    PolesIn,
    coil_blade,
    coil_rods,
    permeability,
    poles_in,
    steel_plate,
    straight_factor,
)
from lodestring.assess.pole_steps import (
    Response,
    TableIn,
    Together,
    WindingIn,
    air_step,
    direct_step,
    poles_step,
    response_step,
    table_step,
    together_step,
)
from lodestring.assess.uncertainty import Input
from lodestring.physics.coil import CoilBox, moment
from lodestring.physics.inductance import System, moment_of_poles, poles_inductance

RESPONSE_SIZE = 60_000
TABLE_SIZE = 500_000
ANSWER_SIZE = 88
"""Bytes a node takes in what is kept of one coil on a system with boxes, field and answer each."""
SMALL_SYSTEM = 12_000_000
"""Bytes up to which any solved system is kept; a larger one only where strings ask for it again."""
ROD_NODES, BOX_NODES, WEAK_NODES = 30, 650, 250
"""Nodes a rod, a box and a box that is nearly air are reckoned at; a solved system holds a matrix of them."""
DEEPER = 1.3
"""A table of sheets reaches this much deeper than the coil as drawn, so that other turns and packings find it there."""


def system(model: Model, given: PolesIn) -> System:
    """The solved system of some rods and boxes, kept."""
    return model.store.kept_as(("poles_step", given), "poles_step", lambda: poles_step(given), _reckoned(given))


def _reckoned(given: PolesIn) -> int:
    """Bytes a solved system is reckoned at: its factors."""
    nodes = _nodes(given)
    return (
        nodes
        * nodes
        * (16 if any(complex(m).imag for m in (*(r.mu for r in given.rods), *(b.mu for b in given.boxes))) else 8)
    )


def _nodes(given: PolesIn) -> int:
    return ROD_NODES * len(given.rods) + sum(WEAK_NODES if b.weak else BOX_NODES for b in given.boxes)


# ---- coils ----


def winding(model: Model, pickup: str, coil: str) -> WindingIn:
    """The winding of a coil at its own number of turns."""

    def make() -> WindingIn:
        path = blocks.coil_path(pickup, coil)
        record = blocks.coil_of(model, pickup, coil)
        row = model.nominal().block(("row", pickup, coil), lambda: blocks.row(model.nominal(), pickup, coil)).inner
        inner = blocks.row(model, pickup, coil).inner.r
        height = model.given(f"{path}.bobbin.window", record.bobbin.window)
        depth = blocks.copper(model, pickup, coil).depth_end
        top = record.bobbin.plate.thickness.value
        box = CoilBox(row.s * straight_factor(model, pickup, coil), inner, inner + depth, height)
        return WindingIn(box, (row.cx, row.cy, -top - height / 2))

    return model.block(("winding", pickup, coil), make)


def response(
    model: Model, pickup: str, coil: str, frequency: float = 0.0, own: str = "", plate: bool = True
) -> Response | None:
    """What the pole pieces (or one coil's `own`) make of a coil; None where there are none. See `poles_in`."""

    def make() -> Response | None:
        given, static = (poles_in(model, pickup, f, own, plate) for f in (frequency, 0.0))
        if given is None or static is None:
            return None
        if given.boxes:
            return together(model, pickup, frequency, own, plate).responses[_place(model, pickup, coil, own)]
        wound = _wound(model, pickup, coil, own)
        table_in = _table_in(model, pickup, coil, static, wound)
        if model is not model.nominal() and table_in != _nominal_table(model, pickup, coil, own, plate):
            # the geometry itself is shifted: a table would serve this once, so the coil is taken as it is
            return model.store.kept_as(
                ("response_step", (given, wound)),
                "response_step",
                lambda: direct_step(system(model, given), wound),
                RESPONSE_SIZE,
            )
        table = model.store.kept_as(
            ("table_step", table_in), "table_step", lambda: table_step(system(model, static), table_in), TABLE_SIZE
        )
        return model.store.kept_as(
            ("response_step", (given, table_in, wound.box.outer)),
            "response_step",
            lambda: response_step(system(model, given), table, wound.box.outer),
            RESPONSE_SIZE,
        )

    return model.block(("response", pickup, coil, frequency, own, plate), make)


def _nominal_table(model: Model, pickup: str, coil: str, own: str, plate: bool) -> TableIn | None:
    base = model.nominal()
    static = poles_in(base, pickup, 0.0, own, plate)
    return None if static is None else _table_in(base, pickup, coil, static, _wound(base, pickup, coil, own))


def _wound(model: Model, pickup: str, coil: str, own: str) -> WindingIn:
    """The winding, for `own` in the frame of the coil's own middle as its pole pieces."""
    found = winding(model, pickup, coil)
    return replace(found, place=(0.0, 0.0, found.place[2])) if own else found


def _table_in(model: Model, pickup: str, coil: str, poles: PolesIn, wound: WindingIn) -> TableIn:
    """The table that serves this winding and others a little shallower or deeper."""
    box, nominal = wound.box, winding(model.nominal(), pickup, coil).box
    most = nominal.inner + DEEPER * (nominal.outer - nominal.inner)
    most = max(round(most * 2e3 + 0.5) / 2e3, box.outer)  # whole half millimetres: a few turns more find the same table
    return TableIn(poles, box.straight, box.inner, most, box.height, wound.place)


def together(model: Model, pickup: str, frequency: float = 0.0, own: str = "", plate: bool = True) -> Together:
    """The coils of a pickup with blades, bars or a baseplate (or one coil's `own`), asked for at once: then a large
    system need not be kept."""

    def make() -> Together:
        given, static = (poles_in(model, pickup, f, own, plate) for f in (frequency, 0.0))
        if given is None or static is None:
            raise ValueError("asked only where there are pole pieces")
        names = (own,) if own else blocks.sides(model.inputs.design.pickup[pickup])
        wounds = tuple(_wound(model, pickup, c, own) for c in names)

        def run() -> Together:
            # the field of a coil on the bodies is the same at every frequency
            found = [r.touch for r in together(model, pickup, 0.0, own, plate).responses] if frequency else None
            kept = (not frequency and not own and plate) or _reckoned(given) < SMALL_SYSTEM
            solved = system(model, given) if kept else poles_step(given)
            return together_step(solved, wounds, found)

        size = 2 * ANSWER_SIZE * _nodes(given) * len(names)
        return model.store.kept_as(("together_step", (given, wounds)), "together_step", run, size)

    return model.block(("together", pickup, frequency, own, plate), make)


def _place(model: Model, pickup: str, coil: str, own: str) -> int:
    return 0 if own else blocks.sides(model.inputs.design.pickup[pickup]).index(coil)


def air(model: Model, pickup: str, coil: str) -> float:
    """Air inductance of a coil per turn squared [H]."""
    return model.store.kept(air_step, winding(model, pickup, coil).box)


def pole_part(model: Model, pickup: str, one: str, other: str, frequency: float = 0.0) -> complex:
    """What the pole pieces add to the (mutual) inductance of two coils, per turn of each [H].

    At the end of an input's interval a pickup with two coils, bars or a baseplate is not solved anew: each coil's part
    goes as that of the coil with its own rods or its blade alone.
    """
    share = plate_share(model, pickup)
    if model is model.nominal() or not _large(model, pickup):
        return _full_part(model, pickup, one, other, frequency)
    nominal = model.nominal()
    part = _full_part(nominal, pickup, one, other, frequency)
    if share != 1.0:  # the baseplate's part as at low frequency
        with_it, bare = (_full_part(nominal, pickup, one, other, 0.0, plate) for plate in (True, False))
        part = part * (bare + share * (with_it - bare)) / with_it
    return part * (_own_ratio(model, pickup, one, frequency) * _own_ratio(model, pickup, other, frequency))


def plate_share(model: Model, pickup: str) -> float:
    """Factor on what a steel baseplate adds: 1, or the end of its interval; 1 where there is none."""
    if steel_plate(model, pickup) is None:
        return 1.0
    name = f"pickup.{pickup}.baseplate.share"
    return model.read(
        name,
        lambda: Input(name, 1.0, 0.7, 1.17, "assumed",
                      "taken as large as the coils' plates together, flat against the lowest part",
                      "measure the inductance with the baseplate off and on"),
    )  # fmt: skip


def _large(model: Model, pickup: str) -> bool:
    record = model.inputs.design.pickup[pickup]
    return bool(record.bar) or len(record.coil or {}) > 1 or steel_plate(model, pickup) is not None


def _full_part(
    model: Model, pickup: str, one: str, other: str, frequency: float, plate: bool = True, own: str = ""
) -> complex:
    given = poles_in(model, pickup, frequency, own, plate)
    if given is None:
        return 0.0 + 0.0j
    if given.boxes:
        a, b = (_place(model, pickup, c, own) for c in (one, other))
        return together(model, pickup, frequency, own, plate).parts[a][b]
    first, second = (response(model, pickup, c, frequency, own, plate) for c in (one, other))
    if first is None or second is None:
        return 0.0 + 0.0j
    return poles_inductance(system(model, given), first.answer, second.touch, second.answer)


def _own_ratio(model: Model, pickup: str, coil: str, frequency: float) -> float:
    """Root of how a coil's own rods or blade add more or less to it than in the unshifted model."""
    now, before = (abs(_full_part(m, pickup, coil, coil, frequency, True, coil)) for m in (model, model.nominal()))
    return float((now / before) ** 0.5) if before else 1.0


def dipole(model: Model, pickup: str, coil: str) -> float:
    """Dipole moment of a coil with its pole pieces per ampere and turn [m^2]; shifted as `pole_part`."""
    air_part, share = moment(winding(model, pickup, coil).box), plate_share(model, pickup)
    if model is model.nominal() or not _large(model, pickup):
        return air_part + _dipole_part(model, pickup, coil)
    own, before = (_dipole_part(m, pickup, coil, coil) for m in (model, model.nominal()))
    part = _dipole_part(model.nominal(), pickup, coil)
    if share != 1.0:
        bare = _dipole_part(model.nominal(), pickup, coil, plate=False)
        part = bare + share * (part - bare)
    return air_part + part * (own / before if before else 1.0)


def _dipole_part(model: Model, pickup: str, coil: str, own: str = "", plate: bool = True) -> float:
    given, found = poles_in(model, pickup, 0.0, own, plate), response(model, pickup, coil, 0.0, own, plate)
    if given is None or found is None:
        return 0.0
    if given.boxes:
        return together(model, pickup, 0.0, own, plate).moments[_place(model, pickup, coil, own)]
    return moment_of_poles(system(model, given), found.answer).real


def mean_permeability(model: Model, pickup: str, coil: str) -> float:
    """Permeability of a coil's pole pieces."""
    body = blocks.coil_of(model, pickup, coil).poles.body
    return 1.0 if body is None else permeability(model, body)


def pieces(model: Model, pickup: str, coil: str) -> int:
    """Number of a coil's pole pieces; a blade is one."""
    return len(coil_rods(model, pickup, coil)) or int(coil_blade(model, pickup, coil) is not None)
