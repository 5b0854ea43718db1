"""Pole pieces and coils as magnetics sees them: design record + named inputs -> rods, boxes, responses.

Positions of the pole pieces are those of the unshifted model, stretched by one named input (the row's straight length
with its own interval): so the four measures behind it do not each ask for a new solve.
"""

from __future__ import annotations

from dataclasses import dataclass

from threadpoolctl import threadpool_limits

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.assess.uncertainty import Input
from lodestring.design.coil import Body, Face
from lodestring.design.fields import at
from lodestring.physics.coil import CoilBox, air_inductance, moment
from lodestring.physics.eddy import rod_permeability
from lodestring.physics.inductance import (
    Answer,
    Place,
    SheetTable,
    Touch,
    answer,
    moment_of_poles,
    poles_inductance,
    sheet_table,
)
from lodestring.physics.magnet_state import MagnetCurve, MagnetRod, effective_remanence, rod_states
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.reference import Magnet, Metal, magnet, metal

SYSTEM_SIZE = 4_000_000
"""Bytes a solved system of pole pieces is reckoned at."""
DEEPER = 1.3
"""A table of sheets reaches this much deeper than the coil as drawn, so that other turns and packings find it there."""


@dataclass(frozen=True, slots=True)
class PolesIn:
    """Every rod of a pickup, all coils."""

    rods: tuple[Rod, ...]


def covered(model: Model, pickup: str) -> bool:
    """Whether the magnetics of this pickup are covered: rods only so far, no bars, blades, covers of steel."""
    record = model.inputs.design.pickup[pickup]
    if not record.coil or record.bar:
        return False
    return all(c.poles.layout.kind != "blade" for c in record.coil.values())


def charged(model: Model, pickup: str) -> bool:
    """Whether any magnet of the pickup is charged."""
    for coil in (model.inputs.design.pickup[pickup].coil or {}).values():
        body, state = coil.poles.body, coil.poles.state
        states = state if isinstance(state, tuple) else (state,)
        if body is not None and body.kind == "magnet" and any(s != "uncharged" for s in states):
            return True
    return False


# ---- rods ----


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


def poles_in(model: Model, pickup: str, frequency: float = 0.0) -> PolesIn | None:
    """Every rod of a pickup; at a frequency, with the permeability that eddy currents leave. None without rods."""

    def make() -> PolesIn | None:
        rods: list[Rod] = []
        for coil in blocks.sides(model.inputs.design.pickup[pickup]):
            mine = coil_rods(model, pickup, coil)
            body = blocks.coil_of(model, pickup, coil).poles.body
            if frequency and body is not None:
                conductivity = 1.0 / grade_of(body).resistivity.nominal
                mine = tuple(
                    Rod(r.x, r.y, r.z, r.length, r.radius,
                        rod_permeability(r.mu.real, conductivity, r.radius, frequency))
                    for r in mine
                )  # fmt: skip
            rods.extend(mine)
        return PolesIn(tuple(rods)) if rods else None

    return model.block(("poles", pickup, frequency), make)


def poles_step(given: PolesIn) -> PoleSystem:
    """The system of all rods, solved."""
    with threadpool_limits(1):
        system = PoleSystem(given.rods)
        system.solve()
    return system


def system(model: Model, given: PolesIn) -> PoleSystem:
    """The solved system of some rods."""
    return model.store.kept_as(("poles_step", given), "poles_step", lambda: poles_step(given), SYSTEM_SIZE)


# ---- coils ----


@dataclass(frozen=True, slots=True)
class WindingIn:
    """A winding: its box and the place of its middle in the pickup's frame."""

    box: CoilBox
    place: Place


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


@dataclass(frozen=True, slots=True)
class TableIn:
    """Sheets of one coil on the rods of its pickup, out to `most`."""

    poles: PolesIn
    straight: float
    inner: float
    most: float
    height: float
    place: Place


@dataclass(frozen=True)
class Response:
    """One coil on its pickup's pole pieces, per ampere and turn."""

    touch: Touch
    answer: Answer


def response(model: Model, pickup: str, coil: str, frequency: float = 0.0) -> Response | None:
    """What the pole pieces make of a coil; None where there are none."""

    def make() -> Response | None:
        given = poles_in(model, pickup, frequency)
        if given is None:
            return None
        wound = winding(model, pickup, coil)
        box = wound.box
        nominal = winding(model.nominal(), pickup, coil).box
        most = max(nominal.inner + DEEPER * (nominal.outer - nominal.inner), box.outer)
        most = round(most * 2e3 + 0.5) / 2e3  # whole half millimetres, so that a few turns more find the same table
        static = poles_in(model, pickup) or given
        table_in = TableIn(static, box.straight, box.inner, max(most, box.outer), box.height, wound.place)
        table = model.store.kept_as(
            ("table_step", table_in), "table_step", lambda: table_step(system(model, static), table_in)
        )
        return model.store.kept_as(
            ("response_step", (given, table_in, box.outer)),
            "response_step",
            lambda: response_step(system(model, given), table, box.outer),
        )

    return model.block(("response", pickup, coil, frequency), make)


def table_step(poles: PoleSystem, given: TableIn) -> SheetTable:
    """The table of sheets."""
    with threadpool_limits(1):
        return sheet_table(poles, CoilBox(given.straight, given.inner, given.most, given.height), given.place)


def response_step(poles: PoleSystem, table: SheetTable, outer: float) -> Response:
    """The winding up to `outer` from its table, and the poles' answer."""
    with threadpool_limits(1):
        touch = table.coil(outer)
        return Response(touch, answer(poles, touch))


def air_step(box: CoilBox) -> float:
    """Air inductance per turn squared [H]."""
    return air_inductance(box)


def air(model: Model, pickup: str, coil: str) -> float:
    """Air inductance of a coil per turn squared [H]."""
    return model.store.kept(air_step, winding(model, pickup, coil).box)


def pole_part(model: Model, pickup: str, one: str, other: str, frequency: float = 0.0) -> complex:
    """What the pole pieces add to the (mutual) inductance of two coils, per turn of each [H]."""
    first, second = (response(model, pickup, c, frequency) for c in (one, other))
    given = poles_in(model, pickup, frequency)
    if first is None or second is None or given is None:
        return 0.0 + 0.0j
    return poles_inductance(system(model, given), first.answer, second.touch, second.answer)


def dipole(model: Model, pickup: str, coil: str) -> float:
    """Dipole moment of a coil with its pole pieces per ampere and turn [m^2]."""
    given, found = poles_in(model, pickup), response(model, pickup, coil)
    poles = 0.0 if given is None or found is None else moment_of_poles(system(model, given), found.answer).real
    return moment(winding(model, pickup, coil).box) + poles


# ---- magnets ----


@dataclass(frozen=True, slots=True)
class MagnetsIn:
    """The magnets of a pickup, all in each other's field."""

    rods: tuple[MagnetRod, ...]


def magnets_step(given: MagnetsIn) -> tuple[float, ...]:
    """Effective remanence [T] of each, + for north up."""
    with threadpool_limits(1):
        return tuple(effective_remanence(s, r.radius) for s, r in zip(rod_states(given.rods), given.rods, strict=True))


def remanences(model: Model, pickup: str) -> tuple[float, ...]:
    """Effective remanence [T] of every rod of a pickup, in the order of `poles_in`; 0 for steel and uncharged ones."""

    def make() -> tuple[float, ...]:
        return tuple(v for c in blocks.sides(model.inputs.design.pickup[pickup]) for v in _of_coil(model, pickup, c))

    return model.block(("remanences", pickup), make)


def _of_coil(model: Model, pickup: str, coil: str) -> tuple[float, ...]:
    record = blocks.coil_of(model, pickup, coil)
    rods = coil_rods(model.nominal(), pickup, coil)
    body = record.poles.body
    if body is None or body.kind != "magnet":
        return (0.0,) * len(rods)
    spread = model.read(
        f"magnet.{body.grade}.strength",
        lambda: Input(f"magnet.{body.grade}.strength", 1.0, 0.85, 1.15, "assumed",
                      "curve of the grade; the piece at hand may be stronger or weaker",
                      "read the face of each pole piece 0.5 mm off and write state = { face = ... }"),
    )  # fmt: skip
    natural = natural_remanences(model.nominal(), pickup)[coil]
    out = []
    for i, value in enumerate(natural):
        state = at(record.poles.state, i)
        if isinstance(state, Face):
            face = model.given(f"{blocks.coil_path(pickup, coil)}.poles.state.face", state.face)
            out.append(face / face_per_tesla(model.nominal(), pickup, coil, i) * (1.0 if value > 0.0 else -1.0))
        else:
            out.append(0.0 if state == "uncharged" else value * spread)
    return tuple(out)


def natural_remanences(model: Model, pickup: str) -> dict[str, tuple[float, ...]]:
    """What each magnet keeps of its remanence among all magnets of the pickup, by coil; charged, no face reading."""

    def make() -> dict[str, tuple[float, ...]]:
        out: dict[str, tuple[float, ...]] = {}
        all_rods: list[MagnetRod] = []
        for coil in blocks.sides(model.inputs.design.pickup[pickup]):
            all_rods += magnet_rods(model, pickup, coil)
        values = model.store.kept(magnets_step, MagnetsIn(tuple(all_rods))) if all_rods else ()
        start = 0
        for coil in blocks.sides(model.inputs.design.pickup[pickup]):
            count = len(magnet_rods(model, pickup, coil))
            out[coil] = values[start : start + count]
            start += count
        return out

    return model.block(("natural", pickup), make)


def magnet_rods(model: Model, pickup: str, coil: str) -> list[MagnetRod]:
    """The magnets of one coil."""
    record = blocks.coil_of(model, pickup, coil)
    body, up = record.poles.body, record.poles.up
    if body is None or body.kind != "magnet" or up is None:
        return []
    grade = magnet(body.grade)
    energy = grade.energy_product or grade.remanence
    curve = MagnetCurve(
        grade.remanence.nominal, grade.coercivity_b.nominal, energy.nominal, grade.recoil_permeability.nominal
    )
    return [
        MagnetRod(r.x, r.y, r.z, r.length, r.radius, curve, 1 if at(up, i) == "north" else -1)
        for i, r in enumerate(coil_rods(model, pickup, coil))
    ]


def alone(model: Model, pickup: str, coil: str, index: int) -> float:
    """Effective remanence [T] of one magnet by itself, away from its neighbours."""
    rod = magnet_rods(model, pickup, coil)[index]
    return model.store.kept(magnets_step, MagnetsIn((rod,)))[0]


PROBE = 0.5e-3
"""A face reading is taken this far off the face [m]."""


def face_per_tesla(model: Model, pickup: str, coil: str, index: int) -> float:
    """Field 0.5 mm over a pole piece's top per tesla of remanence, all magnets of the coil alike."""
    from lodestring.assess.string_blocks import face_field

    return face_field(model, pickup, coil, index)


def mean_permeability(model: Model, pickup: str, coil: str) -> float:
    """Permeability of a coil's pole pieces."""
    body = blocks.coil_of(model, pickup, coil).poles.body
    return 1.0 if body is None else permeability(model, body)
